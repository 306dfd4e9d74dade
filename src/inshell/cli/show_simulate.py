"""`inshell simulate` as text."""

from __future__ import annotations

import sys
from collections.abc import Callable

from inshell.cli.show import print_lines, print_table
from inshell.design.day_run import DayRun
from inshell.house.model.house import House
from inshell.jobs.simulate import Case, RealDay, Simulated
from inshell.units import System, show


def show_simulated(result: Simulated) -> None:
    """Room temperatures of every case, and what heats or cools the coldest room."""
    units = result.file.house.units
    first = result.cases[0].day
    print_lines([f"Heating design day, {show(first.outdoor_c, 'temperature', units)} outdoors, no sun, no people", ""])
    for case in result.cases:
        _case(case, units)


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
    print_lines(
        [f"{result.name} day of the year, {low} to {high} outdoors, sun counted, {_people(result.file.house)}", ""]
    )
    for run in result.runs:
        _real_case(run, units)


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
        rows.append([room, "held" if room in run.held else "", *shown, damp, peak])
    name = "doors open" if run.doors_open else "doors shut"
    print_table(
        name, ["room", "", "coldest hour", "warmest hour", "humidity", "carbon dioxide, most"], rows, right=(2, 3)
    )
