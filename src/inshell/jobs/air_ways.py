"""From the routes of a solved day to arrows on the plan: doors and devices added up, leaks by room."""

from __future__ import annotations

from inshell.design.cold_day import ColdDay, Route
from inshell.drawing.air_plan import AirWay, RoomLeaks
from inshell.house.geometry import Geometry
from inshell.house.ids import DEVICE_TABLES
from inshell.house.model.house import House
from inshell.physics.air import density_kg_m3

OUTDOORS = "outdoors"


def air_ways(house: House, geometry: Geometry, day: ColdDay, *, pressure_pa: float) -> list[AirWay]:
    """One way for each opening or device that moves air, with what comes back through it."""
    openings = {placed.id for placed in geometry.openings}
    spots = {
        item.id: (item.position.x_m, item.position.y_m)
        for table in DEVICE_TABLES
        for item in getattr(house, table)
        if item.position
    }
    sums: dict[tuple[str, str, str], float] = {}
    for route in day.routes:
        if not _is_leak(route):
            name = route.name.partition(" ")[0]
            key = (name, route.from_room, route.to_room)
            sums[key] = sums.get(key, 0.0) + _volume(route, day, pressure_pa)
    ways = []
    for (name, one, two), there in sums.items():
        back = sums.get((name, two, one), 0.0)
        if there < back or (there == back and one > two):
            continue
        ways.append(
            AirWay(
                name=name,
                from_room=None if one == OUTDOORS else one,
                to_room=None if two == OUTDOORS else two,
                there_m3_s=there,
                back_m3_s=back,
                opening=name if name in openings else None,
                at=spots.get(name),
            )
        )
    return ways


def room_leaks(house: House, day: ColdDay, *, pressure_pa: float) -> list[RoomLeaks]:
    """What all leaks of each room bring in and let out."""
    into, out = ({room.id: 0.0 for room in house.room} for _ in range(2))
    for route in day.routes:
        if _is_leak(route):
            flow = _volume(route, day, pressure_pa)
            if route.to_room in into:
                into[route.to_room] += flow
            else:
                out[route.from_room] += flow
    return [RoomLeaks(room, into[room], out[room]) for room in into]


def _is_leak(route: Route) -> bool:
    return route.name.startswith(("leak ", "known leak "))


def _volume(route: Route, day: ColdDay, pressure_pa: float) -> float:
    """Actual volume at the temperature of the air that flows."""
    temperature = day.room_c.get(route.from_room, day.outdoor_c)
    return route.flow_kg_s / float(density_kg_m3(temperature_c=temperature, pressure_pa=pressure_pa))
