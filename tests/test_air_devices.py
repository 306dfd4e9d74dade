"""Ducts in the cold, run time, frost, appliances in their rooms, the house as built, and what is named in descriptions."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from scipy.integrate import solve_ivp

from inshell.cli.run import run as command
from inshell.climate.choose import climate_of
from inshell.design.air_findings import observe_air
from inshell.design.appliance_rooms import calculate_appliance_rooms
from inshell.design.breathing import WEEK_H, calculate_week, run_week, week_ready
from inshell.design.cold_ducts import calculate_recovery, calculate_run_water, core_share, leaving_c
from inshell.design.fan_runs import calculate_fan_runs
from inshell.design.fresh_air import calculate_fresh_air
from inshell.design.fresh_air import rules as fresh_air_rules
from inshell.design.in_place import in_place
from inshell.design.makeup import least_sets, opening_flow_50_m3_s, with_opening
from inshell.design.room_pressures import calculate_room_pressures
from inshell.design.run_time import calculate_run_time, effective_flow_m3_s, longest_off_h
from inshell.house.as_built import Measured
from inshell.house.model.air_devices import ColdDuct, PlanPoint
from inshell.house.reading import read_house
from inshell.network.compiled import run
from inshell.network.fans import full_curve, loss_of
from inshell.network.links import AirNetwork
from inshell.network.system import first_state
from inshell.physics.air import dew_point_c, mass_fraction, saturation_pressure_pa
from inshell.physics.duct import DuctLoss, duct_loss_pa, operating_points_m3_s
from inshell.physics.duct_water import duct_water, inner_film_w_m2k, sweat_margin_k
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.ventilation import on_off_effectiveness
from tests.evidence import CFM, DEMO, FT, assert_close

LAST = slice(-WEEK_H, None)


@pytest.fixture(scope="module")
def demo():
    file = read_house(DEMO)
    return file.house, file.geometry, climate_of(file.house, file.folder)


def changed(house, kind: str, number: int = 0, **update):
    items = list(getattr(house, kind))
    items[number] = items[number].model_copy(update=update)
    return house.model_copy(update={kind: tuple(items)})


def at(x_m: float) -> PlanPoint:
    return PlanPoint.model_construct(x_m=x_m, y_m=-1.0)


@pytest.mark.published
@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.9])
@pytest.mark.parametrize("air_c", [-10.0, 5.0, 22.0])
def test_dew_point(air_c: float, humidity: float) -> None:
    """A reference library (psychrolib, ASHRAE 2017)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    vapour = psychrolib.GetVapPresFromRelHum(air_c, humidity)
    want = psychrolib.GetTDewPointFromVapPres(air_c, vapour)
    assert_close(dew_point_c(vapour_pa=vapour), want, abs=0.12, why="two forms of saturation, most below freezing")


@pytest.mark.published
def test_air_cools_along_a_duct_as_the_insulation_standard_writes_it() -> None:
    """ISO 12241: T = Ta + (T0 - Ta) exp(-U P L/(m cp)), with films by hand; and no fall where it is as warm around."""
    mass, d, length, r = 0.02, 0.125, 6.0, 0.7
    film = inner_film_w_m2k(mass_kg_s=mass, diameter_m=d)
    reynolds = 4 * mass / (np.pi * d * 1.825e-5)
    assert_close(film, 0.023 * reynolds**0.8 * 0.71**0.3 * 0.0257 / d, rel=1e-12, why="Dittus and Boelter, turbulent")
    u = 1 / (1 / float(film) + r + 1 / 10.0)
    want = -8 + 28 * np.exp(-u * np.pi * d * length / (mass * 1006.0))
    given = {"mass_kg_s": mass, "inlet_vapour": 0.004, "diameter_m": d, "length_m": length, "insulation_r_m2k_w": r}
    told = duct_water(inlet_c=20.0, around_c=-8.0, **given)
    assert_close(told.outlet_c, want, abs=1e-9, why="the same exponential in 24 parts")
    assert_close(duct_water(inlet_c=20.0, around_c=20.0, **given).outlet_c, 20.0, abs=1e-12, why="no difference")


@pytest.mark.analytic
def test_water_in_a_duct_is_conserved_and_bounded() -> None:
    """An endless duct takes all that air at the surroundings cannot hold; the course agrees with an ODE solver."""
    given = {"mass_kg_s": 0.01, "inlet_c": 22.0, "inlet_vapour": 0.0085, "around_c": 2.0, "diameter_m": 0.1}
    endless = duct_water(length_m=500.0, **given)
    held = float(mass_fraction(vapour_pa=saturation_pressure_pa(temperature_c=2.0), pressure_pa=101325.0))
    assert_close(endless.condensed_kg_s, 0.01 * (0.0085 - held), rel=1e-6, why="all of it")
    told, film = duct_water(length_m=5.0, **given), float(inner_film_w_m2k(mass_kg_s=0.01, diameter_m=0.1))
    u, per = 1 / (1 / film + 0.1), np.pi * 0.1 / (0.01 * 1006.0)

    def course(_x: float, y: np.ndarray) -> list[float]:
        wall = 2.0 + (y[0] - 2.0) * (1.0 - u / film)
        sat = float(mass_fraction(vapour_pa=saturation_pressure_pa(temperature_c=wall), pressure_pa=101325.0))
        return [-u * per * (y[0] - 2.0), -film * per * max(y[1] - sat, 0.0)]

    end = solve_ivp(course, (0.0, 5.0), [22.0, 0.0085], rtol=1e-9, atol=1e-12).y[:, -1]
    assert_close(told.outlet_c, end[0], abs=1e-6, why="exponential")
    assert_close(told.condensed_kg_s, 0.01 * (0.0085 - end[1]), rel=0.03, why="24 parts of the length")
    assert float(duct_water(length_m=5.0, insulation_r_m2k_w=5.0, **given).condensed_kg_s) < float(told.condensed_kg_s)
    dry = duct_water(length_m=500.0, **(given | {"inlet_vapour": 0.9 * held}))
    assert float(dry.condensed_kg_s) == 0.0
    assert float(duct_water(length_m=5.0, **(given | {"mass_kg_s": 0.0})).condensed_kg_s) == 0.0


@pytest.mark.analytic
def test_a_cold_run_sweats_by_its_series_of_resistances() -> None:
    film = float(inner_film_w_m2k(mass_kg_s=0.02, diameter_m=0.15))
    for r in (0.0, 0.35, 1.4):
        u = 1 / (1 / film + r + 1 / 8)
        margin = sweat_margin_k(mass_kg_s=0.02, air_c=-12.0, room_c=21.0, room_dew_point_c=6.0, diameter_m=0.15,
                                insulation_r_m2k_w=r)  # fmt: skip
        assert_close(margin, 21.0 - u * 33.0 / 8 - 6.0, abs=1e-9, why="series of resistances")
    assert float(margin) > 0.0, "R-8 keeps it dry"


@pytest.mark.published
def test_run_time_counted_three_ways() -> None:
    """Two-level fan 100 / 50 m3/h, half and half of 24 h, 300 m3: effective 71.755 (computed sheet); IRC 2018 factors."""
    two = np.tile(np.r_[np.full(12, 100.0), np.full(12, 50.0)], 7) / 3600.0
    assert_close(effective_flow_m3_s(two, 300.0) * 3600.0, 71.755, abs=1e-3, why="five digits")
    assert calculate_run_time("f", two, 300.0).by_average_m3_s * 3600.0 == pytest.approx(75.0)
    for on, lost in ((2.4, 0.8), (4.8, 2.2), (12.0, 4.3)):
        share, minutes = on / 24.0, round(on * 60)
        flows = np.tile(np.r_[np.full(minutes, 100.0), np.full(1440 - minutes, 50.0)], 1) / 3600.0
        hourly = effective_flow_m3_s(np.repeat(flows, 1), 300.0 * 60.0)  # minutes as hours: 60 times the volume
        mean = 50.0 * (1.0 + share)
        assert_close(100.0 * (1.0 - hourly * 3600.0 / mean), lost, abs=0.06, why="one decimal")
    half = np.tile(np.r_[np.ones(12), np.zeros(12)], 7) * 60.0 / 3600.0
    told = calculate_run_time("f", half, 300.0)
    assert told.by_window_m3_s is None, "twelve hours without"
    worth = told.by_average_m3_s / told.mean_m3_s
    changes = told.by_average_m3_s * 86400.0 / 300.0
    assert_close(worth, on_off_effectiveness(on_fraction=0.5, changes=changes), abs=1e-9, why="the rule's own formula")
    assert_close(told.effective_m3_s, told.by_average_m3_s, rel=1e-6, why="a steady source in one zone, two ways")
    two_in_four = np.tile(np.r_[np.ones(2), np.zeros(2)], 42) * 0.02
    every = calculate_run_time("f", two_in_four, 300.0)
    assert_close(every.by_window_m3_s or 0.0, 0.01, rel=1e-9, why="half of each 4 h: factor 2")
    assert (every.longest_off_h, every.by_average_m3_s) == (2.0, pytest.approx(0.01))
    assert longest_off_h(np.array([False, True, False, False])) == 3.0, "across the end of the week"
    still = calculate_run_time("f", np.zeros(168), 300.0)
    assert (still.by_average_m3_s, still.by_window_m3_s, still.why) == (0.0, None, "it never runs")


@pytest.mark.published
def test_a_balanced_ducted_system_needs_less_from_2021() -> None:
    """IRC 2021, exception of M1505.4.3 (from memory): 30 % off only if balanced and supplied by duct."""
    given = {"rule": "irc-2021-table", "area_m2": 1000 * FT**2, "bedrooms": 2}
    for balanced, supplied, cfm in ((True, True, 31.5), (True, False, 45.0), (False, True, 45.0)):
        told = calculate_fresh_air(balanced=balanced, supplied=supplied, **given)
        assert_close(told.fan_flow_m3_s / CFM, cfm, abs=1e-9, why="table less 30 %")
    assert_close(calculate_fresh_air(**given).required_flow_m3_s / CFM, 45.0, abs=1e-9, why="table")


@pytest.mark.analytic
def test_a_rising_curve_has_every_solution_named_and_the_least_is_taken(demo) -> None:
    duct = DuctLoss(0.1016, 1.0, 1.0, 26.0)
    flow, pressure = np.array([0.0, 40.0, 80.0, 120.0, 160.0]) / 3600.0, np.array([60.0, 52.0, 70.0, 40.0, 0.0])
    found = operating_points_m3_s(flow_m3_s=flow, pressure_pa=pressure, duct=duct)
    assert found
    for q in found:
        made = float(np.interp(q, flow, pressure))
        assert_close(duct_loss_pa(duct=duct, flow_m3_s=q), made, abs=1e-6, why="on both curves")
    house = changed(demo[0], "fan", curve=tuple(zip(flow, pressure, strict=True)), base_flow_m3_s=0.005)
    assert {f.code for f in observe_air(house, demo[1])} >= {"fan-curve-rises"}
    curve = full_curve(house.fan[0])
    assert np.all(np.diff(curve.flow_m3_s) <= 0.0), "what is stepped falls"


@pytest.mark.analytic
def test_filter_and_wind_take_what_they_take(demo) -> None:
    """A filter takes its pressure at the rated flow and half at half; wind on a cap adds 0.6 of the dynamic pressure."""
    fan = demo[0].fan[0]
    duct = fan.duct.model_copy(update={"filter_pa": 30.0})
    for share in (1.0, 0.5):
        q = share * fan.rated_flow_m3_s
        clean = duct_loss_pa(duct=loss_of(duct), flow_m3_s=q)
        full = duct_loss_pa(duct=loss_of(duct, loaded_at_m3_s=fan.rated_flow_m3_s), flow_m3_s=q)
        assert_close(full - clean, 30.0 * share, rel=1e-9, why="in proportion to the flow")
    house = changed(demo[0], "fan", duct=duct)
    one, two = (
        calculate_fan_runs(house, {}, 10.0)[0],
        calculate_fan_runs(house, {"bath-fan": -0.5 * 1.2 * 0.603 * 100}, 0.0)[0],
    )
    assert one.loaded_m3_s is not None
    assert one.loaded_m3_s < one.in_house_m3_s
    assert_close(one.windy_m3_s, two.in_house_m3_s, rel=2e-3, why="36 Pa either way")


@pytest.mark.analytic
def test_frost_rests_streams_and_a_heater_warms_them(demo) -> None:
    """Below the limit: recirculating rests both streams, exhausting only the supply; a heater leaves (1 - e) of its heat."""
    house, geometry, climate = demo
    limit = float(climate.year.dry_bulb_c.max()) + 1.0  # every hour of the year is below it

    def mean(name: str, defrost: str) -> float:
        iced = changed(house, "ventilator", defrost=defrost, defrost_below_c=limit, defrost_share=0.25)
        ready, series = run_week(iced, geometry, climate, week="coldest", doors="shut")
        k = next(k for k, link in enumerate(ready.system.air.links) if link.name == name)
        return float(series.forward_kg_s[LAST, k].mean())

    supply, exhaust = "spot-hrv to living", "spot-hrv from living"
    assert_close(mean(supply, "exhaust-only") / mean(supply, "none"), 0.75, rel=1e-3, why="a quarter of the time")
    assert_close(mean(exhaust, "exhaust-only") / mean(exhaust, "none"), 1.0, rel=1e-3, why="goes on")
    assert_close(mean(exhaust, "recirculate") / mean(exhaust, "none"), 0.75, rel=1e-3, why="a quarter of the time")
    unit = house.ventilator[0]
    warm = changed(house, "ventilator", defrost="preheat", defrost_below_c=0.0)
    one = week_ready(warm, geometry, climate, week="coldest", doors="shut").forcing
    two = week_ready(house, geometry, climate, week="coldest", doors="shut").forcing
    kg_s = unit.supply_flow_m3_s * 1.2 * climate.pressure_pa / 101325.0
    want = 0.3 * kg_s * 1006.0 * np.maximum(-two.outdoor_c, 0.0)
    assert_close((one.gains_w - two.gains_w).sum(axis=1), want, abs=1e-9, why="what the core would not have recovered")


@pytest.mark.analytic
def test_a_core_loses_its_water_and_its_year_by_hand(demo) -> None:
    house, geometry, climate = demo
    ready, series = run_week(house, geometry, climate, week="coldest", doors="shut")
    plain = calculate_recovery(house, ready, series, LAST, climate.year)[0]
    unit = house.ventilator[0]
    assert_close(plain.recovered_share, 0.7, rel=1e-9, why="nothing stops it")
    assert_close(leaving_c(unit, np.array(21.0), np.array(-9.0)), 0.0, abs=1e-9, why="21 - 0.7 x 30")
    lopsided = unit.model_copy(update={"supply_flow_m3_s": 2.0 * unit.exhaust_flow_m3_s})
    assert_close(core_share(lopsided), 0.35, rel=1e-9, why="half as much to take from")
    for defrost in ("recirculate", "exhaust-only"):
        iced = changed(house, "ventilator", defrost=defrost, defrost_below_c=5.0, defrost_share=0.5)
        told = calculate_recovery(iced, ready, series, LAST, climate.year)[0]
        assert_close(told.recovered_share, 0.7, rel=1e-9, why="of the air that it then still moves")
        assert told.recovered_kwh < plain.recovered_kwh
        assert told.hours_below_limit == int((climate.year.dry_bulb_c < 5.0).sum())
    warm = changed(house, "ventilator", defrost="preheat", defrost_below_c=5.0)
    heated = calculate_recovery(warm, ready, series, LAST, climate.year)[0]
    assert heated.preheat_kwh > 0.0
    inside, outdoor = float(house.household.heating_set_point_c), climate.year.dry_bulb_c
    below, lift = np.maximum(inside - outdoor, 0.0), np.maximum(5.0 - outdoor, 0.0)
    assert_close(heated.recovered_share, 0.7 * (below - lift).sum() / below.sum(), rel=1e-9, why="what the heater left")
    kg_s = unit.supply_flow_m3_s * 1.2 * climate.pressure_pa / 101325.0
    assert_close(heated.preheat_kwh, kg_s * 1006.0 * lift.sum() / 1000.0, rel=1e-9, why="m cp through the hours")
    assert heated.core_freezing_h == 0
    assert plain.sweats_h is None
    ducts = changed(house, "ventilator", cold_duct=ColdDuct(diameter_m="0.15 m", length_m="1 m"))
    assert calculate_recovery(ducts, ready, series, LAST, climate.year)[0].sweats_h == 0, "28 % humidity indoors"


@pytest.mark.invariant
def test_water_in_the_bath_fans_run(demo) -> None:
    house, geometry, climate = demo
    cold = house.fan[0].duct.model_copy(update={"cold_length_m": 3.0, "insulation_r_m2k_w": 0.0})
    long = changed(house, "fan", duct=cold)
    ready, series = run_week(long, geometry, climate, week="coldest", doors="shut")
    told = calculate_run_water(long, ready, series, LAST)[0]
    assert told.hours_wet > 0
    assert 0.0 <= told.wrapped_l_day < told.litres_day < 3.0
    warm = changed(house, "fan", duct=cold.model_copy(update={"cold_length_m": 0.0}))
    assert calculate_run_water(warm, ready, series, LAST) == (), "no cold part, no water"


@pytest.mark.invariant
def test_what_is_named_in_a_description(demo) -> None:
    house = demo[0]
    assert not observe_air(house, demo[1])
    near = at(1.0)
    wrong = changed(house, "dryer", serves=("whole-house",), vented=True, cap=near)
    wrong = changed(wrong, "fan", serves=("whole-house", "kitchen"), cap=at(9.0),
                    duct=house.fan[0].duct.model_copy(update={"shared_with": "hood"}))  # fmt: skip
    wrong = changed(wrong, "ventilator", intake=at(2.0), cap=at(2.3),
                    exhaust_flow_m3_s=0.02, combined_cap=False, condensate="none", defrost="exhaust-only")  # fmt: skip
    codes = [f.code for f in observe_air(wrong, demo[1])]
    assert sorted(codes) == [
        "defrost-sucks", "dryer-counted", "dryer-flow-assumed", "fan-in-two-systems", "intake-beside-exhaust", "intake-beside-exhaust",
        "run-shared", "ventilator-unbalanced", "ventilator-without-drain",
    ]  # fmt: skip
    inside = changed(wrong, "ventilator", intake=PlanPoint.model_construct(x_m=2.0, y_m=2.0))
    assert "intake-indoors" in {f.code for f in observe_air(inside, demo[1])}
    listed = changed(wrong, "ventilator", combined_cap=True)
    assert [f.code for f in observe_air(listed, demo[1])].count("intake-beside-exhaust") == 1, (
        "its own cap is listed for it"
    )


@pytest.mark.invariant
def test_an_appliance_in_its_room_and_the_opening_that_keeps_it(demo) -> None:
    """The opening that was found keeps every combination within the limit, a tenth less does not."""
    house, geometry, climate = demo
    flow50 = 0.8 * geometry.volume_m3 / 3600.0
    pressures = calculate_room_pressures(house, geometry, climate, tested_flow_m3_s=flow50)
    told = calculate_appliance_rooms(house, geometry, climate, pressures, flow_at_50_pa_m3_s=flow50)[0]
    assert told.room == "utility"
    assert told.limit_pa == 50.0
    assert told.deepest_pa == min(float(p.pressure_pa[:, p.rooms.index("utility")].min()) for p in pressures)
    assert told.together == (("hood",),)
    assert told.opening_m2 is not None
    for share, kept in ((1.0, True), (0.9, False)):
        area = share * told.opening_m2
        eased = calculate_room_pressures(
            with_opening(house, "utility", area),
            geometry,
            climate,
            tested_flow_m3_s=flow50 + opening_flow_50_m3_s(area),
        )
        assert (min(float(p.pressure_pa[:, p.rooms.index("utility")].min()) for p in eased) >= -50.0) is kept
    assert least_sets([("a", "b"), ("a",), ("b", "c"), ("c:base",), ("c", "d")]) == (("a",), ("c:base",))


@pytest.mark.invariant
def test_a_transfer_fan_changes_no_total_where_its_room_has_no_leak(demo) -> None:
    """Bedroom 1's own leaks shut: outdoor air of the whole house is the same with its transfer fan on and off."""
    house, geometry, climate = demo
    totals = []
    for flow in (0.0, house.transfer_fan[0].flow_m3_s):
        one = changed(house, "transfer_fan", flow_m3_s=flow)
        ready = week_ready(one, geometry, climate, week="spring", doors="shut")
        bed, links = ready.routes.network.rooms.index("bed-1"), list(ready.system.air.links)
        for k, link in enumerate(links):
            if link.name.startswith("leak ") and bed in (link.a, link.b):
                links[k] = replace(link, coefficient_m3_s_pan=1e-12)
        system = replace(ready.system, air=AirNetwork(ready.system.air.rooms, tuple(links)))
        held, start = np.full_like(ready.forcing.heat_at_c, 21.0), first_state(system, air_c=21.0)
        still = replace(
            ready.forcing, wind_pa=0.0 * ready.forcing.wind_pa, heat_at_c=held, cool_at_c=held,
            most_w=np.full_like(held, 1e9), least_w=np.full_like(held, -1e9), gains_w=0.0 * ready.forcing.gains_w,
            vapour_kg_s=0.0 * ready.forcing.vapour_kg_s, outdoor_vapour=np.full_like(ready.forcing.outdoor_c, start.vapour[0]),
        )  # fmt: skip
        series = run(system, still.rows(0, 24), start, step_s=600.0)
        into = sum(
            series.forward_kg_s[-1, k] if link.a == system.rooms else series.back_kg_s[-1, k]
            for k, link in enumerate(links) if system.rooms in (link.a, link.b)
        )  # fmt: skip
        totals.append(float(into))
    assert_close(totals[1], totals[0], rel=1e-6, why="one temperature, one humidity: nothing else moves")


def _measured(*rows: tuple[str, str, float]) -> dict[tuple[str, str], Measured]:
    return {(d, w): Measured(d, w, q, "2026-05-02", "tester", "flow hood") for d, w, q in rows}


@pytest.mark.invariant
def test_as_built_devices_move_what_was_measured(demo) -> None:
    """With the house at its pressure, through the network's own curves, duct or none."""
    house = demo[0]
    at = {"bath-fan": -20.0, "hood": -45.0}
    built = in_place(
        house, _measured(("bath-fan", "flow", 0.025), ("hood", "flow", 0.06), ("transfer-1", "flow", 0.02)), at
    )
    assert_close(flow_at_m3_s(curve=full_curve(built.fan[0]), pressure_pa=20.0), 0.025, rel=1e-9, why="scaled")
    assert_close(flow_at_m3_s(curve=full_curve(built.hood[0]), pressure_pa=45.0), 0.06, rel=1e-9, why="through it")
    assert_close(flow_at_m3_s(curve=full_curve(built.transfer_fan[0]), pressure_pa=0.0), 0.02, rel=1e-9, why="free")
    assert house.fan[0].duct is not None, "the design is never changed"
    lifted = in_place(house, _measured(("bath-fan", "base_flow", 0.045)), at)
    assert float(flow_at_m3_s(curve=full_curve(lifted.fan[0]), pressure_pa=20.0)) >= 0.045, "it was measured"
    nothing = in_place(house, _measured(("bath-fan", "flow", 0.0)), at)
    assert float(flow_at_m3_s(curve=full_curve(nothing.fan[0]), pressure_pa=0.0)) == 0.0


@pytest.mark.invariant
def test_the_house_is_run_again_as_built(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "house.toml"
    path.write_text(DEMO.read_text(encoding="utf-8"), encoding="utf-8")
    rows = ["id,what,value,date,person,method", "bath-fan,base_flow,18 cfm,2026-05-02,tester,flow hood",
            "transfer-1,flow,20 cfm,2026-05-02,tester,flow hood", "hood,flow,150 cfm,,,"]  # fmt: skip
    (tmp_path / "measured.csv").write_text("\n".join(rows), encoding="utf-8")
    assert command(["air", str(path), "--placements", "0", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    built = document["as_built"]
    assert_close(built["whole_house_m3_s"]["designed"], 52 * CFM, rel=1e-6, why="30 and 22")
    assert built["whole_house_m3_s"]["built"] is None, "nobody measured the ventilator"
    bed = next(r for r in built["rooms"] if r["room"] == "bed-1")
    assert bed["highest_ppm"]["built"] > bed["highest_ppm"]["designed"]
    assert bed["relative_exposure"]["built"] > bed["relative_exposure"]["designed"]
    assert "spot-hrv supply_flow" in built["not_measured"]
    codes = [f["code"] for f in document["findings"]]
    off = {f["device"]: f["off_share"] for f in built["flows"]}
    assert_close(off["bath-fan"], -0.4, abs=1e-9, why="18 of 30 cfm")
    assert codes.count("as-built-off") == 2, "the hood lies within 10 %"
    full = next(r for r in document["sheet"] if (r["device"], r["setting"]) == ("bath-fan", "flow"))
    moved = next(r for r in document["fans"] if r["device"] == "bath-fan")
    assert_close(full["design_m3_s"], moved["in_house_m3_s"], rel=1e-9, why="what it moves on its run, not its rating")
    line = next(r for r in document["sheet"] if r["setting"] == "base_flow")
    assert_close([line["least_m3_s"] / CFM, line["most_m3_s"] / CFM], [27.0, 33.0], rel=1e-9, why="10 %")
    assert command(["air", str(path), "--placements", "0"]) == 0
    text = capsys.readouterr().out
    for words in (
        "As built, spring",
        "Not measured, so as designed",
        "proves nothing",
        "every edition",
        "By the age of air",
    ):
        assert words in text, words
    rules = {r["rule"]: r for r in document["rules"]}
    assert list(rules) == list(fresh_air_rules())
    assert all(r["met"] for r in rules.values())
    assert f"meets all {len(rules)}" in document["rules_in_words"][0]


@pytest.mark.invariant
def test_where_rules_disagree_a_sentence_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "house.toml"
    text = DEMO.read_text(encoding="utf-8").replace('base_flow = "30 cfm"', 'base_flow = "18 cfm"')
    text = text.replace('exhaust_flow = "22 cfm"', 'exhaust_flow = "26 cfm"').replace(
        'flow = "160 cfm"', 'flow = "90 cfm"'
    )
    path.write_text(text, encoding="utf-8")
    command(["air", str(path), "--placements", "0", "--json"])
    words = json.loads(capsys.readouterr().out)["rules_in_words"]
    assert "misses ASHRAE 62.2-2013" in words[0]
    assert "The code official says which edition counts" in words[0]
    assert "Living and kitchen: irc is met, ashrae-62.2 is not." in words


@pytest.mark.invariant
def test_five_in_the_morning_is_the_hour_from_five(demo) -> None:
    house, geometry, climate = demo
    ready, series = run_week(house, geometry, climate, week="spring", doors="shut")
    week = calculate_week(house, geometry, climate, week="spring", doors="shut", required_m3_s=0.02)
    k = ready.routes.network.rooms.index("bed-1")
    assert_close(week.of("bed-1").ppm_at_5, series.carbon_dioxide_ppm[LAST, k][5::24].mean(), rel=1e-12, why="its rows")


@pytest.mark.invariant
def test_a_verdict_rests_on_what_really_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Rows that switch fans off, runs that starve them, dryers without a flow: no rule is kept by what does not run."""
    text = DEMO.read_text(encoding="utf-8")
    off = '\n[[control]]\nid = "{0}-off"\ntarget = "{0}"\ndoes = "off"\nfrom = "08:00"\nto = "20:00"\n'
    starved = text.replace('duct = { diameter = "4 in", length = "14 ft", elbows = 2',
                           'duct = { diameter = "3 in", length = "60 ft", elbows = 6').replace(
                               'base_flow = "30 cfm"', 'base_flow = "45 cfm"').replace('"22 cfm"', '"6 cfm"')  # fmt: skip
    cases = {"switched": text + off.format("bath-fan") + off.format("spot-hrv"), "starved": starved}
    for name, content in cases.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(content, encoding="utf-8")
        command(["check", str(path), "--json"])
        rows = {p["id"]: p for p in json.loads(capsys.readouterr().out)["promises"]}
        fresh = rows["fresh-air/ashrae-62.2-2019"]
        assert fresh["verdict"] == ("unknown" if name == "switched" else "broken"), name
        assert command(["air", str(path), "--placements", "0", "--json"]) in (0, 1)
        document = json.loads(capsys.readouterr().out)
        row = next(r for r in document["rules"] if r["rule"] == "ashrae-62.2-2019")
        assert row["met"] is (None if name == "switched" else False)


@pytest.mark.invariant
def test_more_combinations_than_are_run_keep_those_that_are_asked_for(demo) -> None:
    house, geometry, climate = demo
    fan = house.fan[0]
    more = tuple(fan.model_copy(update={"id": f"x{k}", "room": "living", "base_flow_m3_s": 0.005}) for k in range(9))
    many = house.model_copy(update={"fan": (*house.fan, *more)})
    told = calculate_room_pressures(many, geometry, climate)[0]
    assert told.not_varied
    for names in (set(), {"hood"}, {"bath-fan:base"}, {"x8"}, *(set(p.fans) for p in house.promise if p.fans)):
        assert told.find(names) is not None, names


@pytest.mark.invariant
def test_flames_without_a_flue_and_where_people_sleep(demo) -> None:
    from inshell.design.cautions import cautions

    house, geometry, _ = demo
    heater = house.water_heater[0]
    for venting, room, codes in (("none", "utility", {"unvented-combustion"}), ("natural-draft", "bed-2", {"fuel-where-people-sleep"}),
                                 ("sealed", "bed-2", set())):  # fmt: skip
        one = changed(house, "water_heater", venting=venting, room=room)
        found = {f.code for f in cautions(one, geometry)} & {"unvented-combustion", "fuel-where-people-sleep"}
        assert found == codes, venting
    electric = house.model_copy(
        update={"water_heater": (heater.model_copy(update={"fuel": "electric", "venting": "none"}),)}
    )
    assert not {f.code for f in cautions(electric, geometry)} & {"unvented-combustion"}


@pytest.mark.analytic
def test_a_derate_is_never_better_and_a_stalled_fan_counts_for_nothing(demo) -> None:
    from inshell.network.fans import falling_curve

    fan = demo[0].fan[0]
    crushed = fan.duct.model_copy(update={"material": "flex", "compression": 0.30, "length_m": 12.0})
    told = calculate_fan_runs(changed(demo[0], "fan", duct=crushed), {})[0]
    assert told.field_m3_s <= told.in_house_m3_s
    curve = falling_curve(((0.0, 40.0), (40.0, 50.0), (80.0, 60.0), (92.0, 0.0)))
    assert_close(
        flow_at_m3_s(curve=curve, pressure_pa=30.0), 80.0 + 12.0 * 30.0 / 60.0, rel=1e-9, why="the falling branch"
    )
    assert float(flow_at_m3_s(curve=curve, pressure_pa=45.0)) == 0.0, "it may not start against that"
