"""A room's balance as a picture: signed bars with their watts, the coldest design day over the hottest."""

from __future__ import annotations

from typing import Any

from inshell.pack.charts import drawn
from inshell.units import System, to_unit

MOST_BARS = 9
DAYS = {"heating": "coldest design day", "cooling": "hottest design day"}


def balance_chart(rooms: dict[str, Any], room: str, system: System) -> str:
    """One room on its design days with the door shut, from the document of `inshell rooms`."""
    days = [d for d in rooms["design_days"] if d["doors"] == "shut"]
    mine = [next(r for r in d["rooms"] if r["room"] == room) for d in days]
    rows = [_rows(r["balance"]) for r in mine]
    unit, label = ("Btu/h", "Btu/h") if system == "us" else ("W", "W")
    degrees = ("degF", "°F") if system == "us" else ("degC", "°C")

    tall = [max(len(parts), 1) for parts in rows]  # a room may have no part worth a bar

    def draw(figure: Any) -> None:
        for axes, day, one, parts in zip(
            figure.subplots(len(days), 1, squeeze=False, height_ratios=tall)[:, 0], days, mine, rows, strict=True
        ):
            shown = [(words, to_unit(watts, "power", unit)) for words, watts in parts][::-1]
            values = [value for _, value in shown]
            bars = axes.barh(range(len(shown)), values, height=0.62, edgecolor="#111", linewidth=0.6)
            for bar, value in zip(bars, values, strict=True):
                bar.set_facecolor("#555555" if value > 0.0 else "#ffffff")
                bar.set_hatch("" if value > 0.0 else "////")
            reach = max(map(abs, values), default=1.0)
            for k, value in enumerate(values):
                side = 1.0 if value > 0.0 else -1.0
                place = {"ha": "left" if side > 0.0 else "right", "va": "center", "fontsize": 8}
                axes.text(value + side * 0.03 * reach, k, f"{value:+.0f}", **place)
            axes.axvline(0.0, color="#111", linewidth=0.8)
            axes.set_yticks(range(len(shown)), [words for words, _ in shown], fontsize=8)
            axes.set_xlim(-1.6 * reach, 1.45 * reach)
            axes.set_xticks([])
            axes.spines["left"].set_visible(False)
            axes.spines["bottom"].set_visible(False)
            axes.tick_params(axis="y", length=0)
            air = to_unit(float(one["air_c"][one["worst_hour"]]), "temperature", degrees[0])
            axes.set_title(f"{DAYS[day['season']]}, {air:.1f} {degrees[1]} ({label})", fontsize=8, loc="right")

    size = (6.6, 0.35 * len(days) + 0.17 * sum(tall))
    return drawn(f"Balance of heat of {room} on its design days", size, draw)


def _rows(balance: dict[str, Any]) -> list[tuple[str, float]]:
    """The greatest parts, all the rest as one, and what warms the room itself."""
    parts = [(p["words"], p["watts"]) for p in balance["parts"] if abs(p["watts"]) >= 0.5]
    rows = parts[:MOST_BARS]
    rest = sum(watts for _, watts in parts[MOST_BARS:])
    if abs(rest) >= 0.5:
        rows.append(("all the rest", rest))
    if abs(balance["stored_w"]) >= 0.5:
        rows.append(("taken up by the room itself", -balance["stored_w"]))
    return rows
