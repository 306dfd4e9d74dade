"""How fast the coupled step is, against general-purpose tools on the same equations in the same run.

The bench house: ten rooms in a row, 180 thermal nodes with capacity, 50 routes, set points, fans, a relay floor, a year of
hourly weather. The thermal-only case is the same network with every air flow replaced by a fixed conductance.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from inshell.climate.prepare import named_year
from inshell.design.drivers import prepare
from inshell.design.floor_year import with_tubes
from inshell.design.tube_plan import lay_tubes
from inshell.jobs.floor import floor
from inshell.network.compiled import Kernel, _kernel, run, run_variants
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.system import Control, Forcing, Sensor, System, Target, first_state
from inshell.network.thermal import ThermalNetwork, ThermalStepper
from inshell.physics.air import MOLAR_RATIO, saturation_pressure_pa
from inshell.physics.conduction import Layer
from inshell.physics.fan import FanCurve, default_curve

ROOMS, HOURS = 10, 8760
KEPT = ("nodes_c", "humidity", "carbon_dioxide_ppm")  # what a study of a house reads
DEMO = Path(__file__).parents[1] / "examples" / "demo-cottage" / "demo-cottage.toml"
WALL = [Layer(0.012, 0.13, 650.0, 1880.0), Layer(0.14, 0.036, 16.0, 1470.0), Layer(0.0125, 0.16, 640.0, 1150.0)]
SLAB = [Layer(0.5, 1.5, 1800.0, 1100.0), Layer(0.0, 1.0, resistance_m2k_w=1.8), Layer(0.1, 1.8, 2300.0, 880.0)]


def bench_house(*, with_air: bool = True) -> System:
    """The fixed house; without air every route is gone and a conductance stands for it."""
    thermal = ThermalNetwork(rooms=ROOMS, boundaries=2)
    for _ in range(ROOMS):
        thermal.node(40.0 * 1.2 * 1006.0)
    floors = []
    for room in range(ROOMS):
        star = thermal.node()
        for layers, area, boundary in ((WALL, 20.0, 0), (SLAB, 15.0, 1)):
            first, last = thermal.chain(layers=layers, area_m2=area, cells=3)
            thermal.face(first, boundary, area * 25.0)
            thermal.join(last, room, area * 2.5)
            thermal.join(last, star, area * 5.1)
            if boundary:
                floors.append(last - 1)
        inner = thermal.node(2e5)
        thermal.join(inner, room, 40.0)
        thermal.join(inner, star, 60.0)
        thermal.face(room, 0, 3.0)
        if not with_air:
            thermal.face(room, 0, 8.0)
            if room:
                thermal.join(room, room - 1, 60.0)
    links = (
        _routes()
        if with_air
        else [Link(f"c{k}", LinkKind.CRACK, k, ROOMS, coefficient_m3_s_pan=1e-12) for k in range(ROOMS)]
    )
    controls = (
        (Control("floor", Sensor.AIR_C, 3, False, 19.5, 20.5, Target.NODE_W, floors[3], 900.0),) if with_air else ()
    )
    return System(
        thermal=thermal, air=AirNetwork(tuple(f"r{k}" for k in range(ROOMS)), tuple(links)), mass_kg=np.full(ROOMS, 48.0),
        buffer_kg=np.full(ROOMS, 4.0), buffer_kg_s_pa=np.full(ROOMS, 3e-8), pressure_pa=98000.0,
        radiant=tuple(range(ROOMS)), controls=controls,
    )  # fmt: skip


def _routes() -> list[Link]:
    out = ROOMS
    links = []
    for k in range(ROOMS):
        for z in (0.5, 1.9):
            links.append(Link(f"leak{k}{z}", LinkKind.CRACK, k, out, low_m=z, coefficient_m3_s_pan=2e-4, exponent=0.65))
        if k:
            if k % 3 == 0:
                links.append(Link(f"door{k}", LinkKind.DOOR, k, k - 1, low_m=0.0, high_m=2.0, width_m=0.8))
            else:
                for z in (0.02, 1.0, 2.0):
                    links.append(
                        Link(f"gap{k}{z}", LinkKind.CRACK, k, k - 1, low_m=z, coefficient_m3_s_pan=6e-3, exponent=0.5)
                    )
    for k in (2, 5, 8):
        links.append(
            Link(
                f"fan{k}",
                LinkKind.FAN,
                k,
                out,
                curve=default_curve(rated_flow_m3_s=0.012, rated_pressure_pa=25.0, maximum_pressure_pa=125.0),
            )
        )
    for k in (4, 7, 9):
        links.append(Link(f"transfer{k}", LinkKind.FAN, 0, k, curve=FanCurve((0.0, 1e6), (0.02, 0.02))))
    while len(links) < 50:
        links.append(
            Link(f"roof{len(links)}", LinkKind.CRACK, len(links) % ROOMS, out, low_m=2.6, coefficient_m3_s_pan=1e-4)
        )
    return links[:50]


def bench_forcing(system: System, *, set_points: bool = True) -> Forcing:
    """Greensboro's year: temperature, dew point, wind on half of the leaks, sun on the outer skins, people at night."""
    year = named_year("greensboro")
    rooms, links = system.rooms, len(system.air.links)
    vapour = saturation_pressure_pa(temperature_c=year.dew_point_c)
    source = np.zeros((HOURS, system.nodes))
    source[:, :rooms] = 60.0 + 0.4 * year.ghi_w_m2[:, None]
    wind = np.where(np.arange(links) % 2 == 0, 0.3, -0.2) * 0.6 * (0.5 * year.wind_speed_m_s[:, None]) ** 2
    heat = np.where(np.arange(rooms) % 3 == 0, 20.0, np.nan) if set_points else np.full(rooms, np.nan)
    ones = np.ones((HOURS, rooms))
    return Forcing(
        outdoor_c=year.dry_bulb_c, outdoor_vapour=MOLAR_RATIO * vapour / (98000.0 - 0.378 * vapour),
        boundary_c=np.column_stack([year.dry_bulb_c, np.full(HOURS, 13.0)]), source_w=source,
        vapour_kg_s=2e-5 * ones, gas_kg_s=3e-6 * ones, wind_pa=wind, route_share=np.ones((HOURS, links)),
        heat_at_c=heat * ones, cool_at_c=(heat + 6.0) * ones, most_w=2500.0 * ones, least_w=-2500.0 * ones,
        permit=np.ones((HOURS, len(system.controls))),
    )  # fmt: skip


def median(action: Callable[[], object], runs: int) -> float:
    """Median seconds of an action."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def reduced(system: System) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """(A, B, S, heavy): dT/dt = A T + B T_boundary + S source of the nodes with capacity."""
    s = ThermalStepper(system.thermal, 1.0)
    heavy = s.capacity > 0.0
    k, light = s.stiffness, ~heavy
    gain = np.linalg.solve(k[np.ix_(light, light)], np.column_stack([k[np.ix_(light, heavy)], s.to_boundary[light]]))
    count = int(heavy.sum())
    a = -(k[np.ix_(heavy, heavy)] - k[np.ix_(heavy, light)] @ gain[:, :count])
    b = s.to_boundary[heavy] - k[np.ix_(heavy, light)] @ gain[:, count:]
    capacity = s.capacity[heavy, None]
    return a / capacity, b / capacity, np.diag(1.0 / capacity[:, 0]), heavy


def stiff_integrator(system: System, forcing: Forcing, hours: int, rtol: float) -> tuple[float, np.ndarray]:
    """Seconds of scipy's BDF over some hours with hourly constants, and the rooms at the end."""
    from scipy.integrate import BDF

    a, b, s, heavy = reduced(system)
    state = np.full(int(heavy.sum()), 20.0)
    start = time.perf_counter()
    for hour in range(hours):
        push = b @ forcing.boundary_c[hour] + s @ forcing.source_w[hour][heavy]
        solver = BDF(
            lambda _, y, push=push: a @ y + push, 0.0, state, 3600.0, rtol=rtol, atol=1e-3, jac=a, first_step=60.0
        )
        while solver.status == "running":
            solver.step()
        state = solver.y
    return time.perf_counter() - start, state[: system.rooms]


def circuit(system: System, forcing: Forcing) -> float | None:
    """Seconds of a general circuit simulator over the year on the same network, sources from a file of hourly points."""
    if shutil.which("ngspice") is None:
        return None
    t = system.thermal
    ends = np.arange(HOURS) * 3600.0
    outdoor = " ".join(f"{s:.0f} {v:.3f}" for s, v in zip(ends, forcing.outdoor_c, strict=True))
    gain = " ".join(f"{s:.0f} {v:.3f}" for s, v in zip(ends, forcing.source_w[:, 0], strict=True))
    lines = ["bench", f"V0 b0 0 PWL({outdoor})", "V1 b1 0 DC 13"]
    lines += [f"I{k} 0 n{k} PWL({gain})" if k == 0 else f"F{k} 0 n{k} V9 1" for k in range(0)]
    lines += ["V9 s 0 DC 0", f"I9 0 s PWL({gain})", *(f"F{k} 0 n{k} V9 1" for k in range(system.rooms))]
    lines += [f"R{n} n{i} n{j} {1.0 / g:.10g}" for n, (i, j, g) in enumerate(t.edges)]
    lines += [f"RB{n} n{i} b{k} {1.0 / g:.10g}" for n, (i, k, g) in enumerate(t.boundary_edges)]
    lines += [f"C{n} n{n} 0 {c:.10g} IC=20" for n, c in enumerate(t.capacity_j_k) if c > 0.0]
    lines += [".options method=trap", f".tran 600 {HOURS * 3600} 0 600 uic", ".save v(n0)", ".end", ""]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "b.cir").write_text("\n".join(lines), encoding="utf-8")
        start = time.perf_counter()
        done = subprocess.run(
            ["ngspice", "-b", "-r", "out.raw", "b.cir"], cwd=folder, capture_output=True, text=True, check=False
        )
        seconds = time.perf_counter() - start
        return seconds if (Path(folder) / "out.raw").exists() and done.returncode in (0, 1) else None


def variant(system: System, share: float) -> System:
    """The bench house with all its leaks and gaps scaled."""
    links = tuple(replace(k, coefficient_m3_s_pan=k.coefficient_m3_s_pan * share) for k in system.air.links)
    return replace(system, air=AirNetwork(system.air.rooms, links))


def many(system: System, forcing: Forcing, variants: int, threads: int) -> float:
    """House-years a second: variants of the leakage, one year each, eight side by side on each thread."""
    jobs = [variant(system, 0.7 + 0.6 * v / variants) for v in range(variants)]
    start_state = first_state(system, air_c=20.0)
    share = -(-variants // threads)

    def work(k: int) -> None:
        mine = jobs[k * share : (k + 1) * share]
        run_variants(mine, forcing, [start_state] * len(mine), step_s=600.0, only=KEPT)

    start = time.perf_counter()
    crew = [threading.Thread(target=work, args=(k,)) for k in range(threads)]
    for one in crew:
        one.start()
    for one in crew:
        one.join()
    return variants / (time.perf_counter() - start)


def operations(system: System, rounds: float, newton: float) -> float:
    """Floating-point operations of one step, counted from the shapes: an estimate, good to a fifth or so."""
    links, lists = system.air.links, Kernel(system, 600.0).integers
    orifice = sum(k.kind is LinkKind.CRACK and k.exponent == 0.5 for k in links)
    power = sum(k.kind is LinkKind.CRACK for k in links) - orifice
    door = sum(k.kind is LinkKind.DOOR for k in links)
    flows = 50 * power + 25 * orifice + 70 * door + 20 * (len(links) - power - orifice - door)
    symmetric = 2 * len(lists["free_fill"]) + 6 * len(lists["free_late"]) + 10 * system.rooms
    solve = 2 * len(lists["pair_fill"]) + 8 * len(lists["pair_late"]) + 10 * system.rooms
    air = (rounds + newton) * flows + newton * symmetric
    heat = 8.0 * system.nodes + 4.0 * len(lists["child"])
    return air + heat + (1.0 + rounds) * 2.0 * solve + 3.0 * solve + 150.0 * system.rooms


def peak() -> float:
    """Operations a second that one core reaches on a large product of matrices."""
    code = (
        "import time, numpy as np; a = np.random.default_rng(1).normal(size=(2048, 2048)); b = a @ a; t = time.perf_counter();"
        "[a @ a for _ in range(3)]; print(3 * 2.0 * 2048**3 / (time.perf_counter() - t))"
    )
    alone = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    return float(
        subprocess.run([sys.executable, "-c", code], env=alone, capture_output=True, text=True, check=True).stdout
    )


def floor_ratio() -> tuple[float, float, float]:
    """(seconds to lay the demo house's tubes, its year without the floor, with it): the same rooms and steps."""
    told = floor(DEMO)
    base = told.answer
    laid = median(lambda: lay_tubes(base.house, base.geometry), 3)
    hours = np.arange(HOURS, dtype=np.int64)
    bare = prepare(base.house, base.geometry, base.climate, hours=hours, doors="by-hours", makers="heads")
    ready, _ = with_tubes(base.house, bare, told.heat, told.water, hours, base.climate.design.heating_c)
    years = []
    for one in (bare, ready):
        start = first_state(one.system, air_c=20.0)
        years.append(median(lambda one=one, start=start: run(one.system, one.forcing, start, step_s=600.0), 3))
    return laid, years[0], years[1]


def main() -> None:
    fixed, full = bench_house(with_air=False), bench_house()
    heavy = sum(c > 0.0 for c in full.thermal.capacity_j_k)
    print(
        f"bench house: {ROOMS} rooms, {heavy} states, {full.nodes} nodes, {len(full.air.links)} routes, a year at 10 min"
    )
    free, held = bench_forcing(fixed, set_points=False), bench_forcing(full)
    start = first_state(fixed, air_c=20.0)
    ours = median(lambda: run(fixed, free, start, step_s=600.0), 5)
    coupled = median(lambda: run(full, held, first_state(full, air_c=20.0), step_s=600.0), 5)
    hours = 24 * 14
    fine = run(fixed, free.rows(0, hours), start, step_s=10.0).state.nodes_c[:ROOMS]
    error = float(np.abs(run(fixed, free.rows(0, hours), start, step_s=600.0).state.nodes_c[:ROOMS] - fine).max())
    print(f"fixed flows, compiled             {ours:8.3f} s   (1.0)   off {error:.4f} K after two weeks")
    for rtol in (1e-2, 1e-3, 1e-4):
        seconds, end = stiff_integrator(fixed, free, hours, rtol)
        off = float(np.abs(end - fine).max())
        print(
            f"scipy BDF rtol {rtol:g}, year by ratio {seconds * HOURS / hours:8.2f} s   ({seconds * HOURS / hours / ours:.0f})   off {off:.4f} K"
        )
        if off <= error:
            break
    spice = circuit(fixed, free)
    print(
        "circuit simulator: not on this machine"
        if spice is None
        else f"circuit simulator, trapezoidal     {spice:8.2f} s   ({spice / ours:.1f})"
    )
    print(f"fully coupled                     {coupled:8.3f} s   ({coupled / ours:.1f} times fixed flows)")
    laid, without, with_floor = floor_ratio()
    print(f"tubes of the demo house laid      {laid:8.2f} s   (asked 2)")
    print(
        f"its year with the floor           {with_floor:8.3f} s   ({with_floor / without:.2f} times without, asked 1.5)"
    )
    told = run(full, held, first_state(full, air_c=20.0), step_s=600.0).balances
    count = operations(full, told.rounds / (6 * HOURS), told.newton / (6 * HOURS))
    print(
        f"a step: {told.rounds / (6 * HOURS):.2f} rounds, {told.newton / (6 * HOURS):.2f} Newton steps, {count / 1e3:.1f} kflop"
    )
    top = peak()
    for threads in (1, 2):
        rate = many(full, held, 32 * threads, threads)
        share = rate * count * 6 * HOURS / (top * threads)
        print(
            f"variants on {threads} thread(s)          {rate:8.1f} house-years a second ({_kernel.instructions()[0]}), "
            f"{share:.0%} of the {top * threads / 1e9:.0f} Gflop/s of a matrix product"
        )


if __name__ == "__main__":
    main()
