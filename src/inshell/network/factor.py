"""L D L^T of the constant part of the thermal network, walls and slabs first; what is left is the rooms' block.

Made once for a run, for several houses of one topology at a time. Nodes are numbered along their walls with the radiant
means last, so that the factor is nearly as sparse as the network.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.network.system import System
from inshell.network.thermal import ThermalStepper
from inshell.physics.types import Floats


@dataclass(frozen=True)
class Factor:
    """Columns of L (nodes, starts, rows, values), inverse pivots, and the rooms' reduced block; houses last.

    Columns stand in levels: none waits for another of its level, so that their long chains of arithmetic overlap.
    """

    node: NDArray[np.int64]
    column: NDArray[np.int64]
    row: NDArray[np.int64]
    lower: Floats
    pivot: Floats
    reduced: Floats


def factor_of(systems: Sequence[System], step_s: float) -> Factor:
    """The factor of every house; houses that share their network are factored once."""
    networks = {id(s.thermal): s.thermal for s in systems}
    steppers = {key: ThermalStepper(network, step_s) for key, network in networks.items()}
    made = _factored(list(steppers.values()))
    where = [list(steppers).index(id(s.thermal)) for s in systems]
    return Factor(
        made.node, made.column, made.row, made.lower[:, where], made.pivot[:, where], made.reduced[..., where]
    )


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
    nowhere = [np.zeros(0, dtype=np.int64)], [np.zeros((0, len(steppers)))]
    return Factor(
        node=order[by_level],
        column=np.array([0, *np.cumsum([len(rows[j]) for j in by_level])]),
        row=np.concatenate([rows[j] for j in by_level] or nowhere[0]),
        lower=np.concatenate([lower[j] for j in by_level] or nowhere[1]),
        pivot=1.0 / matrix[by_level, by_level],
        reduced=matrix[inner:, inner:],
    )
