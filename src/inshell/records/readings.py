"""Readings of a pressurisation test as CSV: comment lines say the conditions, then columns with units."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import get_args

import numpy as np

from inshell.design.tightness import Readings
from inshell.errors import InputRefused, Problem
from inshell.physics.pressurisation import Direction
from inshell.units import UnitError, parse_quantity

UNIT_TEXT = {"pa": "Pa", "inwg": "inwg", "m3_h": "m3/h", "m3_s": "m3/s", "l_s": "L/s", "cfm": "cfm"}
KEYS = {
    "stage": "pre-drywall, final, …",
    "purpose": "compliance or diagnostic",
    "date": "year-month-day",
    "person": "who",
    "instrument": "fan and gauge",
    "method": "astm-e779, iso-9972 or as-entered",
    "direction": "depressurise, pressurise",
    "inside": "temperature",
    "outside": "temperature",
    "elevation": "height",
    "zero_before": "signed pressure",
    "zero_after": "signed pressure",
    "wind": "speed",
    "volume": "volume used",
    "temporary_seals": "what was taped",
    "not_yet_cut": "holes still to come",
    "shell": "hash of the shell that was tested",
    "calibration": "date",
    "one_point": "exponent assumed where one pressure was read, usually 0.65",
}


DIRECTION_WORDS: dict[str, Direction] = {
    "depressurise": "depressurise",
    "depressurize": "depressurise",
    "depressurisation": "depressurise",
    "depressurization": "depressurise",
    "pressurise": "pressurise",
    "pressurize": "pressurise",
    "pressurisation": "pressurise",
    "pressurization": "pressurise",
}


DATE = "a day as year-month-day, such as 2026-03-12"


def day_of(text: str) -> date | None:
    """The day that a date says; None if it is not written as year-month-day.

    >>> day_of("2026-03-12")
    datetime.date(2026, 3, 12)
    >>> day_of("5/1/26") is None
    True
    """
    try:
        return date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text) else None
    except ValueError:
        return None


@dataclass(frozen=True)
class ReadingsFile:
    """Columns and conditions of one file, as text and numbers."""

    pressure_pa: tuple[float, ...]
    flow_m3_s: tuple[float, ...]
    direction: tuple[Direction | None, ...]
    said: dict[str, str]

    def readings(self, **conditions: float | None) -> Readings:
        """The readings under given conditions."""
        return Readings(
            pressure_pa=np.array(self.pressure_pa),
            flow_m3_s=np.array(self.flow_m3_s),
            direction=self.direction,
            **{k: v for k, v in conditions.items() if v is not None},
        )


def parse_readings(text: str, where: str) -> ReadingsFile:
    """Readings from the text of a CSV file; raises InputRefused with everything that is wrong."""
    problems: list[Problem] = []
    said: dict[str, str] = {}
    rows: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.lstrip().startswith("#"):
            problems += _comment(line, number, where, said)
        elif line.strip(" ,;\t"):
            rows.append((number, line))
    if not rows:
        raise InputRefused(
            [*problems, Problem(where, "no readings", "a header such as pressure_pa,flow_m3_h and rows")]
        )
    if re.fullmatch(r"[-+\d.eE\s,;]+", rows[0][1]):
        raise InputRefused(
            [
                *problems,
                Problem(
                    f"{where} (line {rows[0][0]})",
                    f"numbers without a header: {rows[0][1].strip()!r}",
                    "a first line that names the columns with their units, such as pressure_pa,flow_cfm",
                    "Write it above the readings",
                ),
            ]
        )
    columns = _header(rows[0], where, problems)
    if problems:
        raise InputRefused(problems)
    values = [_row(number, line, columns, where, problems) for number, line in rows[1:]] if columns else []
    if columns and not values and not problems:
        problems.append(Problem(where, "a header but no readings", "rows of pressure and flow"))
    if problems:
        raise InputRefused(problems)
    good = [v for v in values if v is not None]
    return ReadingsFile(tuple(v[0] for v in good), tuple(v[1] for v in good), tuple(v[2] for v in good), said)


def _comment(line: str, number: int, where: str, said: dict[str, str]) -> list[Problem]:
    key, colon, value = line.lstrip("# \t").partition(":")
    name = key.strip().lower().replace(" ", "_").replace("-", "_")
    if not colon:
        return []
    if name not in KEYS:
        near = get_close_matches(name, KEYS, n=1, cutoff=0.75)
        if not near:
            return []  # a remark that happens to hold a colon
        return [
            Problem(
                f"{where} (line {number})", f"unknown condition {name!r}", ", ".join(KEYS), f"Did you mean {near[0]!r}?"
            )
        ]
    said[name] = value.strip()
    return []


def _header(row: tuple[int, str], where: str, problems: list[Problem]) -> dict[int, tuple[str, float]]:
    """Column number -> (what, scale to SI)."""
    number, line = row
    accepted = "pressure_ and flow_ with a unit each: pressure_pa, flow_m3_h, flow_cfm, flow_l_s; optional direction"
    found: dict[int, tuple[str, float]] = {}
    for k, raw in enumerate(next(csv.reader(io.StringIO(line)))):
        name = raw.strip().lower()
        kind, _, unit = name.partition("_")
        if name == "direction":
            found[k] = ("direction", 1.0)
        elif kind in ("pressure", "flow") and unit in UNIT_TEXT:
            try:
                found[k] = (kind, parse_quantity(f"1 {UNIT_TEXT[unit]}", kind))
            except UnitError:
                problems.append(Problem(f"{where} (line {number})", f"column {raw.strip()!r}", accepted))
        else:
            problems.append(Problem(f"{where} (line {number})", f"column {raw.strip()!r}", accepted))
    for kind in ("pressure", "flow"):
        if [what for what, _ in found.values()].count(kind) != 1:
            problems.append(Problem(f"{where} (line {number})", f"not exactly one {kind} column", accepted))
    return found


def _row(
    number: int, line: str, columns: dict[int, tuple[str, float]], where: str, problems: list[Problem]
) -> tuple[float, float, Direction | None] | None:
    cells = next(csv.reader(io.StringIO(line)))
    values: dict[str, float] = {}
    way: Direction | None = None
    for k, (what, scale) in columns.items():
        cell = cells[k].strip() if k < len(cells) else ""
        if what == "direction":
            way = DIRECTION_WORDS.get(cell.lower())
            if cell and way is None:
                problems.append(Problem(f"{where} (line {number})", repr(cell), " or ".join(get_args(Direction))))
            continue
        try:
            values[what] = float(cell) * scale
            if not np.isfinite(values[what]) or abs(float(cell)) > 1e6 or (what == "flow" and values[what] <= 0.0):
                raise ValueError
        except ValueError:
            problems.append(
                Problem(
                    f"{where} (line {number})",
                    f"{what} {cell!r}",
                    "a number with a point for decimals; flows above zero",
                )
            )
    if len(cells) > max(columns, default=0) + 1:
        problems.append(
            Problem(
                f"{where} (line {number})",
                f"{len(cells)} cells",
                f"{len(columns)} cells",
                "Write decimals with a point",
            )
        )
    return (values["pressure"], values["flow"], way) if {"pressure", "flow"} <= set(values) else None
