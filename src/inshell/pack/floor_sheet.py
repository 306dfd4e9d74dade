"""The crew's sheet of the floor tubes, to be filled in by hand."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, PackageLoader, select_autoescape
from markupsafe import Markup

from inshell.pack.figures import Figures


def render_floor_sheet(facts: dict[str, Any]) -> str:
    """HTML from the facts that the use case gathered."""
    from importlib.resources import files

    environment = Environment(
        loader=PackageLoader("inshell", "pack"), autoescape=select_autoescape(), trim_blocks=True, lstrip_blocks=True,
        keep_trailing_newline=True,
    )  # fmt: skip
    environment.filters["quantity"] = Figures(facts["units"]).quantity
    css = files("inshell.pack").joinpath("report.css").read_text(encoding="utf-8")
    return environment.get_template("floor_sheet.html").render(**facts, css=Markup(css))
