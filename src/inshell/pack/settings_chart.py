"""The trade-off of fan settings as a picture: every promise against the base flow, kept or broken, with its limit."""

from __future__ import annotations

from typing import Any

from inshell.pack.charts import drawn
from inshell.units import System, to_unit

COLUMNS = 2
UNITS = {"Pa": "Pa", "ppm": "ppm", "1": "share", "sone": "sone"}


def settings_chart(document: dict[str, Any], system: System) -> str:
    """One panel a promise that the base flow moves, from the document of `inshell settings`."""
    flow, label = ("cfm", "cfm") if system == "us" else ("m3/h", "m³/h")
    steps = _steps(document)
    x = [to_unit(sum(s["base_flow_m3_s"].values()), "flow", flow) for s in steps]
    chosen = sum(s["value_m3_s"] for s in document["settings"] if "value_m3_s" in s)
    names = [n for n in _names(steps) if _moves([_of(s, n) for s in steps])]
    rows = max((len(names) + COLUMNS - 1) // COLUMNS, 1)

    def draw(figure: Any) -> None:
        figure.suptitle("filled: kept    open: broken    broad line: the settings found", fontsize=8, x=0.01, ha="left")
        panels = figure.subplots(rows, COLUMNS, squeeze=False, sharex=True).ravel()
        for axes, name in zip(panels, names, strict=False):
            points = [_of(s, name) for s in steps]
            known = next(p for p in points if p["holds"] is not None)
            unit = known["unit"]
            values, limits = ([_shown(p[key], unit, flow) for p in points] for key in ("value", "limit"))
            axes.plot(x, values, color="#111", linewidth=0.8)
            for holds, fill in ((True, "#111"), (False, "#fff")):
                mine = [k for k, p in enumerate(points) if p["holds"] is holds]
                style = {"color": "#111", "markerfacecolor": fill, "linestyle": "none", "markersize": 4}
                axes.plot([x[k] for k in mine], [values[k] for k in mine], "o", **style)
            axes.step(x, limits, where="mid", color="#111", linewidth=0.8, linestyle="--")
            axes.text(x[-1], limits[-1], "at least" if known["at_least"] else "at most", ha="right", va="bottom",
                      fontsize=8)  # fmt: skip
            if document["found"] and chosen:
                axes.axvline(to_unit(chosen, "flow", flow), color="#111", linewidth=2.5, alpha=0.25)
            axes.set_title(name, fontsize=8, loc="left", wrap=True)
            axes.set_ylabel(label if unit == "m3/s" else UNITS.get(unit, unit))
        for axes in panels[len(names) :]:
            axes.set_visible(False)
        for axes in panels[max(len(names) - COLUMNS, 0) : len(names)]:
            axes.set_xlabel(f"base flow of the whole-house fans together, {label}")
            axes.tick_params(labelbottom=True)

    return drawn("Promises about air against the base flow of the fans", (6.6, 0.5 + 1.45 * rows), draw)


def _steps(document: dict[str, Any]) -> list[dict[str, Any]]:
    """What was tried with all hold times as described, by rising flow."""
    tried = document["tried"]
    first = tried[0]["hold_time_s"] if tried else {}
    steps = [t for t in tried if t["hold_time_s"] == first]
    unique = {sum(t["base_flow_m3_s"].values()): t for t in steps}
    return [unique[key] for key in sorted(unique)]


def _names(steps: list[dict[str, Any]]) -> list[str]:
    """Promises in their order that every step knows or most do."""
    names = dict.fromkeys(p["name"] for s in steps for p in s["promises"])
    return list(names)


def _of(step: dict[str, Any], name: str) -> dict[str, Any]:
    """A promise at one step; nothing where that step does not know it."""
    found = next((p for p in step["promises"] if p["name"] == name), None)
    nothing = {"name": name, "value": float("nan"), "limit": float("nan"), "unit": "", "at_least": True, "holds": None}
    return found or nothing


def _moves(points: list[dict[str, Any]]) -> bool:
    """Whether the base flow moves a promise at all."""
    values = [p["value"] for p in points if p["holds"] is not None]
    return len(values) > 1 and max(values) - min(values) > 1e-6 * max(abs(v) for v in values)


def _shown(value: float, unit: str, flow: str) -> float:
    return to_unit(value, "flow", flow) if unit == "m3/s" else value
