"""From a file of readings to a reduced test, under the conditions that the file says."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from inshell.design.tightness import TestResult, reduce_test
from inshell.errors import InputRefused, Problem
from inshell.findings import Finding
from inshell.physics.pressurisation import Direction, Method
from inshell.records.readings import DATE, DIRECTION_WORDS, ReadingsFile, day_of
from inshell.units import KINDS, UnitError, parse_quantity

CONDITIONS = {
    "inside": ("inside_c", "temperature", -30.0, 60.0),
    "outside": ("outside_c", "temperature", -70.0, 60.0),
    "elevation": ("elevation_m", "length", -500.0, 6000.0),
    "zero_before": ("zero_before_pa", "pressure", -500.0, 500.0),
    "zero_after": ("zero_after_pa", "pressure", -500.0, 500.0),
    "wind": ("wind_m_s", "speed", 0.0, 60.0),
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
    values = _conditions(file, where, problems)
    method, direction = _way(file, where, problems)
    if (date := file.said.get("date")) and day_of(date) is None:
        problems.append(Problem(f"{where} date", repr(date), DATE))
    if problems:
        raise InputRefused(problems)
    if (said_exponent := file.said.get("one_point")) and one_point_exponent is None:
        one_point_exponent = _exponent(said_exponent, where)
    values |= {key: value for key, value in given.items() if key.endswith(("_c", "_m", "_pa", "_s"))}
    chosen_way: Direction = given.get("direction") or direction
    result = reduce_test(
        file.readings(**values),
        volume_m3=volume_m3,
        method=given.get("method") or method,
        direction=chosen_way,
        one_point_exponent=one_point_exponent,
    )
    unsaid = "direction" not in file.said and not given.get("direction") and not any(file.direction)
    if unsaid and min(file.pressure_pa) > 0.0:
        assumed = Finding("direction-assumed", "readings", {"direction": chosen_way})
        return replace(result, findings=(*result.findings, assumed))
    return result


def _conditions(file: ReadingsFile, where: str, problems: list[Problem]) -> dict[str, float | None]:
    """What the file says of temperatures, height, zero readings and wind; each needs its unit."""
    values: dict[str, float | None] = {}
    for key, (name, kind, low, high) in CONDITIONS.items():
        said = file.said.get(key)
        try:
            values[name] = value = parse_quantity(said, kind) if said else None
        except UnitError as error:
            problems.append(Problem(f"{where} {key}", error.found, error.accepted))
            continue
        if said is None or value is None:
            continue
        if re.fullmatch(r"[-+\d.\s]+", said) and value != 0.0:
            problems.append(Problem(f"{where} {key}", f"{said!r} without a unit", f"{kind} with its unit"))
        elif not low <= value <= high:
            problems.append(Problem(f"{where} {key}", repr(said), f"{low:g} to {high:g} {KINDS[kind].si}"))
    return values


def _way(file: ReadingsFile, where: str, problems: list[Problem]) -> tuple[Method, Direction]:
    """Method and direction as the file says them; a direction against the sign of its pressures is refused."""
    method, said = file.said.get("method", "as-entered"), file.said.get("direction", "depressurise")
    direction = DIRECTION_WORDS.get(said.lower())
    if method not in ("astm-e779", "iso-9972", "as-entered"):
        problems.append(Problem(f"{where} method", repr(method), "astm-e779, iso-9972 or as-entered"))
    if direction is None:
        problems.append(Problem(f"{where} direction", repr(said), "depressurise or pressurise"))
    if direction == "pressurise" and max(file.pressure_pa) < 0.0 and not any(file.direction):
        found = f"{said!r} with negative pressures"
        problems.append(Problem(f"{where} direction", found, "pressures above zero, or depressurise"))
    return method, direction or "depressurise"  # type: ignore[return-value]  # refused above if it is another


def _exponent(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0.5 <= value <= 1.0:
        raise InputRefused([Problem(f"{where} one point", repr(text), "an exponent from 0.5 to 1, usually 0.65")])
    return value
