"""Why a room is as warm as it is: everything that brings heat to it or takes it away, in watts, and that they close.

The room is its air, its furnishings and the faces of what surrounds it. Heat comes through each surface from behind its
face, with air on each route, from sun, people and appliances, and from what heats or cools it; the rest warms the room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.design.drivers import Prepared
from inshell.house.geometry import Geometry
from inshell.network.rooms import Face
from inshell.network.system import Series, State, Target
from inshell.physics.air import HEAT_CAPACITY_J_KGK, density_kg_m3
from inshell.physics.openings import horizontal_exchange_m3_s
from inshell.physics.types import Floats

Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Part:
    """One way of heat into a room: what it is, which thing of the house, what lies beyond, and its mean heat [W]."""

    kind: str
    name: str
    beyond: str
    watts: float


@dataclass(frozen=True)
class RoomBalance:
    """Every part of a room's heat, greatest first, what warmed the room itself, and what is left over."""

    room: str
    room_c: float
    parts: tuple[Part, ...]
    stored_w: float
    left_w: float

    def total(self, kind: str) -> float:
        """The sum of one kind."""
        return sum(part.watts for part in self.parts if part.kind == kind)


def room_balances(
    geometry: Geometry, ready: Prepared, series: Series, begun: State, *, first: int, last: int
) -> tuple[RoomBalance, ...]:
    """The balance of every room over some slots of a run whose slots are its steps; `begun` is where that run began."""
    rows = slice(first, last)
    per_hour = round(3600.0 / series.slot_s)
    middles = series.nodes_c
    ends = _ends(ready, begun.nodes_c, middles)
    hours = np.arange(len(middles), dtype=np.int64)[rows] // per_hour
    boundary, source = ready.forcing.boundary_c[hours], _source(ready, series, hours, rows)
    air = _air_parts(ready, series, rows, hours)
    count = ready.system.rooms
    joined = _joined(ready)
    names = [*ready.routes.network.rooms, "outdoors"]
    capacity = np.array(ready.system.thermal.capacity_j_k)
    told = []
    for room in range(count):
        mine = [face for face in ready.thermal.faces if face.room == room]
        own = [room, ready.system.radiant[room], *(face.node for face in mine)]
        parts = [
            _through(geometry, ready, face, middles[rows], boundary, joined)
            for face in mine
            if face.surface != "furnishings"
        ]
        parts += air[room]
        parts.append(Part("gains", "people and appliances", "", float(source[:, room].mean())))
        sun = float(source[:, own[1:]].sum(axis=1).mean())
        parts.append(Part("sun", "sun through windows", "", sun))
        parts.append(Part("device", "heat made" if series.holder_w[rows, room].mean() >= 0 else "heat taken out", "",
                          float(series.holder_w[rows, room].mean())))  # fmt: skip
        stored = float(np.sum(capacity[own] * (ends[last][own] - ends[first][own]))) / (series.slot_s * (last - first))
        merged = _merged(parts)
        left = sum(part.watts for part in merged) - stored
        told.append(RoomBalance(names[room], float(middles[rows, room].mean()), merged, stored, left))
    return tuple(told)


def _ends(ready: Prepared, begun: Floats, middles: Floats) -> Floats:
    """Temperatures at the ends of all steps, the beginning first: each step's middle lies between its ends."""
    massive = np.array(ready.system.thermal.capacity_j_k) > 0.0
    ends = np.empty((len(middles) + 1, middles.shape[1]))
    ends[0] = begun
    for k, middle in enumerate(middles):
        ends[k + 1] = np.where(massive, 2.0 * middle - ends[k], middle)
    return ends


def _source(ready: Prepared, series: Series, hours: Whole, rows: slice) -> Floats:
    """Heat given to nodes: of the hour, and what rows of control add."""
    source = ready.forcing.source_w[hours].copy()
    if ready.forcing.gains_w.size:
        source[:, : ready.system.rooms] += ready.forcing.gains_w[hours]
    for k, row in enumerate(ready.system.controls):
        if row.target is Target.NODE_W:
            on = series.control_on[rows, k]
            source[:, row.index] += on * row.level_on + (1.0 - on) * (row.level_off or 0.0)
    return np.asarray(source)


def _joined(ready: Prepared) -> dict[int, list[tuple[int, float]]]:
    joined: dict[int, list[tuple[int, float]]] = {}
    for one, two, conductance in ready.system.thermal.edges:
        joined.setdefault(one, []).append((two, conductance))
        joined.setdefault(two, []).append((one, conductance))
    return joined


def _through(
    geometry: Geometry,
    ready: Prepared,
    face: Face,
    middles: Floats,
    boundary: Floats,
    joined: dict[int, list[tuple[int, float]]],
) -> Part:
    """Heat that comes to a face from behind it."""
    apart = {*range(ready.system.rooms), *ready.system.radiant}
    watts = np.zeros(len(middles))
    for node, conductance in joined.get(face.node, []):
        if node not in apart:
            watts += conductance * (middles[:, node] - middles[:, face.node])
    for node, k, conductance in ready.system.thermal.boundary_edges:
        if node == face.node:
            watts += conductance * (boundary[:, k] - middles[:, node])
    kinds = {s.id: s.kind for s in geometry.surfaces} | {p.id: p.kind for p in geometry.openings}
    name = face.surface.removesuffix("/edge")
    return Part(str(kinds.get(name, "wall")), name, face.other, float(watts.mean()))


def _air_parts(ready: Prepared, series: Series, rows: slice, hours: Whole) -> list[list[Part]]:
    """What air brings to every room on each route: its flow times how much warmer it comes than the room is."""
    system, cp = ready.system, HEAT_CAPACITY_J_KGK
    names = [*ready.routes.network.rooms, "outdoors"]
    air = np.column_stack([series.nodes_c[rows, : system.rooms], ready.forcing.outdoor_c[hours]])
    recovered = {r.link: r for r in system.recoveries}
    parts: list[list[Part]] = [[] for _ in range(system.rooms)]
    for k, link in enumerate(ready.routes.network.links):
        ways = ((link.a, link.b, series.forward_kg_s[rows, k]), (link.b, link.a, series.back_kg_s[rows, k]))
        for came, to, flow in ways:
            if to < system.rooms:
                enters = air[:, came].copy()
                if k in recovered and to == link.b:
                    enters += recovered[k].share * (air[:, recovered[k].exhaust_room] - air[:, came])
                watts = float((flow * cp * (enters - air[:, to])).mean())
                parts[to].append(Part("air", thing_of(link.name), names[came], watts))
    for e in system.exchanges:
        rho = density_kg_m3(temperature_c=air[:, [e.above, e.below]], pressure_pa=system.pressure_pa)
        flow = rho[:, 0] * horizontal_exchange_m3_s(
            diameter_m=e.diameter_m, density_above_kg_m3=rho[:, 0], density_below_kg_m3=rho[:, 1]
        )
        for came, to in ((e.above, e.below), (e.below, e.above)):
            watts = float((flow * cp * (air[:, came] - air[:, to])).mean())
            parts[to].append(Part("air", e.name, names[came], watts))
    return parts


GAPS = (" undercut", " jambs low", " jambs high", " head", " grille", " boost", " open", " way back")


def thing_of(link: str) -> str:
    """The thing of the house that a route belongs to.

    >>> thing_of("leak living/wall/c1-c2 low"), thing_of("d-bed-1 jambs high"), thing_of("unit to living")
    ('leaks', 'd-bed-1', 'unit')
    """
    if link.startswith("leak "):
        return "leaks"
    for gap in GAPS:
        if link.endswith(gap):
            return link.removesuffix(gap)
    return link.split(" to ", maxsplit=1)[0].split(" from ", maxsplit=1)[0]


def _merged(parts: list[Part]) -> tuple[Part, ...]:
    """Parts of one thing to one side as one, the greatest first."""
    sums: dict[tuple[str, str, str], float] = {}
    for part in parts:
        key = (part.kind, part.name, part.beyond)
        sums[key] = sums.get(key, 0.0) + part.watts
    rows = [Part(*key, watts) for key, watts in sums.items() if watts != 0.0]
    return tuple(sorted(rows, key=lambda part: -abs(part.watts)))
