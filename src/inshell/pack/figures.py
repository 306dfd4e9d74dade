"""Numbers and pictures as the page shows them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from inshell.units import System, show, show_limit, show_opening, show_promise, to_unit


@dataclass(frozen=True)
class Figure:
    """A finished SVG."""

    svg: str

    def __html__(self) -> Markup:
        return Markup(self.svg)


def tied(text: str) -> str:
    """Groups of a number by narrow spaces at which no line breaks.

    >>> tied("11 337 Btu/h").encode("ascii", "xmlcharrefreplace")
    b'11&#8239;337 Btu/h'
    """
    return re.sub(r"(?<=\d) (?=\d)", "\u202f", text)


def cited(source: str) -> str:
    """A source as an official reads it: a dagger where it was cited without the printed edition at hand.

    >>> cited("IRC M1507.3 (from memory)"), cited("EN 1264-2, table 1"), cited("62.2, 7.2 (exception from memory)")
    ('IRC M1507.3 †', 'EN 1264-2, table 1', '62.2, 7.2 (exception †)')
    """
    return re.sub(r"[,:]? from memory", " †", source.replace("(from memory)", "†"))


@dataclass(frozen=True)
class Figures:
    """Numbers in the units of one house."""

    system: System

    def quantity(self, value: float | None, kind: str) -> str:
        """A value of one kind."""
        return tied(show(value, kind, self.system))

    def bare(self, value: float | None, kind: str) -> str:
        """A value without its unit, for a table that names it once."""
        return tied(show(value, kind, self.system).rpartition(" ")[0])

    def height_above_sea(self, value_m: float) -> str:
        """Whole feet or metres."""
        number = f"{to_unit(value_m, 'length', 'ft' if self.system == 'us' else 'm'):,.0f}".replace(",", " ")
        return f"{number} {'ft' if self.system == 'us' else 'm'}"

    def heat_loss(self, value_w_k: float) -> str:
        """Heat per degree."""
        if self.system == "us":
            return f"{to_unit(value_w_k, 'power', 'Btu/h') / 1.8:.1f} Btu/h·°F"
        return f"{value_w_k:.1f} W/K"

    def tightness(self, verdict: Any, which: str) -> str:
        """Value or limit of a tightness rule: air changes, or flow per enclosure in the reader's units."""
        number = float(getattr(verdict, which))
        if verdict.metric == "ach50":
            return f"{number:.2f} 1/h"
        if self.system == "us":
            return f"{number:.2f} cfm/ft²"
        per_hour = to_unit(1.0, "length", "ft") ** 2 / to_unit(1.0, "flow", "cfm") * 3600.0
        return f"{number * per_hour:.2f} m³/h·m²"

    def opening(self, area_m2: float | None) -> str:
        """A free area."""
        return show_opening(area_m2, self.system)

    def promise_value(self, value: float | None, unit: str) -> str:
        """A promise's number."""
        return tied(show_promise(value, unit, self.system))

    def limit(self, value: float | None, unit: str, sense: str) -> str:
        """A promise's limit in words."""
        return tied(show_limit(value, unit, sense, self.system))
