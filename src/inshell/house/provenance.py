"""Where values come from: `{ value = "80 cfm", from = "measured" }` on any value of the file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from inshell.errors import Problem

Origin = Literal["measured", "documented", "assumed", "default"]
STRENGTH: tuple[Origin, ...] = ("measured", "documented", "assumed", "default")
Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Said:
    """What the file says about one value."""

    origin: Origin
    note: str = ""
    by: str = ""
    date: str = ""


def strip(raw: Any, path: Path = ()) -> tuple[Any, dict[Path, Said], list[Problem]]:
    """The plain content, what was said about each value, and what was said wrongly."""
    if isinstance(raw, dict) and "value" in raw and "from" in raw:
        return _one(raw, path)
    said: dict[Path, Said] = {}
    problems: list[Problem] = []
    if isinstance(raw, dict | list):
        items = raw.items() if isinstance(raw, dict) else enumerate(raw)
        plain: Any = {} if isinstance(raw, dict) else [None] * len(raw)
        for key, value in items:
            plain[key], inner, bad = strip(value, (*path, key))
            said |= inner
            problems += bad
        return plain, said, problems
    return raw, said, problems


def _one(raw: dict[str, Any], path: Path) -> tuple[Any, dict[Path, Said], list[Problem]]:
    origin = raw["from"]
    extra = set(raw) - {"value", "from", "note", "by", "date"}
    problems = []
    where = ".".join(str(part) for part in path)
    if origin not in STRENGTH[:3]:
        problems.append(Problem(f"{where}.from", repr(origin), "measured, documented or assumed"))
        origin = "assumed"
    if (day := str(raw.get("date", ""))) and not _is_day(day):
        problems.append(Problem(f"{where}.date", repr(day), "a day as year-month-day, such as 2026-03-12"))
    if extra:
        problems.append(Problem(where, f"unknown key {', '.join(sorted(extra))}", "value, from, note, by, date"))
    said = Said(origin, *(str(raw.get(key, "")) for key in ("note", "by", "date")))
    return raw["value"], {path: said}, problems


def _is_day(text: str) -> bool:
    try:
        return len(text) == 10 and bool(date.fromisoformat(text))
    except ValueError:
        return False


def weakest(origins: list[Origin]) -> Origin:
    """The weakest of several origins; a result is no better than its worst input.

    >>> weakest(["measured", "default", "documented"])
    'default'
    """
    return max(origins, key=STRENGTH.index, default="assumed")
