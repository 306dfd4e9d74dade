"""Air: density, viscosity, saturation, leaks, holes, stack."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from inshell.physics.air import (
    density_kg_m3,
    pressure_at_altitude_pa,
    pressurisation_density_kg_m3,
    saturation_pressure_pa,
    viscosity_pa_s,
    volumetric_heat_capacity_j_m3k,
)
from inshell.physics.fan import curve_from_points, default_curve, flow_at_m3_s
from inshell.physics.floor import floor_excess_k, floor_flux_w_m2
from inshell.physics.flow import (
    coefficient_m3_s_pan,
    hole_flow_m3_s,
    leakage_area_m2,
    mean_leak_flow,
    power_law_flow_m3_s,
    stack_gradient_pa_m,
)
from tests.evidence import CFM, assert_close

PRINTED = "half a unit of the last printed digit"


@pytest.mark.published
def test_density_over_temperature() -> None:
    # air at 101 325 Pa: -10, 0, 20, 21, 25 °C (handbook values, computed and cross-checked)
    got = density_kg_m3(temperature_c=np.array([-10.0, 0.0, 20.0, 21.0, 25.0]))
    assert_close(got, [1.3414, 1.2923, 1.2041, 1.2000, 1.1839], abs=6e-5, why=PRINTED)


@pytest.mark.analytic
def test_vapour_makes_air_lighter() -> None:
    # Dalton and the gas laws of both gases, added by hand: pd/(Rd T) + pv/(Rv T), Rv = 461.52
    dry = (101325 - 2337) / (287.055 * 293.15) + 2337 / (461.52 * 293.15)
    got = density_kg_m3(temperature_c=20.0, vapour_pa=2337.0)
    assert_close(float(got), dry, rel=2e-4, why="the ratio .621945 against R of both gases")


@pytest.mark.published
def test_density_of_the_test_standard_over_altitude() -> None:
    # ASTM E779 formula (from memory), 20 °C at 0, 500, 1000, 1500, 2000 m
    got = pressurisation_density_kg_m3(temperature_c=20.0, elevation_m=np.array([0, 500, 1000, 1500, 2000]))
    assert_close(got, [1.2041, 1.1355, 1.0702, 1.0079, 0.9486], abs=6e-5, why=PRINTED)


@pytest.mark.published
def test_viscosity() -> None:
    # ASTM E779 formula (from memory), -10, 0, 20 °C
    got = viscosity_pa_s(temperature_c=np.array([-10.0, 0.0, 20.0])) * 1e5
    assert_close(got, [1.6654, 1.7153, 1.8127], abs=6e-5, why=PRINTED)


@pytest.mark.published
def test_saturation_pressure() -> None:
    # ISO 13788 (from memory) at -20 -10 -5 0 5 10 15 20 25 °C
    got = saturation_pressure_pa(temperature_c=np.array([-20, -10, -5, 0, 5, 10, 15, 20, 25]))
    want = [102.74, 259.33, 401.18, 610.50, 871.86, 1227.31, 1704.41, 2336.95, 3165.92]
    assert_close(got, want, abs=6e-3, why=PRINTED)


@pytest.mark.published
def test_standard_atmosphere() -> None:
    # ISO 2533: 0 m 101325, 1000 m 89874.6, 2000 m 79495.2 Pa (from memory)
    got = pressure_at_altitude_pa(elevation_m=np.array([0.0, 1000.0, 2000.0]))
    assert_close(got, [101325.0, 89874.6, 79495.2], rel=2e-5, why="the exponent is carried to five digits")


@pytest.mark.analytic
def test_power_law_and_its_coefficient_undo_each_other() -> None:
    c = coefficient_m3_s_pan(flow_m3_s=0.1, pressure_pa=50.0, exponent=0.62)
    back = power_law_flow_m3_s(coefficient_m3_s_pan=c, exponent=0.62, pressure_pa=-50.0)
    assert_close(float(back), -0.1, rel=1e-12, why="algebra")


@pytest.mark.published
def test_one_point_flow_ratios() -> None:
    # (50/P)^0.65 at 15 … 60 Pa, computed
    pressures = np.array([15, 20, 25, 30, 35, 40, 45, 55, 60.0])
    want = [2.1871, 1.8141, 1.5692, 1.3938, 1.2609, 1.1561, 1.0709, 0.9399, 0.8882]
    ratio = power_law_flow_m3_s(coefficient_m3_s_pan=1.0, exponent=0.65, pressure_pa=50.0) / power_law_flow_m3_s(
        coefficient_m3_s_pan=1.0, exponent=0.65, pressure_pa=pressures
    )
    assert_close(ratio, want, abs=6e-5, why=PRINTED)


@pytest.mark.published
@pytest.mark.parametrize(("rho", "ela", "eqla"), [(1.2, 0.054863, 0.10302), (1.2041, 0.054957, 0.10320)])
def test_leakage_areas_per_cfm50(rho: float, ela: float, eqla: float) -> None:
    # ELA at 4 Pa with Cd 1, EqLA at 10 Pa with Cd .611, n .65, square inches per cfm50; computed
    c = coefficient_m3_s_pan(flow_m3_s=CFM, pressure_pa=50.0, exponent=0.65)
    got = [
        float(leakage_area_m2(coefficient_m3_s_pan=c, exponent=0.65, pressure_pa=p, discharge=cd, density_kg_m3=rho))
        / 0.0254**2
        for p, cd in ((4.0, 1.0), (10.0, 0.611))
    ]
    assert_close(got, [ela, eqla], rel=6e-5, why=PRINTED)


@pytest.mark.published
def test_flow_through_a_square_inch() -> None:
    # 7.47 cfm per square inch at 50 Pa; 1.057 sqrt(Pa) cfm, Cd .6 at 1.2041 kg/m3; computed
    inch2 = 0.0254**2
    assert_close(float(hole_flow_m3_s(area_m2=inch2, pressure_pa=50.0)) / CFM, 7.47, abs=0.006, why=PRINTED)
    assert_close(float(hole_flow_m3_s(area_m2=inch2, pressure_pa=1.0)) / CFM, 1.057, abs=6e-4, why=PRINTED)


@pytest.mark.published
def test_door_gap_areas_at_3_pa() -> None:
    # in2 for 30 / 50 / 80 / 100 cfm at 3 Pa by cfm = 1.07 in2 sqrt(Pa) (Cd .61 at 1.2 kg/m3; from memory)
    areas = np.array([16.2, 27.0, 43.2, 54.0]) * 0.0254**2
    got = hole_flow_m3_s(area_m2=areas, pressure_pa=3.0, discharge=0.61, density_kg_m3=1.2) / CFM
    assert_close(got, [30, 50, 80, 100], rel=0.008, why="the trade's 1.07 stands for 1.0765")


@pytest.mark.published
@pytest.mark.parametrize(
    ("inside", "outside", "per_metre"), [(20, 5, 0.637), (20, 0, 0.865), (20, -10, 1.346), (21, -20, 1.906)]
)
def test_stack_per_metre(inside: float, outside: float, per_metre: float) -> None:
    # computed with g 9.80665; the handbook rule of .04 Pa/(m.K) is near
    got = stack_gradient_pa_m(
        inside_kg_m3=float(density_kg_m3(temperature_c=inside)),
        outside_kg_m3=float(density_kg_m3(temperature_c=outside)),
    )
    assert_close(got, per_metre, abs=6e-4, why=PRINTED)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("floor", "gradient", "low", "high"), [(-6.4, 1.346, 0, 5), (1, 1, 0, 3), (-2, 0.5, 1, 2), (-3, 0, 0, 2)]
)
def test_mean_leak_flow_equals_numerical_integration(floor: float, gradient: float, low: float, high: float) -> None:
    def local(z: float) -> float:
        p = floor + gradient * z
        return math.copysign(abs(p) ** 0.65, p)

    zero = -floor / gradient if gradient else 0.0
    points = [zero] if low < zero < high else None
    want = quad(local, low, high, points=points)[0] / (high - low)
    got = mean_leak_flow(
        floor_pressure_pa=floor, gradient_pa_m=gradient, low_m=np.array([low]), high_m=np.array([high]), exponent=0.65
    )
    assert_close(float(got[0]), want, rel=1e-6, abs=1e-9, why="tolerance of scipy's quadrature")


@pytest.mark.published
def test_floor_output() -> None:
    # EN 1264-2: q = 8.92 (tF - ti)^1.1 at 1 2 3 5 7 9 15 K
    got = floor_flux_w_m2(excess_k=np.array([1, 2, 3, 5, 7, 9, 15]))
    assert_close(got, [8.92, 19.12, 29.87, 52.39, 75.85, 100.01, 175.41], abs=6e-3, why=PRINTED)
    assert_close(floor_excess_k(flux_w_m2=got), [1, 2, 3, 5, 7, 9, 15], rel=1e-12, why="inverse of the formula")


@pytest.mark.published
def test_outdoor_air_constant() -> None:
    # EN 12831-1: .34 Wh/m3K at sea level; at 1600 m the pressure ratio .8243 scales it
    assert_close(float(volumetric_heat_capacity_j_m3k(pressure_pa=101325.0)), 1224.0, abs=1e-9, why="definition")
    high = float(volumetric_heat_capacity_j_m3k(pressure_pa=pressure_at_altitude_pa(elevation_m=1600.0)))
    assert_close(high / 1224.0, 0.8243, abs=1e-4, why="standard atmosphere at 1600 m, four digits")


@pytest.mark.analytic
def test_default_fan_curve_passes_its_rated_and_its_last_point() -> None:
    curve = default_curve(rated_flow_m3_s=0.04, rated_pressure_pa=25.0, maximum_pressure_pa=125.0)
    got = flow_at_m3_s(curve=curve, pressure_pa=np.array([25.0, 125.0, 400.0]))
    assert_close(got, [0.04, 0.0, 0.0], abs=1e-12, why="points of the curve")
    assert_close(
        float(flow_at_m3_s(curve=curve, pressure_pa=0.0)), 0.04 * math.sqrt(1.25), rel=1e-9, why="parabola by hand"
    )


@pytest.mark.invariant
def test_fan_flow_never_rises_with_pressure() -> None:
    curve = default_curve(rated_flow_m3_s=0.04, rated_pressure_pa=60.0, maximum_pressure_pa=200.0)
    flows = flow_at_m3_s(curve=curve, pressure_pa=np.linspace(0.0, 250.0, 300))
    assert np.all(np.diff(flows) <= 1e-15)


@pytest.mark.invariant
def test_a_rising_fan_curve_is_refused() -> None:
    with pytest.raises(ValueError, match="rises"):
        curve_from_points(pressure_pa=np.array([0.0, 50.0]), flow_m3_s=np.array([0.02, 0.03]))
