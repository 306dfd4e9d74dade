"""`inshell simulate` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.simulate import Case, Simulated
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
