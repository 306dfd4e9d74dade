"""Windows and outer doors from lines of text, for a first house file."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

from inshell.errors import InputRefused, Problem
from inshell.house.geometry.walls import WORDS
from inshell.house.ids import slug
from inshell.units import System, UnitError, parse_quantity

_KIND = re.compile(r"^\s*(window|door)\s*:\s*(.*)$", re.IGNORECASE)
_WALL = re.compile(rf"^(.+?)\s+({'|'.join(sorted(WORDS, key=len, reverse=True))})$", re.IGNORECASE)
_SIZE = re.compile(r"^(.+?)\s*(?:x|×|by)\s*(.+)$", re.IGNORECASE)
FORM = (
    '"window: room side, width x height[, sill length][, at length]" or "door: room side[, width x height][, at '
    'length]", such as "window: bed 1 south, 4 ft x 4 ft, sill 3 ft"; at counts from the left end seen from outside'
)


@dataclass(frozen=True)
class Opening:
    """One window or outer door, its sizes as they were written."""

    kind: str
    id: str
    room: str
    wall: str
    sizes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Openings:
    """The windows and outer doors that were asked for."""

    windows: tuple[Opening, ...]
    doors: tuple[Opening, ...]


def split_lines(lines: list[str]) -> tuple[list[str], list[str]]:
    """Lines about rooms, and lines about windows and doors."""
    holes = [line for line in lines if _KIND.match(line)]
    return [line for line in lines if line not in holes], holes


def read_openings(lines: list[str], rooms: dict[str, str], *, system: System) -> Openings:
    """Windows and doors from text; raises InputRefused with every line that cannot be read."""
    found: list[Opening] = []
    problems: list[Problem] = []
    for number, line in enumerate(lines, start=1):
        try:
            found.append(_one(line, rooms, found, system))
        except UnitError as error:
            problems.append(Problem(f"window and door line {number}", error.found, error.accepted))
        except ValueError as error:
            problems.append(Problem(f"window and door line {number}", str(error), FORM))
    if problems:
        raise InputRefused(problems)
    return Openings(tuple(o for o in found if o.kind == "window"), tuple(o for o in found if o.kind == "door"))


def _one(line: str, rooms: dict[str, str], before: list[Opening], system: System) -> Opening:
    kind, said = (part.strip() for part in _KIND.match(line).groups())  # type: ignore[union-attr]  # split_lines matched
    kind = kind.lower()
    place, *clauses = [clause.strip() for clause in said.split(",")]
    wall = _WALL.match(place)
    if not wall:
        raise ValueError(f"{place!r} names no room and side")
    room = next((id_ for name, id_ in rooms.items() if slug(name) == slug(wall[1])), None)
    if room is None:
        raise ValueError(f"no room {wall[1]!r} (there is: {', '.join(sorted(set(rooms.values())))})")
    sizes: dict[str, str] = {}
    for clause in clauses:
        word, _, rest = clause.partition(" ")
        size = _SIZE.match(clause)
        if word.lower() in ("sill", "at"):
            sizes[word.lower()] = rest.strip()
        elif size:
            sizes |= {"width": size[1].strip(), "height": size[2].strip()}
        else:
            raise ValueError(f"{clause!r}")
    if kind == "window" and "width" not in sizes:
        raise ValueError(f"no size of the window in {line.strip()!r}")
    for text in sizes.values():
        parse_quantity(text, "length", system=system)
    count = 1 + sum(o.kind == kind and o.room == room for o in before)
    return Opening(kind, f"{kind}-{room}-{count}", room, wall[2].lower(), tuple(sizes.items()))


def block(opening: Opening) -> str:
    """The opening as a table of the house file; bare sizes stay bare and take the file's system."""
    lines = [f"[[{opening.kind}]]", f'id = "{opening.id}"', f'room = "{opening.room}"', f'wall = "{opening.wall}"']
    lines += [
        f"{key} = {text if _is_number(text) else json.dumps(text, ensure_ascii=False)}" for key, text in opening.sizes
    ]
    lines.append('glazing = "window"' if opening.kind == "window" else 'type = "outer-door"')
    return "\n".join(lines) + "\n"


def _is_number(text: str) -> bool:
    return bool(re.fullmatch(r"\d+(\.\d+)?", text))
