"""L D L^T of the constant part of the thermal network, walls and slabs first; what is left is the rooms' block.

Made once for a run, for several houses of one topology at a time. Nodes are numbered along their walls with the radiant
means last, so that the factor is nearly as sparse as the network.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inshell.network.system import System
from inshell.network.thermal import ThermalStepper
from inshell.physics.types import Floats


@dataclass(frozen=True)
class Factor:
    """The factor with nodes numbered anew: rooms first, then walls and slabs as they are eliminated; houses last.

    `node` tells each number's node in the network. Entries of the factor stand twice, child and parent: from walls into
    rooms (`into`, of loads over their pivots), and back, the last child first (`lower`). `store` is what nodes hold
    over half a step [W/K]; `pivot` is the inverse one, 1 for rooms. Walls stand in levels: none waits for another of
    its level, so that their long chains of arithmetic overlap and memory is read from one end to the other.
    """

    node: NDArray[np.int64]
    into_child: NDArray[np.int64]
    into_parent: NDArray[np.int64]
    into: Floats
    child: NDArray[np.int64]
    parent: NDArray[np.int64]
    lower: Floats
    pivot: Floats
    reduced: Floats
    store: Floats

    @property
    def place(self) -> NDArray[np.int64]:
        """The number of each node of the network."""
        return np.argsort(self.node)


def factor_of(systems: Sequence[System], step_s: float) -> Factor:
    """The factor of every house; houses that share their network are factored once, and one column stands for all."""
    networks = {id(s.thermal): s.thermal for s in systems}
    steppers = {key: ThermalStepper(network, step_s) for key, network in networks.items()}
    made = _factored(list(steppers.values()))
    if len(networks) == 1:
        return made
    where = [list(steppers).index(id(s.thermal)) for s in systems]
    values = {name: getattr(made, name)[..., where] for name in ("into", "lower", "pivot", "reduced", "store")}
    return replace(made, **values)


def _factored(steppers: list[ThermalStepper]) -> Factor:
    rooms, count = steppers[0].network.rooms, len(steppers[0].capacity)
    order = np.r_[np.arange(rooms, count), np.arange(rooms)]
    matrix = np.stack([(s.stiffness + np.diag(s.store))[np.ix_(order, order)] for s in steppers], axis=-1)
    filled = (matrix != 0.0).any(axis=-1)
    inner = count - rooms
    rows, lower, level = [], [], np.zeros(count, dtype=np.int64)
    for j in range(inner):
        below = j + 1 + np.flatnonzero(filled[j + 1 :, j])
        block = np.ix_(below, below)
        share = matrix[below, j] / matrix[j, j]
        matrix[block] -= share[:, None, :] * matrix[below, j][None, :, :]
        filled[block] = True
        level[below] = np.maximum(level[below], level[j] + 1)
        rows.append(order[below])
        lower.append(share)
    by_level = np.argsort(level[:inner], kind="stable")
    node = np.r_[np.arange(rooms), order[by_level]]
    place, nobody = np.argsort(node), np.zeros(0, dtype=np.int64)
    parents = [place[rows[j]] for j in by_level]
    child = np.repeat(np.arange(rooms, count), [len(p) for p in parents])
    parent = np.concatenate([nobody, *parents])
    values = np.concatenate([np.zeros((0, len(steppers))), *(lower[j] for j in by_level)])
    pivot = np.concatenate([np.ones((rooms, len(steppers))), 1.0 / matrix[by_level, by_level]])
    rank = np.where(parent < rooms, parent + count, parent)
    by_row = np.argsort(rank, kind="stable")
    return Factor(
        node=node,
        into_child=child[by_row],
        into_parent=parent[by_row],
        into=(values * pivot[parent] / pivot[child])[by_row],
        child=child[::-1],
        parent=parent[::-1],
        lower=values[::-1],
        pivot=pivot,
        reduced=matrix[inner:, inner:],
        store=np.stack([s.store for s in steppers], axis=-1)[node],
    )
