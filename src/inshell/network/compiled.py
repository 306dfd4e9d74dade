"""The compiled step: the same equations as network/reference.py, from a small C extension.

One house is stepped alone; many of one topology four or eight side by side, each as if it were alone. Where the
extension could not be built, the reference steps instead: the same answers, many times slower.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inshell.errors import NotConverged
from inshell.network.air import held_rooms
from inshell.network.factor import factor_of
from inshell.network.links import LinkKind
from inshell.network.reference import MOST_ROUNDS, SETTLED_K, run_reference
from inshell.network.system import Balances, Forcing, Series, State, System, check_run, fraction_of_ppm
from inshell.physics.fan import FanCurve
from inshell.physics.types import Floats

try:
    from inshell.network import _kernel  # type: ignore[attr-defined, unused-ignore]
except ImportError:  # pragma: no cover  (no compiler where it was installed)
    _kernel = None

CHUNK_HOURS = 24 * 14
WIDE = _kernel.instructions()[1] if _kernel else 1
FROM_FORCING = (
    "outdoor_c", "outdoor_vapour", "boundary_c", "source_w", "vapour_kg_s", "gas_kg_s", "wind_pa", "route_share",
    "heat_at_c", "cool_at_c", "most_w", "least_w", "permit", "coil_most_w", "coil_least_w",
    "gains_w", "supply_c",
)  # fmt: skip
FROM_STATE = tuple(f.name for f in fields(State))


def is_compiled() -> bool:
    """Whether the compiled step is there."""
    return _kernel is not None


class Kernel:
    """One system, or up to WIDE of one topology, made ready for steps of one length."""

    def __init__(self, systems: System | Sequence[System], step_s: float, *, rooms_only: bool = False) -> None:
        self.systems = (systems,) if isinstance(systems, System) else tuple(systems)
        self.step_s, self.rooms_only = step_s, rooms_only
        self.lanes = 1 if len(self.systems) == 1 else WIDE
        if len(self.systems) > WIDE:
            raise ValueError(f"at most {WIDE} systems side by side")
        factors = factor_of(self.systems, step_s)
        self.fill = len(factors.row)
        columns = [_integers(s) for s in self.systems]
        for other in columns[1:]:
            if not all(np.array_equal(one, two) for one, two in zip(columns[0], other, strict=True)):
                raise ValueError("systems side by side must share rooms, routes, edges and controls")
        orifices = np.all([s.air.columns.exponent == 0.5 for s in self.systems], axis=0)
        kind, a, b, starts, *rest = columns[0]
        sort = np.where(np.asarray(kind) == LinkKind.CRACK, np.where(orifices, 0, 1), 1 + np.asarray(kind))
        by_kind = np.argsort(sort, kind="stable")
        self.integers = [
            _whole(v) for v in (kind, by_kind, a, b, starts, factors.node, factors.column, factors.row, *rest)
        ]
        self.counts = [len(rest[12]), int(np.sum(sort == 0)), int(np.sum(sort == 1)), len(rest[14]), len(rest[16])]
        per_system = [_reals(s) for s in self.systems]
        head = [self._stack([row[k] for row in per_system]) for k in range(9)]
        middle = [self._spread(factors.lower), self._spread(factors.pivot), self._spread(factors.reduced)]
        tail = [self._stack([row[k] for row in per_system]) for k in range(9, len(per_system[0]))]
        self.reals = [*head, *middle, *tail]
        self.points = len(per_system[0][6])

    def _stack(self, values: list[Any]) -> Floats:
        """One quantity of every house, lanes last; lanes without a house repeat the last."""
        arrays = [np.asarray(v, dtype=np.float64) for v in values]
        arrays += arrays[-1:] * (self.lanes - len(arrays))
        return _in_lines(np.stack(arrays, axis=-1))

    def _spread(self, values: Floats) -> Floats:
        """Factors with the houses on the last axis; lanes without a house repeat the last."""
        missing = self.lanes - values.shape[-1]
        parts = [values, np.repeat(values[..., -1:], missing, axis=-1)] if missing else [values]
        return _in_lines(np.concatenate(parts, axis=-1))

    def blank(self, slots: int) -> dict[str, Floats]:
        """Where a run adds its slot means: slots, then rooms, nodes or routes, then houses."""
        s, told = self.systems[0], not self.rooms_only
        width = {"nodes_c": s.nodes if told else s.rooms}
        width |= dict.fromkeys(("holder_w", "humidity", "gas", "age_s", "pressure_pa"), s.rooms)
        width |= dict.fromkeys(("forward_kg_s", "back_kg_s"), len(s.air.links) if told else 0)
        width |= {"control_on": len(s.controls), "condensed_kg": s.rooms, "removed_kg": s.rooms, "tube_w": len(s.tubes)}
        return {name: _zeros_in_lines(slots, count, self.lanes) for name, count in width.items()}

    def run(
        self,
        forcing: Forcing | Sequence[Forcing],
        state: State | Sequence[State],
        slot_s: float,
        first: int = 0,
        out: dict[str, Floats] | None = None,
    ) -> tuple[dict[str, Floats], Floats]:
        """Slot means of some hours, added to `out`; states move on. Raises NotConverged with room and hour."""
        s, steps = self.systems[0], round(3600.0 / self.step_s)
        forcings = (forcing,) * len(self.systems) if isinstance(forcing, Forcing) else tuple(forcing)
        states = (state,) if isinstance(state, State) else tuple(state)
        acting = [[_filled(f, name, s) for f in forcings] for name in FROM_FORCING]
        same = [all(_is_same(v, values[0]) for v in values) for values in acting]
        per_slot, hours = round(slot_s / self.step_s), forcings[0].hours
        r, n, k, c = s.rooms, s.nodes, len(s.air.links), len(s.controls)
        nodes_told, links_told = (r, 0) if self.rooms_only else (n, k)
        sizes = (
            r, n, s.thermal.boundaries, k, self.points, self.fill, len(s.thermal.boundary_edges), len(s.exchanges),
            len(s.recoveries), c, len(s.films), len(s.coils), len(s.tubes), *self.counts, hours, steps, per_slot,
            sum(1 << k for k, one in enumerate(same) if one),
            nodes_told, links_told,
        )  # fmt: skip
        pairs = zip(self.systems, forcings, strict=True)
        scalars = self._stack([[self.step_s, one.pressure_pa, f.outdoor_gas, SETTLED_K] for one, f in pairs])
        out = out or self.blank(hours * steps // per_slot)
        balance = _zeros_in_lines(6, self.lanes)
        given = [
            np.ascontiguousarray(values[0], dtype=np.float64) if one else self._stack(values)
            for one, values in zip(same, acting, strict=True)
        ]
        changed = [self._stack([getattr(one, name) for one in states]) for name in FROM_STATE]
        status, hour, room, lane, left = _kernel.run(
            sizes, self.lanes, [*self.integers, scalars, *self.reals, *given, *changed, *out.values(), balance]
        )
        if status:
            what = "air flow" if status == 1 else "rooms and their air"
            which = f", variant {lane}" if len(self.systems) > 1 else ""
            where = f"{what}, room {s.air.rooms[room]}, hour {first + hour}{which}"
            raise NotConverged(where, iterations=200 if status == 1 else MOST_ROUNDS, residual=left)
        for name, values in zip(FROM_STATE, changed, strict=True):
            for j, one in enumerate(states):
                setattr(one, name, np.ascontiguousarray(values[..., j]))
        return out, balance


def _filled(forcing: Forcing, name: str, system: System) -> Floats:
    """One array of what acts; gains that are left empty are none."""
    values: Floats = getattr(forcing, name)
    if values.size:
        return values
    if name == "gains_w":
        return np.zeros((forcing.hours, system.rooms))
    return np.zeros((forcing.hours, 0)) if name == "supply_c" else values


def _is_same(one: Floats, other: Floats) -> bool:
    """Whether two arrays are the same numbers in the same place."""
    where, there = one.__array_interface__, other.__array_interface__
    return one is other or all(where[key] == there[key] for key in ("data", "shape", "strides"))


def _zeros_in_lines(*shape: int) -> Floats:
    """Zeros that begin on a line of the cache: eight houses' values then never straddle two lines."""
    raw = np.zeros(math.prod(shape) + 8)
    first = -(raw.ctypes.data // 8) % 8
    return raw[first : first + math.prod(shape)].reshape(shape)


def _in_lines(values: Floats) -> Floats:
    made = _zeros_in_lines(*values.shape)
    made[...] = values
    return made


def _whole(values: Any) -> NDArray[np.int64]:
    return np.ascontiguousarray(values, dtype=np.int64)


def _integers(s: System) -> list[Any]:
    """What systems side by side must share: ends, kinds, edges, rows of control."""
    c, links, rows = s.air.columns, s.air.links, s.controls
    curves = [link.curve if link.kind is LinkKind.FAN and link.curve else None for link in links]
    starts = np.cumsum([0, *(len(curve.pressure_pa) if curve else 0 for curve in curves)])
    held, _ = held_rooms(s.air)
    free = [k for k in range(s.rooms) if k not in held]
    edges = s.thermal.boundary_edges
    return [
        [int(link.kind) for link in links], c.a, c.b, starts,
        [e[0] for e in edges], [e[1] for e in edges],
        [e.above for e in s.exchanges], [e.below for e in s.exchanges],
        [r.link for r in s.recoveries], [r.exhaust_room for r in s.recoveries],
        [int(r.sensor) for r in rows], [r.room for r in rows], [int(r.above) for r in rows],
        [int(r.target) for r in rows],
        [r.index for r in rows], [int(r.level_off is not None) for r in rows],
        free, *_touches(c.a.tolist(), c.b.tolist(), free),
        [f.node for f in s.films], [f.room for f in s.films], [f.sense for f in s.films],
        [coil.room for coil in s.coils], [int(coil.fan_always) for coil in s.coils], s.sensed,
        [tube.node for tube in s.tubes],
    ]  # fmt: skip


def _touches(a: list[int], b: list[int], free: list[int]) -> list[list[int]]:
    """For each free room the routes that touch it and which end; for each route between two where its slope goes."""
    place = {room: i for i, room in enumerate(free)}
    each = [[(k, int(b[k] == room)) for k in range(len(a)) if room in (a[k], b[k])] for room in free]
    starts = [0, *np.cumsum([len(rows) for rows in each]).tolist()]
    joints = [k for k in range(len(a)) if a[k] in place and b[k] in place]
    low_high = [sorted((place[a[k]], place[b[k]])) for k in joints]
    flat = [row for rows in each for row in rows]
    return [starts, [k for k, _ in flat], [way for _, way in flat], joints, [j * len(free) + i for i, j in low_high]]


def _reals(s: System) -> list[Any]:
    """What may differ from house to house, in the order of the extension; the factor goes in between."""
    c, rows = s.air.columns, s.controls
    curves = [link.curve for link in s.air.links if link.kind is LinkKind.FAN and link.curve]
    return [
        c.low_m, c.height_m, c.coefficient, c.exponent, c.width_m, c.discharge,
        [p for curve in curves for p in curve.pressure_pa], [q for curve in curves for q in curve.flow_m3_s],
        [fall for curve in curves for fall in _falls(curve)],
        s.thermal.capacity_j_k, [e[2] for e in s.thermal.boundary_edges],
        [e.diameter_m for e in s.exchanges], [r.share for r in s.recoveries],
        s.mass_kg, s.buffer_kg, s.buffer_kg_s_pa,
        [r.on_at for r in rows], [r.off_at for r in rows], [r.level_on for r in rows],
        [r.level_off or 0.0 for r in rows],
        [r.min_on_s for r in rows], [r.min_off_s for r in rows], [r.hold_s for r in rows],
        [f.area_m2 for f in s.films], [f.constant_w_m2k for f in s.films],
        [abs(math.cos(math.radians(f.tilt_deg))) for f in s.films], [coil.low_kg_s for coil in s.coils],
        [coil.high_kg_s for coil in s.coils], [tube.w_k for tube in s.tubes],
    ]  # fmt: skip


def _falls(curve: FanCurve) -> list[float]:
    """How fast the flow falls from each point to the next, m3/s per Pa; 0 from the last."""
    return [*(-np.diff(curve.flow_m3_s) / np.diff(curve.pressure_pa)).tolist(), 0.0]


def run(
    system: System,
    forcing: Forcing,
    state: State,
    *,
    step_s: float,
    slot_s: float = 3600.0,
    progress: Callable[[float], None] | None = None,
    kernel: Kernel | None = None,
) -> Series:
    """All hours of the forcing, from a state that is left as it was; a stretch of days at a time.

    A `kernel` made for the same system and step spares making it again.
    """
    check_run(system, forcing, state, step_s, slot_s)
    if _kernel is None:
        return run_reference(system, forcing, state, step_s=step_s, slot_s=slot_s)
    return _run_side_by_side(kernel or Kernel(system, step_s), [forcing], [state.copy()], slot_s, progress)[0]


def run_variants(
    systems: Sequence[System],
    forcings: Forcing | Sequence[Forcing],
    states: Sequence[State],
    *,
    step_s: float,
    slot_s: float = 3600.0,
    rooms_only: bool = False,
) -> list[Series]:
    """Many houses of one topology, as many side by side as the machine can; each comes out as if it had been run alone.

    `rooms_only` keeps the series of rooms and leaves out those of walls and routes, which take most of the memory.

    The step holds no interpreter lock: threads may each run a share of the variants.
    """
    each = [forcings] * len(systems) if isinstance(forcings, Forcing) else list(forcings)
    for system, forcing, state in zip(systems, each, states, strict=True):
        check_run(system, forcing, state, step_s, slot_s)
    if _kernel is None:
        triples = zip(systems, each, states, strict=True)
        return [run_reference(s, f, x, step_s=step_s, slot_s=slot_s) for s, f, x in triples]
    told: list[Series] = []
    for at in range(0, len(systems), WIDE):
        group = slice(at, at + WIDE)
        kernel = Kernel(systems[group], step_s, rooms_only=rooms_only)
        told += _run_side_by_side(kernel, each[group], [x.copy() for x in states[group]], slot_s, None)
    return told


def _run_side_by_side(
    kernel: Kernel, forcings: list[Forcing], now: list[State], slot_s: float, progress: Callable[[float], None] | None
) -> list[Series]:
    balance = np.zeros((6, kernel.lanes))
    hours, slots = forcings[0].hours, round(3600.0 / slot_s)
    whole = kernel.blank(hours * slots)
    for first in range(0, hours, CHUNK_HOURS):
        rows = {id(f): f.rows(first, first + CHUNK_HOURS) for f in forcings}
        cut = [rows[id(f)] for f in forcings]
        part = slice(first * slots, (first + CHUNK_HOURS) * slots)
        _, told = kernel.run(cut, now, slot_s, first, {name: values[part] for name, values in whole.items()})
        balance = np.concatenate([np.maximum(balance[:4], told[:4]), balance[4:] + told[4:]])
        if progress:
            progress(min(1.0, (first + CHUNK_HOURS) / hours))
    return [
        _series({name: values[..., j] for name, values in whole.items()}, balance[:, j], state, slot_s)
        for j, state in enumerate(now)
    ]


def _series(means: dict[str, Floats], balance: Floats, state: State, slot_s: float) -> Series:
    gas = means.pop("gas") / fraction_of_ppm(1.0)
    heat, air, vapour, left = map(float, balance[:4])
    balances = Balances(heat, air, vapour, left, int(balance[4]), int(balance[5]))
    return Series(slot_s, carbon_dioxide_ppm=gas, balances=balances, state=state, **means)
