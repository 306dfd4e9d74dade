"""What an experienced eye sees on the drawing and in the lists: findings that need no simulation."""

from __future__ import annotations

from typing import Any

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.air_findings import observe_air
from inshell.design.heating import HeatingResult, tightness_ach50
from inshell.design.room_findings import observe_rooms
from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import Fan, Hood
from inshell.house.model.heat_devices import Head
from inshell.house.model.house import House
from inshell.house.model.openings import Door
from inshell.network.fans import full_curve
from inshell.network.routes import is_over_soil
from inshell.physics.floor import floor_excess_k, floor_flux_w_m2
from inshell.physics.flow import hole_flow_m3_s

TALL_M = 3.5
RETURN_PRESSURE_PA = 3.0


def observe(house: House, geometry: Geometry, climate: HouseClimate, heating: HeatingResult) -> list[Finding]:
    """Every finding about rooms, doors, fans and heads."""
    found = _rooms(house, geometry) + _reach(house)
    found += _bedroom_air(house) + _transfer(house, geometry)
    for head in house.head:
        found += _head(head, climate)
    return (
        found
        + observe_rooms(house)
        + observe_air(house, geometry)
        + _floors(house, geometry, heating)
        + _slips(house)
        + _beside(house, geometry)
        + _ducts_and_leaks(house, geometry)
    )


def _beside(house: House, geometry: Geometry) -> list[Finding]:
    touching = {s.other for s in geometry.surfaces}
    return [Finding("buffer-apart", f"buffer.{b.id}", {}) for b in house.buffer if b.id not in touching]


def _ducts_and_leaks(house: House, geometry: Geometry) -> list[Finding]:
    """What this version does not count in a fan's flow, and known leaks that pass more than the whole shell may."""
    found = [_duct(fan, f"fan.{fan.id}", fan.rated_flow_m3_s, fan.rated_pressure_pa) for fan in house.fan if fan.duct]
    found += [_duct(h, f"hood.{h.id}", h.flow_m3_s, h.rated_pressure_pa) for h in house.hood if h.duct]
    holes = [leak for leak in house.leak if not leak.sealed and not is_over_soil(geometry, leak)]
    known = sum(float(hole_flow_m3_s(area_m2=leak.area_m2, pressure_pa=50.0)) for leak in holes)
    designed = tightness_ach50(house, geometry.volume_m3)[0] * geometry.volume_m3 / 3600.0
    if known > designed:
        found.append(
            Finding("leaks-exceed-tightness", "leak", {"known": (known, "flow"), "designed": (designed, "flow")})
        )
    return found


def _duct(device: Fan | Hood, where: str, rated: float, rated_pa: float) -> Finding:
    """What a device moves on its duct with the house at no pressure, beside the flow of its rating."""
    moved = full_curve(device).flow_m3_s[0]
    values: dict[str, Any] = {"moved": (moved, "flow"), "rated": (rated, "flow"), "rated_pa": (rated_pa, "pressure")}
    base = device.base_flow_m3_s if isinstance(device, Fan) else 0.0
    if base > moved * 1.001:
        return Finding("duct-starves-base", where, {"moved": (moved, "flow"), "base": (base, "flow")})
    return Finding("duct-starves" if moved < 0.8 * rated else "duct-counted", where, values)


def _rooms(house: House, geometry: Geometry) -> list[Finding]:
    found = []
    for room in house.room:
        where, space = f"room.{room.id}", geometry.space(room.id)
        height = space.highest_m - house.floor_height_m(room)
        if height > TALL_M:
            found.append(Finding("room-tall", where, {"height": (height, "length")}))
        if room.ceiling != "roof" and not 1.9 <= room.ceiling <= 6.0 and room.use not in ("loft", "closet", "shaft"):
            found.append(Finding("ceiling-unusual", where, {"height": (float(room.ceiling), "length")}))
        if not 0.3 <= space.floor_m2 <= 300.0:
            found.append(Finding("room-size-unusual", where, {"area": (space.floor_m2, "area")}))
    return found


def _reach(house: House) -> list[Finding]:
    """Rooms that no door or passage leads to, beginning at the outer doors."""
    entries = [door.room for door in house.door if door.room]
    if not entries:
        return [Finding("outer-door-missing", "door", {})]
    ways: dict[str, set[str]] = {}
    pairs = [door.between for door in house.door if door.between] + [passage.between for passage in house.passage]
    for one, two in pairs:
        if one != two:
            ways.setdefault(one, set()).add(two)
            ways.setdefault(two, set()).add(one)
    seen, todo = set(entries), list(entries)
    while todo:
        for room in ways.get(todo.pop(), set()) - seen:
            seen.add(room)
            todo.append(room)
    return [
        Finding("room-unreachable", f"room.{r.id}", {}) for r in house.room if r.id not in seen and r.use != "shaft"
    ]


def _bedroom_air(house: House) -> list[Finding]:
    supplied = {room for unit in house.ventilator for room in unit.supply_rooms}
    supplied |= {fan.room for fan in house.fan if fan.kind == "supply"}
    return [
        Finding("bedroom-air-assumed", f"room.{r.id}", {}) for r in house.room if r.is_bedroom and r.id not in supplied
    ]


def door_gap_m2(door: Door) -> float:
    """Free area of a shut door: undercut, jambs and head, grille."""
    return float(
        door.undercut_m * door.width_m + door.jamb_gap_m * (2.0 * door.height_m + door.width_m) + door.grille_m2
    )


def _transfer(house: House, geometry: Geometry) -> list[Finding]:
    rated = {a.id for a in house.assembly if a.fire_rated}
    found = []
    for fan in house.transfer_fan:
        where, pair = f"transfer_fan.{fan.id}", {fan.from_room, fan.to_room}
        found.append(Finding("transfer-no-fresh-air", where, {}))
        area = sum(door_gap_m2(d) for d in house.door if d.between and fan.to_room in d.between) + fan.return_grille_m2
        back = float(hole_flow_m3_s(area_m2=area, pressure_pa=RETURN_PRESSURE_PA))
        if back < fan.flow_m3_s:
            found.append(
                Finding("transfer-without-return", where, {"flow": (fan.flow_m3_s, "flow"), "back": (back, "flow")})
            )
        if _all_rated(geometry, pair, rated):
            found.append(Finding("transfer-through-rated-wall", where, {}))
    for opening in house.transfer_opening:
        if _all_rated(geometry, set(opening.between), rated):
            found.append(Finding("transfer-through-rated-wall", f"transfer_opening.{opening.id}", {}))
    return found


def _all_rated(geometry: Geometry, pair: set[str], rated: set[str]) -> bool:
    """Whether every partition between two rooms is fire-rated."""
    walls = [s for s in geometry.surfaces if s.kind == "partition" and {s.room, s.other} == pair]
    return bool(walls) and all(s.assembly in rated for s in walls)


def heating_capacity_w(head: Head, outdoor_c: float) -> float | None:
    """Greatest heating capacity of a head at an outdoor temperature, linear between its data-sheet points.

    None where the points do not reach: nothing is extrapolated.
    """
    points = sorted((p.outdoor_c, p.maximum_w) for p in head.point if p.mode == "heating")
    if not points or outdoor_c < points[0][0] - 1e-9 or outdoor_c > points[-1][0] + 1e-9:
        return None
    x, y = zip(*points, strict=True)
    return float(np.interp(outdoor_c, x, y)) * head.line_factor


def _head(head: Head, climate: HouseClimate) -> list[Finding]:
    where, design = f"head.{head.id}", climate.design.heating_c
    if heating_capacity_w(head, design) is not None:
        return []
    points = [p.outdoor_c for p in head.point if p.mode == "heating"]
    if points:
        return [
            Finding(
                "head-points-too-warm",
                where,
                {"coldest": (min(points), "temperature"), "design": (design, "temperature")},
            )
        ]
    return [Finding("nameplate-not-capacity", where, {"design": (design, "temperature")})]


def _floors(house: House, geometry: Geometry, heating: HeatingResult) -> list[Finding]:
    """How warm a heated floor would be if it carried each room's load."""
    warmed = {room for circuit in house.circuit for room in circuit.rooms}
    found = []
    for room_id in sorted(warmed):
        room, load = house.room_named(room_id), heating.of(room_id)
        ground = sum(loss.watts for loss in load.losses if loss.kind == "floor")
        flux = max(0.0, load.total_w - ground) / geometry.space(room_id).floor_m2
        excess = float(floor_excess_k(flux_w_m2=flux))
        limit = 9.0  # EN 1264-2: 29 °C at 20 °C in occupied zones, 33 at 24 in baths: both 9 K
        shown = (flux, "flux"), (excess, "temperature_difference")
        if flux > float(floor_flux_w_m2(excess_k=limit)):
            most = (limit, "temperature_difference")
            found.append(
                Finding("floor-too-warm", f"room.{room.id}", {"flux": shown[0], "excess": shown[1], "limit": most})
            )
        elif flux > 1.0 and excess < 4.0:
            found.append(Finding("floor-hardly-warm", f"room.{room.id}", {"flux": shown[0], "excess": shown[1]}))
    return found


def _slips(house: House) -> list[Finding]:
    found = []
    if house.tightness.ach50 is not None and not 0.1 <= house.tightness.ach50 <= 8.0:
        found.append(Finding("leak-target-unusual", "tightness.ach50", {"ach50": house.tightness.ach50}))
    if any(dryer.vented for dryer in house.dryer):
        found.append(Finding("dryer-not-ventilation", "dryer", {}))
    return found
