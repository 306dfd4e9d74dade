"""Findings: a code and named values. The sentences come from one catalogue, `sources/findings.toml`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from inshell.sources import table
from inshell.units import System, show

Severity = Literal["error", "warning", "note", "caution"]
ORDER: tuple[Severity, ...] = ("error", "caution", "warning", "note")


@dataclass(frozen=True)
class Finding:
    """Something a person should know: what (a code), where, and the values the sentence needs.

    A value may be plain, or a pair (number, kind) that is shown in the reader's units.
    """

    code: str
    where: str
    values: dict[str, Any] = field(default_factory=dict)

    @property
    def severity(self) -> Severity:
        """How much it matters; a caution cannot be suppressed."""
        return table("findings")[self.code]["severity"]  # type: ignore[no-any-return]

    @property
    def source(self) -> str:
        """Where the rule behind the finding comes from."""
        return str(table("findings")[self.code]["source"])

    def message(self, system: System = "si") -> str:
        """The sentence: evidence and consequence."""
        return self._filled("message", system)

    def action(self, system: System = "si") -> str:
        """What to do next."""
        return self._filled("action", system)

    def _filled(self, part: str, system: System) -> str:
        shown = {name: _shown(value, system) for name, value in self.values.items()}
        return str(table("findings")[self.code][part]).format(**shown)

    def as_json(self, system: System = "si") -> dict[str, Any]:
        """The finding with its sentences, as `check --json` prints it."""
        plain = {key: value[0] if isinstance(value, tuple) else value for key, value in self.values.items()}
        return {
            "code": self.code,
            "severity": self.severity,
            "where": self.where,
            "values": plain,
            "message": self.message(system),
            "action": self.action(system),
            "source": self.source,
        }


def _shown(value: object, system: System) -> str:
    if isinstance(value, tuple):
        return show(value[0], value[1], system)
    if isinstance(value, float):
        return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    return str(value)


def by_severity(findings: list[Finding]) -> list[Finding]:
    """The worst first; within one severity, by place."""
    unique = {(f.code, f.where, repr(sorted(f.values.items()))): f for f in findings}
    return sorted(unique.values(), key=lambda f: (ORDER.index(f.severity), f.where, f.code))
