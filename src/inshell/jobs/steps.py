"""Lengths of steps and rows, as a person asks for them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from inshell.design.day_run import STEP_S as DAY_STEP_S
from inshell.design.year_run import STEP_S as YEAR_STEP_S
from inshell.errors import InputRefused, Problem
from inshell.network.system import LONGEST_STEP_S
from inshell.units import UnitError, parse_quantity

SHORTEST_YEAR_STEP_S = 10.0


@dataclass(frozen=True)
class StepsAsked:
    """The step of a run and the length of a row of its series."""

    step_s: float
    slot_s: float

    @classmethod
    def of(cls, *, step: str, every: str, year: bool, day: str, output: Path | None) -> StepsAsked:
        """What was asked for; raises InputRefused with everything that cannot be."""
        problems: list[Problem] = []
        usual = YEAR_STEP_S if year else DAY_STEP_S
        step_s = _seconds("--step", step, LONGEST_STEP_S, problems) if step else usual
        if year and step_s < SHORTEST_YEAR_STEP_S:
            problems.append(Problem("--step", repr(step), "at least 10 s for a year; days may be run in steps of 1 s"))
        slot_s = _seconds("--every", every, 3600.0, problems)
        if not problems and (slot_s < step_s or abs(slot_s / step_s - round(slot_s / step_s)) > 1e-9):
            problems.append(Problem("--every", repr(every), f"a whole number of steps of {step_s:g} s"))
        if output is not None and not year:
            problems.append(Problem("--output", str(output), "a series of the year: give --year with it"))
        if year and day != "heating":
            problems.append(Problem("--day", repr(day), "either --day or --year"))
        if problems:
            raise InputRefused(problems)
        return cls(step_s, slot_s)


def _seconds(option: str, text: str, most_s: float, problems: list[Problem]) -> float:
    accepted = f'a whole part of an hour with its unit, 1 s to {most_s / 60.0:g} min, such as "10 min"'
    try:
        value = parse_quantity(text, "time")
    except UnitError as error:
        problems.append(Problem(option, error.found, accepted))
        return most_s
    if not 1.0 <= value <= most_s or abs(3600.0 / value - round(3600.0 / value)) > 1e-9:
        problems.append(Problem(option, repr(text), accepted))
        return most_s
    return value
