"""The warm floor as a device of the coupled network, and its year: both steps, balances, limits, the cycling rule."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inshell.cli.run import run as command
from inshell.design.drivers import prepare
from inshell.design.floor_year import calculate_floor_year, with_tubes
from inshell.house.reading import read_house
from inshell.jobs.floor import Floor, floor
from inshell.network.compiled import run
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.reference import run_reference
from inshell.network.system import Control, Forcing, Sensor, System, Target, Tube, first_state
from inshell.network.thermal import ThermalNetwork
from tests.evidence import DEMO, assert_close


@pytest.fixture(scope="module")
def told() -> Floor:
    return floor(DEMO)


def slab_and_room(capacity: float = 4e5) -> System:
    """A room of 10 W/K to outdoors over a slab node of 80 W/K to the room, with tubes of 120 W/K at that node."""
    network = ThermalNetwork(rooms=1, boundaries=1)
    network.node(6e4)
    slab = network.node(capacity)
    network.join(0, slab, 80.0)
    network.face(0, 0, 10.0)
    crack = Link("leak", LinkKind.CRACK, 0, 1, low_m=1.0, coefficient_m3_s_pan=1e-9, exponent=0.65)
    always = Control("tubes", Sensor.NOTHING, 0, True, 0.0, 0.0, Target.TUBE_SHARE, 0, 1.0)
    zero = np.zeros(1)
    return System(
        thermal=network, air=AirNetwork(("room",), (crack,)), mass_kg=np.array([60.0]), buffer_kg=zero,
        buffer_kg_s_pa=zero, pressure_pa=101325.0, radiant=(0,), controls=(always,), tubes=(Tube(slab, 120.0),),
    )  # fmt: skip


def steady(hours: int, supply_c: float) -> Forcing:
    zero, none = np.zeros((hours, 1)), np.full((hours, 1), np.nan)
    return Forcing(
        outdoor_c=np.zeros(hours), outdoor_vapour=np.full(hours, 0.003), boundary_c=zero, source_w=np.zeros((hours, 2)),
        vapour_kg_s=zero, gas_kg_s=zero, wind_pa=zero, route_share=np.ones((hours, 1)), heat_at_c=none, cool_at_c=none,
        most_w=none, least_w=none, permit=np.ones((hours, 1)), supply_c=np.full((hours, 1), supply_c),
    )  # fmt: skip


@pytest.mark.analytic
def test_tubes_warm_a_slab_as_an_integrator_has_it() -> None:
    """Two stores against scipy's integrator; in the end three resistances in a row."""
    system = slab_and_room()
    begin = first_state(system, air_c=10.0)
    exact = solve_ivp(
        lambda _, t: [(80 * (t[1] - t[0]) - 10 * t[0]) / 6e4, (120 * (40 - t[1]) - 80 * (t[1] - t[0])) / 4e5],
        (0, 48 * 3600), [10.0, 10.0], rtol=1e-9, atol=1e-9, dense_output=True, method="LSODA",
    ).sol  # fmt: skip
    hours = np.array([np.mean(exact(np.linspace(h, h + 1, 61) * 3600), axis=1) for h in range(48)])
    for stepper in (run, run_reference):
        for step_s, off_k in ((600.0, 0.25), (60.0, 0.025)):
            series = stepper(system, steady(48, 40.0), begin, step_s=step_s)
            assert_close(series.nodes_c, hours, abs=off_k, why="tubes look at their node at the start of a step")
            flow = 40.0 / (1 / 120 + 1 / 80 + 1 / 10)
            assert_close(series.tube_w[-1, 0], flow, rel=0.06 * step_s / 600.0, why="three resistances in a row")
            assert series.balances.heat_w < 1e-8


@pytest.mark.invariant
def test_half_the_step_halves_what_tubes_are_off() -> None:
    system, begin = slab_and_room(1.2e5), None
    begin = first_state(system, air_c=10.0)
    ends = [run(system, steady(6, 40.0), begin, step_s=s).nodes_c[2, 1] for s in (600.0, 300.0, 150.0, 75.0)]
    steps = np.abs(np.diff(ends))
    assert np.all(steps[1:] < 0.7 * steps[:-1]), ends


@pytest.mark.invariant
def test_both_steps_agree_with_the_floor(told: Floor) -> None:
    """Two winter days of the demo house with loops, reset, thermostats by air and by the slab: kernel and reference."""
    base = told.answer
    hours = np.arange(48, dtype=np.int64)
    for sensor in ("air", "slab"):
        house = base.house.model_copy(update={"floor": base.house.floor.model_copy(update={"sensor": sensor})})
        bare = prepare(house, base.geometry, base.climate, hours=hours, doors="by-hours", makers="heads")
        ready, _ = with_tubes(house, bare, told.heat, told.water, hours, base.climate.design.heating_c)
        begin = first_state(ready.system, air_c=19.5)
        one = run(ready.system, ready.forcing, begin, step_s=600.0)
        two = run_reference(ready.system, ready.forcing, begin, step_s=600.0)
        assert one.tube_w.sum() > 0.0
        assert_close(one.nodes_c, two.nodes_c, abs=1e-6, why="one set of equations")
        assert_close(one.tube_w, two.tube_w, abs=1e-5, why="one set of equations")


@pytest.mark.invariant
def test_a_floor_does_not_run_above_its_lockout(told: Floor) -> None:
    base = told.answer
    hours = np.arange(24 * 150, 24 * 160, dtype=np.int64)
    bare = prepare(base.house, base.geometry, base.climate, hours=hours, doors="by-hours", makers="heads")
    ready, _ = with_tubes(base.house, bare, told.heat, told.water, hours, base.climate.design.heating_c)
    series = run(ready.system, ready.forcing, first_state(ready.system, air_c=15.0), step_s=600.0)
    locked = ready.forcing.outdoor_c >= base.house.floor.lockout_above_c
    assert locked.any()
    assert series.tube_w[locked].sum() == 0.0
    supply = ready.forcing.supply_c
    assert supply.max() <= base.house.floor.supply_most_c
    assert np.all(np.diff(supply[np.argsort(ready.forcing.outdoor_c), 0]) <= 1e-9), (
        "the colder outdoors, the warmer the water"
    )


@pytest.mark.invariant
def test_the_year_of_the_floor(told: Floor) -> None:
    """Heat closes; the rule of cycling holds against the minute; a setback costs warmth; thicker covering takes longer."""
    base = told.answer
    year = calculate_floor_year(base.house, base.geometry, base.climate, told.heat, told.water, told.source)
    assert year.imbalance_w < 1e-6
    assert_close(year.loop_w.sum() / 1000.0, year.heat_kwh, rel=1e-12, why="loops add up")
    assert 0.0 < year.down_kwh < year.heat_kwh
    assert len(year.days_checked) == 3
    for _, rule, counted in year.days_checked:
        assert_close(rule, counted, abs=2.0, rel=0.15, why="whole starts; loads within an hour vary")
    back = base.house.model_copy(update={"floor": base.house.floor.model_copy(update={"setback_k": 3.0})})
    colder = calculate_floor_year(back, base.geometry, base.climate, told.heat, told.water, told.source)
    assert colder.heat_kwh < year.heat_kwh
    assert max(r.hours_cold for r in colder.rooms) >= max(r.hours_cold for r in year.rooms)
    none = replace(told.source, least_w=None)
    assert calculate_floor_year(base.house, base.geometry, base.climate, told.heat, told.water, none).starts is None


@pytest.mark.invariant
def test_leaders_warm_what_they_pass(told: Floor) -> None:
    """With no leaders counted a room without a field is colder and all loops together give less."""
    base = told.answer
    year = calculate_floor_year(base.house, base.geometry, base.climate, told.heat, told.water, None)
    bare = replace(told.heat, loops=tuple(replace(loop, leader_m2={}) for loop in told.heat.loops))
    colder = calculate_floor_year(base.house, base.geometry, base.climate, bare, told.water, None)
    rooms = {r.room: r for r in year.rooms}
    assert set(rooms) - {r.room for r in colder.rooms} == {"hall", "bath", "utility"}
    passed = sum(loop.leader_m2.get("bath", 0.0) for loop in told.heat.loops)
    assert passed > 0.5
    assert rooms["bath"].floor_winter_c > rooms["bed-1"].floor_winter_c
    assert colder.heat_kwh < year.heat_kwh


@pytest.mark.invariant
def test_the_core_of_a_slab_is_where_its_tubes_are() -> None:
    """The slice round the tubes changes nothing of a slab's steady loss; its node lies at the tubes' depth."""
    file = read_house(DEMO)
    from inshell.climate.choose import climate_of
    from inshell.design.coupled import networks_of

    climate = climate_of(file.house, file.folder)
    _, with_ = networks_of(file.house, file.geometry, climate, doors="open")
    _, without = networks_of(file.house.model_copy(update={"circuit": ()}), file.geometry, climate, doors="open")
    rooms = {file.house.room[core.room].id for core in with_.cores}
    assert rooms == {s.room for s in file.geometry.surfaces if s.other == "ground"}, "leaders may pass any of them"
    assert not without.cores

    def loss(thermal) -> float:
        from inshell.network.thermal import ThermalStepper

        count = thermal.network.boundaries
        stepper = ThermalStepper(thermal.network, 1e12)
        held = np.full(thermal.network.rooms, 20.0)
        nodes = np.full(len(thermal.network.capacity_j_k), 20.0)
        told = stepper.step(
            nodes, boundary_c=np.zeros(count), source_w=np.zeros(len(nodes)), set_point_c=held,
            most_w=np.full(len(held), 1e9), least_w=np.full(len(held), -1e9),
        )  # fmt: skip
        return float(told.holder_w.sum())

    assert_close(loss(with_), loss(without), rel=1e-9, why="the same concrete in other slices")


@pytest.mark.invariant
def test_the_command_with_its_year(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["floor", str(DEMO), "--year", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    names = [way["name"] for way in document["ways"]]
    assert names == ["tubes everywhere", "tubes where no head stands, heads", "heads alone", "resistance in every room"]
    resistance = document["ways"][-1]
    assert_close(resistance["electric_kwh"], resistance["heat_kwh"], rel=1e-12, why="one for one")
    assert document["ways"][2]["electric_kwh"] < document["ways"][2]["heat_kwh"]
    assert command(["floor", str(DEMO), "--year"]) == 0
    text = capsys.readouterr().out
    for words in ("Through the year", "by the minute", "Ways to warm the house"):
        assert words in text
