"""`inshell check` as text."""

from __future__ import annotations

from inshell.cli.show import MARKS, print_lines, print_table
from inshell.design.promise import Judged
from inshell.jobs.check import Checked
from inshell.units import System, show, show_limit, show_promise


def _row(promise: Judged, system: System) -> list[str]:
    limit = show_limit(promise.limit, promise.unit, promise.sense, system)
    why = promise.why_unknown if promise.verdict == "unknown" else promise.condition
    return [
        MARKS[promise.verdict],
        promise.title + (" (measured)" if promise.basis == "measured" else ""),
        show_promise(promise.value, promise.unit, system),
        limit,
        why,
    ]


def show_checked(result: Checked, *, full: bool) -> None:
    """Loads, promises, findings and how many defaults there are."""
    house, heating = result.answer.house, result.answer.heating
    units = house.units
    print_lines([house.name or result.answer.file.path.stem, ""])
    print_table(
        f"Heating load at {show(heating.outdoor_c, 'temperature', units)} outdoors",
        ["room", "conduction", "outdoor air", "reheat", "load", "per floor"],
        [
            [
                r.room,
                show(r.transmission_w, "power", units),
                show(r.air_w, "power", units),
                show(r.reheat_w, "power", units),
                show(r.total_w, "power", units),
                show(r.total_w / result.answer.geometry.space(r.room).floor_m2, "flux", units),
            ]
            for r in heating.rooms
        ]
        + [["house", "", "", "", show(heating.total_w, "power", units), ""]],
        right=(1, 2, 3, 4, 5),
    )
    order = {"broken": 0, "unknown": 1, "kept": 2}
    rows = sorted(result.promises, key=lambda p: order[p.verdict])
    print_table(
        "Promises",
        ["", "promise", "value", "limit", "condition, or why unknown"],
        [_row(p, units) for p in rows],
        right=(2,),
    )
    print_lines(["Findings"])
    for finding in result.findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        if finding.action(units):
            print_lines([f"      {finding.action(units)}"])
    counts = ", ".join(f"{result.count(v)} {v}" for v in ("kept", "broken", "unknown"))
    print_lines(["", f"{counts}; {len(result.defaults)} values are defaults (inshell report lists them)"])
    if full:
        print_lines(["--full: nothing in this version takes longer than check itself."])
