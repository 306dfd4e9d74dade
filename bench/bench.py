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
    print("import bill of check, ms: " + ", ".join(f"{name} {ms:.0f}" for name, ms in imports()))


if __name__ == "__main__":
    main()
