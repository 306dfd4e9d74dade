"""Whole-house fresh air under each rule, with the credit for infiltration."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

from inshell.findings import Finding
from inshell.physics.flow import coefficient_m3_s_pan, leakage_area_m2
from inshell.sources import table
from inshell.units import System

CFM_M3_S = 0.028316846592 / 60.0
LITRE_M3_S = 1e-3
FT2_M2 = 0.3048**2
CREDITS = ("none", "plain", "balance-weighted", "balanced-supplied")
CREDIT_DENSITY_KG_M3 = 1.2


@dataclass(frozen=True)
class Leakage:
    """What the credit for infiltration needs. `exponent` is that of the test; the standard's default is 0.65."""

    flow_at_50_pa_m3_s: float
    height_m: float
    weather_factor: float
    exponent: float = 0.65


@dataclass(frozen=True)
class FreshAir:
    """A rule's demand on the whole house."""

    rule: str
    required_flow_m3_s: float
    infiltration_credit_m3_s: float
    fan_flow_m3_s: float
    infiltration_flow_m3_s: float
    normalised_leakage: float | None
    findings: tuple[Finding, ...] = ()


def rules() -> tuple[str, ...]:
    """Every fresh-air rule by name, as the table has them."""
    return tuple(name for name, row in table("fresh_air").items() if "family" in row)


def rule_row(rule: str) -> dict[str, Any]:
    """The coefficients of a rule."""
    row: dict[str, Any] = table("fresh_air")[rule]
    if row["credit"] not in CREDITS:
        raise ValueError(f"{rule}: credit {row['credit']!r} is none of {', '.join(CREDITS)}")
    return row


def required_flow_m3_s(
    *, rule: str, area_m2: float, bedrooms: int, occupants: int | None = None, system: System = "us"
) -> float:
    """Whole-house rate before any credit.

    Formula: ASHRAE 62.2: a A + b (Nbr + 1), Nbr at least 1, b more for each known occupant above Nbr + 1;
    IRC table: the row of the area and the column of the bedrooms
    Arguments: rule; area_m2 [m2] floor area; bedrooms; occupants, where known; system: the IP or the SI form
    Returns: flow [m3/s]
    Source: the row of the rule in sources/fresh_air.toml

    >>> round(required_flow_m3_s(rule="ashrae-62.2-2019", area_m2=1000 * 0.09290304, bedrooms=2) / 4.719474e-4, 2)
    52.5
    """
    row = rule_row(rule)
    if "cfm" in row:
        return _table_flow(row, area_m2, bedrooms)
    people = max(1, bedrooms) + 1
    if row["family"] == "ashrae":
        people = max(people, occupants or 0)
    area, unit = (area_m2 / FT2_M2, CFM_M3_S) if system == "us" else (area_m2, LITRE_M3_S)
    return float((row[system]["per_area"] * area + row[system]["per_person"] * people) * unit)


def _table_flow(row: dict[str, Any], area_m2: float, bedrooms: int) -> float:
    area = area_m2 / FT2_M2
    band = sum(area > top + 1e-9 for top in row["area_tops_ft2"])
    column = sum(bedrooms > top for top in row["bedroom_tops"])
    return float(row["cfm"][band][column] * CFM_M3_S)


def printed_table_cfm(*, area_ft2: float, bedrooms: int) -> int:
    """The printed 62.2 table (2013 and later): the formula at the top of the area band, rounded half up.

    >>> printed_table_cfm(area_ft2=450, bedrooms=2), printed_table_cfm(area_ft2=960, bedrooms=2)
    (38, 53)
    """
    top = max(500.0, math.ceil(area_ft2 / 500.0 - 1e-9) * 500.0)
    return math.floor(0.03 * top + 7.5 * (bedrooms + 1) + 0.5)


def infiltration_flow(*, leakage: Leakage, area_m2: float, system: System) -> tuple[float, float]:
    """(effective yearly infiltration [m3/s], normalised leakage) of a house.

    Formula: NL = 1000 (ELA/A) (H/8.2 ft)^0.4 (SI: 2.5 m); Qinf = NL wsf A / 7.3 cfm, ft2 (SI: /1.44 L/s, m2)
    Source: ASHRAE 62.2-2013 and later, 4.1.2 (IP from UMC Appendix E; SI from memory)

    >>> leak = Leakage(120 * 4.719474e-4, 9 * 0.3048, 0.6)
    >>> round(infiltration_flow(leakage=leak, area_m2=1000 * 0.09290304, system="us")[0] / 4.719474e-4, 2)
    3.9
    """
    coefficient = coefficient_m3_s_pan(
        flow_m3_s=leakage.flow_at_50_pa_m3_s, pressure_pa=50.0, exponent=leakage.exponent
    )
    ela = float(
        leakage_area_m2(
            coefficient_m3_s_pan=coefficient,
            exponent=leakage.exponent,
            pressure_pa=4.0,
            discharge=1.0,
            density_kg_m3=CREDIT_DENSITY_KG_M3,
        )
    )
    reference = 8.2 * 0.3048 if system == "us" else 2.5
    normalised = 1000.0 * ela / area_m2 * (leakage.height_m / reference) ** 0.4
    if system == "us":
        return normalised * leakage.weather_factor * (area_m2 / FT2_M2) / 7.3 * CFM_M3_S, normalised
    return normalised * leakage.weather_factor * area_m2 / 1.44 * LITRE_M3_S, normalised


def calculate_fresh_air(
    *,
    rule: str,
    area_m2: float,
    bedrooms: int,
    occupants: int | None = None,
    system: System = "us",
    leakage: Leakage | None = None,
    balanced: bool = False,
    new_house: bool = True,
    detached: bool = True,
    supplied: bool = False,
) -> FreshAir:
    """A rule's demand, the credit it allows for infiltration, and what the fans must then move.

    2013 and 2016: Qfan = Qtot - Qinf. 2019 and later: Qfan = Qtot - phi Qinf Aext, phi = 1 if balanced, else
    Qinf/Qtot; Aext = 1 if detached, else no credit is taken here. New houses: Qinf at most 2/3 Qtot.
    IRC from 2021 on: 30 % less if balanced and `supplied`, outdoor air by duct to each bedroom and one living room.
    """
    required = required_flow_m3_s(rule=rule, area_m2=area_m2, bedrooms=bedrooms, occupants=occupants, system=system)
    kind = rule_row(rule)["credit"]
    findings: list[Finding] = []
    if kind == "balanced-supplied":
        less = float(table("fresh_air")["balanced_supplied"]["share"]) if balanced and supplied else 0.0
        return FreshAir(rule, required, 0.0, required * (1.0 - less), 0.0, None)
    if leakage is None or kind == "none":
        if kind != "none":
            findings.append(Finding("no-infiltration-credit", "rules.weather_factor", {"rule": rule}))
        return FreshAir(rule, required, 0.0, required, 0.0, None, tuple(findings))
    if not 0.25 <= leakage.weather_factor <= 1.2:
        findings.append(Finding("weather-factor-unusual", "rules.weather_factor", {"factor": leakage.weather_factor}))
    flow, normalised = infiltration_flow(leakage=leakage, area_m2=area_m2, system=system)
    counted = min(flow, 2.0 / 3.0 * required) if new_house else min(flow, required)
    phi = 1.0 if balanced or kind == "plain" else counted / required
    credit = phi * counted if detached or kind == "plain" else 0.0
    if kind != "plain" and not balanced:
        findings.append(
            Finding("credit-small-unbalanced", "rules.fresh_air", {"credit": (credit, "flow"), "rule": rule})
        )
    return FreshAir(rule, required, credit, max(0.0, required - credit), flow, normalised, tuple(findings))


def intermittent_factor(*, share: float) -> float:
    """Factor by which a fan that runs a share of each 4 hours must be larger (IRC), linear between the rows.

    >>> intermittent_factor(share=0.5)
    2.0
    """
    row = table("fresh_air")["intermittent"]
    points = list(zip(row["share"], row["factor"], strict=True))
    for (s0, f0), (s1, f1) in itertools.pairwise(points):
        if s0 <= share <= s1:
            return float(f0 + (f1 - f0) * (share - s0) / (s1 - s0))
    raise ValueError("a fan must run at least 25 % of each 4 hours")
