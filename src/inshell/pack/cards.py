"""Task cards of the seal list: one page a trade, to be filled in by hand and typed in later."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, PackageLoader, select_autoescape
from markupsafe import Markup


def render_cards(facts: dict[str, Any]) -> str:
    """HTML from the facts that the use case gathered."""
    from importlib.resources import files

    environment = Environment(
        loader=PackageLoader("inshell", "pack"), autoescape=select_autoescape(), trim_blocks=True, lstrip_blocks=True,
        keep_trailing_newline=True,
    )  # fmt: skip
    css = files("inshell.pack").joinpath("report.css").read_text(encoding="utf-8")
    return environment.get_template("cards.html").render(**facts, css=Markup(css))
