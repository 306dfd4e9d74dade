"""`inshell quick fresh-air`: what a rule asks of a house, without a house file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inshell.design.fresh_air import FreshAir, Leakage, calculate_fresh_air, rule_row, rules
from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_values import Asked, system_of_text


@dataclass(frozen=True)
class QuickFreshAir:
    """The answer with the form of the rule that was used."""

    result: FreshAir
    form: str

    def as_json(self) -> dict[str, Any]:
        """The document of `--json`."""
        row = rule_row(self.result.rule)
        return {
            "rule": self.result.rule,
            "form": self.form,
            "clause": row["clause"],
            "source": row["source"],
            "required_flow_m3_s": self.result.required_flow_m3_s,
            "infiltration_credit_m3_s": self.result.infiltration_credit_m3_s,
            "fan_flow_m3_s": self.result.fan_flow_m3_s,
            "infiltration_flow_m3_s": self.result.infiltration_flow_m3_s,
            "normalised_leakage": self.result.normalised_leakage,
            "findings": [f.as_json() for f in self.result.findings],
        }


def quick_fresh_air(
    *,
    area: str,
    bedrooms: int,
    rule: str,
    cfm50: str | None,
    exponent: float,
    height: str | None,
    weather_factor: float | None,
    balanced: bool,
    new_house: bool,
    occupants: int | None = None,
) -> QuickFreshAir:
    """A rule's demand from unit text; the IP or the SI form follows the unit of the area."""
    asked = Asked()
    system = system_of_text(area)
    area_m2 = asked.quantity("--area", area, "area", low=1.0, high=5000.0)
    if rule not in rules():
        asked.problems.append(Problem("--rule", repr(rule), ", ".join(rules())))
    if not 0 <= bedrooms <= 20:
        asked.problems.append(Problem("--bedrooms", str(bedrooms), "0 to 20"))
    flow50 = asked.optional("--cfm50", cfm50, "flow", bare="us", low=1e-6, high=5.0)
    height_m = asked.optional("--height", height, "length", low=1.0, high=60.0)
    if not 0.5 <= exponent <= 1.0:
        asked.problems.append(Problem("--exponent", str(exponent), "0.5 to 1"))
    if weather_factor is not None and not 0.0 < weather_factor <= 3.0:
        asked.problems.append(Problem("--weather-factor", str(weather_factor), "above 0, up to 3"))
    if flow50 is not None and weather_factor is not None and height_m is None:
        asked.problems.append(Problem("--height", "missing", "height from the lowest floor to the highest ceiling"))
    if asked.problems:
        raise InputRefused(asked.problems)
    leakage = None
    if flow50 is not None and weather_factor is not None and height_m is not None:
        leakage = Leakage(flow50, height_m, weather_factor, exponent)
    result = calculate_fresh_air(
        rule=rule,
        area_m2=area_m2,
        bedrooms=bedrooms,
        occupants=occupants,
        system=system,
        leakage=leakage,
        balanced=balanced,
        new_house=new_house,
    )
    return QuickFreshAir(result, "IP" if system == "us" else "SI")
