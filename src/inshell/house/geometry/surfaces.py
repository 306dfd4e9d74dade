"""Named surfaces: walls, partitions, roofs, ceilings, floors, each with area, direction and height."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from inshell.house.geometry.arrangement import Arrangement, Column, Face
from inshell.house.geometry.outlines import Outline
from inshell.house.geometry.planes import Plane
from inshell.house.geometry.sides import Trapezoid, trapezoids
from inshell.house.geometry.walls import edges_named
from inshell.house.model.house import House
from inshell.physics.types import Floats

SurfaceKind = Literal["wall", "partition", "roof", "ceiling", "floor", "mid-floor"]
OUTDOORS, GROUND = "outdoors", "ground"
SLAB_REACH_M = 0.9
SLIVER_M2 = 1e-3  # what rounding to the grid leaves over where rooms meet


@dataclass(frozen=True)
class Surface:
    """One surface of one room. `other` is outdoors, ground, a buffer's id or a room's id.

    `length_m` is its length on the plan, `foot_m` the part of it that stands on the room's floor.
    Azimuth is true, clockwise from north; tilt is 0 facing up, 90 upright, 180 facing down. `outline` is the surface
    in its own plane: along and height for what stands upright, plan x and y for the rest.
    """

    id: str
    kind: SurfaceKind
    room: str
    other: str
    area_m2: float
    azimuth_deg: float
    tilt_deg: float
    low_m: float
    high_m: float
    centre_m: float
    assembly: str | None
    length_m: float = 0.0
    foot_m: float = 0.0
    corners: tuple[str, str] | None = None
    plane: str | None = None
    opening_m2: float = 0.0
    shape: Polygon = field(default_factory=Polygon, compare=False)
    ends: tuple[tuple[float, float], tuple[float, float]] | None = None

    @property
    def net_m2(self) -> float:
        """Area less its openings."""
        return self.area_m2 - self.opening_m2

    @property
    def is_outer(self) -> bool:
        """Whether it belongs to the enclosure (outdoors, ground or a buffer on the other side)."""
        return self.kind not in ("partition", "mid-floor")


def edge_of(outline: Outline, point: Floats) -> int | None:
    """The edge of an outline that a plan point lies on."""
    for k in range(len(outline.points)):
        start, end = outline.edge(k)
        length = float(np.hypot(*(end - start)))
        along = (end - start) / length
        s = float(along @ (point - start))
        across = float(along[0] * (point - start)[1] - along[1] * (point - start)[0])
        if abs(across) < 2e-4 and -1e-6 < s < length + 1e-6:
            return k
    return None


def true_azimuth(house: House, normal: Floats) -> float:
    """True direction of a plan direction."""
    return (math.degrees(math.atan2(normal[0], normal[1])) + house.site.plan_north_deg) % 360.0


def upright_surfaces(house: House, outlines: list[Outline], arrangement: Arrangement) -> list[Surface]:
    """Outer walls and partitions, one for each room edge and what is beyond it."""
    by_owner = {outline.owner: outline for outline in outlines}
    rooms = {room.id for room in house.room}
    groups: dict[tuple[str, int, str], list[Trapezoid]] = {}
    for segment in arrangement.segments:
        for piece in trapezoids(segment):
            owners = [name for name in (piece.left, piece.right) if name in rooms]
            host = _host(by_owner, owners, 0.5 * (piece.start + piece.end))
            if host is None:
                _rim(groups, by_owner, rooms, piece)
                continue
            room, k = host
            other = piece.right if piece.left == room else piece.left
            if other in rooms and room not in owners:
                continue
            groups.setdefault((room, k, other or OUTDOORS), []).append(piece)
    surfaces = [_upright(house, by_owner[room], k, other, pieces) for (room, k, other), pieces in groups.items()]
    return sorted((s for s in surfaces if s.area_m2 > SLIVER_M2), key=lambda s: s.id)


def _rim(
    groups: dict[tuple[str, int, str], list[Trapezoid]], by_owner: dict[str, Outline], rooms: set[str], piece: Trapezoid
) -> None:
    """The edge of a floor where the storey above is set back: it belongs to the wall that stands on it."""
    beyond = [name for name in (piece.left, piece.right) if name not in rooms]
    host = _host(by_owner, [name for name in by_owner if name in rooms], 0.5 * (piece.start + piece.end))
    if len(beyond) == 1 and host is not None:
        groups.setdefault((*host, beyond[0] or OUTDOORS), []).append(piece)


def _host(by_owner: dict[str, Outline], owners: list[str], middle: Floats) -> tuple[str, int] | None:
    for name in sorted(owners):
        k = edge_of(by_owner[name], middle)
        if k is not None:
            return name, k
    return None


def _upright(house: House, outline: Outline, k: int, other: str, pieces: list[Trapezoid]) -> Surface:
    start, end = outline.edge(k)
    along = (end - start) / np.hypot(*(end - start))
    a, b = outline.edge_corners(k)
    room = house.room_named(outline.owner)
    area = sum(piece.area_m2 for piece in pieces)
    is_partition = other in {r.id for r in house.room}
    shape = unary_union([_in_wall(piece, start, along) for piece in pieces])
    positions = sorted(float(along @ (p - start)) for piece in pieces for p in (piece.start, piece.end))
    return Surface(
        id=f"{room.id}:{a}-{b}" + ("" if other == OUTDOORS else f"|{other}"),
        kind="partition" if is_partition else "wall",
        room=room.id,
        other=_buffered(house, outline, a, b, other),
        area_m2=area,
        azimuth_deg=true_azimuth(house, np.array([along[1], -along[0]])),
        tilt_deg=90.0,
        low_m=min(min(p.low) for p in pieces),
        high_m=max(max(p.high) for p in pieces),
        centre_m=sum(p.area_m2 * p.centre_z_m for p in pieces) / area if area else 0.0,
        assembly=_wall_assembly(house, outline, a, b, other, is_partition),
        length_m=_covered([_span(p, start, along) for p in pieces]),
        foot_m=_covered([_span(p, start, along) for p in pieces if max(p.low) < house.floor_height_m(room) + 1e-6]),
        corners=(a, b),
        shape=shape,
        ends=(tuple(start + along * positions[0]), tuple(start + along * positions[-1])),
    )


def _span(piece: Trapezoid, origin: Floats, along: Floats) -> tuple[float, float]:
    return float(along @ (piece.start - origin)), float(along @ (piece.end - origin))


def _covered(spans: list[tuple[float, float]]) -> float:
    """Length of a line that is covered by spans which may lie over one another."""
    total, reach = 0.0, -math.inf
    for low, high in sorted(tuple(sorted(span)) for span in spans):
        total += max(0.0, high - max(low, reach))
        reach = max(reach, high)
    return total


def _in_wall(piece: Trapezoid, origin: Floats, along: Floats) -> Polygon:
    s0, s1 = _span(piece, origin, along)
    return Polygon([(s0, piece.low[0]), (s1, piece.low[1]), (s1, piece.high[1]), (s0, piece.high[0])])


def _buffered(house: House, outline: Outline, a: str, b: str, other: str) -> str:
    """What an outer wall faces: a buffer that names it, else what the drawing shows."""
    if other == OUTDOORS:
        for buffer in house.buffer:
            for wall in buffer.walls:
                room, _, edge = wall.partition(":")
                if room == outline.owner and (a, b) in edges_named(outline, edge):
                    return buffer.id
    return other


def _wall_assembly(house: House, outline: Outline, a: str, b: str, other: str, is_partition: bool) -> str | None:
    for choice in house.wall:
        if choice.room == outline.owner and (a, b) in edges_named(outline, choice.wall):
            return choice.assembly
    if is_partition:
        return house.enclosure.partition
    room = house.room_named(outline.owner)
    if other != OUTDOORS and house.enclosure.buffer_wall:
        return house.enclosure.buffer_wall
    return room.wall or house.enclosure.wall


def level_surfaces(house: House, arrangement: Arrangement) -> list[Surface]:
    """Roofs, ceilings and floors, one for each room, plane and what is beyond it."""
    groups: dict[tuple[str, str, str, str], list[tuple[Face, Plane]]] = {}
    rooms = {room.id for room in house.room}
    for face in arrangement.faces:
        for below, column, above in _neighbours(face.stack):
            if column.owner not in rooms:
                continue
            under = _touching(below.owner if below else None, below, column, face)
            if under is None:
                groups.setdefault((column.owner, "floor", "", ""), []).append((face, column.bottom))
            else:
                kind = "mid-floor" if under in rooms else "floor"
                groups.setdefault((column.owner, kind, under, ""), []).append((face, column.bottom))
            over = _touching(above.owner if above else None, column, above, face)
            if over is None or over not in rooms:
                kind = "ceiling" if column.top.is_flat and column.top.name in ("ceiling", "collar") else "roof"
                groups.setdefault((column.owner, kind, over or "", column.top.name), []).append((face, column.top))
    surfaces = [_level(house, key, parts) for key, parts in groups.items()]
    return sorted((s for s in surfaces if s.area_m2 > SLIVER_M2), key=lambda s: s.id)


def _neighbours(stack: list[Column]) -> list[tuple[Column | None, Column, Column | None]]:
    return list(zip([None, *stack[:-1]], stack, [*stack[1:], None], strict=True))


def _touching(name: str | None, low: Column | None, high: Column | None, face: Face) -> str | None:
    if name is None or low is None or high is None:
        return None
    return name if abs(low.top.z(face.centre) - high.bottom.z(face.centre)) < 1e-3 else None


def _level(house: House, key: tuple[str, str, str, str], parts: list[tuple[Face, Plane]]) -> Surface:
    room_id, kind, other, plane_name = key
    plane = parts[0][1]
    plan = sum(face.polygon.area for face, _ in parts)
    corners_z = [p.z(point) for face, p in parts for point in face.polygon.exterior.coords]
    slope = math.hypot(plane.a, plane.b)
    facing_down = kind in ("floor", "mid-floor")
    side, assembly = _level_sides(house, room_id, kind, other, plane_name, corners_z)
    downhill = -np.array([plane.a, plane.b]) / slope if slope > 1e-9 else np.array([0.0, 1.0])
    return Surface(
        id=f"{room_id}/{kind if kind != 'roof' else 'roof.' + plane_name}" + (f"|{other}" if other else ""),
        kind=kind,  # type: ignore[arg-type]
        room=room_id,
        other=side,
        area_m2=plan * plane.stretch,
        azimuth_deg=true_azimuth(house, downhill) if slope > 1e-9 else 0.0,
        tilt_deg=180.0 if facing_down else math.degrees(math.atan(slope)),
        low_m=min(corners_z),
        high_m=max(corners_z),
        centre_m=sum(f.polygon.area * p.z(f.centre) for f, p in parts) / plan,
        assembly=assembly,
        plane=plane_name or None,
        shape=unary_union([face.polygon for face, _ in parts]),
    )


def _level_sides(
    house: House, room_id: str, kind: str, other: str, plane_name: str, heights: list[float]
) -> tuple[str, str | None]:
    """What is beyond a floor, ceiling or roof, and its assembly."""
    room, enclosure = house.room_named(room_id), house.enclosure
    if kind == "mid-floor":
        return other, enclosure.mid_floor
    if kind == "floor":
        return _floor_sides(house, room_id, other, min(heights))
    above = next((b.id for b in house.buffer if b.above), "") if kind == "ceiling" else ""
    side = other or above or OUTDOORS
    specs = {spec.id: spec for roof in house.roof for spec in roof.plane}
    if kind == "ceiling":
        return side, room.roof or enclosure.ceiling or enclosure.roof
    own = specs[plane_name].assembly if plane_name in specs else None
    return side, own or room.roof or enclosure.roof


def _floor_sides(house: House, room_id: str, other: str, z: float) -> tuple[str, str | None]:
    room, slabs = house.room_named(room_id), {slab.id for slab in house.slab}
    beneath = next((b.id for b in house.buffer if b.beneath), "")
    lowest = min(house.floor_height_m(r) for r in house.room)
    name = room.floor or house.enclosure.floor
    if name in slabs and (room.floor or z <= lowest + SLAB_REACH_M) and not other:
        return GROUND, name
    if name in slabs:
        name = house.enclosure.mid_floor or ""
    low = z <= lowest + SLAB_REACH_M
    return other or (beneath if low else "") or OUTDOORS, name or None


def with_openings(surfaces: list[Surface], areas: dict[str, float]) -> list[Surface]:
    """Surfaces with the area of the openings that each holds."""
    return [replace(s, opening_m2=areas[s.id]) if s.id in areas else s for s in surfaces]
