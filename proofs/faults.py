"""`make faults`: break every calculation on purpose and see a labelled test fail. Dated figures go to docs/evidence."""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime

from proofs.run_one import preload, run_one
from proofs.sample import Candidate, both_faults, built, data_faults, kernel_faults, key_faults, python_faults
from proofs.trace import HOME, ROOT, trace

SEED = 20261126
SHARES = {"python": 570, "data": 80, "kernel": 40}
MOST_S, MOST_TESTS = 160.0, 500
FEW_FILES, FEW_TESTS = 3, 30  # of the first batch
APART_S = 40.0
EQUIVALENT = ROOT / "proofs" / "equivalent.toml"
REPORT = ROOT / "docs" / "evidence" / "faults.md"


@dataclass
class Reach:
    """Which tests run which line, the quickest first."""

    tests: list[str]
    seconds: list[float]
    lines: dict[str, dict[str, list[int]]]

    def of(self, candidate: Candidate) -> list[str]:
        """Tests that reach a fault, as many as run within the time that one fault may take."""
        found = {t for file, line in candidate.reached for t in self.lines.get(file, {}).get(str(line), [])}
        if not found:  # a line inside a longer expression
            found = {
                t for file, line in candidate.reached for near in range(line - 6, line + 1)
                for t in self.lines.get(file, {}).get(str(near), [])
            }  # fmt: skip
        told: list[str] = []
        spent = 0.0
        for k in sorted(found, key=lambda k: self.seconds[k]):
            if (told and spent + self.seconds[k] > MOST_S) or len(told) == MOST_TESTS:
                break
            spent += self.seconds[k]
            told.append(self.tests[k])
        return told

    def batches(self, candidate: Candidate) -> list[list[str]]:
        """Tests of a few files first, whose own are the quickest; then the rest."""
        told = self.of(candidate)
        spent: dict[str, list[float]] = defaultdict(list)
        seconds = dict(zip(self.tests, self.seconds, strict=True))
        for test in told:
            spent[test.split("::")[0]].append(seconds[test])
        files = sorted(spent, key=lambda f: sum(spent[f]) / len(spent[f]))[:FEW_FILES]
        first = [t for t in told if t.split("::")[0] in files][:FEW_TESTS]
        if candidate.kind == "data":  # a test that reads the table alone reaches no line of those who use it
            first = [t for t in self.tests if t.startswith("tests/test_tables.py")]
        rest = [t for t in told if t not in set(first)]
        return [first, rest] if rest else [first]


def candidates(shares: dict[str, int]) -> list[Candidate]:
    """The seeded sample, with every key and every fault of both steps."""
    told = python_faults(SEED, shares["python"]) + data_faults(SEED, shares["data"]) + key_faults()
    return told + kernel_faults(SEED, shares["kernel"]) + (both_faults() if shares["kernel"] else [])


def tried(todo: list[Candidate], reach: Reach, workers: int) -> Iterator[tuple[Candidate, dict[str, object]]]:
    """Every fault with its verdict, as they come."""

    def one(candidate: Candidate) -> tuple[Candidate, dict[str, object]]:
        batches = reach.batches(candidate)
        if not batches[0]:
            return candidate, {"verdict": "survived", "why": "no labelled test reaches it"}
        library = built(candidate) if candidate.kind == "kernel" else ""
        if candidate.kind == "kernel" and not library:
            return candidate, {"verdict": "crashed", "why": "it does not compile"}
        told: dict[str, object] = {}
        for tests in batches:
            told = run_one(candidate.as_row(library), tests)
            if told["verdict"] != "survived":
                break
        if told["verdict"] == "hung":  # a test that never ends says nothing; one of another file may fail
            told = next((t for t in apart(candidate, library, reach.of(candidate)) if t["verdict"] == "caught"), told)
        return candidate, told

    with ThreadPoolExecutor(workers) as pool:
        yield from pool.map(one, todo)


def apart(candidate: Candidate, library: str, tests: list[str]) -> Iterator[dict[str, object]]:
    """What the tests of each file say by themselves, within a short time each."""
    for file in dict.fromkeys(t.split("::")[0] for t in tests):
        yield run_one(candidate.as_row(library), [t for t in tests if t.startswith(f"{file}::")][:FEW_TESTS], APART_S)


def main() -> int:
    """Trace the tests if that was not done, try the sample, write the log and the page."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--only", default="", help="part of a fault's name")
    asked.add_argument("--again", action="store_true", help="only what was not caught last time")
    asked.add_argument("--rest", action="store_true", help="only what was not tried yet")
    asked.add_argument("--fresh", type=int, default=0, help="so many of another seed, for which no test was written")
    given = asked.parse_args()
    if not (HOME / "map.json").exists():
        trace([])
    reach = Reach(**json.loads((HOME / "map.json").read_text(encoding="utf-8")))
    preload()
    whole = candidates(SHARES)
    todo = [c for c in whole if given.only in c.name]
    log = HOME / "log.json"
    known: dict[str, dict[str, object]] = json.loads(log.read_text(encoding="utf-8")) if log.exists() else {}
    if given.fresh:
        log = HOME / "fresh.json"
        known = json.loads(log.read_text(encoding="utf-8")) if given.again and log.exists() else {}
        names = {c.name for c in whole}
        todo = [c for c in python_faults(SEED + 1, 2 * given.fresh) if c.name not in names][: given.fresh]
    if given.again:
        todo = [c for c in todo if known.get(c.name, {}).get("verdict") not in ("caught", "crashed")]
    if given.rest:
        todo = [c for c in todo if c.name not in known]
    began = time.monotonic()
    for k, (candidate, told) in enumerate(tried(todo, reach, given.workers), start=1):
        known[candidate.name] = {**told, "kind": candidate.kind, "calculation": candidate.calculation}
        print(
            f"{k}/{len(todo)} {told['verdict']:9} {candidate.name} {told.get('test', told.get('why', ''))}", flush=True
        )
        if k % 10 == 0 or k == len(todo):
            log.write_text(json.dumps(known, indent=1), encoding="utf-8")
    if given.fresh:
        known = json.loads((HOME / "log.json").read_text(encoding="utf-8"))
    if not given.only or given.rest:
        names = {c.name for c in whole}
        write_page({n: t for n, t in known.items() if n in names}, time.monotonic() - began)
    return 0


def _fresh() -> list[str]:
    """How a sample fares that no test was written for."""
    log = HOME / "fresh.json"
    if not log.exists():
        return []
    told = json.loads(log.read_text(encoding="utf-8"))
    valid = {n: t for n, t in told.items() if t["verdict"] != "crashed"}
    caught = sum(t["verdict"] == "caught" for t in valid.values())
    left = [f"- `{n}`" for n, t in sorted(valid.items()) if t["verdict"] != "caught"]
    return [
        "## Another sample", "",
        f"Each survivor of the sample above got its test, so the figure above says how well that was done. Of {len(valid)} "
        f"faults of syntax trees drawn with another seed (`--fresh {len(told)}`), for which no test was written, {caught} "
        f"were caught, **{100.0 * caught / max(len(valid), 1):.1f} %**: that is how likely the next mistake is seen. Not "
        "caught:", "", *left,
    ]  # fmt: skip


def write_page(told: dict[str, dict[str, object]], seconds: float) -> None:
    """The dated figures: caught by kind, what survived, what is equivalent and why."""
    import tomllib

    proofs: dict[str, str] = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8")) if EQUIVALENT.exists() else {}
    valid = {n: t for n, t in told.items() if t["verdict"] not in ("crashed",)}
    equal = {n: proofs[n] for n in valid if n in proofs and valid[n]["verdict"] != "caught"}
    counted = {n: t for n, t in valid.items() if n not in equal}
    caught = sum(t["verdict"] == "caught" for t in counted.values())
    kinds = Counter(str(t["kind"]) for t in counted.values())
    hit = Counter(str(t["kind"]) for t in counted.values() if t["verdict"] == "caught")
    share = caught / max(len(counted), 1)
    rows = [f"| {kind} | {n} | {hit[kind]} |" for kind, n in sorted(kinds.items())]
    left = [f"- `{n}` ({t['verdict']})" for n, t in sorted(counted.items()) if t["verdict"] != "caught"]
    page = [
        "# Faults on purpose", "",
        f"`make faults`, {datetime.now(UTC):%d %B %Y}, seed {SEED}: {len(counted)} faults over "
        f"{len({t['calculation'] for t in counted.values()})} calculations and rows; **{caught} caught, "
        f"{100 * share:.1f} %**. A fault is caught when a test marked published, analytic or invariant fails; "
        f"{len(told) - len(valid)} that end in a crash of the program itself count neither way.", "",
        "| kind | tried | caught |", "|---|---|---|", *rows, "", *_fresh(), "",
        f"## Equivalent ({len(equal)})", "", *[f"- `{n}`: {why}" for n, why in sorted(equal.items())], "",
        f"## Not caught ({len(left)})", "", *left, "",
    ]  # fmt: skip
    REPORT.write_text("\n".join(page), encoding="utf-8")
    print(f"{caught} of {len(counted)} caught ({100 * share:.1f} %) in {seconds:.0f} s")


if __name__ == "__main__":
    raise SystemExit(main())
