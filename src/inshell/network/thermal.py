"""Heat: room air, layered surfaces by finite volumes, long-wave exchange; the readable reference.

The network is linear over a step: C dT/dt = -K T + G_b T_b + q. A step is Crank–Nicolson in midpoint form: implicit
Euler over half the step, then extrapolate; massless nodes take the midpoint value. Everything but room air has constant
conductances, so that block is inverted once and each step solves only the rooms' small system.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from inshell.errors import NotConverged, refuse
from inshell.physics.conduction import Layer
from inshell.physics.types import Floats


@dataclass
class ThermalNetwork:
    """Nodes with heat capacity, conductances between them, and conductances to boundaries.

    The first `rooms` nodes are room air. Boundaries are temperatures given from outside: outdoor air, ground, sky.
    """

    rooms: int
    boundaries: int
    capacity_j_k: list[float] = field(default_factory=list)
    edges: list[tuple[int, int, float]] = field(default_factory=list)
    boundary_edges: list[tuple[int, int, float]] = field(default_factory=list)

    def node(self, capacity_j_k: float = 0.0) -> int:
        """A new node; its index."""
        self.capacity_j_k.append(capacity_j_k)
        return len(self.capacity_j_k) - 1

    def join(self, one: int, two: int, conductance_w_k: float) -> None:
        """A conductance between two nodes."""
        self.edges.append((one, two, conductance_w_k))

    def face(self, node: int, boundary: int, conductance_w_k: float) -> None:
        """A conductance from a node to a boundary."""
        self.boundary_edges.append((node, boundary, conductance_w_k))

    def chain(self, *, layers: list[Layer], area_m2: float, cells: int | list[int]) -> tuple[int, int]:
        """Layers as finite volumes between two massless surface nodes; returns (first, last) surface node.

        Each layer with heat capacity is cut into `cells` equal volumes (a number for all, or one for each) with their
        node in the middle; a layer given by its resistance alone, or without heat capacity, is a resistance.
        """
        if any(layer.r_m2k_w < 0.0 or layer.thickness_m < 0.0 for layer in layers):
            raise refuse("layers", "a layer of negative thickness or resistance", "zero or more")
        first = here = self.node()
        spare = 0.0
        counts = [cells] * len(layers) if isinstance(cells, int) else cells
        for layer, count in zip(layers, counts, strict=True):
            heat = layer.density_kg_m3 * layer.specific_heat_j_kgk * layer.thickness_m * area_m2
            if heat <= 0.0 or layer.r_m2k_w <= 0.0:
                spare += layer.r_m2k_w
                continue
            part = layer.r_m2k_w / count
            for _ in range(count):
                cell = self.node(heat / count)
                self.join(here, cell, area_m2 / (spare + 0.5 * part))
                here, spare = cell, 0.5 * part
        last = self.node()
        self.join(here, last, area_m2 / max(spare, 1e-6))
        return first, last


@dataclass(frozen=True)
class StepResult:
    """Temperatures after a step and at its middle, and the heat that holders gave the rooms."""

    after_c: Floats
    middle_c: Floats
    holder_w: Floats


class ThermalStepper:
    """A network made ready for steps of one length."""

    def __init__(self, network: ThermalNetwork, step_s: float) -> None:
        self.network, self.step_s = network, step_s
        count, rooms = len(network.capacity_j_k), network.rooms
        self.capacity = np.array(network.capacity_j_k)
        stiffness = np.zeros((count, count))
        self.to_boundary = np.zeros((count, network.boundaries))
        for i, j, g in network.edges:
            stiffness[i, i] += g
            stiffness[j, j] += g
            stiffness[i, j] -= g
            stiffness[j, i] -= g
        for i, k, g in network.boundary_edges:
            stiffness[i, i] += g
            self.to_boundary[i, k] += g
        self.stiffness = stiffness
        self.store = self.capacity / (0.5 * step_s)
        self.to_rooms = stiffness[:rooms, rooms:]

    @cached_property
    def inverse(self) -> Floats:
        """Inverse of the block of walls, slabs and radiant means."""
        rooms = self.network.rooms
        inner = self.stiffness[rooms:, rooms:] + np.diag(self.store[rooms:])
        return np.asarray(np.linalg.inv(inner)) if inner.size else inner

    @cached_property
    def reduced(self) -> Floats:
        """The rooms' block once everything else is eliminated."""
        rooms = self.network.rooms
        own = self.stiffness[:rooms, :rooms] + np.diag(self.store[:rooms])
        return np.asarray(own - self.to_rooms @ self.inverse @ self.to_rooms.T)

    def steady(self, boundary_c: Floats, source_w: Floats, exchange_w_k: Floats | None = None) -> Floats:
        """Steady temperatures under constant boundaries and sources."""
        rooms = self.network.rooms
        matrix = self.stiffness.copy()
        if exchange_w_k is not None:
            matrix[:rooms, :rooms] += exchange_w_k
        return np.asarray(np.linalg.solve(matrix, self.to_boundary @ boundary_c + source_w))

    def step(
        self,
        start_c: Floats,
        *,
        boundary_c: Floats,
        source_w: Floats,
        exchange_w_k: Floats | None = None,
        set_point_c: Floats | None = None,
        most_w: Floats | None = None,
        least_w: Floats | None = None,
    ) -> StepResult:
        """One step. `boundary_c` and `source_w` are means over the step; `exchange_w_k` is what moving air adds to the
        rooms' block; rooms with a set point (not NaN) are held within what their holder can give."""
        rooms = self.network.rooms
        load = self.to_boundary @ boundary_c + source_w + self.store * start_c
        inner = self.inverse @ load[rooms:]
        right = load[:rooms] - self.to_rooms @ inner
        matrix = self.reduced if exchange_w_k is None else self.reduced + exchange_w_k
        air, given = _held(matrix, right, start_c[:rooms], set_point_c, most_w, least_w)
        middle = np.concatenate([air, inner - self.inverse @ (self.to_rooms.T @ air)])
        after = np.where(self.capacity > 0.0, 2.0 * middle - start_c, middle)
        return StepResult(after, middle, given)


def _held(
    matrix: Floats, right: Floats, start: Floats, set_point: Floats | None, most: Floats | None, least: Floats | None
) -> tuple[Floats, Floats]:
    """Room air at the middle of the step, with holders that keep a room at its set point within their limits.

    A holder aims at the set point at the end of the step: the middle lies halfway from where the room is. One that is
    let go at its limit is held again where its neighbours then bring the room past its set point.
    """
    count = len(right)
    given = np.zeros(count)
    if set_point is None or np.all(np.isnan(set_point)):
        return np.asarray(np.linalg.solve(matrix, right)), given
    aim = 0.5 * (set_point + start)
    most = np.full(count, np.inf) if most is None else most
    least = np.full(count, -np.inf) if least is None else least
    held = ~np.isnan(set_point)
    at_most, at_least = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    together = 2 * count + 2
    for turn in range(10 * together):
        free = ~held
        air = np.where(held, aim, 0.0)
        if free.any():
            reduced = right[free] + given[free] - matrix[np.ix_(free, held)] @ aim[held]
            air[free] = np.linalg.solve(matrix[np.ix_(free, free)], reduced)
        needed = matrix @ air - right
        over = held & (needed > most + 1e-9)
        under = held & (needed < least - 1e-9)
        back = (at_most & (air > aim + 1e-9)) | (at_least & (air < aim - 1e-9))
        wrong = over | under | back
        if not wrong.any():
            given[held] = needed[held]
            return air, given
        if turn >= together:  # the first alone: for an M-matrix that ends
            wrong &= np.arange(count) == np.argmax(wrong)
            over, under, back = over & wrong, under & wrong, back & wrong
        given[over], given[under], given[back] = most[over], least[under], 0.0
        held = (held & ~wrong) | back
        at_most, at_least = (at_most & ~back) | over, (at_least & ~back) | under
    raise NotConverged("what holders give", iterations=10 * together, residual=float(np.abs(needed).max()))
