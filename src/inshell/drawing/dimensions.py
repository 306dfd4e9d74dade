"""Dimensions of a plan: chains below and to the left, or lengths along the sides of a turned house."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from inshell.drawing.paper import Sheet
from inshell.house.model.house import House
from inshell.physics.types import Floats
from inshell.units import show


def wall_m(house: House) -> float:
    """Thickness of the outer walls, for the drawing."""
    return float(next(a.total_thickness_m for a in house.assembly if a.id == house.enclosure.wall))


def draw_dimensions(sheet: Sheet, house: House, points: Floats, inside: BaseGeometry, *, beyond_m: float = 0.0) -> None:
    """Inside sizes overall, and a chain over the corners of rooms (partition centre-lines), below and to the left.

    A house that is turned on the plan has the length of each outer side written along it instead.
    """
    x0, y0, x1, y1 = inside.bounds
    turned = _turned_sides(inside)
    if turned:
        for start, end in turned:
            _along_side(sheet, house, start, end)
        return
    wall = wall_m(house) + beyond_m
    for axis, (low, high) in enumerate(((x0, x1), (y0, y1))):
        stops = [float(v) for v in np.unique(points[:, axis].round(5))]
        stops = [v for k, v in enumerate(stops) if k == 0 or v - stops[k - 1] > 0.01]
        rows = [[low, high]] if not 2 < len(stops) <= 10 else [stops, [low, high]]
        for level, row in enumerate(rows):
            away = 3.0 + 4.5 * level
            for a, b in pairwise(row):
                if b - a > 0.25:
                    _dimension(sheet, house, axis, (a, b), (y0 if axis == 0 else x0) - wall, away)


def _dimension(sheet: Sheet, house: House, axis: int, span: tuple[float, float], edge: float, away_mm: float) -> None:
    first, last = ((span[0], edge), (span[1], edge)) if axis == 0 else ((edge, span[0]), (edge, span[1]))
    (xa, ya), (xb, yb) = sheet.mm(first), sheet.mm(last)
    shift = (0.0, away_mm) if axis == 0 else (-away_mm, 0.0)
    a, b = (xa + shift[0], ya + shift[1]), (xb + shift[0], yb + shift[1])
    sheet.line_mm([a, b], "thin")
    for x, y in (a, b):
        tick = [(x - 0.8, y + 0.8), (x + 0.8, y - 0.8)]
        sheet.line_mm(tick, "thin")
    middle = (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]) - 0.7) if axis == 0 else (a[0] - 0.7, 0.5 * (a[1] + b[1]))
    sheet.text_mm(middle, show(span[1] - span[0], "length", house.units), "dim", turn=0.0 if axis == 0 else -90.0)


def _turned_sides(inside: BaseGeometry) -> list[tuple[Floats, Floats]]:
    """Outer sides, if any of them is neither level nor upright on the plan."""
    polygons = [inside] if isinstance(inside, Polygon) else list(getattr(inside, "geoms", []))
    sides: list[tuple[Floats, Floats]] = []
    for polygon in polygons:
        sides += list(pairwise(np.array(polygon.normalize().simplify(1e-3).exterior.coords)))
    slanted = [side for side in sides if min(abs(side[1] - side[0])) > 0.03 * max(abs(side[1] - side[0]))]
    return sides if slanted else []


def _along_side(sheet: Sheet, house: House, start: Floats, end: Floats) -> None:
    """The length of a side, written along it outside the wall (the ring runs clockwise: outside is on its left)."""
    length = float(np.hypot(*(end - start)))
    if length < 0.4:
        return
    write_along(sheet, start, end, show(length, "length", house.units), away_m=wall_m(house) + 0.0025 * sheet.ratio)


def write_along(sheet: Sheet, start: Floats, end: Floats, text: str, *, away_m: float) -> None:
    """Text along a wall, outside it: on the left of a ring that runs clockwise."""
    (xa, ya), (xb, yb) = sheet.mm(tuple(start)), sheet.mm(tuple(end))
    size = math.hypot(xb - xa, yb - ya)
    away = 1000.0 * away_m / sheet.ratio
    turn = math.degrees(math.atan2(yb - ya, xb - xa))
    turn = turn - 180.0 if turn > 90.0 else turn + 180.0 if turn < -90.0 else turn
    x, y = 0.5 * (xa + xb) + (yb - ya) / size * away, 0.5 * (ya + yb) - (xb - xa) / size * away
    sheet.text_mm((x, y + 0.8), text, "dim", turn=turn)
