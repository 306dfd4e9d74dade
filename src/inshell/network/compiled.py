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

from inshell.errors import NotConverged
from inshell.network.factor import Factor, factor_of
from inshell.network.layout import REALS, WALLS, integers, reals, reduced
from inshell.network.reference import MOST_ROUNDS, SETTLED_K, run_reference
from inshell.network.system import Balances, Forcing, Series, State, System, check_run, forcing_shape, fraction_of_ppm
from inshell.physics.types import Floats

try:
    from inshell.network import _kernel  # type: ignore[attr-defined, unused-ignore]
except ImportError:  # pragma: no cover  (no compiler where it was installed)
    _kernel = None

CHUNK_HOURS = 24 * 84  # a run can be interrupted in between
WIDE = _kernel.instructions()[1] if _kernel else 1
FROM_FORCING = (
    "outdoor_c", "outdoor_vapour", "boundary_c", "source_w", "vapour_kg_s", "gas_kg_s", "wind_pa", "route_share",
    "heat_at_c", "cool_at_c", "most_w", "least_w", "permit", "coil_most_w", "coil_least_w",
    "gains_w", "supply_c",
)  # fmt: skip
FROM_STATE = tuple(f.name for f in fields(State))
NUMBERED = {"nodes_c": "node", "forward_kg_s": "link", "back_kg_s": "link"}  # by the extension's own numbers


def is_compiled() -> bool:
    """Whether the compiled step is there."""
    return _kernel is not None


class Kernel:
    """One system, or up to WIDE of one topology, made ready for steps of one length."""

    def __init__(
        self,
        systems: System | Sequence[System],
        step_s: float,
        *,
        only: Sequence[str] | None = None,
        factors: dict[frozenset[int], Factor] | None = None,
    ) -> None:
        """`only` names the means that are kept, those of nodes for rooms alone; `factors` keeps what has been made of a
        thermal network for the groups that share it."""
        self.systems = (systems,) if isinstance(systems, System) else tuple(systems)
        self.step_s, self.only = step_s, only
        self.lanes = 1 if len(self.systems) == 1 else WIDE
        if len(self.systems) > WIDE:
            raise ValueError(f"at most {WIDE} systems side by side")
        known, shared = {} if factors is None else factors, frozenset(id(s.thermal) for s in self.systems)
        factor = known[shared] if len(shared) == 1 and shared in known else factor_of(self.systems, step_s)
        known[shared] = factor
        self.integers, order, kinds = integers(self.systems, factor)
        own = [reals(s, self.integers["link"]) for s in self.systems]
        told = {name: self._stack([one[name] for one in own]) for name in own[0]}
        told["reduced"] = self._spread(reduced(factor, order))
        told["tube_store"] = self._spread(factor.store[self.integers["tube_node"]])
        self.reals = {name: told[name] for name in REALS}
        self.one_wall = factor.store.shape[-1] == 1
        edges = [[e[2] for e in s.thermal.boundary_edges] for s in self.systems[: 1 if self.one_wall else None]]
        walls = {name: getattr(factor, name) for name in ("store", "into", "lower", "pivot")}
        walls |= {"keeps": factor.store * factor.pivot, "touched_pivot": factor.pivot[self.integers["touched"]]}
        walls["edge_w_k"] = np.stack(edges, axis=-1)
        walls = {name: walls[name] for name in WALLS}
        self.walls = {name: np.ascontiguousarray(v) if self.one_wall else self._spread(v) for name, v in walls.items()}
        powers = np.stack([s.air.columns.exponent[self.integers["link"]] for s in self.systems], axis=-1)
        self.one_power = bool((powers == powers[:, :1]).all())
        self.powers = np.ascontiguousarray(powers[:, :1]) if self.one_power else self._spread(powers)
        self.numbers = {name: self.integers[by] for name, by in NUMBERED.items()}
        self.sizes = self._sizes(kinds)

    def _sizes(self, kinds: dict[str, int]) -> tuple[int, ...]:
        """How many there are of what, in the order of the extension, up to the times."""
        s, told = self.systems[0], self.integers
        lengths = ("pair_late", "pair_fill", "free_late", "free_fill", "touched", "ways")
        return (
            s.rooms, s.nodes, s.thermal.boundaries, len(s.air.links), len(self.reals["curve_pa"]), len(told["child"]),
            len(told["edge_node"]), len(s.exchanges), len(s.recoveries), len(s.controls), len(s.films), len(s.coils),
            len(s.tubes), len(told["free_room"]), kinds["orifices"], kinds["powers"],
            *(len(told[name]) for name in lengths),
        )  # fmt: skip

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
        """Where a run puts its slot means: slots, then rooms, nodes or routes, then houses; empty where not kept."""
        s, every = self.systems[0], self.only is None
        width = {"nodes_c": s.nodes if every else s.rooms}
        width |= dict.fromkeys(("holder_w", "humidity", "carbon_dioxide_ppm", "age_s", "pressure_pa"), s.rooms)
        width |= dict.fromkeys(("forward_kg_s", "back_kg_s"), len(s.air.links) if every else 0)
        width |= {"control_on": len(s.controls), "condensed_kg": s.rooms, "removed_kg": s.rooms, "tube_w": len(s.tubes)}
        kept = {name: count if every or name in (self.only or ()) else 0 for name, count in width.items()}
        return {name: _zeros_in_lines(slots, count, self.lanes) for name, count in kept.items()}

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
        nodes_told, links_told = (s.nodes, len(s.air.links)) if self.only is None else (s.rooms, 0)
        pairs = zip(self.systems, forcings, strict=True)
        scalars = self._stack([[self.step_s, one.pressure_pa, f.outdoor_gas, SETTLED_K] for one, f in pairs])
        out = out or self.blank(hours * steps // per_slot)
        kept = sum(1 << k for k, means in enumerate(out.values()) if means.size)
        shared = sum(1 << k for k, one in enumerate(same) if one)
        once = (shared, int(self.one_wall), int(self.one_power))
        sizes = (*self.sizes, hours, steps, per_slot, *once, kept, nodes_told, links_told)
        balance = _zeros_in_lines(6, self.lanes)
        given = [
            np.ascontiguousarray(values[0], dtype=np.float64) if one else self._stack(values)
            for one, values in zip(same, acting, strict=True)
        ]
        changed = {name: self._stack([getattr(one, name) for one in states]) for name in FROM_STATE}
        changed |= {name: _in_lines(changed[name][number]) for name, number in self.numbers.items()}
        status, hour, room, lane, left = _kernel.run(
            sizes,
            self.lanes,
            [*self.integers.values(), scalars, *self.reals.values(), *self.walls.values(), self.powers, *given,
             *changed.values(), *out.values(), balance],
        )  # fmt: skip
        if status:
            what = "air flow" if status == 1 else "rooms and their air"
            which = f", variant {lane}" if len(self.systems) > 1 else ""
            where = f"{what}, room {s.air.rooms[room]}, hour {first + hour}{which}"
            raise NotConverged(where, iterations=200 if status == 1 else MOST_ROUNDS, residual=left)
        for name, values in changed.items():
            if name in self.numbers:
                values = values[np.argsort(self.numbers[name])]
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
    if one is other:
        return True
    where, there = one.__array_interface__, other.__array_interface__
    return all(where[key] == there[key] for key in ("data", "shape", "strides"))


def _zeros_in_lines(*shape: int) -> Floats:
    """Zeros that begin on a line of the cache: eight houses' values then never straddle two lines."""
    raw = np.zeros(math.prod(shape) + 8)
    first = -(raw.ctypes.data // 8) % 8
    return raw[first : first + math.prod(shape)].reshape(shape)


def _in_lines(values: Floats) -> Floats:
    made = _zeros_in_lines(*values.shape)
    made[...] = values
    return made


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
    only: Sequence[str] | None = None,
) -> list[Series]:
    """Many houses of one topology, as many side by side as the machine can; each comes out as if it had been run alone.

    `only` names the means that are kept, of rooms where they are those of nodes; the rest come back empty. All of them
    take a tenth more time and many times the memory.

    The step holds no interpreter lock: threads may each run a share of the variants.
    """
    each = [forcings] * len(systems) if isinstance(forcings, Forcing) else list(forcings)
    checked: set[tuple[int, tuple[int, ...]]] = set()
    for system, forcing, state in zip(systems, each, states, strict=True):
        shape = (id(forcing), forcing_shape(system))
        check_run(system, forcing, state, step_s, slot_s, only_state=shape in checked)
        checked.add(shape)
    if _kernel is None:
        triples = zip(systems, each, states, strict=True)
        return [run_reference(s, f, x, step_s=step_s, slot_s=slot_s) for s, f, x in triples]
    told: list[Series] = []
    factors: dict[frozenset[int], Factor] = {}
    for at in range(0, len(systems), WIDE):
        group = slice(at, at + WIDE)
        kernel = Kernel(systems[group], step_s, only=only, factors=factors)
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
    gas = means.pop("carbon_dioxide_ppm") / fraction_of_ppm(1.0)
    heat, air, vapour, left = map(float, balance[:4])
    balances = Balances(heat, air, vapour, left, int(balance[4]), int(balance[5]))
    return Series(slot_s, carbon_dioxide_ppm=gas, balances=balances, state=state, **means)
