"""The seal list of a job: seal.csv of the job folder, written by the tool and filled in by people.

What people write is never lost: their columns are carried over by id, and a row whose place no longer exists stays,
marked orphaned.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from inshell.errors import InputRefused, Problem
from inshell.house.reading import read_text
from inshell.records.readings import DATE, day_of

NAME = "seal.csv"
OURS = ("id", "number", "priority", "place", "room", "size", "drop_at_50_pa", "trade", "task", "never")
THEIRS = ("done", "who", "photo", "retested", "how", "note")
DATES = ("done", "retested")
PROOFS = ("smoke", "test", "infrared")  # what `how` may say of a retest that it passed
NOTHING = ("", "no", "none", "-", "n/a")
STATE = "state"
HEADER = (*OURS, *THEIRS, STATE)


@dataclass(frozen=True)
class SealRecord:
    """One row as it stands in the file; `extra` keeps columns that a person added."""

    id: str
    number: int
    ours: dict[str, str]
    theirs: dict[str, str]
    extra: dict[str, str]

    @property
    def is_done(self) -> bool:
        """Whether somebody says when it was sealed."""
        return bool(self.theirs.get("done"))

    @property
    def is_proved(self) -> bool:
        """Whether a photo and a retest by a known way on or after that day are recorded: all are asked for."""
        done, retested = (self.theirs.get(key, "") for key in DATES)
        photo, how = (self.theirs.get(key, "").lower() for key in ("photo", "how"))
        return bool(done and retested >= done and photo not in NOTHING and how in PROOFS)


def read_seal_list(folder: Path) -> dict[str, SealRecord]:
    """Rows by id, empty without a file; raises InputRefused with everything that is wrong in it."""
    path = folder / NAME
    if not path.exists():
        return {}
    rows = csv.DictReader(io.StringIO(read_text(path, what="CSV file of seals")))
    columns = tuple(rows.fieldnames or ())
    _check_columns(columns)
    problems: list[Problem] = []
    found: dict[str, SealRecord] = {}
    numbers: set[int] = set()
    for row in rows:
        where = f"{NAME} (line {rows.line_num})"
        if None in row:
            problems.append(Problem(where, "more cells than columns", "quotes round cells with a comma"))
            continue
        cells = {key: (value or "").strip() for key, value in row.items()}
        problems += _wrong(cells, where, found)
        if cells["id"] and cells["id"] not in found:
            number = int(cells["number"]) if _is_number(cells["number"]) else 0
            if number in numbers:
                found_twice = Problem(where, f"number {number} a second time", "the number that the tool wrote")
                problems.append(found_twice)
            numbers.add(number)
            found[cells["id"]] = SealRecord(
                cells["id"], number, {k: cells.get(k, "") for k in OURS}, {k: cells.get(k, "") for k in THEIRS},
                {k: v for k, v in cells.items() if k not in HEADER},
            )  # fmt: skip
    if problems:
        raise InputRefused(problems)
    return found


def _check_columns(columns: tuple[str, ...]) -> None:
    """Refuse a file whose columns are not those that were written."""
    if len(columns) == 1 and ";" in columns[0]:
        raise InputRefused(
            [Problem(NAME, "semicolons between the cells", "commas between the cells", "Save it as CSV")]
        )
    twice = sorted({key for key in columns if columns.count(key) > 1})
    if twice:
        raise InputRefused([Problem(NAME, f"two columns named {', '.join(twice)}", "each column once", "Rename one")])
    missing = [key for key in ("id", "number", *THEIRS) if key not in columns]
    if missing:
        accepted = f"all of {', '.join(('id', 'number', *THEIRS))}"
        raise InputRefused(
            [Problem(NAME, f"no column {', '.join(missing)}", accepted, "Put it back, blank if need be")]
        )


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit()


def _wrong(cells: dict[str, str], where: str, found: dict[str, SealRecord]) -> list[Problem]:
    problems = []
    if not cells["id"]:
        problems.append(Problem(where, "no id", "the id that the tool wrote; leave new rows to it"))
    elif cells["id"] in found:
        problems.append(Problem(where, f"{cells['id']} a second time", "each id once", "Join the two rows by hand"))
    if cells["id"] and not _is_number(cells["number"]):
        problems.append(Problem(where, f"number {cells['number']!r}", "the number that the tool wrote"))
    for key in DATES:
        if cells.get(key) and day_of(cells[key]) is None:
            problems.append(Problem(where, f"{key} {cells[key]!r}", DATE))
        elif cells.get(key, "") > datetime.now().astimezone().date().isoformat():
            problems.append(Problem(where, f"{key} {cells[key]!r}, a day to come", "the day on which it was"))
    how = cells.get("how", "").lower()
    if how and how not in (*PROOFS, "failed"):
        accepted = f"{', '.join(PROOFS)} if it passed so, or failed; words go into note"
        problems.append(Problem(where, f"how {cells['how']!r}", accepted))
    return problems


def written(records: list[tuple[SealRecord, str]]) -> str:
    """The file's text: every row with its state, columns that people added at the end."""
    extra = list(dict.fromkeys(key for record, _ in records for key in record.extra))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*HEADER, *extra])
    for record, state in records:
        writer.writerow(
            [
                record.id, record.number, *(record.ours[k] for k in OURS[2:]), *(record.theirs[k] for k in THEIRS),
                state, *(record.extra.get(k, "") for k in extra),
            ]
        )  # fmt: skip
    return out.getvalue()
