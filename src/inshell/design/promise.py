"""What a promise is once it has been judged."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from inshell.house.model.promises import Sense
from inshell.house.provenance import Origin

Verdict = Literal["kept", "broken", "unknown"]
Basis = Literal["designed", "built", "measured"]


@dataclass(frozen=True)
class Judged:
    """A promise with its value, limit, margin and verdict. `unit` is that of value, limit, margin and interval."""

    id: str
    title: str
    where: str
    sense: Sense
    limit: float | None
    unit: str
    verdict: Verdict
    basis: Basis
    source: str
    value: float | None = None
    condition: str = ""
    interval: tuple[float, float] | None = None
    share: float | None = None
    provenance: Origin = "assumed"
    why_unknown: str = ""

    @property
    def margin(self) -> float | None:
        """Distance to the limit, positive on the good side."""
        if self.value is None or self.limit is None:
            return None
        return self.limit - self.value if self.sense == "at_most" else self.value - self.limit

    def as_json(self) -> dict[str, Any]:
        """The promise as `check --json` prints it."""
        fields = asdict(self)
        order = (
            "id",
            "title",
            "where",
            "condition",
            "sense",
            "value",
            "limit",
            "unit",
            "verdict",
            "margin",
            "interval",
            "share",
            "basis",
            "source",
            "provenance",
            "why_unknown",
        )
        return {key: self.margin if key == "margin" else fields[key] for key in order}


def holds(value: float, limit: float, sense: Sense) -> bool:
    """Whether a value meets its limit, a rounding error aside."""
    slack = 1e-9 * max(1.0, abs(limit)) if abs(limit) > 1e-6 else 1e-12
    return value <= limit + slack if sense == "at_most" else value >= limit - slack


def verdict_of(value: float, limit: float, sense: Sense) -> Verdict:
    """Kept or broken by the nominal number alone."""
    return "kept" if holds(value, limit, sense) else "broken"
