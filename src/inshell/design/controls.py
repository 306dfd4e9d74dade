"""Rows of control of a house, for the coupled step: what calls devices, doors and windows, and when each may act."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from inshell.design.gains import people_at, within
from inshell.house.model.controls import ControlRow
from inshell.house.model.house import House
from inshell.house.model.site import Weekday
from inshell.network.links import LinkKind
from inshell.network.routes import HouseRoutes
from inshell.network.system import Control, Sensor, Target
from inshell.physics.air import HEAT_CAPACITY_J_KGK, VAPORISATION_J_KG
from inshell.physics.types import Floats
from inshell.sources import table

WEEK = get_args(Weekday)
SENSED = {
    "humidity_above": (Sensor.HUMIDITY, True, "dead_band_share"),
    "carbon_dioxide_above_ppm": (Sensor.CARBON_DIOXIDE_PPM, True, "dead_band_ppm"),
    "air_above_c": (Sensor.AIR_C, True, "dead_band_k"),
    "air_below_c": (Sensor.AIR_C, False, "dead_band_k"),
    "outdoor_above_c": (Sensor.OUTDOOR_C, True, "dead_band_k"),
    "outdoor_below_c": (Sensor.OUTDOOR_C, False, "dead_band_k"),
}


@dataclass(frozen=True)
class Scheduled:
    """A row of control with the hours of the day and the days on which it may act."""

    control: Control
    span_h: tuple[float, float] | None = None
    days: str = "every"
    mask: Floats | None = None
    """hour by hour instead, 1 where it may act"""
    clock: tuple[Floats, Floats] | None = None
    """beside the span, 1 in the hours of a working and of a free day in which its room is occupied, its device runs"""


def is_working(house: House, hours: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each hour of the year falls on a working day: not on Saturday or Sunday."""
    return (hours // 24 + WEEK.index(house.simulation.first_day)) % 7 < 5


def has_relays(controls: tuple[Control, ...]) -> bool:
    """Whether a row switches by what it senses indoors: its switching must be placed in time."""
    return any(row.sensor not in (Sensor.NOTHING, Sensor.OUTDOOR_C) for row in controls)


def permits(house: House, rows: tuple[Scheduled, ...], hours: NDArray[np.int64]) -> Floats:
    """1 where a row may act, shape (hours, rows); an hour counts by its middle."""
    columns = [row.mask if row.mask is not None else _may_act(house, row, hours) for row in rows]
    return np.column_stack(columns or [np.zeros((len(hours), 0))])


def _may_act(house: House, row: Scheduled, hours: NDArray[np.int64]) -> Floats:
    may = np.ones(len(hours))
    if row.span_h is not None:
        may *= _hours(row.span_h)[hours % 24]
    if row.days != "every":
        may *= is_working(house, hours) == (row.days == "working")
    if row.clock is not None:
        working, free = row.clock
        may *= np.where(is_working(house, hours), working[hours % 24], free[hours % 24])
    return may


def _hours(span_h: tuple[float, float]) -> Floats:
    return np.array([float(within(h + 0.5, *span_h)) for h in range(24)])


def scheduled(house: House, row: ControlRow, control: Control) -> Scheduled:
    """A row of the house file with its hours, its days, and the hours of what it waits for."""
    clocks = []
    if row.occupied:
        clocks.append(_occupied(house, senses_in(house, row)))
    if row.while_runs is not None:
        clocks.append(_running(house, row.while_runs))
    clock = (clocks[0][0] * clocks[-1][0], clocks[0][1] * clocks[-1][1]) if clocks else None
    return Scheduled(control, _span(row), row.days, clock=clock)


def _occupied(house: House, room: int) -> tuple[Floats, Floats]:
    """Hours of a working and a free day with somebody in a room: who sleeps or lives there, a shower, a meal."""
    use, hours = house.room[room].use, table("household")["hours"]
    called = {"bath": "shower", "kitchen": "cooking", "kitchen-living": "cooking"}.get(use)
    days = []
    for working in (True, False):
        there = [float(people_at(house, h + 0.5, working=working).heat_w[room] > 0.0) for h in range(24)]
        if called:
            there[int(hours[called])] = 1.0
        days.append(np.array(there))
    return days[0], days[1]


def _running(house: House, device: str) -> tuple[Floats, Floats]:
    """Hours of a working and a free day in which a shower, a meal, its base or a row by the clock runs a device."""
    hours = table("household")["hours"]
    always = {u.id for u in house.ventilator} | {f.id for f in house.fan if f.base_flow_m3_s > 0.0}
    day = np.full(24, float(device in always))
    fans = {f.id: "cooking" if "kitchen" in f.serves else "shower" for f in house.fan}
    called = fans.get(device) or ("cooking" if any(h.id == device for h in house.hood) else "")
    if called:
        day[int(hours[called])] = 1.0
    told = {"working": day.copy(), "free": day.copy()}
    for row in house.control:
        span = _span(row)
        if row.target == device and row.does == "full" and span is not None:
            for name, mine in told.items():
                if row.days in ("every", name):
                    np.maximum(mine, _hours(span), out=mine)
    return told["working"], told["free"]


def controls_of(house: House, routes: HouseRoutes) -> tuple[Scheduled, ...]:
    """Every row, lowest priority first: what showers and meals call, the house file's own rows, frost stops."""
    own = sorted(house.control, key=lambda row: (row.priority, row.id))
    rows = _called(routes) + _dry(house)
    for row in own:
        rows += [scheduled(house, row, c) for c in _own(house, routes, row)]
    return (*rows, *_frost(house, routes))


def resting(house: House, routes: HouseRoutes, share: Floats) -> tuple[tuple[Scheduled, ...], Floats]:
    """(rows, shares): the hours of doors and windows that have rows of their own, as rows that come before those."""
    moved = {row.target for row in house.control if row.does in ("open", "shut")}
    rows, share = [], share.copy()
    for link, name in _leaves(routes):
        if name in moved:
            rows.append(Scheduled(_plain(f"{name} hours", link, 0.0, None), mask=1.0 - share[:, link]))
            share[:, link] = 1.0
    return tuple(rows), share


def set_points(house: House, hours: NDArray[np.int64], heat_c: Floats, cool_c: Floats) -> tuple[Floats, Floats]:
    """Set points hour by hour, rooms in columns, where rows of control move them; a room that is not held stays so."""
    heat, cool = np.tile(heat_c, (len(hours), 1)), np.tile(cool_c, (len(hours), 1))
    index = {room.id: k for k, room in enumerate(house.room)}
    for row in sorted(house.control, key=lambda row: (row.priority, row.id)):
        if row.set_point_c is not None:
            target, k = (heat if row.does == "heat-to" else cool), index[row.target]
            when = scheduled(house, row, _plain(row.id, 0, 1.0, None))
            acts = (_may_act(house, when, hours) > 0.5) & ~np.isnan(target[:, k])
            target[acts, k] = row.set_point_c
    return heat, cool


def _span(row: ControlRow) -> tuple[float, float] | None:
    return None if row.from_h is None or row.to_h is None else (float(row.from_h), float(row.to_h))


def _called(routes: HouseRoutes) -> list[Scheduled]:
    """Devices at full flow while a shower or a meal calls them, and their hold time; their base rests."""
    hours = table("household")["hours"]
    rows = []
    for boost in routes.boosts:
        if not boost.calls:
            still = _plain(f"{boost.device} stands", boost.link, 1.0, 0.0)
            rows.append(Scheduled(still, (0.0, 0.0)))
            continue
        at = float(hours[boost.calls])
        for link, on, off in [(boost.link, 1.0, 0.0)] + ([(boost.base, 0.0, 1.0)] if boost.base is not None else []):
            name = f"{boost.device} {boost.calls}"
            rows.append(Scheduled(_plain(name, link, on, off, hold_s=boost.hold_s), (at, at + 1.0)))
    return rows


def _plain(name: str, link: int, on: float, off: float | None, hold_s: float = 0.0) -> Control:
    return Control(name, Sensor.NOTHING, 0, True, 0.0, 0.0, Target.ROUTE_SHARE, link, on, level_off=off, hold_s=hold_s)


def _dry(house: House) -> list[Scheduled]:
    """Dehumidifiers: each takes water out of its room's air while that is damp, and warms it."""
    rooms = [room.id for room in house.room]
    rows = []
    for unit in house.dehumidifier:
        k, on, off = rooms.index(unit.room), float(unit.on_above), float(unit.on_above - unit.dead_band_share)
        water = unit.removes_l_day / 86400.0
        for target, level in ((Target.VAPOUR_KG_S, -water), (Target.NODE_W, unit.power_w + VAPORISATION_J_KG * water)):
            rows.append(Scheduled(Control(unit.id, Sensor.HUMIDITY, k, True, on, off, target, k, level, level_off=0.0)))
    return rows


def _frost(house: House, routes: HouseRoutes) -> list[Scheduled]:
    """Below a unit's limits: streams that rest for the share of the time that it defrosts; a supply that stops."""
    index = {link.name: k for k, link in enumerate(routes.network.links)}
    rows = []
    for unit in house.ventilator:
        supply = [f"{unit.id} to {room}" for room in unit.supply_rooms]
        exhaust = [f"{unit.id} from {room}" for room in unit.exhaust_rooms]
        rests = {"exhaust-only": supply, "recirculate": supply + exhaust}.get(unit.defrost, [])
        steps = [(float(unit.defrost_below_c), 1.0 - float(unit.defrost_share), rests)]
        if unit.supply_stops_below_c is not None:
            steps.append((float(unit.supply_stops_below_c), 0.0, supply))
        for below, share, names in steps:
            for link in (index[name] for name in names):
                name, target = f"{unit.id} frost", Target.ROUTE_SHARE
                rows.append(
                    Scheduled(Control(name, Sensor.OUTDOOR_C, 0, False, below, below + 1.0, target, link, share))
                )
    return rows


def preheat_w(house: House, outdoor_c: Floats, density_kg_m3: float) -> Floats:
    """What heaters before the cores of ventilators leave in the rooms they supply, shape (hours, rooms) [W].

    Outdoor air warmed to the unit's limit before its core: of that heat the part that the core would not have
    recovered anyway, m cp (1 - recovery) (limit - outdoor).
    """
    index = {room.id: k for k, room in enumerate(house.room)}
    heat = np.zeros((len(outdoor_c), len(index)))
    for unit in house.ventilator:
        if unit.defrost == "preheat" and unit.supply_rooms:
            lift = np.maximum(unit.defrost_below_c - outdoor_c, 0.0)
            each = unit.supply_flow_m3_s / len(unit.supply_rooms) * density_kg_m3 * HEAT_CAPACITY_J_KGK
            for room in unit.supply_rooms:
                heat[:, index[room]] += (1.0 - unit.recovery) * each * lift
    return heat


def _own(house: House, routes: HouseRoutes, row: ControlRow) -> list[Control]:
    """A row of the house file as rows of the step: one for each route that its target has."""
    sensor, above, band = Sensor.NOTHING, True, 0.0
    on_at = 0.0
    if row.sense is not None:
        sensor, above, key = SENSED[row.sense]
        on_at, band = float(getattr(row, row.sense)), float(getattr(row, key))
    off_at = on_at - band if above else on_at + band
    room = senses_in(house, row)
    return [
        Control(
            row.id, sensor, room, above, on_at, off_at, Target.ROUTE_SHARE, link, level,
            min_on_s=row.least_on_s, min_off_s=row.least_off_s, hold_s=row.hold_time_s,
        )
        for link, level in _levels(routes, row)
    ]  # fmt: skip


def _levels(routes: HouseRoutes, row: ControlRow) -> list[tuple[int, float]]:
    """(route, share) of what a row does."""
    if row.does in ("open", "shut"):
        return [(k, float(row.does == "open")) for k, name in _leaves(routes) if name == row.target]
    full = {b.link for b in routes.boosts if b.device == row.target}
    return [
        (k, float(row.does == "full") if k in full else float(row.does == "base" or (row.does == "full" and not full)))
        for k, link in enumerate(routes.network.links)
        if link.kind is LinkKind.FAN
        and (k in full or link.name == row.target or link.name.startswith((f"{row.target} from ", f"{row.target} to ")))
    ]


def _leaves(routes: HouseRoutes) -> list[tuple[int, str]]:
    """What rows may open and shut: windows, and inner doors where these go by their hours in this case."""
    return [*(routes.leaves if routes.by_hours else ()), *routes.windows]


def senses_in(house: House, row: ControlRow) -> int:
    """The room in which a row senses: named, else where its target stands."""
    rooms = [room.id for room in house.room]
    if row.room is not None:
        return rooms.index(row.room)
    for kind in ("fan", "hood", "ventilator", "window"):
        for item in getattr(house, kind):
            if item.id == row.target:
                return rooms.index(item.room)
    if row.target in rooms:
        return rooms.index(row.target)
    return next((rooms.index(fan.to_room) for fan in house.transfer_fan if fan.id == row.target), 0)
