"""Doors, wind, surfaces, glass and people against published and worked values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from inshell.physics.air import density_kg_m3
from inshell.physics.glass import DIFFUSE_RATIO, pane_transmittance, shgc_angle_ratio
from inshell.physics.openings import balanced_door_flow_m3_s, door_mass_flows_kg_s, horizontal_exchange_m3_s
from inshell.physics.people import basal_rate_mj_day, carbon_dioxide_l_s
from inshell.physics.surfaces import convection_w_m2k, radiant_panel_w_m2, sky_temperature_c, swinbank_sky_c
from inshell.physics.wind import wall_pressure_coefficient, wind_at_height_m_s
from tests.evidence import CFM, assert_close

PRINTED = "half a unit of the last printed digit"
WARM, COOL = float(density_kg_m3(temperature_c=21.0)), float(density_kg_m3(temperature_c=20.0))


@pytest.mark.published
def test_open_door_without_net_flow() -> None:
    # Brown and Solvason 1962, 2.0 x 0.9 m, warm side 21 °C, Cd .60, 0.5 1 2 3 5 K; m3/s, cfm and W computed
    dt = np.array([0.5, 1.0, 2.0, 3.0, 5.0])
    flow = balanced_door_flow_m3_s(width_m=0.9, height_m=2.0, difference_k=dt, mean_k=294.15 - dt / 2, discharge=0.6)
    assert_close(flow, [0.0658, 0.0930, 0.1317, 0.1614, 0.2088], abs=6e-5, why=PRINTED)
    assert_close(flow / CFM, [139, 197, 279, 342, 442], abs=0.7, why=PRINTED)
    heat = density_kg_m3(temperature_c=21.0 - dt / 2) * 1006.0 * flow * dt
    assert_close(heat, [40, 113, 319, 588, 1271], abs=1.0, why="watts are printed whole")


@pytest.mark.published
def test_open_door_at_its_neutral_plane_and_with_net_flow() -> None:
    # Cd .78, 1 K: .14539 kg/s each way, zn .9994 m; net .05 kg/s: pb -.03552 Pa, .17109 / .12109, zn .8847 m
    def flows(pressure: float) -> tuple[float, float]:
        one, two = door_mass_flows_kg_s(
            sill_pressure_pa=pressure,
            density_1_kg_m3=WARM,
            density_2_kg_m3=COOL,
            width_m=0.9,
            height_m=2.0,
            discharge=0.78,
        )
        return float(one), float(two)

    for net, expected, zn in ((0.0, (0.14539, 0.14539), 0.9994), (0.05, (0.17109, 0.12109), 0.8847)):
        pressure = brentq(lambda p, n=net: flows(p)[0] - flows(p)[1] - n, -1.0, 1.0, xtol=1e-13)
        assert_close(flows(pressure), expected, abs=2e-5, why="densities carried to five digits")
        assert_close(-pressure / ((COOL - WARM) * 9.80665), zn, abs=2e-4, why="densities carried to five digits")
        if net:
            assert_close(pressure, -0.03552, abs=1e-5, why=PRINTED)


@pytest.mark.analytic
@pytest.mark.parametrize("pressure", [-0.3, -0.08, -0.04, -0.01, 0.0, 0.05, 0.4])
@pytest.mark.parametrize(("one", "two"), [(1.18, 1.22), (1.22, 1.18), (1.2, 1.2)])
def test_open_door_equals_its_integral_over_the_height(pressure: float, one: float, two: float) -> None:
    k = (two - one) * 9.80665
    crossing = [-pressure / k] if k and 0 < -pressure / k < 2.0 else None

    def speed(z: float, sign: float, rho: float) -> float:
        return float(np.sqrt(2 * rho * max(sign * (pressure + k * z), 0.0)))

    want = [0.6 * 0.9 * quad(speed, 0, 2.0, args=(s, r), points=crossing)[0] for s, r in ((1.0, one), (-1.0, two))]
    got = door_mass_flows_kg_s(
        sill_pressure_pa=pressure, density_1_kg_m3=one, density_2_kg_m3=two, width_m=0.9, height_m=2.0, discharge=0.6
    )
    assert_close([float(g) for g in got], want, rel=1e-6, abs=1e-9, why="tolerance of scipy's quadrature")


@pytest.mark.analytic
def test_horizontal_opening_by_hand() -> None:
    # D 1 m, 1.22 above 1.20: .055 sqrt(9.80665 x .02 / 1.21) = .02214
    got = horizontal_exchange_m3_s(diameter_m=1.0, density_above_kg_m3=1.22, density_below_kg_m3=1.20)
    assert_close(float(got), 0.02214, abs=6e-6, why="four digits by hand")


@pytest.mark.published
def test_wind_over_terrain() -> None:
    # 5 m/s at the station: 3 m 4.224 / 2.750 / 1.507, 5 m 4.538 / 3.077 / 1.784 (ASHRAE, computed)
    got = [
        [float(wind_at_height_m_s(station_m_s=5.0, height_m=h, terrain=t)) for t in ("open", "suburban", "urban")]
        for h in (3, 5)
    ]
    assert_close(got, [[4.224, 2.750, 1.507], [4.538, 3.077, 1.784]], abs=6e-4, why=PRINTED)


@pytest.mark.published
def test_wall_pressure_coefficients() -> None:
    # Swami and Chandra 1987, square plan, every 30 degrees; and leeward -.45 at a side ratio of 2 (from memory)
    got = wall_pressure_coefficient(angle_deg=np.arange(0, 181, 30))
    assert_close(got, [0.603, 0.469, 0.119, -0.443, -0.681, -0.390, -0.364], abs=6e-4, why=PRINTED)
    assert_close(
        float(wall_pressure_coefficient(angle_deg=180.0, side_ratio=2.0)), -0.45, abs=0.06, why="read off a chart"
    )
    left, right = (float(wall_pressure_coefficient(angle_deg=a, side_ratio=2.0)) for a in (45.0, 315.0))
    assert left == right


@pytest.mark.published
def test_convection_of_a_room() -> None:
    # Walton 1983, 5 K: upright 2.240, level with buoyancy 2.599 … (up 9.482/(7.238 - 1)), against it 1.299
    got = [
        float(convection_w_m2k(difference_k=5.0, tilt_deg=t, heat_flows_up=up))
        for t, up in ((90.0, True), (0.0, True), (0.0, False))
    ]
    assert_close(got, [2.240, 2.599, 1.299], abs=6e-4, why=PRINTED)


@pytest.mark.published
def test_clear_skies() -> None:
    # air 20 °C, dew point 10 °C: Berdahl–Martin 1.84, Swinbank 3.91
    assert_close(float(sky_temperature_c(air_c=20.0, dew_point_c=10.0)), 1.84, abs=6e-3, why=PRINTED)
    assert_close(float(swinbank_sky_c(air_c=20.0)), 3.91, abs=6e-3, why=PRINTED)
    # the fits and the average-sky rule T - 11 part by about 18 K at -20 °C
    assert_close(-20.0 - 11.0 - float(swinbank_sky_c(air_c=-20.0)), 18.0, abs=2.5, why="the reference says about 18 K")


@pytest.mark.published
def test_radiant_floor() -> None:
    # ASHRAE panel formula (from memory), 29 / 20 / 20 °C: 47.48 + 37.88 W/m2
    got = radiant_panel_w_m2(surface_c=29.0, enclosure_c=20.0, air_c=20.0)
    assert_close([float(q) for q in got], [47.48, 37.88], abs=6e-3, why=PRINTED)


@pytest.mark.published
def test_clear_glass_at_an_angle() -> None:
    # n 1.526, KL .0622, 0 40 60 80°: single .8614 .8474 .7792 .4091; double .7466 .7283 .6474 .2422
    angles = np.array([0, 40, 60, 80.0])
    for panes, expected in ((1, [0.8614, 0.8474, 0.7792, 0.4091]), (2, [0.7466, 0.7283, 0.6474, 0.2422])):
        got = pane_transmittance(angle_deg=angles, panes=panes, index=1.526, extinction=0.0622)
        assert_close(got, expected, abs=1e-4, why="one unit of the last printed digit")


@pytest.mark.published
def test_solar_heat_gain_at_an_angle() -> None:
    # ASHRAE clear double 3 mm glass (from memory): .76 .74 .71 .64 .50 .26, diffuse .66
    got = 0.76 * shgc_angle_ratio(angle_deg=np.array([0, 40, 50, 60, 70, 80]))
    assert_close(got, [0.76, 0.74, 0.71, 0.64, 0.50, 0.26], abs=1e-9, why="table rows")
    assert_close(0.76 * DIFFUSE_RATIO, 0.66, abs=1e-9, why="table row")


@pytest.mark.published
def test_people_breathe_out() -> None:
    # Persily and de Jonge 2017: male 85 kg, BMR 7.73 -> .0037 at 1.0 met, .0056 at 1.5 (+-.0001)
    got = carbon_dioxide_l_s(basal_mj_day=7.73, met=np.array([1.0, 1.5]))
    assert_close(got, [0.0037, 0.0056], abs=1e-4, why="printed to four decimals")
    # couple asleep, 30–40 years, .95 met, 22 °C: .006906 L/s
    couple = sum(
        float(carbon_dioxide_l_s(basal_mj_day=basal_rate_mj_day(age=35, sex=s), met=0.95, room_c=22.0))
        for s in ("male", "female")
    )
    assert_close(couple, 0.006906, abs=6e-7, why=PRINTED)


@pytest.mark.published
def test_couple_asleep_at_steady_state() -> None:
    # .006906 L/s, outdoor 420 ppm: 5 / 7.5 / 10 / 15 L/s -> 1801 / 1341 / 1111 / 880 ppm
    got = 420 + 0.006906 / np.array([5, 7.5, 10, 15]) * 1e6
    assert_close(got, [1801, 1341, 1111, 880], abs=0.6, why=PRINTED)
