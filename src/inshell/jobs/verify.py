"""`inshell verify`: the checks of the calculations, run again on the user's own machine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np

from inshell.jobs.recipes import RECIPES
from inshell.sources import table


@dataclass(frozen=True)
class Verified:
    """One check: what a source says, what this program gives, and whether that holds."""

    name: str
    kind: str
    source: str
    expected: float
    got: float
    tolerance: float
    unit: str

    @property
    def holds(self) -> bool:
        """Whether the value lies within the tolerance."""
        return abs(self.got - self.expected) <= self.tolerance

    def as_json(self) -> dict[str, Any]:
        """The row of `verify --json`."""
        return {**vars(self), "holds": self.holds}


def verify(only: str = "") -> list[Verified]:
    """Run every check whose name or source contains `only`."""
    rows = [called(row) for row in table("checks")["check"] if _wanted(row, only)]
    for recipe in RECIPES:
        if _wanted(recipe.facts, only):
            rows += [Verified(got=got, **recipe.facts_of(name)) for name, got in recipe.run().items()]
    return rows


def _wanted(row: dict[str, Any], only: str) -> bool:
    return only.lower() in f"{row['name']} {row['source']}".lower()


def called(row: dict[str, Any]) -> Verified:
    """A row of the table: call the function with its arguments."""
    module, _, name = row["function"].rpartition(".")
    function: Callable[..., Any] = getattr(import_module(f"inshell.{module}"), name)
    value = function(**row["arguments"])
    value = getattr(value, row["field"]) if "field" in row else value
    got = float(np.asarray(value[row["item"]] if "item" in row else value)) * row.get("scale", 1.0)
    names = ("name", "kind", "source", "expected", "tolerance", "unit")
    return Verified(got=got, **{key: row[key] for key in names})
