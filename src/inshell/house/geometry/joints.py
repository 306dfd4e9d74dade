"""Lines where surfaces meet: ridge, hip, valley, eave, rake, corner, sill, and joints between panels."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from inshell.house.geometry.arrangement import Arrangement, Column, Segment
from inshell.house.geometry.planes import Plane
from inshell.house.geometry.sides import Trapezoid, trapezoids
from inshell.house.geometry.surfaces import Surface
from inshell.house.model.enclosure import Panel
from inshell.house.model.house import House
from inshell.physics.types import Floats

NOT_SLOPED = ("ceiling", "collar", "")
SAME_DEG, SAME_M = 0.5, 0.01  # surfaces that face one way and lie as far out are in one plane


Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Joint:
    """A line where two surfaces meet. `turn_deg` is the angle between their outward normals (negative: re-entrant)."""

    kind: str
    room: str
    length_m: float
    turn_deg: float
    start: Point3
    end: Point3


def edge_joints(house: House, arrangement: Arrangement) -> list[Joint]:
    """Every joint of the shell that follows from the planes and outlines."""
    rooms = {room.id for room in house.room}
    joints: list[Joint] = []
    outer: list[Trapezoid] = []
    planes = _planes(arrangement)
    floors = {room.id: house.floor_height_m(room) for room in house.room}
    for segment in arrangement.segments:
        joints += _roof_lines(segment, rooms)
        for piece in trapezoids(segment):
            turned = _outward(piece, rooms)
            if turned is not None:
                outer.append(turned)
    for piece in outer:
        joints += _wall_ends(piece, planes, floors)
    return [joint for joint in [*joints, *_corners(outer)] if joint.length_m > 1e-6]


def _planes(arrangement: Arrangement) -> dict[str, Plane]:
    return {c.top.name: c.top for face in arrangement.faces for c in face.stack if c.top.name not in NOT_SLOPED}


def _outward(piece: Trapezoid, rooms: set[str]) -> Trapezoid | None:
    """An outer wall piece turned so that the room lies on its left."""
    if piece.left in rooms and piece.right not in rooms:
        return piece
    if piece.right in rooms and piece.left not in rooms:
        return Trapezoid(
            piece.end, piece.start, piece.low[::-1], piece.high[::-1], piece.right, piece.left, piece.top_plane
        )
    return None


def _top(stack: tuple[Column, ...], rooms: set[str]) -> Column | None:
    column = stack[-1] if stack else None
    return column if column is not None and column.owner in rooms and column.top.name not in NOT_SLOPED else None


def _roof_lines(segment: Segment, rooms: set[str]) -> list[Joint]:
    left, right = _top(segment.left, rooms), _top(segment.right, rooms)
    if left is None or right is None or left.top.name == right.top.name:
        return []
    run = segment.end - segment.start
    length = float(np.hypot(*run))
    start = _point(segment.start, left.top.z(segment.start))
    end = _point(segment.end, left.top.z(segment.end))
    if abs(left.top.z(segment.start) - right.top.z(segment.start)) > 1e-4:
        return []
    normal = np.array([-run[1], run[0]]) / length
    rise = (left.top.a - right.top.a) * normal[0] + (left.top.b - right.top.b) * normal[1]
    level = abs(end[2] - start[2]) < 0.01 * length
    kind = ("ridge" if level else "hip") if rise < 0.0 else "valley"
    turn = _angle(_normal(left.top), _normal(right.top))
    true_length = math.dist(start, end)
    return [Joint(kind, left.owner, true_length, turn if kind != "valley" else -turn, start, end)]


def _point(plan: Floats, z: float) -> Point3:
    return float(plan[0]), float(plan[1]), float(z)


def _normal(plane: Plane) -> Floats:
    vector = np.array([-plane.a, -plane.b, 1.0])
    return np.asarray(vector / np.linalg.norm(vector))


def _angle(one: Floats, two: Floats) -> float:
    return math.degrees(math.acos(float(np.clip(one @ two, -1.0, 1.0))))


def _wall_ends(piece: Trapezoid, planes: dict[str, Plane], floors: dict[str, float]) -> list[Joint]:
    """Top and bottom of an outer wall piece, where they are those of its room and no mere cut."""
    room = piece.left or ""
    foot = (_point(piece.start, piece.low[0]), _point(piece.end, piece.low[1]))
    head = (_point(piece.start, piece.high[0]), _point(piece.end, piece.high[1]))
    run = (piece.end - piece.start) / piece.length_m
    outward = np.array([run[1], -run[0], 0.0])
    joints = []
    if abs(piece.low[0] - floors[room]) < 1e-6 and abs(piece.low[1] - floors[room]) < 1e-6:
        kind = "sill" if floors[room] < min(floors.values()) + 0.9 else "floor-edge"
        joints.append(Joint(kind, room, math.dist(*foot), 90.0, *foot))
    plane = planes.get(piece.top_plane)
    if plane is None:
        if piece.top_plane == "ceiling":
            joints.append(Joint("wall-ceiling", room, math.dist(*head), 90.0, *head))
        return joints
    along = abs(plane.a * run[0] + plane.b * run[1])
    across = plane.a * outward[0] + plane.b * outward[1]
    name = "rake" if along > abs(across) else "eave" if across <= 1e-9 else "high-edge"
    return [*joints, Joint(name, room, math.dist(*head), _angle(_normal(plane), outward), *head)]


def _corners(outer: list[Trapezoid]) -> list[Joint]:
    """Upright lines where outer walls of two directions meet."""
    starts: dict[tuple[int, int], list[Trapezoid]] = {}
    for piece in outer:
        starts.setdefault(_key(piece.start), []).append(piece)
    joints = []
    for before in outer:
        for after in starts.get(_key(before.end), []):
            one, two = before.end - before.start, after.end - after.start
            turn = math.degrees(math.atan2(one[0] * two[1] - one[1] * two[0], one @ two))
            low, high = max(before.low[1], after.low[0]), min(before.high[1], after.high[0])
            if abs(turn) > 5.0 and high > low:
                x, y = map(float, before.end)
                joints.append(Joint("corner", before.left or "", high - low, turn, (x, y, low), (x, y, high)))
    return joints


def _key(point: Floats) -> tuple[int, int]:
    return round(float(point[0]) * 1e5), round(float(point[1]) * 1e5)


def panel_joints_m(house: House, surfaces: tuple[Surface, ...]) -> dict[str, float]:
    """Length of the joints between factory panels, by assembly.

    Panels run on across rooms, so surfaces in one plane count together. They stand side by side from the first
    end, upright on walls and along the fall on roofs; a panel too short for its run adds a cross joint.
    """
    panels = {a.id: a.panel for a in house.assembly if a.panel}
    groups: list[tuple[str, _Plane, list[Polygon]]] = []
    for surface in surfaces:
        if surface.is_outer and surface.assembly in panels and not surface.shape.is_empty:
            plane, shape = _in_plane(surface, house.site.plan_north_deg)
            for assembly, other, shapes in groups:
                if assembly == surface.assembly and other.is_same(plane):
                    shapes.append(shape)
                    break
            else:
                groups.append((surface.assembly, plane, [shape]))
    lengths: dict[str, float] = {}
    for assembly, plane, shapes in groups:
        added = _grid_m(unary_union([s.buffer(1e-6) for s in shapes]), panels[assembly], plane.stretch)
        lengths[assembly] = lengths.get(assembly, 0.0) + added
    return lengths


@dataclass(frozen=True)
class _Plane:
    """Where a surface lies: its name, which way it faces, how far out; and how much longer its fall is than on plan."""

    name: str
    stretch: float = 1.0
    azimuth_deg: float = 0.0
    out_m: float = 0.0

    def is_same(self, other: _Plane) -> bool:
        turned = (self.azimuth_deg - other.azimuth_deg + 180.0) % 360.0 - 180.0
        return self.name == other.name and abs(turned) < SAME_DEG and abs(self.out_m - other.out_m) < SAME_M


def _in_plane(surface: Surface, plan_north_deg: float) -> tuple[_Plane, Polygon]:
    """The plane of a surface, and its shape in it."""
    if surface.ends is not None:
        start, end = (np.array(p) for p in surface.ends)
        along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
        normal = np.array([along[1], -along[0]])
        shift = float(along @ start) - surface.shape.bounds[0]
        plane = _Plane("wall", azimuth_deg=float(surface.azimuth_deg), out_m=float(normal @ start))
        return plane, affinity.translate(surface.shape, xoff=shift)
    if surface.kind == "roof" and surface.tilt_deg > 0.1:
        stretch = 1.0 / math.cos(math.radians(surface.tilt_deg))
        turn = surface.azimuth_deg - plan_north_deg
        return _Plane(f"roof {surface.plane}", stretch), affinity.rotate(surface.shape, turn, origin=(0.0, 0.0))
    return _Plane(surface.kind, out_m=surface.high_m), surface.shape


def _grid_m(shape: Polygon, panel: Panel, stretch: float) -> float:
    x0, y0, x1, y1 = shape.bounds
    ribs = [x0 + panel.width_m * k for k in range(1, math.ceil((x1 - x0) / panel.width_m - 1e-4))]
    total = sum(shape.intersection(LineString([(x, y0 - 1), (x, y1 + 1)])).length for x in ribs) * stretch
    step = panel.length_m / stretch
    rows = [y0 + step * k for k in range(1, math.ceil((y1 - y0) / step - 1e-4))]
    return float(total + sum(shape.intersection(LineString([(x0 - 1, y), (x1 + 1, y)])).length for y in rows))
