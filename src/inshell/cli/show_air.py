"""`inshell air` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.cli.show_air_more import show_appliances, show_built, show_ducts, show_run_times
from inshell.design.breathing import Night, WeekAir
from inshell.jobs.air_answer import AirAnswer
from inshell.units import System, show


def show_air(result: AirAnswer) -> None:
    """Rules, fans on their ducts and their run time, water in ducts, what rooms breathe at night, the sheet."""
    units = result.answer.house.units
    needed = show(result.required_m3_s, "flow", units)
    print_lines([f"{result.answer.house.name}: air", "", f"Fresh air asked for: {needed} ({result.rule})", ""])
    _rules(result, units)
    _runs(result, units)
    show_run_times(result, units)
    show_ducts(result, units)
    _nights(result, units)
    _ranges(result, units)
    _pressures(result)
    show_appliances(result, units)
    _sheet(result, units)
    show_built(result, units)
    for finding in result.findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        print_lines([f"      {finding.action(units)}"])


def _rules(result: AirAnswer, units: System) -> None:
    rows = [
        [
            r.title + (" (chosen)" if r.chosen else ""),
            r.clause,
            show(r.required_m3_s, "flow", units),
            show(r.infiltration_credit_m3_s, "flow", units),
            show(r.fan_flow_m3_s, "flow", units),
            {True: "met", False: "NOT met", None: "see run time"}[r.met],
        ]
        for r in result.rules.whole_house
    ]
    headers = ["rule", "clause", "asks", "leaks credited", "fans must move", "as set"]
    print_table("Fresh air of the whole house, every edition", headers, rows, right=(2, 3, 4))
    rows = [
        [
            r.room,
            r.rule + (" (chosen)" if r.chosen else ""),
            f"{show(r.always_m3_s, 'flow', units)}, needs {show(r.always_asked_m3_s, 'flow', units)}",
            f"{show(r.demand_m3_s, 'flow', units)}, needs {show(r.demand_asked_m3_s, 'flow', units)}",
            "met" if r.met else "NOT met",
        ]
        for r in result.rules.rooms
    ]
    if rows:
        print_table("Exhaust from baths and kitchen", ["room", "rule", "always", "or on demand", "as set"], rows)
    print_lines([*result.rules.words, ""])


def _runs(result: AirAnswer, units: System) -> None:
    rows = []
    for run in result.runs:
        parts = ", ".join(f"{name} {pascals:.0f}" for name, pascals in run.parts_pa.items())
        best = run.mends[0] if run.mends else None
        longest = "not listed" if run.table.longest_m is None else show(run.table.longest_m, "length", units)
        longest += "" if run.table.longest_m is None else f": {'met' if run.table.allowed else 'NOT met'}"
        rows.append(
            [
                run.device,
                show(run.rated_m3_s, "flow", units),
                f"{show(run.in_house_m3_s, 'flow', units)} at {run.house_pa:.0f} Pa",
                show(run.windy_m3_s, "flow", units),
                "–" if run.loaded_m3_s is None else show(run.loaded_m3_s, "flow", units),
                show(run.field_m3_s, "flow", units),
                parts,
                f"{best.what}: {show(best.flow_m3_s, 'flow', units)}" if best else "–",
                longest,
            ]
        )
    if rows:
        headers = [
            "fan", "rated", "on its run", "in wind", "filter full", "as often found", "takes, Pa", "would mend most",
            "table",
        ]  # fmt: skip
        print_table("Fans on their ducts", headers, rows, right=(1, 2, 3, 4, 5))


def _nights(result: AirAnswer, units: System) -> None:
    sleepers = [r.room for r in result.ranges]
    rows = [_night(week, night, units) for week in result.weeks for night in week.rooms if night.room in sleepers]
    rows.sort(key=lambda row: row[0])
    headers = ["room", "week", "door", "outdoor", "age", "exposure", "mean", "most", "at 5", "humid", "most by"]
    title = "What sleepers breathe at night, leaks by area: outdoor air, age of air, carbon dioxide in ppm"
    print_table(title, headers, rows, right=(3, 4, 5, 6, 7, 8, 9))


def _night(week: WeekAir, night: Night, units: System) -> list[str]:
    most, share = max(night.routes.items(), key=lambda item: item[1], default=("nothing", 0.0))
    return [
        night.room,
        week.week,
        str(week.doors) + ("" if week.case == "by area" else f", {week.case}"),
        show(night.outdoor_m3_s, "flow", units),
        f"{night.age_h:.1f} h",
        f"{night.relative_exposure:.2f}",
        f"{night.ppm_mean:.0f}",
        f"{night.ppm_most:.0f}",
        f"{night.ppm_at_5:.0f}",
        f"{night.humidity:.0%}",
        f"{most.split(' from ')[0]} {share:.0%}",
    ]


def _ranges(result: AirAnswer, units: System) -> None:
    rows = [
        [
            r.room,
            *(show(q, "flow", units) for q in r.outdoor_m3_s),
            *(f"{p:.0f}" for p in r.ppm_at_5),
            "no promise" if r.kept_share is None else f"{r.kept_share:.0%}",
        ]
        for r in result.ranges
    ]
    if rows:
        headers = [
            "room",
            "air: by area",
            "all in main room",
            "5 %",
            "95 %",
            "ppm: by area",
            "all in main room",
            "5 %",
            "95 %",
            "promise holds in",
        ]
        title = "The same in spring, door shut, wherever the leaks may be: outdoor air, and carbon dioxide at 5"
        print_table(title, headers, rows, right=range(1, 10))


def _pressures(result: AirAnswer) -> None:
    """Nothing, each device alone, and the deepest combination, in still design cold and in the worst wind."""
    for pressures in result.pressures:
        chosen = [k for k, names in enumerate(pressures.running) if len(names) <= 1]
        rows = [
            [", ".join(pressures.running[k]) or "nothing", *(f"{p:.1f}" for p in pressures.pressure_pa[k])]
            for k in [*chosen, *([] if pressures.worst in chosen else [pressures.worst])]
        ]
        title = f"Pressure of rooms, Pa, doors shut: {pressures.weather} ({len(pressures.running)} combinations run)"
        print_table(title, ["running", *pressures.rooms], rows, right=range(1, len(pressures.rooms) + 1))


def _sheet(result: AirAnswer, units: System) -> None:
    rows = [
        [
            line.device,
            line.setting,
            show(line.design_m3_s, "flow", units),
            f"{show(line.least_m3_s, 'flow', units)} to {show(line.most_m3_s, 'flow', units)}",
            "" if line.measured_m3_s is None else show(line.measured_m3_s, "flow", units),
            line.method,
            line.instrument,
            line.date,
            line.person,
        ]
        for line in result.sheet
    ]
    if rows:
        headers = ["device", "setting", "designed", "accepted", "measured", "method", "instrument", "date", "person"]
        print_table("To be measured and written down (measured.csv)", headers, rows, right=(2, 3, 4))
