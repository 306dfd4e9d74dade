"""Rooms by hand: how high, how damp, what air brings them, water in their ducts, people through the hours, cells, gas."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from inshell.climate.choose import climate_of
from inshell.climate.prepare import _tmy2_columns
from inshell.design.cold_day import _Case
from inshell.design.cold_ducts import RunWater, calculate_run_water
from inshell.design.cooling_load import LATENT, PARTS, calculate_cooling_load
from inshell.design.day_run import calculate_day
from inshell.design.drivers import _inside, with_heads
from inshell.design.envelope import Element, calculate_elements
from inshell.design.observations import observe
from inshell.design.room_year import room_hours
from inshell.house.geometry import derive
from inshell.network.links import Link, LinkKind, Recovery
from inshell.network.reference import Reference
from inshell.network.system import first_state, fraction_of_ppm
from inshell.physics.conduction import Layer, cells_within
from tests.evidence import assert_close
from tests.houses import house, rectangle
from tests.test_coupled import one_room, steady_forcing

EXACT = "by hand, rounding only"
THREE = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
    {"id": "c", "outline": rectangle(7, 0, 9, 3), "ceiling": 2.5, "use": "bath"},
]
WARM = {"year": "greensboro", "heating_design": "-10 °C", "cooling_design": "33 °C"}
PAIR = [{"id": "p", "count": 2, "sleeps_in": "b", "asleep_from": "22:30", "asleep_to": "6:30"}]


# ------------------------------------------------------------------------------------------------ shapes and shells


@pytest.mark.analytic
@pytest.mark.parametrize("floor", [-2.0, 0.0, 1.0])
def test_a_room_is_tall_by_its_own_height(floor: float) -> None:
    """4.2 m from floor to ceiling are tall and 3 m are not (limit 3.5 m, common practice), wherever the floor lies."""
    heights = zip(THREE, (4.2, 3.0, 3.4), strict=True)
    one = house([room | {"ceiling": high, "floor_height": floor} for room, high in heights])
    found = observe(one, derive(one), climate_of(one, Path()), cast(Any, None))
    tall = [f for f in found if f.code == "room-tall"]
    assert [f.where for f in tall] == ["room.a"]
    assert_close(tall[0].values["height"][0], 4.2, rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_a_wall_loses_through_its_area_and_its_bridges() -> None:
    """12 m2 x (0.2 + 0.05) = 3 W/K; every outer piece above ground of a house takes the bridges of its file."""
    assert_close(Element("w", "a", "wall", "outdoors", 12.0, 0.2, 0.05).ua_w_k, 3.0, rel=1e-12, why=EXACT)
    shell: dict[str, Any] = {"wall": "w", "roof": "w", "floor": "s", "partition": "p", "thermal_bridge": 0.05}
    window = {"id": "n", "room": "a", "wall": "south", "width": "1 m", "height": "1.5 m", "glazing": "g"}
    bare, bridged = (house(THREE, enclosure=shell | {"thermal_bridge": b}, window=[window]) for b in (0.0, 0.05))
    losses = [sum(e.ua_w_k for e in calculate_elements(h, derive(h))) for h in (bare, bridged)]
    area = 2.0 * (9.0 + 3.0) * 2.5 + 27.0
    assert_close(losses[1] - losses[0], 0.05 * area, rel=1e-9, why="walls and roof, their window included; no slab")


@pytest.mark.published
@pytest.mark.parametrize(
    ("layer", "period_s", "cells"),
    [
        (Layer(0.2, 1.8, 2400.0, 1000.0), 3600.0, 7), (Layer(0.2, 1.8, 2400.0, 1000.0), 900.0, 14),
        (Layer(0.2, 1.8, 2400.0, 1000.0), 86400.0, 2), (Layer(0.14, 0.13, 500.0, 1600.0), 3600.0, 11),
        (Layer(0.2, 1.8), 3600.0, 1), (Layer(0.05, 1.0, 1200.0, 1000.0, resistance_m2k_w=0.25), 3600.0, 4),
    ],
)  # fmt: skip
def test_cells_are_no_thicker_than_a_swing_reaches(layer: Layer, period_s: float, cells: int) -> None:
    """ISO 13786: delta = sqrt(lambda T/(pi rho c)). Concrete in an hour 29.3 mm: 200/29.3 = 6.8; in a quarter of it half
    as deep, 13.6; in a day 144 mm, 1.4. Wood 13.6 mm: 10.2. A resistance of 0.25 over 50 mm conducts 0.2: 13.8 mm, 3.6."""
    assert cells_within(layer=layer, period_s=period_s) == cells
    held = layer.density_kg_m3 * layer.specific_heat_j_kgk
    if held:
        conducts = layer.thickness_m / layer.r_m2k_w
        delta = math.sqrt(conducts * period_s / (math.pi * held))
        assert (cells - 1) * delta < layer.thickness_m <= cells * delta


# ------------------------------------------------------------------------------------------------ air and what it carries


@pytest.mark.analytic
def test_a_route_brings_the_heat_of_its_air() -> None:
    """m x 1006 J/kgK x (from - to): 0.02 kg/s from 21 to 16 °C bring 100.6 W, 0.01 back -50.3 W; 0.03 kg/s from -9 °C
    that take 0.7 of the 30 K to room a arrive at 12 °C in b: -120.72 W; what leaves by a crack at 16 °C, 25 K over it,
    brings outdoors 0.005 x 1006 x 25 = 125.75 W."""
    links = (Link("door", LinkKind.DOOR, 0, 1), Link("supply", LinkKind.FAN, 2, 1), Link("crack", LinkKind.CRACK, 1, 2),
             Link("still", LinkKind.CRACK, 0, 2))  # fmt: skip
    routes = SimpleNamespace(recoveries=(Recovery(1, 0, 0.7),), network=SimpleNamespace(links=links))
    case = SimpleNamespace(rooms=["a", "b"], outdoor_c=-9.0, routes=routes)
    state = SimpleNamespace(forward_kg_s=np.array([0.02, 0.03, 0.005, 0.0]), back_kg_s=np.array([0.01, 0.0, 0.0, 0.0]))
    told = _Case._routes(cast(Any, case), cast(Any, state), np.array([21.0, 16.0]))
    assert [(r.name, r.from_room, r.to_room) for r in told] == [
        ("door", "a", "b"), ("door", "b", "a"), ("supply", "outdoors", "b"), ("crack", "b", "outdoors"),
    ]  # fmt: skip
    assert_close([r.flow_kg_s for r in told], [0.02, 0.01, 0.03, 0.005], rel=1e-12, why=EXACT)
    want = [0.02 * 1006.0 * 5.0, -0.01 * 1006.0 * 5.0, 0.03 * 1006.0 * -4.0, 0.005 * 1006.0 * 25.0]
    assert_close([r.heat_w for r in told], want, rel=1e-9, why="1006 J/kgK of dry air")


@pytest.mark.analytic
def test_carbon_dioxide_of_a_room_after_a_step_and_its_balance() -> None:
    """M/h (g - g0) = s + m (go - g), implicit: g = (M/h g0 + s + m go)/(M/h + m); 40 kg, 600 s; nothing is left over
    whether more came than left or less, of vapour neither."""
    system = one_room(leak=0.01, fan=0.02)
    stepper, outdoor = Reference(system, 600.0), fraction_of_ppm(420.0)
    for before, source in ((fraction_of_ppm(2000.0), 0.0), (outdoor, 2e-5), (fraction_of_ppm(900.0), 1e-5)):
        forcing = steady_forcing(system, 1, outdoor_c=20.0, gas_kg_s=np.full((1, 1), source))
        state = replace(first_state(system, air_c=20.0), gas=np.array([before]))
        told = stepper.step(state, forcing, 0)
        m = float(told.forward_kg_s[1])
        assert_close(m, 0.02 * 1.2, rel=0.02, why="0.02 m3/s of air of 1.2 kg/m3")
        want = (40.0 / 600.0 * before + source + m * outdoor) / (40.0 / 600.0 + m)
        assert_close(told.gas, [want], rel=1e-9, why="the same implicit step")
        assert max(told.gas_share, told.vapour_share) < 1e-9, (
            "as closely as the air's own flows close; dry room air too"
        )


# ------------------------------------------------------------------------------------------------ water in a duct


def water_in(length_m: float, r_m2k_w: float, *, flow_kg_s: float, outdoor_c: float) -> RunWater:
    """A bath fan's run for four hours, the last one at rest: two thirds of its flow are base, another link is not its."""
    duct = {"diameter": "0.1 m", "length": length_m, "cold_length": length_m, "insulation_r": r_m2k_w}
    one = house(THREE, fan=[{"id": "f", "room": "c", "rated_flow": "0.03 m3/s", "duct": duct}])
    links = tuple(SimpleNamespace(name=name) for name in ("crack", "f", "f boost"))
    ready = SimpleNamespace(
        system=SimpleNamespace(air=SimpleNamespace(links=links), pressure_pa=101325.0),
        routes=SimpleNamespace(network=SimpleNamespace(rooms=("a", "b", "c"))),
        forcing=SimpleNamespace(outdoor_c=np.full(4, outdoor_c)),
    )
    on = np.array([1.0, 1.0, 1.0, 0.0])[:, None]
    series = SimpleNamespace(
        forward_kg_s=on * flow_kg_s * np.array([9.0, 2.0 / 3.0, 1.0 / 3.0]),
        nodes_c=np.tile([5.0, 8.0, 22.0, 3.0], (4, 1)), humidity=np.tile([0.2, 0.3, 0.6], (4, 1)),
    )  # fmt: skip
    return calculate_run_water(one, cast(Any, ready), cast(Any, series), slice(0, 4))[0]


@pytest.mark.published
@pytest.mark.parametrize(("outdoor_c", "held", "freezing"), [(5.0, 872.5, 0), (-10.0, 259.9, 3)])
def test_a_very_long_run_leaves_the_air_what_it_can_hold_outdoors(outdoor_c: float, held: float, freezing: int) -> None:
    """60 % at 22 °C is 1587 Pa (saturation 2645, at 5 °C 872.5, over ice at -10 °C 259.9 Pa: steam tables); the rest of
    0.012 kg/s falls in three of four hours, with R-8 around it as without."""
    told = water_in(200.0, 0.0, flow_kg_s=0.0012, outdoor_c=outdoor_c)
    share = [0.621945 * e / (101325.0 - 0.378055 * e) for e in (0.6 * 2645.0, held)]
    want = 0.0012 * (share[0] - share[1]) * 0.75 * 86400.0
    assert_close(
        (told.litres_day, told.wrapped_l_day), (want, want), rel=0.01, why="steam tables against the short form"
    )
    assert (told.device, told.hours_wet, told.hours_freezing) == ("f", 3, freezing)
    assert_close(told.coldest_wall_c, outdoor_c, abs=0.1, why="its end is as cold as outdoors")


@pytest.mark.invariant
def test_a_run_wrapped_later_gathers_what_one_wrapped_from_the_start_does() -> None:
    """R-8 is 1.4 m2K/W: around a bare run it is a run of 1.4, around one of 0.3 a run of 1.7, and both stay drier."""
    runs = {r: water_in(30.0, r, flow_kg_s=0.012, outdoor_c=-15.0) for r in (0.0, 0.3, 1.4, 1.7)}
    for bare, wrapped in ((0.0, 1.4), (0.3, 1.7)):
        assert_close(runs[bare].wrapped_l_day, runs[wrapped].litres_day, rel=1e-9, why="the same duct")
        assert 0.0 < runs[bare].wrapped_l_day < 0.9 * runs[bare].litres_day


# ------------------------------------------------------------------------------------------------ hours


@pytest.mark.analytic
def test_hours_of_a_room_cold_warm_and_damp() -> None:
    """Held at 20 to 25 °C with 1 and 2 K of comfort: below 19 is cold, above 27 warm; above 0.55 damp. The distance of b
    from a is -4, -1, 0, 3, 4: its 1st and 99th of a hundred lie 0.04 of a step within (-3.88 and 3.96)."""
    one = house(THREE[:2], household={"heating_set_point": "20 °C", "cooling_set_point": "25 °C", "comfort_heating": "1 K",
                                      "comfort_cooling": "2 K", "humidity_most": "55 %"})  # fmt: skip
    air = np.array([[22.0, 18.0], [22.0, 21.0], [24.0, 24.0], [25.0, 28.0], [26.0, 30.0]])
    felt = np.array([[18.5, 18.0], [22.0, 18.0], [24.0, 18.0], [25.0, 26.0], [28.0, 27.5]])
    humidity = np.array([[0.30, 0.60], [0.50, 0.58], [0.56, 0.57], [0.40, 0.70], [0.54, 0.20]])
    first, second = room_hours(one, ("a", "b"), "a", air, felt, humidity)
    assert (first.room, first.cold_h, first.warm_h, first.cold_operative_h) == ("a", 0.0, 0.0, 1.0)
    assert (first.warm_operative_h, first.damp_h, first.offset_low_k, first.offset_high_k) == (1.0, 1.0, 0.0, 0.0)
    assert (second.room, second.cold_h, second.warm_h, second.cold_operative_h) == ("b", 1.0, 2.0, 3.0)
    assert (second.warm_operative_h, second.damp_h, second.outside_h) == (1.0, 4.0, 3.0)
    assert_close((second.offset_low_k, second.offset_high_k), (-3.88, 3.96), rel=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("high_k", [0.0, 1.5, 3.0])
def test_a_thermostat_that_reads_too_much_holds_its_room_too_cool(high_k: float) -> None:
    """It stops at its set points, 20 and 25 °C, where the room is cooler by what it reads too much."""
    one = house(THREE[:1], household={"heating_set_point": "20 °C", "cooling_set_point": "25 °C"},
                head=[{"id": "h", "room": "a", "thermostat_reads_high": f"{high_k} K"}])  # fmt: skip
    system = one_room()
    _, told = with_heads(one, system, steady_forcing(system, 2), np.arange(2, dtype=np.int64), "all")
    assert_close(told.heat_at_c, np.full((2, 1), 20.0 - high_k), rel=1e-12, why=EXACT)
    assert_close(told.cool_at_c, np.full((2, 1), 25.0 - high_k), rel=1e-12, why=EXACT)


@pytest.mark.invariant
@pytest.mark.parametrize("day", [3, 200])
def test_a_day_has_the_weather_of_that_day(day: int) -> None:
    """Its two weeks before are run, into the year before where it is early in January, and not told."""
    one = house(THREE[:1], climate=WARM, heater=[{"id": "h", "room": "a", "power": "3 kW"}])
    climate = climate_of(one, Path())
    assert climate.year is not None
    told = calculate_day(one, derive(one), climate, day=day, doors_open=True, step_s=600.0)
    weather = climate.year.dry_bulb_c.reshape(365, 24)
    assert_close(told.outdoor_c, weather[day], abs=1e-12, why="the same hours")
    assert (told.day, told.room_c.shape, told.heat_w.shape) == (day, (24, 1), (24, 1))


@pytest.mark.analytic
@pytest.mark.parametrize("away", [{}, {"away_from": "8:00", "away_to": "17:00"}])
def test_what_two_people_give_off_through_a_day(away: dict[str, str]) -> None:
    """Asleep 60 W and 50 g/h each in b in hours whose middle lies from 22:30 to 6:30, else 70 W and 90 g/h in the living room; appliances 136 + 2.2 A W
    and 20 + 0.22 A W of water, a shower of 0.24 kg each at 7, a meal of 0.14 kg each at 18 (ASHRAE Fundamentals and
    ASHRAE 160, from memory); 2.45 MJ/kg. By month, hour and room in the cooling load, which counts all in
    whether or not they leave on working days, and hour by hour."""
    one = house(THREE, climate=WARM, person=[PAIR[0] | away])
    geometry, floors = derive(one), np.array([12.0, 9.0, 6.0])
    load = calculate_cooling_load(one, geometry, climate_of(one, Path()))
    heat, water = np.zeros((24, 3)), np.zeros((24, 3))
    for hour in range(24):
        asleep = hour >= 22 or hour < 6
        heat[hour, 1 if asleep else 0] = 120.0 if asleep else 140.0
        water[hour, 1 if asleep else 0] = (0.100 if asleep else 0.180) / 3600.0
    lamps = np.tile(2.2 * floors + [136.0, 0.0, 0.0], (24, 1))
    wet = np.tile((0.22 * floors + [20.0, 0.0, 0.0]) / 2.45e6, (24, 1))
    wet[7, 2] += 2 * 0.24 / 3600.0
    wet[18, 0] += 2 * 0.14 / 3600.0
    sensible = {name: load.sensible_w[..., PARTS.index(name)] for name in ("people", "appliances")}
    assert_close(sensible["people"], np.tile(heat, (12, 1, 1)), rel=1e-9, abs=1e-9, why=EXACT)
    assert_close(sensible["appliances"], np.tile(lamps, (12, 1, 1)), rel=1e-9, abs=1e-9, why=EXACT)
    for k, (name, want) in enumerate(zip(LATENT, (water, wet), strict=False)):
        assert_close(load.latent_w[..., k], np.tile(2.45e6 * want, (12, 1, 1)), rel=1e-9, abs=1e-9, why=name)
    for hour in (5, 6, 7, 8, 18, 22):
        told = _inside(one, geometry, hour, working=not away)
        assert_close(told.heat_w, heat[hour] + lamps[hour], rel=1e-9, why=EXACT)
        assert_close(told.vapour_kg_s, water[hour] + wet[hour], rel=1e-9, why=EXACT)


@pytest.mark.published
def test_tenths_of_a_typical_year() -> None:
    """Typical years of the second set (their user's manual, from memory): temperatures in tenths of °C, wind in tenths
    of m/s, pressure in hPa, sun in Wh/m2, wind from whole degrees."""
    rows = {"DryBulb": [-53, 217], "DewPoint": [-81, 160], "Wspd": [36, 0], "Wdir": [270, 10], "Pressure": [987, 1013],
            "GHI": [0, 512], "DNI": [3, 611], "DHI": [2, 140]}  # fmt: skip
    told = _tmy2_columns(pd.DataFrame(rows))
    want = {"dry_bulb": [-5.3, 21.7], "dew_point": [-8.1, 16.0], "wind_speed": [3.6, 0.0], "wind_direction": [270, 10],
            "pressure": [98700, 101300], "ghi": [0, 512], "dni": [3, 611], "dhi": [2, 140]}  # fmt: skip
    assert set(told) == set(want)
    for name, values in want.items():
        assert_close(told[name], values, rel=1e-12, why=EXACT)
