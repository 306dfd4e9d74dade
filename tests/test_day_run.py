"""A real day: balances, tracers in closed form, sun that lands whole, and what people at home would expect."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from inshell.cli.run import run
from inshell.climate.choose import climate_of
from inshell.climate.prepare import named_year
from inshell.design.coupled import networks_of
from inshell.design.day_run import calculate_day, day_of
from inshell.design.gains import people_at, sun_on_nodes, window_gain_w
from inshell.house.reading import read_house
from inshell.network.compiled import run as advance
from inshell.network.routes import routes_of, wind_pressures_pa
from inshell.network.system import first_state, fraction_of_ppm
from inshell.physics.air import density_kg_m3
from tests.evidence import DEMO, ROOT, assert_close
from tests.test_coupled import one_room, steady_forcing

MICRO = ROOT / "examples" / "micro-house" / "micro-house.toml"


def one_zone(start: float, source_m3_s: float, flow_m3_s: float, volume: float, hours: int) -> float:
    """ppm in one zone of the coupled step, air changed by a fan, five seconds at a time (density cancels)."""
    system = one_room(leak=0.01, fan=flow_m3_s)
    state = first_state(system, air_c=20.0, humidity=0.0)
    rho = float(density_kg_m3(temperature_c=20.0))
    system = replace(system, mass_kg=np.array([rho * volume]))
    state.gas[:] = fraction_of_ppm(start)
    source = rho * volume * fraction_of_ppm(1e6 * source_m3_s / volume)
    still = steady_forcing(system, hours, outdoor_c=20.0, gas_kg_s=np.full((hours, 1), source))
    still = replace(still, outdoor_vapour=np.zeros(hours))
    return float(advance(system, still, state, step_s=5.0).state.gas[0]) / fraction_of_ppm(1.0)


@pytest.mark.published
def test_carbon_dioxide_decays_and_rises_as_one_zone_does() -> None:
    # decay from 2000 at .5 /h: 1 h 1378.3, 4 h 633.8 (420 outdoors); couple asleep, 30 m3, 4 L/s, from 600: 1 2 4 8 h
    for hours, ppm in ((1, 1378.3), (4, 633.8)):
        assert_close(one_zone(2000.0, 0.0, 0.5 * 30 / 3600, 30.0, hours), ppm, abs=0.6, why="steps of five seconds")
    for hours, ppm in ((1, 1189.5), (2, 1554.3), (4, 1919.8), (8, 2113.2)):
        got = one_zone(600.0, 0.006906e-3, 0.004, 30.0, hours)
        assert_close(got, ppm, abs=0.8, why="steps of five seconds; the source is printed to four digits")


@pytest.mark.invariant
def test_all_the_sun_that_enters_lands() -> None:
    file = read_house(DEMO)
    house, g = file.house, file.geometry
    year = named_year("greensboro")
    _, thermal = networks_of(house, g, climate_of(house, file.folder), doors="open")
    hours = np.arange(24 * 80, 24 * 81)
    landed = sun_on_nodes(house, g, thermal, year, hours)
    skins = {skin.node for skin in thermal.skins}
    inside = landed[:, [k for k in range(landed.shape[1]) if k not in skins]].sum()
    surfaces = {s.id: s for s in g.surfaces}
    skyline = tuple((p.azimuth_deg, p.altitude_deg) for p in house.site.skyline)
    placed = [p for p in g.openings if p.kind == "window"]
    entered = sum(
        sum(part[hours].sum() for part in window_gain_w(house, p.id, surfaces[p.surface], year, skyline))
        for p in placed
    )
    assert_close(inside, entered, rel=1e-9, why="shares add up to one")
    assert entered > 0


@pytest.mark.invariant
def test_wind_presses_on_the_side_it_blows_on_and_sucks_elsewhere() -> None:
    file = read_house(DEMO)
    routes = routes_of(file.house, file.geometry, flow_at_50_pa_m3_s=0.05, exponent=0.65, doors="open")
    names = [link.name for link in routes.network.links]
    pressure = wind_pressures_pa(routes, speed_m_s=5.0, from_deg=192.0, density_kg_m3=1.2)

    def at(name: str) -> float:
        return float(pressure[names.index(name)])

    # the south wall faces 192 degrees: .603 of the dynamic pressure of 15 Pa on a square house, longer walls alike
    assert_close(
        at("leak living:c1-c2 low"), 0.603 * 15.0, rel=0.02, why="the coefficient at 0 degrees hardly knows the ratio"
    )
    assert at("leak living:c3-c4 low") < 0.0
    assert_close(at("leak living/roof.north low"), -7.5, abs=1e-9, why="-0.5 of 15 Pa")
    assert at("bath-fan") == 0.0


@pytest.mark.invariant
def test_people_sleep_wake_and_leave() -> None:
    file = read_house(DEMO)
    index = {room.id: k for k, room in enumerate(file.house.room)}
    night, day = people_at(file.house, 2.5), people_at(file.house, 12.5)
    assert night.heat_w[index["bed-1"]] == 120.0
    assert night.heat_w[index["living"]] == 0.0
    assert day.heat_w[index["living"]] == 210.0
    assert day.carbon_dioxide_kg_s.sum() > night.carbon_dioxide_kg_s.sum()


@pytest.mark.invariant
def test_a_day_closes_its_heat_and_shutting_doors_spreads_the_rooms() -> None:
    file = read_house(DEMO)
    climate = climate_of(file.house, file.folder)
    assert climate.year is not None
    number = day_of(climate.year, "coldest")
    runs = [calculate_day(file.house, file.geometry, climate, day=number, doors_open=o) for o in (True, False)]
    for result in runs:
        assert result.imbalance_w < 1e-6
        assert result.room_c.shape == (24, 7)
        assert np.all(result.carbon_dioxide_ppm > 419.0)
        for room in result.held:
            assert result.of("room_c", room).min() > 21.111 - 0.02
    free = [result.of("room_c", "utility").min() for result in runs]
    assert free[1] < free[0], "a utility room behind a shut door is colder"


@pytest.mark.analytic
def test_days_have_names() -> None:
    year = named_year("greensboro")
    means = year.dry_bulb_c.reshape(365, 24).mean(axis=1)
    assert means[day_of(year, "coldest")] == means.min()
    assert means[day_of(year, "hottest")] == means.max()
    assert day_of(year, "01-01") == 0
    assert day_of(year, "12-31") == 364
    assert day_of(year, "03-01") == 59
    for word in ("02-29", "13-01", "soon", "7"):
        with pytest.raises(ValueError, match=word):
            day_of(year, word)


@pytest.mark.invariant
def test_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["simulate", str(MICRO), "--day", "07-21", "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert np.array(result["cases"][1]["room_c"]).shape == (24, 2)
    assert all(math.isfinite(v) for row in result["cases"][0]["carbon_dioxide_ppm"] for v in row)
    for bad in (["--day", "02-31"], ["--day", "someday"]):
        assert run(["simulate", str(MICRO), *bad, "--json"]) == 2
        assert "refused" in capsys.readouterr().out
    shed = ROOT / "examples" / "mountain-shed" / "mountain-shed.toml"
    assert run(["simulate", str(shed), "--day", "coldest", "--json"]) == 2
