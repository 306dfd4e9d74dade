"""The job folder beside a house file: tests/*.csv and measured.csv."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from inshell.design.tightness import TestResult
from inshell.errors import InputRefused, Problem
from inshell.house.as_built import Measured
from inshell.house.model.house import House
from inshell.house.reading import read_text
from inshell.records.measured import read_measured
from inshell.records.readings import ReadingsFile, parse_readings
from inshell.records.reducing import reduce_file
from inshell.records.seal_list import SealRecord, read_seal_list


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
    seals: dict[str, SealRecord] = field(default_factory=dict)

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
    if (folder / "tests").exists() and not (folder / "tests").is_dir():
        problems.append(Problem("tests", "a file", "a folder of CSV files, one a test"))
    for path in sorted((folder / "tests").glob("*.csv")):
        try:
            tests.append(_test(path, volume_m3))
        except InputRefused as error:
            problems += error.problems
    measured: dict[tuple[str, str], Measured] = {}
    path = folder / "measured.csv"
    if path.exists():
        measured, more = read_measured(path, house)
        problems += more
    seals: dict[str, SealRecord] = {}
    try:
        seals = read_seal_list(folder)
    except InputRefused as error:
        problems += error.problems
    if problems:
        raise InputRefused(problems)
    return JobFolder(tuple(tests), measured, seals)


def _test(path: Path, volume_m3: float) -> TestRecord:
    file = parse_readings(read_text(path, what="CSV file of readings"), f"tests/{path.name}")
    return TestRecord(path.stem, path, file, reduce_file(file, f"tests/{path.name}", volume_m3=volume_m3))
