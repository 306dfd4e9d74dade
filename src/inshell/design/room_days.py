"""The design days of a room behind its door: how far it drifts from the main room, how soon it follows, why.

Heating: constant design cold, no sun, no people. Cooling: the hottest month's design day. Each until it repeats itself,
heat and cold made only where heads and heaters are. The same with the power out: how long until 10 °C.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.cold_day import Makers
from inshell.design.cooling_day import cooling_design
from inshell.design.drivers import WINTER_DEW_K, Prepared, prepare, vapour_share, with_heads
from inshell.design.heating import buffer_c
from inshell.design.room_balance import RoomBalance, room_balances
from inshell.design.year_run import run_in
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.links import LinkKind
from inshell.network.routes import DoorsAre
from inshell.network.system import Forcing, Series, State, first_state
from inshell.physics.types import Floats

Season = Literal["heating", "cooling"]
RUN_IN_STEP_S, STEP_S = 600.0, 60.0
BEHIND_K = 3.0  # where everything stands before heads are switched on
FOLLOWS_K = 0.5
LONGEST_SETTLE_H, LONGEST_OUTAGE_H = 96, 240
FREEZING_HANDS_C = 10.0
AIR_KG_M3 = 1.2


@dataclass(frozen=True)
class RoomDay:
    """One room on a design day: temperatures and humidity hour by hour, its worst drift from the main room, and why."""

    room: str
    air_c: Floats
    operative_c: Floats
    humidity: Floats
    offset_k: float
    operative_offset_k: float
    worst_hour: int
    settles_h: float | None
    balance: RoomBalance
    pressure_pa: float
    outdoor_m3_s: float


@dataclass(frozen=True)
class DesignDay:
    """A design day with inner doors in one state. `settles_h` of a room is None where it takes longer than is run."""

    season: Season
    doors: DoorsAre
    main: str
    outdoor_c: Floats
    made_w: Floats
    removed_kg: float
    moved_m3_s: dict[str, float]
    rooms: tuple[RoomDay, ...]
    imbalance_w: float

    def of(self, room: str) -> RoomDay:
        """One room's day."""
        return next(day for day in self.rooms if day.room == room)


def main_room(house: House, geometry: Geometry, makers: Makers = "heads") -> str:
    """The room that others are compared with: the largest in which something heats or cools; else the largest."""
    made = set(house.rooms_with_heat)
    if makers == "all" or not made:
        made |= {room for circuit in house.circuit for room in circuit.rooms}
    among = [room.id for room in house.room if room.id in made] or [room.id for room in house.room]
    return max(among, key=lambda room: geometry.space(room).floor_m2)


def heating_design(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors: DoorsAre,
    makers: Makers = "heads",
    tested_flow_m3_s: float | None = None,
) -> Prepared:
    """The house through 24 hours of constant design cold: no sun, no people, no wind, nothing on demand."""
    if climate.year is None:
        raise ValueError("the heating design day of rooms needs a weather year")
    hours = np.arange(24, dtype=np.int64)
    ready = prepare(
        house, geometry, climate, hours=hours, doors=doors, on_demand=False, makers=makers,
        tested_flow_m3_s=tested_flow_m3_s,
    )  # fmt: skip
    cold, f = climate.design.heating_c, ready.forcing
    boundary = np.tile(f.boundary_c[0], (24, 1))
    outdoor, dew = np.full(24, cold), np.full(24, cold - WINTER_DEW_K)
    boundary[:, 0] = boundary[:, 1] = cold
    boundary[:, 2], boundary[:, 3:] = climate.design.mean_annual_c, buffer_c(house, outdoor)
    forcing = replace(
        f, outdoor_c=outdoor, boundary_c=boundary, source_w=np.zeros_like(f.source_w),
        gains_w=np.zeros_like(f.gains_w), wind_pa=np.zeros_like(f.wind_pa),
        vapour_kg_s=np.zeros_like(f.vapour_kg_s), gas_kg_s=np.zeros_like(f.gas_kg_s),
        outdoor_vapour=vapour_share(dew, climate.pressure_pa),
    )  # fmt: skip
    system, forcing = with_heads(house, ready.system, forcing, hours, makers)
    return replace(ready, system=system, forcing=forcing)


def design_of(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    season: Season,
    doors: DoorsAre,
    makers: Makers = "heads",
    tested_flow_m3_s: float | None = None,
) -> Prepared:
    """Either season's design day, ready to run."""
    of = heating_design if season == "heating" else cooling_design
    return of(house, geometry, climate, doors=doors, makers=makers, tested_flow_m3_s=tested_flow_m3_s)


def settled_state(house: House, ready: Prepared, season: Season) -> State:
    """Where the house stands at the day's midnight once it repeats itself to 0.01 K."""
    point = house.household.heating_set_point_c if season == "heating" else house.household.cooling_set_point_c
    start = first_state(ready.system, air_c=float(point), humidity=0.4 if season == "heating" else 0.5)
    return run_in(ready, start, first=0, last=24, step_s=RUN_IN_STEP_S)


def calculate_design_day(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    season: Season,
    doors: DoorsAre,
    makers: Makers = "heads",
    tested_flow_m3_s: float | None = None,
    step_s: float = STEP_S,
) -> DesignDay:
    """Every room on one design day, with its balance in the hour of its worst drift and the time it takes to follow."""
    ready = design_of(
        house, geometry, climate, season=season, doors=doors, makers=makers, tested_flow_m3_s=tested_flow_m3_s
    )
    begun = settled_state(house, ready, season)
    series = run(ready.system, ready.forcing, begun, step_s=step_s, slot_s=step_s)
    air, operative = hourly_temperatures(ready, series)
    per = round(3600.0 / step_s)
    humidity = series.humidity.reshape(24, per, -1).mean(axis=1)
    index = ready.routes.network.rooms.index(main_room(house, geometry, makers))
    drift, felt = air - air[:, [index]], operative - operative[:, [index]]
    worst = np.argmax(np.abs(drift), axis=0)
    settles = _settles_h(ready, begun, series, season)
    rooms = []
    for k, name in enumerate(ready.routes.network.rooms):
        hour = int(worst[k])
        why = room_balances(geometry, ready, series, begun, first=hour * per, last=(hour + 1) * per)[k]
        felt_most = float(felt[int(np.argmax(np.abs(felt[:, k]))), k])
        told = (name, air[:, k], operative[:, k], humidity[:, k], float(drift[hour, k]), felt_most)
        pressure = float(series.pressure_pa[:, k].mean())
        rooms.append(RoomDay(*told, hour, settles[k], why, pressure, _outdoor_m3_s(ready, series, k)))
    made = series.holder_w.reshape(24, per, -1).mean(axis=1)
    names = ready.routes.network.rooms
    return DesignDay(
        season, doors, names[index], ready.forcing.outdoor_c, made, float(series.removed_kg.sum()),
        {fan.id: _moved_m3_s(ready, series, fan.id) for fan in house.transfer_fan}, tuple(rooms),
        series.balances.heat_w,
    )  # fmt: skip


def _outdoor_m3_s(ready: Prepared, series: Series, room: int) -> float:
    """Mean outdoor air that enters a room from outdoors, as a volume of standard air."""
    links, outdoors = ready.system.air.links, ready.system.rooms
    came = sum(
        float(flow[:, k].mean())
        for k, link in enumerate(links)
        for start, end, flow in ((link.a, link.b, series.forward_kg_s), (link.b, link.a, series.back_kg_s))
        if start == outdoors and end == room
    )
    return came / AIR_KG_M3


def _moved_m3_s(ready: Prepared, series: Series, fan: str) -> float:
    """What a fan between rooms moves, mean of the day, as a volume of standard air."""
    k = next(k for k, link in enumerate(ready.system.air.links) if link.name == fan)
    return float(series.forward_kg_s[:, k].mean()) / AIR_KG_M3


def hourly_temperatures(ready: Prepared, series: Series) -> tuple[Floats, Floats]:
    """(air, operative) of the rooms, hourly means."""
    per, count = round(3600.0 / series.slot_s), ready.system.rooms
    air = series.nodes_c[:, :count]
    operative = 0.5 * (air + series.nodes_c[:, list(ready.system.radiant)])
    shape = (len(air) // per, per, count)
    return air.reshape(shape).mean(axis=1), operative.reshape(shape).mean(axis=1)


def _settles_h(ready: Prepared, settled: State, series: Series, season: Season) -> list[float | None]:
    """Hours until each room is within half a kelvin of where it will be at that hour, all having stood 3 K behind."""
    away = -BEHIND_K if season == "heating" else BEHIND_K
    start = settled.copy()
    start.nodes_c = start.nodes_c + away
    days = LONGEST_SETTLE_H // 24
    many = repeated(ready.forcing, days)
    step_s = max(RUN_IN_STEP_S, series.slot_s)
    told = run(ready.system, many, start, step_s=step_s, slot_s=step_s)
    per = round(3600.0 / series.slot_s)
    count, steps = ready.system.rooms, round(3600.0 / step_s)
    goal = series.nodes_c[:, :count].reshape(24 * steps, per // steps, count).mean(axis=1)
    off = np.abs(told.nodes_c[:, :count] - np.tile(goal, (days, 1))) > FOLLOWS_K
    last = [int(np.flatnonzero(off[:, k])[-1]) + 1 if off[:, k].any() else 0 for k in range(count)]
    return [None if step >= len(off) else step / steps for step in last]


def repeated(forcing: Forcing, days: int) -> Forcing:
    """A day's hours again and again."""
    arrays = {name: value for name, value in vars(forcing).items() if isinstance(value, np.ndarray)}
    many: dict[str, Any] = {n: np.tile(v, (days,) + (1,) * (v.ndim - 1)) for n, v in arrays.items()}
    return replace(forcing, **many)


def hours_without_power(
    house: House, geometry: Geometry, climate: HouseClimate, *, tested_flow_m3_s: float | None = None
) -> dict[str, float | None]:
    """Hours from a power cut in design cold until each room falls to 10 °C, doors shut, nobody home; None: longer than
    ten days."""
    ready = heating_design(house, geometry, climate, doors="shut", makers="all", tested_flow_m3_s=tested_flow_m3_s)
    begun = settled_state(house, ready, "heating")
    fans = np.array([link.kind is LinkKind.FAN for link in ready.system.air.links])
    f = ready.forcing
    dead = replace(
        f, route_share=np.where(fans, 0.0, f.route_share), heat_at_c=np.full_like(f.heat_at_c, np.nan),
        cool_at_c=np.full_like(f.cool_at_c, np.nan), permit=np.zeros_like(f.permit),
    )  # fmt: skip
    told = run(ready.system, repeated(dead, LONGEST_OUTAGE_H // 24), begun, step_s=RUN_IN_STEP_S)
    below = told.nodes_c[:, : ready.system.rooms] < FREEZING_HANDS_C
    names = ready.routes.network.rooms
    return {n: float(np.argmax(below[:, k])) if below[:, k].any() else None for k, n in enumerate(names)}
