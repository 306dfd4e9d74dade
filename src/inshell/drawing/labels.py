"""Words and marks on a plan: room labels clear of door swings, numbered devices and their legend."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.drawing.paper import Sheet
from inshell.house.geometry import Geometry
from inshell.house.geometry.outlines import Outline
from inshell.house.ids import DEVICE_TABLES
from inshell.house.model.house import House
from inshell.units import show

LINE_MM = 3.6
MARK_MM = 2.6
NAME_MM, NOTE_MM = 2.0, 1.55  # width of a letter
Numbered = tuple[int, str, str | None, tuple[float, float] | None]


def numbers_of(house: House) -> list[Numbered]:
    """(number, name, room, place) of every device that the plan shows."""
    rows: list[Numbered] = []
    for table in DEVICE_TABLES:
        for item in getattr(house, table):
            room = getattr(item, "room", None) or getattr(item, "to_room", None)
            spot = (item.position.x_m, item.position.y_m) if item.position else None
            rows.append((len(rows) + 1, item.name or item.id, room, spot))
    return rows


def draw_devices(
    sheet: Sheet, house: House, rooms: set[str], numbers: list[Numbered], *, is_lowest: bool
) -> list[tuple[int, str]]:
    """A numbered mark where a device's place is given; the legend names the room of the rest."""
    legend = []
    x0, y0, x1, y1 = sheet.bounds
    for number, name, room, spot in numbers:
        if (room is None and not is_lowest) or (room is not None and room not in rooms):
            continue
        if spot is None:
            where = f"in {house.room_named(room).name or room}, " if room else ""
            legend.append((number, f"{name} ({where}place not given)"))
            continue
        sheet.mark((min(max(spot[0], x0), x1), min(max(spot[1], y0), y1)), number)
        legend.append((number, name))
    return legend


def label_rooms(
    sheet: Sheet,
    house: House,
    geometry: Geometry,
    outlines: list[Outline],
    *,
    partitions: BaseGeometry,
    obstacles: list[BaseGeometry],
) -> None:
    """Name, area, clear size and ceiling of each room, where no door swings and no device is marked."""
    for outline in outlines:
        clear = outline.polygon.difference(partitions)
        clear = max(clear.geoms, key=lambda part: part.area) if hasattr(clear, "geoms") else clear
        label(sheet, clear, _lines(house, geometry, outline, clear), obstacles)


def _lines(house: House, geometry: Geometry, outline: Outline, clear: Polygon) -> list[str]:
    room, space = house.room_named(outline.owner), geometry.space(outline.owner)
    x0, y0, x1, y1 = clear.bounds
    lines = [room.name or room.id, show(space.net_floor_m2, "area", house.units)]
    if clear.area > 0.995 * (x1 - x0) * (y1 - y0):
        lines.append(f"{show(x1 - x0, 'length', house.units)} × {show(y1 - y0, 'length', house.units)}")
    for passage in house.passage:
        if passage.kind in ("stair", "hatch") and room.id in passage.between:
            other = house.room_named(next(name for name in passage.between if name != room.id))
            up = house.floor_height_m(other) > house.floor_height_m(room)
            lines.append(f"{passage.kind} {'up' if up else 'down'} to {other.name or other.id}")
    tubes = [c.name or c.id for c in house.circuit if room.id in c.rooms]
    if tubes:
        lines.append("tubes: " + ", ".join(tubes))
    high = (
        "open to the roof" if room.ceiling == "roof" else f"ceiling {show(float(room.ceiling), 'length', house.units)}"
    )
    return [*lines, high]


def label(sheet: Sheet, shape: Polygon, lines: list[str], obstacles: list[BaseGeometry]) -> Polygon:
    """Lines of text as near the middle of a shape as they fit; the last go first where they do not.

    Returns the rectangle that they cover.
    """
    taken = unary_union([o for o in obstacles if o.intersects(shape)])
    for count in range(len(lines), 0, -1):
        for at in _spots(shape):
            block = _block(sheet, at, lines[:count])
            if shape.contains(block) and not taken.intersects(block):
                _write(sheet, at, lines[:count])
                return block
    at = next(_spots(shape))
    _write(sheet, at, lines[:1])
    return _block(sheet, at, lines[:1])


def _spots(shape: Polygon, steps: int = 16) -> Iterator[tuple[float, float]]:
    """Points inside, nearest the middle first."""
    middle = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    yield middle.x, middle.y
    x0, y0, x1, y1 = shape.bounds
    grid = [(x, y) for x in np.linspace(x0, x1, steps + 1) for y in np.linspace(y0, y1, steps + 1)]
    for x, y in sorted(grid, key=lambda p: float(np.hypot(p[0] - middle.x, p[1] - middle.y))):
        if shape.contains(Point(x, y)):
            yield float(x), float(y)


def _block(sheet: Sheet, at: tuple[float, float], lines: list[str]) -> Polygon:
    """The rectangle that lines of text cover, in metres of the house."""
    m = sheet.ratio / 1000.0
    wide = max(len(line) * (NAME_MM if k == 0 else NOTE_MM) for k, line in enumerate(lines)) * m
    high = len(lines) * LINE_MM * m
    return box(at[0] - wide / 2.0, at[1] - high / 2.0, at[0] + wide / 2.0, at[1] + high / 2.0)


def _write(sheet: Sheet, at: tuple[float, float], lines: list[str]) -> None:
    x, y = sheet.mm(at)
    y -= 0.5 * LINE_MM * (len(lines) - 1) - 1.0
    for k, line in enumerate(lines):
        sheet.text_mm((x, y + k * LINE_MM), line, "note" if k else "name")
