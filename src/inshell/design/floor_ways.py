"""Ways to warm the same house at the same set points: tubes everywhere, tubes beside the heads, heads, resistance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS
from inshell.design.drivers import prepare
from inshell.design.floor_heat import FloorHeat
from inshell.design.floor_source import FloorSource
from inshell.design.floor_water import FloorWater
from inshell.design.floor_year import COLD_K, FloorYear, supply_c, with_tubes
from inshell.design.head_year import head_years
from inshell.design.heating import set_point_c
from inshell.design.year_run import RUN_IN_HOURS, STEP_S, YearRun, calculate_year, run_in
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.system import first_state
from inshell.physics.heater import air_to_water_cop
from inshell.physics.types import Floats


@dataclass(frozen=True)
class Way:
    """One way to warm the house: heat and what it takes through the year, its peak, its coldest room, what it costs.

    Input is None where nothing says how much heat comes out of it, cost where no price is given.
    """

    name: str
    heat_kwh: float
    fuel_kwh: float | None
    electric_kwh: float | None
    peak_input_w: float | None
    coldest_room: str
    hours_cold: int
    running: float | None
    first: float | None


def calculate_ways(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    heat: FloorHeat,
    water: FloorWater,
    source: FloorSource | None,
    year: FloorYear,
    *,
    tested_flow_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> tuple[Way, ...]:
    """Every way that the house's own devices allow, each by its own year."""
    rooms = {room.room for room in year.rooms}
    worst = max(year.rooms, key=lambda r: r.hours_cold)
    ways = [
        _priced(house, "tubes everywhere", year.loop_w.sum(axis=1), source, None, worst.room, worst.hours_cold,
                loops=len(heat.loops), ratio=_ratio(house, climate, heat, source))
    ]  # fmt: skip
    beside = {head.room for head in house.head}
    part = tuple(loop for loop in heat.loops if not set(loop.run.areas) & beside)
    if beside and part:
        ways.append(_in_part(house, geometry, climate, heat, water, source, part, rooms, tested_flow_m3_s))
    if house.head:
        told = calculate_year(house, geometry, climate, makers="heads", tested_flow_m3_s=tested_flow_m3_s)
        ways.append(_by_heads(house, told, rooms))
    told = calculate_year(house, geometry, climate, makers="all", tested_flow_m3_s=tested_flow_m3_s)
    given = np.maximum(told.heat_w, 0.0).sum(axis=1)
    room, hours = _coldest(house, told.rooms, told.room_c, rooms)
    price, each = house.prices.electricity_kwh, house.prices.room_heater
    heaters = len({room for c in house.circuit for room in c.rooms})
    ways.append(
        Way("resistance in every room", float(given.sum() / 1000.0), None, float(given.sum() / 1000.0),
            float(given.max()), room, hours, None if price is None else float(given.sum() / 1000.0) * price,
            None if each is None else each * heaters)
    )  # fmt: skip
    return tuple(ways)


def _ratio(house: House, climate: HouseClimate, heat: FloorHeat, source: FloorSource | None) -> Floats | None:
    """Heat to input of an air-to-water machine hour by hour, by outdoors and its water; None for all else."""
    if source is None or source.heater.kind != "air-to-water" or climate.year is None:
        return None
    outdoor = climate.year.dry_bulb_c
    sink = supply_c(house, heat, outdoor, climate.design.heating_c) + (source.supply_c - heat.supply_c)
    by_lift = air_to_water_cop(source_c=outdoor, sink_c=sink)
    at_design = float(air_to_water_cop(source_c=climate.design.heating_c, sink_c=source.supply_c))
    return np.asarray(by_lift * source.efficiency / at_design)


def _coldest(house: House, names: tuple[str, ...], air_c: Floats, among: set[str]) -> tuple[str, int]:
    """The room with most hours a kelvin below its set point."""
    hours = {
        name: int((air_c[:, k] < set_point_c(house, name) - COLD_K).sum())
        for k, name in enumerate(names)
        if name in among
    }
    worst = max(hours, key=lambda name: hours[name])
    return worst, hours[worst]


def _priced(
    house: House, name: str, watts: Floats, source: FloorSource | None, electric_kwh: float | None, room: str,
    hours: int, *, loops: int, extra_kwh: float = 0.0, ratio: Floats | None = None,
) -> Way:  # fmt: skip
    """Heat of tubes by their heater's efficiency; `electric_kwh` is what heads beside them took."""
    kwh, prices = float(watts.sum() / 1000.0), house.prices
    fuel = electric = peak = None
    if source is not None:
        input_w = watts / (source.efficiency if ratio is None else ratio)
        used, peak = float(input_w.sum() / 1000.0), float(input_w.max())
        if source.heater.fuel == "electric":
            electric = used
        else:
            fuel = used
    if electric_kwh is not None:
        electric = (electric or 0.0) + electric_kwh
    costs = [None if used is None else (None if price is None else used * price)
             for used, price in ((fuel, prices.fuel_kwh), (electric, prices.electricity_kwh))]  # fmt: skip
    asked = [used is not None for used in (fuel, electric)]
    known = all(cost is not None for cost, need in zip(costs, asked, strict=True) if need) and any(asked)
    return Way(
        name, kwh + extra_kwh, fuel, electric, peak, room, hours,
        sum(cost for cost in costs if cost is not None) if known else None,
        None if prices.floor_loop is None else prices.floor_loop * loops,
    )  # fmt: skip


def _by_heads(house: House, told: YearRun, rooms: set[str]) -> Way:
    modes = [
        m for m in head_years(house, told.rooms, told.outdoor_c, told.heat_w, told.removed_kg) if m.mode == "heating"
    ]
    given = np.maximum(told.heat_w, 0.0).sum(axis=1)
    known = modes and all(m.electric_kwh is not None for m in modes)
    electric = sum(m.electric_kwh or 0.0 for m in modes) if known else None
    price = house.prices.electricity_kwh
    room, hours = _coldest(house, told.rooms, told.room_c, rooms)
    each = house.prices.head
    return Way(
        "heads alone", float(given.sum() / 1000.0), None, electric, None, room, hours,
        None if price is None or electric is None else electric * price,
        None if each is None else each * len(house.head),
    )  # fmt: skip


def _in_part(
    house: House, geometry: Geometry, climate: HouseClimate, heat: FloorHeat, water: FloorWater,
    source: FloorSource | None, part: tuple[object, ...], rooms: set[str], tested_flow_m3_s: float | None,
) -> Way:  # fmt: skip
    """Tubes where no head stands, heads where they do."""
    hours = np.arange(HOURS, dtype=np.int64)
    ready = prepare(
        house, geometry, climate, hours=hours, doors="by-hours", makers="heads", tested_flow_m3_s=tested_flow_m3_s
    )
    some = replace(heat, loops=tuple(loop for loop in heat.loops if loop in part))
    both, mine = with_tubes(house, ready, some, water, hours, climate.design.heating_c, keep_heads=True)
    start = first_state(both.system, air_c=float(house.household.heating_set_point_c))
    begin = run_in(both, start, first=HOURS - RUN_IN_HOURS, last=HOURS, step_s=STEP_S)
    series = run(both.system, both.forcing, begin, step_s=STEP_S)
    names = tuple(room.id for room in house.room)
    modes = [
        m for m in head_years(house, names, both.forcing.outdoor_c, series.holder_w, series.removed_kg)
        if m.mode == "heating"
    ]  # fmt: skip
    electric = sum(m.electric_kwh or 0.0 for m in modes) if all(m.electric_kwh is not None for m in modes) else None
    room, cold = _coldest(house, names, series.nodes_c[:, : len(names)], rooms)
    tubes = [k for numbers in mine.values() for k in numbers]
    heads = float(np.maximum(series.holder_w, 0.0).sum() / 1000.0)
    return _priced(
        house, "tubes where no head stands, heads", series.tube_w[:, tubes].sum(axis=1), source, electric, room, cold,
        loops=len(part), extra_kwh=heads, ratio=_ratio(house, climate, heat, source),
    )  # fmt: skip
