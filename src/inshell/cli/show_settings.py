"""`inshell settings` as text."""

from __future__ import annotations

from inshell.cli.show import print_lines, print_table
from inshell.jobs.settings_answer import Kept, Settings, Tried
from inshell.units import System, show


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
        shown = [[p.name, _value(p, p.value, units), _value(p, p.limit, units)] for p in result.found.promises]
        print_table("Under these settings", ["promise", "value", "limit"], shown, right=(1, 2))
    if result.year:
        proved = [[p.name, _value(p, p.value, units), _value(p, p.limit, units), _word(p)] for p in result.year]
        title = "The same settings over the whole year, and wherever the leaks may be"
        print_table(title, ["promise", "value", "limit", ""], proved, right=(1, 2))
    rows = [_tried(t, units) for t in result.tried if result.found is None or t.hold_s == result.tried[0].hold_s]
    print_table("Tried", ["base flows", "broken"], rows)


def _tried(t: Tried, units: System) -> list[str]:
    flows = ", ".join(f"{name} {show(flow, 'flow', units)}" for name, flow in t.base_m3_s.items())
    return [flows, ", ".join(t.broken) or "none"]


def _word(p: Kept) -> str:
    return "holds" if p.holds else "BROKEN"


def _value(p: Kept, value: float, units: System) -> str:
    if p.unit == "m3/s":
        return show(value, "flow", units)
    return {"Pa": f"{value:.1f} Pa", "ppm": f"{value:.0f} ppm", "sone": f"{value:.1f} sone"}.get(p.unit, f"{value:.0%}")
