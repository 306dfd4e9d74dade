"""What `inshell settings` answers."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from inshell.design.promise import Verdict
from inshell.house.model.house import House
from inshell.house.model.promises import Sense


@dataclass(frozen=True)
class Kept:
    """One promise under some settings."""

    name: str
    value: float
    limit: float
    unit: str
    at_least: bool

    @property
    def holds(self) -> bool:
        """Whether it is kept."""
        return self.value >= self.limit - 1e-9 if self.at_least else self.value <= self.limit + 1e-9

    @property
    def verdict(self) -> Verdict:
        """Kept or broken."""
        return "kept" if self.holds else "broken"

    @property
    def sense(self) -> Sense:
        """Which way the limit bounds."""
        return "at_least" if self.at_least else "at_most"


@dataclass(frozen=True)
class Tried:
    """The whole-house fans at one base flow each, and every promise."""

    base_m3_s: dict[str, float]
    hold_s: dict[str, float]
    promises: tuple[Kept, ...]

    @property
    def broken(self) -> tuple[str, ...]:
        """Names of the promises that are not kept."""
        return tuple(p.name for p in self.promises if not p.holds)


@dataclass(frozen=True)
class Setting:
    """A setting that was found and what breaks one notch below it (nothing: it does not bind)."""

    device: str
    what: str
    value: float
    unit: str
    breaks: tuple[str, ...]


@dataclass(frozen=True)
class Settings:
    """The answer: settings, or why none will do and the least change that would."""

    house: House
    found: Tried | None
    settings: tuple[Setting, ...]
    tried: tuple[Tried, ...]
    beyond: tuple[str, ...]
    conflict: tuple[str, ...]
    change: str
    year: tuple[Kept, ...] = ()
    """promises about night air over every night of the year under the settings found"""

    @property
    def broken(self) -> bool:
        """Whether some promise is broken under every setting, or over the year under those found."""
        return self.found is None or bool(self.beyond) or any(not p.holds for p in self.year)

    def as_json(self) -> dict[str, Any]:
        """The document of `settings --json`."""
        return {
            "format": 1,
            "house": self.house.name,
            "found": self.found is not None,
            "settings": [_setting(s) for s in self.settings],
            "promises": [_kept(p) for p in self.found.promises] if self.found else [],
            "tried": [
                {"base_flow_m3_s": t.base_m3_s, "hold_time_s": t.hold_s, "broken": list(t.broken),
                 "promises": [_kept(p) for p in t.promises]}
                for t in self.tried
            ],
            "beyond_any_setting": list(self.beyond),
            "conflict": list(self.conflict),
            "over_the_year": [_kept(p) for p in self.year],
            "least_change": self.change,
        }  # fmt: skip


def _setting(s: Setting) -> dict[str, Any]:
    key = "value_m3_s" if s.unit == "m3/s" else "value_s"
    return {"device": s.device, "what": s.what, key: s.value, "one_notch_down_breaks": list(s.breaks)}


def _kept(p: Kept) -> dict[str, Any]:
    return asdict(p) | {"holds": p.holds}
