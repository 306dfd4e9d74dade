"""The order in which rooms are eliminated, and that elimination, against dense solvers of a library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inshell.network.elimination import Elimination, eliminate
from inshell.network.factor import factor_of
from inshell.network.thermal import ThermalNetwork, ThermalStepper
from inshell.physics.conduction import Layer
from inshell.physics.types import Floats
from tests.evidence import assert_close
from tests.test_coupled import one_room


def laid_out(order: Elimination, matrix: Floats) -> Floats:
    """A dense matrix in the places of an elimination."""
    early, late = order.early, order.late
    return np.concatenate([np.diag(matrix), matrix[late, early], matrix[early, late]])


def solved(order: Elimination, matrix: Floats, right: Floats) -> Floats:
    """The elimination as the compiled step does it, read from the order alone."""
    m, x, n, pairs = laid_out(order, matrix), right.copy(), order.count, len(order.early)
    fill = iter(order.fill)
    for t, k in enumerate(order.order):
        mine = range(order.start[t], order.start[t + 1])
        for e in mine:
            share = m[n + e] / m[k]
            for c in mine:
                m[next(fill)] -= share * m[n + pairs + c]
            x[order.late[e]] -= share * x[k]
    for t, k in reversed(list(enumerate(order.order))):
        for e in range(order.start[t], order.start[t + 1]):
            x[k] -= m[n + pairs + e] * x[order.late[e]]
        x[k] /= m[k]
    return x


@settings(max_examples=200, deadline=None)
@given(st.integers(1, 15), st.integers(0, 40), st.integers(0, 2**32 - 1))
def test_any_rooms_are_solved_as_numpy_solves_them(count: int, joins: int, seed: int) -> None:
    """Rooms joined at random, conductances over six decades, one way and two: numpy.linalg.solve."""
    rng = np.random.default_rng(seed)
    pairs = [(int(a), int(b)) for a, b in rng.integers(0, count, (joins, 2))]
    order = eliminate(count, pairs)
    matrix = np.diag(10.0 ** rng.uniform(-2, 4, count))
    for a, b in pairs:
        if a != b:
            down, up = 10.0 ** rng.uniform(-2, 4, 2)
            matrix[[a, b], [b, a]] -= down, up
            matrix[[a, b], [a, b]] += down, up
    right = rng.normal(size=count)
    assert sorted(order.order) == list(range(count))
    want = np.linalg.solve(matrix, right)
    assert_close(
        np.abs(solved(order, matrix, right) - want).max(),
        0.0,
        abs=1e-9 * np.abs(want).max() + 1e-12,
        why="numpy.linalg.solve",
    )


@pytest.mark.analytic
def test_a_hall_with_rooms_around_it_fills_nothing() -> None:
    """A star is a tree: eliminated from its leaves it has no fill, whatever number the hall bears (George and Liu 1981)."""
    for hall in (0, 3, 8):
        order = eliminate(9, [(hall, room) for room in range(9) if room != hall])
        assert len(order.early) == 8
        assert len(order.fill) == len(order.half) == 8
        assert order.order[-1] == hall or order.order[-2] == hall


@pytest.mark.analytic
def test_a_row_of_rooms_is_eliminated_from_both_ends_at_once() -> None:
    """No fill from either end; the two ends do not wait for one another. In a ring every other room goes first."""
    row = eliminate(9, [(k, k + 1) for k in range(8)])
    assert row.order[:4] == [0, 8, 1, 7]
    assert len(row.early) == 8
    first = eliminate(8, [(k, (k + 1) % 8) for k in range(8)]).order[:4]
    assert all((a - b) % 8 not in (1, 7) for a in first for b in first)


@pytest.mark.invariant
def test_the_factor_of_walls_gives_back_their_matrix() -> None:
    """Rows and columns of the factor, swept by hand, against numpy.linalg.solve of the whole network."""
    network = ThermalNetwork(rooms=2, boundaries=1, capacity_j_k=[5e4, 6e4])
    star = network.node()
    for room in (0, 1):
        first, last = network.chain(
            layers=[Layer(0.1, 0.9, 1500.0, 900.0), Layer(0.2, 0.04, 30.0, 1400.0)], area_m2=12.0, cells=3
        )
        network.face(first, 0, 300.0)
        network.join(last, room, 30.0)
        network.join(last, star, 60.0)
    network.join(0, 1, 7.0)
    stepper = ThermalStepper(network, 600.0)
    made = factor_of([replace(one_room(), thermal=network)], 600.0)
    load = np.random.default_rng(0).normal(size=len(network.capacity_j_k))
    y = (load[made.node] * made.pivot[:, 0]).copy()
    for child, parent, value in zip(made.into_child, made.into_parent, made.into[:, 0], strict=True):
        y[parent] -= value * y[child]
    y[:2] = np.linalg.solve(made.reduced[..., 0], y[:2])
    for child, parent, value in zip(made.child, made.parent, made.lower[:, 0], strict=True):
        y[child] -= value * y[parent]
    want = np.linalg.solve(stepper.stiffness + np.diag(stepper.store), load)
    assert_close(np.abs(y[made.place] - want).max(), 0.0, abs=1e-12 * np.abs(want).max(), why="numpy.linalg.solve")
