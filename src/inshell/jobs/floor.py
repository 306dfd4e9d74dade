"""`inshell floor`: the tube plan, what rooms ask of the floor, its water, its heater, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from inshell.design.floor_heat import FloorHeat, calculate_floor
from inshell.design.floor_source import FloorSource, calculate_source
from inshell.design.floor_water import FloorWater, calculate_water
from inshell.design.tube_plan import TubePlan, lay_tubes
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.jobs.answer import Answer, answer
from inshell.jobs.floor_findings import floor_findings


@dataclass(frozen=True)
class Floor:
    """Everything that `inshell floor` says; heat, water and source are None where nothing could be laid."""

    answer: Answer
    plan: TubePlan
    heat: FloorHeat | None
    water: FloorWater | None
    source: FloorSource | None
    findings: tuple[Finding, ...]


def floor(path: Path) -> Floor:
    """The whole answer; raises InputRefused where the house has no circuits."""
    return floor_of(answer(path))


def floor_of(base: Answer) -> Floor:
    """The same from a house whose static answer is there."""
    house, geometry = base.house, base.geometry
    if not house.circuit:
        raise refuse("circuit", "no floor circuits", "one [[circuit]] or more, with its [[manifold]]")
    if not house.slab:
        raise refuse("slab", "no slab", "a [[slab]] under the rooms that circuits warm")
    plan = lay_tubes(house, geometry)
    told = Floor(base, plan, None, None, None, ())
    if plan.runs:
        heat = calculate_floor(house, geometry, base.climate, base.heating, plan)
        water = calculate_water(house, heat)
        source = calculate_source(house, heat, water, base.climate.design.heating_c)
        told = Floor(base, plan, heat, water, source, ())
    found = floor_findings(house, told.plan, told.heat, told.water, told.source)
    return replace(told, findings=tuple(by_severity(found)))
