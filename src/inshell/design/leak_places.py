"""Where a shell may leak: joints as lengths, openings as points, each with its room, its height, its likely size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely.geometry import Point

from inshell.house.geometry import Geometry
from inshell.house.geometry.joints import Joint, panel_joints_m
from inshell.house.geometry.surfaces import OUTDOORS, Surface
from inshell.house.geometry.walls import edges_named
from inshell.house.model.house import House
from inshell.house.model.openings import Leak
from inshell.network.routes import is_over_soil
from inshell.physics.flow import hole_flow_m3_s
from inshell.physics.soil import PERMEABILITIES_M2, soil_inflow_m3_s
from inshell.sources import table

NEAR_M = 0.02
CM2_M2 = 1e-4
ROOFED = ("ridge", "hip", "valley")
HOLE_CD, AIR_KG_M3 = 0.6, 1.2041


@dataclass(frozen=True)
class LeakPlace:
    """A joint or an opening. Areas are effective leakage areas at 4 Pa [m2]: best guess, least, most.

    `size` is its length [m], area [m2] or count; `surface` is the outer surface that the wind sees there (empty: none);
    `plan` is its middle on the plan; `open_m2` is the open area of one that was measured.
    """

    id: str
    kind: str
    room: str
    surface: str
    size: float
    height_m: float
    plan: tuple[float, float]
    best_m2: float
    least_m2: float
    most_m2: float
    open_m2: float = 0.0
    sealed: bool = False

    @property
    def row(self) -> dict[str, Any]:
        """What the table says of its kind."""
        found: dict[str, Any] = table("leak_places")[self.kind]
        return found

    @property
    def is_joint(self) -> bool:
        """Whether it is a length."""
        return bool(self.row["per"] == "m")


def leak_places(house: House, geometry: Geometry) -> tuple[LeakPlace, ...]:
    """Every joint and opening of the shell that follows from the drawing and the lists, by id."""
    found: dict[str, LeakPlace] = {}
    everything = (
        *_joints(house, geometry), *_panel_joints(house, geometry), *_openings(house, geometry),
        *_devices(house, geometry), *_known(house, geometry),
    )  # fmt: skip
    for place in everything:
        found[place.id] = _joined(found[place.id], place) if place.id in found else place
    return tuple(found[key] for key in sorted(found))


def _joined(one: LeakPlace, two: LeakPlace) -> LeakPlace:
    """Two pieces of one joint."""
    total = one.size + two.size
    mean = (one.height_m * one.size + two.height_m * two.size) / max(total, 1e-9)
    plan = tuple((a * one.size + b * two.size) / max(total, 1e-9) for a, b in zip(one.plan, two.plan, strict=True))
    return replace(
        one, size=total, height_m=mean, plan=(plan[0], plan[1]), best_m2=one.best_m2 + two.best_m2,
        least_m2=one.least_m2 + two.least_m2, most_m2=one.most_m2 + two.most_m2,
    )  # fmt: skip


def _place(
    id_: str, kind: str, room: str, surface: str, size: float, height_m: float, plan: tuple[float, float]
) -> LeakPlace:
    best, least, most = (CM2_M2 * value * size for value in table("leak_places")[kind]["cm2"])
    return LeakPlace(id_, kind, room, surface, size, height_m, plan, best, least, most)


def _joints(house: House, geometry: Geometry) -> Iterator[LeakPlace]:
    kinds = table("leak_places")
    for joint in geometry.joints:
        if joint.kind not in kinds:
            continue
        host = _host(joint, house, geometry)
        surface = host if any(s.id == host for s in geometry.surfaces) else _roof_of(joint, geometry)
        middle = [0.5 * (a + b) for a, b in zip(joint.start, joint.end, strict=True)]
        yield _place(
            f"{joint.kind}:{host}", joint.kind, joint.room, surface, joint.length_m, middle[2], (middle[0], middle[1])
        )


def _host(joint: Joint, house: House, geometry: Geometry) -> str:
    """What a joint belongs to, by ids that stay: a wall, a corner of a room, or a room for lines of the roof."""
    if joint.kind == "corner":
        for room in house.room:
            for corner in room.outline:
                if math.hypot(corner.x_m - joint.start[0], corner.y_m - joint.start[1]) < 0.3 and room.id == joint.room:
                    return f"{room.id}:{corner.id}"
    if joint.kind not in (*ROOFED, "corner"):
        for surface in geometry.surfaces:
            if surface.kind == "wall" and surface.room == joint.room and _lies_on(joint, surface):
                return surface.id
    return joint.room


def _lies_on(joint: Joint, surface: Surface) -> bool:
    if surface.ends is None:
        return False
    start, end = (np.array(p) for p in surface.ends)
    run = end - start
    length = float(np.hypot(*run))
    for point in (joint.start, joint.end):
        away = np.array(point[:2]) - start
        along, across = float(away @ run) / length, float(run[0] * away[1] - run[1] * away[0]) / length
        if abs(across) > NEAR_M or not -NEAR_M < along < length + NEAR_M:
            return False
    return True


def _roof_of(joint: Joint, geometry: Geometry) -> str:
    """A roof of the room, else one of its outer walls, for the wind and the skin; for a corner a wall first."""
    mine = [s for s in geometry.surfaces if s.room == joint.room and s.other == OUTDOORS and s.area_m2 > 0.0]
    order = {"roof": 0, "ceiling": 1, "wall": -1 if joint.kind == "corner" else 2}
    best = min(mine, key=lambda s: (order.get(s.kind, 3), s.id), default=None)
    return best.id if best else ""


def _panel_joints(house: House, geometry: Geometry) -> Iterator[LeakPlace]:
    """Joints between panels, shared out over the surfaces of an assembly by area."""
    for assembly, length in panel_joints_m(house, geometry.surfaces).items():
        mine = [s for s in geometry.surfaces if s.is_outer and s.assembly == assembly and s.area_m2 > 0.0]
        total = sum(s.area_m2 for s in mine)
        for s in mine:
            kind = "wall-panel-joint" if s.kind == "wall" else "roof-panel-joint"
            yield _place(f"panel-joint:{s.id}", kind, s.room, s.id, length * s.area_m2 / total, s.centre_m, _middle(s))


def _middle(surface: Surface) -> tuple[float, float]:
    if surface.ends is not None:
        (x0, y0), (x1, y1) = surface.ends
        return 0.5 * (x0 + x1), 0.5 * (y0 + y1)
    point = surface.shape.representative_point() if not surface.shape.is_empty else None
    return (float(point.x), float(point.y)) if point is not None else (0.0, 0.0)


def _openings(house: House, geometry: Geometry) -> Iterator[LeakPlace]:
    surfaces = {s.id: s for s in geometry.surfaces}
    for placed in geometry.openings:
        host = surfaces[placed.surface]
        if not host.is_outer or placed.kind not in ("window", "door"):
            continue
        plan = (0.5 * (placed.start[0] + placed.end[0]), 0.5 * (placed.start[1] + placed.end[1]))
        size = placed.area_m2 if placed.kind == "window" else 1.0
        yield _place(
            f"{placed.kind}:{placed.id}",
            placed.kind,
            host.room,
            host.id,
            size,
            0.5 * (placed.sill_m + placed.head_m),
            plan,
        )


def _devices(house: House, geometry: Geometry) -> Iterator[LeakPlace]:
    """Sleeves of what passes the shell, and dampers of fans that stand still at times."""
    rooms = {room.id: room for room in house.room}
    pierces = [
        (k, item, 2.3) for k in ("fan", "hood", "dryer") for item in getattr(house, k) if getattr(item, "vented", True)
    ]
    pierces += [("ventilator", unit, 2.0) for unit in house.ventilator] + [("head", head, 2.0) for head in house.head]
    pierces += [("water_heater", w, 1.5) for w in house.water_heater if w.fuel != "electric" and w.room]
    for table_name, item, above in pierces:
        room = rooms[item.room]
        wall = _nearest_outer(item.room, item.position, geometry)
        spot = (item.position.x_m, item.position.y_m) if item.position else _middle_of_room(room)
        height = house.floor_height_m(room) + float(getattr(item, "height_m", above) or above)
        through_roof = not any(s.id == wall and s.kind == "wall" for s in geometry.surfaces)
        kind = "roof-sleeve" if through_roof else "sleeve"
        yield _place(
            f"sleeve:{item.id}", kind, item.room, wall, 2.0 if table_name == "ventilator" else 1.0, height, spot
        )
        if table_name in ("hood", "dryer") or (table_name == "fan" and item.base_flow_m3_s <= 0.0):
            yield _place(f"damper:{item.id}", "damper", item.room, wall, 1.0, height, spot)


def _middle_of_room(room: Any) -> tuple[float, float]:
    return (
        sum(corner.x_m for corner in room.outline) / len(room.outline),
        sum(corner.y_m for corner in room.outline) / len(room.outline),
    )


def _nearest_outer(room: str, position: Any, geometry: Geometry) -> str:
    """The outer wall of a room nearest to a place in it; its roof where it has no wall."""
    mine = [s for s in geometry.surfaces if s.room == room and s.kind == "wall" and s.other == OUTDOORS]
    if not mine and position is not None:
        above = [s for s in geometry.surfaces if s.kind == "roof" and s.other == OUTDOORS]
        mine = [s for s in above if s.shape.distance(Point(position.x_m, position.y_m)) < NEAR_M]
    if not mine:
        mine = [s for s in geometry.surfaces if s.room == room and s.kind in ("roof", "ceiling") and s.is_outer]
    if not mine:
        return ""
    if position is None:
        return max(mine, key=lambda s: s.area_m2).id
    return min(mine, key=lambda s: math.hypot(_middle(s)[0] - position.x_m, _middle(s)[1] - position.y_m)).id


def _known(house: House, geometry: Geometry) -> Iterator[LeakPlace]:
    """Holes of measured area; in the floor over the ground they let soil gas in."""
    rooms = {room.id: room for room in house.room}
    for leak in house.leak:
        room = rooms[leak.room]
        soil = is_over_soil(geometry, leak)
        wall = "" if soil else _wall_of(house, geometry, leak)
        area = HOLE_CD * float(leak.area_m2)
        areas = soil_areas_m2(float(leak.area_m2)) if soil else (area, area, area)
        yield LeakPlace(
            f"hole:{leak.id}", "soil-opening" if soil else "known-hole", leak.room, wall, 1.0,
            house.floor_height_m(room) + leak.height_m, _middle_of_room(room), *areas,
            float(leak.area_m2), leak.sealed,
        )  # fmt: skip


def soil_areas_m2(open_m2: float) -> tuple[float, float, float]:
    """Effective area at 4 Pa of an opening over soil, which lets little through: sandy, silty, gravel."""
    silty, sandy, gravel = (_soil_flow_m3_s(open_m2, 4.0, k) * math.sqrt(AIR_KG_M3 / 8.0) for k in PERMEABILITIES_M2)
    return sandy, silty, gravel


def _soil_flow_m3_s(open_m2: float, pressure_pa: float, permeability_m2: float) -> float:
    """What soil lets through, no more than the bare hole would."""
    hole = HOLE_CD * open_m2 * math.sqrt(2.0 * pressure_pa / AIR_KG_M3)
    soil = soil_inflow_m3_s(area_m2=open_m2, pressure_pa=pressure_pa, permeability_m2=permeability_m2)
    return min(float(soil), hole)


def opening_flows_m3_s(place: LeakPlace, pressure_pa: float) -> tuple[float, float, float]:
    """Flow through a measured opening while it is open (best guess, least, most); over soil by what the soil is."""
    if place.kind == "soil-opening":
        silty, sandy, gravel = (_soil_flow_m3_s(place.open_m2, pressure_pa, k) for k in PERMEABILITIES_M2)
        return sandy, silty, gravel
    flow = float(hole_flow_m3_s(area_m2=place.open_m2, pressure_pa=pressure_pa))
    return flow, flow, flow


def _wall_of(house: House, geometry: Geometry, leak: Leak) -> str:
    """The outer wall that a hole names; nothing where that is an inner wall; any outer side of its room if none is."""
    if leak.wall is None:
        return _nearest_outer(leak.room, None, geometry)
    outline = next(o for o in geometry.outlines if o.owner == leak.room)
    edges = edges_named(outline, leak.wall)
    mine = [s for s in geometry.surfaces if s.room == leak.room and s.kind == "wall" and s.corners in edges]
    return max(mine, key=lambda s: s.length_m).id if mine else ""


@dataclass(frozen=True)
class Share:
    """What one place may have of the tested leakage: best, least, most effective area at 4 Pa [m2]."""

    place: LeakPlace
    best_m2: float
    least_m2: float
    most_m2: float

    @property
    def half_way_m2(self) -> float:
        """Between best guess and most, on the scale on which such areas spread."""
        return math.sqrt(self.best_m2 * self.most_m2)


def shared_out(places: tuple[LeakPlace, ...], total_m2: float) -> tuple[Share, ...]:
    """The tested leakage over all open places: best guesses scaled to it; what a test cannot say, as a range.

    A place has least where it is at its least while all others are at their most, and the other way round; measured
    holes keep their own area. Holes larger than the whole are no part of it: all of it is then left to the joints.
    """
    known = sum(p.best_m2 for p in places if p.open_m2 > 0.0 and not p.sealed)
    spread = [p for p in places if p.open_m2 <= 0.0]
    rest = total_m2 - known if known < total_m2 else total_m2
    best, least, most = (sum(getattr(p, name) for p in spread) for name in ("best_m2", "least_m2", "most_m2"))
    told = []
    for p in places:
        if p.open_m2 > 0.0:
            told.append(Share(p, p.best_m2, p.least_m2, p.most_m2))
        else:
            low = rest * p.least_m2 / max(p.least_m2 + most - p.most_m2, 1e-12)
            high = rest * p.most_m2 / max(p.most_m2 + least - p.least_m2, 1e-12)
            told.append(Share(p, rest * p.best_m2 / max(best, 1e-12), low, min(high, rest)))
    return tuple(told)
