"""Conduction in time, the periodic zone, decay: against closed forms, the matrix exponential and the order of the step."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.linalg import expm

from inshell.network.thermal import ThermalNetwork, ThermalStepper, _held
from inshell.physics.conduction import Layer
from tests.evidence import assert_close

PRINTED = "half a unit of the last printed digit"
CONCRETE = {"conductivity_w_mk": 1.4, "density_kg_m3": 2300.0, "specific_heat_j_kgk": 880.0}


def slab(thickness: float, cells: int) -> tuple[ThermalNetwork, int, int]:
    """A slab between boundary 0 at its first face (h set by the caller) and nothing at its last."""
    network = ThermalNetwork(rooms=0, boundaries=2)
    first, last = network.chain(layers=[Layer(thickness, **CONCRETE)], area_m2=1.0, cells=cells)
    return network, first, last


def run(network: ThermalNetwork, hours: float, step_s: float, boundary: np.ndarray, start: float = 0.0) -> np.ndarray:
    stepper = ThermalStepper(network, step_s)
    state = np.full(len(network.capacity_j_k), start)
    for _ in range(round(hours * 3600 / step_s)):
        state = stepper.step(state, boundary_c=boundary, source_w=np.zeros(len(state))).after_c
    return state


@pytest.mark.published
def test_surface_step_into_deep_concrete() -> None:
    # Carslaw & Jaeger, semi-infinite, 1 / 6 / 24 h: theta at .05 and .10 m (values from erfc)
    network, first, _ = slab(3.0, 600)
    network.face(first, 0, 1e9)
    depth = (np.arange(600) + 0.5) * 3.0 / 600
    for hours, at5, at10 in ((1, 0.47863, 0.15648), (6, 0.77239, 0.56293), (24, 0.88501, 0.77239)):
        state = run(network, hours, 60.0, np.array([1.0, 0.0]))
        got = np.interp([0.05, 0.10], depth, state[1:601])
        assert_close(got, [at5, at10], abs=6e-4, why="cells of 5 mm and steps of a minute")


@pytest.mark.published
def test_slab_with_one_face_stepped() -> None:
    # Carslaw & Jaeger, .2 m, other face adiabatic: that face at 1 2 4 8 12 24 h
    for hours, theta in ((1, 0.00919), (2, 0.09015), (4, 0.31291), (8, 0.62741), (12, 0.79844), (24, 0.96809)):
        network, first, last = slab(0.2, 80)
        network.face(first, 0, 1e9)
        assert_close(
            run(network, hours, 10.0, np.array([1.0, 0.0]))[last],
            theta,
            abs=4e-4,
            why="cells of 2.5 mm; a massless face shows the middle of its step",
        )


@pytest.mark.published
def test_slab_that_cools_through_a_film() -> None:
    # Carslaw & Jaeger, h 8, remaining fraction at 1 4 12 24 48 h: adiabatic face, convective face
    rows = (
        (1, 0.99902, 0.74493),
        (4, 0.91433, 0.57990),
        (12, 0.61510, 0.38122),
        (24, 0.33478, 0.20747),
        (48, 0.09916, 0.06145),
    )
    for hours, inner, outer in rows:
        network, first, last = slab(0.2, 60)
        network.face(first, 0, 8.0)
        state = run(network, hours, 12.0, np.zeros(2), start=1.0)
        assert_close([state[last], state[first]], [inner, outer], abs=4e-4, why="cells of 3 mm, steps of 12 s")


@pytest.mark.published
def test_flux_through_a_slab_with_both_faces_held() -> None:
    # outer face stepped 1 K, inner flux at .5 1 2 4 8 h
    for hours, flux in ((0.5, 0.01455), (1, 0.57069), (2, 3.00554), (4, 5.80185), (8, 6.89733)):
        network, first, last = slab(0.2, 80)
        network.face(first, 0, 1e9)
        network.face(last, 1, 1e6)
        state = run(network, hours, 30.0, np.array([1.0, 0.0]))
        assert_close(state[last] * 1e6, flux, abs=0.01, why="cells of 2.5 mm")


@pytest.mark.published
def test_two_nodes_decay() -> None:
    # C .2 / 10 MJ/K, out–air 100, air–mass 500 W/K, from 20, 0 outside: 1, 6, 24 h
    network = ThermalNetwork(rooms=1, boundaries=1)
    air, mass = network.node(0.2e6), network.node(10e6)
    network.join(air, mass, 500.0)
    network.face(air, 0, 100.0)
    matrix = np.array([[-(100 + 500) / 0.2e6, 500 / 0.2e6], [500 / 10e6, -500 / 10e6]])
    for hours, expected in ((1, (16.2692, 19.4695)), (6, (14.0319, 16.7921)), (24, (8.2379, 9.8584))):
        state = run(network, hours, 20.0, np.zeros(1), start=20.0)
        assert_close(state, expected, abs=2e-3, why="steps of 20 s on a time constant of 333 s")
        assert_close(state, expm(matrix * hours * 3600) @ np.full(2, 20.0), abs=2e-3, why="matrix exponential")


@pytest.mark.analytic
def test_the_step_is_of_second_order() -> None:
    """Observed order on the two-node network under a smooth daily forcing, against a very fine step."""

    def swing(step: float) -> float:
        network = ThermalNetwork(rooms=1, boundaries=1)
        air, mass = network.node(0.2e6), network.node(10e6)
        network.join(air, mass, 500.0)
        network.face(air, 0, 100.0)
        stepper = ThermalStepper(network, step)
        state = np.array([5.0, 5.0])
        for k in range(round(36000 / step)):
            outside = 10 * math.sin(2 * math.pi * (k + 0.5) * step / 86400)
            state = stepper.step(state, boundary_c=np.array([outside]), source_w=np.zeros(2)).after_c
        return float(state[1])

    exact = swing(1.0)
    errors = [abs(swing(step) - exact) for step in (120.0, 60.0, 30.0)]
    orders = [math.log2(a / b) for a, b in itertools.pairwise(errors)]
    assert all(1.8 < order < 2.3 for order in orders), orders


def cube(step_s: float, cells: int, changes: float, *, held: bool) -> tuple[float, float]:
    """The reference zone under a daily outdoor sine: (amplitude, lag in hours) of room air or of the load."""
    network = ThermalNetwork(rooms=1, boundaries=1)
    air = network.node(125.0 * 1.2 * 1006.0)
    inside, outside = network.chain(layers=[Layer(0.2, **CONCRETE)], area_m2=150.0, cells=cells)
    network.join(air, inside, 150.0 * 3.0)
    network.face(outside, 0, 150.0 * 20.0)
    network.face(air, 0, changes * 125.0 / 3600.0 * 1.2 * 1006.0)
    stepper = ThermalStepper(network, step_s)
    state = np.zeros(len(network.capacity_j_k))
    count = round(86400 / step_s)
    set_point = np.array([0.0]) if held else None
    series = []
    for k in range(12 * count):
        boundary = np.array([math.sin(2 * math.pi * (k + 0.5) / count)])
        result = stepper.step(state, boundary_c=boundary, source_w=np.zeros(len(state)), set_point_c=set_point)
        state = result.after_c
        if k >= 11 * count:
            series.append(-result.holder_w[0] if held else result.middle_c[0])
    phase = np.exp(-2j * math.pi * (np.arange(count) + 0.5) / count)
    answer = 2j * np.mean(np.array(series) * phase)
    return abs(answer), (-math.degrees(np.angle(answer)) / 15.0) % 24.0


@pytest.mark.published
@pytest.mark.parametrize(
    ("changes", "amplitude", "lag", "load"), [(0.0, 0.29824, 6.959, 116.45), (0.5, 0.28343, 6.239, 116.53)]
)
def test_periodic_zone(changes: float, amplitude: float, lag: float, load: float) -> None:
    # 5 m cube of 200 mm concrete (1.4/2300/880), h_i 3, h_e 20: exact by ISO 13786 matrices (computed)
    got, shift = cube(300.0, 20, changes, held=False)
    assert_close(got, amplitude, rel=0.003, why="five-minute steps of a second-order scheme")
    assert_close(shift, lag, abs=0.02, why="five-minute steps")
    assert_close(cube(300.0, 20, changes, held=True)[0], load, rel=0.003, why="five-minute steps")
    assert_close(cube(3600.0, 20, changes, held=False)[0], amplitude, rel=0.02, why="hourly steps")


@pytest.mark.invariant
def test_holders_stop_at_their_limits_and_heat_is_conserved() -> None:
    network = ThermalNetwork(rooms=2, boundaries=1)
    one, two = network.node(1e5), network.node(1e5)
    network.join(one, two, 30.0)
    for room in (one, two):
        network.face(room, 0, 50.0)
    stepper = ThermalStepper(network, 600.0)
    state = np.array([15.0, 15.0])
    for _ in range(500):
        before = state
        result = stepper.step(
            state,
            boundary_c=np.array([-10.0]),
            source_w=np.zeros(2),
            set_point_c=np.array([20.0, np.nan]),
            most_w=np.array([1200.0, 0.0]),
        )
        state = result.after_c
        lost = 50.0 * (result.middle_c + 10.0).sum() * 600.0
        stored = 1e5 * (state - before).sum()
        assert_close(stored + lost, result.holder_w.sum() * 600.0, rel=1e-9, abs=1e-4, why="rounding")
    assert_close(result.holder_w, [1200.0, 0.0], abs=1e-9, why="1500 + W are needed, 1200 are there")
    steady = np.linalg.solve([[80.0, -30.0], [-30.0, 80.0]], [1200.0 - 500.0, -500.0])
    assert_close(state, steady, abs=1e-3, why="steady after 83 hours")


@pytest.mark.analytic
def test_a_holder_let_go_too_early_is_held_again() -> None:
    """Two rooms, 1 W/K between them and to outdoors at 0 °C, 8 W of gains in the second. Held at 20 and 10 °C the first
    would take 30 W of its 28, the second give off 8 W; but free the second stands at (8 + 20)/2 = 14 °C, and the first
    then needs 2 x 20 - 14 = 26 W."""
    matrix, aim = np.array([[2.0, -1.0], [-1.0, 2.0]]), np.array([20.0, 10.0])
    air, given = _held(matrix, np.array([0.0, 8.0]), aim, aim, np.array([28.0, 28.0]), np.zeros(2))
    assert_close(air, [20.0, 14.0], rel=1e-12, why="by hand")
    assert_close(given, [26.0, 0.0], rel=1e-12, abs=1e-12, why="by hand")
    air, given = _held(matrix, np.array([0.0, -8.0]), -aim, -aim, np.zeros(2), np.array([-28.0, -28.0]))
    assert_close((air, given), ([-20.0, -14.0], [-26.0, 0.0]), rel=1e-12, abs=1e-12, why="the same, cooled")


@pytest.mark.analytic
@pytest.mark.parametrize("seed", range(30))
def test_holders_stand_where_all_sets_of_them_say(seed: int) -> None:
    """Each of four rooms held, at its most or at its least: of 81 sets one alone keeps every limit, found by trying all."""
    dice, count = np.random.default_rng(seed), 4
    matrix = -dice.uniform(0.0, 30.0, (count, count))
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, dice.uniform(0.1, 20.0, count) - matrix.sum(axis=1))
    aim, right = dice.uniform(10.0, 24.0, count), dice.uniform(-100.0, 500.0, count)
    most, least = dice.uniform(0.0, 400.0, count), -dice.uniform(0.0, 400.0, count)
    kept = []
    for states in itertools.product((0, 1, -1), repeat=count):
        is_held = np.array(states) == 0
        given = np.where(np.array(states) > 0, most, least)
        whole = np.where(is_held[:, None], np.eye(count), matrix)
        air = np.linalg.solve(whole, np.where(is_held, aim, right + given))
        needs = np.where(is_held, matrix @ air - right, given)
        fits = np.where(is_held, (least <= needs) & (needs <= most), (air - aim) * np.array(states) <= 0.0)
        if fits.all():
            kept.append((air, needs))
    assert len(kept) == 1
    air, given = _held(matrix, right, aim, aim, most, least)
    assert_close(air, kept[0][0], rel=1e-9, why="rounding")
    assert_close(given, kept[0][1], rel=1e-9, abs=1e-7, why="rounding")


@pytest.mark.invariant
def test_doubling_the_cells_moves_little_and_splitting_a_layer_nothing() -> None:
    coarse, fine = cube(600.0, 10, 0.5, held=False)[0], cube(600.0, 20, 0.5, held=False)[0]
    assert_close(coarse, fine, rel=0.005, why="cells of 20 mm against 10 mm")
    one = ThermalNetwork(rooms=0, boundaries=1)
    two = ThermalNetwork(rooms=0, boundaries=1)
    one.chain(layers=[Layer(0.2, **CONCRETE)], area_m2=1.0, cells=8)
    two.chain(layers=[Layer(0.1, **CONCRETE), Layer(0.1, **CONCRETE)], area_m2=1.0, cells=4)
    assert_close(one.capacity_j_k, two.capacity_j_k, rel=1e-12, why="the same cells")
    assert_close([g for *_, g in one.edges], [g for *_, g in two.edges], rel=1e-9, why="the same cells")
