"""Pieces worked by hand: glass, boilers, boards, floors, heads past their data sheet, hours of doors, frost, seasons,
mould hour by hour, rounds that do not settle."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Literal, cast

import numpy as np
import pytest
from shapely.geometry import LineString, box

from inshell.climate.choose import climate_of
from inshell.design.cold_ducts import running_shares
from inshell.design.drivers import _shares
from inshell.design.dry_year import _assembly, _Months, glass_factor
from inshell.design.floor_heat import Build, _Day, _Facts
from inshell.design.floor_source import calculate_source
from inshell.design.heads import Map
from inshell.design.hot_water_use import calculate_hot_water
from inshell.design.room_days import heating_design
from inshell.design.skin_cases import VARIED, SkinYear, rules_most
from inshell.design.tube_plan import TubePlan, TubeRun
from inshell.house.geometry import derive
from inshell.house.model.air_devices import Ventilator
from inshell.house.model.house import House
from inshell.network.reference import LEAST_WEIGHT, relaxed
from inshell.network.routes import routes_of
from inshell.physics.floor import practice_flux_w_m2
from inshell.physics.glass import pane_transmittance
from inshell.physics.heater import condensing_efficiency
from inshell.physics.mould import CLASSES, critical_percent, mould_index
from inshell.physics.skin import humidity_of_board
from inshell.physics.slab_cell import SlabCell
from inshell.physics.vapour import TwoSeasons
from tests.evidence import assert_close
from tests.houses import BASE, house, rectangle
from tests.test_design_by_hand import two

EXACT = "by hand, rounding only"


# ------------------------------------------------------------------------------------------------ glass


def fresnel(angle_deg: float, index: float) -> tuple[float, tuple[float, float]]:
    """Cosine inside the glass, and what one surface reflects of either polarisation (Fresnel, amplitude form)."""
    before = math.cos(math.radians(angle_deg))
    within = math.sqrt(1.0 - (math.sin(math.radians(angle_deg)) / index) ** 2)
    across = ((before - index * within) / (before + index * within)) ** 2
    along = ((index * before - within) / (index * before + within)) ** 2
    return within, (across, along)


def transferred(r: float, passes: float, panes: int) -> float:
    """Through a row of surfaces and panes by matrices that carry both streams from one side to the other."""
    surface = np.array([[1.0, -r], [r, (1.0 - r) ** 2 - r**2]]) / (1.0 - r)
    pane = surface @ np.diag([1.0 / passes, passes]) @ surface
    return float(1.0 / np.linalg.matrix_power(pane, panes)[0, 0])


@pytest.mark.analytic
@pytest.mark.parametrize("panes", [1, 2, 3, 4])
@pytest.mark.parametrize("angle_deg", [10.0, 45.0, 60.0, 75.0])
def test_panes_pass_what_both_streams_between_them_leave(panes: int, angle_deg: float) -> None:
    """Transfer matrices of surfaces (1 - r passes) and of panes that keep exp(-KL/cos); the mean of polarisations."""
    within, reflected = fresnel(angle_deg, 1.526)
    want = np.mean([transferred(r, math.exp(-0.0622 / within), panes) for r in reflected])
    got = pane_transmittance(angle_deg=angle_deg, panes=panes, index=1.526, extinction=0.0622)
    assert_close(got, want, rel=1e-9, why=EXACT)


@pytest.mark.published
@pytest.mark.parametrize("panes", [2, 3, 5])
def test_panes_that_absorb_nothing(panes: int) -> None:
    """(1 - r)/(1 + (2N - 1) r) of each polarisation (Duffie and Beckman, chapter 5, from memory)."""
    _, reflected = fresnel(60.0, 1.526)
    want = np.mean([(1.0 - r) / (1.0 + (2 * panes - 1) * r) for r in reflected])
    got = pane_transmittance(angle_deg=60.0, panes=panes, index=1.526, extinction=0.0)
    assert_close(got, want, rel=1e-9, why=EXACT)


@pytest.mark.published
def test_the_middle_of_a_pane_by_its_u_value() -> None:
    """1 - 0.13 U (ISO 13788 with the film of ISO 6946, from memory): 1 - 0.182 at 1.4 W/m2K, 1 - 0.754 at 5.8."""
    assert_close([glass_factor(1.4), glass_factor(5.8)], [0.818, 0.246], rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ moisture


@pytest.mark.published
def test_wall_that_stays_below_eighty_per_cent() -> None:
    """Room of 20 °C and 50 %, outdoors 0 °C: 80 % at 12.6 °C (DIN 4108-2, from memory), so 12.6/20 = 0.63; a month of
    60 % and 10 °C asks 0.54; a month 2.5 K below the room would ask 1.0 and does not count (more than 3 K do)."""
    layers = [{"r": "4 m2K/W", "sd": "10 m"}]
    one = house([{"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5}],
                assembly=[{"id": "w", "layers": layers}, BASE["assembly"][1]])  # fmt: skip
    outdoor, damp = np.full(12, 10.0), np.full(12, 0.60)
    outdoor[:2], damp[:2] = 0.0, 0.50
    outdoor[6], damp[6] = 17.5, 0.80
    months = _Months(outdoor, np.full(12, 500.0), np.full(12, 20.0), damp * 2338.8)
    told = _assembly(one, one.assembly[0], "wall", "a", months)
    assert_close(told.least_factor, 0.63, abs=0.002, why="12.6 °C to a digit")
    assert_close(told.factor, 1.0 - 0.25 / (0.13 + 4.0 + 0.04), rel=1e-6, why="ISO 6946 films, 0.25 of ISO 13788")
    assert (told.assembly, told.kind, told.room) == ("w", "wall", "a")


@pytest.mark.analytic
def test_what_dries_just_as_much_as_condensed_is_dry() -> None:
    """0.1 + 0.2 against 0.3, where the last bit of a sum differs; ten milligrams more are not dry."""
    for parts, whole, holds in (
        ([0.1, 0.2], [0.3, 0.0], True), ([0.1, 0.2], [0.0, 0.4], True), ([0.1, 0.20001], [0.3, 0.0], False),
    ):  # fmt: skip
        assert TwoSeasons((1, 2), np.array(parts), np.array(whole)).holds is holds, (parts, whole)


@pytest.mark.analytic
def test_a_board_is_as_humid_as_its_curve_and_wet_above_it() -> None:
    """Dry at 0, saturated at 0.3 kg/kg, linear between 0.08 (65 %) and 0.11 (80 %); a thousandth per kg/kg above."""
    got = humidity_of_board(moisture_kg_kg=np.array([0.0, 0.095, 0.11, 0.3, 0.8, 1.3]))
    assert_close(got, [0.0, 0.725, 0.80, 1.0, 1.0005, 1.001], abs=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("name", list(VARIED))
def test_the_assumption_that_moves_the_wettest_hour_most(name: str) -> None:
    """One assumption alone spans from 0.15 to 0.30, all others from 0.29 to 0.33 at most, though they lie higher."""
    wettest = {case: 0.29 for among in VARIED.values() for case in among}
    wettest |= {among[-1]: 0.33 for among in VARIED.values()}
    wettest |= dict.fromkeys(VARIED[name], 0.30) | {VARIED[name][-1]: 0.15}
    cases = [SkinYear(case, 0.0, most, 0, 0, 0.0, 0.0) for case, most in wettest.items()]
    assert rules_most(tuple(cases)) == name
    assert rules_most(tuple(reversed(cases))) == name


# ------------------------------------------------------------------------------------------------ fresh air


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("defrost", "supply", "exhaust"),
    [
        ("none", (0.0, 1.0, 1.0), (1.0, 1.0, 1.0)), ("exhaust-only", (0.0, 0.7, 1.0), (1.0, 1.0, 1.0)),
        ("recirculate", (0.0, 0.7, 1.0), (0.7, 0.7, 1.0)), ("preheat", (0.0, 1.0, 1.0), (1.0, 1.0, 1.0)),
    ],
)  # fmt: skip
def test_streams_rest_in_the_cold(defrost: str, supply: tuple[float, ...], exhaust: tuple[float, ...]) -> None:
    """At -20, -10 and 0 °C: defrosts 0.3 of the time below -5 °C, and supplies nothing below -15 °C."""
    unit = Ventilator.model_validate(
        {"id": "v", "room": "a", "supply_rooms": ["a"], "exhaust_rooms": ["b"], "supply_flow": "30 L/s",
         "exhaust_flow": "25 L/s", "recovery": 0.7, "defrost": defrost, "defrost_below": "-5 °C", "defrost_share": 0.3,
         "supply_stops_below": "-15 °C"},
        context={"units": "si"},
    )  # fmt: skip
    got = running_shares(unit, np.array([-20.0, -10.0, 0.0]))
    assert_close(got, [supply, exhaust], abs=1e-12, why=EXACT)
    always, _ = running_shares(unit.model_copy(update={"supply_stops_below_c": None}), np.array([-20.0, -10.0, 0.0]))
    assert_close(always, [supply[1], *supply[1:]], abs=1e-12, why="nothing stops it")


@pytest.mark.analytic
def test_doors_and_windows_stand_as_in_the_middle_of_the_hour() -> None:
    """A window open 7:20 to 9:40 in the hours of 7:30, 8:30 and 9:30; a door 6:40 to 21:15 from 7:30 to 20:30; the door
    of who sleeps from 22:15 to 6:15 is shut from 22:30 to 5:30."""
    rooms = [{"id": name, "outline": rectangle(x, 0, x + 4, 3), "ceiling": 2.5} for name, x in
             (("a", 0), ("b", 4), ("c", 8))]  # fmt: skip
    window = {"id": "w", "room": "a", "wall": "west", "width": 1.0, "height": 1.0, "glazing": "g",
              "openable": "0.5 m2", "open_from": "07:20", "open_to": "09:40"}  # fmt: skip
    doors = [{"id": "d", "between": ["a", "b"], "open_hours": "06:40-21:15"}, {"id": "e", "between": ["b", "c"]}]
    person = {"id": "p", "sleeps_in": "c", "asleep_from": "22:15", "asleep_to": "06:15"}
    one = house(rooms, window=[window], door=doors, person=[person])
    routes = routes_of(one, derive(one), flow_at_50_pa_m3_s=0.05, exponent=0.65, doors="by-hours", on_demand=True)
    got = _shares(one, routes, np.arange(24, dtype=np.int64))
    hours = {"w": set(range(7, 10)), "d": set(range(7, 21)), "e": set(range(6, 22))}
    moving = {name: link for link, name in (*routes.leaves, *routes.windows)}
    assert set(moving) == set(hours)
    for name, link in moving.items():
        assert {int(h) for h in np.flatnonzero(got[:, link])} == hours[name], name
    others = [k for k in range(got.shape[1]) if k not in moving.values()]
    assert np.all(got[:, others] == 1.0)
    assert set(np.unique(got)) == {0.0, 1.0}


# ------------------------------------------------------------------------------------------------ heat


@pytest.mark.analytic
def test_a_data_sheet_ends_level_upwards_and_on_its_slope_downwards() -> None:
    """4,000 W at 25 °C, 3,400 at 35, 3,000 at 40: 80 W less each kelvin past 40, nothing from 77.5 on, no more below."""
    falls = np.array([4000.0, 3400.0, 3000.0])
    x = np.array([25.0, 35.0, 40.0])
    sheet = Map(x, falls, falls, falls, falls)
    outdoor = np.array([10.0, 30.0, 38.0, 40.0, 45.0, 60.0, 77.5, 90.0])
    want = np.array([4000.0, 3700.0, 3160.0, 3000.0, 2600.0, 1400.0, 0.0, 0.0])
    assert_close(sheet.at("most_w", outdoor), want, abs=1e-9, why=EXACT)
    mirrored = Map(-x[::-1], falls[::-1], falls[::-1], falls[::-1], falls[::-1])
    assert_close(mirrored.at("least_w", -outdoor), want, abs=1e-9, why="the same line read from its other end")
    single = Map(x[:1], falls[:1], falls[:1], falls[:1], falls[:1])
    assert_close(single.at("most_w", outdoor), np.full(8, 4000.0), abs=1e-9, why="one point has no slope")


@pytest.mark.published
def test_a_floor_as_the_trade_counts_it() -> None:
    """2 Btu/h.ft2 for each °F (common practice): 1,055.056 J, 0.09290304 m2; nothing where the floor is colder."""
    each = 2.0 * 1055.05585262 / 3600.0 / 0.09290304 * 1.8
    got = practice_flux_w_m2(excess_k=np.array([-3.0, 0.0, 7.0, 9.5]))
    assert_close(got, [0.0, 0.0, 7.0 * each, 9.5 * each], rel=1e-5, abs=1e-12, why="six digits of the conversion")


@pytest.mark.published
@pytest.mark.parametrize(("return_f", "held_kpa"), [(60.0, 3.50), (80.0, 6.55), (100.0, 11.68), (130.0, math.inf),
                                                    (160.0, math.inf)])  # fmt: skip
def test_a_condensing_heater_by_its_combustion(return_f: float, held_kpa: float) -> None:
    """CH4 + 2.6 O2 + 9.776 N2 (30 % excess) of 25 °C, 890.6 kJ/mol, flue 20 °F above the return; 44.0 kJ/mol of water
    that stays vapour: what saturates 11.376 mol of dry flue (steam tables), at most 2 mol; jacket 1.5 % where nothing
    else is said (common practice)."""
    flue_c = (return_f + 20.0 - 32.0) / 1.8
    vapour = 11.376 * held_kpa / (101.325 - held_kpa) if math.isfinite(held_kpa) else 2.0
    heat = 38.0 + 0.6 * 29.5 + 9.776 * 29.2 + vapour * 33.7  # J/K of the flue, molar heats at room temperature
    burnt = 1.0 - (44.0 * vapour + 1e-3 * heat * (flue_c - 25.0)) / 890.6
    water_c = (return_f - 32.0) / 1.8
    assert_close(condensing_efficiency(return_c=water_c), burnt - 0.015, abs=0.002, why="water in the flue")
    assert_close(condensing_efficiency(return_c=water_c, losses=0.04), burnt - 0.04, abs=0.002, why="water in the flue")


@pytest.mark.analytic
def test_spaces_beside_the_house_lie_between_it_and_the_cold() -> None:
    """Design cold -12 °C, 21 °C indoors: b = 0.3 is 0.7 of 33 K above the cold, 11.1 °C; 0.65 is 0.35 of it, -0.45 °C."""
    beside = [{"id": "x", "kind": "porch", "walls": ["a:west"], "temperature_factor": 0.3},
              {"id": "y", "kind": "garage", "walls": ["b:east"], "temperature_factor": 0.65}]  # fmt: skip
    one = two(
        buffer=beside, household={"heating_set_point": "21 °C"}, heater=[{"id": "h", "room": "a", "power": 1000}],
        climate={"year": "greensboro", "heating_design": "-12 °C", "mean_annual": "8 °C"},
    )  # fmt: skip
    told = heating_design(one, derive(one), climate_of(one, Path()), doors="open").forcing
    want = np.tile([-12.0, -12.0, 8.0, 11.1, -0.45], (24, 1))
    assert_close(told.boundary_c, want, abs=1e-9, why="air, a sky as cold as it, ground, both spaces")
    assert_close(told.outdoor_c, np.full(24, -12.0), abs=1e-12, why=EXACT)
    for still in (told.source_w, told.gains_w, told.wind_pa, told.vapour_kg_s, told.gas_kg_s):
        assert not np.any(still), "no sun, no people, no wind"


# ------------------------------------------------------------------------------------------------ a warm floor


def floor_day() -> _Day:
    """Loop `c` warms 10 of 20 m2 of room `a`; it passes `b` with 4 m of leaders, loop `d` with 6 m."""
    cell = SlabCell(4.0, 0.4, 1.1)

    def run(name: str, field: str, metres: float) -> TubeRun:
        line = LineString([(0.0, 0.0), (60.0, 0.0)])
        return TubeRun(name, name, line, (), {"b": metres}, {field: box(0.0, 0.0, 5.0, 2.0)}, 0.2, 0.0, 0.1)

    day = _Day.__new__(_Day)
    day.plan = TubePlan((run("c", "a", 4.0), run("d", "e", 6.0)), {}, {}, {}, 0.05)
    day.facts = {"a": _Facts(20.0, 700.0, 200.0, 20.0, 10.0), "b": _Facts(18.0, 300.0, 50.0, 8.0, 10.0)}
    day.builds = {"c": Build(cell, 0.2, 0.1, 0.2, 1.0, 0.0), "d": Build(cell, 0.2, 0.3, 0.4, 2.0, 0.0)}
    day.strips = {"c": Build(cell, 0.05, 0.1, 0.2, 1.0, 0.0), "d": Build(cell, 0.05, 0.05, 0.4, 2.0, 0.0)}
    return day


@pytest.mark.analytic
def test_leaders_warm_the_room_that_they_pass() -> None:
    """A strip of 0.05 m each metre, and 0.18 m along a bundle of half the longest (3 m) parted by length: 0.416 and
    0.624 m2. Level of the tubes: (35/0.1 + 18/0.2 + 10)/16 = 28.125 °C and (32/0.05 + 18/0.4 + 10/2)/23 = 30 °C."""
    day = floor_day()
    got = [day.leader_m2(run, "b") for run in day.plan.runs]
    assert_close(got, [4.0 * 0.05 + 0.18 * 3.0 * 0.4, 6.0 * 0.05 + 0.18 * 3.0 * 0.6], rel=1e-12, why=EXACT)
    want = 0.416 * (28.125 - 18.0) / 0.2 + 0.624 * (30.0 - 18.0) / 0.4
    assert_close(day.leader_w("b", {"c": 35.0, "d": 32.0}), want, rel=1e-12, why=EXACT)
    assert day.leader_w("a", {"c": 35.0, "d": 32.0}) == 0.0, "none pass there"


@pytest.mark.analytic
def test_water_that_a_field_needs() -> None:
    """700 W less half of 200 into the ground less 100 W of leaders: 50 W/m2, 30 °C at the tubes, 20 W/m2 down, so
    37 °C; more leaders than asked leave nothing: 20 °C at the tubes, 10 W/m2 down, 21 °C."""
    day = floor_day()
    assert_close(day.asks_w("a"), 600.0, rel=1e-12, why=EXACT)
    assert_close(day.water_c("a", 100.0), 37.0, rel=1e-12, why=EXACT)
    assert_close(day.water_c("a", 900.0), 21.0, rel=1e-12, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize(("separation", "supply_c"), [("none", 40.0), ("exchanger", 44.0)])
def test_the_heater_of_a_floor_meets_its_part_loads(separation: Literal["none", "exchanger"], supply_c: float) -> None:
    """4 to 20 kW at 0.85: 3,400 to 17,000 W to the water. Ten litres of 4.15e6 J/m3K between 20 °F (11.1 K): 460,650 J;
    run E/(3400 - Q), rest E/Q, a store of 600 (3400 - Q)/(4.15e6 x 11.1) less the ten litres. Its water falls by the
    floor's 6 K, by an exchanger of 0.6 from 34 + 6/0.6."""
    heater = {"id": "h", "kind": "tankless", "fuel": "gas", "venting": "power-vented", "input_minimum": "4 kW",
              "input_maximum": "20 kW", "efficiency": 0.85, "feeds_floor": True, "separation": separation}  # fmt: skip
    one = two(water_heater=[heater], floor={"exchanger_effectiveness": 0.6})
    heat: Any = SimpleNamespace(supply_c=40.0, heat_w=8000.0)
    water: Any = SimpleNamespace(return_c=34.0, volume_m3=0.01, fluid=SimpleNamespace(heat_j_m3k=4.15e6))
    told = calculate_source(one, heat, water, -10.0)
    assert told is not None
    got = (told.least_w, told.most_w, told.supply_c, told.return_c, told.efficiency)
    assert_close(got, (3400.0, 17000.0, supply_c, supply_c - 6.0, 0.85), rel=1e-9, why=EXACT)
    assert_close([row.load_w for row in told.part_loads], [8000.0, 6000.0, 4000.0, 2000.0, 800.0], rel=1e-9, why=EXACT)
    assert [row.starts_per_h for row in told.part_loads[:3]] == [0.0, 0.0, 0.0]
    for row in told.part_loads[3:]:
        run, rest = 460650.0 / (3400.0 - row.load_w), 460650.0 / row.load_w
        buffer = 600.0 * (3400.0 - row.load_w) / (4.15e6 * 11.1) - 0.01
        got = (row.run_s, row.rest_s, row.starts_per_h, row.buffer_m3)
        assert_close(got, (run, rest, 3600.0 / (run + rest), buffer), rel=1e-9, why=EXACT)
    silent = calculate_source(unsaid(one), heat, water, -10.0)
    assert silent is not None
    assert (silent.least_w, silent.most_w) == (None, None)


def unsaid(one: House) -> House:
    """The same house, its heater without least and greatest fire."""
    bare = one.water_heater[0].model_copy(update={"input_minimum_w": None, "input_maximum_w": None})
    return cast(House, one.model_copy(update={"water_heater": (bare,)}))


@pytest.mark.analytic
def test_taps_where_the_street_is_as_warm_as_the_heater() -> None:
    """A tap of 40 °C, a heater of 35 °C, a street that is 24 to 42 °C by month: all of it is hot water that never gets
    to 40, or none where the street's water alone is warmer."""
    shower = {"id": "f", "room": "a", "kind": "shower", "flow": "0.1 L/s", "mixed": "40 °C", "use": 0.5}
    heater = {"id": "w", "room": "a", "kind": "tankless", "fuel": "electric", "set_point": "35 °C"}
    one = two(fixture=[shower], water_heater=[heater], climate={"heating_design": "15 °C", "mean_annual": "30 °C"})
    seasons = calculate_hot_water(one, climate_of(one, Path())).seasons
    mains = np.array([season.mains_c for season in seasons])
    assert mains.min() < 35.0
    assert mains.max() > 40.0
    assert np.any((mains > 35.2) & (mains < 39.8))
    want = np.where(mains < 40.0, 1e-4, 0.0)
    assert_close([season.peak_m3_s for season in seasons], want, abs=1e-12, why=EXACT)


# ------------------------------------------------------------------------------------------------ mould, hour by hour


@pytest.mark.analytic
@pytest.mark.parametrize("surface", ["sensitive", "medium"])
def test_mould_of_many_cases_is_that_of_each_hour_by_hour(surface: str) -> None:
    """Three months of six walls side by side, some damp now and then and some not, one of them never: the model's two
    lines, told hour after hour and case after case by a plain loop."""
    dice, hours, cases = np.random.default_rng(11), 2200, 6
    air = 14.0 + 8.0 * np.sin(np.arange(hours)[:, None] / 300.0) + dice.normal(0.0, 2.0, (hours, cases))
    damp = np.clip(
        np.linspace(0.5, 0.93, cases) + 0.15 * np.sin(np.arange(hours)[:, None] / 40.0 + np.arange(cases)), 0.2, 0.99
    )
    kind, start = CLASSES[surface], np.linspace(0.0, 2.5, cases)
    told = mould_index(temperature_c=air, humidity=damp, surface=surface, start=start, decline=0.5)
    critical = critical_percent(temperature_c=air, least_percent=kind.least_percent)
    want = np.empty((hours, cases))
    for case in range(cases):
        index, out_h = float(start[case]), 0
        for hour in range(hours):
            t, rh, least = float(air[hour, case]), 100.0 * float(damp[hour, case]), float(critical[hour, case])
            if t > 0.0 and rh >= least:
                x = (least - rh) / (least - 100.0)
                most = kind.a + kind.b * x - kind.c * x * x
                slows = max(0.0, 1.0 - math.exp(2.3 * (index - most)))
                fast = kind.slow if index < 1.0 else kind.fast
                index += fast * slows / (168.0 * math.exp(-0.68 * math.log(t) - 13.9 * math.log(rh) + 66.02))
                out_h = 0
            else:
                out_h += 1
                index = max(0.0, index - 0.5 * (0.00133 if out_h <= 6 else 0.0 if out_h <= 24 else 0.000667))
            want[hour, case] = index
    assert_close(told, want, abs=1e-9, why="a plain loop of the same two lines, rounding only")
    assert (told[:, 0] <= start[0]).all()
    assert told[-1, -1] > start[-1]


# ------------------------------------------------------------------------------------------------ rounds


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("factor", "weight", "want"),
    [
        (-1.5, 1.0, 0.4),
        (-1.5, 0.3, 0.4),
        (0.5, 0.4, 1.0),
        (-0.25, 0.5, 0.8),
        (-99.0, 1.0, LEAST_WEIGHT),
        (1.2, 0.5, 1.0),
    ],
)
def test_rounds_of_a_line_take_what_brings_them_home_at_once(factor: float, weight: float, want: float) -> None:
    """Where the answer is `factor` times the guess, a change of r leaves (1 - w (1 - factor)) r, and 1/(1 - factor) of
    that brings nothing more: no more than all of it, no less than the least, all of it where changes grow one way."""
    last = np.array([0.3, -0.2])
    change = (1.0 - weight * (1.0 - factor)) * last
    assert_close(relaxed(weight, last, change), want, rel=1e-9, why=EXACT)
