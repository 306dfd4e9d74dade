"""Which labelled test runs which line, and how long it takes: `python -m proofs.trace` (once; the faults use it).

With names of test files only those are run, and added to what is known.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
HOME = ROOT / "build" / "faults"
LABELS = "published or analytic or invariant"
LEFT_OUT = ("test_bite", "test_sanitized", "test_random_houses", "test_architecture", "test_docs", "test_soak")
LONGEST_S = 20.0


def trace(files: list[str]) -> None:
    """Run every labelled test once under coverage; write map.json: file -> line -> tests, tests -> seconds."""
    HOME.mkdir(parents=True, exist_ok=True)
    cache = HOME / "prepared-years"
    cache.mkdir(exist_ok=True)
    environment = dict(os.environ, INSHELL_TEST_CACHE=str(cache), COVERAGE_FILE=str(HOME / "coverage"))
    (HOME / "coveragerc").write_text("[run]\ndynamic_context = none\n", encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-n", "2", "-m", LABELS, "-p", "proofs.timed"]
    command += [*files, "--cov-append"] if files else ["tests"]
    command += [f"--ignore=tests/{name}.py" for name in LEFT_OUT]
    command += ["--cov=src/inshell", "--cov-context=test", "--cov-report=", f"--cov-config={HOME / 'coveragerc'}"]
    subprocess.run(command, cwd=ROOT, env=environment, check=False)
    for run in cache.glob("run-*"):
        run.unlink()
    _write_map()


def _write_map() -> None:
    from coverage import CoverageData

    seconds: dict[str, float] = {}
    if (HOME / "map.json").exists():
        old = json.loads((HOME / "map.json").read_text(encoding="utf-8"))
        seconds |= dict(zip(old["tests"], old["seconds"], strict=True))
    for path in (HOME / "seconds").glob("*.json"):
        seconds |= json.loads(path.read_text(encoding="utf-8"))
    data = CoverageData(str(HOME / "coverage"))
    data.read()
    names: list[str] = sorted(seconds)
    index = {name: k for k, name in enumerate(names)}
    lines: dict[str, dict[int, list[int]]] = {}
    for file in data.measured_files():
        told = lines.setdefault(str(file).rpartition("src/inshell/")[2], {})
        for line, contexts in data.contexts_by_lineno(file).items():
            tests = {index[t] for c in contexts if (t := c.rsplit("|", 1)[0]) in index}
            told[line] = sorted(tests | set(told.get(line, ())))
    found: dict[str, object] = {"tests": names, "seconds": [seconds[n] for n in names], "lines": lines}
    (HOME / "map.json").write_text(json.dumps(found), encoding="utf-8")
    shutil.rmtree(HOME / "seconds", ignore_errors=True)


if __name__ == "__main__":
    trace(sys.argv[1:])
