"""`inshell settings` as text."""

from __future__ import annotations

from inshell.cli.show import MARKS, print_lines, print_table
from inshell.jobs.settings_answer import Kept, Settings, Tried
from inshell.units import System, show, show_limit, show_promise


def show_settings(result: Settings) -> None:
    """Settings with what binds each, every promise under them, and what was tried."""
    units = result.house.units
    print_lines([f"{result.house.name}: settings of fans", ""])
    if result.beyond:
        print_lines([f"Beyond any setting: {', '.join(result.beyond)}.", result.change, ""])
    if result.found is None:
        print_lines(["No setting keeps the rest.", f"In the way of each other: {', '.join(result.conflict)}.", ""])
    else:
        rows = [
            [
                s.device,
                s.what,
                show(s.value, "flow", units) if s.unit == "m3/s" else f"{s.value / 60.0:.0f} min",
                ", ".join(s.breaks) or "nothing binds",
            ]
            for s in result.settings
        ]
        print_table("Smallest settings", ["device", "setting", "value", "one notch down breaks"], rows, right=(2,))
        _promises("Under these settings", result.found.promises, units)
    if result.year:
        _promises("The same settings over the whole year, and wherever the leaks may be", result.year, units)
    rows = [_tried(t, units) for t in result.tried if result.found is None or t.hold_s == result.tried[0].hold_s]
    print_table("Tried", ["base flows", "broken"], rows)


def _tried(t: Tried, units: System) -> list[str]:
    flows = ", ".join(f"{name} {show(flow, 'flow', units)}" for name, flow in t.base_m3_s.items())
    return [flows, ", ".join(t.broken) or "none"]


def _promises(title: str, promises: tuple[Kept, ...], units: System) -> None:
    rows = [[MARKS[p.verdict], p.name, *_value_and_limit(p, units)] for p in promises]
    print_table(title, ["", "promise", "value", "limit"], rows, right=(2,))


def _value_and_limit(p: Kept, units: System) -> tuple[str, str]:
    if p.unit == "1":
        return f"{p.value:.0%}", f"{'at least' if p.at_least else 'at most'} {p.limit:.0%}"
    return show_promise(p.value, p.unit, units), show_limit(p.limit, p.unit, p.sense, units)
