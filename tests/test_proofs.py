"""Proofs of the coupled step against programs that share nothing with it: matrix exponential, stiff integrator, circuit
simulator; a tube in a slab and a skin wetted by a leak."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from inshell.climate.choose import climate_of
from inshell.design.coupled import networks_of
from inshell.house.reading import read_house
from inshell.network.compiled import is_compiled, run
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.reference import run_reference
from inshell.network.system import Control, Forcing, Sensor, System, Target, first_state
from inshell.network.thermal import ThermalNetwork, ThermalStepper
from inshell.physics.air import MOLAR_RATIO, saturation_pressure_pa
from inshell.physics.conduction import Layer
from inshell.physics.skin import HUMIDITY, MOISTURE_KG_KG, AtSkin, skin_step, skin_uptake_kg_s
from tests.evidence import ROOT, assert_close
from tests.test_coupled import steady_forcing

MICRO = ROOT / "examples" / "micro-house" / "micro-house.toml"
STEPPERS = [run, run_reference] if is_compiled() else [run_reference]


def without_air(thermal: ThermalNetwork, controls: tuple[Control, ...] = ()) -> System:
    """Rooms that exchange no air worth naming with outdoors."""
    rooms = thermal.rooms
    links = tuple(Link(f"c{k}", LinkKind.CRACK, k, rooms, coefficient_m3_s_pan=1e-12) for k in range(rooms))
    names = tuple(f"r{k}" for k in range(rooms))
    return System(
        thermal=thermal, air=AirNetwork(names, links), mass_kg=np.ones(rooms), buffer_kg=np.zeros(rooms),
        buffer_kg_s_pa=np.zeros(rooms), pressure_pa=101325.0, radiant=tuple(range(rooms)), controls=controls,
    )  # fmt: skip


def exact_after(
    thermal: ThermalNetwork, start: np.ndarray, boundary: np.ndarray, source: np.ndarray, time_s: float
) -> np.ndarray:
    """Node temperatures by the matrix exponential; nodes without capacity are eliminated first."""
    s = ThermalStepper(thermal, 1.0)
    heavy = s.capacity > 0.0
    light = ~heavy
    k, q = s.stiffness, s.to_boundary @ boundary + source
    if light.any():
        inner = np.linalg.solve(k[np.ix_(light, light)], np.column_stack([k[np.ix_(light, heavy)], q[light]]))
        kk = k[np.ix_(heavy, heavy)] - k[np.ix_(heavy, light)] @ inner[:, :-1]
        qq = q[heavy] - k[np.ix_(heavy, light)] @ inner[:, -1]
    else:
        kk, qq = k, q
    steady = np.linalg.solve(kk, qq)
    decay = expm(-(kk / s.capacity[heavy, None]) * time_s)
    result = np.full(len(start), np.nan)
    result[heavy] = steady + decay @ (start[heavy] - steady)
    return result


def slab_with_tube() -> tuple[ThermalNetwork, int, int]:
    """A room on a slab of 20 m2: concrete below and above a tube node, insulation, ground; water that passes the tube.

    The water node couples to the tube's cell and, by its flow, to the supply temperature (boundary 1).
    """
    thermal = ThermalNetwork(rooms=1, boundaries=3)  # outdoors, supply water, ground
    thermal.node(20 * 2.5 * 1.2 * 1006.0)
    concrete = [Layer(0.05, 1.8, 2300.0, 880.0)]
    below, middle_low = thermal.chain(layers=[Layer(0.05, 0.035, 30.0, 1450.0), *concrete], area_m2=20.0, cells=3)
    middle_high, top = thermal.chain(layers=concrete, area_m2=20.0, cells=3)
    thermal.join(middle_low, middle_high, 1e5)
    thermal.join(top, 0, 20.0 * 8.0)
    thermal.face(below, 2, 20.0 / 0.5)
    thermal.face(0, 0, 60.0)
    water = thermal.node(8.0 * 4186.0)
    thermal.join(water, middle_high, 250.0)
    thermal.face(water, 1, 0.05 * 4186.0)
    return thermal, water, top


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", STEPPERS)
def test_a_tube_in_mid_slab_fed_by_a_water_node(stepper: object) -> None:
    """Water at 35 °C into a slab at 15 °C, outdoors 0, ground 10: after 2 and 12 h as the matrix exponential says."""
    thermal, water, top = slab_with_tube()
    system = without_air(thermal)
    for hours in (2, 12):
        forcing = steady_forcing(system, hours)
        forcing = Forcing(**{**vars(forcing), "boundary_c": np.tile([0.0, 35.0, 10.0], (hours, 1))})
        told = stepper(system, forcing, first_state(system, air_c=15.0), step_s=60.0)  # type: ignore[operator]
        exact = exact_after(
            thermal, np.full(system.nodes, 15.0), np.array([0.0, 35.0, 10.0]), np.zeros(system.nodes), hours * 3600.0
        )
        for node in (0, water):
            assert_close(told.state.nodes_c[node], exact[node], abs=2e-3, why="second order at a minute")
    assert told.state.nodes_c[water] > told.state.nodes_c[top] > told.state.nodes_c[0]


@pytest.mark.analytic
def test_a_relay_feeds_the_tube_and_the_heat_adds_up() -> None:
    """A thermostat that gives the water node 12 kW: what the relay gave is what is stored and what left (first law)."""
    thermal, water, _ = slab_with_tube()
    stat = Control("floor", Sensor.AIR_C, 0, False, 19.5, 20.5, Target.NODE_W, water, 12000.0, min_on_s=600.0)
    system = without_air(thermal, (stat,))
    forcing = steady_forcing(system, 48)
    forcing = Forcing(**{**vars(forcing), "boundary_c": np.tile([0.0, 20.0, 10.0], (48, 1))})
    start = first_state(system, air_c=15.0)
    told = run(system, forcing, start, step_s=60.0)
    given = 12000.0 * told.control_on.sum() * 3600.0
    capacity = np.array(thermal.capacity_j_k)
    stored = float(capacity @ (told.state.nodes_c - start.nodes_c))
    left = sum(g * (told.nodes_c[:, i] - forcing.boundary_c[:, k]).sum() * 3600.0 for i, k, g in thermal.boundary_edges)
    assert_close((stored + left) / given, 1.0, abs=1e-6, why="every joule has a place")
    assert 0.1 < told.control_on.mean() < 0.9


@pytest.mark.analytic
@pytest.mark.parametrize("stepper", STEPPERS)
def test_a_whole_house_follows_the_matrix_exponential(stepper: object) -> None:
    """The thermal network of a small house, from 20 °C into 5 °C with sun on some nodes: 1, 6 and 24 h."""
    file = read_house(MICRO)
    _, thermal = networks_of(file.house, file.geometry, climate_of(file.house, file.folder), doors="open")
    system, rng = without_air(thermal.network), np.random.default_rng(1)
    boundary = np.array([5.0, -6.0, 12.0, *([8.0] * (thermal.network.boundaries - 3))])
    source = np.zeros(system.nodes)
    source[rng.integers(0, system.nodes, 20)] = 100.0
    for hours in (1, 6, 24):
        forcing = steady_forcing(system, hours)
        forcing = Forcing(
            **{**vars(forcing), "boundary_c": np.tile(boundary, (hours, 1)), "source_w": np.tile(source, (hours, 1))}
        )
        told = stepper(system, forcing, first_state(system, air_c=20.0), step_s=60.0)  # type: ignore[operator]
        exact = exact_after(thermal.network, np.full(system.nodes, 20.0), boundary, source, hours * 3600.0)
        gap = np.nanmax(np.abs(told.state.nodes_c - exact))
        assert_close(
            gap, 0.0, abs=0.06 if hours == 1 else 5e-3, why="a step at the start rings for a few minutes in thin cells"
        )


def netlist(thermal: ThermalNetwork, boundary: np.ndarray, start: float, end_s: float) -> str:
    """The same resistors and capacitors for a general circuit simulator: volts are kelvins, amperes watts."""
    lines = ["house"]
    lines += [f"R{n} n{i} n{j} {1.0 / g:.12g}" for n, (i, j, g) in enumerate(thermal.edges)]
    lines += [f"RB{n} n{i} b{k} {1.0 / g:.12g}" for n, (i, k, g) in enumerate(thermal.boundary_edges)]
    lines += [f"V{k} b{k} 0 DC {value:.6g}" for k, value in enumerate(boundary)]
    lines += [f"C{n} n{n} 0 {c:.12g} IC={start:.6g}" for n, c in enumerate(thermal.capacity_j_k) if c > 0.0]
    probes = " ".join(f"v(n{k})" for k in range(thermal.rooms))
    lines += [".options reltol=1e-6 method=trap", f".tran 60 {end_s:.0f} 0 60 uic", f".print tran {probes}", ".end", ""]
    return "\n".join(lines)


@pytest.mark.analytic
@pytest.mark.skipif(
    shutil.which("ngspice") is None, reason="no circuit simulator on this machine (make test installs it)"
)
def test_a_whole_house_follows_a_circuit_simulator(tmp_path: Path) -> None:
    """Twelve hours of cooling down, by ngspice (trapezoidal, reltol 1e-6) on the same network."""
    file = read_house(MICRO)
    _, thermal = networks_of(file.house, file.geometry, climate_of(file.house, file.folder), doors="open")
    boundary = np.array([5.0, -6.0, 12.0, *([8.0] * (thermal.network.boundaries - 3))])
    (tmp_path / "house.cir").write_text(netlist(thermal.network, boundary, 20.0, 43200.0), encoding="utf-8")
    done = subprocess.run(["ngspice", "-b", "house.cir"], cwd=tmp_path, capture_output=True, text=True, check=False)
    rows = [
        line.split()
        for line in done.stdout.splitlines()
        if line[:1].isdigit() and len(line.split()) == 2 + thermal.network.rooms
    ]
    assert rows, done.stderr[-500:]
    system = without_air(thermal.network)
    forcing = steady_forcing(system, 12)
    forcing = Forcing(**{**vars(forcing), "boundary_c": np.tile(boundary, (12, 1))})
    told = run(system, forcing, first_state(system, air_c=20.0), step_s=60.0)
    end = np.array([float(v) for v in rows[-1][2:]])
    for room in range(thermal.network.rooms):
        assert_close(told.state.nodes_c[room], end[room], abs=0.01, why="both of second order at a minute")


def winter_leak() -> dict[str, np.ndarray]:
    """Forty days at a ridge: skin temperature with a daily swing, a leak that pulses with the wind, 40 % indoors."""
    hours = np.arange(24 * 40)
    skin = -2.0 + 6.0 * np.sin(2 * np.pi * hours / 24) + 8.0 * (hours > 24 * 25)
    leak = 2e-5 * (1.0 + 0.8 * np.sin(2 * np.pi * hours / 53)) * (hours < 24 * 25)
    return {"skin_c": skin, "leak_kg_s": leak}


@pytest.mark.analytic
def test_a_skin_wetted_by_a_leak_follows_a_stiff_integrator() -> None:
    """0.3 m of 11 mm board per metre of joint: hourly implicit steps against scipy's Radau at 1e-8 on the same inputs."""
    acting = {
        "leak_vapour": 0.0062, "catch": 0.5, "inside_kg_s_pa": 0.3 * 2e-10 / 1.0, "inside_pa": 935.0,
        "outside_kg_s_pa": 0.3 * 2e-10 / 20.0, "outside_pa": 350.0, "pressure_pa": 101325.0,
    }  # fmt: skip
    driven, dry = winter_leak(), 0.3 * 0.011 * 650.0
    steps = 6
    u, got = 0.09, []
    for k in range(len(driven["skin_c"])):
        now = {name: float(values[k]) for name, values in driven.items()}
        for _ in range(steps):
            u = skin_step(moisture_kg_kg=u, dry_kg=dry, step_s=3600.0 / steps, acting=AtSkin(**now, **acting))
        got.append(u)

    want, state = [], np.array([0.09])
    for k in range(len(got)):
        now = {name: float(values[k]) for name, values in driven.items()}
        solved = solve_ivp(
            lambda _, y, now=now: skin_uptake_kg_s(moisture_kg_kg=y, acting=AtSkin(**now, **acting)) / dry,
            (0.0, 3600.0), state, method="Radau", rtol=1e-8, atol=1e-10,
        )  # fmt: skip
        state = solved.y[:, -1]
        want.append(float(state[0]))
    assert max(want) > 0.15, "the case is a wet one"
    assert_close(
        np.abs(np.array(got) - want).max(), 0.0, abs=4e-4, why="first order at ten minutes; 0.04 points of moisture"
    )


@pytest.mark.published
def test_a_leak_deposits_what_the_worked_case_says() -> None:
    """1 in2, 4 Pa, 21 °C 35 %, skin at -5 °C: 0.9995 L/s deposit 0.302 kg a day (computed sheet; eta = 1, skin saturated)."""
    indoor = 0.35 * float(saturation_pressure_pa(temperature_c=21.0))
    vapour = MOLAR_RATIO * indoor / (101325.0 - (1.0 - MOLAR_RATIO) * indoor)
    acting = AtSkin(skin_c=-5.0, leak_kg_s=0.9995e-3 * 1.1998, leak_vapour=vapour)
    rate = float(skin_uptake_kg_s(moisture_kg_kg=MOISTURE_KG_KG[-1], acting=acting))
    assert_close(rate * 86400.0, 0.302, abs=0.003, why="printed to three digits; mixing ratio against mass fraction")


@pytest.mark.invariant
def test_a_skin_dries_to_what_surrounds_it() -> None:
    """Between two airs of one vapour pressure it ends in equilibrium with them."""
    pressure = 0.6 * float(saturation_pressure_pa(temperature_c=10.0))
    acting = AtSkin(skin_c=10.0, inside_kg_s_pa=1e-9, inside_pa=pressure, outside_kg_s_pa=1e-9, outside_pa=pressure)
    u = 0.25
    for _ in range(24 * 400):
        u = skin_step(moisture_kg_kg=u, dry_kg=2.0, step_s=3600.0, acting=acting)
    assert_close(
        u, float(np.interp(0.6, HUMIDITY, MOISTURE_KG_KG)), abs=1e-4, why="the sorption curve, linear between points"
    )
