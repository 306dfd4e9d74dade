"""Air routes of a house: leaks over its surfaces, doors open or shut, passages, fans."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely.ops import unary_union

from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, OUTDOORS, Surface
from inshell.house.geometry.walls import Placed, edges_named
from inshell.house.model.house import House
from inshell.house.model.openings import Door, Leak
from inshell.network.fans import base_curve, constant_curve, full_curve
from inshell.network.links import AirNetwork, Exchange, Link, LinkKind, Recovery, orifice_crack
from inshell.physics.flow import coefficient_m3_s_pan
from inshell.physics.soil import PERMEABILITIES_M2, soil_inflow_m3_s
from inshell.physics.types import Array, Floats
from inshell.physics.wind import wall_pressure_coefficient

ORIFICE_DENSITY_KG_M3 = 1.2041
HALF_WAY = 0.02  # of its length: a wall within a degree of 45° to both sides of a plan belongs to neither
DOOR_DISCHARGE = 0.6
LOW_M = 0.3
ROOF_COEFFICIENT = -0.5  # low slopes -0.4 to -0.6 (Swami and Chandra 1987, from memory)
WAY_BACK_M = 0.3  # of a transfer fan's way back above the floor: the far end from its supply
OPENING_LOSS = {
    "grille": 1.0 / DOOR_DISCHARGE**2,
    "jump-duct": 5.0,
}  # jump duct: entry, two turns, grilles (from memory)


@dataclass(frozen=True)
class Facing:
    """What the wind sees of a leak: its route, and its wall's azimuth and side ratio (None: roof)."""

    link: int
    azimuth_deg: float | None
    side_ratio: float = 1.0


@dataclass(frozen=True)
class HouseRoutes:
    """The air network of a house in one state of its doors, and what its ventilators recover."""

    network: AirNetwork
    recoveries: tuple[Recovery, ...]
    exchanges: tuple[Exchange, ...] = ()
    facings: tuple[Facing, ...] = ()
    leaves: tuple[tuple[int, str], ...] = ()
    boosts: tuple[Boost, ...] = ()
    windows: tuple[tuple[int, str], ...] = ()
    by_hours: bool = False


DoorsAre = Literal["open", "shut", "by-hours"]


@dataclass(frozen=True)
class Boost:
    """A device at full flow: its route, that of its base flow, what calls it (nothing: it stands), its hold time."""

    device: str
    link: int
    base: int | None
    calls: str
    hold_s: float


def routes_of(
    house: House,
    geometry: Geometry,
    *,
    flow_at_50_pa_m3_s: float,
    exponent: float,
    doors: DoorsAre,
    on_demand: bool = False,
) -> HouseRoutes:
    """Every route: leaks spread by area and height, known leaks, inner doors, passages, fans at their base.

    Known leaks are a part of the tested leakage; where they pass more than all of it they come on top.

    Doors `by-hours` have their gaps always and their open leaf as a route of its own, which `leaves` names. `on_demand`
    adds fans, hood and dryer at full flow as routes that `boosts` names: they stand still until something calls them.
    """
    index = {room.id: k for k, room in enumerate(house.room)}
    outdoors = len(index)
    known = _known_leaks(house, geometry, index)
    outer = [link for link in known if link.b == outdoors]
    through_known = sum(float(link.coefficient_m3_s_pan * 50.0**link.exponent) for link in outer)
    spread = flow_at_50_pa_m3_s - through_known
    links = _leaks(geometry, index, spread if spread > 0.0 else flow_at_50_pa_m3_s, exponent) + known
    leaves: list[tuple[int, str]] = []
    _ways(house, geometry, index, links, leaves, doors)
    bases: dict[str, int] = {}
    for fan in house.fan:
        if fan.base_flow_m3_s > 0.0:
            ends = (index[fan.room], outdoors) if fan.kind == "exhaust" else (outdoors, index[fan.room])
            bases[fan.id] = len(links)
            links.append(Link(fan.id, LinkKind.FAN, *ends, curve=base_curve(fan)))
    _transfers(house, index, links)
    recoveries = _ventilators(house, index, links)
    boosts = _boosts(house, index, links, bases) if on_demand else []
    windows = _open_windows(house, geometry, index, links) if on_demand else []
    network = AirNetwork(tuple(index), tuple(links))
    facings = tuple(_facings(house, geometry, links))
    exchanges = tuple(_exchanges(house, geometry, index))
    return HouseRoutes(
        network,
        tuple(recoveries),
        exchanges,
        facings,
        tuple(leaves),
        tuple(boosts),
        tuple(windows),
        doors == "by-hours",
    )


def _constant(name: str, a: int, b: int, flow: float, limit_pa: float) -> Link:
    return Link(name, LinkKind.FAN, a, b, curve=constant_curve(flow, limit_pa))


def _leaks(geometry: Geometry, index: dict[str, int], flow50: float, exponent: float) -> list[Link]:
    """The tested leakage on outer surfaces other than ground, by area, at the two Gauss heights of each."""
    surfaces = [s for s in geometry.surfaces if s.is_outer and s.other != GROUND and s.area_m2 > 0.0]
    total = sum(s.area_m2 for s in surfaces)
    coefficient = float(coefficient_m3_s_pan(flow_m3_s=flow50, pressure_pa=50.0, exponent=exponent))
    outdoors = len(index)
    links = []
    for surface in surfaces:
        c = coefficient * surface.area_m2 / total
        half = 0.5 * (surface.high_m - surface.low_m) / math.sqrt(3.0)
        heights = [surface.centre_m] if half < 0.05 else [surface.centre_m - half, surface.centre_m + half]
        for k, z in enumerate(heights):
            name = f"leak {surface.id}" + (f" {'low' if k == 0 else 'high'}" if len(heights) > 1 else "")
            room = index[surface.room]
            share = c / len(heights)
            links.append(
                Link(name, LinkKind.CRACK, room, outdoors, low_m=z, coefficient_m3_s_pan=share, exponent=exponent)
            )
    return links


def _known_leaks(house: House, geometry: Geometry, index: dict[str, int]) -> list[Link]:
    """Holes at known places that stay open; the rest of the tested leakage is spread over the surfaces.

    A hole in an inner wall leads to the room behind it; one in the slab passes what soil lets through.
    """
    rooms = {room.id: room for room in house.room}
    links = []
    for leak in house.leak:
        if leak.sealed or leak.area_m2 <= 0.0:
            continue
        height = house.floor_height_m(rooms[leak.room]) + leak.height_m
        ends = index[leak.room], index.get(_behind(house, geometry, leak), len(index))
        name = f"known leak {leak.id}"
        if is_over_soil(geometry, leak):
            c = float(soil_inflow_m3_s(area_m2=leak.area_m2, pressure_pa=1.0, permeability_m2=PERMEABILITIES_M2[1]))
            links.append(Link(name, LinkKind.CRACK, *ends, low_m=height, coefficient_m3_s_pan=c, exponent=1.0))
        else:
            links.append(_hole(name, leak.area_m2, height, *ends))
    return links


def is_over_soil(geometry: Geometry, leak: Leak) -> bool:
    """Whether an opening lies in a floor on the ground."""
    grounded = any(s.room == leak.room and s.other == GROUND for s in geometry.surfaces)
    return leak.wall is None and leak.height_m < LOW_M and grounded


def _behind(house: House, geometry: Geometry, leak: Leak) -> str:
    """The room behind the inner wall that a hole names; nothing where it is in an outer side."""
    if leak.wall is None or _wall_of(house, geometry, leak) is not None:
        return ""
    outline = next(o for o in geometry.outlines if o.owner == leak.room)
    edges = {frozenset(edge) for edge in edges_named(outline, leak.wall)}
    for s in geometry.surfaces:
        mine = s.corners is not None and frozenset(s.corners) in edges
        if s.kind == "partition" and mine and s.room == leak.room:
            return s.other
    return ""


def _facings(house: House, geometry: Geometry, links: list[Link]) -> list[Facing]:
    """Which leaks feel the wind: walls by their direction, roofs by suction; floors and buffers are sheltered."""
    by_name = {f"leak {s.id}{part}": s for s in geometry.surfaces for part in ("", " low", " high")}
    walled = {f"known leak {leak.id}": _wall_of(house, geometry, leak) for leak in house.leak if leak.wall}
    plan = unary_union([o.polygon for o in geometry.outlines if o.is_room]).minimum_rotated_rectangle
    corners = np.array(plan.exterior.coords)
    one, two = corners[1] - corners[0], corners[2] - corners[1]
    found = []
    for k, link in enumerate(links):
        surface = by_name.get(link.name) or walled.get(link.name)
        if surface is None or surface.other != OUTDOORS or surface.kind == "floor":
            continue
        if surface.ends is None:
            found.append(Facing(k, None))
            continue
        along = np.array(surface.ends[1]) - np.array(surface.ends[0])
        found.append(Facing(k, surface.azimuth_deg, min(max(_side_ratio(along, one, two), 0.5), 2.0)))
    return found


def _side_ratio(along: Floats, one: Floats, two: Floats) -> float:
    """Length of the side that a wall belongs to over that of the other; 1 for a wall half way between both."""
    nearer = abs(along @ one) / np.hypot(*one) - abs(along @ two) / np.hypot(*two)
    if abs(nearer) < HALF_WAY * np.hypot(*along):
        return 1.0
    ratio = float(np.hypot(*one) / np.hypot(*two))
    return ratio if nearer > 0.0 else 1.0 / ratio


def _wall_of(house: House, geometry: Geometry, leak: Leak) -> Surface | None:
    """The outer wall that a known leak names, so that the wind finds it."""
    outline = next(o for o in geometry.outlines if o.owner == leak.room)
    edges = edges_named(outline, leak.wall or "")
    mine = [s for s in geometry.surfaces if s.room == leak.room and s.kind == "wall" and s.corners in edges]
    return max(mine, key=lambda s: s.length_m, default=None)


def wind_pressures_pa(routes: HouseRoutes, *, speed_m_s: Array, from_deg: Array, density_kg_m3: Array) -> Floats:
    """Wind pressure at the outdoor end of every route (last axis), from the speed at the height of the eaves."""
    dynamic = 0.5 * np.asarray(density_kg_m3) * np.asarray(speed_m_s) ** 2
    pressure = np.zeros((*dynamic.shape, len(routes.network.links)))
    for facing in routes.facings:
        if facing.azimuth_deg is None:
            pressure[..., facing.link] = ROOF_COEFFICIENT * dynamic
        else:
            angle = np.asarray(from_deg) - facing.azimuth_deg
            coefficient = wall_pressure_coefficient(angle_deg=angle, side_ratio=facing.side_ratio)
            pressure[..., facing.link] = np.asarray(coefficient) * dynamic
    return pressure


def _ways(
    house: House,
    geometry: Geometry,
    index: dict[str, int],
    links: list[Link],
    leaves: list[tuple[int, str]],
    doors_are: DoorsAre,
) -> None:
    surfaces = {s.id: s for s in geometry.surfaces}
    doors = {door.id: door for door in house.door}
    passages = {passage.id: passage for passage in house.passage}
    for placed in geometry.openings:
        host = surfaces[placed.surface]
        if host.other == OUTDOORS or host.is_outer:
            continue
        a, b = index[host.room], index[host.other]
        if placed.kind == "door":
            if doors_are != "open":
                links += _shut(doors[placed.id], placed, a, b)
            if doors_are != "shut":
                leaves.append((len(links), placed.id))
                links.append(_open(placed.id, placed, a, b, doors[placed.id].width_m))
        elif passages[placed.id].kind in ("stair", "hatch"):
            links.append(_hole(placed.id, placed.area_m2, host.centre_m, a, b))
        else:
            width = placed.area_m2 / max(placed.head_m - placed.sill_m, 0.1)
            links.append(_open(placed.id, placed, a, b, width))


def _transfers(house: House, index: dict[str, int], links: list[Link]) -> None:
    """Transfer fans on their curves, their ways back, grilles and jump ducts: each at its height."""
    rooms = {room.id: room for room in house.room}
    for fan in house.transfer_fan:
        ends = index[fan.from_room], index[fan.to_room]
        links.append(Link(fan.id, LinkKind.FAN, *ends, curve=full_curve(fan)))
        if fan.return_grille_m2 > 0.0:
            floor = house.floor_height_m(rooms[fan.to_room])
            links.append(_hole(f"{fan.id} way back", fan.return_grille_m2, floor + WAY_BACK_M, ends[1], ends[0]))
    for opening in house.transfer_opening:
        a, b = opening.between
        height = house.floor_height_m(rooms[a]) + opening.height_m
        loss = opening.loss or OPENING_LOSS[opening.kind]
        links.append(_hole(opening.id, opening.free_area_m2, height, index[a], index[b], 1.0 / math.sqrt(loss)))


def _open(name: str, placed: Placed, a: int, b: int, width_m: float) -> Link:
    return Link(
        name, LinkKind.DOOR, a, b, low_m=placed.sill_m, high_m=placed.head_m, width_m=width_m, discharge=DOOR_DISCHARGE
    )


def _shut(door: Door, placed: Placed, a: int, b: int) -> list[Link]:
    """Undercut, jambs at two heights, head and grille, each where it is: one opening alone exchanges nothing."""
    height = placed.head_m - placed.sill_m
    parts = [
        ("undercut", door.undercut_m * door.width_m, 0.0),
        ("jambs low", door.jamb_gap_m * height, 0.25 * height),
        ("jambs high", door.jamb_gap_m * height, 0.75 * height),
        ("head", door.jamb_gap_m * door.width_m, height),
        ("grille", door.grille_m2, 0.15 * height),
    ]
    return [_hole(f"{door.id} {name}", area, placed.sill_m + up, a, b) for name, area, up in parts if area > 0.0]


def _hole(name: str, area_m2: float, height_m: float, a: int, b: int, discharge: float = DOOR_DISCHARGE) -> Link:
    c, n = orifice_crack(area_m2=area_m2, discharge=discharge, density_kg_m3=ORIFICE_DENSITY_KG_M3)
    return Link(name, LinkKind.CRACK, a, b, low_m=height_m, coefficient_m3_s_pan=c, exponent=n)


def _exchanges(house: House, geometry: Geometry, index: dict[str, int]) -> list[Exchange]:
    """Stairs and hatches: buoyant exchange when the air above is the colder."""
    surfaces = {s.id: s for s in geometry.surfaces}
    kinds = {passage.id: passage.kind for passage in house.passage}
    found = []
    for placed in geometry.openings:
        if kinds.get(placed.id) in ("stair", "hatch"):
            host = surfaces[placed.surface]
            diameter = math.sqrt(4.0 * placed.area_m2 / math.pi)
            found.append(Exchange(placed.id, index[host.room], index[host.other], diameter))
    return found


def _open_windows(house: House, geometry: Geometry, index: dict[str, int], links: list[Link]) -> list[tuple[int, str]]:
    """Windows with hours or rows of control: an upright opening of their free area, from sill to head."""
    placed = {p.id: p for p in geometry.openings}
    moved = {row.target for row in house.control}
    found = []
    for window in house.window:
        if window.openable_m2 <= 0.0 or (window.open_from_h is None and window.id not in moved):
            continue
        hole = placed[window.id]
        high = max(hole.head_m, hole.sill_m + 0.2)
        width = window.openable_m2 / (high - hole.sill_m)
        found.append((len(links), window.id))
        links.append(
            Link(
                f"{window.id} open",
                LinkKind.DOOR,
                index[window.room],
                len(index),
                low_m=hole.sill_m,
                high_m=high,
                width_m=width,
                discharge=DOOR_DISCHARGE,
            )
        )
    return found


def _boosts(house: House, index: dict[str, int], links: list[Link], bases: dict[str, int]) -> list[Boost]:
    """Full flows as routes of their own, on the curves that the pressure map uses."""
    outdoors = len(index)
    found = []
    for fan in house.fan:
        if fan.rated_flow_m3_s <= fan.base_flow_m3_s:
            continue
        ends = (index[fan.room], outdoors) if fan.kind == "exhaust" else (outdoors, index[fan.room])
        calls = "cooking" if "kitchen" in fan.serves else "shower"
        found.append(Boost(fan.id, len(links), bases.get(fan.id), calls, fan.hold_time_s))
        links.append(Link(f"{fan.id} boost", LinkKind.FAN, *ends, curve=full_curve(fan)))
    for dryer in house.dryer:
        if dryer.vented and dryer.flow_m3_s > 0.0:
            found.append(Boost(dryer.id, len(links), None, "", 0.0))
            links.append(Link(dryer.id, LinkKind.FAN, index[dryer.room], outdoors, curve=full_curve(dryer)))
    for hood in house.hood:
        found.append(Boost(hood.id, len(links), None, "cooking", 0.0))
        links.append(Link(hood.id, LinkKind.FAN, index[hood.room], outdoors, curve=full_curve(hood)))
    return found


def _ventilators(house: House, index: dict[str, int], links: list[Link]) -> list[Recovery]:
    outdoors = len(index)
    recoveries = []
    for unit in house.ventilator:
        for room in unit.exhaust_rooms:
            flow = unit.exhaust_flow_m3_s / len(unit.exhaust_rooms)
            links.append(_constant(f"{unit.id} from {room}", index[room], outdoors, flow, unit.maximum_pressure_pa))
        for room in unit.supply_rooms:
            flow = unit.supply_flow_m3_s / len(unit.supply_rooms)
            share = unit.recovery * min(1.0, unit.exhaust_flow_m3_s / max(unit.supply_flow_m3_s, 1e-9))
            recoveries.append(Recovery(len(links), index[unit.exhaust_rooms[0]], share))
            links.append(_constant(f"{unit.id} to {room}", outdoors, index[room], flow, unit.maximum_pressure_pa))
    return recoveries
