"""Pieces of the design by hand: shares of streams, ground that swings, tubes, heads, a tank, tubes near a face."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import LineString, box

from inshell.climate.choose import climate_of
from inshell.design.cold_day import calculate_cold_day, heated_rooms
from inshell.design.cold_ducts import RecoveryAir
from inshell.design.drivers import prepare
from inshell.design.dry_year import outdoor_vapour_pa
from inshell.design.envelope import calculate_slab, f_factor_loss_w_k, ground_swing
from inshell.design.floor_heat import Build, FloorHeat, LoopHeat
from inshell.design.floor_water import calculate_water
from inshell.design.floor_year import with_tubes
from inshell.design.head_year import ModeYear, head_years, heater_kwh
from inshell.design.heads import Map
from inshell.design.hot_water_use import HotWater, calculate_hot_water
from inshell.design.room_days import Season, settled_state
from inshell.design.tube_plan import TubeRun
from inshell.house.geometry import derive
from inshell.house.model.house import House
from inshell.physics.heat_pump import cycles_per_hour
from inshell.physics.slab_cell import SlabCell, slab_cell
from inshell.study.remedies import remedies_of
from tests.evidence import assert_close
from tests.houses import house, rectangle
from tests.test_coupled import one_room, steady_forcing

EXACT = "by hand, rounding only"
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]


def two(**more: object) -> House:
    return house(TWO, **more)


@pytest.mark.analytic
def test_a_house_as_warm_as_outdoors_feels_as_warm_as_its_air() -> None:
    """Outdoors, ground and set point at 17 °C: every surface is at 17, so half of air and half of surfaces is 17."""
    still = {"heating_design": "17 °C", "mean_annual": "17 °C"}
    one = two(climate=still, household={"heating_set_point": "17 °C"}, heater=[{"id": "h", "room": "a", "power": 1000}])
    told = calculate_cold_day(one, derive(one), climate_of(one, Path()), doors_open=True, heated=heated_rooms(one))
    for room in ("a", "b"):
        assert_close((told.room_c[room], told.operative_c[room]), (17.0, 17.0), abs=1e-6, why="nothing drives heat")
        assert_close(told.heat_w[room], 0.0, abs=1e-3, why="nothing drives heat")


@pytest.mark.analytic
@pytest.mark.parametrize(("supply", "exhaust"), [(0.03, 0.02), (0.02, 0.03)])
def test_the_larger_stream_exceeds_the_smaller_by_a_third(supply: float, exhaust: float) -> None:
    """0.03 and 0.02 m3/s, whichever is which: 0.01 of 0.03."""
    unit = RecoveryAir("u", supply, exhaust, supply, "none", 0, 0.7, 100.0, 0.0, 0.0, 0, None)
    assert_close(unit.unbalance, 1.0 / 3.0, rel=1e-12, why=EXACT)


@pytest.mark.published
@pytest.mark.parametrize(("vapour_pa", "pressure_pa"), [(1000.0, 101325.0), (3000.0, 101325.0), (800.0, 80000.0)])
def test_vapour_pressure_from_the_share_of_mass(vapour_pa: float, pressure_pa: float) -> None:
    """Specific humidity 0.621945 e / (p - 0.378055 e) (ASHRAE Fundamentals, Psychrometrics), solved for e again."""
    share = 0.621945 * vapour_pa / (pressure_pa - 0.378055 * vapour_pa)
    ready: Any = SimpleNamespace(
        forcing=SimpleNamespace(outdoor_vapour=np.array([share, 0.0])), system=SimpleNamespace(pressure_pa=pressure_pa)
    )
    assert_close(outdoor_vapour_pa(ready), [vapour_pa, 0.0], rel=1e-9, abs=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ ground


@pytest.mark.published
@pytest.mark.parametrize(("under", "covering"), [(1.95, 0.0), (1.7, 0.25), (0.0, 1.95)])
def test_the_ground_swings_by_its_periodic_coefficient(under: float, covering: float) -> None:
    """ISO 13370 (from memory): floor of 4 x 3 m on clay, wall 0.2 m, 0.1/2 + 1.95 = 2 m2K/W wherever it lies.

    dt = 0.2 + 1.5 (0.17 + 2 + 0.04) = 3.515, B' = 12/7, U = 1.5/(0.457 B' + dt), Hpe = 0.37 x 14 x 1.5 ln(2.2/dt + 1).
    """
    slab = {"id": "s", "thickness": "0.1 m", "conductivity": "2 W/mK", "under_r": under, "covering_r": covering}
    one = house(TWO[:1], slab=[slab], site={"latitude": 40, "longitude": -80, "soil": "clay"})
    dt = 3.515
    loss = 12.0 * 1.5 / (0.457 * 12.0 / 7.0 + dt)
    assert_close(ground_swing(one, derive(one)), 0.37 * 14.0 * 1.5 * math.log(2.2 / dt + 1.0) / loss, rel=1e-9,
                 why=EXACT)  # fmt: skip
    told = calculate_slab(one, derive(one), one.slab[0])
    assert told is not None
    assert_close((told.dt_m, told.u_w_m2k), (dt, loss / 12.0), rel=1e-9, why=EXACT)


@pytest.mark.published
def test_a_heated_slab_with_a_little_insulation_has_no_row() -> None:
    """The factors of Washington Administrative Code 51-11C begin at none and at R-5; R-2 lies between and has none."""
    factors = {}
    for under in ("R-0", "R-2", "R-5", "R-7"):
        one = house(TWO[:1], slab=[{"id": "s", "under_r": under, "heated": True}])
        factors[under] = f_factor_loss_w_k(derive(one), one, one.slab[0])
    assert factors["R-2"] is None
    got = [factors[name] or 0.0 for name in ("R-0", "R-5", "R-7")]
    want = [f * 1.7307 * 14.0 for f in (0.84, 0.74, 0.74)]
    assert_close(got, want, rel=1e-4, why="five digits of the conversion; rounded down to what the table knows")


@pytest.mark.published
@pytest.mark.parametrize(
    ("r", "depth", "factor"), [("R-8", "4 ft", 0.73), ("R-10", "1 ft", 0.73), ("R-12", "3 ft", 0.54)]
)
def test_insulation_along_the_edge_counts_from_ten_and_two_feet(r: str, depth: str, factor: float) -> None:
    """Washington Administrative Code 51-11C: none 0.73, R-10 two feet deep 0.54, rounded down to what the table knows."""
    one = house(TWO[:1], slab=[{"id": "s", "edge": {"kind": "vertical", "r": r, "depth": depth}}])
    got = f_factor_loss_w_k(derive(one), one, one.slab[0])
    assert_close(got or 0.0, factor * 1.7307 * 14.0, rel=1e-4, why="five digits of the conversion")


# ------------------------------------------------------------------------------------------------ a warm floor


def laid(one: House, *, tube: float, strip: float, field_m2: float, leader_m2: float, flow_m3_s: float) -> FloorHeat:
    """One loop under a room `a`, whose leaders pass through `b`, with these resistances to the water."""
    cell = SlabCell(4.0, 0.4, 1.1)
    run = TubeRun(
        "c", "c", LineString([(0.0, 0.0), (60.0, 0.0)]), (), {"b": 6.0}, {"a": box(0.0, 0.0, field_m2, 1.0)}, 0.2, 0.0, 0.1
    )  # fmt: skip
    loop = LoopHeat(run, one.circuit[0], 40.0, 34.0, flow_m3_s, 400.0, 40.0, 10.0, Build(cell, 0.1, strip, 0.2, 2.0, 0.0),
                    {"b": leader_m2})  # fmt: skip
    return FloorHeat((), (loop,), {"c": Build(cell, 0.2, tube, 0.2, 2.0, 0.0)}, "a", 40.0, 40.0, 10.0)


@pytest.mark.analytic
@pytest.mark.parametrize("flow_m3_s", [1e-5, 4e-5, 1.0])
def test_tubes_pass_what_an_exchanger_to_one_temperature_passes(flow_m3_s: float) -> None:
    """Water over a slab at one temperature: m c (1 - exp(-W/(m c))), W = 10/0.05 + 1.5/0.04 = 237.5 W/K in the ratio of
    its parts; with very much water W itself."""
    slab = {"id": "s", "thickness": "0.1 m", "under_r": 2.0, "heated": True}
    one = two(
        slab=[slab], circuit=[{"id": "c", "rooms": ["a"], "manifold": "m", "spacing": "0.2 m"}],
        manifold=[{"id": "m", "room": "b"}], climate={"year": "greensboro", "heating_design": "-10 °C"},
    )  # fmt: skip
    hours = np.arange(2, dtype=np.int64)
    bare = prepare(one, derive(one), climate_of(one, Path()), hours=hours, doors="open", makers="heads")
    heat = laid(one, tube=0.05, strip=0.04, field_m2=10.0, leader_m2=1.5, flow_m3_s=flow_m3_s)
    water = calculate_water(one, heat)
    ready, mine = with_tubes(one, bare, heat, water, hours, -10.0)
    carries = flow_m3_s * water.fluid.heat_j_m3k
    room_of = {core.node: core.room for core in bare.thermal.cores}
    parts = [sum(t.w_k for t in ready.system.tubes if room_of[t.node] == k) for k in (0, 1)]
    assert_close(sum(parts), carries * -math.expm1(-237.5 / carries), rel=1e-9, why=EXACT)
    assert_close(parts[0] / parts[1], 200.0 / 37.5, rel=1e-9, why="as much of it as of the conductance")
    assert mine == {"c": list(range(len(ready.system.tubes)))}


def mirrored(depth_m: float) -> SlabCell:
    """A slab of 0.1 m with 16 mm tube whose two faces are alike: 0.5 m2K/W to either side."""
    return slab_cell(
        thickness_m=0.1, conductivity_w_mk=1.8, spacing_m=0.2, depth_m=depth_m, outer_m=0.016, wall_m=0.002,
        tube_w_mk=0.38, cover_r_m2k_w=0.5 - 1.0 / 10.8, below_r_m2k_w=0.5,
    )  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize("depth_m", [0.008, 0.0082, 0.009, 0.02, 0.04, 0.05])
def test_a_floor_upside_down_gives_up_what_it_gave_down(depth_m: float) -> None:
    """Equal layers on both sides: a tube as near the bottom as another lies to the top, down to touching the face."""
    high, low = mirrored(depth_m), mirrored(0.1 - depth_m)
    got = (low.k_down_w_m2k, low.k_up_w_m2k)
    assert_close(got, (high.k_up_w_m2k, high.k_down_w_m2k), rel=1e-9, why="the mirrored grid")
    assert high.k_up_w_m2k >= high.k_down_w_m2k * (1.0 - 1e-9)


@pytest.mark.invariant
@pytest.mark.parametrize("touching_m", [0.008, 0.092])
def test_a_tube_that_touches_a_face_is_solved_as_one_just_within(touching_m: float) -> None:
    """The last millimetre of cover over a tube changes a floor by no more than two per cent."""
    near = mirrored(touching_m + math.copysign(0.001, 0.05 - touching_m))
    got = mirrored(touching_m)
    want = (near.k_up_w_m2k, near.k_down_w_m2k)
    assert_close((got.k_up_w_m2k, got.k_down_w_m2k), want, rel=0.02, why="a millimetre of slab")


# ------------------------------------------------------------------------------------------------ heads


POINTS = [
    {"mode": "heating", "outdoor": "0 °C", "minimum": "1000 W", "maximum": "3000 W", "power": "900 W",
     "minimum_power": "250 W"},
]  # fmt: skip


def hour_of(one: House, *holder_w: float, removed_kg: float = 0.0) -> dict[tuple[str, str], ModeYear]:
    """One hour at 0 °C outdoors: what the rooms' holders gave, water that came out of room `a`."""
    told = head_years(one, ("a", "b"), np.zeros(1), np.array([holder_w]), np.array([[removed_kg, 0.0]]))
    return {(year.unit, year.mode): year for year in told}


def head(name: str, room: str = "a", **more: object) -> dict[str, object]:
    return {"id": name, "room": room, "point": POINTS} | more


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("load_w", "electric_w", "starts", "below", "at_most"),
    [
        (500.0, 250.0 * 4.0 / 7.0, 12.0 * 4.0 / 7.0 * 3.0 / 7.0, 1, 0), (1000.0, 250.0, 0.0, 0, 0),
        (1500.0, 412.5, 0.0, 0, 0), (2000.0, 575.0, 0.0, 0, 0), (3000.0, 900.0, 0.0, 0, 1), (2930.0, 877.25, 0.0, 0, 0),
    ],
)  # fmt: skip
def test_an_hour_of_a_head_by_its_data_sheet(
    load_w: float, electric_w: float, starts: float, below: int, at_most: int
) -> None:
    """Least 1,000 W for 250 W, most 3,000 W for 900: linear between, 250 + 650 (Q - 1000)/2000; below the least half of
    it for 0.5/(1 - 0.25 x 0.5) = 4/7 of the time, which starts 12 X (1 - X) times (10 CFR 430 appendix M1 and the
    thermostat's parabola, from memory)."""
    told = hour_of(two(head=[head("h")]), load_w, 0.0)["h", "heating"]
    assert told.electric_kwh is not None
    assert_close(told.electric_kwh * 1000.0, electric_w, rel=1e-9, why=EXACT)
    assert_close(told.starts, starts, abs=1e-9, why=EXACT)
    assert_close(told.delivered_kwh * 1000.0, load_w, rel=1e-12, why=EXACT)
    assert (told.hours, told.below_least_h, told.at_most_h, told.below_share) == (1.0, below, at_most, below)


@pytest.mark.analytic
def test_without_power_at_the_least_it_takes_as_much_of_its_most() -> None:
    """900 W x 1000/3000 = 300 W at the least; half way between it and 900 at 2,000 W: 600."""
    points = [{key: value for key, value in POINTS[0].items() if key != "minimum_power"}]
    told = hour_of(two(head=[head("h", point=points)]), 2000.0, 0.0)["h", "heating"]
    assert_close((told.electric_kwh or 0.0) * 1000.0, 600.0, rel=1e-9, why=EXACT)
    bare = [{key: value for key, value in points[0].items() if key != "power"}]
    assert hour_of(two(head=[head("h", point=bare)]), 2000.0, 0.0)["h", "heating"].electric_kwh is None


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("load_w", "electric_w", "below", "at_most"),
    [(2750.0, 787.5, 0, 0), (1500.0, 375.0, 0, 0), (1200.0, 375.0 * 0.8 / 0.95, 1, 0), (3950.0, 1183.5, 0, 1)],
)
def test_two_heads_on_one_outdoor_unit(load_w: float, electric_w: float, below: int, at_most: int) -> None:
    """Two of 1,000 to 3,000 W on a unit of 1,500 to 4,000: most 4,000 for 1800 x 4/6 = 1,200 W, least 1,500 for
    250 x 1.5 = 375, between them 375 + 825 (Q - 1500)/2500; below it Q/1500 = 0.8 for 0.8/(1 - 0.25 x 0.2) of the time."""
    one = two(
        head=[head("h", outdoor_unit="o"), head("k", "b", outdoor_unit="o")],
        outdoor_unit=[{"id": "o", "minimum": "1500 W", "maximum": "4000 W"}],
    )
    told = hour_of(one, 0.6 * load_w, 0.4 * load_w)["o", "heating"]
    assert told.heads == ("h", "k")
    assert_close((told.electric_kwh or 0.0) * 1000.0, electric_w, rel=1e-9, why=EXACT)
    assert_close(told.delivered_kwh * 1000.0, load_w, rel=1e-9, why="both rooms")
    assert (told.below_least_h, told.at_most_h) == (below, at_most)


@pytest.mark.analytic
def test_heads_of_one_room_part_it_by_what_they_can_and_a_heater_takes_the_rest() -> None:
    """3,000 and 1,000 W give 3 : 1 of 2,000 W; of 5,000 W they give 4,000 and a heater beside them 1,000."""
    small = [POINTS[0] | {"minimum": "500 W", "maximum": "1000 W", "power": "300 W"}]
    pair = [head("h"), head("k", point=small)]
    for more, load_w, given, rest in (
        ({}, 2000.0, 2000.0, 0.0),
        ({"heater": [{"id": "r", "room": "a", "power": "2 kW"}]}, 5000.0, 4000.0, 1.0),
    ):
        one = two(head=pair, **more)
        told = hour_of(one, load_w, 0.0)
        got = [told[name, "heating"].delivered_kwh * 1000.0 for name in ("h", "k")]
        assert_close(got, [0.75 * given, 0.25 * given], rel=1e-9, why=EXACT)
        left = heater_kwh(one, ("a", "b"), np.zeros(1), np.array([[load_w, 0.0]]))
        assert_close(left, rest, abs=1e-9, why=EXACT)


@pytest.mark.analytic
def test_cold_that_is_given_counts_the_water_taken_out() -> None:
    """1,000 W of the air and half a kilogram an hour of 2.45 MJ/kg (water at room temperature): 1,340 W; no heat."""
    both = [POINTS[0], POINTS[0] | {"mode": "cooling"}]
    told = hour_of(two(head=[head("h", point=both)]), -1000.0, 0.0, removed_kg=0.5)
    latent = 0.5 * 2.45e6 / 3600.0
    assert_close(told["h", "cooling"].delivered_kwh * 1000.0, 1000.0 + latent, rel=5e-3, why="2.44 to 2.46 MJ/kg")
    assert_close(told["h", "heating"].delivered_kwh, 0.0, abs=1e-12, why="nothing is heated")
    assert (told["h", "heating"].hours, told["h", "heating"].below_share) == (0.0, 0.0)
    cold = told["h", "cooling"]
    assert_close(cold.seasonal_ratio or 0.0, cold.delivered_kwh / (cold.electric_kwh or 1.0), rel=1e-12, why=EXACT)


@pytest.mark.published
def test_a_thermostat_starts_most_often_at_half_load() -> None:
    """N = 4 Nmax X (1 - X) (NEMA DC 3, from memory): Nmax at X = 1/2, 3/4 of it at 1/4 and 3/4, none at the ends."""
    shares = np.array([0.0, 0.25, 0.5, 0.75, 1.0, 1.5])
    for most in (3.0, 6.0):
        got = cycles_per_hour(run=shares, most=most)
        assert_close(got, most * np.array([0.0, 0.75, 1.0, 0.75, 0.0, 0.0]), abs=1e-12, why=EXACT)


@pytest.mark.analytic
def test_beyond_a_data_sheet_is_colder_in_heating_and_hotter_in_cooling() -> None:
    """Points from 0 to 30 °C: half a kelvin past an end is still that point, one kelvin is not."""
    row = np.array([1000.0, 900.0])
    sheet = Map(np.array([0.0, 30.0]), row, row, row, row)
    outdoor = np.array([-1.0, -0.5, 0.0, 15.0, 30.0, 30.5, 31.0])
    assert sheet.beyond(outdoor, "heating").tolist() == [True] + 6 * [False]
    assert sheet.beyond(outdoor, "cooling").tolist() == 6 * [False] + [True]


@pytest.mark.invariant
def test_set_points_move_away_from_outdoors() -> None:
    """A kelvin further: cooler where it cools, warmer where it heats; nothing else of the house changes."""
    one = two(head=[{"id": "h", "room": "a"}], household={"heating_set_point": "20 °C", "cooling_set_point": "25 °C"})
    made = {remedy.id: remedy for remedy in remedies_of(one, "b", "a")}["set-points"]
    changed = made.house.household
    assert_close((changed.heating_set_point_c, changed.cooling_set_point_c), (21.0, 24.0), rel=1e-12, why=EXACT)
    assert made.house.model_copy(update={"household": one.household}) == one


# ------------------------------------------------------------------------------------------------ days and taps


@pytest.mark.analytic
@pytest.mark.parametrize(("season", "stands_c"), [("heating", 18.0), ("cooling", 26.0)])
def test_what_nothing_drives_stands_at_the_set_point_of_its_season(season: Season, stands_c: float) -> None:
    """A heavy room, outdoors as warm as its set point: it stays there. One that began elsewhere comes back so slowly
    (4e6/5 s, nine days) that a day moves it by less than 0.01 K while it is still a tenth away."""
    one = two(household={"heating_set_point": "18 °C", "cooling_set_point": "26 °C"})
    system = one_room(ua=5.0, capacity=4e6)
    ready: Any = SimpleNamespace(system=system, forcing=steady_forcing(system, 24, outdoor_c=stands_c))
    told = settled_state(one, ready, season)
    assert_close(told.nodes_c, np.full(system.nodes, stands_c), abs=1e-6, why="nothing drives it")


def taps(**heater: object) -> HotWater:
    """A shower of 6 L/min at 40 °C that runs half of the busiest hour, fed by a heater that makes 50 °C."""
    shower = {"id": "f", "room": "a", "kind": "shower", "flow": "0.1 L/s", "mixed": "40 °C", "use": 0.5}
    made = {"id": "w", "room": "a", "fuel": "electric", "set_point": "50 °C", "efficiency": 0.9} | heater
    one = two(fixture=[shower], water_heater=[made])
    return calculate_hot_water(one, climate_of(one, Path()))


@pytest.mark.analytic
def test_a_tank_lasts_as_long_as_it_falls_short() -> None:
    """0.2 m3, seven tenths of it usable, against 1e-4 (40 - c)/(50 - c) less 0.9 x 4000 W/(4.16e6 (50 - c)) m3/s; water
    of 25 to 35 °C holds 4.16e6 J/m3K (steam tables)."""
    told = taps(kind="tank", input_maximum="4 kW", stored="0.2 m3")
    for season in told.seasons:
        share = (40.0 - season.mains_c) / (50.0 - season.mains_c)
        able = 3600.0 / (4.16e6 * (50.0 - season.mains_c))
        assert_close(season.peak_m3_s, 1e-4 * share, rel=1e-6, why="heat balance of the mix")
        assert season.able_m3_s is not None
        assert season.lasts_s is not None
        assert_close(season.able_m3_s, able, rel=5e-3, why="water's heat to half a per cent")
        assert_close(season.lasts_s, 0.14 / (1e-4 * share - able), rel=5e-3, why="water's heat to half a per cent")
        assert_close(season.beyond_share or 0.0, 0.5, rel=1e-12, why="as often as the shower runs")
        assert_close(season.peak_w, 1e-4 * 4.16e6 * (40.0 - season.mains_c), rel=5e-3, why="as above")


@pytest.mark.analytic
def test_a_tank_is_asked_only_where_the_heater_falls_short() -> None:
    """20 kW keep up with one shower; without a store nothing lasts; a store alone lasts 0.14 m3 over what is drawn."""
    strong = taps(kind="tank", input_maximum="20 kW", stored="0.2 m3").seasons[0]
    assert (strong.lasts_s, strong.beyond_share) == (None, 0)
    assert taps(kind="tankless", input_maximum="4 kW").seasons[0].lasts_s is None
    alone = taps(kind="heat-pump-tank", stored="0.2 m3").seasons[0]
    assert alone.able_m3_s is None
    assert_close(alone.lasts_s or 0.0, 0.14 / alone.peak_m3_s, rel=1e-9, why=EXACT)


@pytest.mark.published
@pytest.mark.parametrize("named", ["greensboro", "miami", "sand-point", ""])
def test_water_of_the_street_follows_the_air_a_month_behind(named: str) -> None:
    """[°F] coldest and warmest differ by r x the swing of the monthly means, r = 0.4 + 0.01 (Ta - 44), about Ta + 6, on
    days 15 + lag and half a year later, lag = 35 - (Ta - 44) (form published, coefficients from memory). Without a year
    22 K (common practice) about the mean of the file, 9 °C."""
    heater = {"id": "w", "kind": "tankless", "fuel": "gas"}
    weather = {"climate": {"year": named, "heating_design": "-10 °C"}} if named else {}
    one = two(water_heater=[heater], **weather)
    climate = climate_of(one, Path())
    seasons = calculate_hot_water(one, climate).seasons
    assert [season.month for season in seasons] == list(range(1, 13))
    mean, swing = (climate.year.mean_c, climate.year.monthly_swing_k) if climate.year else (9.0, 22.0)
    mains = np.array([season.mains_c for season in seasons])
    ratio = 0.4 + 0.01 * (1.8 * mean + 32.0 - 44.0)
    assert_close(np.ptp(mains), ratio * swing, rel=0.04, why="middles of months lie within 15 days of the ends")
    assert_close(mains.mean(), mean + 6.0 / 1.8, abs=0.1, why="a year less the rest of 12 x 30.4 days")
    coldest = 15.0 + 35.0 - (1.8 * mean + 32.0 - 44.0)
    for month, day in ((mains.argmin(), coldest), (mains.argmax(), coldest + 182.5)):
        assert abs(15.0 + 30.4 * month - day) <= 16.0, "the month whose middle is nearest"


@pytest.mark.analytic
def test_what_a_tap_draws_in_the_coldest_week() -> None:
    """Its own figures where it has them; hot water is (40 - c)/(50 - c) of it at the year's coldest mains."""
    told = taps(kind="tank", input_maximum="4 kW")
    cold = min(season.mains_c for season in told.seasons)
    (draw,) = told.draws
    assert (draw.id, draw.kind) == ("f", "shower")
    got = (draw.flow_m3_s, draw.mixed_c, draw.use, draw.hot_m3_s)
    assert_close(got, (1e-4, 40.0, 0.5, 1e-4 * (40.0 - cold) / (50.0 - cold)), rel=1e-6, why=EXACT)
    assert_close(told.totals, [(0.0, 0.5), (draw.hot_m3_s, 0.5)], rel=1e-6, why="it runs half of the time")
    assert (told.heater is not None, told.hot_c, told.most_w) == (True, 50.0, 3600.0)
