"""`inshell record-test`: a file of readings into the job folder, marked with the shell it describes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from inshell.design.tightness import TestResult
from inshell.errors import InputRefused, Problem, refuse
from inshell.house.ids import slug
from inshell.house.reading import read_house, read_text
from inshell.house.writing import write_text
from inshell.records.readings import DATE, KEYS, day_of, parse_readings
from inshell.records.reducing import reduce_file
from inshell.units import System

STAGES = ("pre-drywall", "interim", "final")
PURPOSES = ("diagnostic", "compliance")


@dataclass(frozen=True)
class Recorded:
    """Where a test went and what it shows, on the volume that the house file draws."""

    path: Path
    result: TestResult
    units: System

    def as_json(self) -> dict[str, Any]:
        """The document of `--json`."""
        return {
            "written": str(self.path),
            "flow_at_50_pa_m3_s": self.result.flow_at_50_pa_m3_s,
            "ach50": self.result.ach50,
            "volume_m3": self.result.volume_m3,
            "errors": list(self.result.errors),
            "findings": [f.as_json() for f in self.result.findings],
        }


def record_test(house_path: Path, readings_path: Path, *, said: dict[str, str], overwrite: bool = False) -> Recorded:
    """Copy readings to tests/<stage>-<date>.csv with what is said about them; returns the new file and its result."""
    file = read_house(house_path)
    text = read_text(readings_path, what="CSV file of readings")
    parsed = parse_readings(text, str(readings_path))
    facts = parsed.said | {key: value for key, value in said.items() if value}
    problems = _missing(facts)
    if problems:
        raise InputRefused(problems)
    if (tested := facts.get("shell")) and tested != file.shell_hash[: len(tested)]:
        raise refuse(
            f"{readings_path} shell", f"{tested!r}, another shell than this house's", file.shell_hash[:16],
            "It was tested on an earlier house: put the old file back, or take the line out if the house is the same",
        )  # fmt: skip
    facts["shell"] = file.shell_hash[:16]
    body = "\n".join(line for line in text.splitlines() if not _is_condition(line))
    head = "\n".join(f"# {key.replace('_', ' ')}: {facts[key]}" for key in KEYS if key in facts)
    target = file.folder / "tests" / f"{slug(facts['stage'])}-{slug(facts['date'])}.csv"
    full = f"{head}\n{body}\n"
    result = reduce_file(parse_readings(full, str(target)), str(target), volume_m3=file.geometry.volume_m3)
    write_text(target, full, overwrite=overwrite, make_folder=True)
    return Recorded(target, result, file.house.units)


def _is_condition(line: str) -> bool:
    name = re.match(r"^\s*#\s*([^:]+):", line)
    return bool(name) and name is not None and name[1].strip().lower().replace(" ", "_").replace("-", "_") in KEYS


def _missing(facts: dict[str, str]) -> list[Problem]:
    problems = []
    if facts.get("stage") not in STAGES:
        problems.append(Problem("--stage", repr(facts.get("stage", "")), ", ".join(STAGES)))
    if facts.get("purpose") not in PURPOSES:
        problems.append(Problem("--purpose", repr(facts.get("purpose", "")), ", ".join(PURPOSES)))
    for key in ("date", "person"):
        if not facts.get(key):
            problems.append(Problem(f"--{key}", "missing", "a test without date and person proves nothing"))
    if facts.get("date"):
        day = day_of(facts["date"])
        if day is None:
            problems.append(Problem("--date", repr(facts["date"]), DATE))
        elif day > date.today():  # noqa: DTZ011  (the day where the tester stands)
            problems.append(Problem("--date", f"{day} lies ahead", "the day on which it was tested"))
    if any("\n" in value for value in facts.values()):
        raise refuse("conditions", "a line break", "one line each")
    return problems
