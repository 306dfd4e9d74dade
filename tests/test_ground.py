"""Slabs, ground and mains water against ISO 13370, Kusuda–Achenbach and published tables."""

from __future__ import annotations

import numpy as np
import pytest

from inshell.physics.ground import (
    edge_insulation_psi_w_mk,
    equivalent_thickness_m,
    periodic_coefficients_w_k,
    slab_u_w_m2k,
    undisturbed_ground_c,
)
from inshell.sources import table
from tests.evidence import assert_close

PRINTED = "half a unit of the last printed digit"
RATIOS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)


@pytest.mark.published
@pytest.mark.parametrize(
    ("floor_r", "expected"),
    [
        (0.0, (0.219, 0.370, 0.495, 0.603, 0.698, 0.783, 0.929, 1.051)),
        (2.5, (0.122, 0.176, 0.208, 0.228, 0.242, 0.255, 0.272, 0.284)),
    ],
)
def test_slab_u_over_perimeter_and_area(floor_r: float, expected: tuple[float, ...]) -> None:
    # ISO 13370 formulas (from memory), lambda 1.5, w 0.3; table computed and cross-checked.
    dt = equivalent_thickness_m(wall_thickness_m=0.3, ground_w_mk=1.5, floor_r_m2k_w=floor_r)
    got = [slab_u_w_m2k(area_m2=100.0, perimeter_m=100.0 * r, dt_m=dt, ground_w_mk=1.5) for r in RATIOS]
    assert_close(got, expected, abs=5e-4, why=PRINTED)


@pytest.mark.invariant
def test_both_formulas_of_the_slab_meet_near_their_seam() -> None:
    # the two branches are fits of one solution; where dt = B' they differ by about 1 %
    for b in (2.0, 5.0, 10.0):
        low = slab_u_w_m2k(area_m2=b * b, perimeter_m=2 * b, dt_m=b * 0.9999, ground_w_mk=2.0)
        high = slab_u_w_m2k(area_m2=b * b, perimeter_m=2 * b, dt_m=b * 1.0001, ground_w_mk=2.0)
        assert_close(low, high, rel=0.02, why="two fits of one curve")


@pytest.mark.analytic
@pytest.mark.parametrize(("kind", "depth"), [("vertical", 0.6), ("horizontal", 1.2)])
def test_edge_insulation_saves_as_the_formula_by_hand(kind: str, depth: float) -> None:
    # -(1.5/pi) [ln(1.2/.615 + 1) - ln(1.2/3.115 + 1)] = -(.47746)(1.08233 - .32596) = -.36114, by hand
    got = edge_insulation_psi_w_mk(
        kind=kind,  # type: ignore[arg-type]
        depth_m=depth,
        insulation_m=0.05,
        insulation_r_m2k_w=1.7,
        dt_m=0.615,
        ground_w_mk=1.5,
    )
    assert_close(got, -0.36114, abs=2e-5, why="five digits carried by hand")


@pytest.mark.invariant
def test_edge_insulation_no_better_than_soil_saves_nothing() -> None:
    got = edge_insulation_psi_w_mk(
        kind="vertical", depth_m=1.0, insulation_m=0.3, insulation_r_m2k_w=0.1, dt_m=1.0, ground_w_mk=2.0
    )
    assert got == 0.0


@pytest.mark.published
@pytest.mark.parametrize(
    ("depth", "expected"), [(1.0, (7.499, 7.355, 16.382, 16.607)), (2.0, (10.658, 8.103, 13.241, 15.886))]
)
def test_undisturbed_ground(depth: float, expected: tuple[float, ...]) -> None:
    # Kusuda and Achenbach 1965: Tm 12, As 10, t0 35, a .0432 m2/day; computed and cross-checked.
    got = undisturbed_ground_c(
        depth_m=depth,
        day=np.array([15, 105, 196, 288]),
        mean_c=12.0,
        amplitude_k=10.0,
        coldest_day=35.0,
        diffusivity_m2_day=0.0432,
    )
    assert_close(got, expected, abs=6e-4, why=PRINTED)


@pytest.mark.analytic
def test_annual_swing_by_hand() -> None:
    # A 100, P 40, lambda 1.5, dt .615, delta 2.2: 243.90 sqrt(2/21.951) = 73.62; 22.2 ln 4.5772 = 33.77
    inside, outside = periodic_coefficients_w_k(
        area_m2=100.0, perimeter_m=40.0, dt_m=0.615, ground_w_mk=1.5, penetration_m=2.2
    )
    assert_close((inside, outside), (73.62, 33.77), abs=0.01, why="four digits carried by hand")


@pytest.mark.published
def test_f_factor_rows_are_the_code_table() -> None:
    # Washington Administrative Code 51-11C, Btu/h.°F.ft
    row = table("design")["f_factor"]
    names = ("unheated-none", "unheated-r10-2ft-vertical", "unheated-r10-4ft-vertical", "unheated-r10-full")
    assert [row[n] for n in names] == [0.73, 0.54, 0.48, 0.36]
    heated = ("heated-none", *(f"heated-r{r}-full" for r in (5, 10, 15, 20, 30)))
    assert [row[n] for n in heated] == [0.84, 0.74, 0.55, 0.44, 0.39, 0.32]


@pytest.mark.invariant
def test_a_slab_without_perimeter_is_refused() -> None:
    with pytest.raises(ValueError, match="perimeter"):
        slab_u_w_m2k(area_m2=10.0, perimeter_m=0.0, dt_m=1.0, ground_w_mk=1.5)
