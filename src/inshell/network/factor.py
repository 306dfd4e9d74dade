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
    """Columns of L below the diagonal (starts, rows, values), pivots, and the rooms' reduced block; houses last."""

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
    return Factor(made.column, made.row, made.lower[:, where], made.pivot[:, where], made.reduced[..., where])


def _factored(steppers: list[ThermalStepper]) -> Factor:
    rooms, count = steppers[0].network.rooms, len(steppers[0].capacity)
    order = np.r_[np.arange(rooms, count), np.arange(rooms)]
    matrix = np.stack([(s.stiffness + np.diag(s.store))[np.ix_(order, order)] for s in steppers], axis=-1)
    filled = (matrix != 0.0).any(axis=-1)
    inner = count - rooms
    column, rows, lower = [0], [np.zeros(0, dtype=np.int64)], [np.zeros((0, len(steppers)))]
    for j in range(inner):
        below = j + 1 + np.flatnonzero(filled[j + 1 :, j])
        block = np.ix_(below, below)
        share = matrix[below, j] / matrix[j, j]
        matrix[block] -= share[:, None, :] * matrix[below, j][None, :, :]
        filled[block] = True
        rows.append(order[below])
        lower.append(share)
        column.append(column[-1] + len(below))
    pivot = matrix[np.arange(inner), np.arange(inner)]
    return Factor(np.array(column), np.concatenate(rows), np.concatenate(lower), pivot, matrix[inner:, inner:])
