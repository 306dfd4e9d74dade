"""`python -m proofs.cover`: which branches of the network and the design random houses reach; writes docs/evidence/cover.md."""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from collections import defaultdict
from datetime import UTC, datetime

from proofs.trace import HOME, ROOT

PAGE = ROOT / "docs" / "evidence" / "cover.md"
LAYERS = ("network", "design")
PART, EACH = 10, 80  # of so many houses one goes through most commands, and through every one


def main() -> int:
    """Some hundreds of houses, one in ten through most commands, in two processes under coverage."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--houses", type=int, default=600)
    given = asked.parse_args()
    HOME.mkdir(parents=True, exist_ok=True)
    environment = dict(os.environ, COVERAGE_FILE=str(HOME / "cover"))
    sources = ",".join(str(ROOT / "src" / "inshell" / layer) for layer in LAYERS)
    run = [sys.executable, "-W", "ignore", "-m", "coverage", "run", "-p", "--branch", f"--source={sources}"]
    half = given.houses // 2
    soak = ["-m", "proofs.soak", "--workers", "0", "--files", "0", "--houses", str(half), "--part-each", str(PART)]
    soak += ["--whole-each", str(EACH)]
    halves = [subprocess.Popen([*run, *soak, "--first", str(first)], cwd=ROOT, env=environment) for first in (0, half)]
    bad = max(one.wait() for one in halves)
    merge = [sys.executable, "-m", "coverage", "combine", "-q"]
    subprocess.run(merge, cwd=ROOT, env=environment, check=True)
    told = HOME / "branches.json"
    tell = [sys.executable, "-m", "coverage", "json", "-q", "-o", str(told)]
    subprocess.run(tell, cwd=ROOT, env=environment, check=True)
    _write(json.loads(told.read_text(encoding="utf-8"))["files"], given.houses)
    return bad


def _write(files: dict[str, dict[str, dict[str, int]]], houses: int) -> None:
    whole: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    rows = []
    for file, found in sorted(files.items()):
        layer, name = file.rpartition("inshell/")[2].split("/", 1)
        reached, all_of_it = found["summary"]["covered_branches"], found["summary"]["num_branches"]
        whole[layer][0] += reached
        whole[layer][1] += all_of_it
        if reached < 0.9 * all_of_it:
            rows.append(f"| `{layer}/{name}` | {all_of_it} | {100.0 * reached / all_of_it:.0f} % |")
    shares = ", ".join(f"{layer} {100.0 * a / b:.1f} % of {b}" for layer, (a, b) in whole.items())
    page = [
        "# Branches that random houses reach", "",
        f"`python -m proofs.cover`, {datetime.now(UTC):%d %B %Y}: {houses} random houses, one in ten of them through "
        f"most commands, one in eighty through every one. Branches taken: **{shares}**. What is not reached are mostly answers that no sound input brings "
        "about: reports of no convergence, arrays that are refused, defaults of the Python interface.", "",
        "| module below nine in ten | branches | taken |", "|---|---|---|", *rows, "",
    ]  # fmt: skip
    PAGE.write_text("\n".join(page), encoding="utf-8")
    print(shares)


if __name__ == "__main__":
    raise SystemExit(main())
