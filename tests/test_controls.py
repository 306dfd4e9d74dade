"""Rows of control of the house file: what they do to devices, doors, windows and set points, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from inshell.cli.run import run as command
from inshell.climate.choose import climate_of
from inshell.design.controls import is_working
from inshell.design.day_run import RELAY_STEP_S, STEP_S, day_step_s
from inshell.design.drivers import Prepared, prepare
from inshell.design.gains import people_at
from inshell.design.slab_strips import slab_strips
from inshell.house.reading import HouseFile, read_house
from inshell.network.compiled import run
from inshell.network.system import Series, first_state
from inshell.physics.ground import edge_strip_ratio
from tests.evidence import DEMO, EXAMPLES, assert_close

HOURS = np.arange(24 * 20, 24 * 27)  # from a Sunday, if the year begins on a Monday


def with_rows(tmp_path: Path, rows: str) -> HouseFile:
    path = tmp_path / "h.toml"
    path.write_text(DEMO.read_text(encoding="utf-8") + rows, encoding="utf-8")
    return read_house(path)


def made(file: HouseFile, hours: np.ndarray = HOURS) -> Prepared:
    return prepare(file.house, file.geometry, climate_of(file.house, DEMO.parent), hours=hours, doors="by-hours")


def told(ready: Prepared) -> Series:
    return run(ready.system, ready.forcing, first_state(ready.system, air_c=21.0), step_s=600.0)


def flow(ready: Prepared, series: Series, name: str) -> np.ndarray:
    k = [link.name for link in ready.system.air.links].index(name)
    return series.forward_kg_s[:, k] + series.back_kg_s[:, k]


@pytest.mark.invariant
def test_humidity_calls_a_fan_to_full_flow_and_the_room_stays_drier(tmp_path: Path) -> None:
    row = '\n[[control]]\nid = "damp"\ntarget = "bath-fan"\ndoes = "full"\nhumidity_above = "35 %"\n'
    plain, ruled = made(with_rows(tmp_path, "")), made(with_rows(tmp_path, row))
    one, two = told(plain), told(ruled)
    name = "bath-fan boost"
    assert flow(ruled, two, name).sum() > 1.5 * flow(plain, one, name).sum()
    bath = [room.id for room in read_house(DEMO).house.room].index("bath")
    assert two.humidity[:, bath].mean() < one.humidity[:, bath].mean()


@pytest.mark.analytic
def test_hours_and_days_say_when_a_row_acts(tmp_path: Path) -> None:
    """A transfer fan that is off on working days from 9 to 17: five days of eight hours stand still, no other hour."""
    fan = read_house(DEMO).house.transfer_fan[0].id
    row = (
        f'\n[[control]]\nid = "rest"\ntarget = "{fan}"\ndoes = "off"\nfrom = "09:00"\nto = "17:00"\ndays = "working"\n'
    )
    ready = made(with_rows(tmp_path, row))
    still = flow(ready, told(ready), fan) == 0.0
    clock, weekday = HOURS % 24, (HOURS // 24) % 7
    assert np.array_equal(still, (clock >= 9) & (clock < 17) & (weekday < 5))
    assert still.sum() == 40


@pytest.mark.analytic
def test_a_row_acts_while_a_room_is_occupied(tmp_path: Path) -> None:
    """Transfer fan 1 off while somebody is in bedroom 1: the hours in which the parents sleep there."""
    rows = '\n[[control]]\nid = "quiet"\ntarget = "transfer-1"\ndoes = "off"\nroom = "bed-1"\noccupied = true\n'
    ready = made(with_rows(tmp_path, rows))
    still = flow(ready, told(ready), "transfer-1") == 0.0
    person = read_house(DEMO).house.person[0]
    clock = HOURS % 24
    middle = clock + 0.5
    assert np.array_equal(still, (middle >= person.asleep_from_h) | (middle < person.asleep_to_h))
    rows = '\n[[control]]\nid = "bath"\ntarget = "bath-fan"\ndoes = "off"\noccupied = true\n'
    ready = made(with_rows(tmp_path, rows))
    series = told(ready)
    moved = flow(ready, series, "bath-fan boost") + flow(ready, series, "bath-fan")
    assert set(clock[moved == 0.0]) == {7}, "the hour of the showers"


@pytest.mark.analytic
def test_an_interlock_acts_while_another_device_runs(tmp_path: Path) -> None:
    """The bath fan rests while the hood runs: in the hour of cooking, and in hours that a row gives the hood."""
    from inshell.design.room_pressures import calculate_room_pressures

    rows = (
        '\n[[control]]\nid = "lock"\ntarget = "bath-fan"\ndoes = "off"\nwhile_runs = "hood"\n'
        '\n[[control]]\nid = "brunch"\ntarget = "hood"\ndoes = "full"\nfrom = "10:00"\nto = "12:00"\ndays = "free"\n'
    )
    file = with_rows(tmp_path, rows)
    ready = made(file)
    series = told(ready)
    still = (flow(ready, series, "bath-fan") == 0.0) & (flow(ready, series, "bath-fan boost") == 0.0)
    cooks = flow(ready, series, "hood") > 0.0
    assert np.array_equal(still, cooks)
    assert cooks.sum() == 7 + 2 * 2, "once a day, and two hours on Saturday and on Sunday"
    climate = climate_of(file.house, DEMO.parent)
    states = calculate_room_pressures(file.house, file.geometry, climate)[0]
    for names in states.running:
        assert not ({"hood"} <= set(names) and {"bath-fan", "bath-fan:base"} & set(names)), names
    assert states.find({"hood", "bath-fan"}) is None
    assert states.find({"hood"}) is not None


@pytest.mark.analytic
def test_the_higher_priority_prevails(tmp_path: Path) -> None:
    rows = "".join(
        f'\n[[control]]\nid = "{name}"\ntarget = "bath-fan"\ndoes = "{does}"\npriority = {priority}\n'
        for name, does, priority in (("a-lockout", "off", 5), ("b-wish", "full", 1))
    )
    ready = made(with_rows(tmp_path, rows))
    series = told(ready)
    assert flow(ready, series, "bath-fan boost").max() == 0.0 == flow(ready, series, "bath-fan").max()


@pytest.mark.analytic
def test_set_points_go_by_hours(tmp_path: Path) -> None:
    """From 22 to 6 a set-back of the living room; a step must lie where the row says, and nowhere else."""
    row = '\n[[control]]\nid = "night"\ntarget = "living"\ndoes = "heat-to"\nset_point = "17 °C"\nfrom = "22:00"\nto = "06:00"\n'
    file = with_rows(tmp_path, row)
    ready = made(file)
    living = [room.id for room in file.house.room].index("living")
    clock = HOURS % 24
    want = np.where((clock >= 22) | (clock < 6), 17.0, file.house.household.heating_set_point_c)
    assert_close(ready.forcing.heat_at_c[:, living], want, abs=1e-9, why="as written")
    series = told(ready)
    assert series.nodes_c[(clock >= 2) & (clock < 6), living].min() < 20.5


@pytest.mark.invariant
def test_a_row_opens_a_door_that_its_hours_shut(tmp_path: Path) -> None:
    """Door hours are the lowest row: one that opens it at night prevails over sleepers behind it."""
    door = next(d.id for d in read_house(DEMO).house.door if d.between and "bed-1" in d.between)
    row = f'\n[[control]]\nid = "ajar"\ntarget = "{door}"\ndoes = "open"\nfrom = "00:00"\nto = "03:00"\n'
    plain, ruled = made(with_rows(tmp_path, "")), made(with_rows(tmp_path, row))
    clock = HOURS % 24
    passes = [flow(one, told(one), door) > 1e-4 for one in (plain, ruled)]
    assert not passes[0][clock < 3].any()
    assert passes[1][clock < 3].all()
    assert not passes[1][(clock >= 3) & (clock < 6)].any()


@pytest.mark.analytic
def test_people_stay_at_home_on_free_days() -> None:
    """Away from 8 to 17 on working days: at noon nobody is there, on Sunday all are."""
    house = read_house(DEMO).house
    first, *rest = house.person
    away = [first.model_copy(update={"away_from_h": 8.0, "away_to_h": 17.0})]
    house = house.model_copy(update={"person": (*away, *rest)})
    at_work, at_home = people_at(house, 12.0, working=True), people_at(house, 12.0, working=False)
    assert at_home.heat_w.sum() - at_work.heat_w.sum() == pytest.approx(70.0 * sum(p.count for p in away))
    assert is_working(house, np.arange(24 * 14)).sum() == 10 * 24


@pytest.mark.invariant
def test_design_days_place_relays_within_ten_seconds(tmp_path: Path) -> None:
    row = '\n[[control]]\nid = "damp"\ntarget = "bath-fan"\ndoes = "full"\nhumidity_above = "55 %"\n'
    assert day_step_s(made(with_rows(tmp_path, "")), STEP_S) == STEP_S
    assert day_step_s(made(with_rows(tmp_path, row)), STEP_S) == RELAY_STEP_S


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("sense", "on_at", "off_at"), [('humidity_above = "60 %"', 0.60, 0.55), ('air_below = "18 °C"', 18.0, 18.5)]
)
def test_the_dead_band_lies_on_the_side_that_lets_go(sense: str, on_at: float, off_at: float, tmp_path: Path) -> None:
    """Above 60 % it lets go at 55; below 18 °C at 18.5 (the declared bands)."""
    row = f'\n[[control]]\nid = "x"\ntarget = "bath-fan"\ndoes = "full"\n{sense}\n'
    controls = [c for c in made(with_rows(tmp_path, row)).system.controls if c.name == "x"]
    assert controls
    for control in controls:
        assert_close(np.array([control.on_at, control.off_at]), np.array([on_at, off_at]), abs=1e-9, why="declared")


@pytest.mark.invariant
def test_a_row_opens_a_window_whatever_the_doors_do(tmp_path: Path) -> None:
    row = '\n[[control]]\nid = "air"\ntarget = "w-bed-1"\ndoes = "open"\nfrom = "10:00"\nto = "12:00"\n'
    file = with_rows(tmp_path, row)
    climate = climate_of(file.house, DEMO.parent)
    for doors in ("open", "shut", "by-hours"):
        ready = prepare(file.house, file.geometry, climate, hours=HOURS[:48], doors=doors)  # type: ignore[arg-type]
        passes = flow(ready, told(ready), "w-bed-1 open") > 0.0
        assert np.array_equal(passes, (HOURS[:48] % 24 >= 10) & (HOURS[:48] % 24 < 12))


WRONG = {
    'target = "d-bed-1"\ndoes = "open"\nhumidity_above = "60 %"': "control.x.room",
    'target = "nobody"\ndoes = "off"': "control.x.target",
    'target = "bath-fan"\ndoes = "off"\nwhile_runs = "nobody"': "control.x.while_runs",
    'target = "bath-fan"\ndoes = "off"\nwhile_runs = "bath-fan"': "control.x",
    'target = "bath-fan"\ndoes = "open"': "control.x.does",
    'target = "living"\ndoes = "heat-to"': "control.x",
    'target = "bath-fan"\ndoes = "full"\nhumidity_above = "60 %"\nair_above = "25 °C"': "control.x",
    'target = "bath-fan"\ndoes = "full"\nfrom = "08:00"': "control.x",
    'target = "bath-fan"\ndoes = "full"\nfrom = "08:00"\nto = "08:00"': "control.x",
    'target = "bath-fan"\ndoes = "full"\nroom = "attic"\nhumidity_above = "60 %"': "control.x.room",
}


@pytest.mark.invariant
@pytest.mark.parametrize("row", WRONG)
def test_a_row_that_means_nothing_is_refused_with_its_place(
    row: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "h.toml"
    path.write_text(DEMO.read_text(encoding="utf-8") + f'\n[[control]]\nid = "x"\n{row}\n', encoding="utf-8")
    assert command(["describe", str(path)]) == 2
    shown = capsys.readouterr()
    assert WRONG[row] in shown.out + shown.err


@pytest.mark.invariant
def test_set_points_that_cross_in_an_hour_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    row = '\n[[control]]\nid = "hot"\ntarget = "living"\ndoes = "heat-to"\nset_point = "27 °C"\nfrom = "12:00"\nto = "13:00"\n'
    path = tmp_path / "h.toml"
    path.write_text(DEMO.read_text(encoding="utf-8") + row, encoding="utf-8")
    assert command(["simulate", str(path), "--day", "hottest"]) == 2
    shown = capsys.readouterr()
    assert "set points" in shown.out + shown.err


@pytest.mark.analytic
def test_the_edge_strip_loses_as_its_arcs_say() -> None:
    """Both means of lambda/(dt + pi x), by scipy's quadrature."""
    dt, b, half = 3.0, 1.0, 4.0
    edge, behind = (
        quad(lambda x: 1 / (dt + np.pi * x), 0, b)[0] / b,
        quad(lambda x: 1 / (dt + np.pi * x), b, half)[0] / (half - b),
    )
    assert_close(edge_strip_ratio(strip_m=b, half_width_m=half, dt_m=dt), edge / behind, rel=1e-9, why="closed form")


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_strips_cover_the_slab_and_lose_what_the_standard_says(path: Path) -> None:
    from inshell.design.envelope import calculate_slab

    file = read_house(path)
    strips = slab_strips(file.house, file.geometry)
    for slab in file.house.slab:
        result = calculate_slab(file.house, file.geometry, slab)
        if result is None:
            continue
        mine = [strips[s.id] for s in file.geometry.surfaces if s.assembly == slab.id and s.id in strips]
        assert_close(sum(s.edge_m2 + s.behind_m2 for s in mine), result.area_m2, rel=1e-9, why="parts of a whole")
        loss = sum(s.edge_m2 * s.edge_u_w_m2k + s.behind_m2 * s.behind_u_w_m2k for s in mine)
        assert_close(loss, result.effective_u_w_m2k * result.area_m2, rel=1e-9, why="ISO 13370's steady loss")
        assert all(s.edge_u_w_m2k >= s.behind_u_w_m2k for s in mine)


@pytest.mark.invariant
def test_the_heating_day_follows_the_chosen_convection(tmp_path: Path) -> None:
    """By difference, the steady day settles, closes its balance, and is where the coupled step stays put."""
    from inshell.design.cold_day import calculate_cold_day, heated_rooms

    days = []
    for choice in ("constant", "by-difference"):
        file = with_rows(tmp_path, f'\n[simulation]\nconvection = "{choice}"\n')
        climate = climate_of(file.house, DEMO.parent)
        heated = heated_rooms(file.house)[:1]
        days.append(calculate_cold_day(file.house, file.geometry, climate, doors_open=False, heated=heated))
    assert all(abs(day.imbalance_w) < 1.0 for day in days)
    gaps = [abs(days[0].room_c[room] - days[1].room_c[room]) for room in days[0].room_c]
    assert max(gaps) > 0.05, "a choice that changes nothing is none"
