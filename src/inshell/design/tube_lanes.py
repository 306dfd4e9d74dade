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
WALL_FREE_M, JAMB_M, THROAT_M, MOUTH_M = 0.04, 0.04, 0.2, 0.6
TURN, OPEN = 3.0, 1.4  # what a turn costs in steps; what a step in the open costs beside one along a wall or lane
TRIES, BETTER = 80, 12  # lanes tried from one side; more to better a plan that is complete
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


@dataclass(frozen=True)
class Reach:
    """How doorways lead to a room: the way [m], the last doorway, and the rooms that are passed, itself included."""

    way_m: float
    door: XY
    rooms: tuple[str, ...]


def door_distances(geometry: Geometry, rooms: set[str], start: str) -> dict[str, Reach]:
    """How every room that doorways reach is reached from the start room."""
    doors = [(line.interpolate(0.5, normalized=True), pair) for line, pair in doorways(geometry, rooms)]
    middle = {o.owner: o.polygon.representative_point() for o in geometry.outlines if o.owner == start}[start]
    told = {start: Reach(0.0, (middle.x, middle.y), (start,))}
    todo = [start]
    while todo:
        here = min(todo, key=lambda room: told[room].way_m)
        todo.remove(here)
        for door, pair in doors:
            if here not in pair:
                continue
            other = pair[0] if pair[1] == here else pair[1]
            way = told[here].way_m + Point(told[here].door).distance(door)
            if other not in told or way < told[other].way_m - 1e-9:
                told[other] = Reach(way, (door.x, door.y), (*told[here].rooms, other))
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
        self._first, self._wide = (int(i[0]), int(j[0])), len(j) + 2
        self._moves = [di * self._wide + dj for di, dj in WAYS]
        self._ways: list[list[int]] = [[] for _ in range((len(i) + 2) * self._wide)]
        self._codes = {n: self._code(n) for n in self.nodes}
        for n, way in sorted(self.edges):
            self._ways[self._codes[n]].append(way)

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

    def steps(self, node: Node) -> list[Node]:
        """Places one step away."""
        return [(node[0] + di, node[1] + dj) for way, (di, dj) in enumerate(WAYS) if (node, way) in self.edges]

    def mouth(self, root: Node, area: Polygon) -> set[Node]:
        """Places between a root and its area's middle, as far as no other lane may pass."""
        here, middle = self.at(root), area.representative_point()
        away = math.dist(here, (middle.x, middle.y))
        if away < self.pitch:
            return set()
        step = MOUTH_M / away
        told = set()
        for part in np.linspace(0.0, min(step, 1.0), 2 * math.ceil(MOUTH_M / self.pitch) + 1):
            x, y = here[0] + part * (middle.x - here[0]), here[1] + part * (middle.y - here[1])
            told.add((round((x - self.origin[0]) / self.pitch), round((y - self.origin[1]) / self.pitch)))
        return told

    def path(self, starts: set[Node], goals: set[Node], side: int) -> list[Node] | None:
        """The cheapest way between free places, along what is on one side (1 left, -1 right); None if there is none.

        Steps beside a wall or another lane on that side are the cheapest; steps in the open and turns cost more.
        """
        codes, moves, ways = self._codes, self._moves, self._ways
        beside = bytearray(b"\1") * len(ways)  # what a lane may lie along: no place, or one that is taken
        for node in self.nodes.difference(self.taken):
            beside[codes[node]] = 0
        shut = bytearray(beside)
        for node in starts:
            shut[codes[node]] = 1
        best = [math.inf] * (4 * len(ways))
        came: dict[int, int] = {}
        ends = {codes[node] for node in goals}
        heap = [(0.0, 4 * codes[node] + way) for node in starts for way in range(4)]
        for _, state in heap:
            best[state] = 0.0
        heapq.heapify(heap)
        while heap:
            cost, state = heapq.heappop(heap)
            if cost > best[state]:
                continue
            here, way = divmod(state, 4)
            if here in ends:
                return self._walked(came, state)
            for turn in ways[here]:
                there = here + moves[turn]
                if shut[there]:
                    continue
                hugs = beside[there + moves[(turn + side) % 4]]
                step = cost + (1.0 if hugs else OPEN) + (TURN if turn != way else 0.0)
                if step < best[4 * there + turn] - 1e-12:
                    best[4 * there + turn], came[4 * there + turn] = step, state
                    heapq.heappush(heap, (step, 4 * there + turn))
        return None

    def _code(self, node: Node) -> int:
        """A place by one number, in the order of places; a rim of no places lies around all."""
        return (node[0] - self._first[0] + 1) * self._wide + node[1] - self._first[1] + 1

    def _walked(self, came: dict[int, int], last: int) -> list[Node]:
        told = [last]
        while told[-1] in came:
            told.append(came[told[-1]])
        pairs = [divmod(state // 4, self._wide) for state in reversed(told)]
        return [(i + self._first[0] - 1, j + self._first[1] - 1) for i, j in pairs]


@dataclass(frozen=True)
class Goal:
    """What a circuit's leaders must reach: areas in the order in which lanes grow; the floor on which they may lie."""

    name: str
    areas: tuple[Polygon, ...]
    floor: BaseGeometry


@dataclass(frozen=True)
class Lanes:
    """The leaders of one circuit: its trunk from the manifold and branches, each ending at the root of an area.

    An area that no branch reaches has neither line nor root.
    """

    name: str
    lines: tuple[tuple[XY, ...], ...]
    roots: tuple[XY | None, ...]


def lay_lanes(lattice: Lattice, ports: list[Node], goals: list[Goal]) -> dict[str, Lanes]:
    """Lanes to every goal, the shortest of several orders in which all find a way; else as many as any order gave.

    Lanes are placed from one side of the manifold on, each along what was placed before it.
    """
    search = _Search(lattice, goals)
    for row in (sorted(ports), sorted(ports, reverse=True)):
        for side in (1, -1):
            search.left = TRIES if not math.isfinite(search.shortest) else BETTER
            search.place({}, set(), row, goals, 0.0, side)
    return search.most


class _Search:
    """Orders of placing lanes, one after another, with what the best has given."""

    def __init__(self, lattice: Lattice, goals: list[Goal]) -> None:
        self.lattice, self.count = lattice, len(goals)
        self.allowed = {g.name: lattice.inside(g.floor) for g in goals}
        self.within = {g.name: [lattice.inside(area) for area in g.areas] for g in goals}
        self.most: dict[str, Lanes] = {}
        self.shortest, self.left = math.inf, 0

    def place(
        self, told: dict[str, Lanes], taken: set[Node], row: list[Node], goals: list[Goal], length: float, side: int
    ) -> None:
        """One more lane from the first port of a row, in every order that could still better what is known."""
        if len(told) > len(self.most) or (len(told) == self.count and length < self.shortest):
            self.most = dict(told)
            self.shortest = self.shortest if goals else length
        for goal in goals if row else []:
            if self.left <= 0:
                return
            self.left -= 1
            self.lattice.taken = set(taken)
            made = self.grown(row, goal, side)
            if made is None:
                continue
            lanes, used = made
            grown = length + sum(len(line) for line in lanes.lines)
            if grown < self.shortest:
                rest = [g for g in goals if g.name != goal.name]
                self.place({**told, goal.name: lanes}, taken | used, row[1:], rest, grown, side)

    def grown(self, row: list[Node], goal: Goal, side: int) -> tuple[Lanes, set[Node]] | None:
        """A trunk from the first port to the first area, and branches from it to the others; other ports stay free."""
        mine: set[Node] = set()
        mouths: set[Node] = set()
        lattice, lines, roots = self.lattice, [], []
        lattice.taken |= set(row[1:]) | (lattice.nodes - self.allowed[goal.name])
        for k, inside in enumerate(self.within[goal.name]):
            path = lattice.path(mine if k else {row[0]}, inside - lattice.taken - mine, side)
            if path is None and k == 0:
                return None
            if path and len(path) == 1:
                near = [n for n in lattice.steps(path[0]) if n not in lattice.taken]
                path += sorted(near, key=lambda n: n not in inside)[:1]
            mine |= set(path or ())
            mouths |= lattice.mouth(path[-1], goal.areas[k]).difference(row[1:]) if path else set()
            lines.append(tuple(lattice.at(n) for n in path or ()))
            roots.append(lines[-1][-1] if path else None)
        return Lanes(goal.name, tuple(lines), tuple(roots)), mine | mouths


def ports_of(lattice: Lattice, room: Polygon, count: int) -> list[Node]:
    """Places of a manifold's ports: the nearest to its middle in a row along the wall beside it."""
    ring = list(room.exterior.coords)
    near = min((LineString(pair) for pair in pairwise(ring)), key=lambda edge: edge.distance(Point(lattice.origin)))
    (x0, y0), (x1, y1) = near.coords[0], near.coords[1]
    di, dj = (1, 0) if abs(x1 - x0) >= abs(y1 - y0) else (0, 1)
    row = [(k * di, k * dj) for k in sorted(range(-3 * count, 3 * count + 1), key=abs)]
    return [node for node in row if node in lattice.nodes][:count]
