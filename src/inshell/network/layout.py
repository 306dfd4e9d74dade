"""A house as the arrays that the compiled step reads: what houses side by side must share, and what may differ.

Names are those of the lists in _kernel.c, and so is their order there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from inshell.network.air import held_rooms
from inshell.network.elimination import Elimination, eliminate
from inshell.network.factor import Factor
from inshell.network.links import LinkKind
from inshell.network.system import Sensor, System, Target
from inshell.physics.fan import FanCurve

INTEGERS = (
    "kind", "link", "curve_start", "above", "below",
    "recovery_link", "sensor", "sensor_room", "when_above", "target",
    "target_index", "has_off", "pair_start", "free_start", "film_node", "film_room", "film_node_more", "film_room_more",
    "film_sense", "coil_room", "coil_always", "senses", "tube_node",
    "tube_more", "ways",
    # followed in every step
    "a", "b", "into_a", "into_b", "into_above", "into_below",
    "recovery_at", "node", "into_parent", "into_child", "parent", "child",
    "edge_node", "edge_boundary", "room_order", "pair_early", "pair_late",
    "pair_fill", "free_room", "free_order", "free_late", "free_fill",
    "joint_at", "touched",
)  # fmt: skip
REALS = (
    "low", "height", "strength",
    "curve_pa", "curve_m3_s", "curve_falls", "reduced",
    "diameter", "recovery_share", "mass",
    "buffer_kg", "buffer_take", "on_at", "off_at", "level_on",
    "level_off", "min_on", "min_off", "hold_for", "film_area",
    "film_constant", "film_cosine", "coil_low", "coil_high", "tube_w_k",
    "tube_store",
)  # fmt: skip
WALLS = ("store", "keeps", "into", "lower", "pivot", "touched_pivot", "edge_w_k")


def topology(s: System) -> dict[str, Any]:
    """What houses side by side must share: ends and kinds of routes, edges, rows of control, devices."""
    c, links, rows, edges = s.air.columns, s.air.links, s.controls, s.thermal.boundary_edges
    curves = [link.curve if link.kind is LinkKind.FAN and link.curve else None for link in links]
    return {
        "kind": [int(link.kind) for link in links], "a": c.a, "b": c.b,
        "curve_start": np.cumsum([0, *(len(curve.pressure_pa) if curve else 0 for curve in curves)]),
        "edge_node": [e[0] for e in edges], "edge_boundary": [e[1] for e in edges],
        "above": [e.above for e in s.exchanges], "below": [e.below for e in s.exchanges],
        "recovery_link": [r.link for r in s.recoveries], "recovery_room": [r.exhaust_room for r in s.recoveries],
        "sensor": [int(r.sensor) for r in rows], "sensor_room": [r.room for r in rows],
        "when_above": [int(r.above) for r in rows], "target": [int(r.target) for r in rows],
        "target_index": [r.index for r in rows], "has_off": [int(r.level_off is not None) for r in rows],
        "film_node": [f.node for f in s.films], "film_room": [f.room for f in s.films],
        "film_sense": [f.sense for f in s.films], "coil_room": [coil.room for coil in s.coils],
        "coil_always": [int(coil.fan_always) for coil in s.coils], "senses": s.sensed,
        "tube_node": [tube.node for tube in s.tubes],
    }  # fmt: skip


def integers(systems: Sequence[System], factor: Factor) -> tuple[dict[str, Any], Elimination, dict[str, int]]:
    """The integer arrays by name, the order in which rooms are eliminated, and how many there are of what; ValueError
    where the houses differ in their topology."""
    s, told = systems[0], topology(systems[0])
    for other in systems[1:]:
        theirs = topology(other)
        if not all(np.array_equal(told[name], theirs[name]) for name in told):
            raise ValueError("systems side by side must share rooms, routes, edges and controls")
    routes, counts = _routes(systems, told)
    told |= routes
    order = _pairs_of(s, told, factor)
    told |= _nodes(told, factor) | _places(s, told, order) | _free(s, told)
    told |= {
        "room_order": order.order, "pair_start": order.start, "pair_early": order.early, "pair_late": order.late,
        "pair_fill": order.fill, "node": factor.node, "into_parent": factor.into_parent,
        "into_child": factor.into_child, "parent": factor.parent, "child": factor.child,
    }  # fmt: skip
    return {name: np.ascontiguousarray(told[name], dtype=np.int64) for name in INTEGERS}, order, counts


def _routes(systems: Sequence[System], told: dict[str, Any]) -> tuple[dict[str, Any], dict[str, int]]:
    """Routes by their kind, orifices first, then other cracks, doors, fans; how many there are of the first two."""
    orifice = np.all([one.air.columns.exponent == 0.5 for one in systems], axis=0)
    kind = np.asarray(told["kind"], dtype=np.int64)
    sort = np.where(kind == LinkKind.CRACK, np.where(orifice, 0, 1), 1 + kind)
    link = np.argsort(sort, kind="stable")
    place, target = np.argsort(link), zip(told["target"], told["target_index"], strict=True)
    new = {
        "kind": kind[link], "link": link, "a": told["a"][link], "b": told["b"][link],
        "curve_start": np.r_[0, np.cumsum(np.diff(told["curve_start"])[link])],
        "recovery_link": [place[k] for k in told["recovery_link"]],
        "target_index": [place[k] if what == Target.ROUTE_SHARE else k for what, k in target],
    }  # fmt: skip
    of_route = zip(told["target"], new["target_index"], strict=True)
    new["ways"] = sorted({k for what, k in of_route if what == Target.ROUTE_SHARE})
    return new, {"orifices": int(np.sum(sort == 0)), "powers": int(np.sum(sort == 1))}


def _pairs_of(s: System, told: dict[str, Any], factor: Factor) -> Elimination:
    """Rooms joined by air, by heat that air carries from one to another, or by walls between them."""
    pairs = [(a, b) for a, b in zip(told["a"].tolist(), told["b"].tolist(), strict=True) if max(a, b) < s.rooms]
    pairs += zip(told["above"], told["below"], strict=True)
    recovered = zip(told["recovery_link"], told["recovery_room"], strict=True)
    pairs += [(int(told["b"][link]), room) for link, room in recovered]
    walls = np.argwhere((factor.reduced != 0.0).any(axis=-1))
    return eliminate(s.rooms, [*pairs, *((int(one), int(two)) for one, two in walls)])


def _nodes(told: dict[str, Any], factor: Factor) -> dict[str, Any]:
    """Nodes by the numbers of the factor, and those whose source may change from step to step."""
    place = factor.place
    names = ("edge_node", "film_node", "film_room", "tube_node")
    new: dict[str, Any] = {name: place[np.asarray(told[name], dtype=np.int64)] for name in names}
    on_node = [sensor == Sensor.NODE_C for sensor in told["sensor"]]
    new["sensor_room"] = [place[k] if node else k for k, node in zip(told["sensor_room"], on_node, strict=True)]
    target = list(zip(told["target"], told["target_index"], strict=True))
    fed = [int(place[k]) for what, k in target if what == Target.NODE_W]
    touched = sorted({*fed, *new["film_node"].tolist(), *new["film_room"].tolist(), *new["tube_node"].tolist()})
    more = {node: k for k, node in enumerate(touched)}
    new["touched"], new["tube_more"] = touched, [more[k] for k in new["tube_node"].tolist()]
    new["film_node_more"] = [more[k] for k in new["film_node"].tolist()]
    new["film_room_more"] = [more[k] for k in new["film_room"].tolist()]
    new["target_index"] = [more[int(place[k])] if what == Target.NODE_W else k for what, k in target]
    return new


def _places(s: System, told: dict[str, Any], order: Elimination) -> dict[str, Any]:
    """Where flows between rooms, from outdoors and to outdoors are summed."""

    def place(to: int, origin: int) -> int:
        if to == origin:
            return order.places + 2 * s.rooms  # passes nothing on
        if origin == s.rooms:
            return order.places + to
        return order.places + s.rooms + origin if to == s.rooms else order.place(to, origin)

    ends = list(zip(told["a"].tolist(), told["b"].tolist(), strict=True))
    stairs = list(zip(told["above"], told["below"], strict=True))
    back = list(zip(told["recovery_link"], told["recovery_room"], strict=True))
    return {
        "into_a": [place(a, b) for a, b in ends], "into_b": [place(b, a) for a, b in ends],
        "into_above": [place(above, below) for above, below in stairs],
        "into_below": [place(below, above) for above, below in stairs],
        "recovery_at": [order.place(int(told["b"][link]), room) for link, room in back],
    }  # fmt: skip


def _free(s: System, told: dict[str, Any]) -> dict[str, Any]:
    """Rooms whose pressure is looked for, and of each route between two of them the place of its slope in the matrix of
    Newton's step: rows below the diagonal, a place for routes that join no two, the diagonal."""
    ends = list(zip(told["a"].tolist(), told["b"].tolist(), strict=True))
    held, _ = held_rooms(s.air)
    rooms = [k for k in range(s.rooms) if k not in held]
    number = {room: i for i, room in enumerate(rooms)}
    pairs = [(number[a], number[b]) if a in number and b in number else (0, 0) for a, b in ends]
    order = eliminate(len(rooms), pairs)
    nowhere = len(order.early)

    def row(one: int, two: int) -> int:
        return min(order.pair.get((one, two), nowhere), order.pair.get((two, one), nowhere))

    return {
        "free_room": rooms, "free_order": order.order, "free_start": order.start, "free_late": order.late,
        "free_fill": [k - len(rooms) if k >= len(rooms) else nowhere + 1 + k for k in order.half],
        "joint_at": [row(one, two) for one, two in pairs],
    }  # fmt: skip


def reals(s: System, link: np.ndarray) -> dict[str, Any]:
    """What may differ from house to house, by name, routes in the order `link`; the factor adds its own."""
    c, rows = s.air.columns, s.controls
    curves = [link.curve for link in s.air.links if link.kind is LinkKind.FAN and link.curve]
    return {
        "low": c.low_m[link], "height": c.height_m[link], "strength": _strength(s)[link],
        "curve_pa": [p for curve in curves for p in curve.pressure_pa],
        "curve_m3_s": [q for curve in curves for q in curve.flow_m3_s],
        "curve_falls": [fall for curve in curves for fall in _falls(curve)],
        "diameter": [e.diameter_m for e in s.exchanges], "recovery_share": [r.share for r in s.recoveries],
        "mass": s.mass_kg, "buffer_kg": s.buffer_kg, "buffer_take": s.buffer_kg_s_pa,
        "on_at": [r.on_at for r in rows], "off_at": [r.off_at for r in rows], "level_on": [r.level_on for r in rows],
        "level_off": [r.level_off or 0.0 for r in rows], "min_on": [r.min_on_s for r in rows],
        "min_off": [r.min_off_s for r in rows], "hold_for": [r.hold_s for r in rows],
        "film_area": [f.area_m2 for f in s.films], "film_constant": [f.constant_w_m2k for f in s.films],
        "film_cosine": [abs(math.cos(math.radians(f.tilt_deg))) for f in s.films],
        "coil_low": [coil.low_kg_s for coil in s.coils], "coil_high": [coil.high_kg_s for coil in s.coils],
        "tube_w_k": [tube.w_k for tube in s.tubes],
    }  # fmt: skip


def _strength(s: System) -> np.ndarray:
    """What a route passes at a density of 1: a crack at 1 Pa, a door by the root of the pressure for each metre of its
    height, a fan for each cubic metre."""
    c = s.air.columns
    door = c.discharge * c.width_m * math.sqrt(2.0)
    kind = np.array([int(link.kind) for link in s.air.links], dtype=np.int64)
    return np.select([kind == LinkKind.CRACK, kind == LinkKind.DOOR], [c.coefficient, door], 1.0)


def _falls(curve: FanCurve) -> list[float]:
    """How fast the flow falls from each point to the next, m3/s per Pa; 0 from the last."""
    return [*(-np.diff(curve.flow_m3_s) / np.diff(curve.pressure_pa)).tolist(), 0.0]


def reduced(factor: Factor, order: Elimination) -> np.ndarray:
    """The rooms' block of the factor in the places of their elimination."""
    early, late = order.early, order.late
    own = np.arange(order.count)
    return np.concatenate([factor.reduced[own, own], factor.reduced[late, early], factor.reduced[early, late]])
