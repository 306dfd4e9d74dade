"""Values measured on the built house: measured.csv of the job folder."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

from inshell.errors import Problem
from inshell.house.as_built import MEASURABLE, Measured
from inshell.house.model.house import House
from inshell.house.reading import read_text
from inshell.records.readings import DATE, day_of
from inshell.units import UnitError, parse_quantity

HEADER = ("id", "what", "value", "date", "person", "method", "instrument")
MOST_M3_S = 5.0


def read_measured(path: Path, house: House) -> tuple[dict[tuple[str, str], Measured], list[Problem]]:
    """Values by device and quantity, and everything that is wrong with the file; a blank stays blank."""
    problems: list[Problem] = []
    result: dict[tuple[str, str], Measured] = {}
    rows = csv.DictReader(io.StringIO(read_text(path, what="CSV file of measured values")))
    columns = tuple(rows.fieldnames or ())
    if not set(HEADER[:6]) <= set(columns):
        return {}, [Problem(path.name, f"columns {', '.join(columns)}", ", ".join(HEADER))]
    for row in rows:
        where = f"{path.name} (line {rows.line_num})"
        if not (row["value"] or "").strip():
            continue
        key = ((row["id"] or "").strip(), (row["what"] or "").strip())
        wrong = _unknown(key, house, where) or _unreadable(row, house, where, len(columns))
        if key in result:
            problems.append(Problem(where, f"{key[0]} {key[1]} a second time", "each value once"))
        if wrong:
            problems.append(wrong)
            continue
        value = parse_quantity(row["value"], "flow", system=house.units)
        result[key] = Measured(*key, value, *(str(row.get(k) or "").strip() for k in HEADER[3:]))
    return result, problems


def _unknown(key: tuple[str, str], house: House, where: str) -> Problem | None:
    known = {item.id: kind for kind in MEASURABLE for item in getattr(house, kind)}
    if key[0] in known and key[1] in MEASURABLE[known[key[0]]]:
        return None
    listed = "; ".join(f"{name}: {' or '.join(MEASURABLE[kind])}" for name, kind in known.items())
    accepted = listed or "nothing: the house has no device whose flow is read"
    return Problem(where, f"{key[0]!r} {key[1]!r}", accepted)


def _unreadable(row: dict[Any, Any], house: House, where: str, columns: int) -> Problem | None:
    if None in row:
        return Problem(where, f"{columns + len(row[None])} cells", f"{columns} cells, decimals with a point")
    try:
        value = parse_quantity(row["value"], "flow", system=house.units)
    except UnitError as error:
        return Problem(where, error.found, error.accepted)
    if value < 0.0:
        return Problem(where, repr(row["value"]), "a flow of zero or more; the device says which way")
    if value > MOST_M3_S:
        return Problem(where, repr(row["value"]), "a flow of at most 5 m3/s (10 600 cfm)", "Check the unit")
    day = str(row.get("date") or "").strip()
    return Problem(where, f"date {day!r}", DATE) if day and day_of(day) is None else None
