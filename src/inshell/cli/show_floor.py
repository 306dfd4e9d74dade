"""`inshell floor` and `inshell hot-water` as text."""

from __future__ import annotations

from inshell.cli.show import MARKS, print_lines, print_table
from inshell.findings import Finding
from inshell.jobs.floor import Floor
from inshell.jobs.hot_water import Told
from inshell.units import System, show, show_limit, show_promise

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def show_floor(result: Floor) -> None:
    """Circuits, rooms, water, heater, findings."""
    units = result.answer.house.units
    print_lines([f"{result.answer.house.name}: warm floor", ""])
    _circuits(result, units)
    if result.heat is not None:
        _rooms(result, units)
        _water(result, units)
        _heater(result, units)
        _year(result, units)
    _promises(result, units)
    _findings(result.findings, units)


def _promises(result: Floor, units: System) -> None:
    rows = [
        [MARKS[p.verdict], p.title, p.where, show_promise(p.value, p.unit, units),
         show_limit(p.limit, p.unit, p.sense, units), p.why_unknown or p.condition]
        for p in result.promises
    ]  # fmt: skip
    if rows:
        print_table("Promises", ["", "promise", "where", "value", "limit", "condition"], rows, right=(3,))


def _circuits(result: Floor, units: System) -> None:
    rows = [
        [
            str(k),
            run.id,
            ", ".join(run.areas),
            show(run.length_m, "length", units),
            show(run.leader_m, "length", units),
            show(run.spacing_m, "length", units),
            show(run.tightest_m, "length", units),
        ]
        for k, run in enumerate(result.plan.runs, start=1)
    ]
    rows += [["–", name, why, "not routed", "", "", ""] for name, why in result.plan.not_routed.items()]
    headers = ["no.", "circuit", "rooms", "length", "of it leaders", "apart", "tightest bend"]
    print_table("Circuits as drawn", headers, rows, right=(0, 3, 4, 5, 6))


def _rooms(result: Floor, units: System) -> None:
    heat = result.heat
    assert heat is not None
    rows = [
        [
            room.room,
            show(room.asks_w, "power", units),
            show(room.area_m2, "area", units),
            show(room.water_c, "temperature", units) if room.area_m2 else "–",
            show(room.gives_w, "power", units),
            show(room.leader_w, "power", units),
            show(room.surface_c, "temperature", units) if room.area_m2 else "–",
            show(room.hottest_c, "temperature", units) if room.area_m2 else "–",
            show(room.limit_w, "power", units),
        ]
        for room in heat.rooms
    ]
    headers = ["room", "asks", "warmed", "needs water", "gets", "by leaders", "floor", "over a tube", "at most"]
    print_table("Rooms on the design day", headers, rows, right=range(1, 9))
    lines = [
        f"{heat.governs} governs: it needs a supply of {show(heat.needed_supply_c, 'temperature', units)}; at "
        f"{show(heat.supply_c, 'temperature', units)} the floor takes "
        f"{show(heat.heat_w, 'power', units)} in all, of which "
        f"{show(sum(loop.down_w + loop.edge_w for loop in heat.loops), 'power', units)} go into the ground.",
        "",
    ]
    print_lines(lines)


def _water(result: Floor, units: System) -> None:
    water = result.water
    assert water is not None
    rows = [
        [
            loop.id,
            show(loop.flow_m3_s, "water_flow", units),
            show(loop.return_c, "temperature", units),
            show(loop.velocity_m_s, "water_speed", units),
            f"{loop.reynolds:.0f}",
            show(loop.head_pa, "head", units),
            show(loop.throttle_pa, "head", units),
            f"{loop.valve_cv:.2f}" if loop.valve_cv is not None else "open",
        ]
        for loop in water.loops
    ]
    headers = ["loop", "flow", "comes back at", "speed", "Reynolds", "loses", "drop in valve", "valve Cv"]
    print_table("Water at design", headers, rows, right=range(1, 8))
    lines = [
        f"{show(water.flow_m3_s, 'water_flow', units)} at {show(water.head_pa, 'head', units)} of head, "
        f"{show(water.exchanger_pa, 'head', units)} of it in the exchanger; "
        f"{show(water.volume_m3, 'liquid', units)} of water; expansion tank at least "
        f"{show(water.tank_m3, 'liquid', units)}, filled to {water.fill_pa / 6894.757:.0f} psi "
        f"({water.fill_pa / 1000.0:.0f} kPa) on the gauge."
    ]
    if water.off_curve:
        lines.append("The pump's curve ends before it meets the loops: where it would run is not known.")
    elif water.running_share is not None:
        lines.append(f"The pump would move {water.running_share:.0%} of that at full speed.")
    print_lines([*lines, ""])


def _heater(result: Floor, units: System) -> None:
    source = result.source
    if source is None:
        return
    rows = [
        [
            f"{p.share:.0%}",
            show(p.load_w, "power", units),
            *(_cycle((p.run_s, p.rest_s, p.starts_per_h, p.buffer_m3), units) if source.least_w else ["not known"] * 4),
        ]
        for p in source.part_loads
    ]
    headers = ["of design", "load", "runs", "rests", "starts an hour", "buffer for 10 min"]
    supply, back = (show(t, "temperature", units) for t in (source.supply_c, source.return_c))
    name = source.heater.name or source.heater.id
    title = f"{name}, {supply} out, {back} back: efficiency {source.efficiency:.2f}, {source.efficiency_from}"
    print_table(title, headers, rows, right=range(6))


def _cycle(told: tuple[float, float, float, float], units: System) -> list[str]:
    """How the heater runs at a part load: runs, rests [s], starts an hour, buffer [m3]."""
    run, rest = (f"{t / 60.0:.1f} min" if t < 1e12 else "always" for t in told[:2])
    return [run, rest, f"{told[2]:.1f}", show(told[3], "liquid", units)]


def _year(result: Floor, units: System) -> None:
    year = result.year
    if year is None:
        print_lines(["For the floor through the year, its starts and other ways to warm the house: add --year.", ""])
        return
    rows = [
        [
            room.room,
            show(room.coldest_c, "temperature", units),
            str(room.hours_cold),
            show(room.overshoot_k, "temperature_difference", units),
            str(room.hours_over),
            show(room.floor_winter_c, "temperature", units),
            show(room.floor_most_c, "temperature", units),
        ]
        for room in year.rooms
    ]
    cold = f"h {show(1.0, 'temperature_difference', units)} too cold"
    over = f"h {show(1.5, 'temperature_difference', units)} over"
    headers = ["room", "coldest", cold, "most over, cold out", over, "floor, winter", "floor, most"]
    print_table("Through the year, the floor alone", headers, rows, right=range(1, 7))
    days = [f"day {day + 1}: {rule:.0f} by the rule, {seen:.0f} by the minute" for day, rule, seen in year.days_checked]
    responds = "more than 96" if year.responds_h is None else f"{year.responds_h:.0f}"
    lines = [
        f"{year.heat_kwh:.0f} kWh of heat, {year.down_kwh:.0f} of it downward; the water comes back at "
        f"{show(year.return_c, 'temperature', units)} in the mean.",
        f"From {show(3.0, 'temperature_difference', units)} behind it takes {responds} h on the coldest day.",
        "How often the heater starts is not known: its least fire (input_minimum) is missing."
        if year.starts is None
        else f"The heater starts {year.starts:.0f} times a year ({'; '.join(days)}).",
        "",
    ]
    print_lines(lines)
    _ways(result, units)


def _ways(result: Floor, units: System) -> None:
    """Other ways to warm the house beside it."""
    ways = [
        [
            way.name,
            f"{way.heat_kwh:.0f}",
            "–" if way.fuel_kwh is None else f"{way.fuel_kwh:.0f}",
            "–" if way.electric_kwh is None else f"{way.electric_kwh:.0f}",
            "–" if way.peak_input_w is None else show(way.peak_input_w, "power", units),
            f"{way.coldest_room} {way.hours_cold} h",
            "–" if way.running is None else f"{way.running:.0f}",
            "–" if way.first is None else f"{way.first:.0f}",
        ]
        for way in result.ways
    ]
    currency = result.answer.house.prices.currency or "no currency given"
    headers = ["way", "heat kWh", "fuel kWh", "electric kWh", "peak input", "coldest", "a year", "first"]
    print_table(f"Ways to warm the house at the same set points, {currency}", headers, ways, right=range(1, 8))
    print_lines(
        ["Set points are the same, comfort is not: look at the hours of the coldest room before the costs.", ""]
    )


def show_hot_water(result: Told) -> None:
    """Taps, totals, months, findings."""
    units, water = result.answer.house.units, result.water
    print_lines([f"{result.answer.house.name}: hot water", ""])
    rows = [
        [d.id, d.kind, show(d.flow_m3_s, "water_flow", units), show(d.mixed_c, "temperature", units),
         show(d.hot_m3_s, "water_flow", units), f"{d.use:.1%}"]
        for d in water.draws
    ]  # fmt: skip
    if rows:
        headers = ["tap", "kind", "flow", "at", "hot in it, coldest month", "of the busiest time"]
        print_table("Taps", headers, rows, right=(2, 3, 4, 5))
    months = [
        [
            MONTHS[s.month - 1],
            show(s.mains_c, "temperature", units),
            show(s.able_m3_s, "water_flow", units) if s.able_m3_s is not None else "not known",
            show(s.peak_m3_s, "water_flow", units) if rows else "–",
            show(s.peak_w, "power", units) if rows else "–",
            _beyond(s.beyond_share) if rows else "not known",
        ]
        for s in water.seasons
    ]
    if not rows:
        print_lines(["No taps are described: whether hot water is enough is not known.", ""])
    headers = ["month", "cold water", "heater can warm", "drawn, exceeded in 1 %", "takes", "taps ask more"]
    print_table(f"Hot water at {show(water.hot_c, 'temperature', units)}", headers, months, right=range(1, 6))
    coldest = min(water.seasons, key=lambda s: s.mains_c)
    if coldest.lasts_s is not None:
        print_lines([f"In the coldest month the tank feeds that peak for {coldest.lasts_s / 60.0:.0f} min.", ""])
    if result.floor_left_w is not None:
        left = show(max(result.floor_left_w, 0.0), "power", units)
        print_lines([f"With the shower running in the coldest month {left} are left for the floor.", ""])
    _findings(result.findings, units)


def _beyond(share: float | None) -> str:
    if share is None:
        return "not known"
    return "under 0.01 %" if share < 1e-4 else f"{share:.2%}"


def _findings(findings: tuple[Finding, ...], units: System) -> None:
    for finding in findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        print_lines([f"      {finding.action(units)}"])
