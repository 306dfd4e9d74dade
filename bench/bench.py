"""Timings of what a person waits for, as medians and ratios; never a test. Run with `make bench`.

Cold processes are timed from outside. The ratio of the pressure table is taken against scipy's general root finder on the
same equations in the same run.
"""

from __future__ import annotations

import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
DEMO = str(ROOT / "examples" / "demo-cottage" / "demo-cottage.toml")
INSHELL = [sys.executable, "-m", "inshell"]


def cold(arguments: list[str], runs: int, env: dict[str, str]) -> float:
    """Median wall seconds of a fresh process."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run([*INSHELL, *arguments], capture_output=True, check=False, env=env)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def first_time(runs: int, command: tuple[str, ...] = ("check",)) -> float:
    """Median of a command with an empty cache."""
    times = []
    for _ in range(runs):
        with tempfile.TemporaryDirectory() as folder:
            times.append(cold([command[0], DEMO, *command[1:]], 1, os.environ | {"INSHELL_CACHE": folder}))
    return statistics.median(times)


def report_time(runs: int, env: dict[str, str]) -> float:
    """Median of a report into a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        return cold(["report", DEMO, "-o", str(Path(folder) / "r.html")], runs, env)


def imports() -> list[tuple[str, float]]:
    """Import bill of `check` with a prepared year: cumulative milliseconds of the largest packages."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *INSHELL[1:], "check", DEMO], capture_output=True, text=True, check=False
    )
    bill: dict[str, float] = {}
    for line in done.stderr.splitlines():
        parts = line.removeprefix("import time:").split("|")
        if len(parts) == 3 and parts[1].strip().isdigit():
            name = parts[2].strip()
            if "." not in name:
                bill[name] = max(bill.get(name, 0.0), int(parts[1]) / 1000.0)
    return sorted(bill.items(), key=lambda item: -item[1])[:8]


def pressure_ratio() -> tuple[float, float]:
    """Milliseconds of the demo's whole pressure table, and how many times longer scipy's `root` takes on it."""
    from scipy.optimize import root

    from inshell.design.pressure import calculate_pressures, devices_of, shell_of
    from inshell.house.reading import read_house

    file = read_house(Path(DEMO))
    given = {"flow_at_50_pa_m3_s": 0.0535, "exponent": 0.65}
    start = time.perf_counter()
    result = calculate_pressures(file.house, file.geometry, inside_c=21.0, outside_c=-8.0, pressure_pa=98000.0, **given)
    ours = time.perf_counter() - start
    shell, devices = shell_of(file.geometry, **given), {d.id: d for d in devices_of(file.house)[0]}
    start = time.perf_counter()
    for state in result.states:
        running = [devices[name] for name in state.running]
        for gradient in (0.0, result.stack_gradient_pa_m):
            root(
                lambda p, g=gradient, r=running: (
                    sum(d.net_flow_m3_s(float(p[0])) for d in r) - shell.outflow_m3_s(float(p[0]), g)
                ),
                [-1.0],
            )
    return ours * 1000.0, (time.perf_counter() - start) / ours


def map_times(runs: int = 5) -> tuple[float, float, float, int]:
    """Seconds for ten devices: room pressures in two weathers, the same by scipy's `root`, one zone; and states.

    The root finder solves the rooms' mass balances of 32 states in still air and is scaled to all states of both.
    """
    from inshell.climate.choose import climate_of
    from inshell.design.pressure import calculate_pressures
    from inshell.design.room_pressures import calculate_room_pressures
    from inshell.house.reading import read_house

    file = read_house(Path(DEMO))
    house, geometry, climate = file.house, file.geometry, climate_of(file.house, file.folder)
    one, rooms = house.fan[0], [room.id for room in house.room]
    fans = tuple(
        one.model_copy(update={"id": f"fan-{k}", "base_flow_m3_s": 0.0, "room": rooms[k % len(rooms)]})
        for k in range(9)
    )
    ten = house.model_copy(update={"fan": fans, "ventilator": (), "transfer_fan": ()})
    by_room, by_zone, states = [], [], 0
    for _ in range(runs):
        start = time.perf_counter()
        states = len(calculate_room_pressures(ten, geometry, climate)[0].running)
        by_room.append(time.perf_counter() - start)
        start = time.perf_counter()
        calculate_pressures(
            ten, geometry, flow_at_50_pa_m3_s=0.0535, exponent=0.65, inside_c=21.0, outside_c=-8.0, pressure_pa=98000.0
        )
        by_zone.append(time.perf_counter() - start)
    return statistics.median(by_room), 2 * states / 32 * root_time(ten, geometry), statistics.median(by_zone), states


def root_time(house: Any, geometry: Any, states: int = 32) -> float:
    """Seconds that scipy's `root` takes for the pressures of all rooms in some states of the devices."""
    import numpy as np
    from scipy.optimize import root

    from inshell.network.air import _flows, _residual
    from inshell.network.links import LinkKind
    from inshell.network.routes import routes_of

    network = routes_of(house, geometry, flow_at_50_pa_m3_s=0.0535, exponent=0.65, doors="shut", on_demand=True).network
    fans = np.array([link.kind is LinkKind.FAN for link in network.links])
    rng, rooms = np.random.default_rng(1), len(network.rooms)
    density, wind = np.array([1.17] * rooms + [1.28]), np.zeros(len(fans))
    start = time.perf_counter()
    for _ in range(states):
        share = np.where(fans, rng.integers(0, 2, len(fans)).astype(float), 1.0)

        def unbalance(p: Any, share: Any = share) -> Any:
            forward, back, _ = _flows(network, np.append(p, 0.0), density, wind, share)
            return _residual(network, forward - back)[:rooms]

        root(unbalance, np.full(rooms, -5.0))
    return time.perf_counter() - start


def main() -> None:
    env = dict(os.environ)
    for command in (["check", DEMO], ["simulate", DEMO, "--day", "coldest"], ["simulate", DEMO, "--year"]):
        cold(command, 1, env)  # prepare the year, its sun and the byte code
    print(f"machine: {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    rows = [
        ("inshell --help", cold(["--help"], 9, env), 0.25),
        ("inshell check, year prepared", cold(["check", DEMO], 9, env), 1.2),
        ("inshell check, first time", first_time(3), 3.0),
        ("inshell describe", cold(["describe", DEMO], 5, env), None),
        ("inshell report", report_time(3, env), None),
        ("simulate --day coldest, prepared", cold(["simulate", DEMO, "--day", "coldest"], 5, env), 0.7),
        ("simulate --day coldest, first", first_time(3, ("simulate", "--day", "coldest")), 2.0),
        ("simulate --year, first time", first_time(3, ("simulate", "--year")), None),
        ("simulate --year, kept", cold(["simulate", DEMO, "--year"], 5, env), None),
        ("rooms, 256 houses", cold(["rooms", DEMO], 1, env), 30.0),
        ("rooms, four side by side", cold(["rooms", DEMO], 1, env | {"INSHELL_LANES": "4"}), 60.0),
        ("air, 64 leak placements", cold(["air", DEMO], 3, env), None),
        ("settings", cold(["settings", DEMO], 1, env), 30.0),
        ("dry", cold(["dry", DEMO], 1, env), None),
        ("seal", cold(["seal", DEMO], 1, env), None),
        ("floor, tubes laid, water, heater", cold(["floor", DEMO], 3, env), None),
        ("the same with its year and other ways", cold(["floor", DEMO, "--year"], 1, env), None),
    ]
    times = []
    for _ in range(9):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", "import numpy"], check=True)
        times.append(time.perf_counter() - start)
    base = statistics.median(times)
    print(f"{'command, cold process':34} {'median s':>9} {'/ import numpy':>15} {'asked s':>8}")
    for name, seconds, asked in rows:
        print(f"{name:34} {seconds:9.3f} {seconds / base:15.1f} {asked if asked else '':>8}")
    print(f"{'import numpy alone':34} {base:9.3f} {1.0:15.1f}")
    ours, ratio = pressure_ratio()
    print(
        f"pressure table of the demo: {ours:.0f} ms; scipy.optimize.root on the same equations takes {ratio:.1f} times that"
    )
    rooms, other, zone, states = map_times()
    print(
        f"ten devices, {states} combinations: pressures of all rooms in two weathers {rooms:.2f} s (asked 2), one zone "
        f"{zone:.2f} s; scipy.optimize.root on the rooms takes {other / rooms:.0f} times as long"
    )
    print("import bill of check, ms: " + ", ".join(f"{name} {ms:.0f}" for name, ms in imports()))


if __name__ == "__main__":
    main()
