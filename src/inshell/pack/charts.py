"""Charts of the report: one ink, hatches and figures, never colour alone."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np

from inshell.climate.year import ClimateYear
from inshell.design.heating import HeatingResult
from inshell.design.pressure import PressureResult
from inshell.design.tightness import TestResult
from inshell.units import System, to_unit

PARTS = (
    ("walls", ("wall",), "////"),
    ("windows and doors", ("window", "door"), ""),
    ("roof and ceiling", ("roof", "ceiling"), "...."),
    ("floor", ("floor",), "\\\\\\\\"),
    ("other rooms", ("room",), "xxxx"),
)
GREYS = ("#ffffff", "#777777", "#ffffff", "#dddddd", "#ffffff", "#333333", "#bbbbbb")


SETTINGS: Any = {
    "svg.fonttype": "none",
    "font.family": "DejaVu Sans",
    "font.size": 8,
    "hatch.linewidth": 0.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "svg.hashsalt": "inshell",
}


def drawn(title: str, size: tuple[float, float], draw: Callable[[Any], None]) -> str:
    """The SVG of a figure that `draw` fills, with a name for those who cannot see it."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(SETTINGS):
        figure = Figure(figsize=size, layout="constrained")
        draw(figure)
        buffer = io.StringIO()
        figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    text = buffer.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    return text.replace("<svg ", f'<svg role="img" aria-label="{title}" ', 1)


def load_chart(heating: HeatingResult, names: dict[str, str], system: System) -> str:
    """Heating load of each room as one bar, split by where the heat goes."""
    unit = "Btu/h" if system == "us" else "W"
    rooms = [r for r in heating.rooms if abs(r.total_w) > 0.5]
    size = (6.4, 0.7 + 0.36 * len(rooms))

    def draw(figure: Any) -> None:
        axes = figure.subplots()
        left = np.zeros(len(rooms))
        parts = [
            (label, [sum(x.watts for x in r.losses if x.kind in kinds) for r in rooms], hatch)
            for label, kinds, hatch in PARTS
        ]
        parts += [("outdoor air", [r.air_w for r in rooms], ""), ("reheat", [r.reheat_w for r in rooms], "++++")]
        for (label, watts, hatch), grey in zip(parts, GREYS, strict=True):
            values = np.array([to_unit(max(w, 0.0), "power", unit) for w in watts])
            if values.any():
                axes.barh(
                    range(len(rooms)),
                    values,
                    left=left,
                    color=grey,
                    edgecolor="#111",
                    linewidth=0.5,
                    hatch=hatch,
                    label=label,
                )
                left = left + values
        for k, total in enumerate(left):
            axes.annotate(
                f"{total:,.0f}".replace(",", " "), (total, k), (4, 0), textcoords="offset points", va="center"
            )
        axes.set_yticks(range(len(rooms)), [names[r.room] for r in rooms])
        axes.invert_yaxis()
        axes.set_xlabel(f"heating load on the design day, {unit}")
        axes.legend(frameon=False, ncols=3, loc="lower right", fontsize=8)

    return drawn("Heating load of each room", size, draw)


def test_chart(result: TestResult, system: System) -> str:
    """Flow against pressure with the fitted line, and a strip of residuals below."""
    unit = "cfm" if system == "us" else "m3/h"
    size = (6.4, 3.4)

    def draw(figure: Any) -> None:
        top, strip = figure.subplots(2, 1, sharex=True, height_ratios=(3, 1))
        for k, one in enumerate(result.directions):
            pressure = np.array(one.pressures_pa)
            flow = np.array(one.flows_m3_s)
            line = np.linspace(min(pressure.min(), 10.0), max(pressure.max(), 55.0), 60)
            style = {
                "marker": "os"[k % 2],
                "color": "#111",
                "linestyle": "none",
                "markersize": 4,
                "fillstyle": "none" if k else "full",
            }
            top.plot(pressure, to_unit(1.0, "flow", unit) * flow, label=one.direction, **style)
            top.plot(
                line,
                to_unit(1.0, "flow", unit) * one.fit.coefficient_m3_s_pan * line**one.fit.exponent,
                color="#111",
                linewidth=0.8,
            )
            fitted = one.fit.coefficient_m3_s_pan * pressure**one.fit.exponent
            strip.plot(pressure, 100.0 * (flow / fitted - 1.0), **style)
        top.axvline(50.0, color="#111", linewidth=0.5, linestyle=":")
        strip.axhline(0.0, color="#111", linewidth=0.5)
        top.set_ylabel(f"flow, {'m³/h' if unit == 'm3/h' else unit}")
        strip.set_ylabel("off the\nline, %")
        strip.set_xlabel("pressure, Pa")
        top.legend(frameon=False)

    return drawn("Flow against pressure of the test, with residuals", size, draw)


test_chart.__test__ = False  # type: ignore[attr-defined]


def pressure_chart(result: PressureResult, names: dict[str, str], most: int = 12) -> str:
    """House pressure of the deepest combinations, fans alone and with stack."""
    states = sorted(result.states, key=lambda s: s.with_stack_pa)[:most]
    size = (6.4, 0.9 + 0.34 * len(states))

    def draw(figure: Any) -> None:
        axes = figure.subplots()
        rows = np.arange(len(states))
        axes.barh(
            rows,
            [s.with_stack_pa for s in states],
            color="#ddd",
            edgecolor="#111",
            linewidth=0.5,
            height=0.7,
            label="with design-cold stack",
        )
        axes.plot([s.fans_alone_pa for s in states], rows, "|", color="#111", markersize=9, label="fans alone")
        for k, state in enumerate(states):
            axes.text(0.5, k, f"{state.with_stack_pa:.1f}", va="center", ha="left")
        axes.set_yticks(rows, [", ".join(names.get(n, n) for n in s.running) or "nothing running" for s in states])
        axes.invert_yaxis()
        axes.set_xlabel("house pressure at the lowest floor, Pa (negative: sucked)")
        axes.legend(frameon=False, loc="lower left", fontsize=8)

    return drawn("House pressure for combinations of fans", size, draw)


def year_chart(year: ClimateYear, heating_c: float, system: System) -> str:
    """Outdoor temperature of the year: monthly mean, coldest and hottest hour, and the design cold."""
    unit, label = ("degF", "°F") if system == "us" else ("degC", "°C")
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    ends = np.cumsum(days) * 24
    months = [year.dry_bulb_c[e - 24 * n : e] for e, n in zip(ends, days, strict=True)]

    def shown(values: list[float]) -> list[float]:
        return [to_unit(v, "temperature", unit) for v in values]

    size = (6.4, 2.2)

    def draw(figure: Any) -> None:
        axes = figure.subplots()
        x = np.arange(12)
        low, high = shown([float(m.min()) for m in months]), shown([float(m.max()) for m in months])
        axes.vlines(x, low, high, color="#111", linewidth=0.8)
        axes.plot(x, shown([float(m.mean()) for m in months]), "o-", color="#111", markersize=3, linewidth=0.8)
        axes.axhline(shown([heating_c])[0], color="#111", linestyle="--", linewidth=0.8)
        axes.text(11.4, shown([heating_c])[0], "design cold", ha="right", va="bottom")
        axes.set_xticks(x, list("JFMAMJJASOND"))
        axes.set_ylabel(label)

    return drawn("Outdoor temperature by month", size, draw)
