"""More of `inshell air` as text: run time, water in ducts, appliances, the house as built."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inshell.cli.show import print_lines, print_table
from inshell.units import System, show, show_opening

if TYPE_CHECKING:
    from inshell.design.run_time import RunTime
    from inshell.jobs.air_answer import AirAnswer


def show_run_times(result: AirAnswer, units: System) -> None:
    """Each way of counting a fan's flow beside what a steady source would see."""
    rows = [_run_time(t, units) for t in result.run_times.fans]
    if rows:
        headers = ["fan", "runs", "stands at most", "average", "credit: average", "credit: 4 h", "by simulation", "why"]
        title = "Whole-house fans in a spring week: what rules credit, and what a steady source sees"
        print_table(title, headers, rows, right=range(1, 7))
        age = show(result.run_times.by_age_m3_s, "flow", units)
        print_lines([f"By the age of air in the coupled rooms, leaks counted: {age}.", ""])


def _run_time(t: RunTime, units: System) -> list[str]:
    return [
        t.device,
        f"{t.on_fraction:.0%}",
        f"{t.longest_off_h:.0f} h",
        show(t.mean_m3_s, "flow", units),
        show(t.by_average_m3_s, "flow", units),
        "none" if t.by_window_m3_s is None else show(t.by_window_m3_s, "flow", units),
        f"{show(t.effective_m3_s, 'flow', units)} ({t.effectiveness:.0%})",
        t.why,
    ]


def show_ducts(result: AirAnswer, units: System) -> None:
    """Water in exhaust runs through the cold, and recovery ventilators over the year."""
    rows = [
        [
            w.device,
            f"{w.hours_wet} of 168",
            f"{w.litres_day:.2f} L",
            f"{w.wrapped_l_day:.2f} L",
            str(w.hours_freezing),
            show(w.coldest_wall_c, "temperature", units),
        ]
        for w in result.run_water
    ]
    if rows:
        headers = ["run", "hours wet", "water a day", "with R-8 more", "hours freezing", "coldest wall"]
        print_table("Water in runs through the cold, coldest week", headers, rows, right=range(1, 6))
    rows = [
        [
            u.device,
            f"{show(u.supply_m3_s, 'flow', units)} / {show(u.exhaust_m3_s, 'flow', units)}",
            show(u.outdoor_m3_s, "flow", units),
            f"{u.recovered_share:.0%}",
            f"{u.recovered_kwh:.0f} kWh",
            u.defrost + (f", {u.hours_below_limit} h" if u.hours_below_limit else ""),
            f"{u.preheat_kwh:.0f} kWh" if u.preheat_kwh else "–",
            f"{u.core_litres_day:.1f} L",
            str(u.core_freezing_h),
            "not described" if u.sweats_h is None else f"{u.sweats_h} h",
        ]
        for u in result.recovery
    ]
    if rows:
        headers = [
            "ventilator", "in / out", "outdoor air", "recovers", "a year", "frost", "preheat", "core water a day",
            "hours freezing", "runs sweat",
        ]  # fmt: skip
        print_table("Recovery over the year, and water in its coldest week", headers, rows, right=range(1, 10))


def show_appliances(result: AirAnswer, units: System) -> None:
    """Screening of rooms in which something burns."""
    rows = [
        [
            one.name,
            one.room,
            one.venting,
            f"-{one.limit_pa:.0f} Pa",
            f"{one.deepest_pa:.1f} Pa",
            "; ".join(" + ".join(names) or "weather alone" for names in one.together) or "none",
            show_opening(one.opening_m2, units) if one.together else "–",
        ]
        for one in result.appliances
    ]
    if rows:
        headers = [
            "appliance",
            "room",
            "vented",
            "screening",
            "deepest",
            "gone beyond with",
            "make-up opening, no design",
        ]
        print_table("Where something burns: screening by room, no clearance", headers, rows, right=(3, 4))
        print_lines(["Carbon monoxide alarms in any case; draft is tested with everything running.", ""])


def show_built(result: AirAnswer, units: System) -> None:
    """Designed beside built."""
    built = result.built
    if built is None:
        return
    rows = [
        [
            one.device,
            one.setting,
            show(one.design_m3_s, "flow", units),
            show(one.measured_m3_s, "flow", units),
            "–" if one.off_share is None else f"{one.off_share:+.0%}",
            "" if one.documented else "method, date or person missing: proves nothing",
        ]
        for one in built.flows
    ]
    print_table("Measured", ["device", "setting", "designed", "measured", "off", "remark"], rows, right=(2, 3, 4))
    rows = [
        [
            r.room,
            *(show(q, "flow", units) for q in r.outdoor_m3_s),
            *(f"{p:.0f}" for p in r.ppm_most),
            *(f"{e:.2f}" for e in r.exposure),
        ]
        for r in built.rooms
    ]
    headers = ["room", "outdoor: designed", "built", "most ppm: designed", "built", "exposure: designed", "built"]
    print_table(f"As built, {built.week}, doors shut", headers, rows, right=range(1, 7))
    flows = ["unknown" if q is None else show(q, "flow", units) for q in built.whole_house_m3_s]
    lines = [
        f"Always running: {flows[0]} designed, {flows[1]} built. "
        f"Deepest pressure of a room: {built.deepest_pa[0]:.1f} Pa designed, {built.deepest_pa[1]:.1f} Pa built."
    ]
    if built.missing:
        lines.append(f"Not measured, so as designed: {', '.join(built.missing)}.")
    print_lines([*lines, ""])
