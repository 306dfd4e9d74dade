"""Numbers and pictures as the page shows them."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from inshell.units import System, show, show_promise


@dataclass(frozen=True)
class Figure:
    """A finished SVG."""

    svg: str

    def __html__(self) -> Markup:
        return Markup(self.svg)


@dataclass(frozen=True)
class Figures:
    """Numbers in the units of one house."""

    system: System

    def quantity(self, value: float | None, kind: str) -> str:
        """A value of one kind."""
        return show(value, kind, self.system)

    def promise_value(self, value: float | None, unit: str) -> str:
        """A promise's number."""
        return show_promise(value, unit, self.system)
