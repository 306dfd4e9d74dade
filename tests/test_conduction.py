"""U-values and periodic response against ISO 6946 and ISO 13786 values."""

from __future__ import annotations

import numpy as np
import pytest

from inshell.physics.conduction import Layer, periodic_response, u_value
from tests.evidence import assert_close

PRINTED = "half a unit of the last printed digit"


@pytest.mark.published
def test_stud_wall_has_the_mean_of_both_limits() -> None:
    # ISO 6946 bridged wall: 15 % timber .13, wool 140 mm .035, board 12.5 .25, OSB 9 .13, cavity .18, brick 102 .77;
    # computed from the standard's formula and cross-checked.
    wall = [
        Layer(0.0125, 0.25),
        Layer(0.140, 0.035, framing_share=0.15, framing_conductivity_w_mk=0.13),
        Layer(0.009, 0.13),
        Layer(0.025, 1.0, resistance_m2k_w=0.18),
        Layer(0.102, 0.77),
    ]
    result = u_value(layers=wall, rsi_m2k_w=0.13, rse_m2k_w=0.04)
    assert_close(result.upper_r_m2k_w, 3.6487, abs=5e-5, why=PRINTED)
    assert_close(result.lower_r_m2k_w, 3.4443, abs=5e-5, why=PRINTED)
    assert_close(result.u_w_m2k, 0.2820, abs=5e-5, why=PRINTED)


@pytest.mark.published
@pytest.mark.parametrize(("share", "u", "r_ip"), [(0.0, 0.2328, 24.4), (0.05, 0.2550, 22.3), (0.10, 0.2768, 20.5)])
def test_panel_with_lumber(share: float, u: float, r_ip: float) -> None:
    # Panel: board 12.7 (.16), OSB 11.1 (.12), EPS 139.7 (.036), OSB 11.1, films .12/.03, softwood .12 in the EPS only;
    # ISO 6946 mean of limits, computed and cross-checked.
    panel = [
        Layer(0.0127, 0.16),
        Layer(0.0111, 0.12),
        Layer(0.1397, 0.036, framing_share=share, framing_conductivity_w_mk=0.12),
        Layer(0.0111, 0.12),
    ]
    result = u_value(layers=panel, rsi_m2k_w=0.12, rse_m2k_w=0.03)
    assert_close(result.u_w_m2k, u, abs=5e-5, why=PRINTED)
    assert_close(5.678263 / result.u_w_m2k, r_ip, abs=0.05, why=PRINTED)


@pytest.mark.published
@pytest.mark.parametrize(("inches", "r_ip"), [(4.5, 14), (6.5, 21), (8.25, 28), (10.25, 35), (12.25, 42)])
def test_published_panel_r_values(inches: float, r_ip: float) -> None:
    # Published calculated R of EPS panels without films (panel trade association), EPS .040 and 11 mm skins .12.
    foam = inches * 0.0254 - 2 * 0.011
    r = 2 * 0.011 / 0.12 + foam / 0.040
    result = u_value(
        layers=[Layer(0.011, 0.12), Layer(foam, 0.040), Layer(0.011, 0.12)], rsi_m2k_w=0.0, rse_m2k_w=1e-12
    )
    assert_close(1.0 / result.u_w_m2k, r, rel=1e-9, why="series of resistances by hand")
    assert_close(r * 5.678263, r_ip, abs=1.0, why="the published values are whole numbers and k is only about .040")


CONCRETE = Layer(0.2, 1.8, 2400, 1000)
COATED = [Layer(0.005, 1.0, 1200, 1500), Layer(0.1, 0.04, 30, 1400), CONCRETE]
BRICK = [Layer(0.22, 0.77, 1700, 1000), Layer(0.013, 0.57, 1300, 1000)]


@pytest.mark.published
@pytest.mark.parametrize(
    ("layers", "films", "u", "y12", "f", "lag", "y11"),
    [
        ([CONCRETE], (0.0, 0.0), 9.000, 8.324, 0.925, 2.40, 15.79),
        ([CONCRETE], (0.13, 0.04), 3.557, 1.827, 0.514, 5.68, 5.704),
        (COATED, (0.13, 0.04), 0.3589, 0.0606, 0.1687, 8.11, 5.942),
        (BRICK, (0.13, 0.04), 2.090, 0.875, 0.419, 7.44, 4.485),
    ],
)
def test_periodic_response_of_walls(
    layers: list[Layer], films: tuple[float, float], u: float, y12: float, f: float, lag: float, y11: float
) -> None:
    # ISO 13786 matrix method, 24 h; values computed from the standard's formulas and cross-checked.
    result = periodic_response(layers=layers, rsi_m2k_w=films[0], rse_m2k_w=films[1])
    assert_close(result.transmittance_w_m2k / result.decrement, u, rel=2e-4, why=PRINTED)
    assert_close(result.transmittance_w_m2k, y12, rel=1e-3, why=PRINTED)
    assert_close(result.decrement, f, rel=1.2e-3, why=PRINTED)
    assert_close(result.time_shift_h, lag, abs=5.1e-3, why=PRINTED)
    assert_close(result.inside_admittance_w_m2k, y11, rel=4e-4, why=PRINTED)


@pytest.mark.analytic
def test_periodic_response_agrees_with_a_finely_cut_wall() -> None:
    # 400 resistances and capacities solved as a complex linear system: an independent method.
    n, omega = 400, 2 * np.pi / 86400
    dx = 0.2 / n
    g, c = 1.8 / dx, 2400 * 1000 * dx
    matrix = np.zeros((n, n), dtype=complex)
    inside = np.zeros(n, dtype=complex)
    g_end = 1.0 / (0.5 / g + 0.13), 1.0 / (0.5 / g + 0.04)
    for k in range(n):
        left = g if k else g_end[0]
        right = g if k < n - 1 else g_end[1]
        matrix[k, k] = left + right + 1j * omega * c
        if k:
            matrix[k, k - 1] = -g
        if k < n - 1:
            matrix[k, k + 1] = -g
    inside[-1] = g_end[1]  # outdoors swings by 1 K, indoors is held
    flux = g_end[0] * np.linalg.solve(matrix, inside)[0]
    result = periodic_response(layers=[CONCRETE], rsi_m2k_w=0.13, rse_m2k_w=0.04)
    assert_close(abs(flux), result.transmittance_w_m2k, rel=1e-4, why="second-order cutting into 400 slices")


@pytest.mark.invariant
def test_splitting_a_layer_changes_nothing() -> None:
    whole = periodic_response(layers=COATED, rsi_m2k_w=0.13, rse_m2k_w=0.04)
    parts = [*COATED[:2], Layer(0.07, 1.8, 2400, 1000), Layer(0.13, 1.8, 2400, 1000)]
    split = periodic_response(layers=parts, rsi_m2k_w=0.13, rse_m2k_w=0.04)
    assert_close(split.decrement, whole.decrement, rel=1e-9, why="matrices of one material commute; rounding only")


@pytest.mark.invariant
def test_more_lumber_never_insulates_better() -> None:
    values = [
        u_value(layers=[Layer(0.14, 0.036, framing_share=s)], rsi_m2k_w=0.13, rse_m2k_w=0.04).u_w_m2k
        for s in (0.0, 0.05, 0.1, 0.3, 0.9)
    ]
    assert values == sorted(values)


@pytest.mark.invariant
def test_no_resistance_at_all_is_an_error() -> None:
    with pytest.raises((ValueError, ZeroDivisionError)):
        u_value(layers=[Layer(0.0, 1.0)], rsi_m2k_w=0.0, rse_m2k_w=0.0)
