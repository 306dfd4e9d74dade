"""Leaders of floor circuits: pairs of tube from a manifold through doorways to the rooms, on a lattice of lanes.

Each lane holds one circuit's supply and return; no two lanes share a place of the lattice, so that leaders never cross.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from shapely import contains_xy, covers, linestrings, prepare
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.house.geometry import Geometry
from inshell.house.model.house import House

Node = tuple[int, int]
XY = tuple[float, float]
WALL_FREE_M, JAMB_M, THROAT_M = 0.04, 0.04, 0.2
TURN, OPEN = 3.0, 1.4  # what a turn costs in steps; what a step in the open costs beside one along a wall or lane
AFTER = 80  # of the tries that are left to better a plan that is complete
WAYS = ((1, 0), (0, 1), (-1, 0), (0, -1))


def leader_gap_m(outer_m: float) -> float:
    """Between the axes of supply and return: two outer diameters of air between them, 2 in at least."""
    return max(3.0 * outer_m, 0.0508)


def walkable(house: House, geometry: Geometry, rooms: set[str]) -> BaseGeometry:
    """The floor on which leaders may lie: rooms less their walls, joined through doorways."""
    half = 0.5 * house.enclosure.partition_thickness_m
    floors = [
        o.polygon.buffer(-(half + WALL_FREE_M), join_style="mitre") for o in geometry.outlines if o.owner in rooms
    ]
    throats = []
    for line, _ in doorways(geometry, rooms):
        if line.length > 2.5 * JAMB_M:
            inner = LineString([line.interpolate(JAMB_M), line.interpolate(line.length - JAMB_M)])
            throats.append(inner.buffer(half + THROAT_M, cap_style="flat"))
    return unary_union([*floors, *throats])


def doorways(geometry: Geometry, rooms: set[str]) -> list[tuple[LineString, tuple[str, str]]]:
    """Lines of the doors and passages between rooms of one floor, with the two rooms."""
    surfaces = {s.id: s for s in geometry.surfaces}
    told = []
    for placed in geometry.openings:
        host = surfaces.get(placed.surface)
        if host is None or host.kind != "partition" or placed.start == placed.end:
            continue
        if {host.room, host.other} <= rooms and placed.kind not in ("window", "transfer-opening"):
            told.append((LineString([placed.start, placed.end]), (host.room, host.other)))
    return told


def door_distances(geometry: Geometry, rooms: set[str], start: str) -> dict[str, tuple[float, XY]]:
    """For every room that doorways reach: the way from the start room [m], and the doorway through which it comes."""
    doors = [(line.interpolate(0.5, normalized=True), pair) for line, pair in doorways(geometry, rooms)]
    middle = {o.owner: o.polygon.representative_point() for o in geometry.outlines if o.owner == start}[start]
    told: dict[str, tuple[float, XY]] = {start: (0.0, (middle.x, middle.y))}
    todo = [start]
    while todo:
        here = min(todo, key=lambda room: told[room][0])
        todo.remove(here)
        for door, pair in doors:
            if here not in pair:
                continue
            other = pair[0] if pair[1] == here else pair[1]
            way = told[here][0] + Point(told[here][1]).distance(door)
            if other not in told or way < told[other][0] - 1e-9:
                told[other] = (way, (door.x, door.y))
                todo.append(other)
    return told


@dataclass
class Lattice:
    """Places for lanes, one pitch apart, from the manifold on; `taken` are those that lanes hold."""

    origin: XY
    pitch: float
    free: BaseGeometry
    nodes: set[Node] = field(default_factory=set)
    edges: set[tuple[Node, int]] = field(default_factory=set)
    taken: set[Node] = field(default_factory=set)
    _walled: set[Node] = field(default_factory=set)

    def __post_init__(self) -> None:
        x0, y0, x1, y1 = self.free.bounds
        i = np.arange(math.floor((x0 - self.origin[0]) / self.pitch), math.ceil((x1 - self.origin[0]) / self.pitch) + 1)
        j = np.arange(math.floor((y0 - self.origin[1]) / self.pitch), math.ceil((y1 - self.origin[1]) / self.pitch) + 1)
        grid = np.array(np.meshgrid(i, j, indexing="ij")).reshape(2, -1).T
        prepare(self.free)
        inside = contains_xy(self.free, *(grid * self.pitch + np.array(self.origin)).T)
        self.nodes = {(int(a), int(b)) for a, b in grid[inside]}
        for way, (di, dj) in enumerate(WAYS[:2]):
            pairs = [n for n in self.nodes if (n[0] + di, n[1] + dj) in self.nodes]
            if not pairs:
                continue
            ends = np.array([[self.at(n), self.at((n[0] + di, n[1] + dj))] for n in pairs])
            for n, good in zip(pairs, covers(self.free, linestrings(ends)), strict=True):
                if good:
                    self.edges |= {(n, way), ((n[0] + di, n[1] + dj), way + 2)}

    def at(self, node: Node) -> XY:
        """Where a place lies on the plan."""
        return self.origin[0] + self.pitch * node[0], self.origin[1] + self.pitch * node[1]

    def inside(self, shape: BaseGeometry) -> set[Node]:
        """Places inside a shape."""
        if shape.is_empty or not self.nodes:
            return set()
        nodes = list(self.nodes)
        points = np.array([self.at(n) for n in nodes])
        return {n for n, good in zip(nodes, contains_xy(shape, *points.T), strict=True) if good}

    def _beside(self) -> set[Node]:
        """Places along a wall or another lane."""
        if not self._walled:
            self._walled.update(n for n in self.nodes if not all(near in self.nodes for near in _around(n)))
        return self._walled.union(*(_around(n) for n in self.taken))

    def path(self, starts: set[Node], goals: set[Node]) -> list[Node] | None:
        """The cheapest way between free places: steps, dearer off walls and lanes, and turns; None if there is none."""
        heap: list[tuple[float, Node, int]] = []
        best: dict[tuple[Node, int], float] = {}
        came: dict[tuple[Node, int], tuple[Node, int]] = {}
        for node in sorted(starts):
            for way in range(4):
                best[node, way] = 0.0
                heap.append((0.0, node, way))
        heapq.heapify(heap)
        beside, edges, taken = self._beside(), self.edges, self.taken
        while heap:
            cost, node, way = heapq.heappop(heap)
            if cost > best.get((node, way), math.inf):
                continue
            if node in goals:
                return _walked(came, (node, way), starts)
            for turn, (di, dj) in enumerate(WAYS):
                there = (node[0] + di, node[1] + dj)
                if (node, turn) not in edges or there in taken or there in starts:
                    continue
                step = cost + (1.0 if there in beside else OPEN) + (TURN if turn != way else 0.0)
                if step < best.get((there, turn), math.inf) - 1e-12:
                    best[there, turn], came[there, turn] = step, (node, way)
                    heapq.heappush(heap, (step, there, turn))
        return None


def _around(node: Node) -> tuple[Node, ...]:
    return tuple((node[0] + di, node[1] + dj) for di, dj in WAYS)


def _walked(came: dict[tuple[Node, int], tuple[Node, int]], last: tuple[Node, int], starts: set[Node]) -> list[Node]:
    told = [last[0]]
    while last in came and told[-1] not in starts:
        last = came[last]
        told.append(last[0])
    return told[::-1]


@dataclass(frozen=True)
class Goal:
    """What a circuit's leaders must reach: areas in the order in which lanes grow towards them."""

    name: str
    areas: tuple[Polygon, ...]


@dataclass(frozen=True)
class Lanes:
    """The leaders of one circuit: its trunk from the manifold and branches, each ending at the root of an area."""

    name: str
    lines: tuple[tuple[XY, ...], ...]
    roots: tuple[XY, ...]


def lay_lanes(
    lattice: Lattice, ports: list[Node], goals: list[Goal], *, tries: int = 120
) -> tuple[dict[str, Lanes], str | None]:
    """Lanes to every goal, in the first order in which all find a way; else as many as any order gave.

    Returns the lanes, and the name of one that found none.
    """
    within = {(g.name, k): lattice.inside(area) for g in goals for k, area in enumerate(g.areas)}
    most: dict[str, Lanes] = {}
    shortest: list[float] = [math.inf]
    budget = [0]

    def place(told: dict[str, Lanes], taken: set[Node], row: list[Node], left: list[Goal], length: float) -> None:
        nonlocal most
        if len(told) > len(most) or (len(told) == len(goals) and length < shortest[0]):
            most = dict(told)
            shortest[0] = length if not left else shortest[0]
        for goal in left:
            if budget[0] <= 0 or (math.isfinite(shortest[0]) and budget[0] <= AFTER):
                return
            budget[0] -= 1
            lattice.taken = set(taken)
            made = _grown(lattice, row, goal, [within[goal.name, k] for k in range(len(goal.areas))])
            if made is None:
                continue
            lanes, used = made
            grown = length + sum(len(line) for line in lanes.lines)
            if grown < shortest[0]:
                rest = [g for g in left if g.name != goal.name]
                place({**told, goal.name: lanes}, taken | used, row[1:], rest, grown)

    for row in (
        sorted(ports),
        sorted(ports, reverse=True),
    ):  # lanes placed from one side on take ports from one side on
        budget[0] = tries
        place({}, set(), row, goals, 0.0)
    return most, next((g.name for g in goals if g.name not in most), None)


def _grown(lattice: Lattice, row: list[Node], goal: Goal, within: list[set[Node]]) -> tuple[Lanes, set[Node]] | None:
    """Lanes to one goal from the first port of what is left of a row; the others stay free."""
    mine: set[Node] = set()
    others = set(row[1:])
    lines, roots = [], []
    for k, inside in enumerate(within):
        goals = inside - lattice.taken
        kept, lattice.taken = lattice.taken, lattice.taken | others
        path = lattice.path(mine if k else set(row[:1]), goals - mine)
        lattice.taken = kept
        if path is None:
            return None
        mine |= set(path)
        lines.append(tuple(lattice.at(n) for n in path))
        roots.append(lattice.at(path[-1]))
    return Lanes(goal.name, tuple(lines), tuple(roots)), mine


def ports_of(lattice: Lattice, room: Polygon, count: int) -> list[Node]:
    """Places of a manifold's ports: the nearest to its middle in a row along the wall beside it."""
    ring = list(room.exterior.coords)
    near = min((LineString(pair) for pair in pairwise(ring)), key=lambda edge: edge.distance(Point(lattice.origin)))
    (x0, y0), (x1, y1) = near.coords[0], near.coords[1]
    di, dj = (1, 0) if abs(x1 - x0) >= abs(y1 - y0) else (0, 1)
    row = [(k * di, k * dj) for k in sorted(range(-3 * count, 3 * count + 1), key=abs)]
    return [node for node in row if node in lattice.nodes][:count]
