"""The tube plan of a house: fields wound through rooms, leaders to the manifold, every circuit's true length."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

from inshell.design.tube_bends import relaxed, sharpest_m
from inshell.design.tube_field import STRETCHES, Field, bare_of, lay_field, polygons, rounded
from inshell.design.tube_lanes import Goal, Lanes, Lattice, door_distances, lay_lanes, leader_gap_m, ports_of, walkable
from inshell.design.tube_shapes import eased, filled, largest, opened_at, split_even
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.heat_devices import Circuit, KeepOut, Manifold
from inshell.house.model.house import House
from inshell.sources import table

XY = tuple[float, float]
LEAST_AREA_M2 = 0.4
MOST_PARTS = 6
BENDS_OD = 8.0
SAME_FLOOR_M = 0.3
CLEAR_M = 0.025
ROUGH_M = 0.012  # how far a smoothed tube may lie off its outline
EASED = 0.1  # of the spacing, the most that a tight bend is moved at a time
AGAIN = 0.75  # of the bend radius: a loop with a tighter bend is laid again at other spacings
APART = 0.4  # of the gap between leaders, at least between tubes of two circuits


@dataclass(frozen=True)
class TubeRun:
    """One circuit as it is laid: its tube from supply to return, its leaders, the areas that it warms.

    `leaders` hold supply and return side by side; `passes` are their metres of tube in each room. `bare_m2` lies
    further than one spacing from a tube; `tightest_m` is the least radius drawn.
    """

    id: str
    circuit: str
    tube: LineString
    leaders: tuple[LineString, ...]
    passes: dict[str, float]
    areas: dict[str, Polygon]
    spacing_m: float
    bare_m2: float
    tightest_m: float

    @property
    def length_m(self) -> float:
        """All of its tube, from supply to return."""
        return float(self.tube.length)

    @property
    def leader_m(self) -> float:
        """What of it leads to the fields and back."""
        return sum(self.passes.values())


@dataclass(frozen=True)
class TubePlan:
    """Every circuit that could be laid, why others could not, what tube may lie in, the gap between leaders."""

    runs: tuple[TubeRun, ...]
    not_routed: dict[str, str]
    heated: dict[str, BaseGeometry]
    keep_outs: dict[str, BaseGeometry]
    gap_m: float

    def of(self, circuit: str) -> tuple[TubeRun, ...]:
        """The loops of one circuit of the file."""
        return tuple(run for run in self.runs if run.circuit == circuit)


def keep_out_area(item: KeepOut) -> BaseGeometry:
    """The ground that something keeps free of tube."""
    at = (item.position.x_m, item.position.y_m)
    if item.radius_m is not None:
        return Point(at).buffer(float(item.radius_m), quad_segs=8)
    half_x, half_y = 0.5 * float(item.width_m or 0.0), 0.5 * float(item.depth_m or 0.0)
    return box(at[0] - half_x, at[1] - half_y, at[0] + half_x, at[1] + half_y)


def lay_tubes(house: House, geometry: Geometry) -> TubePlan:
    """Every circuit of every manifold; those that cannot be laid stand in `not_routed` with the reason."""
    keep_outs = {item.id: keep_out_area(item) for item in house.keep_out}
    runs: list[TubeRun] = []
    lost = _named_twice(house)
    heated: dict[str, BaseGeometry] = {}
    gap = 0.0508
    for manifold in house.manifold:
        mine = [c for c in house.circuit if c.manifold == manifold.id and c.id not in lost]
        if not mine:
            continue
        floor = _Floor(house, geometry, manifold, mine, keep_outs, runs)
        able, why = floor.able()
        with np.errstate(divide="ignore", invalid="ignore"):  # slivers of no width
            more, unlaid = floor.laid(able) if able else ([], {})
        runs += more
        lost |= why | unlaid
        heated |= floor.heated
        gap = max(gap, floor.gap_m)
    return TubePlan(tuple(runs), lost, heated, keep_outs, gap)


def _named_twice(house: House) -> dict[str, str]:
    """Circuits that name a room which another names before them: a floor is laid once."""
    told: dict[str, str] = {}
    owner: dict[str, str] = {}
    for circuit in house.circuit:
        for room in dict.fromkeys(circuit.rooms):
            if owner.setdefault(room, circuit.id) != circuit.id:
                told[circuit.id] = f"{owner[room]} already warms {room}"
    return told


@dataclass(frozen=True)
class _Part:
    """One loop to be laid: rooms with the areas that it shall fill."""

    id: str
    circuit: Circuit
    areas: tuple[tuple[str, Polygon], ...]


class _Floor:
    """One manifold with its circuits on the floor that it stands on."""

    def __init__(
        self,
        house: House,
        geometry: Geometry,
        manifold: Manifold,
        circuits: list[Circuit],
        keep_outs: dict[str, BaseGeometry],
        laid: list[TubeRun],
    ) -> None:
        self.house, self.geometry, self.manifold, self.circuits = house, geometry, manifold, circuits
        height = house.floor_height_m(house.room_named(manifold.room))
        self.level = {r.id for r in house.room if abs(house.floor_height_m(r) - height) < SAME_FLOOR_M}
        self.rows = table("tubes")
        self.gap_m = leader_gap_m(max(self.rows[c.tube]["outer_m"] for c in circuits))
        self.outlines = {o.owner: o.polygon for o in geometry.outlines if o.owner in self.level}
        self.keep_out = unary_union(list(keep_outs.values()))
        clear, half = float(house.floor.wall_clearance_m), 0.5 * house.enclosure.partition_thickness_m
        apart = unary_union([Polygon(run.tube.coords).buffer(2.0 * self.gap_m) for run in laid])
        near = unary_union([shape.buffer(_clearance(house, name, clear)) for name, shape in keep_outs.items()])
        walls = unary_union([LineString(s.ends) for s in geometry.surfaces if s.kind == "partition" and s.ends])
        rooms = dict.fromkeys(r for c in circuits for r in c.rooms if r in self.level)
        inner = {r: self.outlines[r].buffer(-clear, join_style="mitre") for r in rooms}
        solid = unary_union([near, walls.buffer(clear + half, cap_style="flat"), apart])
        self.heated = {r: shape.difference(solid) for r, shape in inner.items()}
        leads = self.keep_out.buffer(0.5 * self.gap_m + CLEAR_M)
        self.free = walkable(house, geometry, self.level).difference(unary_union([leads, apart]))
        self.far = door_distances(geometry, self.level, manifold.room)

    def able(self) -> tuple[list[Circuit], dict[str, str]]:
        """Circuits that a plan may be tried for, and why not of the others."""
        able, why = [], {}
        for c in self.circuits:
            away = [r for r in c.rooms if r not in self.level]
            cut_off = [r for r in c.rooms if r in self.level and r not in self.far]
            small = [r for r in c.rooms if r in self.level and largest(self.heated[r]).area < LEAST_AREA_M2]
            position = self.manifold.position
            deep = [r for r in c.rooms if r in self.level and self._not_in_slab(c, r)]
            if position is None:
                why[c.id] = f"the place of the manifold {self.manifold.id} is not given"
            elif away:
                why[c.id] = f"{', '.join(away)} lies in another storey than the manifold {self.manifold.id}"
            elif not self.outlines[self.manifold.room].buffer(0.01).contains(Point(position.x_m, position.y_m)):
                why[c.id] = f"the manifold {self.manifold.id} is drawn outside {self.manifold.room}"
            elif deep:
                why[c.id] = self._not_in_slab(c, deep[0])
            elif cut_off:
                why[c.id] = f"no doorway leads to {', '.join(cut_off)}"
            elif len(small) == len(c.rooms):
                why[c.id] = f"{', '.join(small)}: nothing is left inside the clearances"
            else:
                able.append(c)
        return able, why

    def _not_in_slab(self, c: Circuit, room: str) -> str:
        """Why a circuit's tube has no slab to lie in in a room; empty if it has."""
        names = {s.assembly for s in self.geometry.surfaces if s.room == room and s.other == GROUND}
        slab = next((slab for slab in self.house.slab if slab.id in names), None)
        if slab is None:
            return f"{room} does not stand on a slab"
        radius = 0.5 * float(self.rows[c.tube]["outer_m"])
        if not radius <= c.depth_m <= slab.thickness_m - radius:
            return f"a tube {c.depth_m:.3g} m deep does not lie in a slab of {slab.thickness_m:.3g} m"
        return ""

    def laid(self, circuits: list[Circuit]) -> tuple[list[TubeRun], dict[str, str]]:
        """All loops; a circuit longer than its tube's limit is cut into one more, as often as need be."""
        counts = {c.id: self._count(c) for c in circuits}
        position = self.manifold.position
        assert position is not None
        lattice = Lattice((position.x_m, position.y_m), 2.0 * self.gap_m, self.free)
        for _ in range(4):
            parts = [p for c in circuits for p in self._parts(c, counts[c.id])]
            goals = [Goal(p.id, tuple(area for _, area in p.areas), self._floor_of(p)) for p in parts]
            ports = ports_of(lattice, self.outlines[self.manifold.room], len(parts))
            lanes = lay_lanes(lattice, ports, goals)
            runs, lost = self._runs(parts, lanes)
            long = {r.circuit for r in runs if r.length_m > self._limit(r.circuit) and counts[r.circuit] < MOST_PARTS}
            if not long:
                break
            for name in long:
                counts[name] += 1
        return runs, lost

    def _floor_of(self, part: _Part) -> BaseGeometry:
        """The rooms that a loop's leaders may pass, joined through their doorways."""
        rooms = {passed for room, _ in part.areas for passed in self.far[room].rooms}
        return walkable(self.house, self.geometry, rooms)

    def _limit(self, circuit: str) -> float:
        tube = next(c.tube for c in self.circuits if c.id == circuit)
        return float(self.rows[tube]["longest_m"])

    def _count(self, c: Circuit) -> int:
        leads = 2.0 * max(self.far[r].way_m for r in c.rooms)
        length = sum(self.heated[r].area for r in c.rooms) / c.spacing_m + leads
        return int(min(max(1, math.ceil(length / self._limit(c.id))), MOST_PARTS))

    def _parts(self, c: Circuit, count: int) -> list[_Part]:
        """A circuit's loops: one through all of its rooms, or rooms apart and large ones in even slices."""
        rooms = sorted(
            (r for r in dict.fromkeys(c.rooms) if largest(self.heated[r]).area > 0.0), key=lambda r: -self.far[r].way_m
        )
        whole = {r: largest(self.heated[r]) for r in rooms}
        if count == 1:
            return [_Part(c.id, c, tuple(whole.items()))]
        each = sum(area.area for area in whole.values()) / count
        pieces = [
            (room, piece)
            for room, area in whole.items()
            for piece in split_even(area, max(1, round(area.area / each)), self.far[room].door, c.spacing_m)
        ]
        return [_Part(f"{c.id}.{k}", c, (piece,)) for k, piece in enumerate(pieces, start=1)]

    def _runs(self, parts: list[_Part], lanes: dict[str, Lanes]) -> tuple[list[TubeRun], dict[str, str]]:
        runs: list[TubeRun] = []
        lost: dict[str, str] = {}
        ways = {name: [LineString(line) for line in one.lines if len(line) > 1] for name, one in lanes.items()}
        for part in parts:
            if part.id not in lanes:
                lost[part.id] = "its leaders find no way from the manifold through the doorways"
                continue
            others = [w for name, lines in ways.items() if name != part.id for w in lines]
            made = self._run(part, lanes[part.id], others)
            if isinstance(made, str):
                lost[part.id] = made
                continue
            if made.tube.intersects(self.keep_out):
                lost[part.id] = "its tube would enter ground that must stay free"
                continue
            met = next((r.id for r in runs if r.tube.distance(made.tube) < APART * self.gap_m), None)
            if met is None:
                runs.append(made)
            else:
                lost[part.id] = f"its tube would meet that of {met}"
        return runs, lost

    def _run(self, part: _Part, lanes: Lanes, others: list[LineString]) -> TubeRun | str:
        """A loop; one that bends too tightly somewhere is laid again at other spacings, the widest bend is kept."""
        best = self._laid_once(part, lanes, others, ())
        enough = AGAIN * BENDS_OD * float(self.rows[part.circuit.tube]["outer_m"])
        for stretch in STRETCHES[1:]:
            if isinstance(best, str) or best.tightest_m >= enough:
                break
            made = self._laid_once(part, lanes, others, (stretch,))
            best = best if isinstance(made, str) or made.tightest_m <= 1.1 * best.tightest_m else made
        return best

    def _laid_once(
        self, part: _Part, lanes: Lanes, others: list[LineString], stretches: tuple[float, ...]
    ) -> TubeRun | str:
        c = part.circuit
        bend = BENDS_OD * float(self.rows[c.tube]["outer_m"])
        lead_bend = bend + 0.5 * self.gap_m
        beside = 0.5 * self.gap_m + max(self.gap_m, 0.5 * c.spacing_m)
        own = [LineString(line[:-1]) for line in lanes.lines if len(line) > 2]
        taken = unary_union([w.buffer(beside, cap_style="flat") for w in [*others, *own]])
        lay = partial(lay_field, spacing_m=c.spacing_m, bend_m=bend, gap_m=self.gap_m, stretches=stretches)
        fields: dict[str, tuple[Polygon, Field, XY]] = {}
        kept = []
        for k, ((room, area), root, line) in enumerate(zip(part.areas, lanes.roots, lanes.lines, strict=True)):
            if root is None:
                continue
            pieces = [p for p in polygons(area.difference(taken)) if p.area > LEAST_AREA_M2]
            piece = min(pieces, key=lambda p: (round(p.distance(Point(root)), 2), -p.area), default=None)
            made = None
            if piece is not None:
                lead = tuple(eased(line, lead_bend).coords) if k == 0 and len(line) > 1 else (root,)
                made = lay(piece, lead)
            if made is not None and piece is not None:
                fields[room] = (piece, made, root)
            if made is not None or k == 0:
                kept.append(line)
        if not fields:
            return f"no field fits into {', '.join(room for room, _ in part.areas)} beside the leaders"
        leaders = [eased(line, lead_bend) for line in kept if len(line) > 1]
        blocked = unary_union([w.buffer(1.4 * self.gap_m, cap_style="flat") for w in others])
        tube = self._tube(fields, leaders, lanes.lines[0], bend, blocked)
        if tube is None:
            return "its leaders meet its own field"
        room = unary_union([self.free, *(area.buffer(CLEAR_M) for area, _, _ in fields.values())])
        tube = _smooth(tube, bend, c.spacing_m, room.difference(unary_union([blocked, self.keep_out])))
        return TubeRun(
            part.id, c.id, tube, tuple(leaders), self._passes(leaders), {r: area for r, (area, _, _) in fields.items()},
            sum(f.spacing_m for _, f, _ in fields.values()) / len(fields),
            sum(bare_of(area, [tube], c.spacing_m, bend).area for area, _, _ in fields.values()), sharpest_m(tube),
        )  # fmt: skip

    def _passes(self, leaders: list[LineString]) -> dict[str, float]:
        """Metres of a loop's leaders in each room that they touch, supply and return."""
        return {
            room: 2.0 * sum(line.intersection(shape).length for line in leaders)
            for room, shape in self.outlines.items()
            if any(line.intersects(shape) for line in leaders)
        }

    def _tube(
        self, fields: dict[str, tuple[Polygon, Field, XY]], leaders: list[LineString], trunk: tuple[XY, ...],
        bend: float, blocked: BaseGeometry,
    ) -> LineString | None:  # fmt: skip
        """The outline of leaders and fields together, opened at the manifold; clear of what other leaders need."""
        half, fill = 0.5 * self.gap_m, 0.9 * self.gap_m
        led = any(len(field.lead) > 1 for _, field, _ in fields.values())
        parts = [w.buffer(half, cap_style="round", quad_segs=8) for w in leaders[1:]]
        if not led:
            parts += [w.buffer(half, cap_style="flat", quad_segs=8) for w in leaders[:1]]
        for area, field, root in fields.values():
            near, _ = nearest_points(area.intersection(field.band), Point(root))
            way = LineString([*field.lead, (near.x, near.y)])
            if len(field.lead) > 1:
                parts.append(field.band.intersection(way.buffer(1.05 * half, cap_style="flat")))
                link = way.buffer(1.3 * half, cap_style="square")
            else:
                link = way.buffer(half, cap_style="square")
                parts.append(link)
            parts.append(field.band.difference(blocked).intersection(area.buffer(half).union(link)))
        band = max(polygons(filled(unary_union(parts), fill)), key=lambda p: float(p.area))
        wide = filled(band, bend).difference(blocked).intersection(self.free)
        for _, field, root in fields.values():
            near = wide.intersection(Point(root).buffer(2.0 * bend + field.spacing_m))
            more = unary_union([band, near])
            if isinstance(more, Polygon) and not more.interiors:
                band = more
        if not isinstance(band, Polygon) or band.interiors:
            return None
        return opened_at(LineString(band.exterior.coords), np.array(trunk[0]), np.array(trunk[1]), half)


def _smooth(tube: LineString, bend: float, spacing: float, free: BaseGeometry) -> LineString:
    """A tube with arcs for corners where that bends it less, its tight bends eased."""
    soft = rounded([(x, y) for x, y in tube.simplify(ROUGH_M).coords], bend)
    better = soft.is_simple and sharpest_m(soft) > sharpest_m(tube)
    return relaxed(soft if better else tube, bend, EASED * spacing, free)


def _clearance(house: House, name: str, wall_m: float) -> float:
    """What keeps tube off a keep-out: off fixtures as off walls; anchors and joints are drawn as wide as they need."""
    kind = next(item.kind for item in house.keep_out if item.id == name)
    return CLEAR_M if kind in ("anchor", "joint") else wall_m
