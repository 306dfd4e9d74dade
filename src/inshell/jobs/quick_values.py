"""Unit text of quick answers: every problem collected, no unit guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from inshell.errors import Problem
from inshell.units import KINDS, System, UnitError, parse_quantity

_BARE = re.compile(r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*$")
_US_AREA = re.compile(r"ft|sq|in|'|\"|′", re.IGNORECASE)


def system_of_text(text: str) -> System:
    """Which system a text's unit belongs to.

    >>> system_of_text("1000 ft2"), system_of_text("88 m2")
    ('us', 'si')
    """
    return "us" if _US_AREA.search(text) else "si"


@dataclass
class Asked:
    """Values as they are read, with what is wrong with them."""

    problems: list[Problem] = field(default_factory=list)

    def quantity(
        self, name: str, text: str, kind: str, *, low: float, high: float, bare: System | None = None
    ) -> float:
        """A value in SI; NaN after a problem. A bare number is refused where its unit could be more than one."""
        row = KINDS[kind]
        accepted = f"{kind.replace('_', ' ')} with its unit, such as {row.example}"
        plain = _BARE.match(text)
        if plain and bare is None and row.us_bare != row.si_bare and float(text) != 0.0:
            self.problems.append(Problem(name, f"{text!r} has no unit", accepted))
            return float("nan")
        try:
            value = parse_quantity(float(text) if plain else text, kind, system=bare or "si")
        except UnitError as error:
            self.problems.append(Problem(name, error.found, error.accepted))
            return float("nan")
        if not low <= value <= high:
            self.problems.append(Problem(name, f"{text} is {value:.4g} {row.si}", f"{low:g} to {high:g} {row.si}"))
        return value

    def optional(
        self, name: str, text: str | None, kind: str, *, low: float, high: float, bare: System | None = None
    ) -> float | None:
        """A value that may be left out."""
        return None if text is None else self.quantity(name, text, kind, low=low, high=high, bare=bare)
