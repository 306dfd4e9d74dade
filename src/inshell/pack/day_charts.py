"""Charts of simulated days and of the year: one ink, line patterns and figures, grey levels with their limits."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from inshell.design.day_run import DayRun
from inshell.design.year_run import YearRun
from inshell.pack.charts import drawn
from inshell.units import System, to_unit

PATTERNS: tuple[Any, ...] = ("-", "--", ":", "-.", (0, (5, 1, 1, 1, 1, 1)), (0, (1, 3)), (0, (8, 2)), (0, (3, 1, 1, 1)))
BANDS_C = (18.0, 20.0, 24.0, 26.0)
GREYS = ("#ffffff", "#e4e4e4", "#b9b9b9", "#7d7d7d", "#333333")


def days_chart(runs: tuple[DayRun, ...], names: dict[str, str], system: System) -> str:
    """Air temperature and humidity of every room through a day, doors open beside doors shut."""
    unit, label = ("degF", "°F") if system == "us" else ("degC", "°C")

    def draw(figure: Any) -> None:
        axes = figure.subplots(2, 2, sharex=True, sharey="row")
        hours = np.arange(24) + 0.5
        for column, run in enumerate(runs):
            top, low = axes[0][column], axes[1][column]
            for k, room in enumerate(run.rooms):
                style = {"color": "#111", "linestyle": PATTERNS[k % len(PATTERNS)], "linewidth": 1.0}
                shown = np.array([to_unit(float(v), "temperature", unit) for v in run.room_c[:, k]])
                top.plot(hours, shown, label=names[room], **style)
                low.plot(hours, 100.0 * run.humidity[:, k], **style)
            top.set_title("doors open" if run.doors_open else "doors shut", fontsize=8)
            low.set_xlabel("hour of the day, standard time")
            low.set_xticks(range(0, 25, 6))
        axes[0][0].set_ylabel(f"air, {label}")
        axes[1][0].set_ylabel("humidity, %")
        figure.legend(
            *axes[0][0].get_legend_handles_labels(), loc="outside lower center", ncols=4, frameon=False, fontsize=8
        )

    return drawn("Air temperature and humidity of every room through a day", (6.6, 4.6), draw)


def year_map(run: YearRun, names: dict[str, str], system: System) -> str:
    """Every hour of the year for every room: days across, hours up, five bands of grey with their limits."""
    unit, label = ("degF", "°F") if system == "us" else ("degC", "°C")
    per_hour = round(3600.0 / run.slot_s)

    def draw(figure: Any) -> None:
        from matplotlib.colors import BoundaryNorm, ListedColormap
        from matplotlib.patches import Patch

        rows = figure.subplots(len(run.rooms), 1, sharex=True, squeeze=False)[:, 0]
        norm = BoundaryNorm([-100.0, *BANDS_C, 200.0], len(GREYS))
        for axes, room in zip(rows, run.rooms, strict=True):
            hourly = run.of("room_c", room).reshape(8760, per_hour).mean(axis=1)
            grid = hourly.reshape(365, 24).T
            axes.imshow(
                grid,
                origin="lower",
                aspect="auto",
                cmap=ListedColormap(list(GREYS)),
                norm=norm,
                extent=(0, 365, 0, 24),
                interpolation="nearest",
            )
            low, high = (to_unit(float(v), "temperature", unit) for v in (hourly.min(), hourly.max()))
            axes.set_ylabel(
                f"{names[room]}\n{low:.0f} to {high:.0f} {label}", rotation=0, ha="right", va="center", fontsize=8
            )
            axes.set_yticks([0, 12, 24], ["0", "12", "24"], fontsize=8)
        ends = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
        rows[-1].set_xticks(ends, list("JFMAMJJASOND"))
        limits = [f"{to_unit(b, 'temperature', unit):.0f}" for b in BANDS_C]
        words = [f"below {limits[0]}", *(f"{a} to {b}" for a, b in pairwise(limits)), f"above {limits[-1]} {label}"]
        patches = [
            Patch(facecolor=g, edgecolor="#111", linewidth=0.5, label=w) for g, w in zip(GREYS, words, strict=True)
        ]
        figure.legend(handles=patches, loc="outside lower center", ncols=5, frameon=False, fontsize=8)

    return drawn("Air temperature of every room in every hour of the year", (6.6, 0.9 + 0.55 * len(run.rooms)), draw)
