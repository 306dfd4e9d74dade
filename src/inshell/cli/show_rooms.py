"""`inshell rooms` as text and as JSON."""

from __future__ import annotations

import sys
from collections.abc import Callable

from inshell.cli.show import MARKS, print_lines, print_table
from inshell.design.cooling_load import MONTHS
from inshell.design.room_balance import RoomBalance
from inshell.jobs.rooms import RoomsAnswer
from inshell.jobs.rooms_words import part_words, remedy_words, said
from inshell.units import System, show, show_limit, show_promise, to_unit

BAR, WIDEST = 22, 8
SHORT = ("sun", "glass", "walls", "roof", "floor", "beside", "people", "appl.", "air")


def shown_stages() -> Callable[[str, float], None] | None:
    """A line on standard error that says what is being run, where a person watches."""
    if not sys.stderr.isatty():
        return None

    def told(what: str, share: float) -> None:
        print(
            f"\r{share:4.0%} {what:14}", end="" if share < 1.0 else "\r" + " " * 24 + "\r", file=sys.stderr, flush=True
        )

    return told


def show_rooms(result: RoomsAnswer) -> None:
    """Loads, design days, the room in question with its balance, promises, remedies, heads, findings."""
    units = result.house.units
    print_lines([f"{result.house.name}: rooms, heated and cooled where heads and heaters are", ""])
    print_lines([*said(result), ""])
    if result.load is not None:
        _loads(result, units)
    _days(result, units)
    _weeks(result, units)
    for season in ("heating", "cooling"):
        day = result.day(season, "shut")
        if day is not None and result.target != result.main:
            _balance(result, day.of(result.target).balance, f"{season} design day, door shut", units)
    _promises(result, units)
    _tried(result, units)
    _heads(result, units)
    for finding in result.findings:
        print_lines([f"  {finding.severity}: {finding.where}: {finding.message(units)}"])
        print_lines([f"      {finding.action(units)}"])


def _loads(result: RoomsAnswer, units: System) -> None:
    assert result.load is not None
    peaks = [*(result.load.peak(room) for room in result.load.rooms), result.load.peak()]
    unit = "Btu/h" if units == "us" else "W"

    def plain(watts: float) -> str:
        return f"{to_unit(watts, 'power', unit):.0f}"

    rows = [
        [p.where, f"{MONTHS[p.month][:3]} {p.hour:02d} h", *map(plain, (p.sensible_w, p.latent_w, *p.parts_w.values()))]
        for p in peaks
    ]
    title = f"Cooling load at each room's peak, {unit}: the worst of every month's design day, all rooms held"
    print_table(title, ["room", "when", "sensible", "latent", *SHORT], rows, right=range(2, 13))


def _days(result: RoomsAnswer, units: System) -> None:
    headers = ["room"]
    for season in ("heating", "cooling"):
        if result.day(season, "shut"):
            headers += [f"{'cold' if season == 'heating' else 'hot'}, shut", "open", "follows"]
    headers += [f"{show(10.0, 'temperature', units)} in", "outside", "felt", "damp"]
    rows = []
    for hours in result.hours:
        row = [hours.room]
        for season in ("heating", "cooling"):
            shut, opened = result.day(season, "shut"), result.day(season, "open")
            if shut and opened:
                mine = shut.of(hours.room)
                row += [_k(mine.offset_k, units), _k(opened.of(hours.room).offset_k, units)]
                row.append(f"{mine.settles_h:.0f} h" if mine.settles_h is not None else "> 96 h")
        cut = result.outage_h[hours.room]
        felt = hours.cold_operative_h + hours.warm_operative_h
        row += [f"{cut:.0f} h" if cut is not None else "> 240 h", f"{hours.outside_h:.0f} h", f"{felt:.0f} h"]
        rows.append([*row, f"{hours.damp_h:.0f} h"])
    title = (
        f"Against {result.main}: worst drift on the cold and the hot design day, doors shut and open; hours to follow;"
        " hours after a power cut; hours of the year outside the band (air, felt) and damp"
    )
    print_table(title, headers, rows, right=range(1, len(headers)))


def _k(value: float, units: System) -> str:
    return ("+" if value > 0.0 else "") + show(value, "temperature_difference", units)


def _weeks(result: RoomsAnswer, units: System) -> None:
    headers = ["week", "outdoors", "doors", *(hours.room for hours in result.hours)]
    rows = [
        [
            week.name,
            show(week.mean_outdoor_c, "temperature", units),
            str(week.doors),
            *(f"{r.outside_h:.0f} h" for r in week.rooms),
        ]
        for week in result.weeks
    ]
    print_table("Hours outside the band in four weeks of the year", headers, rows, right=range(3, len(headers)))


def _balance(result: RoomsAnswer, balance: RoomBalance, title: str, units: System) -> None:
    """Signed bars: what warms the room to the right, what cools it to the left."""
    parts = [p for p in balance.parts if abs(p.watts) >= 0.5][:WIDEST]
    rest = sum(p.watts for p in balance.parts) - sum(p.watts for p in parts)
    most = max((abs(p.watts) for p in parts), default=1.0)
    lines = [f"{balance.room}, {title}: {show(balance.room_c, 'temperature', units)}. Heat in is +, out is -"]
    rows = [(part_words(result, p), p.watts) for p in parts]
    for name, watts in [*rows, ("all the rest", rest), ("taken up by the room itself", -balance.stored_w)]:
        if abs(watts) >= 0.5:
            length = round(BAR * abs(watts) / most)
            left, right = ("▒" * length if watts < 0 else "", "█" * length if watts > 0 else "")
            lines.append(f"  {name[:44]:44} {left:>{BAR}}|{right:{BAR}} {show(watts, 'power', units):>12}")
    print_lines([*lines, ""])


def _promises(result: RoomsAnswer, units: System) -> None:
    rows = []
    for p in result.promises:
        weights = result.weights.get(p.id.removeprefix("promise/"))
        heaviest = weights.rows[0] if weights else None
        words = {u.name: u.words for u in result.sampled.unknowns} if result.sampled else {}
        matters = words.get(heaviest.name, "") if heaviest else ""
        if heaviest and not heaviest.resolved:
            matters += " (not resolved)"
        rows.append(
            [
                MARKS[p.verdict],
                p.title,
                show_promise(p.value, p.unit, units),
                show_limit(p.limit, p.unit, p.sense, units),
                "–" if p.share is None else f"{p.share:.0%}",
                matters,
                p.why_unknown or p.condition,
            ]
        )
    count = len(result.sampled.points) if result.sampled else 0
    headers = ["", "promise", "value", "limit", f"holds in, of {count}", "what matters most", "condition"]
    print_table("Promises", headers, rows, right=(2, 4))


def _tried(result: RoomsAnswer, units: System) -> None:
    rows = []
    for t in result.tried:
        seasons = t.by_season_k
        rows.append(
            [
                remedy_words(t, units) + (" (never alone: fire)" if t.remedy.opens_doors else ""),
                *(_k(seasons[s], units) if s in seasons else "–" for s in ("heating", "cooling")),
                "yes" if t.keeps else "no",
                f"{t.outside_h:.0f} h",
                f"{t.damp_h:.0f} h",
                "–" if t.mean_w is None else f"{t.mean_w:+.0f} W",
                "–" if t.remedy.price is None else f"{result.house.prices.currency} {t.remedy.price:.0f}".strip(),
            ]
        )
    if rows:
        limit = show(result.limit_k, "temperature_difference", units)
        title = f"What would change {result.target} (limit {limit}), each simulated again, the greatest effect first"
        headers = ["remedy", "heating", "cooling", "within", "outside band", "damp, worst room", "electric", "price"]
        print_table(title, headers, rows, right=range(1, 8))


def _heads(result: RoomsAnswer, units: System) -> None:
    rows = []
    for option in result.options:
        if not option.outcome.heads:
            rows.append([option.name, "no points", *["–"] * 9])
        for year in option.outcome.heads:
            cover = option.heating_cover if year.mode == "heating" else option.cooling_cover
            ratio = year.seasonal_ratio
            rows.append(
                [
                    option.name,
                    year.mode,
                    "–" if cover is None else f"{cover:.0%}",
                    f"{year.hours:.0f} h",
                    f"{year.below_share:.0%}" if year.least_known else "–",
                    f"{year.starts:.0f}" if year.least_known else "–",
                    f"{year.delivered_kwh:.0f} kWh",
                    "–" if year.electric_kwh is None else f"{year.electric_kwh:.0f} kWh",
                    "–" if ratio is None else f"{ratio:.1f}",
                    f"{max(option.outcome.damp_h.values()):.0f} h",
                    f"{option.outcome.removed_l_day:.1f} L/day",
                ]
            )
    if rows:
        headers = ["heads", "mode", "of the load", "runs", "below least", "starts", "gives", "electricity", "ratio",
                   "damp", "water out"]  # fmt: skip
        print_table("Heads through the year", headers, rows, right=range(2, 11))
