"""One house's step in every way that it can be run: compiled and readable, alone and side by side, with arrays that are wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from inshell.design.drivers import Prepared
from inshell.design.floor_year import with_tubes
from inshell.errors import InputRefused
from inshell.jobs.floor import Floor
from inshell.network import compiled
from inshell.network.air import solve_air
from inshell.network.compiled import WIDE, Kernel, run, run_variants
from inshell.network.reference import run_reference
from inshell.network.system import State, System, first_state
from inshell.network.thermal import ThermalStepper
from inshell.network.tracers import age_of_air_s, steady_concentration
from inshell.physics.air import density_kg_m3

STEP_S, ALIKE_K, ALIKE_GAS = 600.0, 1e-6, 1e-6


def steps_differ(ready: Prepared, begun: State) -> str:
    """Three hours again by the compiled step, by the readable one, and by a machine without a compiler."""
    rows = ready.forcing.rows(0, 3)
    told: list[float] = []
    one = run(ready.system, rows, begun.copy(), step_s=STEP_S, progress=told.append)
    two = run_reference(ready.system, rows, begun.copy(), step_s=STEP_S)
    kernel, compiled._kernel = compiled._kernel, None  # type: ignore[attr-defined]
    try:
        three = run(ready.system, rows, begun.copy(), step_s=STEP_S)
        four = run_variants([ready.system], rows, [begun.copy()], step_s=STEP_S)[0]
    finally:
        compiled._kernel = kernel  # type: ignore[attr-defined]
    off = max(float(np.abs(one.nodes_c - other.nodes_c).max()) for other in (two, three, four))
    if off > ALIKE_K or told != [1.0]:
        return f"the two steps differ by {off:.1e} K, progress {told}"
    many = run_variants(
        [ready.system] * (WIDE + 1), rows, [begun.copy()] * (WIDE + 1), step_s=STEP_S, only=("nodes_c", "humidity")
    )
    rooms = one.nodes_c[:, : ready.system.rooms]
    off = max(float(np.abs(rooms - other.nodes_c[:, : ready.system.rooms]).max()) for other in many)
    if off > 1e-9:
        return f"side by side a house differs by {off:.1e} K from itself alone"
    return _wrong_arrays(ready, begun) or _steady(ready.system, ready, begun)


def _wrong_arrays(ready: Prepared, begun: State) -> str:
    """What is no run, no forcing, no state and no group of houses is refused before anything is stepped."""
    system, rows = ready.system, ready.forcing.rows(0, 2)
    lost = begun.copy()
    lost.vapour[0] = np.nan
    gas, heat = rows.gas_kg_s.copy(), rows.heat_at_c.copy()
    gas[0, 0], heat[1, 0] = np.inf, 90.0
    cold = np.full_like(rows.cool_at_c, 20.0)
    fewer = replace(system, controls=(), air=replace(system.air, links=system.air.links[:-1]))
    tries: dict[str, Callable[[], Any]] = {
        "a step of an hour": lambda: run(system, rows, begun, step_s=3600.0),
        "a step of 7 s": lambda: run(system, rows, begun, step_s=7.0),
        "a slot of 50 min": lambda: run(system, rows, begun, step_s=STEP_S, slot_s=3000.0),
        "wind of one route": lambda: run(system, replace(rows, wind_pa=np.zeros((2, 1, 1))), begun, step_s=STEP_S),
        "endless gas": lambda: run(system, replace(rows, gas_kg_s=gas), begun, step_s=STEP_S),
        "heating above cooling": lambda: run(
            system, replace(rows, heat_at_c=heat, cool_at_c=cold), begun, step_s=STEP_S
        ),
        "a state that is none": lambda: run(system, rows, lost, step_s=STEP_S),
        "too many side by side": lambda: Kernel([system] * (WIDE + 1), STEP_S),
        "two houses of two shapes": lambda: Kernel([system, fewer], STEP_S),
    }
    for what, work in tries.items():
        try:
            work()
        except (InputRefused, ValueError):
            continue
        return f"{what} is not refused"
    return ""


def _steady(system: System, ready: Prepared, begun: State) -> str:
    """What a room gives off leaves the house again; the age of its air counts all of it; what is steady stays."""
    count = system.rooms
    density = np.asarray(density_kg_m3(temperature_c=np.append(begun.nodes_c[:count], ready.forcing.outdoor_c[0])))
    air = solve_air(system.air, density_kg_m3=density)
    if not air.isolated and air.throughput_kg_s > 1e-6:
        source = np.linspace(1e-9, 2e-9, count)
        gas = steady_concentration(system.air, air, source_kg_s=source)
        out = np.zeros(count)
        for link, forward, back in zip(system.air.links, air.forward_kg_s, air.back_kg_s, strict=True):
            for one, other, flow in ((link.a, link.b, forward), (link.b, link.a, back)):
                if other == count:
                    out[one] += flow
        if abs(float(out @ gas) - source.sum()) > ALIKE_GAS * source.sum():
            return "a steady source does not leave the house"
        age = age_of_air_s(system.air, air, mass_kg=system.mass_kg)
        if abs(float(out @ age) - system.mass_kg.sum()) > ALIKE_GAS * system.mass_kg.sum():
            return "the age of leaving air does not count all air of the house"
    stepper = ThermalStepper(system.thermal, STEP_S)
    warm, heat = ready.forcing.boundary_c[0], np.linspace(0.0, 20.0, system.nodes)
    for joined in (None, np.diag(np.linspace(0.0, 3.0, count))):
        steady = stepper.steady(warm, heat, joined)
        after = stepper.step(steady, boundary_c=warm, source_w=heat, exchange_w_k=joined).after_c
        if float(np.abs(after - steady).max()) > 1e-6 * max(1.0, float(np.abs(steady).max())):
            return "a steady state does not stay"
    return ""


def floor_differs(floor: Floor, ready: Prepared) -> str:
    """The house with the loops of its floor, by both steps."""
    if floor.heat is None or floor.water is None:
        return ""
    cold = float(ready.forcing.outdoor_c[0])
    tubed, _ = with_tubes(floor.answer.house, ready, floor.heat, floor.water, np.arange(24), cold, keep_heads=True)
    start, rows = first_state(tubed.system, air_c=18.0), tubed.forcing.rows(0, 2)
    one, two = (step(tubed.system, rows, start.copy(), step_s=STEP_S).nodes_c for step in (run, run_reference))
    off = float(np.abs(one - two).max())
    return f"with tubes the two steps differ by {off:.1e} K" if off > ALIKE_K else ""
