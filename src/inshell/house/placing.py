"""From measured inside sizes to outlines: rooms placed beside one another across a partition."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from inshell.errors import InputRefused, Problem
from inshell.house.ids import slug
from inshell.units import System, UnitError, parse_quantity, show

_LINE = re.compile(
    r"^\s*(?P<name>[^:]+?)\s*:\s*(?P<width>.+?)\s*(?:x|×|by)\s*(?P<depth>[^,]+?)\s*(?:,\s*(?P<rest>.*))?$",
    re.IGNORECASE,
)
_PLACE = re.compile(r"^(?:(north|south|east|west) of|(over)) (.+)$", re.IGNORECASE)
_ALIGN = re.compile(r"^(?:align|flush) (north|south|east|west)(?: of (.+))?$", re.IGNORECASE)
_SHIFT = re.compile(r"^shift (.+) (north|south|east|west)$", re.IGNORECASE)
LARGEST_M = 60.0
FORM = (
    '"name: width x depth[, side of room or over room[, align side][, shift length side]]", such as '
    '"bed 1: 12 ft x 11 ft, east of living, align south" or "bed 2: 12 x 11, over living"'
)


@dataclass(frozen=True)
class Rectangle:
    """A room by its inside faces."""

    id: str
    name: str
    x0: float
    y0: float
    x1: float
    y1: float
    storey: int = 0

    def shifted(self, dx: float, dy: float) -> Rectangle:
        """The rectangle moved."""
        return Rectangle(self.id, self.name, self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy, self.storey)


def place_rooms(lines: list[str], *, partition_m: float, system: System) -> list[Rectangle]:
    """Rooms from lines of text, each beside one that came before, a partition apart.

    Width runs west to east and depth south to north, inside faces. Raises InputRefused with every line that
    cannot be placed.
    """
    placed: list[Rectangle] = []
    problems: list[Problem] = []
    for number, line in enumerate(lines, start=1):
        try:
            placed.append(_one(line, placed, partition_m, system))
        except (UnitError, ValueError) as error:
            accepted = error.accepted if isinstance(error, UnitError) else FORM
            found = error.found if isinstance(error, UnitError) else str(error)
            problems.append(Problem(f"room line {number}", found, accepted))
    if problems or not placed:
        raise InputRefused(problems or [Problem("rooms", "no room was given", FORM)])
    return placed


def _one(line: str, placed: list[Rectangle], partition: float, system: System) -> Rectangle:
    found = _LINE.match(line)
    if not found:
        raise ValueError(repr(line))
    width = parse_quantity(found["width"], "length", system=system)
    depth = parse_quantity(found["depth"], "length", system=system)
    if not (0.2 <= width <= LARGEST_M and 0.2 <= depth <= LARGEST_M):
        sizes = " x ".join(show(size, "length", system) for size in (width, depth))
        raise ValueError(f"a size of {sizes}")
    name = found["name"].strip()
    new = Rectangle(_free_id(slug(name) or "room", placed), name, 0.0, 0.0, width, depth)
    clauses = [clause.strip() for clause in (found["rest"] or "").split(",") if clause.strip()]
    if not clauses:
        if placed:
            raise ValueError(f"{name!r} is not placed beside a room")
        return new
    return _clauses(new, clauses, placed, partition, system)


def _clauses(
    new: Rectangle, clauses: list[str], placed: list[Rectangle], partition: float, system: System
) -> Rectangle:
    side = _PLACE.match(clauses[0])
    if not side:
        raise ValueError(f"{clauses[0]!r}")
    host = _named(side[3], placed)
    new = _above(new, host) if side[2] else _beside(new, host, side[1].lower(), partition)
    for clause in clauses[1:]:
        align, shift = _ALIGN.match(clause), _SHIFT.match(clause)
        if align:
            host = _named(align[2] or side[3], placed)
            new = _aligned(new, host, align[1].lower())
        elif shift:
            by = parse_quantity(shift[1], "length", system=system)
            dx, dy = {"north": (0, by), "south": (0, -by), "east": (by, 0), "west": (-by, 0)}[shift[2].lower()]
            new = new.shifted(dx, dy)
        else:
            raise ValueError(f"{clause!r}")
    if side[2] and not _over(new, host):
        raise ValueError(f"{new.name!r} does not lie over {host.name!r} once it is moved")
    return new


def _over(new: Rectangle, host: Rectangle) -> bool:
    across = min(new.x1, host.x1) - max(new.x0, host.x0)
    return across > 0.3 and min(new.y1, host.y1) - max(new.y0, host.y0) > 0.3


def _free_id(stem: str, placed: list[Rectangle]) -> str:
    taken = {r.id for r in placed}
    number, name = 2, stem
    while name in taken:
        name, number = f"{stem}-{number}", number + 1
    return name


def _named(name: str, placed: list[Rectangle]) -> Rectangle:
    for rectangle in placed:
        if slug(name) in (rectangle.id, slug(rectangle.name)):
            return rectangle
    known = ", ".join(r.name for r in placed) or "none yet"
    raise ValueError(f"no room {name!r} stands yet (there is: {known})")


def _beside(new: Rectangle, host: Rectangle, side: str, partition: float) -> Rectangle:
    width, depth = new.x1 - new.x0, new.y1 - new.y0
    x, y = {
        "north": (host.x0, host.y1 + partition),
        "south": (host.x0, host.y0 - partition - depth),
        "east": (host.x1 + partition, host.y0),
        "west": (host.x0 - partition - width, host.y0),
    }[side]
    return replace(new.shifted(x - new.x0, y - new.y0), storey=host.storey)


def _above(new: Rectangle, host: Rectangle) -> Rectangle:
    """On the next storey, the south-west corners over one another."""
    return replace(new.shifted(host.x0 - new.x0, host.y0 - new.y0), storey=host.storey + 1)


def _aligned(new: Rectangle, host: Rectangle, side: str) -> Rectangle:
    dx = {"east": host.x1 - new.x1, "west": host.x0 - new.x0}.get(side, 0.0)
    dy = {"north": host.y1 - new.y1, "south": host.y0 - new.y0}.get(side, 0.0)
    return new.shifted(dx, dy)


def outlines_from(rectangles: list[Rectangle], *, partition_m: float) -> dict[str, list[tuple[float, float]]]:
    """Outlines that meet on partition centre-lines: a side that faces a room moves out by half a partition."""
    result = {}
    for r in rectangles:
        others = [o for o in rectangles if o is not r and o.storey == r.storey]
        half = 0.5 * partition_m
        reach = partition_m + 0.0254
        east = half if any(_faces(o.x0 - r.x1, r.y0, r.y1, o.y0, o.y1, reach) for o in others) else 0.0
        west = half if any(_faces(r.x0 - o.x1, r.y0, r.y1, o.y0, o.y1, reach) for o in others) else 0.0
        north = half if any(_faces(o.y0 - r.y1, r.x0, r.x1, o.x0, o.x1, reach) for o in others) else 0.0
        south = half if any(_faces(r.y0 - o.y1, r.x0, r.x1, o.x0, o.x1, reach) for o in others) else 0.0
        x0, x1, y0, y1 = r.x0 - west, r.x1 + east, r.y0 - south, r.y1 + north
        result[r.id] = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return result


def _faces(gap: float, a0: float, a1: float, b0: float, b1: float, reach: float) -> bool:
    return -0.0254 <= gap <= reach and min(a1, b1) - max(a0, b0) > 0.05
