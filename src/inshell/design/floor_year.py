"""A warm floor through the weather year, as devices of the coupled network: reset, thermostats, lockout, setback."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS
from inshell.design.drivers import Prepared, prepare
from inshell.design.floor_heat import FloorHeat, LoopHeat
from inshell.design.floor_source import BAND_K, FloorSource
from inshell.design.floor_water import FloorWater
from inshell.design.heating import set_point_c
from inshell.design.room_days import repeated
from inshell.design.year_run import RUN_IN_HOURS, STEP_S, run_in
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.rooms import Core
from inshell.network.system import Control, Sensor, Series, State, Target, Tube, first_state
from inshell.physics.heater import cycling
from inshell.physics.hydronic import reset_supply_c
from inshell.physics.types import Floats

NIGHT = (22, 6)
COLD_K, OVER_K, WINTER_C = 1.0, 1.5, 10.0
LEAST_OVER_K = 4.0  # of reset water over the room: below it nothing would flow (common practice)
MINUTE_S, LONGEST_DROP_K = 60.0, 30.0
BEHIND_K, FOLLOWS_K, LONGEST_H = 3.0, 0.5, 96
RUNS_SHARE = 0.05  # of the design heat: below it the floor stands


@dataclass(frozen=True)
class RoomFloorYear:
    """One room through the year: how cold and how far above its set point while it is cold outdoors, its floor."""

    room: str
    coldest_c: float
    hours_cold: int
    overshoot_k: float
    hours_over: int
    floor_most_c: float
    floor_winter_c: float


@dataclass(frozen=True)
class FloorYear:
    """Heat by hour [W] of every loop, rooms, what comes back, starts of the heater by the rule and by the minute."""

    loops: tuple[str, ...]
    loop_w: Floats
    heat_kwh: float
    down_kwh: float
    rooms: tuple[RoomFloorYear, ...]
    return_c: float
    starts: float | None
    days_checked: tuple[tuple[int, float, float], ...]
    """(day, starts by the rule, starts minute by minute)"""
    responds_h: float | None
    imbalance_w: float


def with_tubes(
    house: House,
    ready: Prepared,
    heat: FloorHeat,
    water: FloorWater,
    hours: NDArray[np.int64],
    design_c: float,
    *,
    keep_heads: bool = False,
) -> tuple[Prepared, dict[str, list[int]]]:
    """The house with its loops as devices, in place of what made heat before or beside heads; tubes of each loop."""
    tubes: list[Tube] = []
    mine: dict[str, list[int]] = {}
    flows = {loop.id: loop.flow_m3_s for loop in water.loops}
    rooms, cores = [room.id for room in house.room], ready.thermal.cores
    for loop in heat.loops:
        carries = flows[loop.run.id] * water.fluid.heat_j_m3k
        warms = [(c, w_k) for c in cores if (w_k := _through_w_k(c, cores, loop, heat, rooms)) > 0.0]
        units = sum(w_k for _, w_k in warms) / carries
        share = (1.0 - math.exp(-units)) / units if units > 0.0 else 1.0
        mine[loop.run.id] = list(range(len(tubes), len(tubes) + len(warms)))
        tubes += [Tube(core.node, share * w_k) for core, w_k in warms]
    controls, permits = _rows(house, ready, heat, mine, hours)
    forcing = ready.forcing
    supply = supply_c(house, heat, forcing.outdoor_c, design_c)
    system = replace(ready.system, tubes=tuple(tubes), controls=(*ready.system.controls, *controls))
    held = forcing.heat_at_c if keep_heads else np.full_like(forcing.heat_at_c, np.nan)
    forcing = replace(
        forcing, supply_c=np.repeat(supply[:, None], len(tubes), axis=1), heat_at_c=held,
        permit=np.hstack([forcing.permit, permits]),
    )  # fmt: skip
    return replace(ready, system=system, forcing=forcing), mine


def _through_w_k(core: Core, cores: Sequence[Core], loop: LoopHeat, heat: FloorHeat, rooms: list[str]) -> float:
    """From water to a slab's node at the level of its tubes: what the loop's field and its leaders warm of the room."""
    room = rooms[core.room]
    whole = sum(c.area_m2 for c in cores if c.room == core.room)
    field = float(loop.run.areas[room].area) / heat.builds[loop.run.id].tube if room in loop.run.areas else 0.0
    return core.area_m2 / whole * (field + loop.leader_m2.get(room, 0.0) / loop.strip.tube)


def supply_c(house: House, heat: FloorHeat, outdoor_c: Floats, design_c: float) -> Floats:
    """Water by outdoor reset, else always as on the design day; never above the floor's high limit."""
    inside = float(house.household.heating_set_point_c)
    supply = np.full(len(outdoor_c), heat.supply_c)
    if house.floor.reset:
        supply = reset_supply_c(
            outdoor_c=outdoor_c, indoor_c=inside, design_supply_c=heat.supply_c, design_outdoor_c=design_c
        )
        supply = np.maximum(supply, inside + LEAST_OVER_K)
    return np.asarray(np.minimum(supply, house.floor.supply_most_c))


def _rows(
    house: House, ready: Prepared, heat: FloorHeat, mine: dict[str, list[int]], hours: NDArray[np.int64]
) -> tuple[list[Control], Floats]:
    """Rows of control of every loop, and when each may act: by day and by night, not above the lockout."""
    floor, half = house.floor, 0.5 * house.floor.dead_band_k
    rooms = [room.id for room in house.room]
    clock = hours % 24
    night = (clock >= NIGHT[0]) | (clock < NIGHT[1])
    open_ = np.ones(len(hours), dtype=bool)
    if floor.lockout_above_c is not None:
        open_ = ready.forcing.outdoor_c < floor.lockout_above_c
    rows, permits = [], []
    for loop in heat.loops:
        room = next(iter(loop.run.areas))
        sensor, at = Sensor.AIR_C, rooms.index(room)
        point = set_point_c(house, room)
        if floor.sensor == "slab":
            sensor = Sensor.NODE_C
            at = next(c.node for c in ready.thermal.cores if rooms[c.room] == room)
            point = float(floor.slab_set_point_c) if floor.slab_set_point_c is not None else point + LEAST_OVER_K
        times = ((0.0, open_ & ~night), (floor.setback_k, open_ & night)) if floor.setback_k > 0.0 else ((0.0, open_),)
        for lower, when in times:
            for tube in mine[loop.run.id]:
                aim = point - lower
                rows.append(
                    Control(loop.run.id, sensor, at, False, aim - half, aim + half, Target.TUBE_SHARE, tube, 1.0)
                )
                permits.append(when.astype(float))
    return rows, np.column_stack(permits)


def calculate_floor_year(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    heat: FloorHeat,
    water: FloorWater,
    source: FloorSource | None,
    *,
    tested_flow_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> FloorYear:
    """The year with the floor as the only heat, after its run-in; three days again minute by minute for the heater."""
    hours = np.arange(HOURS, dtype=np.int64)
    bare = prepare(
        house, geometry, climate, hours=hours, doors="by-hours", makers="heads", tested_flow_m3_s=tested_flow_m3_s
    )
    ready, mine = with_tubes(house, bare, heat, water, hours, climate.design.heating_c)
    start = first_state(ready.system, air_c=float(house.household.heating_set_point_c))
    begin = run_in(ready, start, first=HOURS - RUN_IN_HOURS, last=HOURS, step_s=STEP_S)
    series = run(ready.system, ready.forcing, begin, step_s=STEP_S, progress=progress)
    loop_w = np.column_stack([series.tube_w[:, mine[loop.run.id]].sum(axis=1) for loop in heat.loops])
    total = loop_w.sum(axis=1)
    starts, days = _starts(ready, begin, total, water, source)
    carries = sum(loop.flow_m3_s for loop in water.loops) * water.fluid.heat_j_m3k
    warm, supply = total > RUNS_SHARE * heat.heat_w, ready.forcing.supply_c[:, 0]
    back = supply - np.minimum(total / carries, LONGEST_DROP_K)
    rooms = [room.id for room in house.room]
    warmed = {room for loop in heat.loops for room in loop.run.areas}
    touched = warmed | {room for loop in heat.loops for room in loop.leader_m2}
    return FloorYear(
        loops=tuple(loop.run.id for loop in heat.loops),
        loop_w=loop_w,
        heat_kwh=float(total.sum() / 1000.0),
        down_kwh=_down_kwh(ready, series, total),
        rooms=tuple(_room(house, ready, series, rooms.index(room)) for room in rooms if room in touched),
        return_c=float(back[warm].mean()) if warm.any() else float(supply.mean()),
        starts=starts,
        days_checked=days,
        responds_h=_responds_h(house, ready, begin, warmed),
        imbalance_w=series.balances.heat_w,
    )


def _down_kwh(ready: Prepared, series: Series, total_w: Floats) -> float:
    """What goes down from the level of the tubes on days on which they give heat."""
    warm = np.repeat(total_w.reshape(-1, 24).sum(axis=1) > 0.0, 24)
    cores = {core.node for core in ready.thermal.cores}
    watts = np.zeros(len(series.nodes_c))
    for one, two, conductance in ready.thermal.network.edges:
        if two in cores:
            watts += conductance * (series.nodes_c[:, two] - series.nodes_c[:, one])
    return float(watts[warm].sum() / 1000.0)


def _room(house: House, ready: Prepared, series: Series, k: int) -> RoomFloorYear:
    name = house.room[k].id
    air, outdoor = series.nodes_c[:, k], ready.forcing.outdoor_c
    point = set_point_c(house, name)
    cold_out = outdoor < WINTER_C
    over = np.where(cold_out, air - point, -np.inf)
    floors = np.array([series.nodes_c[:, core.face] for core in ready.thermal.cores if core.room == k]).max(axis=0)
    return RoomFloorYear(
        name, float(air.min()), int((air < point - COLD_K).sum()), float(max(over.max(), 0.0)),
        int((over > OVER_K).sum()), float(floors.max()),
        float(floors[cold_out].mean()) if cold_out.any() else float(floors.mean()),
    )  # fmt: skip


def _starts(
    ready: Prepared, begin: State, total_w: Floats, water: FloorWater, source: FloorSource | None
) -> tuple[float | None, tuple[tuple[int, float, float], ...]]:
    """Starts of the heater in the year by the rule of steady hours; three days again, its water minute by minute."""
    if source is None or source.least_w is None or not total_w.any():
        return None, ()
    store = water.volume_m3 * water.fluid.heat_j_m3k
    least = source.least_w

    def rule(watts: Floats) -> float:
        told = [cycling(load_w=float(w), minimum_w=least, store_j_k=store, band_k=BAND_K) for w in watts]
        return sum(one.starts_per_h for one in told)

    days = total_w.reshape(-1, 24).sum(axis=1)
    order = [int(d) for d in np.argsort(days) if days[d] > RUNS_SHARE * days.max()]
    chosen = sorted({order[0], order[len(order) // 2], order[-1]})
    checked = []
    for day in chosen:
        first = 24 * day
        now = begin
        if first:
            now = run(ready.system, ready.forcing.rows(0, first), begin, step_s=STEP_S).state
        rows = ready.forcing.rows(first, first + 24)
        series = run(ready.system, rows, now, step_s=MINUTE_S, slot_s=MINUTE_S)
        minutes = series.tube_w.sum(axis=1)
        counted = _counted(minutes, least, store)
        checked.append((day, rule(minutes.reshape(24, 60).mean(axis=1)), counted))
    return rule(total_w), tuple(checked)


def _counted(load_w: Floats, least_w: float, store_j_k: float) -> float:
    """Starts of a heater that fires when its water is a band below where it stops, load given minute by minute."""
    below, fires, starts = 0.0, False, 0
    for load in load_w:
        made = max(least_w, load) if fires else 0.0
        below += (load - made) * MINUTE_S / store_j_k
        if fires and below <= 0.0:
            fires, below = False, max(below, -BAND_K)
        elif not fires and below >= BAND_K:
            fires, starts = True, starts + 1
    return float(starts)


def _responds_h(house: House, ready: Prepared, begin: State, warmed: set[str]) -> float | None:
    """Hours on the coldest day, repeated, until the slowest warmed room is half a kelvin below its set point or nearer,
    everything having stood 3 K colder; None if it takes longer than four days."""
    day = int(np.argmin(ready.forcing.outdoor_c.reshape(-1, 24).mean(axis=1)))
    rows = repeated(ready.forcing.rows(24 * day, 24 * day + 24), LONGEST_H // 24)
    start = begin.copy()
    start.nodes_c = start.nodes_c - BEHIND_K
    series = run(ready.system, rows, start, step_s=STEP_S)
    slowest = 0.0
    for k, room in enumerate(house.room):
        if room.id in warmed:
            there = np.flatnonzero(series.nodes_c[:, k] >= set_point_c(house, room.id) - FOLLOWS_K)
            if not len(there):
                return None
            slowest = max(slowest, float(there[0]))
    return slowest
