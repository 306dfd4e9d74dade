"""Coils, heat pumps and what heads do to a room's air and moisture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import psychrolib
import pytest
from scipy.optimize import brentq

from inshell.network.compiled import Kernel, is_compiled, run
from inshell.network.reference import run_reference
from inshell.network.system import Coil, Control, Forcing, Sensor, System, Target, first_state
from inshell.network.thermal import ThermalNetwork
from inshell.physics.air import MOLAR_RATIO, density_kg_m3, vapour_from_adiabatic_wet_bulb_pa
from inshell.physics.coil import (
    apparatus_c,
    bypass_at_flow,
    coil_at_rating,
    enthalpy_j_kg,
    kept_with_fan_on,
    saturated_ratio,
    sensible_w,
)
from inshell.physics.heat_pump import frosted_w, run_share
from tests.evidence import CFM, assert_close
from tests.test_coupled import one_room, steady_forcing

BTU_H = 0.29307107


def fahrenheit(f: float) -> float:
    return (f - 32.0) / 1.8


def rated(cfm: float, btu_h: float, shr: float):
    t, wet = fahrenheit(80.0), fahrenheit(67.0)
    vapour = float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=t, wet_bulb_c=wet, pressure_pa=101325.0))
    ratio = MOLAR_RATIO * vapour / (101325.0 - vapour)
    air = cfm * CFM * float(density_kg_m3(temperature_c=t, vapour_pa=vapour)) / (1.0 + ratio)
    return coil_at_rating(entering_c=t, ratio=ratio, dry_air_kg_s=air, total_w=btu_h * BTU_H, sensible_share=shr)


@pytest.mark.published
@pytest.mark.parametrize(
    ("cfm", "btu_h", "shr", "leaving_f", "adp_f", "bypass", "litres_h"),
    [(300, 9000, 0.75, 58.82, 55.34, 0.1408, 0.939), (350, 12000, 0.72, 56.77, 54.09, 0.1029, 1.403)],
)
def test_a_coil_at_its_rating(
    cfm: float, btu_h: float, shr: float, leaving_f: float, adp_f: float, bypass: float, litres_h: float
) -> None:
    """Apparatus dew point and bypass factor of a coil at 80/67 °F (computed sheet, its saturation another form)."""
    point = rated(cfm, btu_h, shr)
    assert_close(point.leaving_c * 1.8 + 32.0, leaving_f, abs=0.01, why="sheet gives two digits")
    assert_close(point.adp_c * 1.8 + 32.0, adp_f, abs=0.03, why="saturation pressures of two forms differ by 0.1 %")
    assert_close(point.bypass, bypass, abs=0.001, why="as the dew point")
    assert_close(point.moisture_kg_s * 3600.0, litres_h, abs=0.001, why="sheet gives three digits")


@pytest.mark.published
def test_wet_bulb_and_enthalpy_agree_with_a_psychrometric_library() -> None:
    """ASHRAE Fundamentals 2017, chapter 1, as a reference library has it."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for t, wet in ((26.7, 19.4), (35.0, 24.0), (21.0, 14.0)):
        vapour = float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=t, wet_bulb_c=wet, pressure_pa=101325.0))
        ratio = MOLAR_RATIO * vapour / (101325.0 - vapour)
        assert_close(ratio, psychrolib.GetHumRatioFromTWetBulb(t, wet, 101325.0), rel=2e-3, why="saturation form")
        want = psychrolib.GetMoistAirEnthalpy(t, ratio)
        assert_close(enthalpy_j_kg(temperature_c=t, ratio=ratio), want, rel=1e-4, why="one formula")
    want = psychrolib.GetSatHumRatio(13.0, 101325.0)
    assert_close(saturated_ratio(temperature_c=13.0, pressure_pa=101325.0), want, rel=6e-3, why="enhancement factor")


@pytest.mark.analytic
@pytest.mark.parametrize("total", [500.0, 1500.0, 2500.0, 4000.0])
def test_the_dew_point_of_a_coil_follows_its_load(total: float) -> None:
    """The saturated enthalpy at the apparatus is what the heat balance asks, by root finding."""
    ratio, contact = 0.0112, 0.14
    want = float(enthalpy_j_kg(temperature_c=25.0, ratio=ratio)) - total / contact

    def over(t: float) -> float:
        w = float(saturated_ratio(temperature_c=t, pressure_pa=101325.0))
        return float(enthalpy_j_kg(temperature_c=t, ratio=w)) - want

    given = {"entering_c": 25.0, "ratio": ratio, "contact_kg_s": contact, "total_w": total, "pressure_pa": 101325.0}
    adp, wet = float(apparatus_c(**given)), brentq(over, -30.0, 25.0)
    dry = 25.0 - total / (contact * (1006.0 + 1860.0 * ratio))
    is_dry = saturated_ratio(temperature_c=dry, pressure_pa=101325.0) > ratio
    assert_close(adp, dry if is_dry else wet, abs=1e-6, why="Newton against brentq")
    if is_dry:
        assert_close(sensible_w(**given), total, rel=1e-12, why="a dry coil takes no water")
    else:
        assert float(sensible_w(**given)) < total


@pytest.mark.published
def test_cycling_frost_and_bypass_of_the_sheet() -> None:
    """Run share at Cd 0.25 (10 CFR 430 appendix M1, computed); frost default; a coil's surface holds (A0)."""
    shares = run_share(load_share=np.array([0.1, 0.3, 0.5, 0.75]))
    assert_close(shares, [0.1290, 0.3636, 0.5714, 0.8000], abs=5e-5, why="sheet gives four digits")
    assert_close(frosted_w(at_17_w=2000.0, at_47_w=3000.0), 0.9 * 2600.0, rel=1e-12, why="by hand")
    assert_close(
        bypass_at_flow(bypass=0.1408, rated_kg_s=0.3, dry_air_kg_s=0.15), 0.1408**2, rel=1e-12, why="exp(-A0/m)"
    )


@pytest.mark.invariant
def test_a_fan_that_never_stops_gives_moisture_back_at_low_run_time() -> None:
    """Published field finding in kind: latent removal vanishes at low run time and is whole at full run time."""
    kept = kept_with_fan_on(running=np.linspace(0.05, 1.0, 40))
    assert np.all(np.diff(kept) >= 0.0)
    assert kept[0] == 0.0
    assert kept[-1] > 0.999


def cooled(*, most: float = 3000.0, least: float = 0.0, always: bool = False, hours: int = 48, gain: float = 1500.0):
    """One room with a coil, a heat source and a source of vapour, held at 24 °C."""
    system = one_room(leak=0.01, fan=0.01)
    system = replace(system, coils=(Coil(0, 0.05, 0.14, fan_always=always),))
    source = np.zeros((hours, system.nodes))
    source[:, 0] = gain
    forcing = steady_forcing(
        system, hours, outdoor_c=30.0, source_w=source, vapour_kg_s=np.full((hours, 1), 1e-4),
        cool_at_c=np.full((hours, 1), 24.0),
    )  # fmt: skip
    forcing = replace(
        forcing, outdoor_vapour=np.full(hours, 0.014), coil_most_w=np.full((hours, 1), most),
        coil_least_w=np.full((hours, 1), least),
    )  # fmt: skip
    return system, forcing


@pytest.mark.analytic
def test_moisture_that_a_coil_takes_out_balances_what_comes_in() -> None:
    """In the steady state the coil removes the source and what ventilation brings; the balance closes."""
    system, forcing = cooled()
    told = run(system, forcing, first_state(system, air_c=24.0, humidity=0.5), step_s=300.0)
    flow = -float(told.forward_kg_s[-1, 0] - told.back_kg_s[-1, 0])
    came = 1e-4 + flow * (0.014 - float(told.state.vapour[0]))
    assert told.removed_kg[-1, 0] > 0.1
    assert_close(told.removed_kg[-1, 0] / 3600.0, came, rel=2e-3, why="steady within the hour")
    assert told.balances.vapour_share < 1e-8


@pytest.mark.invariant
def test_latent_and_sensible_heat_stay_within_the_capacity() -> None:
    """A coil at its limit gives its total, no more; what it removes is never more than the air holds."""
    system, forcing = cooled(most=1200.0)
    told = run(system, forcing, first_state(system, air_c=24.0, humidity=0.5), step_s=300.0)
    latent = told.removed_kg[:, 0] / 3600.0 * 2.5e6
    total = latent - told.holder_w[:, 0]
    assert told.nodes_c[-1, 0] > 24.5, "it cannot hold the room"
    assert_close(total[-1], 1200.0, rel=0.02, why="latent heat at 0 °C against that of the enthalpies")
    dry, none = cooled(most=5000.0, gain=6000.0)
    none = replace(none, outdoor_vapour=np.full(48, 1e-4), vapour_kg_s=np.zeros((48, 1)))
    told = run(dry, none, first_state(dry, air_c=24.0, humidity=0.9), step_s=600.0)
    assert told.state.vapour[0] >= 0.0
    assert told.removed_kg.min() >= -1e-12


@pytest.mark.invariant
def test_an_oversized_head_that_cycles_leaves_the_room_damper() -> None:
    """Least output above the load: with a fan that never stops the room ends damper than with one that stops."""
    ends = []
    for least, always in ((0.0, False), (2500.0, False), (2500.0, True)):
        system, forcing = cooled(most=3000.0, least=least, always=always, gain=600.0)
        told = run(system, forcing, first_state(system, air_c=24.0, humidity=0.5), step_s=300.0)
        assert_close(told.nodes_c[-1, 0], 24.0, abs=1e-6, why="held either way")
        ends.append(float(told.humidity[-1, 0]))
    assert ends[2] > ends[1] + 0.02


@pytest.mark.skipif(not is_compiled(), reason="the compiled step is not there")
@pytest.mark.invariant
@pytest.mark.parametrize("always", [False, True])
@pytest.mark.parametrize("least", [0.0, 1800.0])
def test_both_steps_agree_with_coils_and_far_thermostats(always: bool, least: float) -> None:
    system, forcing = two_rooms(least=least, always=always)
    start = first_state(system, air_c=24.0, humidity=0.6)
    one = run(system, forcing, start, step_s=600.0)
    two = run_reference(system, forcing, start, step_s=600.0)
    for name, allowed in (("nodes_c", 1e-6), ("humidity", 1e-8), ("removed_kg", 1e-9), ("holder_w", 1e-4)):
        off = np.abs(getattr(one, name) - getattr(two, name)).max()
        assert off < allowed, (name, off)


def two_rooms(*, least: float = 0.0, always: bool = False, senses: tuple[int, ...] = (1, 1), hours: int = 72):
    """Two rooms joined by a conductance; a head in the first whose thermostat hangs in the second."""
    one = one_room(leak=0.01, fan=0.01)
    thermal = ThermalNetwork(rooms=2, boundaries=1)
    for _ in range(2):
        thermal.node(4e5)
    thermal.join(0, 1, 60.0)
    thermal.face(0, 0, 20.0)
    thermal.face(1, 0, 20.0)
    from inshell.network.links import AirNetwork, Link, LinkKind

    links = (
        *one.air.links,
        Link("gap", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=0.005, exponent=0.5),
        Link("high", LinkKind.CRACK, 0, 1, low_m=2.0, coefficient_m3_s_pan=0.005, exponent=0.5),
    )
    links = tuple(replace(k, b=2) if k.b == 1 and k.name not in ("gap", "high") else k for k in links)
    system = System(
        thermal=thermal, air=AirNetwork(("one", "two"), links), mass_kg=np.array([40.0, 40.0]),
        buffer_kg=np.array([20.0, 10.0]), buffer_kg_s_pa=np.array([1e-8, 1e-8]), pressure_pa=101325.0, radiant=(0, 1),
        coils=(Coil(0, 0.05, 0.14, fan_always=always),), senses=senses,
        controls=(Control("dry", Sensor.HUMIDITY, 1, True, 0.5, 0.45, Target.VAPOUR_KG_S, 1, -5e-5, level_off=0.0),),
    )  # fmt: skip
    source = np.zeros((hours, 2))
    source[:, 1] = 300.0
    outdoor = 28.0 + 6.0 * np.sin(np.arange(hours) * 2.0 * np.pi / 24.0)
    forcing = Forcing(
        outdoor_c=outdoor, outdoor_vapour=np.full(hours, 0.013), boundary_c=outdoor[:, None], source_w=source,
        vapour_kg_s=np.full((hours, 2), 5e-5), gas_kg_s=np.zeros((hours, 2)), wind_pa=np.zeros((hours, len(links))),
        route_share=np.ones((hours, len(links))), heat_at_c=np.full((hours, 2), np.nan),
        cool_at_c=np.tile([24.0, np.nan], (hours, 1)), most_w=np.zeros((hours, 2)), least_w=np.zeros((hours, 2)),
        permit=np.ones((hours, 1)), coil_most_w=np.full((hours, 1), 3000.0), coil_least_w=np.full((hours, 1), least),
    )  # fmt: skip
    return system, forcing


@pytest.mark.invariant
def test_a_thermostat_holds_the_room_that_it_senses() -> None:
    """Hung in the other room it holds that one; its own becomes colder."""
    system, forcing = two_rooms()
    far = run(system, forcing, first_state(system, air_c=24.0), step_s=300.0)
    assert_close(far.nodes_c[24:, 1].mean(), 24.0, abs=0.15, why="it follows within some minutes")
    assert far.nodes_c[24:, 0].mean() < 22.5
    near, forcing = two_rooms(senses=())
    told = run(near, forcing, first_state(near, air_c=24.0), step_s=300.0)
    assert_close(np.abs(told.nodes_c[24:, 0] - 24.0).max(), 0.0, abs=1e-6, why="held")
    assert told.nodes_c[24:, 1].mean() > 25.0


@pytest.mark.invariant
def test_a_dehumidifier_row_takes_out_what_it_says() -> None:
    system, forcing = two_rooms(senses=())
    system = replace(system, coils=())
    forcing = replace(forcing, coil_most_w=np.zeros((72, 0)), coil_least_w=np.zeros((72, 0)))
    with_it = run(system, forcing, first_state(system, air_c=24.0, humidity=0.6), step_s=300.0)
    without = run(
        system, replace(forcing, permit=np.zeros((72, 1))), first_state(system, air_c=24.0, humidity=0.6), step_s=300.0
    )
    assert with_it.humidity[-1, 1] < without.humidity[-1, 1] - 0.03
    assert with_it.balances.vapour_share < 1e-8


@pytest.mark.skipif(not is_compiled(), reason="the compiled step is not there")
@pytest.mark.invariant
def test_coils_of_no_room_are_refused() -> None:
    system, forcing = two_rooms()
    kernel = Kernel(replace(system, coils=(Coil(0, 0.05, 0.1),)), 600.0)
    kernel.integers["coil_room"][0] = 7
    with pytest.raises(ValueError, match="coils"):
        kernel.run(forcing, first_state(system, air_c=20.0), 3600.0)


@pytest.mark.published
def test_a_dry_rating_is_the_limit_of_an_almost_dry_one() -> None:
    """ASHRAE Handbook, by psychrolib: without water taken the line of the coil ends at the dew point of the air."""
    rating = {"entering_c": 26.67, "ratio": 0.01115, "dry_air_kg_s": 0.3, "total_w": 2637.6}
    dry, nearly = (coil_at_rating(sensible_share=share, **rating) for share in (1.0, 1.0 - 1e-7))
    psychrolib.SetUnitSystem(psychrolib.SI)
    dew = psychrolib.GetTDewPointFromHumRatio(26.67, 0.01115, 101325.0)
    assert_close(dry.adp_c, dew, abs=0.02, why="two formulas of saturation")
    assert dry.moisture_kg_s == 0.0
    assert_close((dry.adp_c, dry.bypass), (nearly.adp_c, nearly.bypass), abs=1e-4, why="continuous")
