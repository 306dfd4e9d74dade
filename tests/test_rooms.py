"""Rooms behind their doors: loads, balances, transfer air, remedies, samples and verdicts."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inshell.cli.run import run as command
from inshell.climate.choose import HouseClimate, climate_of
from inshell.design import cooling_load as load_module
from inshell.design.comfort import Evidence, Rooms, value_of
from inshell.design.cooling_load import CoolingLoad, calculate_cooling_load
from inshell.design.head_year import ModeYear
from inshell.design.heads import Map, Mode, contact_of, heads_of, map_of, parted_w
from inshell.design.room_days import DesignDay, calculate_design_day, hours_without_power, main_room
from inshell.design.room_findings import observe_rooms
from inshell.design.room_year import four_weeks
from inshell.house.model.heat_devices import Head
from inshell.house.reading import HouseFile, read_house
from inshell.jobs.quick_rooms import quick_coil, quick_door, quick_gap, quick_transfer
from inshell.jobs.room_verdicts import _rests_on_nothing, _too_little
from inshell.network.air import solve_air
from inshell.network.carried import heat_exchange, mass_flows_kg_s
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.thermal import ThermalNetwork, ThermalStepper
from inshell.physics.air import density_kg_m3
from inshell.physics.fan import FanCurve
from inshell.physics.sound import fan_sound_change_db, partition_with_hole_db
from inshell.study.outcome import outcome_of
from inshell.study.regression import weights_of
from inshell.study.remedies import remedies_of, together
from inshell.study.sampling import Ready, sample
from inshell.study.unknowns import Varied, points_of, unknowns_of
from tests.evidence import CFM, DEMO, EXAMPLES, ROOT, assert_close
from tests.houses import read

BTU_H_F = 0.29307107 * 1.8
MICRO = ROOT / "examples" / "micro-house" / "micro-house.toml"
Made = tuple[HouseFile, HouseClimate]


def opened(path: Path) -> Made:
    file = read_house(path)
    return file, climate_of(file.house, file.folder)


WITH_COOLING = [p for p in EXAMPLES if (m := opened(p))[1].year is not None and m[1].design.cooling_c is not None]


@pytest.fixture(scope="module")
def demo() -> Made:
    return opened(DEMO)


@pytest.fixture(scope="module")
def days(demo: Made) -> dict[tuple[str, str], DesignDay]:
    file, climate = demo
    return {
        (season, doors): calculate_design_day(
            file.house, file.geometry, climate, season=season, doors=doors, step_s=300.0
        )
        for season in ("heating", "cooling")
        for doors in ("shut", "open")
    }  # type: ignore[arg-type, unused-ignore]


def fahrenheit(f: float) -> float:
    return (f - 32.0) / 1.8


# ------------------------------------------------------------------------------------------------ quick answers


@pytest.mark.published
@pytest.mark.parametrize(
    ("cfm", "heating_f", "cooling_f"),
    [(0, 48.33, 99.44), (30, 57.40, 89.21), (60, 61.12, 85.02), (100, 63.63, 82.19), (200, 66.26, 79.21)],
)
def test_a_transfer_fan_in_the_steady_state(cfm: float, heating_f: float, cooling_f: float) -> None:
    """The trade's room balance with 1.08 Btu/h per cfm and °F (computed sheet): 5 °F out, then 95 °F and 800 Btu/h."""
    given = {"room_loss": "15 Btu/h.F", "flow": f"{cfm} cfm", "elevation": None}
    cold = quick_transfer(partition="30 Btu/h.F", source="70 °F", outside="5 °F", gain="0 Btu/h", **given)
    assert_close(
        cold["room_temperature_c"] * 1.8 + 32.0, heating_f, abs=0.02, why="two digits; 1.0800 against 1.2 kg/m3"
    )
    hot = quick_transfer(partition="30 Btu/h.F", source="75 °F", outside="95 °F", gain="800 Btu/h", **given)
    assert_close(hot["room_temperature_c"] * 1.8 + 32.0, cooling_f, abs=0.02, why="two digits")


@pytest.mark.published
@pytest.mark.parametrize(
    ("difference", "flow_m3_s", "heat_w"),
    [(0.5, 0.0658, 40), (1, 0.0930, 113), (2, 0.1317, 319), (3, 0.1614, 588), (5, 0.2088, 1271)],
)
def test_an_open_door(difference: float, flow_m3_s: float, heat_w: float) -> None:
    """Brown and Solvason 1962, door 2.0 x 0.9 m, Cd 0.60, warm side 21 °C (computed sheet)."""
    told = quick_door(
        width="0.9 m", height="2 m", warm="21 °C", cool=f"{21 - difference} °C", discharge=0.6, net_flow=None
    )
    assert_close(told["warm_to_cool_m3_s"], flow_m3_s, abs=6e-5 + 1e-3 * flow_m3_s, why="four digits; two densities")
    assert_close(told["heat_w"], heat_w, abs=0.5, rel=2e-3, why="whole watts; two densities")


@pytest.mark.published
def test_an_open_door_with_net_flow_a_gap_and_a_coil() -> None:
    """Door at Cd 0.78, 1 K, net 0.05 kg/s: 0.17109 / 0.12109 kg/s, -0.03552 Pa at the sill; gaps at 3 Pa (computed)."""
    net = 0.05 / 1.2020506
    told = quick_door(width="0.9 m", height="2 m", warm="21 °C", cool="20 °C", discharge=0.78, net_flow=f"{net} m3/s")
    mass = told["density_kg_m3"]
    assert_close(told["warm_to_cool_m3_s"] * mass, 0.17109, abs=2e-5, why="five digits")
    assert_close(told["cool_to_warm_m3_s"] * mass, 0.12109, abs=2e-5, why="five digits")
    assert_close(told["sill_pressure_pa"], -0.03552, abs=1e-5, why="five digits")
    for cfm, square_inches in ((30, 16.2), (50, 27.0), (80, 43.2), (100, 54.0)):
        gap = quick_gap(flow=f"{cfm} cfm", area=f"{square_inches} in2")
        assert_close(gap["pressure_pa"], 3.0, abs=0.1, why="1.07 in2 sqrt(Pa) is rounded")
    coil = quick_coil(entering="80 °F", wet_bulb="67 °F", flow="300 cfm", capacity="9000 Btu/h", shr=0.75)
    assert_close(coil["leaving_c"], fahrenheit(58.82), abs=0.01, why="two digits")


@pytest.mark.published
def test_what_a_fan_and_a_hole_do_to_the_quiet() -> None:
    """50 log10 of the flows (fan laws, from memory); 0.02 m2 in 10 m2 of 35 dB leaves 26.4 dB (computed sheet)."""
    left = partition_with_hole_db(partition_db=35.0, partition_m2=10.0, hole_m2=0.02)
    assert_close(left, 26.4, abs=0.05, why="one digit")
    assert_close(fan_sound_change_db(flow_ratio=2.0), 15.05, abs=0.005, why="two digits")


# ------------------------------------------------------------------------------------------------ the network


@pytest.mark.analytic
@pytest.mark.parametrize("cfm", [0, 30, 60, 100, 200])
@pytest.mark.parametrize(("source_f", "outside_f", "gain"), [(70, 5, 0.0), (75, 95, 800.0)])
def test_the_network_gives_the_steady_formula_without_mass_and_sun(
    cfm: float, source_f: float, outside_f: float, gain: float
) -> None:
    """Two rooms, a fan, a way back: the coupled equations end at the trade's balance, at the air's own density."""
    loss, inner = 15.0 * BTU_H_F, 30.0 * BTU_H_F
    network = ThermalNetwork(rooms=2, boundaries=1)
    network.node(0.0)
    network.node(0.0)
    network.join(0, 1, inner)
    network.face(1, 0, loss)
    flow = cfm * CFM
    links = (
        Link("fan", LinkKind.FAN, 0, 1, curve=FanCurve((0.0, 1e3), (flow, flow))),
        Link("back", LinkKind.CRACK, 1, 0, coefficient_m3_s_pan=0.05, exponent=0.5),
        Link("leak", LinkKind.CRACK, 0, 2, coefficient_m3_s_pan=1e-3),
    )
    air = AirNetwork(("main", "bed"), links)
    warm, out = fahrenheit(source_f), fahrenheit(outside_f)
    density = np.asarray(density_kg_m3(temperature_c=np.array([warm, warm, out])))
    state = solve_air(air, density_kg_m3=density)
    flows = mass_flows_kg_s(air, (), state, density)
    matrix, source = heat_exchange(air, (), state, flows, out)
    stepper = ThermalStepper(network, 1e12)
    told = stepper.step(
        np.array([warm, warm]), boundary_c=np.array([out]), source_w=source + np.array([0.0, gain * 0.29307107]),
        exchange_w_k=matrix, set_point_c=np.array([warm, np.nan]), most_w=np.full(2, 1e9), least_w=np.full(2, -1e9),
    )  # fmt: skip
    carried = flow * float(density[0]) * 1006.0
    want = (loss * out + (inner + carried) * warm + gain * 0.29307107) / (loss + inner + carried)
    assert_close(told.middle_c[1], want, abs=1e-6, why="the formula at the same density")
    sheet = quick_transfer(
        room_loss="15 Btu/h.F", partition="30 Btu/h.F", flow=f"{cfm} cfm", source=f"{source_f} °F",
        outside=f"{outside_f} °F", gain=f"{gain} Btu/h", elevation=None,
    )["room_temperature_c"]  # fmt: skip
    assert_close(told.middle_c[1], sheet, abs=0.1, why="density of the room against 1.2 kg/m3")


@pytest.mark.invariant
def test_every_room_balance_closes(days: dict[tuple[str, str], DesignDay]) -> None:
    for day in days.values():
        assert day.imbalance_w < 1e-6
        for room in day.rooms:
            assert abs(room.balance.left_w) < 1e-6, (day.season, day.doors, room.room)
            assert abs(room.balance.stored_w) < 200.0


@pytest.mark.invariant
def test_a_shut_door_never_exchanges_more(days: dict[tuple[str, str], DesignDay]) -> None:
    """What a bedroom's door carries, and how far the bedroom drifts: field finding in kind, a plausibility.

    Published: superinsulated house in deep cold, bedrooms 10 °F colder with doors shut, 3.3 °F open.
    """
    for season in ("heating", "cooling"):
        for room, door in (("bed-1", "d-bed-1"), ("bed-2", "d-bed-2")):
            shut, opened = (days[season, doors].of(room) for doors in ("shut", "open"))
            through = [
                sum(abs(p.watts) for p in one.balance.parts if p.kind == "air" and p.name == door)
                for one in (shut, opened)
            ]
            assert through[0] < through[1]
            assert abs(shut.offset_k) > abs(opened.offset_k)
    cold = days["heating", "shut"].of("bed-2").offset_k
    assert -10.0 < cold < -2.0, "several degrees in deep cold, no more than an unheated shed"


@pytest.mark.invariant
def test_rooms_follow_in_time_and_cool_down_without_power(demo: Made, days: dict[tuple[str, str], DesignDay]) -> None:
    file, climate = demo
    heated = days["heating", "shut"].of("living").settles_h
    assert heated is not None
    assert heated < (days["heating", "shut"].of("bed-2").settles_h or 999.0)
    outage = hours_without_power(file.house, file.geometry, climate)
    assert all(12.0 < (hours or 240.0) <= 240.0 for hours in outage.values())


# ------------------------------------------------------------------------------------------------ cooling load


@pytest.mark.invariant
@pytest.mark.parametrize("path", WITH_COOLING, ids=lambda p: p.stem)
def test_the_parts_of_the_cooling_load_close_against_the_coupled_step(path: Path) -> None:
    """Superposition in numpy, part by part, against what the coupled step's holders give: the same sum in every hour."""
    file, climate = opened(path)
    told = calculate_cooling_load(file.house, file.geometry, climate)
    assert told.closing_w < 1e-6
    peak = told.peak()
    assert_close(sum(peak.parts_w.values()), peak.sensible_w, abs=1e-6, why="a sum")
    assert peak.sensible_w <= sum(told.peak(room).sensible_w for room in told.rooms) + 1e-6


def turned_round(file: HouseFile) -> HouseFile:
    """The same house with rooms, windows, doors and people in the other order."""
    raw = json.loads(json.dumps(file.content, default=str))
    for name in ("room", "window", "door", "person", "head", "fan", "transfer_fan"):
        if name in raw:
            raw[name] = raw[name][::-1]
    return read(raw)


@pytest.mark.invariant
def test_renumbering_changes_no_load(demo: Made) -> None:
    file, climate = demo
    one, two = (calculate_cooling_load(f.house, f.geometry, climate) for f in (file, turned_round(file)))
    order = [two.rooms.index(room) for room in one.rooms]
    assert_close(np.abs(one.sensible_w - two.sensible_w[:, :, order]).max(), 0.0, abs=1e-6, why="an order")


@pytest.mark.analytic
def test_a_constant_drive_gives_the_steady_load(demo: Made) -> None:
    """Everything outside 10 K warmer for ever, no sun: the parts sum to what the steady network carries."""
    file, climate = demo
    hours = np.arange(288)
    ready = load_module._held(file.house, load_module.prepare(
        file.house, file.geometry, climate, hours=hours, doors="open"))  # fmt: skip
    f = ready.forcing
    still = replace(f, source_w=np.zeros_like(f.source_w), boundary_c=np.full_like(f.boundary_c, 34.0))
    ready = replace(ready, forcing=still)
    driven = load_module._driven(file.geometry, ready, np.zeros_like(f.source_w), 24.0)
    _, parts = load_module._Periodic(ready, 24.0).solved(driven)
    stepper = ThermalStepper(ready.system.thermal, 600.0)
    inner = np.linalg.solve(stepper.stiffness[7:, 7:], (stepper.to_boundary @ np.full(3, 10.0))[7:])
    assert_close(np.abs(sum(parts)[0] + stepper.to_rooms @ inner).max(), 0.0, abs=1e-6, why="steady conduction")
    assert [p.max() > 1.0 for p in parts] == [False, True, True, True, True, False], "no sun, no neighbours"


@pytest.mark.invariant
def test_peaks_are_the_greatest_hours() -> None:
    sensible = np.zeros((12, 24, 2, 9))
    sensible[5, 14, 0, 0], sensible[6, 17, 1, 8], sensible[6, 17, 0, 0] = 500.0, 300.0, 350.0
    told = CoolingLoad(("a", "b"), np.zeros((12, 24)), sensible, np.zeros((12, 24, 2, 3)), 0.0)
    assert (told.peak("a").month, told.peak("a").hour, told.peak("a").sensible_w) == (5, 14, 500.0)
    assert (told.peak().month, told.peak().sensible_w) == (6, 650.0)


# ------------------------------------------------------------------------------------------------ heads


def head(**more: object) -> Head:
    points = [
        {"mode": "heating", "outdoor": 8.3333, "minimum": 800, "maximum": 4500, "power": 1300},
        {"mode": "heating", "outdoor": -8.3333, "minimum": 700, "maximum": 3300, "power": 1250},
        {"mode": "cooling", "outdoor": 35.0, "minimum": 800, "rated": 2600, "maximum": 3000, "power": 900},
        {"mode": "cooling", "outdoor": 27.8, "minimum": 850, "maximum": 3300, "power": 800},
    ]
    given = {"id": "h", "room": "r", "point": points, "air_flow": ["220 m3/h", "560 m3/h"]} | more
    return Head.model_validate(given, context={"units": "si"})


@pytest.mark.analytic
def test_capacity_between_points_frost_and_beyond() -> None:
    """Linear between points; 0.90 of the line at 35 °F where the sheet jumps from 17 to 47 °F (10 CFR 430 M1)."""
    warm = map_of(head(), "heating")
    assert warm is not None
    line = 3300.0 + 0.6 * 1200.0
    assert_close(warm.at("most_w", fahrenheit(35.0)), 0.9 * line, rel=1e-9, why="frost default")
    assert_close(warm.at("most_w", -8.3333), 3300.0, rel=1e-9, why="a point")
    slope = (0.9 * line - 3300.0) / (fahrenheit(35.0) + 8.3333)
    assert_close(warm.at("most_w", -12.3333), 3300.0 - 4.0 * slope, rel=1e-9, why="the last slope in the cold")
    assert_close(warm.at("most_w", 20.0), 4500.0, rel=1e-9, why="no more than the sheet where it is mild")
    assert warm.beyond(-12.0, "heating")
    assert not warm.beyond(20.0, "heating")
    cold = map_of(head(line_factor=0.9), "cooling")
    assert cold is not None
    assert_close(cold.at("most_w", 35.0), 2700.0, rel=1e-9, why="line length")


@pytest.mark.invariant
def test_maps_are_monotone_and_never_below_nothing() -> None:
    x = np.linspace(-60.0, 60.0, 500)
    mode: Mode
    for mode, sign in (("heating", 1.0), ("cooling", -1.0)):
        one = map_of(head(), mode)
        assert isinstance(one, Map)
        most = one.at("most_w", x)
        assert most.min() >= 0.0
        frosted = (x > -8.4) & (x < 8.4) & (mode == "heating")
        assert np.all(sign * np.diff(most)[~frosted[1:]] >= -1e-9)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("points", "found"),
    [
        ([("heating", 0.0, 2000.0), ("heating", 0.0, 2500.0)], "two heating points"),
        ([("heating", -10.0, 4000.0), ("heating", 8.0, 3000.0)], "the colder"),
        ([("cooling", 27.0, 2000.0), ("cooling", 35.0, 3000.0)], "the hotter"),
    ],
)
def test_points_out_of_order_are_refused(points: list[tuple[str, float, float]], found: str) -> None:
    rows = [{"mode": m, "outdoor": t, "maximum": w} for m, t, w in points]
    with pytest.raises(ValueError, match=found):
        head(point=rows)


@pytest.mark.invariant
def test_two_heads_share_their_outdoor_unit(demo: Made) -> None:
    """All asking at once, they get no more than the unit gives; its least output is parted between them."""
    file, _ = demo
    unit = file.house.outdoor_unit[0].model_copy(update={"maximum_w": 3000.0, "minimum_w": 900.0})
    one = file.house.head[0]
    two = one.model_copy(update={"id": "other", "room": "bed-2"})
    both = file.house.model_copy(update={"head": (one, two), "outdoor_unit": (unit,)})
    able = heads_of(both, np.array([-8.0, 30.0]), 101325.0, unlimited=frozenset())
    assert_close(able.most_w[0].sum(), 3000.0, rel=1e-9, why="the unit's most")
    parts = parted_w(3000.0, np.array([[2800.0], [900.0], [500.0]]), np.array([3.0, 1.0, 1.0]))
    assert_close(parts[:, 0], [1875.0, 625.0, 500.0], abs=1e-6, why="3:1:1, and 100 W that the third leaves, 3:1")
    assert_close(able.coil_most_w[1].sum(), 3000.0, rel=1e-9, why="the unit's most")
    assert able.coil_least_w[1].min() >= 450.0
    contact = contact_of(one)
    assert contact is not None
    assert contact.low_kg_s < contact.high_kg_s


@pytest.mark.invariant
def test_what_an_eye_sees_of_heads_and_transfer_fans(demo: Made) -> None:
    file, _ = demo
    h = file.house
    one = h.head[0]
    wrong = h.model_copy(
        update={
            "head": (one.model_copy(update={"room": "bath", "thermostat_room": "hall", "sensible_share": 0.3}),),
            "transfer_fan": tuple(f.model_copy(update={"from_room": "hall", "face_m2": 0.005}) for f in h.transfer_fan),
            "door": tuple(d.model_copy(update={"open_hours": "always"}) for d in h.door),
            "promise": tuple(p.model_copy(update={"limit": 0.1}) for p in h.promise if p.room == "bed-2"),
        }
    )
    codes = {f.code for f in observe_rooms(wrong)}
    assert codes >= {
        "head-in-bathroom", "thermostat-elsewhere", "head-coil-impossible", "transfer-between-headless",
        "transfer-face-fast", "comfort-band-impossible", "door-open-fire",
    }  # fmt: skip
    bare = h.model_copy(update={"head": (one.model_copy(update={"air_flow_m3_s": ()}),)})
    assert "head-air-assumed" in {f.code for f in observe_rooms(bare)}


# ------------------------------------------------------------------------------------------------ studies


@pytest.fixture(scope="module")
def ready(demo: Made) -> Ready:
    from inshell.design.room_days import design_of, settled_state
    from inshell.design.year_run import year_ready

    file, climate = demo
    house, geometry = file.house, file.geometry
    day = design_of(house, geometry, climate, season="cooling", doors="shut")
    year = year_ready(house, geometry, climate, makers="heads")
    return Ready(
        house, main_room(house, geometry), year, {("cooling", "shut"): (day, settled_state(house, day, "cooling"))}
    )


@pytest.mark.invariant
def test_varied_houses_keep_their_total_leakage_unless_that_varies(ready: Ready) -> None:
    varied = Varied(ready.house, ready.year[0])
    sizes = [
        sum(link.coefficient_m3_s_pan for link in varied.system(point).air.links if link.name.startswith("leak "))
        for point in ({}, {"leaks_in_bedrooms": 1.7, "leaks_high": -0.5}, {"leakage": 1.2, "leaks_high": 0.3})
    ]
    assert_close(sizes[1], sizes[0], rel=1e-12, why="moved, not added")
    assert_close(sizes[2], 1.2 * sizes[0], rel=1e-12, why="a fifth more")
    doors = varied.forcing({"doors_open_at_night": 0.3}, np.arange(8760) // 24).route_share[:, varied.leaves[0]]
    nights = doors.reshape(365, 24)[:, 2]
    assert_close(nights.mean(), 0.3, abs=0.01, why="three nights in ten")


@pytest.mark.invariant
def test_points_lie_in_their_ranges_and_fill_them(ready: Ready) -> None:
    unknowns = unknowns_of(ready.house, tested=False)
    points = points_of(unknowns, 64)
    for column, unknown in zip(points.T, unknowns, strict=True):
        assert unknown.low <= column.min() < column.max() <= unknown.high
        assert_close(
            column.mean(), 0.5 * (unknown.low + unknown.high), abs=0.02 * (unknown.high - unknown.low), why="even"
        )
    assert np.array_equal(points, points_of(unknowns, 64)), "the same every time"


@pytest.mark.analytic
def test_regression_finds_what_made_the_values() -> None:
    """y = 3 a - b with a, b even on [0, 1]: coefficients 3/sqrt(10) and -1/sqrt(10)."""
    points = np.random.default_rng(3).random((256, 3))
    told = weights_of(("a", "b", "c"), points, 3.0 * points[:, 0] - points[:, 1])
    assert told is not None
    assert [row.name for row in told.rows] == ["a", "b", "c"]
    assert_close([told.rows[0].coefficient, told.rows[1].coefficient], [3 / 10**0.5, -1 / 10**0.5], abs=0.05, why="256")
    assert_close(told.explained, 1.0, abs=1e-9, why="a straight line")
    assert told.rows[0].resolved
    noise = np.random.default_rng(4).random(32)
    few = weights_of(("a", "b", "c"), points[:32], noise)
    assert few is not None
    assert not few.rows[0].resolved
    assert weights_of(("a",), points[:, :1], np.ones(256)) is None


@pytest.mark.invariant
def test_a_sample_at_the_nominal_point_is_the_nominal_house(demo: Made, ready: Ready) -> None:
    """With every unknown narrowed to its nominal value, all samples are the house as drawn."""
    file, climate = demo
    promise = next(p for p in file.house.promise if p.id == "bed-2-comfort").model_copy(update={"season": "cooling"})
    nominal = {"leaks_high": 0.0, "doors_open_at_night": 0.0, "doors_shut_by_day": 0.0, "weather_k": 0.0}
    still = tuple(
        replace(u, low=nominal.get(u.name, 1.0), high=nominal.get(u.name, 1.0))
        for u in unknowns_of(file.house, tested=False)
    )
    told = sample(ready, still, count=8, promises=(promise,))
    day = calculate_design_day(file.house, file.geometry, climate, season="cooling", doors="shut", step_s=900.0)
    assert_close(told.values[:, 0], np.full(8, abs(day.of("bed-2").offset_k)), abs=0.02, why="repeats itself to 0.01 K")
    assert told.share(promise.id, 10.0) == 1.0
    assert told.share(promise.id, 0.1) == 0.0


@pytest.mark.invariant
def test_remedies_do_what_they_say(demo: Made, ready: Ready) -> None:
    file, climate = demo
    made = {r.id: r for r in remedies_of(file.house, "bed-2", "living")}
    assert set(made) >= {"transfer", "second-head", "undercut", "grilles", "door-open", "shade", "set-points"}
    assert made["door-open"].opens_doors
    plain = outcome_of(file.house, file.geometry, climate, begun=ready.year[1])
    second = outcome_of(made["second-head"].house, file.geometry, climate, begun=ready.year[1], main="living")
    assert second.worst_k("bed-2") < 0.05
    assert plain.worst_k("bed-2") > 1.0
    assert second.outside_h["bed-2"] < 24.0 < plain.outside_h["bed-2"]
    dry = outcome_of(made["dehumidifier"].house, file.geometry, climate, begun=ready.year[1])
    assert max(dry.damp_h.values()) < 0.5 * max(plain.damp_h.values())
    assert dry.drier_kwh > 0.0
    bare = file.house.model_copy(update={"transfer_fan": ()})
    new = next(r for r in remedies_of(bare, "bed-2", "living") if r.id == "transfer")
    assert_close(new.house.transfer_fan[-1].flow_m3_s, 60 * CFM, rel=1e-3, why="60 cfm, not 60 m3/h")
    two = together(file.house, ("transfer", "shade"), "bed-2", "living")
    assert two is not None
    assert two.house.transfer_fan == made["transfer"].house.transfer_fan
    assert two.house.window == made["shade"].house.window
    assert two.price == pytest.approx((made["transfer"].price or 0.0) + (made["shade"].price or 0.0))


@pytest.mark.invariant
def test_two_smaller_heads_against_one_follow_their_data_sheets(demo: Made) -> None:
    """Below least and starts fall with the least output; electricity is what the sheet says."""
    file, climate = demo
    one = outcome_of(file.house, file.geometry, climate)
    low = file.house.head[0]
    points = tuple(p.model_copy(update={"minimum_w": 0.4 * (p.minimum_w or 0.0)}) for p in low.point)
    unit = tuple(u.model_copy(update={"minimum_w": None}) for u in file.house.outdoor_unit)
    modest = file.house.model_copy(update={"head": (low.model_copy(update={"point": points}),), "outdoor_unit": unit})
    two = outcome_of(modest, file.geometry, climate)
    for before, after in zip(one.heads, two.heads, strict=True):
        assert after.below_least_h < before.below_least_h
        assert after.starts < before.starts
        assert before.electric_kwh is not None
        assert 1.5 < (before.seasonal_ratio or 0.0) < 8.0


@pytest.mark.invariant
def test_four_weeks_of_the_year(demo: Made) -> None:
    _, climate = demo
    assert climate.year is not None
    first = four_weeks(climate.year)
    means = {name: climate.year.dry_bulb_c[24 * day : 24 * day + 168].mean() for name, day in first.items()}
    assert means["coldest"] < means["spring"] < means["hottest"]
    assert abs(means["spring"] - 15.0) < 2.0
    assert first["spring"] < first["autumn"]


# ------------------------------------------------------------------------------------------------ verdicts


@pytest.mark.invariant
def test_what_a_comfort_promise_comes_to(demo: Made) -> None:
    file, _ = demo
    promise = next(p for p in file.house.promise if p.id == "bed-2-comfort")
    rooms = tuple(room.id for room in file.house.room)
    air, warm = np.full((2, 7), 21.0), np.full((2, 7), 24.0)
    air[:, rooms.index("bed-2")], warm[:, rooms.index("bed-2")] = [19.5, 20.5], [26.5, 25.0]
    days = {("heating", "shut"): Rooms(air, air + 0.5), ("cooling", "shut"): Rooms(warm, warm)}
    evidence = Evidence(rooms, "living", days)
    assert value_of(file.house, promise, evidence) == 2.5
    assert value_of(file.house, promise.model_copy(update={"season": "heating"}), evidence) == 1.5
    assert value_of(file.house, promise.model_copy(update={"doors": "open"}), evidence) is None
    hours = promise.model_copy(update={"kind": "hours-outside-band", "limit": 10.0})
    assert value_of(file.house, hours, evidence) is None
    felt = replace(evidence, year=Rooms(np.full((5, 7), 30.0), None))
    assert value_of(file.house, hours, felt) == 5.0
    assert value_of(file.house, hours.model_copy(update={"temperature": "operative"}), felt) is None


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.mark.invariant
def test_the_command_its_document_and_what_check_reads_of_it(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whole run on the demo with few samples; check shows the same verdict, and drops it once the promise changes."""
    monkeypatch.setenv("INSHELL_CACHE", str(cache))
    file = tmp_path / "house.toml"
    file.write_text(DEMO.read_text(encoding="utf-8"), encoding="utf-8")
    assert command(["rooms", str(file), "--samples", "64", "--json"]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["room"] == "bed-2"
    assert document["cheapest_remedy"] == "second-head"
    broken = next(p for p in document["promises"] if p["id"] == "promise/bed-2-comfort")
    assert broken["verdict"] == "broken"
    assert broken["share"] == 0.0
    air = next(p for p in document["promises"] if p["id"] == "promise/bed-1-co2")
    assert air["verdict"] in ("kept", "unknown")
    assert not (air["verdict"] == "kept" and air["share"] < 0.9)
    assert abs(document["cooling_load"]["closing_w"]) < 1e-6
    command(["check", str(file), "--json"])
    row = next(p for p in json.loads(capsys.readouterr().out)["promises"] if p["id"] == "promise/bed-2-comfort")
    assert (row["verdict"], row["value"]) == ("broken", broken["value"])
    file.write_text(file.read_text(encoding="utf-8").replace('limit = "3 °F"', 'limit = "12 °F"'), encoding="utf-8")
    command(["check", str(file), "--json"])
    row = next(p for p in json.loads(capsys.readouterr().out)["promises"] if p["id"] == "promise/bed-2-comfort")
    assert row["verdict"] == "unknown"
    assert row["share"] is None


@pytest.mark.invariant
def test_the_command_on_the_smallest_house_and_what_it_refuses(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["rooms", str(MICRO), "--samples", "0", "--no-remedies"]) in (0, 1)
    assert "Cooling load" in capsys.readouterr().out
    assert command(["rooms", str(MICRO), "--samples", "7"]) == 2
    assert command(["rooms", str(MICRO), "--room", "nowhere"]) == 2
    assert command(["quick", "coil", "--entering", "80 °F", "--wet-bulb", "67 °F", "--flow", "50 cfm",
                    "--capacity", "9000 Btu/h", "--shr", "0.75"]) == 2  # fmt: skip
    assert command(["quick", "door", "--width", "1 m", "--height", "2 m", "--warm", "20 °C", "--cool", "21 °C"]) == 2


@pytest.mark.invariant
def test_what_rests_on_nothing_is_never_kept(demo: Made) -> None:
    """No points, a room against itself, a sheet that ends far from the weather, too few samples: unknown, with why."""
    file, _ = demo
    promise = next(p for p in file.house.promise if p.id == "bed-2-comfort")
    band = promise.model_copy(update={"kind": "hours-outside-band", "limit": 50.0})
    bare = file.house.model_copy(update={"head": (file.house.head[0].model_copy(update={"point": ()}),)})
    assert "no heating points" in _rests_on_nothing(bare, band, "living", ())
    assert "no heating points" in _rests_on_nothing(bare, promise, "living", ())
    assert "compared" in _rests_on_nothing(file.house, promise, "bed-2", ())
    past = ModeYear("outdoor", ("head",), "heating", 3000.0, 1.0, 0.0, 0.0, 0.0, 2000.0, None)
    assert "beyond its data sheet" in _rests_on_nothing(file.house, band, "living", (past,))
    assert _rests_on_nothing(file.house, promise.model_copy(update={"kind": "carbon-dioxide"}), "bed-2", ()) == ""
    assert _too_little(None, None).startswith("the house as drawn")
    assert "head-heating-unknown" in {f.code for f in observe_rooms(bare)}


@pytest.mark.invariant
def test_two_heads_in_one_room_are_what_one_of_their_sum_is(demo: Made) -> None:
    """Split in halves on two outdoor units they hold the room as the whole did, and give its heat once, not twice."""
    file, climate = demo
    one = file.house.head[0]
    names = ("minimum_w", "rated_w", "maximum_w", "power_w", "minimum_power_w")
    points = tuple(
        p.model_copy(update={n: None if getattr(p, n) is None else 0.5 * getattr(p, n) for n in names})
        for p in one.point
    )
    half = one.model_copy(
        update={"point": points, "air_flow_m3_s": tuple(0.5 * q for q in one.air_flow_m3_s), "outdoor_unit": None}
    )
    whole = file.house.model_copy(update={"head": (one.model_copy(update={"outdoor_unit": None}),)})
    halves = file.house.model_copy(update={"head": (half, half.model_copy(update={"id": "other"}))})
    a, b = (outcome_of(house, file.geometry, climate) for house in (whole, halves))
    assert_close(b.outside_h["living"], a.outside_h["living"], abs=2.0, why="the same capacity")
    for mode in ("heating", "cooling"):
        given = [sum(y.delivered_kwh for y in out.heads if y.mode == mode) for out in (a, b)]
        assert_close(given[1], given[0], rel=0.05, why="once; at low load one of two smaller coils wets more")
