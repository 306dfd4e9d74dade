"""`inshell simulate` as text."""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from inshell.cli.show import print_lines, print_table
from inshell.design.day_run import DayRun
from inshell.house.model.house import House
from inshell.jobs.simulate import Case, RealDay, Simulated
from inshell.jobs.simulate_year import SimulatedYear
from inshell.physics.types import Floats
from inshell.units import System, show


def show_simulated(result: Simulated) -> None:
    """Room temperatures of every case, and what heats or cools the coldest room."""
    units = result.file.house.units
    first = result.cases[0].day
    print_lines([f"Heating design day, {show(first.outdoor_c, 'temperature', units)} outdoors, no sun, no people", ""])
    for case in result.cases:
        _case(case, units)
    if result.file.house.circuit:
        print_lines(["Rooms with floor tubes are held without limit here; see inshell floor --year", ""])


def _case(case: Case, units: System) -> None:
    day = case.day
    rows = [
        [
            room,
            show(day.room_c[room], "temperature", units),
            show(day.operative_c[room], "temperature", units),
            show(day.offset_k(room), "temperature_difference", units),
            show(day.heat_w[room], "power", units) if room in day.heated else "–",
            show(day.pressure_pa[room], "pressure", units),
        ]
        for room in day.room_c
    ]
    headers = ["room", "air", "operative", f"against {day.warmest_heated}", "heat made", "pressure"]
    print_table(case.name, headers, rows, right=(1, 2, 3, 4, 5))
    coldest = min(day.room_c, key=lambda room: day.room_c[room])
    routes = sorted((r for r in day.routes if r.to_room == coldest), key=lambda r: -abs(r.heat_w))[:4]
    if coldest not in day.heated and routes:
        text = "; ".join(f"{r.name} from {r.from_room} {show(r.heat_w, 'power', units)}" for r in routes)
        print_lines([f"air into {coldest}: {text}", ""])


def shown_progress() -> Callable[[float], None] | None:
    """A line on standard error that counts up, where a person watches."""
    if not sys.stderr.isatty():
        return None

    def show_share(share: float) -> None:
        print(f"\rsimulating {share:4.0%}", end="\r", file=sys.stderr, flush=True)

    return show_share


def show_real_day(result: RealDay) -> None:
    """Range of every room through a day of the year, and its carbon dioxide."""
    units, outdoor = result.file.house.units, result.runs[0].outdoor_c
    low, high = (show(float(v), "temperature", units) for v in (outdoor.min(), outdoor.max()))
    print_lines([f"{_named(result.name)}, {low} to {high} outdoors, sun counted, {_people(result.file.house)}", ""])
    for run in result.runs:
        _real_case(run, units)


def _named(day: str) -> str:
    return "Cooling design day" if day == "cooling" else f"{day} day of the year"


def _people(house: House) -> str:
    return "people counted" if house.person else "no person described: no heat and no carbon dioxide of people"


def _real_case(run: DayRun, units: System) -> None:
    rows = []
    for room in run.rooms:
        air, gas = run.of("room_c", room), run.of("carbon_dioxide_ppm", room)
        shown = [show(float(v), "temperature", units) for v in (air.min(), air.max())]
        wet = run.of("humidity", room)
        damp = f"{wet.min():.0%} to {wet.max():.0%}"
        peak = f"{gas.max():.0f} ppm at {int(gas.argmax()):02d}:30"
        held = _held(run.of("heat_w", room), units) if room in run.held else "–"
        rows.append([room, *shown, held, damp, peak])
    name = "doors open" if run.doors_open else "doors shut"
    headers = ["room", "coldest hour", "warmest hour", "held by, most", "humidity", "carbon dioxide, most"]
    print_table(name, headers, rows, right=(1, 2))


def _held(heat_w: Floats, units: System) -> str:
    """The greatest heat of an hour that is made in a room or taken out of it."""
    hour = int(np.argmax(np.abs(heat_w)))
    word = "made" if heat_w[hour] >= 0.0 else "taken out"
    return f"{show(abs(float(heat_w[hour])), 'power', units)} {word} at {hour:02d}:30"


def show_year(result: SimulatedYear) -> None:
    """Each room's year in a line, and how well the balances close."""
    units, run = result.file.house.units, result.run
    rows = [
        [
            r.room,
            show(r.coldest_c, "temperature", units),
            show(r.warmest_c, "temperature", units),
            f"{r.hours_cold:.0f} / {r.hours_hot:.0f}",
            f"{r.humidity_most:.0%}",
            f"{r.hours_damp:.0f}",
            f"{r.carbon_dioxide_night_ppm:.0f} / {r.carbon_dioxide_most_ppm:.0f}",
            f"{r.heat_kwh:.0f} / {r.cool_kwh:.0f}",
        ]
        for r in result.rooms
    ]
    headers = ["room", "coldest", "warmest", "h cold / hot", "most damp", "h > 70 %", "CO2 ppm night / most"]
    print_table("The weather year, doors by their hours", [*headers, "kWh heat / cold"], rows, right=range(1, 8))
    low, high = (show(float(v), "temperature", units) for v in (run.outdoor_c.min(), run.outdoor_c.max()))
    lines = [
        f"{low} to {high} outdoors, sun and wind counted, {_people(result.file.house)}",
        f"cold and hot: more than {show(1.0, 'temperature_difference', units)} below the heating, above the cooling "
        "set point; leaks are spread by area",
        *(
            ["rooms with floor tubes are held without limit; see inshell floor --year"]
            if result.file.house.circuit
            else []
        ),
        f"balances: heat {run.balances.heat_w:.0e} W, vapour {run.balances.vapour_share:.0e}, "
        f"carbon dioxide {run.balances.gas_share:.0e} of what passed",
    ]
    print_lines([*lines, *([f"Series: {result.written}"] if result.written else [])])
