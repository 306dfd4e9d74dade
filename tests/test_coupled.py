"""The coupled step: compiled and readable one alike, balances, controls, limits, and what must hold of any run."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from inshell.climate.choose import climate_of
from inshell.design.drivers import Prepared, prepare
from inshell.errors import InputRefused, NotConverged
from inshell.house.reading import read_house
from inshell.network import compiled
from inshell.network.compiled import is_compiled, run, run_variants
from inshell.network.links import AirNetwork, Exchange, Link, LinkKind
from inshell.network.reference import Reference, run_reference
from inshell.network.system import Control, Film, Forcing, Sensor, State, System, Target, first_state, fraction_of_ppm
from inshell.network.thermal import ThermalNetwork
from inshell.physics.air import density_kg_m3, saturation_pressure_pa
from inshell.physics.conduction import Layer
from inshell.physics.fan import FanCurve
from tests.evidence import EXAMPLES, assert_close

WITH_YEAR = [p for p in EXAMPLES if read_house(p).house.climate.year]
WEEK = 24 * 7
STEP = 600.0


@cache
def prepared(path: Path) -> Prepared:
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    return prepare(file.house, file.geometry, climate, hours=np.arange(8760), doors="by-hours")


def one_room(
    *, controls: tuple[Control, ...] = (), ua: float = 50.0, capacity: float = 4e6, leak: float = 0.0, fan: float = 0.0
) -> System:
    """One room of 40 kg of air: a mass with a conductance outdoors, a crack, an exhaust fan."""
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(capacity)
    thermal.face(0, 0, ua)
    links = [Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=leak or 1e-6)]
    if fan:
        links.append(Link("fan", LinkKind.FAN, 0, 1, curve=FanCurve((0.0, 1e5), (fan, fan))))
    return System(
        thermal=thermal, air=AirNetwork(("room",), tuple(links)), mass_kg=np.array([40.0]), buffer_kg=np.zeros(1),
        buffer_kg_s_pa=np.zeros(1), pressure_pa=101325.0, radiant=(0,), controls=controls,
    )  # fmt: skip


def steady_forcing(system: System, hours: int, *, outdoor_c: float = 0.0, **other: np.ndarray) -> Forcing:
    def full(columns: int, value: float) -> np.ndarray:
        return np.full((hours, columns), value)

    r, links = system.rooms, len(system.air.links)
    given = {
        "outdoor_c": np.full(hours, outdoor_c), "outdoor_vapour": np.full(hours, 0.002),
        "boundary_c": full(system.thermal.boundaries, outdoor_c), "source_w": full(system.nodes, 0.0),
        "vapour_kg_s": full(r, 0.0), "gas_kg_s": full(r, 0.0), "wind_pa": full(links, 0.0),
        "route_share": full(links, 1.0), "heat_at_c": full(r, np.nan), "cool_at_c": full(r, np.nan),
        "most_w": full(r, 1e7), "least_w": full(r, -1e7), "permit": full(len(system.controls), 1.0),
    }  # fmt: skip
    return Forcing(**(given | other))


needs_kernel = pytest.mark.skipif(not is_compiled(), reason="the compiled step is not built on this machine")


@needs_kernel
@pytest.mark.analytic
@pytest.mark.parametrize("path", WITH_YEAR, ids=lambda p: p.stem)
@pytest.mark.parametrize("first", [0, 24 * 17, 24 * 100, 24 * 200], ids=["winter", "january", "swing", "summer"])
def test_compiled_and_readable_step_agree_from_the_same_state(path: Path, first: int) -> None:
    """Two programs of one set of equations: every hour from the state that the compiled one has reached."""
    ready = prepared(path)
    now = first_state(ready.system, air_c=21.0)
    now = run(ready.system, ready.forcing.rows(first, first + 24), now, step_s=STEP).state
    reference = Reference(ready.system, STEP)
    for day in range(1, 8):
        hour = first + 24 * day - 1
        begin = now.copy()
        told = reference.step(begin, ready.forcing, hour)
        once = one_step(ready, now, hour)
        assert_close(np.abs(once.nodes_c[0] - told.nodes_c).max(), 0.0, abs=1e-6, why="issue: 1e-6 K")
        assert_close(np.abs(once.pressure_pa[0] - told.pressure_pa).max(), 0.0, abs=1e-4, why="issue: 1e-4 Pa")
        through = float((told.forward_kg_s + told.back_kg_s).max())
        for name in ("forward_kg_s", "back_kg_s"):
            gap = np.abs(getattr(once, name)[0] - getattr(told, name)).max()
            assert_close(gap, 0.0, abs=1e-6 * through, why="issue: 1e-6 of flow")
        gas = np.abs(once.carbon_dioxide_ppm[0] - told.gas / fraction_of_ppm(1.0)).max()
        assert_close(gas, 0.0, abs=1e-3, why="issue: 1e-3 ppm")
        assert_close(np.abs(once.humidity[0] - told.humidity).max(), 0.0, abs=1e-8, why="the same arithmetic")
        assert_close(np.abs(once.holder_w[0] - told.holder_w).max(), 0.0, abs=1e-3, why="1e-6 K of some kW/K")
        now = run(ready.system, ready.forcing.rows(hour, hour + 24), now, step_s=STEP).state


@needs_kernel
@pytest.mark.invariant
def test_the_compiled_step_needs_no_more_rounds_and_newton_steps_than_the_readable_one() -> None:
    """The same path to the answer: a wrong derivative would still end at the right flows, only later."""
    ready = prepared(next(p for p in WITH_YEAR if "demo" in p.stem))
    start, cut = first_state(ready.system, air_c=21.0), ready.forcing.rows(0, 12)
    ours = run(ready.system, cut, start, step_s=STEP).balances
    readable = run_reference(ready.system, cut, start, step_s=STEP).balances
    assert ours.rounds == readable.rounds
    assert abs(ours.newton - readable.newton) <= 0.1 * readable.newton


def one_step(ready: Prepared, state: State, hour: int) -> compiled.Series:
    """A single compiled step: an hour of one step each would change its length, so slots are steps and the first is told."""
    return run(ready.system, ready.forcing.rows(hour, hour + 1), state, step_s=STEP, slot_s=STEP)


@pytest.mark.invariant
@pytest.mark.parametrize("path", WITH_YEAR, ids=lambda p: p.stem)
def test_balances_close_through_a_year(path: Path) -> None:
    ready = prepared(path)
    hours = 8760 if is_compiled() else 48
    told = run(ready.system, ready.forcing.rows(0, hours), first_state(ready.system, air_c=21.0), step_s=STEP).balances
    assert told.air_share <= 1e-10
    assert told.vapour_share <= 2e-8
    assert told.gas_share <= 2e-8
    assert told.heat_w <= 1e-5, "some kilowatts pass: 1e-8 of them"


@needs_kernel
@pytest.mark.invariant
def test_a_run_can_be_cut_anywhere() -> None:
    """Chunks of days change nothing: the state holds all that there is."""
    ready = prepared(WITH_YEAR[0])
    start = first_state(ready.system, air_c=21.0)
    whole = run(ready.system, ready.forcing.rows(0, 96), start, step_s=STEP)
    half = run(ready.system, ready.forcing.rows(0, 41), start, step_s=STEP)
    rest = run(ready.system, ready.forcing.rows(41, 96), half.state, step_s=STEP)
    assert_close(np.abs(whole.nodes_c[41:] - rest.nodes_c).max(), 0.0, abs=1e-12, why="the same numbers")
    assert np.array_equal(start.nodes_c, first_state(ready.system, air_c=21.0).nodes_c), "the start is left as it was"


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", [run, run_reference])
def test_a_room_cools_by_its_time_constant(stepper: object) -> None:
    """exp(-t UA / C) with UA 50 W/K and C 4 MJ/K from 20 K above: after 10 h 12.75 K (closed form)."""
    system = one_room()
    state = first_state(system, air_c=20.0)
    told = stepper(system, steady_forcing(system, 10), state, step_s=60.0)  # type: ignore[operator]
    want = 20.0 * np.exp(-36000.0 * 50.0 / 4e6)
    assert_close(told.state.nodes_c[0], want, abs=2e-3, why="second order in 60 s; 1e-6 m3/s of leakage")


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", [run, run_reference])
def test_a_fan_settles_where_its_curve_meets_the_shell(stepper: object) -> None:
    """C p^n = q(p) on a curve of three points, rooted by scipy; same air on both sides, so volumes balance."""
    system = one_room(leak=0.002, fan=0.01)
    curve = FanCurve((0.0, 20.0, 90.0), (0.03, 0.025, 0.004))
    crack, fan = system.air.links
    system = replace(system, air=AirNetwork(("room",), (crack, replace(fan, curve=curve))))
    start = first_state(system, air_c=20.0, humidity=0.0)
    dry = steady_forcing(system, 1, outdoor_c=20.0, outdoor_vapour=np.zeros(1))
    told = stepper(system, dry, replace(start, vapour=np.zeros(1)), step_s=600.0)  # type: ignore[operator]
    pressure = brentq(
        lambda p: 0.002 * p**0.65 - np.interp(p, curve.pressure_pa, curve.flow_m3_s), 1.0, 90.0, xtol=1e-12
    )
    assert_close(-told.pressure_pa[0, 0], pressure, rel=1e-7, why="air converges to 1e-10 of its throughput")


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", [run, run_reference])
def test_carbon_dioxide_settles_where_source_and_fan_say(stepper: object) -> None:
    """c = c_out + S / m: 0.01 m3/s out of 40 kg of air and a source of 1e-5 kg/s (closed form)."""
    system = one_room(leak=0.01, fan=0.01)
    forcing = steady_forcing(system, 48, outdoor_c=20.0, gas_kg_s=np.full((48, 1), 1e-5))
    told = stepper(system, forcing, first_state(system, air_c=20.0), step_s=600.0)  # type: ignore[operator]
    vapour = 101325.0 * told.state.vapour[0] / (0.621945 + 0.378055 * told.state.vapour[0])
    mass = 0.01 * float(density_kg_m3(temperature_c=20.0, vapour_pa=vapour))
    assert_close(told.state.gas[0], fraction_of_ppm(420.0) + 1e-5 / mass, rel=1e-6, why="48 h are 40 time constants")
    assert_close(told.state.age_s[0], 40.0 / mass, rel=1e-6, why="age of a mixed room: mass over flow")


@pytest.mark.analytic
def test_what_air_cannot_hold_condenses() -> None:
    """1 kg/h into a closed room at 20 °C ends at saturation; what came in is in the air or condensed."""
    system = one_room(leak=1e-9, ua=1e6)
    forcing = steady_forcing(system, 24, outdoor_c=20.0, vapour_kg_s=np.full((24, 1), 1.0 / 3600.0))
    start = first_state(system, air_c=20.0)
    told = run(system, forcing, start, step_s=600.0)
    assert_close(told.humidity[-1, 0], 1.0, abs=1e-6, why="saturated")
    in_air = 40.0 * (told.state.vapour[0] - start.vapour[0])
    assert_close(told.condensed_kg.sum() + in_air, 24.0, abs=2e-4, why="what leaks is 1e-9 m3/s")


@pytest.mark.analytic
def test_finishes_damp_a_pulse_of_vapour() -> None:
    """Behind no resistance and with a large store, humidity stays at the store's; mass goes where the balance says."""
    free = one_room(leak=1e-9, ua=1e6)
    bound = replace(free, buffer_kg=np.array([50.0]), buffer_kg_s_pa=np.array([1e-3]))
    pulse = np.zeros((24, 1))
    pulse[0] = 0.2 / 3600.0
    rise = []
    for system in (free, bound):
        forcing = steady_forcing(system, 24, outdoor_c=20.0, vapour_kg_s=pulse)
        rise.append(run(system, forcing, first_state(system, air_c=20.0), step_s=600.0).humidity[-1, 0] - 0.4)
    saturation = float(saturation_pressure_pa(temperature_c=20.0))
    in_air = 40.0 * 0.621945 / 101325.0 * saturation  # kg per unit of humidity, dilute
    assert_close(rise[0], 0.2 / in_air, rel=0.01, why="dilute vapour")
    assert_close(rise[1], 0.2 / (50.0 + in_air), rel=0.02, why="air and finish share it")


def thermostat(**other: float) -> Control:
    return Control("stat", Sensor.AIR_C, 0, False, 19.5, 20.5, Target.NODE_W, 0, 3000.0, **other)


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", [run, run_reference])
def test_a_thermostat_cycles_within_its_dead_band(stepper: object) -> None:
    """3 kW against 1 kW of loss: on for C dT / 2 kW = 2000 s, off for C dT / 1 kW = 4000 s: on a third of the time."""
    system = one_room(controls=(thermostat(),))
    told = stepper(system, steady_forcing(system, 60), first_state(system, air_c=20.0), step_s=60.0, slot_s=600.0)  # type: ignore[operator]
    late = slice(72, None)
    assert 19.3 < told.nodes_c[late, 0].min() < 19.7
    assert told.nodes_c[late, 0].max() < 20.7
    assert_close(told.control_on[late, 0].mean(), 1.0 / 3.0, abs=0.02, why="48 h are 29 cycles")


@pytest.mark.invariant
def test_minimum_times_and_holding_on_are_kept() -> None:
    """A fan called for one hour with 20 min of hold runs 80 min; a least on-time lengthens what is too short."""
    call = Control("call", Sensor.NOTHING, 0, True, 0.0, 0.0, Target.ROUTE_SHARE, 1, 1.0, level_off=0.0, hold_s=1200.0)
    system = one_room(controls=(call,), leak=0.01, fan=0.02)
    permit = np.zeros((6, 1))
    permit[2] = 1.0
    told = run(system, steady_forcing(system, 6, permit=permit), first_state(system, air_c=20.0), step_s=300.0)
    assert_close(told.control_on[:, 0].sum(), 80.0 / 60.0, abs=1e-9, why="one hour and its hold")
    assert told.forward_kg_s[2, 1] > 0.02
    assert told.forward_kg_s[5, 1] == 0.0
    long = one_room(controls=(replace(call, hold_s=0.0, min_on_s=7200.0),), leak=0.01, fan=0.02)
    told = run(long, steady_forcing(long, 6, permit=permit), first_state(long, air_c=20.0), step_s=300.0)
    assert_close(told.control_on[:, 0].sum(), 2.0, abs=1e-9, why="two hours at least")


@pytest.mark.invariant
def test_frost_stops_what_it_must() -> None:
    """A lockout below -10 °C with 1 K of dead band: off while colder, on again above -9 °C."""
    lock = Control("frost", Sensor.OUTDOOR_C, 0, False, -10.0, -9.0, Target.ROUTE_SHARE, 1, 0.0)
    system = one_room(controls=(lock,), leak=0.01, fan=0.02)
    outdoor = np.array([-5.0, -11.0, -9.5, -8.0])
    forcing = replace(steady_forcing(system, 4), outdoor_c=outdoor, boundary_c=outdoor[:, None])
    told = run(system, forcing, first_state(system, air_c=20.0), step_s=600.0)
    assert told.control_on[:, 0].round(9).tolist() == [0.0, 1.0, 1.0, 0.0]
    assert told.forward_kg_s[1, 1] == 0.0 < told.forward_kg_s[3, 1]


@pytest.mark.invariant
def test_half_the_step_moves_little() -> None:
    """At a minute halving the step moves no room by 0.05 K; ten minutes stay within the prototype's 0.2 K."""
    ready = prepared(next(p for p in WITH_YEAR if "demo" in p.stem))
    cut, start = ready.forcing.rows(24 * 190, 24 * 192), first_state(ready.system, air_c=24.0)
    steps = (600.0, 60.0, 30.0) if is_compiled() else (600.0, 300.0, 200.0)
    ten, one, half = (run(ready.system, cut, start, step_s=s).nodes_c[24:, : ready.system.rooms] for s in steps)
    assert_close(np.abs(one - half).max(), 0.0, abs=0.05, why="issue: halving a minute")
    assert_close(np.abs(ten - half).max(), 0.0, abs=0.3, why="reference sheet: 0.18 K at ten minutes, free-floating")


@pytest.mark.invariant
def test_what_no_run_can_use_is_refused() -> None:
    system = one_room()
    state, forcing = first_state(system, air_c=20.0), steady_forcing(system, 2)
    with pytest.raises(InputRefused, match="15 min"):
        run(system, forcing, state, step_s=1800.0)
    with pytest.raises(InputRefused, match="whole number"):
        run(system, forcing, state, step_s=7.0)
    crossed = replace(forcing, heat_at_c=np.full((2, 1), 24.0), cool_at_c=np.full((2, 1), 22.0))
    with pytest.raises(InputRefused, match="set points of room"):
        run(system, crossed, state, step_s=600.0)
    gap = replace(forcing, outdoor_c=np.array([0.0, np.nan]))
    with pytest.raises(InputRefused, match="gap"):
        run(system, gap, state, step_s=600.0)
    with pytest.raises(ValueError, match="shape"):
        run(system, replace(forcing, source_w=np.zeros((2, 5))), state, step_s=600.0)


@needs_kernel
@pytest.mark.invariant
def test_bad_arrays_are_refused_before_they_are_read() -> None:
    """The extension looks at every length and index itself: a wrong one is a ValueError, never a crash."""
    ready = prepared(next(p for p in WITH_YEAR if "demo" in p.stem))
    kernel = compiled.Kernel(ready.system, 600.0)
    forcing, state = ready.forcing.rows(0, 2), first_state(ready.system, air_c=20.0)
    kernel.run(forcing, state.copy(), 3600.0)
    for array, at, name in (
        ("a", 0, "ends"), ("kind", 0, "kinds"), ("link", 0, "kinds"), ("edge_node", 0, "edges"), ("joint_at", 0, "joints"),
        ("curve_start", -1, "curves"), ("node", 0, "nodes"), ("child", 0, "columns"), ("into_child", 0, "rows"),
        ("into_a", 0, "places"), ("room_order", 0, "order of rooms"), ("pair_start", -1, "order of rooms"),
        ("free_room", 0, "free rooms"), ("free_order", 0, "order of free rooms"), ("free_start", -1, "order of free rooms"),
    ):  # fmt: skip
        twin = compiled.Kernel(kernel.systems, 600.0)
        twin.integers[array] = kernel.integers[array].copy()
        twin.integers[array][at] = 9999
        with pytest.raises(ValueError, match=name):
            twin.run(forcing, state.copy(), 3600.0)
    short = compiled.Kernel(kernel.systems, 600.0)
    short.reals["low"] = short.reals["low"][:1]
    with pytest.raises(ValueError, match="low must hold"):
        short.run(forcing, state.copy(), 3600.0)
    with pytest.raises(ValueError, match="sizes"):
        compiled._kernel.run((1, 2), 1, [])
    with pytest.raises(ValueError, match="lanes"):
        compiled._kernel.run((1,) * 31, 3, [])


@needs_kernel
@pytest.mark.invariant
def test_a_run_that_cannot_settle_says_where() -> None:
    """Flows that would be infinite leave the balance open: the room and the hour are named."""
    system = one_room(leak=0.01, fan=0.01)
    forcing = replace(steady_forcing(system, 2), wind_pa=np.full((2, 2), 1e300))
    with pytest.raises(NotConverged, match=r"room room, hour 0"):
        run(system, forcing, first_state(system, air_c=20.0), step_s=600.0)


@pytest.mark.invariant
def test_without_a_compiler_the_reference_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    system = one_room(leak=0.01, fan=0.01)
    forcing, state = steady_forcing(system, 3), first_state(system, air_c=20.0)
    with_it = run(system, forcing, state, step_s=600.0)
    monkeypatch.setattr(compiled, "_kernel", None)
    assert not is_compiled()
    without = run(system, forcing, state, step_s=600.0)
    assert_close(np.abs(with_it.nodes_c - without.nodes_c).max(), 0.0, abs=1e-9, why="one set of equations")
    assert without.balances.vapour_share <= 2e-8
    assert without.balances.heat_w <= 1e-5


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", [run, run_reference])
@pytest.mark.parametrize(("tilt", "sense", "law"), [(90.0, 0, 1.31), (0.0, -1, 9.482 / 6.238), (0.0, 1, 1.810 / 2.382)])
def test_convection_by_difference_settles_where_its_law_says(
    stepper: object, tilt: float, sense: int, law: float
) -> None:
    """100 W to the air, lost through a film of 10 m2 and 20 W/K beyond it: q = c dT^(4/3) A (Walton 1983), dT by hand."""
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(5e4)
    face = thermal.node(1e4)
    thermal.join(0, face, 10.0 * 2.5)
    thermal.face(face, 0, 20.0)
    film = Film(face, 0, 10.0, 2.5, tilt, sense)
    system = replace(one_room(), thermal=thermal, films=(film,))
    forcing = steady_forcing(system, 200, source_w=np.tile([100.0, 0.0], (200, 1)))
    told = stepper(system, forcing, first_state(system, air_c=8.0), step_s=600.0)  # type: ignore[operator]
    want_face, want_gap = 100.0 / 20.0, (100.0 / (law * 10.0)) ** 0.75
    assert_close(told.state.nodes_c[face], want_face, abs=2e-3, why="steady conduction; a trace of leakage")
    assert_close(told.state.nodes_c[0] - told.state.nodes_c[face], want_gap, abs=5e-3, why="steady film")


@needs_kernel
@pytest.mark.analytic
def test_both_steps_agree_with_convection_by_difference(tmp_path: Path) -> None:
    text = next(p for p in WITH_YEAR if "demo" in p.stem).read_text(encoding="utf-8")
    path = tmp_path / "h.toml"
    path.write_text(text + '\n[simulation]\nconvection = "by-difference"\nsky = "dew-point"\n', encoding="utf-8")
    file = read_house(path)
    ready = prepare(
        file.house, file.geometry, climate_of(file.house, file.folder), hours=np.arange(24 * 3), doors="open"
    )
    assert {f.sense for f in ready.system.films} == {-1, 0, 1}
    start = first_state(ready.system, air_c=21.0)
    one = run(ready.system, ready.forcing, start, step_s=STEP)
    two = run_reference(ready.system, ready.forcing.rows(0, 12), start, step_s=STEP)
    assert_close(np.abs(one.nodes_c[:12] - two.nodes_c).max(), 0.0, abs=1e-6, why="issue: 1e-6 K")
    assert one.balances.heat_w < 1e-5
    assert np.isfinite(one.nodes_c).all()


@pytest.mark.analytic
@pytest.mark.parametrize("step", [run, run_reference])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_holder_let_go_too_early_is_held_again_in_the_step(step: Any, sign: float) -> None:
    """As in test_thermal: 20 and 10 °C asked, 28 W at most, 8 W of gains in the second room. It stands at 14 °C, and the
    first needs 26 W; all the same with cold for heat and what is below nothing."""
    thermal = ThermalNetwork(rooms=2, boundaries=1)
    for room in (thermal.node(1.0), thermal.node(1.0)):
        thermal.face(room, 0, 1.0)
    thermal.join(0, 1, 1.0)
    leaks = tuple(Link(f"leak{k}", LinkKind.CRACK, k, 2, coefficient_m3_s_pan=1e-9) for k in (0, 1))
    nothing = np.zeros(2)
    system = System(
        thermal=thermal, air=AirNetwork(("a", "b"), leaks), mass_kg=np.ones(2), buffer_kg=nothing,
        buffer_kg_s_pa=nothing, pressure_pa=101325.0, radiant=(0, 1),
    )  # fmt: skip
    point, none, most = sign * np.array([[20.0, 10.0]]), np.full((1, 2), np.nan), np.full((1, 2), 28.0)
    warm = sign > 0.0
    forcing = steady_forcing(
        system, 1, source_w=sign * np.array([[0.0, 8.0]]), heat_at_c=point if warm else none,
        cool_at_c=none if warm else point, most_w=most if warm else 0.0 * most, least_w=0.0 * most if warm else -most,
    )  # fmt: skip
    forcing = replace(forcing, outdoor_c=np.zeros(1), boundary_c=np.zeros((1, 1)))
    start = replace(first_state(system, air_c=0.0), nodes_c=point[0].copy())
    told = step(system, forcing, start, step_s=600.0)
    assert_close(told.nodes_c[0], sign * np.array([20.0, 14.0]), abs=0.05, why="rooms of 1 J/K swing within the hour")
    assert_close(told.holder_w[0], sign * np.array([26.0, 0.0]), abs=0.05, why="rooms of 1 J/K swing within the hour")


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(60))
def test_any_house_steps_and_closes(seed: int) -> None:
    """Random networks of 1 to 15 rooms with cracks, doors, fans and controls never hang, crash or lose anything."""
    rng = np.random.default_rng(seed)
    rooms = int(rng.integers(1, 16))
    thermal = ThermalNetwork(rooms=rooms, boundaries=2)
    for _ in range(rooms):
        thermal.node(float(10 ** rng.uniform(3.5, 6)))
    for room in range(rooms):
        layers = [
            Layer(
                float(rng.uniform(0.005, 0.4)),
                float(10 ** rng.uniform(-1.6, 0.5)),
                float(rng.uniform(15, 2400)),
                1000.0,
            )
        ]
        first, last = thermal.chain(layers=layers, area_m2=float(rng.uniform(1, 60)), cells=int(rng.integers(1, 6)))
        thermal.face(first, int(rng.integers(0, 2)), float(10 ** rng.uniform(1, 4)))
        thermal.join(last, room, float(10 ** rng.uniform(1, 3)))
    links = [
        Link(
            f"leak{k}",
            LinkKind.CRACK,
            k,
            rooms,
            low_m=float(rng.uniform(0, 6)),
            coefficient_m3_s_pan=float(10 ** rng.uniform(-7, -2)),
            exponent=float(rng.uniform(0.5, 1.0)),
        )
        for k in range(rooms)
    ]
    for k in range(1, rooms):
        other = int(rng.integers(0, k))
        if rng.random() < 0.5:
            links.append(
                Link(
                    f"door{k}",
                    LinkKind.DOOR,
                    k,
                    other,
                    low_m=0.0,
                    high_m=float(rng.uniform(0.5, 2.5)),
                    width_m=float(rng.uniform(0.3, 2.0)),
                )
            )
        else:
            links.append(
                Link(
                    f"gap{k}",
                    LinkKind.CRACK,
                    k,
                    other,
                    low_m=0.1,
                    coefficient_m3_s_pan=float(10 ** rng.uniform(-5, -1)),
                    exponent=0.5,
                )
            )
    for k in range(int(rng.integers(0, 4))):
        curve = FanCurve((0.0, 50.0, 120.0), (float(rng.uniform(0.001, 0.2)), 0.0005, 0.0))
        a, b = (int(v) for v in rng.permutation(rooms + 1)[:2])
        links.append(Link(f"fan{k}", LinkKind.FAN, a, b, curve=curve))
    control = Control(
        "c",
        Sensor(int(rng.integers(0, 5))),
        0,
        bool(rng.random() < 0.5),
        20.0,
        21.0,
        Target.ROUTE_SHARE,
        len(links) - 1,
        1.0,
        level_off=0.0,
    )
    system = System(
        thermal=thermal, air=AirNetwork(tuple(f"r{k}" for k in range(rooms)), tuple(links)), mass_kg=rng.uniform(5, 200, rooms),
        buffer_kg=rng.uniform(0, 5, rooms) * (rng.random(rooms) < 0.7), buffer_kg_s_pa=rng.uniform(0, 1e-7, rooms),
        pressure_pa=float(rng.uniform(7e4, 1.03e5)), radiant=tuple(range(rooms)), controls=(control,),
    )  # fmt: skip
    hours = 24 if is_compiled() else 4
    outdoor = rng.uniform(-30, 40, hours)
    forcing = steady_forcing(
        system, hours, outdoor_vapour=np.full(hours, 0.001), source_w=rng.uniform(0, 60, (hours, system.nodes)) * (rng.random(system.nodes) < 0.3),
        vapour_kg_s=rng.uniform(0, 1e-4, (hours, rooms)), gas_kg_s=rng.uniform(0, 1e-5, (hours, rooms)),
        wind_pa=rng.uniform(-20, 20, (hours, len(links))),
        heat_at_c=np.where(rng.random(rooms) < 0.4, 20.0, np.nan) * np.ones((hours, 1)),
        cool_at_c=np.where(rng.random(rooms) < 0.4, 25.0, np.nan) * np.ones((hours, 1)),
        most_w=np.full((hours, rooms), 3000.0), least_w=np.full((hours, rooms), -3000.0),
    )  # fmt: skip
    forcing = replace(forcing, outdoor_c=outdoor, boundary_c=np.column_stack([outdoor, np.full(hours, 12.0)]))
    told = run(system, forcing, first_state(system, air_c=18.0), step_s=600.0)
    for name in ("nodes_c", "humidity", "carbon_dioxide_ppm", "age_s", "pressure_pa", "forward_kg_s"):
        assert np.isfinite(getattr(told, name)).all(), name
    assert told.balances.air_share <= 1e-10
    assert told.balances.gas_share <= 1e-7
    assert told.humidity.max() < 1.2
    assert told.carbon_dioxide_ppm.min() > 0.0
    scale = float(np.abs(forcing.source_w).sum(axis=1).max() + np.abs(told.holder_w).sum(axis=1).max() + 1e4)
    assert told.balances.heat_w <= 1e-7 * scale


def scaled(system: System, share: float) -> System:
    """The same house with all its leaks and gaps scaled, and its walls' capacity with them."""
    links = tuple(replace(k, coefficient_m3_s_pan=k.coefficient_m3_s_pan * share) for k in system.air.links)
    return replace(system, air=AirNetwork(system.air.rooms, links), mass_kg=system.mass_kg * (0.9 + 0.1 * share))


@needs_kernel
@pytest.mark.invariant
@pytest.mark.parametrize("count", [2, 8, 11])
def test_variants_side_by_side_come_out_as_alone(count: int) -> None:
    """No house moves another's answer: 1e-9 K (issue), and the same number of rounds and Newton steps."""
    ready = prepared(next(p for p in WITH_YEAR if "demo" in p.stem))
    systems = [scaled(ready.system, 0.5 + 0.1 * k) for k in range(count)]
    starts = [first_state(s, air_c=18.0 + k % 5) for k, s in enumerate(systems)]
    cut = ready.forcing.rows(24 * 20, 24 * 23)
    together = run_variants(systems, cut, starts, step_s=STEP)
    for k in (0, 1, count - 1):
        alone = run(systems[k], cut, starts[k], step_s=STEP)
        for name, allowed in (
            ("nodes_c", 1e-9),
            ("pressure_pa", 1e-8),
            ("humidity", 1e-10),
            ("carbon_dioxide_ppm", 1e-6),
        ):
            gap = np.abs(getattr(together[k], name) - getattr(alone, name)).max()
            assert_close(gap, 0.0, abs=allowed, why="no lane looks at another")
        assert together[k].balances.rounds == alone.balances.rounds
        assert abs(together[k].balances.newton - alone.balances.newton) <= 2


@needs_kernel
@pytest.mark.invariant
def test_variants_may_have_their_own_weather_and_walls() -> None:
    """Each lane may carry its own forcing and its own thermal network of one topology."""
    systems, forcings = [], []
    for k in range(5):
        systems.append(one_room(ua=30.0 + 10.0 * k, capacity=2e6 + 1e6 * k, leak=0.01, fan=0.01))
        forcings.append(steady_forcing(systems[-1], 30, outdoor_c=-5.0 + k))
    starts = [first_state(s, air_c=20.0) for s in systems]
    together = run_variants(systems, forcings, starts, step_s=STEP)
    for system, forcing, start, told in zip(systems, forcings, starts, together, strict=True):
        alone = run(system, forcing, start, step_s=STEP)
        assert_close(np.abs(told.nodes_c - alone.nodes_c).max(), 0.0, abs=1e-9, why="no lane looks at another")


@needs_kernel
@pytest.mark.invariant
def test_variants_must_share_their_topology_and_say_which_one_failed() -> None:
    one, other = one_room(leak=0.01, fan=0.01), one_room(leak=0.01)
    with pytest.raises(ValueError, match="must share"):
        compiled.Kernel([one, other], 600.0)
    forcing = steady_forcing(one, 2)
    wild = replace(forcing, wind_pa=np.full((2, 2), 1e300))
    with pytest.raises(NotConverged, match="variant 1"):
        run_variants([one, one, one], [forcing, wild, forcing], [first_state(one, air_c=20.0)] * 3, step_s=600.0)


@needs_kernel
@pytest.mark.invariant
def test_the_narrower_step_passes_the_same_checks() -> None:
    """Four side by side, as on machines without the widest registers: the same checks in a process of its own."""
    code = "import sys, pytest; sys.exit(pytest.main(['-q', '-o', 'addopts=', *sys.argv[1:]]))"
    names = "side_by_side_come_out or own_weather or wide_powers or share_their_topology"
    env = os.environ | {"INSHELL_LANES": "4"}
    env.pop("PYTEST_XDIST_WORKER", None)
    done = subprocess.run(
        [sys.executable, "-c", code, __file__, "-k", names], env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-2000:]


@needs_kernel
@pytest.mark.analytic
def test_the_wide_powers_are_as_good_as_the_library() -> None:
    """Cracks of any exponent at pressures from 1e-4 to 300 Pa, eight at a time against numpy's power: 1e-13 of flow."""
    rng = np.random.default_rng(3)
    for _ in range(20):
        systems, pressures = [], 10 ** rng.uniform(-4, 2.5, 8)
        exponents, strength = rng.uniform(0.501, 1.0, 8), 10 ** rng.uniform(-5, -2, 8)
        for n, c in zip(exponents, strength, strict=True):
            room = one_room()
            links = (Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=float(c), exponent=float(n)),
                     Link("wide", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=1e3, exponent=1.0))  # fmt: skip
            systems.append(replace(room, air=AirNetwork(("room",), links)))
        forcings = [steady_forcing(systems[0], 1, outdoor_c=20.0, wind_pa=np.array([[-p, 0.0]])) for p in pressures]
        forcings = [replace(f, outdoor_vapour=np.zeros(1)) for f in forcings]
        starts = [first_state(s, air_c=20.0, humidity=0.0) for s in systems]
        told = run_variants(systems, forcings, starts, step_s=600.0)
        rho = float(density_kg_m3(temperature_c=20.0))
        for k in range(8):
            drop = pressures[k] + told[k].pressure_pa[0, 0]
            linear = max(drop, 1e-3)
            want = rho * strength[k] * linear ** exponents[k] * (drop / 1e-3 if drop < 1e-3 else 1.0)
            assert_close(
                told[k].forward_kg_s[0, 0], want, rel=1e-10, why="mean of six like steps; density by temperature"
            )


@needs_kernel
@pytest.mark.analytic
def test_powers_near_the_last_ones_are_as_good() -> None:
    """Drops that creep by up to 3 % an hour, where the step goes by a series about the last power: numpy's power, 1e-12."""
    rng, hours = np.random.default_rng(5), 40
    exponents, strength = rng.uniform(0.501, 1.0, 8), 10 ** rng.uniform(-5, -2, 8)
    creeping = [10 ** rng.uniform(-2, 2) * np.cumprod(rng.uniform(0.97, 1.03, hours)) for _ in range(8)]
    systems = []
    for n, c in zip(exponents, strength, strict=True):
        links = (Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=float(c), exponent=float(n)),
                 Link("wide", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=1e3, exponent=1.0))  # fmt: skip
        systems.append(replace(one_room(), air=AirNetwork(("room",), links)))
    forcings = [
        replace(
            steady_forcing(systems[0], hours, outdoor_c=20.0, wind_pa=np.stack([-p, np.zeros(hours)], axis=-1)),
            outdoor_vapour=np.zeros(hours),
        )
        for p in creeping
    ]
    starts = [first_state(s, air_c=20.0, humidity=0.0) for s in systems]
    together = run_variants(systems, forcings, starts, step_s=600.0)
    rho = float(density_kg_m3(temperature_c=20.0))
    for k, told in enumerate(together):
        alone = run(systems[k], forcings[k], starts[k], step_s=600.0)
        want = rho * strength[k] * (creeping[k] + told.pressure_pa[:, 0]) ** exponents[k]
        for one in (told, alone):
            gap = float(np.abs(one.forward_kg_s[:, 0] / want - 1.0).max())
            assert_close(gap, 0.0, abs=1e-12, why="numpy's power; the series leaves out less than 5e-14")


@needs_kernel
@pytest.mark.invariant
def test_variants_that_share_their_walls_are_those_that_do_not() -> None:
    """Walls kept once for all houses, or once for each: the same answer to the last digits; means come as they are asked."""
    ready = prepared(next(p for p in WITH_YEAR if "demo" in p.stem))
    own = [replace(ready.system, thermal=replace(ready.system.thermal)) for _ in range(3)]
    starts, cut = [first_state(ready.system, air_c=19.0)] * 3, ready.forcing.rows(0, 48)
    apart = run_variants(own, cut, starts, step_s=STEP)
    shared = run_variants([ready.system] * 3, cut, starts, step_s=STEP, only=("nodes_c", "holder_w"))
    for one, other in zip(apart, shared, strict=True):
        rooms = one.nodes_c[:, : ready.system.rooms]
        assert_close(np.abs(rooms - other.nodes_c).max(), 0.0, abs=1e-12, why="the same walls")
        assert_close(np.abs(one.holder_w - other.holder_w).max(), 0.0, abs=1e-9, why="the same walls")
        assert other.humidity.shape == (48, 0)
        assert other.forward_kg_s.shape == (48, 0)


@needs_kernel
@pytest.mark.analytic
def test_both_steps_agree_over_hours_through_an_open_hatch() -> None:
    """Air that a warm room below and a cool one above change through a hatch is carried anew in every step of both: 1e-6 K."""
    thermal = ThermalNetwork(rooms=2, boundaries=1)
    for conductance in (20.0, 60.0):
        thermal.face(thermal.node(3e5), 0, conductance)
    links = tuple(Link(f"crack{room}", LinkKind.CRACK, room, 2, coefficient_m3_s_pan=1e-3) for room in (0, 1))
    system = System(
        thermal=thermal, air=AirNetwork(("below", "above"), links), mass_kg=np.array([40.0, 40.0]), buffer_kg=np.zeros(2),
        buffer_kg_s_pa=np.zeros(2), pressure_pa=101325.0, radiant=(0, 1), exchanges=(Exchange("hatch", above=1, below=0, diameter_m=0.8),),
    )  # fmt: skip
    forcing = steady_forcing(system, 6, source_w=np.tile([900.0, 0.0], (6, 1)))
    start = first_state(system, air_c=15.0)
    ours = run(system, forcing, start, step_s=600.0, slot_s=600.0)
    readable = run_reference(system, forcing, start, step_s=600.0, slot_s=600.0)
    assert_close(np.abs(ours.nodes_c - readable.nodes_c).max(), 0.0, abs=1e-6, why="issue: 1e-6 K")
    apart = run(replace(system, exchanges=()), forcing, start, step_s=600.0, slot_s=600.0)
    assert abs(apart.nodes_c[-1, 0] - ours.nodes_c[-1, 0]) > 1.0
