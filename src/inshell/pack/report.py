"""The report: one self-contained page, to be read on a screen or printed."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, PackageLoader, select_autoescape
from markupsafe import Markup

from inshell import __version__
from inshell.pack.balance_chart import balance_chart
from inshell.pack.charts import load_chart, pressure_chart, test_chart, year_chart
from inshell.pack.day_charts import days_chart, year_map
from inshell.pack.figures import Figure, Figures, cited
from inshell.pack.settings_chart import settings_chart
from inshell.sources import table
from inshell.units import System


def render_report(facts: dict[str, Any]) -> str:
    """HTML from the facts that the use case gathered."""
    environment = Environment(
        loader=PackageLoader("inshell", "pack"),
        autoescape=select_autoescape(),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["quantity"] = Figures(facts["units"]).quantity
    environment.filters["bare"] = Figures(facts["units"]).bare
    environment.filters["height"] = Figures(facts["units"]).height_above_sea
    environment.filters["heat_loss"] = Figures(facts["units"]).heat_loss
    environment.filters["tightness"] = Figures(facts["units"]).tightness
    environment.filters["moisture"] = facts["moisture_words"]
    environment.filters["opening"] = Figures(facts["units"]).opening
    environment.filters["value"] = Figures(facts["units"]).promise_value
    environment.filters["cited"] = cited
    environment.filters["limit"] = Figures(facts["units"]).limit
    return environment.get_template("report.html").render(
        **facts,
        charts=_charts(facts),
        css=Markup(_css(facts["units"])),
        version=__version__,
        not_outside=table("evidence")["not_outside"],
    )


def _css(units: System) -> str:
    from importlib.resources import files

    text = files("inshell.pack").joinpath("report.css").read_text(encoding="utf-8")
    return text if units == "us" else text.replace("size: letter", "size: A4")


def _charts(facts: dict[str, Any]) -> dict[str, Any]:
    answer, units, names = facts["answer"], facts["units"], facts["names"]
    year = answer.climate.year
    return {
        "load": Figure(load_chart(answer.heating, names, units)),
        "pressure": Figure(pressure_chart(answer.pressure, facts["device_names"])),
        "year": Figure(year_chart(year, answer.climate.design.heating_c, units)) if year else None,
        "days": {title: Figure(days_chart(runs, names, units)) for title, runs in facts["days"].items()},
        "balances": {names[room]: Figure(balance_chart(facts["rooms"], room, units)) for room in facts["balanced"]},
        "map": Figure(year_map(facts["year_run"], names, units)) if facts["year_run"] else None,
        "settings": Figure(settings_chart(facts["settings"], units)) if facts["settings"] else None,
        "tests": [Figure(test_chart(t.result, units)) for t in answer.job.tests],
    }
