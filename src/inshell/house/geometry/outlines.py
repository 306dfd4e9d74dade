"""Outlines of rooms and buffers: checked, oriented and snapped to shared lines."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.validation import explain_validity

from inshell.errors import Problem
from inshell.house.model.house import House
from inshell.house.model.rooms import Corner
from inshell.physics.types import Floats
from inshell.units import show

SNAP_EXTRA_M = 0.0254
GAP_LIMIT_M = 0.6
APART_M = 1e-3  # corners nearer to each other are one corner, written twice
PARALLEL = math.cos(math.radians(1.0))


@dataclass(frozen=True)
class Outline:
    """A plan polygon, counterclockwise, with the id of each corner; `owner` is a room or a buffer."""

    owner: str
    corners: tuple[str, ...]
    points: Floats
    is_room: bool = True

    @property
    def polygon(self) -> Polygon:
        """The outline as a polygon."""
        return Polygon(self.points)

    def edge(self, k: int) -> tuple[Floats, Floats]:
        """Ends of the edge from corner k to the next."""
        return self.points[k], self.points[(k + 1) % len(self.points)]

    def edge_corners(self, k: int) -> tuple[str, str]:
        """Corner ids of edge k."""
        return self.corners[k], self.corners[(k + 1) % len(self.corners)]


def outline_of(owner: str, corners: tuple[Corner, ...], *, is_room: bool = True) -> Outline:
    """An outline, turned counterclockwise."""
    points = np.array([[c.x_m, c.y_m] for c in corners], dtype=float)
    names = tuple(c.id for c in corners)
    x, y = points.T
    if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0.0:
        points, names = points[::-1].copy(), names[::-1]
    return Outline(owner, names, points, is_room)


def outlines_of(house: House) -> tuple[list[Outline], list[Problem]]:
    """Every outline of the house, with what is wrong with them."""
    problems: list[Problem] = []
    result: list[Outline] = []
    drawn = [(f"room.{r.id}", r.id, r.outline, True) for r in house.room]
    drawn += [(f"buffer.{b.id}", b.id, b.outline, False) for b in house.buffer if b.outline]
    for where, owner, corners, is_room in drawn:
        bad = _shape_problem(f"{where}.outline", corners)
        if bad:
            problems.append(bad)
        else:
            result.append(outline_of(owner, corners, is_room=is_room))
    return result, problems


def _shape_problem(where: str, corners: tuple[Corner, ...]) -> Problem | None:
    accepted = "three corners or more, in order round the room, no side crossing another"
    if len(corners) < 3:
        return Problem(where, f"{len(corners)} corners", accepted)
    for before, after in pairwise((*corners, corners[0])):
        if math.hypot(after.x_m - before.x_m, after.y_m - before.y_m) < APART_M:
            found = f"corner {after.id} lies on corner {before.id}"
            return Problem(where, found, accepted, "Write each corner once; the last side leads back to the first")
    polygon = Polygon([(c.x_m, c.y_m) for c in corners])
    if not polygon.is_valid:
        return Problem(
            where,
            f"the outline is not a simple polygon ({explain_validity(polygon)}, metres)",
            accepted,
            "Draw the corners in order, without crossing",
        )
    if polygon.area < 0.05:
        return Problem(where, f"an area of {polygon.area:.3g} m2", "at least 0.05 m2", "Check the units")
    return None


@dataclass
class _Edge:
    outline: int
    index: int
    start: Floats
    end: Floats

    def __post_init__(self) -> None:
        self.length = float(np.hypot(*(self.end - self.start)))
        self.along = (self.end - self.start) / max(self.length, 1e-12)
        self.normal = np.array([self.along[1], -self.along[0]])


STACKED_M = 0.0254  # walls over one another that are drawn further apart are two walls


def snap(outlines: list[Outline], *, tolerance_m: float) -> list[Outline]:
    """Outlines whose edges within the tolerance of each other lie on one line.

    Edges that face each other across a partition, and edges of stacked rooms on one wall, move to their common
    centre; corners are the crossings of the moved lines, so angles are kept.
    """
    edges = [_Edge(i, k, *outline.edge(k)) for i, outline in enumerate(outlines) for k in range(len(outline.points))]
    groups = _clusters(edges, outlines, tolerance_m)
    moved: dict[tuple[int, int], tuple[Floats, Floats]] = {}
    for members in groups:
        rooms = [e for e in members if outlines[e.outline].is_room] or members
        reference = max(rooms, key=lambda e: (round(e.length, 9), -e.outline))
        offsets = np.array([reference.normal @ (0.5 * (e.start + e.end)) for e in rooms])
        if np.ptp([reference.normal @ p for e in members for p in (e.start, e.end)]) < 1e-9:
            continue
        centre = 0.5 * (offsets.max() + offsets.min())
        for e in members:
            moved[e.outline, e.index] = (reference.normal, np.array([centre]))
    return [_rebuilt(i, outline, moved) for i, outline in enumerate(outlines)]


def _clusters(edges: list[_Edge], outlines: list[Outline], tolerance: float) -> list[list[_Edge]]:
    parent = list(range(len(edges)))

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for a, b in combinations(range(len(edges)), 2):
        if _belong_together(edges[a], edges[b], outlines, tolerance):
            parent[root(a)] = root(b)
    groups: dict[int, list[_Edge]] = {}
    for k, edge in enumerate(edges):
        groups.setdefault(root(k), []).append(edge)
    return [group for group in groups.values() if len(group) > 1]


def _belong_together(a: _Edge, b: _Edge, outlines: list[Outline], tolerance: float) -> bool:
    facing = float(a.normal @ b.normal)
    if abs(facing) < PARALLEL:
        return False
    if a.outline == b.outline:  # collinear neighbours of one outline stay collinear
        touch = np.allclose(a.end, b.start) or np.allclose(b.end, a.start)
        return bool(touch and facing > 1.0 - 1e-9)
    limit = tolerance if outlines[a.outline].is_room and outlines[b.outline].is_room else max(tolerance, 0.45)
    across = float(a.normal @ (0.5 * (b.start + b.end) - 0.5 * (a.start + a.end)))
    if abs(across) > (limit if facing < 0.0 else STACKED_M):
        return False
    low, high = sorted((float(a.along @ (b.start - a.start)), float(a.along @ (b.end - a.start))))
    return min(high, a.length) - max(low, 0.0) > 0.05


def _rebuilt(i: int, outline: Outline, moved: dict[tuple[int, int], tuple[Floats, Floats]]) -> Outline:
    count = len(outline.points)
    if not any((i, k) in moved for k in range(count)):
        return outline
    lines = []
    for k in range(count):
        start, end = outline.edge(k)
        along = (end - start) / np.hypot(*(end - start))
        normal = np.array([along[1], -along[0]])
        lines.append(moved.get((i, k), (normal, np.array([normal @ start]))))
    points = [_crossing(lines[k - 1], lines[k], outline.points[k]) for k in range(count)]
    return replace(outline, points=np.array(points))


def _crossing(one: tuple[Floats, Floats], two: tuple[Floats, Floats], old: Floats) -> Floats:
    (n1, d1), (n2, d2) = one, two
    determinant = n1[0] * n2[1] - n1[1] * n2[0]
    if abs(determinant) < math.sin(math.radians(1.0)):
        return np.asarray(old + n1 * (float(d1[0]) - n1 @ old))
    x = (d1[0] * n2[1] - d2[0] * n1[1]) / determinant
    y = (n1[0] * d2[0] - n2[0] * d1[0]) / determinant
    return np.array([x, y])


def overlap_problems(house: House, outlines: list[Outline]) -> list[Problem]:
    """Rooms that share plan and height, and slits between rooms that nobody could stand in."""
    problems = []
    rooms = [o for o in outlines if o.is_room]
    for one, two in combinations(rooms, 2):
        shared = one.polygon.intersection(two.polygon).area
        if shared > 0.01 and _same_height(house, one.owner, two.owner):
            problems.append(
                Problem(
                    f"room.{one.owner}.outline",
                    f"overlaps room {two.owner} by {show(shared, 'area', house.units)} at one height",
                    "rooms that meet on the centre-line of their partition",
                    "Move the corners of one of the two",
                )
            )
        else:
            problems += _gaps(house, one, two, rooms)
    return problems


def _same_height(house: House, one: str, two: str) -> bool:
    low, high = sorted((house.room_named(one), house.room_named(two)), key=house.floor_height_m)
    floor = house.floor_height_m(high)
    if floor - house.floor_height_m(low) < 0.3:
        return True
    return low.ceiling != "roof" and house.floor_height_m(low) + low.ceiling > floor + 0.05


def _gaps(house: House, one: Outline, two: Outline, rooms: list[Outline]) -> list[Problem]:
    apart = abs(house.floor_height_m(house.room_named(one.owner)) - house.floor_height_m(house.room_named(two.owner)))
    if apart > 1.5:
        return []
    found = []
    for i in range(len(one.points)):
        for j in range(len(two.points)):
            a, b = _Edge(0, i, *one.edge(i)), _Edge(1, j, *two.edge(j))
            if float(a.normal @ b.normal) > -PARALLEL:
                continue
            across = float(a.normal @ (b.start - a.start))
            low, high = sorted((float(a.along @ (b.start - a.start)), float(a.along @ (b.end - a.start))))
            low, high = max(low, 0.0), min(high, a.length)
            if not (0.005 < across < GAP_LIMIT_M and high - low > 0.15):
                continue
            middle = a.start + a.along * 0.5 * (low + high)
            probe = LineString([middle + a.normal * 0.004, middle + a.normal * (across - 0.004)])
            if not any(probe.intersects(other.polygon) for other in rooms if other not in (one, two)):
                found.append(
                    Problem(
                        f"room.{one.owner}.outline",
                        f"a gap of {show(across, 'length', house.units)} to room {two.owner}",
                        "edges that meet within a partition's thickness plus 1 in, or a space of 0.6 m (2 ft) or more",
                        'Move the corners together, or draw the space as a room of its own (use = "shaft")',
                    )
                )
    return found[:1]
