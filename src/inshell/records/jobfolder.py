"""The job folder beside a house file: tests/*.csv and measured.csv."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from inshell.design.tightness import TestResult, reduce_test
from inshell.errors import InputRefused, Problem
from inshell.findings import Finding
from inshell.house.as_built import MEASURABLE, Measured
from inshell.house.model.house import House
from inshell.house.reading import read_text
from inshell.physics.pressurisation import Direction, Method
from inshell.records.readings import DATE, DIRECTION_WORDS, ReadingsFile, day_of, parse_readings
from inshell.units import UnitError, parse_quantity

MEASURED_HEADER = ("id", "what", "value", "date", "person", "method", "instrument")


@dataclass(frozen=True)
class TestRecord:
    """One test of the job folder."""

    id: str
    path: Path
    file: ReadingsFile
    result: TestResult

    __test__ = False

    @property
    def is_compliance(self) -> bool:
        """Whether it is a final test for compliance; only such a one decides a promise."""
        said = self.file.said
        return said.get("purpose", "diagnostic") == "compliance" and said.get("stage", "") == "final"

    @property
    def unfit(self) -> str:
        """Why this test cannot decide a promise, whatever it shows; empty if it can."""
        wrong = list(self.result.errors)
        if not self.date:
            wrong.append("no date")
        if any(f.code == "no-zero-reading" for f in self.result.findings):
            wrong.append("no zero reading (write 'zero before: 0 Pa' if the gauge took it off)")
        return ", ".join(wrong)

    @property
    def shell(self) -> str:
        """Hash of the shell that was tested, as far as it was recorded."""
        return self.file.said.get("shell", "")

    @property
    def date(self) -> str:
        """The day, as year-month-day; empty if it is not said."""
        return self.file.said.get("date", "")


@dataclass(frozen=True)
class JobFolder:
    """Everything recorded beside the house file."""

    tests: tuple[TestRecord, ...]
    measured: dict[tuple[str, str], Measured]

    def deciding_test(self, shell_hash: str) -> TestRecord | None:
        """The latest fit final compliance test on the present shell."""
        return max((t for t in self._candidates(shell_hash) if not t.unfit), key=lambda t: t.date, default=None)

    def why_undecided(self, shell_hash: str) -> str:
        """Why no test decides: what is wrong with the latest candidate, or that there is none."""
        latest = max(self._candidates(shell_hash), key=lambda t: t.date, default=None)
        if latest is None:
            return "no final compliance test on the present shell (record one: inshell record-test)"
        return f"the test {latest.id} cannot decide: {latest.unfit}. Test again"

    def _candidates(self, shell_hash: str) -> list[TestRecord]:
        return [t for t in self.tests if t.is_compliance and t.shell == shell_hash[: len(t.shell)] and t.shell]


def read_jobfolder(folder: Path, house: House, volume_m3: float) -> JobFolder:
    """The records of a job; raises InputRefused with everything that is wrong in any of its files."""
    problems: list[Problem] = []
    tests: list[TestRecord] = []
    for path in sorted((folder / "tests").glob("*.csv")):
        try:
            tests.append(_test(path, volume_m3))
        except InputRefused as error:
            problems += error.problems
    measured: dict[tuple[str, str], Measured] = {}
    path = folder / "measured.csv"
    if path.exists():
        measured, more = _measured(path, house)
        problems += more
    if problems:
        raise InputRefused(problems)
    return JobFolder(tuple(tests), measured)


def _test(path: Path, volume_m3: float) -> TestRecord:
    file = parse_readings(read_text(path, what="CSV file of readings"), f"tests/{path.name}")
    return TestRecord(path.stem, path, file, reduce_file(file, f"tests/{path.name}", volume_m3=volume_m3))


CONDITIONS = {
    "inside": ("inside_c", "temperature"),
    "outside": ("outside_c", "temperature"),
    "elevation": ("elevation_m", "length"),
    "zero_before": ("zero_before_pa", "pressure"),
    "zero_after": ("zero_after_pa", "pressure"),
    "wind": ("wind_m_s", "speed"),
}


def reduce_file(
    file: ReadingsFile,
    where: str,
    *,
    volume_m3: float,
    given: dict[str, Any] | None = None,
    one_point_exponent: float | None = None,
) -> TestResult:
    """A test reduced under the conditions that its file says, with `given` values in their place."""
    given = given or {}
    problems: list[Problem] = []
    values: dict[str, float | None] = {}
    for key, (name, kind) in CONDITIONS.items():
        try:
            said = file.said.get(key)
            values[name] = parse_quantity(said, kind) if said else None
        except UnitError as error:
            problems.append(Problem(f"{where} {key}", error.found, error.accepted))
    method, said_way = file.said.get("method", "as-entered"), file.said.get("direction", "depressurise")
    direction = DIRECTION_WORDS.get(said_way.lower())
    if method not in ("astm-e779", "iso-9972", "as-entered"):
        problems.append(Problem(f"{where} method", repr(method), "astm-e779, iso-9972 or as-entered"))
    if direction is None:
        problems.append(Problem(f"{where} direction", repr(said_way), "depressurise or pressurise"))
    if (date := file.said.get("date")) and day_of(date) is None:
        problems.append(Problem(f"{where} date", repr(date), DATE))
    if problems:
        raise InputRefused(problems)
    if (said_exponent := file.said.get("one_point")) and one_point_exponent is None:
        one_point_exponent = _exponent(said_exponent, where)
    values |= {key: value for key, value in given.items() if key.endswith(("_c", "_m", "_pa", "_s"))}
    chosen_method: Method = given.get("method") or method  # type: ignore[assignment]
    chosen_way: Direction = given.get("direction") or direction  # type: ignore[assignment]
    result = reduce_test(
        file.readings(**values),
        volume_m3=volume_m3,
        method=chosen_method,
        direction=chosen_way,
        one_point_exponent=one_point_exponent,
    )
    unsaid = "direction" not in file.said and not given.get("direction") and not any(file.direction)
    if unsaid and min(file.pressure_pa) > 0.0:
        assumed = Finding("direction-assumed", "readings", {"direction": chosen_way})
        return replace(result, findings=(*result.findings, assumed))
    return result


def _exponent(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0.5 <= value <= 1.0:
        raise InputRefused([Problem(f"{where} one point", repr(text), "an exponent from 0.5 to 1, usually 0.65")])
    return value


def _measured(path: Path, house: House) -> tuple[dict[tuple[str, str], Measured], list[Problem]]:
    problems: list[Problem] = []
    result: dict[tuple[str, str], Measured] = {}
    rows = csv.DictReader(io.StringIO(read_text(path, what="CSV file of measured values")))
    if not set(MEASURED_HEADER[:6]) <= set(rows.fieldnames or ()):
        return {}, [Problem(path.name, f"columns {', '.join(rows.fieldnames or ())}", ", ".join(MEASURED_HEADER))]
    known = {item.id: kind for kind in MEASURABLE for item in getattr(house, kind)}
    for number, row in enumerate(rows, start=2):
        where = f"{path.name} (line {number})"
        if not (row["value"] or "").strip():
            continue  # a blank stays blank
        key = ((row["id"] or "").strip(), (row["what"] or "").strip())
        if key[0] not in known or key[1] not in MEASURABLE[known[key[0]]]:
            listed = "; ".join(f"{name}: {' or '.join(MEASURABLE[kind])}" for name, kind in known.items())
            problems.append(
                Problem(
                    where, f"{key[0]!r} {key[1]!r}", listed or "nothing: the house has no device whose flow is read"
                )
            )
            continue
        if key in result:
            problems.append(Problem(where, f"{key[0]} {key[1]} a second time", "each value once"))
        try:
            value = parse_quantity(row["value"], "flow", system=house.units)
        except UnitError as error:
            problems.append(Problem(where, error.found, error.accepted))
            continue
        if value < 0.0:
            problems.append(Problem(where, repr(row["value"]), "a flow of zero or more; the device says which way"))
            continue
        result[key] = Measured(*key, value, *(str(row.get(k) or "").strip() for k in MEASURED_HEADER[3:]))
    return result, problems
