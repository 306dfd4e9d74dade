"""Shapes that the tube plan is made of: filled corners, eased lanes, an outline opened, an area in even slices."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from inshell.design.tube_field import polygons, rounded

XY = tuple[float, float]
FIRST = 0.95  # of the straight at the manifold, the most that an arc takes
DRAWN_M = 0.002  # how far a drawn tube may lie off its outline


def filled(shape: BaseGeometry, radius: float) -> BaseGeometry:
    """A shape with its inner corners filled to a radius."""
    return shape.buffer(radius, quad_segs=8).buffer(-radius, quad_segs=8)


def eased(line: tuple[XY, ...], radius: float) -> LineString:
    """A lane with arcs for corners; where it steps aside by less than two radii it does so slantwise."""
    points = [np.array(p) for p in LineString(line).simplify(1e-6).coords]
    told = [points[0]]
    k = 1
    while k < len(points) - 1:
        if k + 2 < len(points) and _steps_aside(points[k - 1 : k + 3], radius):
            before, here, there, after = points[k - 1 : k + 3]
            back = min(radius, 0.45 * float(np.hypot(*(here - before))))
            on = min(radius, 0.45 * float(np.hypot(*(after - there))))
            told.append(here - back * (here - before) / np.hypot(*(here - before)))
            told.append(there + on * (after - there) / np.hypot(*(after - there)))
            k += 2
        else:
            told.append(points[k])
            k += 1
    return rounded([(float(x), float(y)) for x, y in [*told, points[-1]]], radius, FIRST)


def _steps_aside(four: list[np.ndarray], radius: float) -> bool:
    one, two, three = four[1] - four[0], four[2] - four[1], four[3] - four[2]
    return float(np.hypot(*two)) < 2.0 * radius and float(one @ three) > 0.0


def opened_at(ring: LineString, start: np.ndarray, after: np.ndarray, half: float) -> LineString:
    """A closed outline without its short end at the manifold."""
    way = (after - start) / np.hypot(*(after - start))
    side = half * np.array([-way[1], way[0]])
    a, b = sorted((ring.project(Point(start + side)), ring.project(Point(start - side))))
    between = substring(ring, a, b)
    if between.length > 4.0 * half:
        return LineString(between.simplify(DRAWN_M))
    rest = [*substring(ring, b, ring.length).coords, *list(substring(ring, 0.0, a).coords)[1:]]
    return LineString(LineString(rest).simplify(DRAWN_M))


def largest(shape: BaseGeometry) -> Polygon:
    """The largest polygon of a shape, an empty one if it has none."""
    return max(polygons(shape), key=lambda p: float(p.area), default=Polygon())


def split_even(area: Polygon, count: int, door: XY, spacing_m: float) -> list[Polygon]:
    """An area in slices of one size, cut along or across as the door reaches them best; a spacing between them."""
    if count == 1:
        return [area]
    ways = []
    for axis in (0, 1):
        parts = _sliced(area, count, axis, spacing_m)
        far = sum(part.distance(Point(door)) for part in parts)
        slim = max(float(part.length) / math.sqrt(max(float(part.area), 1e-6)) for part in parts)
        ways.append((far + 0.1 * slim, parts))
    return min(ways, key=lambda way: way[0])[1]


def _sliced(area: Polygon, count: int, axis: int, spacing_m: float) -> list[Polygon]:
    low, high = area.bounds[axis], area.bounds[axis + 2]
    cuts = [low]
    for k in range(1, count):
        a, b = low, high
        for _ in range(40):
            middle = 0.5 * (a + b)
            part = area.intersection(_between(area, axis, low, middle)).area
            a, b = (middle, b) if part < area.area * k / count else (a, middle)
        cuts.append(0.5 * (a + b))
    cuts.append(high)
    half = 0.5 * spacing_m
    return [
        largest(area.intersection(_between(area, axis, a + half * (k > 0), b - half * (k < count - 1))))
        for k, (a, b) in enumerate(pairwise(cuts))
    ]


def _between(area: Polygon, axis: int, a: float, b: float) -> Polygon:
    x0, y0, x1, y1 = area.bounds
    return box(a, y0, b, y1) if axis == 0 else box(x0, a, x1, b)
