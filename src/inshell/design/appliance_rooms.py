"""Pressure in the rooms of fuel-burning appliances, every combination of fans, against screening limits by kind.

Screening only: no verdict on combustion from a computed pressure. Alarms for carbon monoxide are asked for wherever
anything burns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.makeup import least_area_m2, least_sets, opening_flow_50_m3_s, with_opening
from inshell.design.room_pressures import RoomPressures, calculate_room_pressures
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.sources import table

KINDS = {"sealed": "sealed", "induced": "induced", "power-vented": "induced", "natural-draft": "natural-draft"}


@dataclass(frozen=True)
class ApplianceRoom:
    """One appliance: its room's deepest pressure [Pa] and what runs then, sets that pass its limit, what would cure it.

    `together` are the least sets of devices that pass the limit (an empty one: weather alone does); `opening_m2` is the
    least opening in its room that keeps all of them within, None where none is needed or none up to half a square
    metre is enough.
    """

    where: str
    name: str
    room: str
    venting: str
    limit_pa: float
    deepest_pa: float
    weather: str
    running: tuple[str, ...]
    together: tuple[tuple[str, ...], ...]
    opening_m2: float | None

    @property
    def within(self) -> bool:
        """Whether no combination passes the screening limit."""
        return not self.together


def burning(house: House) -> list[tuple[str, str, str, str, float]]:
    """(place, name, room, venting, screening limit [Pa]) of what burns indoors on a flue."""
    limits = table("design")["screening"]
    rows: list[tuple[str, str, str | None, str, str]] = [
        (f"water_heater.{w.id}", w.name or w.kind, w.room, w.venting, "-water-heater")
        for w in house.water_heater
        if w.fuel != "electric" and w.room
    ]
    rows += [(f"appliance.{a.id}", a.name or a.kind, a.room, a.venting, "") for a in house.appliance]
    found: list[tuple[str, str, str, str, float]] = []
    for where, name, room, venting, suffix in rows:
        kind = KINDS.get(venting)
        if kind is not None and room is not None:
            found.append((where, name, room, venting, float(limits.get(kind + suffix, limits.get(kind)))))
    return found


def calculate_appliance_rooms(
    house: House, geometry: Geometry, climate: HouseClimate, pressures: tuple[RoomPressures, ...], *,
    flow_at_50_pa_m3_s: float,
) -> tuple[ApplianceRoom, ...]:  # fmt: skip
    """Every appliance in its room, in still design cold and in the windiest hour."""
    told = []
    for where, name, room, venting, limit in burning(house):
        deepest, weather, running, offending = _worst(pressures, room, limit)
        sets = least_sets(offending)

        def keeps(area_m2: float, room: str = room, limit: float = limit) -> bool:
            changed = with_opening(house, room, area_m2)
            eased = calculate_room_pressures(
                changed, geometry, climate, tested_flow_m3_s=flow_at_50_pa_m3_s + opening_flow_50_m3_s(area_m2)
            )
            return all(float(p.pressure_pa[:, p.rooms.index(room)].min()) >= -limit for p in eased)

        area = least_area_m2(keeps) if sets else None
        told.append(ApplianceRoom(where, name, room, venting, limit, deepest, weather, running, sets, area))
    return tuple(told)


def _worst(
    pressures: tuple[RoomPressures, ...], room: str, limit_pa: float
) -> tuple[float, str, tuple[str, ...], list[tuple[str, ...]]]:
    """The deepest pressure of a room, its weather, what runs, and every combination beyond the limit in any weather."""
    found: list[tuple[float, str, tuple[str, ...]]] = []
    offending: dict[tuple[str, ...], None] = {}
    for p in pressures:
        mine = p.pressure_pa[:, p.rooms.index(room)]
        row = int(np.argmin(mine))
        found.append((float(mine[row]), p.weather, p.running[row]))
        offending |= dict.fromkeys(p.running[k] for k in np.flatnonzero(mine < -limit_pa))
    deepest, weather, running = min(found)
    return deepest, weather, running, list(offending)
