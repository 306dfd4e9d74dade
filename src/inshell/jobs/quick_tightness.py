"""`inshell quick tightness`: a pressurisation test from its readings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inshell.design.tightness import OneDirection, RuleVerdict, TestResult, judge, limit_of, rule_names, tall_and_cold
from inshell.errors import InputRefused, Problem
from inshell.findings import Finding
from inshell.house.reading import read_text
from inshell.jobs.quick_values import Asked
from inshell.records.readings import DIRECTION_WORDS, parse_readings
from inshell.records.reducing import reduce_file
from inshell.sources import table


@dataclass(frozen=True)
class QuickTightness:
    """A reduced test with its sizes and the verdicts that can be had."""

    result: TestResult
    envelope_m2: float | None
    floor_m2: float | None
    verdicts: tuple[RuleVerdict, ...]
    findings: tuple[Finding, ...]

    @property
    def any_broken(self) -> bool:
        """Whether a valid test misses a rule that was asked for."""
        return not self.result.errors and any(not v.met for v in self.verdicts)

    def as_json(self) -> dict[str, Any]:
        """The document of `--json`."""
        r, flow = self.result, self.result.flow_at_50_pa_m3_s
        low, high = r.flow_at_50_pa_range_m3_s or (None, None)
        return {
            "method": r.method,
            "one_point": r.one_point,
            "exponent": r.exponent,
            "exponent_ci95": list(r.exponent_ci95) if r.exponent_ci95 else None,
            "coefficient_m3_s_pan": r.coefficient_m3_s_pan,
            "r2": r.r2,
            "flow_at_50_pa_m3_s": flow,
            "flow_at_50_pa_low_m3_s": low,
            "flow_at_50_pa_high_m3_s": high,
            "ach50": r.ach50,
            "ela4_m2": r.ela4_m2,
            "eqla10_m2": r.eqla10_m2,
            "flow_per_enclosure_m3_h_m2": flow * 3600.0 / self.envelope_m2 if self.envelope_m2 else None,
            "flow_per_floor_m3_h_m2": flow * 3600.0 / self.floor_m2 if self.floor_m2 else None,
            "raw_flow_at_50_pa_m3_s": sum(d.fit.flow_m3_s(50.0) for d in r.directions) / len(r.directions),
            "directions": [_direction_row(d) for d in r.directions],
            "rules": [_rule_row(v, valid=not r.errors) for v in self.verdicts],
            "errors": list(r.errors),
            "findings": [f.as_json() for f in self.findings],
        }


def _direction_row(one: OneDirection) -> dict[str, Any]:
    return {
        "direction": one.direction,
        "exponent": one.fit.exponent,
        "r2": one.fit.r2,
        "points": one.fit.points,
        "coefficient_m3_s_pan": one.coefficient_m3_s_pan,
        "flow_at_50_pa_m3_s": one.flow_m3_s(50.0),
    }


def _rule_row(verdict: RuleVerdict, *, valid: bool) -> dict[str, Any]:
    names = ("rule", "metric", "value", "limit", "source")
    row = {name: getattr(verdict, name) for name in names}
    return row | {"met": verdict.met if valid else None, "too_close_to_call": verdict.too_close}


def quick_tightness(
    path: Path,
    *,
    volume: str,
    envelope_area: str | None = None,
    floor_area: str | None = None,
    inside: str | None = None,
    outside: str | None = None,
    elevation: str | None = None,
    zero_before: str | None = None,
    zero_after: str | None = None,
    height: str | None = None,
    direction: str | None = None,
    method: str | None = None,
    one_point: float | None = None,
    zone: int | None = None,
    rules: list[str] | None = None,
) -> QuickTightness:
    """Reduce a file of readings; what is given here stands before what the file says."""
    asked = Asked()
    sizes = {
        "volume": asked.quantity("--volume", volume, "volume", low=5.0, high=50000.0),
        "envelope": asked.optional("--envelope-area", envelope_area, "area", low=5.0, high=20000.0),
        "floor": asked.optional("--floor-area", floor_area, "area", low=1.0, high=10000.0),
        "height": asked.optional("--height", height, "length", low=1.0, high=60.0),
    }
    given: dict[str, Any] = {
        "inside_c": asked.optional("--inside", inside, "temperature", low=-30.0, high=60.0),
        "outside_c": asked.optional("--outside", outside, "temperature", low=-70.0, high=60.0),
        "elevation_m": asked.optional("--elevation", elevation, "length", low=-500.0, high=6000.0),
        "zero_before_pa": asked.optional("--zero-before", zero_before, "pressure", low=-50.0, high=50.0),
        "zero_after_pa": asked.optional("--zero-after", zero_after, "pressure", low=-50.0, high=50.0),
        "method": method,
        "direction": DIRECTION_WORDS.get((direction or "").lower()),
    }
    asked.problems += _choices(method, direction, one_point, rules or [])
    asked.problems += _missing(rules or [], zone, envelope_area)
    try:
        file = parse_readings(read_text(path, what="CSV file of readings"), str(path))
    except InputRefused as error:
        raise InputRefused([*asked.problems, *error.problems]) from None
    if asked.problems:
        raise InputRefused(asked.problems)
    result = reduce_file(
        file,
        str(path),
        volume_m3=sizes["volume"] or 1.0,
        one_point_exponent=one_point,
        given={k: v for k, v in given.items() if v is not None},
    )
    return QuickTightness(
        result,
        sizes["envelope"],
        sizes["floor"],
        tuple(_verdicts(result, sizes["envelope"], zone, rules)),
        (*result.findings, *_stack_finding(given, sizes["height"])),
    )


def _stack_finding(given: dict[str, Any], height_m: float | None) -> list[Finding]:
    inside, outside = given["inside_c"], given["outside_c"]
    if height_m is None or inside is None or outside is None:
        return []
    found = tall_and_cold(inside, outside, height_m)
    return [found] if found else []


def _choices(method: str | None, direction: str | None, one_point: float | None, rules: list[str]) -> list[Problem]:
    problems = []
    if method not in (None, "astm-e779", "iso-9972", "as-entered"):
        problems.append(Problem("--method", repr(method), "astm-e779, iso-9972 or as-entered"))
    if direction is not None and direction.lower() not in DIRECTION_WORDS:
        problems.append(Problem("--direction", repr(direction), "depressurise or pressurise"))
    if one_point is not None and not 0.5 <= one_point <= 1.0:
        problems.append(Problem("--one-point", str(one_point), "an exponent from 0.5 to 1, usually 0.65"))
    problems += [Problem("--rule", repr(r), ", ".join(rule_names())) for r in rules if r not in rule_names()]
    return problems


def _missing(rules: list[str], zone: int | None, envelope_area: str | None) -> list[Problem]:
    """What a rule that was asked for needs to be judged."""
    problems = []
    for rule in (r for r in rules if r in rule_names()):
        if limit_of(rule, zone) is None:
            found = "missing" if zone is None else f"{zone}, for which {rule} has no limit"
            problems.append(Problem("--zone", found, f"a climate zone for which {rule} has a limit"))
        if table("tightness")[rule]["metric"] == "flow_per_enclosure" and envelope_area is None:
            problems.append(Problem("--envelope-area", "missing", f"the enclosure's area: {rule} is judged by it"))
    return problems


def _verdicts(
    result: TestResult, envelope: float | None, zone: int | None, rules: list[str] | None
) -> list[RuleVerdict]:
    verdicts = []
    for rule in rules or []:
        limit = limit_of(rule, zone)
        if limit is None:
            continue  # refused before
        verdicts.append(
            judge(
                rule,
                flow_at_50_pa_m3_s=result.flow_at_50_pa_m3_s,
                flow_range_m3_s=result.flow_at_50_pa_range_m3_s,
                volume_m3=result.volume_m3,
                enclosure_m2=envelope or 1.0,
                limit=limit,
            )
        )
    return verdicts
