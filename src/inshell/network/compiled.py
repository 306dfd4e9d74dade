"""The compiled step: the same equations as network/reference.py, from a small C extension.

Where the extension could not be built, `run` steps the reference instead: the same answers, many times slower.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inshell.errors import NotConverged
from inshell.network.air import held_rooms
from inshell.network.links import LinkKind
from inshell.network.reference import SETTLED_K, run_reference
from inshell.network.system import Balances, Forcing, Series, State, System, check_run, fraction_of_ppm
from inshell.network.thermal import ThermalStepper
from inshell.physics.types import Floats

try:
    from inshell.network import _kernel  # type: ignore[attr-defined, unused-ignore]
except ImportError:  # pragma: no cover  (no compiler where it was installed)
    _kernel = None

CHUNK_HOURS = 24 * 14
FROM_FORCING = (
    "outdoor_c", "outdoor_vapour", "boundary_c", "source_w", "vapour_kg_s", "gas_kg_s", "wind_pa", "route_share",
    "heat_at_c", "cool_at_c", "most_w", "least_w", "permit",
)  # fmt: skip
FROM_STATE = ("nodes_c", "vapour", "buffer_rh", "gas", "age_s", "pressure_pa", "on_s", "hold_s")


def is_compiled() -> bool:
    """Whether the compiled step is there."""
    return _kernel is not None


class Kernel:
    """A system made ready for steps of one length."""

    def __init__(self, system: System, step_s: float) -> None:
        self.system, self.step_s = system, step_s
        self.factor = _Factor(ThermalStepper(system.thermal, step_s))
        self.integers, self.reals, self.free = self._constants()

    def _constants(self) -> tuple[list[NDArray[np.int64]], list[Floats], int]:
        s, c, factor = self.system, self.system.air.columns, self.factor
        links, rows = s.air.links, s.controls
        curves = [link.curve if link.kind is LinkKind.FAN and link.curve else None for link in links]
        starts = np.cumsum([0, *(len(curve.pressure_pa) if curve else 0 for curve in curves)])
        held, _ = held_rooms(s.air)
        free = [k for k in range(s.rooms) if k not in held]
        edges = s.thermal.boundary_edges
        integers: list[Any] = [
            [int(link.kind) for link in links], c.a, c.b, starts, factor.column, factor.row,
            [e[0] for e in edges], [e[1] for e in edges],
            [e.above for e in s.exchanges], [e.below for e in s.exchanges],
            [r.link for r in s.recoveries], [r.exhaust_room for r in s.recoveries],
            [int(r.sensor) for r in rows], [r.room for r in rows], [int(r.above) for r in rows],
            [int(r.target) for r in rows], [r.index for r in rows], [int(r.level_off is not None) for r in rows], free,
            [f.node for f in s.films], [f.room for f in s.films], [f.sense for f in s.films],
        ]  # fmt: skip
        reals: list[Any] = [
            c.low_m, c.height_m, c.coefficient, c.exponent, c.width_m, c.discharge,
            [p for curve in curves if curve for p in curve.pressure_pa],
            [q for curve in curves if curve for q in curve.flow_m3_s],
            factor.lower, factor.pivot, factor.reduced, factor.capacity, [e[2] for e in edges],
            [e.diameter_m for e in s.exchanges], [r.share for r in s.recoveries],
            s.mass_kg, s.buffer_kg, s.buffer_kg_s_pa,
            [r.on_at for r in rows], [r.off_at for r in rows], [r.level_on for r in rows],
            [r.level_off or 0.0 for r in rows], [r.min_on_s for r in rows], [r.min_off_s for r in rows],
            [r.hold_s for r in rows],
            [f.area_m2 for f in s.films], [f.constant_w_m2k for f in s.films],
            [abs(math.cos(math.radians(f.tilt_deg))) for f in s.films],
        ]  # fmt: skip
        return [np.ascontiguousarray(v, dtype=np.int64) for v in integers], [_real(v) for v in reals], len(free)

    def run(self, forcing: Forcing, state: State, slot_s: float, first: int = 0) -> tuple[dict[str, Floats], Floats]:
        """Slot sums of one stretch of hours; `state` moves on. Raises NotConverged with the room and the hour."""
        s, steps = self.system, round(3600.0 / self.step_s)
        per_slot = round(slot_s / self.step_s)
        slots, r, n, k, c = forcing.hours * steps // per_slot, s.rooms, s.nodes, len(s.air.links), len(s.controls)
        sizes = (
            r, n, s.thermal.boundaries, k, len(self.reals[6]), len(self.factor.row), len(s.thermal.boundary_edges),
            len(s.exchanges), len(s.recoveries), c, len(s.films), self.free, forcing.hours, steps, per_slot,
        )  # fmt: skip
        scalars = np.array([self.step_s, s.pressure_pa, forcing.outdoor_gas, SETTLED_K])
        width = {"nodes_c": n, "holder_w": r, "humidity": r, "gas": r, "age_s": r, "pressure_pa": r, "forward_kg_s": k,
                 "back_kg_s": k, "control_on": c, "condensed_kg": r}  # fmt: skip
        out = {name: np.zeros((slots, count)) for name, count in width.items()}
        balance = np.zeros(6)
        given = [_real(getattr(forcing, name)) for name in FROM_FORCING]
        for name in FROM_STATE:
            setattr(state, name, _real(getattr(state, name)))
        changed = [getattr(state, name) for name in FROM_STATE]
        status, hour, room, left = _kernel.run(
            sizes, [*self.integers, scalars, *self.reals, *given, *changed, *out.values(), balance]
        )
        if status:
            what = "air flow" if status == 1 else "rooms and their air"
            raise NotConverged(f"{what}, room {s.air.rooms[room]}, hour {first + hour}", iterations=200, residual=left)
        return out, balance


class _Factor:
    """L D L^T of the constant thermal matrix, walls and slabs first, by columns; what is left is the rooms' block."""

    def __init__(self, stepper: ThermalStepper) -> None:
        rooms, count = stepper.network.rooms, len(stepper.capacity)
        order = np.r_[np.arange(rooms, count), np.arange(rooms)]
        matrix = (stepper.stiffness + np.diag(stepper.store))[np.ix_(order, order)]
        inner = count - rooms
        column, rows, lower, pivot = [0], [], [], []
        for j in range(inner):
            below = j + 1 + np.flatnonzero(matrix[j + 1 :, j])
            share = matrix[below, j] / matrix[j, j]
            matrix[np.ix_(below, below)] -= np.outer(share, matrix[below, j])
            rows.append(order[below])
            lower.append(share)
            pivot.append(matrix[j, j])
            column.append(column[-1] + len(below))
        self.column = np.array(column)
        self.row = np.concatenate(rows) if rows else np.zeros(0, dtype=np.int64)
        self.lower = np.concatenate(lower) if lower else np.zeros(0)
        self.pivot = np.array(pivot)
        self.reduced = matrix[inner:, inner:]
        self.capacity = stepper.capacity


def _real(values: Any) -> Floats:
    return np.ascontiguousarray(values, dtype=np.float64)


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
    kernel, now = kernel or Kernel(system, step_s), state.copy()
    parts: list[dict[str, Floats]] = []
    balance = np.zeros(6)
    for first in range(0, forcing.hours, CHUNK_HOURS):
        out, told = kernel.run(forcing.rows(first, first + CHUNK_HOURS), now, slot_s, first)
        balance = np.r_[np.maximum(balance[:4], told[:4]), balance[4:] + told[4:]]
        parts.append(out)
        if progress:
            progress(min(1.0, (first + CHUNK_HOURS) / forcing.hours))
    means = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    gas = means.pop("gas") / fraction_of_ppm(1.0)
    heat, air, vapour, left = map(float, balance[:4])
    told_balances = Balances(heat, air, vapour, left, int(balance[4]), int(balance[5]))
    return Series(slot_s, carbon_dioxide_ppm=gas, balances=told_balances, state=now, **means)
