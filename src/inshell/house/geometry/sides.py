"""What stands on either side of a vertical face, cut into exact trapezoids."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from inshell.house.geometry.arrangement import Column, Segment
from inshell.physics.types import Floats


@dataclass(frozen=True)
class Trapezoid:
    """A vertical piece over the plan from start to end, between two lines of height."""

    start: Floats
    end: Floats
    low: tuple[float, float]
    high: tuple[float, float]
    left: str | None
    right: str | None
    top_plane: str

    @property
    def length_m(self) -> float:
        """Length on the plan."""
        return float(np.hypot(*(self.end - self.start)))

    @property
    def area_m2(self) -> float:
        """Area."""
        return self.length_m * 0.5 * (self.high[0] - self.low[0] + self.high[1] - self.low[1])

    @property
    def centre_z_m(self) -> float:
        """Height of the centroid (exact for a trapezoid between two straight lines)."""
        (l0, l1), (h0, h1) = self.low, self.high
        area = 0.5 * (h0 - l0 + h1 - l1)
        squares = (h0 * h0 + h0 * h1 + h1 * h1 - l0 * l0 - l0 * l1 - l1 * l1) / 3.0
        return 0.5 * squares / area if area > 1e-12 else 0.5 * (l0 + h0)


_Line = tuple[float, float]


def trapezoids(segment: Segment) -> list[Trapezoid]:
    """The pieces of one segment on which the two sides differ."""
    lines: list[_Line] = []
    for column in (*segment.left, *segment.right):
        for plane in (column.bottom, column.top):
            lines.append((plane.z(segment.start), plane.z(segment.end)))
    cuts = sorted({0.0, 1.0, *_crossings(lines)})
    pieces: list[Trapezoid] = []
    for s0, s1 in pairwise(cuts):
        if s1 - s0 > 1e-9:
            pieces += _slice(segment, s0, s1)
    return pieces


def _crossings(lines: list[_Line]) -> list[float]:
    found = []
    for (a0, a1), (b0, b1) in combinations(lines, 2):
        at0, at1 = a0 - b0, a1 - b1
        if at0 * at1 < 0.0 and min(abs(at0), abs(at1)) > 1e-9:
            found.append(at0 / (at0 - at1))
    return found


def _slice(segment: Segment, s0: float, s1: float) -> list[Trapezoid]:
    start = segment.start + (segment.end - segment.start) * s0
    end = segment.start + (segment.end - segment.start) * s1
    middle = 0.5 * (start + end)
    levels = []
    for column in (*segment.left, *segment.right):
        levels += [column.bottom, column.top]
    levels.sort(key=lambda plane: plane.z(middle))
    pieces = []
    for low, high in pairwise(levels):
        height = high.z(middle) - low.z(middle)
        if height < 1e-6:
            continue
        z = low.z(middle) + 0.5 * height
        left, right = _at(segment.left, middle, z), _at(segment.right, middle, z)
        names = (left.owner if left else None, right.owner if right else None)
        if names[0] == names[1]:
            continue
        pieces.append(
            Trapezoid(start, end, (low.z(start), low.z(end)), (high.z(start), high.z(end)), *names, high.name)
        )
    return pieces


def _at(stack: tuple[Column, ...], point: Floats, z: float) -> Column | None:
    return next((c for c in stack if c.bottom.z(point) < z < c.top.z(point)), None)
