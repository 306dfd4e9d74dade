"""Weeks, rows of control, pressures, design days and studies of two rooms, worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from inshell.climate.choose import Design, HouseClimate
from inshell.climate.year import HOURS, SERIES, ClimateYear
from inshell.design.breathing import nights_of, quantiles, run_week, week_ready
from inshell.design.cautions import pressure_findings
from inshell.design.coupled import networks_of
from inshell.design.drivers import Prepared, prepare
from inshell.design.pressure import PressureResult
from inshell.design.pressure import State as PressureState
from inshell.design.room_days import settled_state
from inshell.design.room_pressures import _combinations
from inshell.design.run_time import calculate_run_time
from inshell.design.year_run import YearRun, room_years
from inshell.house.geometry import derive
from inshell.house.model.house import House
from inshell.network.compiled import WIDE, run
from inshell.network.links import LinkKind
from inshell.network.system import Balances, first_state
from inshell.study import sampling, trying
from inshell.study.outcome import Outcome
from inshell.study.remedies import remedies_of
from inshell.study.sampling import Ready, sample
from inshell.study.trying import Case, try_remedies
from inshell.study.unknowns import Unknown, Varied
from tests.evidence import CFM, assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]
DOOR = {"id": "d", "between": ["a", "b"], "width": 0.8, "height": 2.0}
FAN = {"id": "out", "room": "a", "rated_flow": "60 cfm", "base_flow": "20 cfm"}
SLEEPER = {"id": "p", "sleeps_in": "b", "asleep_from": "22:00", "asleep_to": "06:00", "away_from": "09:15",
           "away_to": "17:00"}  # fmt: skip
POINTS = {"heating_set_point": "20 °C", "cooling_set_point": "27 °C"}
LIMITS = {"water_heater.tank": 2.0, "appliance.open": 5.0, "appliance.fanned": 15.0, "appliance.shut": 50.0}
PRICES = {"shade": 50.0, "head": 900.0}
HEAD = {"id": "h", "room": "a", "air_flow": ["200 m3/h", "600 m3/h"],
        "point": [{"mode": "heating", "outdoor": "5 °C", "minimum": "1 kW", "maximum": "3 kW"},
                  {"mode": "cooling", "outdoor": "35 °C", "minimum": "1 kW", "maximum": "3 kW"}]}  # fmt: skip


def two(**more: Any) -> House:
    return house(TWO, **{"door": [DOOR]} | more)


def climate(dry_bulb_c: np.ndarray | float = 10.0, pressure_pa: float = 101325.0) -> HouseClimate:
    """Weather of one temperature or of a series: no sun, no wind, air as moist as a dew point of 0 °C makes it."""
    still = {name: np.zeros(HOURS) for name in SERIES} | {"dry_bulb_c": np.zeros(HOURS) + dry_bulb_c}
    still |= {"sun_zenith_deg": np.full(HOURS, 120.0), "extraterrestrial_w_m2": np.full(HOURS, 1400.0)}
    year = ClimateYear("still", "none", 40.0, -80.0, 0.0, -5.0, **still | {"pressure_pa": np.full(HOURS, pressure_pa)})
    return HouseClimate(year, Design(-10.0, "entered", 33.0, "entered", 10.0, "entered"), pressure_pa, ())


def made(one: House, hours: int = 24, **more: Any) -> Prepared:
    return prepare(one, derive(one), climate(), hours=np.arange(hours), **{"doors": "by-hours"} | more)


def cold_snap() -> np.ndarray:
    """Every hour its own temperature, and seven days from the fourth of January on 25 K colder."""
    dry = 15.0 + 1e-4 * np.arange(HOURS)
    dry[72:240] -= 25.0
    return dry


@pytest.mark.analytic
def test_a_week_comes_after_two_others_and_the_year_goes_round() -> None:
    """Hours 72 to 239 are the coldest week; the 336 before it are the last 264 of the year and its first 72."""
    dry, one = cold_snap(), two()
    ready = week_ready(one, derive(one), climate(dry), week="coldest", doors="shut")
    assert ready.forcing.hours == 21 * 24
    assert_close(ready.forcing.outdoor_c, np.r_[dry[8496:], dry[:240]], abs=1e-12, why=EXACT)


@pytest.mark.analytic
def test_without_power_the_last_week_alone_has_no_fan() -> None:
    """The fan runs for two weeks and stands for the 168 hours of the third; gaps and leaks stay as they are."""
    one = two(fan=[FAN])
    given = {"week": "coldest", "doors": "by-hours"}
    plain = week_ready(one, derive(one), climate(cold_snap()), **given).forcing
    ready, series = run_week(one, derive(one), climate(cold_snap()), powered=False, **given)
    fans = np.array([link.kind is LinkKind.FAN for link in ready.system.air.links])
    share = plain.route_share.copy()
    share[336:, fans] = 0.0
    assert np.array_equal(ready.forcing.route_share, share)
    assert np.array_equal(ready.forcing.permit[:336], plain.permit[:336])
    assert plain.permit[336:].sum() > 0.0 == np.abs(ready.forcing.permit[336:]).sum()
    assert series.forward_kg_s[335, fans].max() > 0.0 == np.abs(series.forward_kg_s[336:, fans]).max()


@pytest.mark.analytic
def test_nights_of_a_room_by_hand() -> None:
    """56 hours: 700 ppm, at five 900, once 1500: (48 x 700 + 7 x 900 + 1500)/56; 0.6 % is told, 0.4 % is not.

    Dry air of 20 °C at sea level has 1.2041 kg/m3 (ideal gas, 287.05 J/kgK).
    """
    unit = {"id": "u", "room": "a", "supply_rooms": ["b"], "exhaust_rooms": ["a"], "supply_flow": "40 cfm",
            "exhaust_flow": "40 cfm", "recovery": 0.7}  # fmt: skip
    one = two(ventilator=[unit])
    geometry, ready = derive(one), made(one, 336, doors="shut")
    series = run(ready.system, ready.forcing, first_state(ready.system, air_c=20.0), step_s=900.0)
    clock = np.arange(336) % 24
    night = ((clock >= 22) | (clock < 6)) & (np.arange(336) >= 168)
    ppm = np.where(night, np.where(clock == 5, 900.0, 700.0), 5000.0)
    ppm[168 + 3 * 24 + 23] = 1500.0
    forward, back = (np.where(night, 0.0, 7.0)[:, None] * np.ones_like(series.back_kg_s) for _ in range(2))
    links = ready.system.air.links
    leak, door, supply = (
        next(k for k, x in enumerate(links) if x.name.startswith(n)) for n in ("leak b", "d ", "u to b")
    )
    back[night, leak], forward[night, door], forward[night, supply] = 0.006, 0.990, 0.004
    rows = {"humidity": np.where(night, 0.5, 0.9), "age_s": np.where(night, 7200.0, 0.0), "carbon_dioxide_ppm": ppm}
    told = replace(series, forward_kg_s=forward, back_kg_s=back, **{n: np.c_[v, v] for n, v in rows.items()})
    bed = nights_of(one, geometry, ready, told, 0.02)[1]
    assert_close(bed.ppm_mean, (48 * 700 + 7 * 900 + 1500) / 56, rel=1e-12, why=EXACT)
    assert (bed.ppm_most, bed.ppm_at_5, bed.age_h, bed.humidity) == (1500.0, 900.0, 2.0, 0.5)
    assert_close(bed.outdoor_m3_s, 0.010 / 1.2041, rel=1e-4, why="five digits of the density")
    assert_close(bed.relative_exposure, 7200.0 * 0.02 / geometry.volume_m3, rel=1e-12, why="the same rooms")
    assert set(bed.routes) == {"leaks from outdoors", "d from a"}
    assert_close([bed.routes["leaks from outdoors"], bed.routes["d from a"]], [0.006, 0.990], rel=1e-9, why=EXACT)
    assert_close(quantiles(np.arange(101.0)), (5.0, 95.0), rel=1e-12, why="each hundredth is one")


@pytest.mark.analytic
def test_a_window_with_hours_and_a_row_is_shut_by_a_row_outside_its_hours() -> None:
    """Open from 8 to 10: a row that comes first shuts it in the 22 other hours, and its route is open all day."""
    window = {"id": "w", "room": "b", "wall": "south", "width": 1.0, "height": 1.0, "glazing": "g",
              "openable": "0.2 m2", "open_from": "08:00", "open_to": "10:00"}  # fmt: skip
    row = {"id": "warm", "target": "w", "does": "open", "air_above": "26 °C"}
    ready = made(two(window=[window], control=[row]))
    hours = np.array([float(8 <= h < 10) for h in range(24)])
    link = next(k for k, x in enumerate(ready.system.air.links) if x.name == "w open")
    assert_close(ready.forcing.route_share[:, link], np.ones(24), abs=1e-12, why=EXACT)
    assert [c.name for c in ready.system.controls] == ["w hours", "warm"]
    assert_close(ready.forcing.permit, np.c_[1.0 - hours, np.ones(24)], abs=1e-12, why=EXACT)
    assert ready.system.controls[0].level_on == 0.0


@pytest.mark.analytic
def test_a_row_waits_for_a_room_and_for_a_device() -> None:
    """The hood runs in the hours whose middle lies from 8:15 to 12:15 and in that of cooking, 18; somebody is in the
    living room from 6 to 22 but for 9:15 to 17 on working days: both at 8 and 18, when free at 8, 9, 10, 11 and 18."""
    rows = [
        {"id": "brunch", "target": "hood", "does": "full", "from": "08:15", "to": "12:15"},
        {"id": "both", "target": "out", "does": "off", "room": "a", "occupied": True, "while_runs": "hood"},
    ]
    hood = {"id": "hood", "room": "a", "flow": "200 cfm"}
    ready = made(two(fan=[FAN], hood=[hood], control=rows, person=[SLEEPER], simulation={"first_day": "friday"}), 168)
    names = [c.name for c in ready.system.controls]
    acts = ready.forcing.permit[:, names.index("both")].reshape(7, 24)
    for day in range(7):
        want = {8, 18} if day not in (1, 2) else {8, 9, 10, 11, 18}
        assert_close(acts[day], [float(h in want) for h in range(24)], abs=1e-12, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("pressure", [101325.0, 84000.0])
def test_air_of_a_room_by_the_pressure_of_its_site(pressure: float) -> None:
    """1.2 kg/m3 and 1006 J/kgK at sea level (handbook air), in proportion to the pressure elsewhere."""
    one = two(tightness={"ach50": 1.5})
    geometry, weather = derive(one), climate(pressure_pa=pressure)
    routes, thermal = networks_of(one, geometry, weather, doors="open")
    leaks = [x.coefficient_m3_s_pan * 50.0**x.exponent for x in routes.network.links if x.name.startswith("leak ")]
    assert_close(sum(leaks), 1.5 * geometry.volume_m3 / 3600.0, rel=1e-9, why="1.5 an hour at 50 Pa")
    air = 1.2 * pressure / 101325.0 * np.array([geometry.space(room).volume_m3 for room in "ab"])
    assert_close(np.array(thermal.network.capacity_j_k)[:2], 1006.0 * air, rel=1e-9, why=EXACT)
    system = prepare(one, geometry, weather, hours=np.arange(24), doors="open").system
    assert_close(system.mass_kg, air, rel=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("pressure", [3.0, -1.9, -2.1, -4.9, -5.1, -14.9, -15.1, -49.9, -50.1])
def test_appliances_are_named_below_their_limit_and_not_above(pressure: float) -> None:
    """2, 5, 15 and 50 Pa: screening pressures of combustion safety testing (from memory)."""
    burns = [{"id": n, "room": "a", "kind": "furnace", "venting": v}
             for n, v in (("open", "natural-draft"), ("fanned", "induced"), ("shut", "sealed"))]  # fmt: skip
    tank = {"id": "tank", "room": "a", "kind": "tank", "fuel": "gas", "venting": "natural-draft"}
    one = two(water_heater=[tank], appliance=burns, hood=[{"id": "hood", "room": "a", "flow": "200 cfm"}])
    states = (PressureState((), 0.0, 4.0, ()), PressureState(("hood",), pressure + 0.5, pressure, (0.0,)))
    found = pressure_findings(one, PressureResult(states, 0.0, (), (SimpleNamespace(id="hood"),), 0.1))
    screened = {f.where: f.values for f in found if f.code.startswith("screening-pressure")}
    assert set(screened) == {name for name, limit in LIMITS.items() if pressure < -limit}
    assert {where: values["limit"][0] for where, values in screened.items()} == {w: LIMITS[w] for w in screened}
    fans_alone = {f.code for f in found} - {"screening-pressure", "screening-pressure-natural-draft"}
    assert fans_alone == ({"excess-exhaust", "hood-without-makeup"} if pressure + 0.5 < -10.0 else set())


@pytest.mark.analytic
def test_ten_devices_are_varied_with_one_another_and_the_eleventh_alone() -> None:
    """2^10 = 1024 is the most; an eleventh device is seen alone and with all others."""
    choices = [[None, (f"d{k}", (k,))] for k in range(11)]
    ten, left = _combinations(two(), choices[:10])
    assert (len(ten), left) == (1024, ())
    eleven, left = _combinations(two(), choices)
    assert (len(eleven), left) == (1024 + 2, ("d10",))
    last = [{name for name, _ in row} for row in eleven if any(name == "d10" for name, _ in row)]
    assert last == [{"d10"}, {f"d{k}" for k in range(11)}]


@pytest.mark.analytic
def test_a_fan_that_changes_each_hour_is_worth_what_a_steady_source_sees() -> None:
    """0.03 and 0.01 m3/s in turn, 72 m3: V dC/dt = S - Q C solved for two hours that repeat, 1.5 and 0.5 an hour."""
    fast, slow, high, low = math.exp(-1.5), math.exp(-0.5), 1.0 / 0.03, 1.0 / 0.01
    begin = (low * (1.0 - slow) + high * (1.0 - fast) * slow) / (1.0 - fast * slow)
    middle = high + (begin - high) * fast
    both = high + (begin - high) * (1.0 - fast) / 1.5 + low + (middle - low) * (1.0 - slow) / 0.5
    told = calculate_run_time("f", np.tile([0.03, 0.01], 84), 72.0)
    assert_close((told.mean_m3_s, told.effective_m3_s), (0.02, 2.0 / both), rel=1e-7, why="repeats itself to 1e-9")
    assert_close(told.effectiveness, 2.0 / both / 0.02, rel=1e-7, why="over the mean of 0.02")
    stands = 2.0 * high + 50.0 / 1.5 + 50.0 / (1.0 - fast) - 25.0  # the second hour it rises by 3600/72
    told = calculate_run_time("f", np.tile([0.03, 0.0], 84), 72.0)
    assert_close(told.effective_m3_s, 2.0 / stands, rel=1e-7, why="repeats itself to 1e-9")


def in_balance(one: House, point_c: float, humidity: float) -> Prepared:
    """Outdoors, sky and earth at one temperature and humidity, nothing held, no gains."""
    ready = made(one, doors="shut")
    none, vapour = np.full((24, 2), np.nan), first_state(ready.system, air_c=point_c, humidity=humidity).vapour
    still = {"outdoor_c": np.full(24, point_c), "boundary_c": np.full((24, 3), point_c), "heat_at_c": none}
    still |= {"cool_at_c": none, "outdoor_vapour": np.full(24, vapour[0])}
    return replace(ready, forcing=replace(ready.forcing, **still))


@pytest.mark.invariant
@pytest.mark.parametrize(("season", "point", "humidity"), [("heating", 20.0, 0.4), ("cooling", 27.0, 0.5)])
def test_a_house_that_begins_in_balance_stays_there(season: str, point: float, humidity: float) -> None:
    """Everything round it as warm and moist as it begins itself, by its season's set point: nothing moves."""
    one = two(household=POINTS)
    ready = in_balance(one, point, humidity)
    state = settled_state(one, ready, season)
    assert_close(state.nodes_c, np.full(ready.system.nodes, point), abs=1e-6, why="rounding of a day's steps")
    assert_close(state.buffer_rh, np.full(2, humidity), abs=1e-6, why="rounding of a day's steps")
    work = sampling._Work(Ready(one, "a", (ready, state), {(season, "shut"): (ready, state)}), ())
    for day in work._days((season, "shut"), [{}, {}]):
        assert_close(day.air_c, np.full((24, 2), point), abs=1e-6, why="rounding of a day's steps")
        assert_close(day.operative_c, np.full((24, 2), point), abs=1e-6, why="as warm as its walls")


@pytest.mark.analytic
def test_a_room_year_in_slots_of_half_an_hour() -> None:
    """12 h each at 18.9, 19.1, 27.9 and 28.1 °C, set points 20 and 27: 12 h cold, 12 h hot; 500 W are 12 kWh a day."""
    one = two(household=POINTS)
    air, heat = (np.c_[v, v] for v in (np.repeat([18.9, 19.1, 27.9, 28.1], 24), np.repeat([500.0, -200.0], 48)))
    damp, gas = np.full((96, 2), 0.69), np.full((96, 2), 600.0)
    damp[:5], gas[12:] = 0.71, 2000.0
    gas[48:60] = 800.0
    year = YearRun(
        rooms=("a", "b"), held=(), routes=(), slot_s=1800.0, outdoor_c=np.zeros(96), room_c=air, radiant_c=air + 1.0,
        heat_w=heat, humidity=damp, carbon_dioxide_ppm=gas, age_s=gas, pressure_pa=gas, forward_kg_s=gas,
        back_kg_s=gas, condensed_kg=gas, removed_kg=gas, surfaces=(), surface_c=air,
        balances=Balances(0, 0, 0, 0, 0, 0),
    )  # fmt: skip
    for row in room_years(one, year):
        assert (row.hours_cold, row.hours_hot, row.hours_damp) == (12.0, 12.0, 2.5)
        assert (row.coldest_c, row.warmest_c, row.humidity_most) == (18.9, 28.1, 0.71)
        assert (row.carbon_dioxide_night_ppm, row.carbon_dioxide_most_ppm) == (700.0, 2000.0)
        assert_close((row.heat_kwh, row.cool_kwh), (12.0, 4.8), rel=1e-12, why=EXACT)
    assert_close(year.operative_c, air + 0.5, rel=1e-12, why="half way to the radiant mean")


def held(**more: Any) -> House:
    window = {"id": "w", "room": "b", "wall": "south", "width": 1.0, "height": 1.0, "glazing": "g", "shade": 0.8}
    return two(**{"head": [HEAD], "household": POINTS, "window": [window], "prices": PRICES} | more)


@pytest.mark.analytic
def test_every_remedy_changes_what_it_names() -> None:
    """A kelvin further both ways, 1 1/2 in, half the sun, 60 cfm at 0.15 W a cfm or 1.7 times as much; 50 log10(1.7)
    is 12 dB (fan laws); two holes of 60 in2 in 10 m2 of 35 dB leave 10 log10(10/0.0805) = 20.9 dB."""
    found = {remedy.id: remedy for remedy in remedies_of(held(), "b", "a")}
    points = found["set-points"].house.household
    assert_close((points.heating_set_point_c, points.cooling_set_point_c), (21.0, 26.0), rel=1e-12, why=EXACT)
    assert_close(found["undercut"].house.door[0].undercut_m, 1.5 * 0.0254, rel=1e-9, why=EXACT)
    assert_close(found["shade"].house.window[0].shade, 0.4, rel=1e-12, why=EXACT)
    left = found["grilles"].findings[0].values["left"]
    assert (found["shade"].price, found["second-head"].price, left) == (50.0, 900.0, 21)
    assert [head.room for head in found["second-head"].house.head] == ["a", "b"]
    assert_close(found["transfer"].house.transfer_fan[0].flow_m3_s, 60 * CFM, rel=1e-3, why="three digits")
    assert_close(found["transfer"].watts, 9.0, rel=0.01, why="60 cfm at 0.15 W a cfm, two digits")
    for power, watts in (("20 W", 0.7 * 20.0), (None, 0.7 * 6.4)):
        own = {"id": "t", "from_room": "a", "to_room": "b", "flow": "0.02 m3/s"} | ({"power": power} if power else {})
        bigger = next(r for r in remedies_of(held(transfer_fan=[own]), "b", "a") if r.id == "transfer")
        assert_close(bigger.house.transfer_fan[0].flow_m3_s, 0.034, rel=1e-12, why=EXACT)
        assert_close(bigger.watts, watts, rel=1e-9, why="320 W per m3/s where no power is told")
        assert bigger.findings[0].values["louder"] == 12


@pytest.mark.invariant
def test_samples_are_told_in_the_order_of_their_points_and_how_far_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four groups: a quarter, a half, three quarters, all."""

    class Echo:
        def __init__(self, *_: object) -> None: ...

        def group(self, points: list[dict[str, float]]) -> list[sampling._Row]:
            return [sampling._Row([p["people"]], np.full(2, p["people"]), np.zeros(2), {}) for p in points]

    monkeypatch.setattr(sampling, "_Work", Echo)
    shares: list[float] = []
    ready = Ready(two(), "a", (SimpleNamespace(routes=SimpleNamespace(network=SimpleNamespace(rooms="ab"))), None), {})
    told = sample(
        ready, (Unknown("people", 0.0, 1.0),), count=4 * WIDE, promises=(SimpleNamespace(id="x"),),
        progress=shares.append,
    )  # fmt: skip
    assert_close(shares, [0.25, 0.5, 0.75, 1.0], rel=1e-12, why=EXACT)
    assert np.array_equal(told.values, told.points)
    assert [told.share("x", limit) for limit in (0.25, 0.5)] == [0.25, 0.5], "Sobol points part their range evenly"
    assert np.array_equal(told.outside_h, np.repeat(told.points, 2, axis=1))


@pytest.mark.analytic
def test_remedies_are_tried_alone_and_in_pairs_with_rising_progress(monkeypatch: pytest.MonkeyPatch) -> None:
    """n of them share the first 0.6, six pairs of the best four the other 0.4; 876 kWh more a year are 100 W, 87.6 of a
    dehumidifier 10 W."""
    one, shares = held(), []

    def outcome(version: House, *_: object, **__: object) -> Outcome:
        offset = 5.0 - 0.5 * len(version.transfer_fan) - 0.2 * len(version.head)
        heads = (SimpleNamespace(electric_kwh=1000.0 if version == one else 1876.0),)
        return Outcome({"heating": {"b": -offset}}, {"b": 9.0}, {"a": 1.0, "b": 2.0}, heads, 0.0, 0.0,
                       10.0 if version == one else 97.6, 0.0)  # fmt: skip

    monkeypatch.setattr(trying, "outcome_of", outcome)
    case = Case(one, None, None, "b", "a", 1.0, outcome(one), None, None)
    told, n = try_remedies(case, progress=shares.append), len(remedies_of(one, "b", "a"))
    want = [0.6 * k / n for k in range(1, n + 1)] + [0.6 + 0.4 * k / 6 for k in range(1, 7)]
    assert_close(shares, want, rel=1e-9, why=EXACT)
    assert len(told) == n + 6
    assert told[0].remedy.id in ("transfer+second-head", "second-head+transfer")
    assert [round(t.offset_k, 1) for t in told] == sorted(round(t.offset_k, 1) for t in told)
    for row in told:
        assert_close(row.mean_w, row.remedy.watts + 110.0, rel=1e-9, why=EXACT)
        assert (row.damp_h, row.outside_h, row.keeps, row.by_season_k) == (2.0, 9.0, False, {"heating": -row.offset_k})


@pytest.mark.analytic
def test_doors_that_differ_from_day_to_day_do_so_evenly() -> None:
    """Nights step round a circle by the golden ratio, days by the root of two. Of any 89 nights in a row (a Fibonacci
    number) or 70 days (a Pell number) the share that lies in an arc is off by at most 2 (Denjoy and Koksma, from
    memory); never three in a row lie on one half, since a step goes 0.382 or 0.414 on."""
    one = two(door=[DOOR | {"open_hours": "07:00-22:00"}])
    ready = made(one, 178 * 24)
    varied = Varied(one, ready)
    days = np.arange(178 * 24) // 24
    for share in (0.5, 0.3, 0.1):
        point = {"doors_open_at_night": share, "doors_shut_by_day": share}
        hours = varied.forcing(point, days).route_share[:, varied.leaves[0]].reshape(178, 24)
        for drawn, n in ((hours[:, 2], 89), (1.0 - hours[:, 12], 70)):
            assert set(drawn) == {0.0, 1.0}
            among = np.convolve(drawn, np.ones(n), mode="valid")
            assert_close(among, np.full(179 - n, n * share), abs=2.0, why="variation of an arc")
            if share == 0.5:
                assert set(np.convolve(drawn, np.ones(3), mode="valid")) <= {1.0, 2.0}, "never three alike"
    assert np.array_equal(varied.forcing({}, days).route_share, ready.forcing.route_share)


@pytest.mark.analytic
def test_what_each_unknown_moves_and_by_how_much() -> None:
    """2 K warmer: air, sky and earth by 2, a space that sees 0.6 of the difference by 1.2. Heads give 0.9, heaters all, fans 0.7.

    0.6 more at the top than in the middle: in a straight line of height, 1.6 to 0.4 of the middle from top to bottom,
    so that top and bottom part as 1.6 to 0.4. Bedrooms 1.7 times as much an area as the others.
    """
    fan = {"id": "t", "from_room": "a", "to_room": "b", "flow": "0.02 m3/s"}
    porch = {"id": "n", "kind": "porch", "walls": ["a:west"], "temperature_factor": 0.6}
    one = held(transfer_fan=[fan], buffer=[porch], heater=[{"id": "e", "room": "a", "power": "500 W"}])
    ready = made(one)
    varied, f, links = Varied(one, ready), ready.forcing, ready.system.air.links
    told = varied.forcing({"weather_k": 2.0, "capacity": 0.9})
    assert_close(told.boundary_c - f.boundary_c, np.tile([2.0, 2.0, 2.0, 1.2], (24, 1)), abs=1e-9, why=EXACT)
    assert_close(told.most_w[:, 0], np.full(24, 0.9 * 3000.0 + 500.0), rel=1e-9, why=EXACT)
    assert_close((told.coil_most_w, told.coil_least_w), (0.9 * f.coil_most_w, f.coil_least_w), rel=1e-9, why=EXACT)
    k = [link.name for link in links].index("t")
    moved = varied.system({"transfer": 0.7}).air.links[k].curve.flow_m3_s
    assert_close(moved, 0.7 * np.array(links[k].curve.flow_m3_s), rel=1e-12, why=EXACT)

    def ratios(point: dict[str, float]) -> np.ndarray:
        now = varied.system(point).air.links
        return np.array([now[k].coefficient_m3_s_pan / links[k].coefficient_m3_s_pan for k in varied.leaks])

    high, z = ratios({"leaks_high": 0.6}), np.array([links[k].low_m for k in varied.leaks])
    height = (z - z.min()) / np.ptp(z)
    assert len(set(np.round(height, 6))) == 3, "a wall's two heights and the ceiling"
    assert_close(high / high[z == z.min()].mean(), 1.0 + 3.0 * height, rel=1e-9, why="1.6 is four times 0.4")
    beds = ratios({"leaks_in_bedrooms": 1.7})
    inside = np.array([links[k].a == 1 for k in varied.leaks])
    assert_close(beds / beds[~inside].mean(), np.where(inside, 1.7, 1.0), rel=1e-9, why=EXACT)
