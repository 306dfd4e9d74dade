"""`inshell floor`: the tube plan, what rooms ask of the floor, its water, its heater, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from inshell.design.floor_heat import FloorHeat, calculate_floor
from inshell.design.floor_source import FloorSource, calculate_source
from inshell.design.floor_water import FloorWater, calculate_water
from inshell.design.floor_ways import Way, calculate_ways
from inshell.design.floor_year import FloorYear, calculate_floor_year
from inshell.design.heating import set_point_c
from inshell.design.promise import Judged, verdict_of
from inshell.design.tube_plan import TubePlan, lay_tubes
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.jobs.answer import Answer, answer
from inshell.jobs.floor_findings import floor_findings
from inshell.jobs.own_promises import judge_own
from inshell.units import show

LEAST_OVER_K = 2.0


@dataclass(frozen=True)
class Floor:
    """Everything that `inshell floor` says; heat, water and source are None where nothing could be laid."""

    answer: Answer
    plan: TubePlan
    heat: FloorHeat | None
    water: FloorWater | None
    source: FloorSource | None
    findings: tuple[Finding, ...]
    year: FloorYear | None = None
    ways: tuple[Way, ...] = ()
    promises: tuple[Judged, ...] = ()


def floor(path: Path, *, through_year: bool = False) -> Floor:
    """The whole answer; with its year where that is asked. Raises InputRefused where the house has no circuits."""
    return floor_of(answer(path), through_year=through_year)


def floor_of(base: Answer, *, through_year: bool = False) -> Floor:
    """The same from a house whose static answer is there."""
    house, geometry = base.house, base.geometry
    if not house.circuit:
        raise refuse("circuit", "no floor circuits", "one [[circuit]] or more, with its [[manifold]]")
    if not house.slab:
        raise refuse("slab", "no slab", "a [[slab]] under the rooms that circuits warm")
    if house.floor.supply_c is not None:
        warmest = max(set_point_c(house, room) for c in house.circuit for room in c.rooms)
        if house.floor.supply_c < warmest + LEAST_OVER_K:
            shown = [show(t, "temperature", house.units) for t in (house.floor.supply_c, warmest + LEAST_OVER_K)]
            raise refuse("floor.supply", shown[0], f"{shown[1]} or more: warmer than the rooms that it warms")
    plan = lay_tubes(house, geometry)
    told = Floor(base, plan, None, None, None, ())
    if plan.runs:
        heat = calculate_floor(house, geometry, base.climate, base.heating, plan)
        water = calculate_water(house, heat)
        source = calculate_source(house, heat, water, base.climate.design.heating_c)
        told = Floor(base, plan, heat, water, source, ())
        if through_year:
            told = _through_year(told, heat, water)
    found = floor_findings(
        house, told.plan, told.heat, told.water, told.source, told.year, coldest_c=base.climate.design.heating_c
    )
    return replace(told, findings=tuple(by_severity(found)), promises=tuple(_promises(told)))


def _promises(told: Floor) -> Iterator[Judged]:
    """What was promised of the floor's surface: broken by the design day or the year, never kept by these alone."""
    for promise in told.answer.house.promise:
        if promise.kind != "floor-surface-temperature" or told.heat is None:
            continue
        base = judge_own(told.answer, promise)
        hottest = [r.hottest_c for r in told.heat.rooms if promise.room in (None, r.room) and r.area_m2 > 0.0]
        if told.year is not None:
            hottest += [r.floor_most_c for r in told.year.rooms if promise.room in (None, r.room)]
        if not hottest:
            yield replace(base, why_unknown="no circuit lies there")
            continue
        value, said = max(hottest), "over a tube, design day" + (", and through the year" if told.year else "")
        base = replace(base, value=value, condition=promise.condition or said)
        if verdict_of(value, promise.limit, base.sense) == "broken":
            yield replace(base, verdict="broken")
        else:
            yield replace(
                base, why_unknown="kept as computed; what is not known of the house is not sampled for floors"
            )


def _through_year(told: Floor, heat: FloorHeat, water: FloorWater) -> Floor:
    """The same with its year and the other ways to warm the house."""
    base = told.answer
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    tested = base.test.result.flow_at_50_pa_m3_s if base.test else None
    year = calculate_floor_year(
        base.house, base.geometry, base.climate, heat, water, told.source, tested_flow_m3_s=tested
    )
    ways = calculate_ways(
        base.house, base.geometry, base.climate, heat, water, told.source, year, tested_flow_m3_s=tested
    )
    return replace(told, year=year, ways=ways)
