"""Tight bends of a drawn tube, and how they are eased: where its radius is too small, the line is bent anew."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from scipy.linalg import solveh_banded
from shapely import clip_by_rect, get_coordinates, prepare
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

SEEN_M = 0.03  # between the points at which a radius is measured
DRAWN_M = 0.015  # between the points of what is bent anew
REACHES_M = (0.25, 0.4, 0.6)  # before and after a tight place, what may move
STIFF = 10.0 ** np.arange(0.0, -9.0, -0.75)  # how strongly the line is held where it was, one after another
ROUNDS, PASSES = 10, 3
GROUP_M = 0.25  # tight places nearer to each other are one


def sharpest_m(line: LineString) -> float:
    """The least radius of a drawn line, seen at points 3 cm apart."""
    return float(np.min(_radii_m(_sampled(line, SEEN_M)[1]), initial=math.inf))


def relaxed(line: LineString, bend_m: float, most_m: float, free: BaseGeometry) -> LineString:
    """A line whose bends are as wide as the bend radius where moving it by a least distance allows that.

    Round each tight place the line is bent anew: least squares of its second differences, weighted anew towards the
    sharpest until the curvature is even, held to where it was more and more loosely. It moves by `most_m` at most,
    stays within `free` if it was, and never meets itself; where that gives no full radius, the widest found is taken.
    """
    for _ in range(PASSES):
        before = line
        for low, high in reversed(list(_tight(line, bend_m))):
            line = _bent_anew(line, (low, high), bend_m, most_m, free)
        if line is before:
            break
    return line


def _bent_anew(
    line: LineString, tight: tuple[float, float], bend: float, most: float, free: BaseGeometry
) -> LineString:
    best, widest = line, 1.02 * _sharpest_within(line, tight)
    for reach in REACHES_M:
        low, high = max(0.0, tight[0] - reach), min(line.length, tight[1] + reach)
        piece = substring(line, low, high)
        ends = list(substring(line, 0.0, low).coords)[:-1], list(substring(line, high, line.length).coords)[1:]
        near = clip_by_rect(free, *piece.buffer(2.0 * most).bounds)
        prepare(near)
        inside = near.covers(piece)
        for points in _bent(_sampled(piece, DRAWN_M)[1], bend, most):
            least = min(float(np.min(_radii_m(points[k::2]))) for k in (0, 1))
            if least <= widest:
                continue
            made = LineString([*ends[0], *map(tuple, points), *ends[1]])
            if (near.covers(LineString(points)) or not inside) and made.is_simple:
                best, widest = made, least
        if widest >= bend:
            break
    return best


def _sharpest_within(line: LineString, part: tuple[float, float]) -> float:
    low, high = max(0.0, part[0] - SEEN_M), min(line.length, part[1] + SEEN_M)
    points = _sampled(substring(line, low, high), DRAWN_M)[1]
    return min(float(np.min(_radii_m(points[k::2]), initial=math.inf)) for k in (0, 1))


def _bent(points: np.ndarray, bend: float, most: float) -> Iterator[np.ndarray]:
    """Ways to bend a piece with its two ends held, ever looser; the last has full bends or moves too far."""
    if len(points) < 12:
        return
    for stiff in STIFF:
        weights = np.ones(len(points) - 2)
        made = points.copy()
        for _ in range(ROUNDS):
            made[2:-2] = _least_curved(points, weights, stiff)
            curved = np.hypot(*np.diff(made, n=2, axis=0).T)
            weights = weights * (1e-3 + curved / max(float(curved.max()), 1e-12))
            weights /= weights.max()
        if float(np.hypot(*(made - points).T).max()) > most:
            return
        yield made.copy()
        if min(float(np.min(_radii_m(made[k::2]))) for k in (0, 1)) >= bend:
            return


def _least_curved(points: np.ndarray, w: np.ndarray, stiff: float) -> np.ndarray:
    """All but two points at either end so that sum w |second difference|^2 + stiff |moved|^2 is least: five bands."""
    bands = np.zeros((3, len(points) - 4))
    bands[2] = w[:-2] + 4.0 * w[1:-1] + w[2:] + stiff
    bands[1, 1:] = -2.0 * (w[1:-2] + w[2:-1])
    bands[0, 2:] = w[2:-2]
    right = stiff * points[2:-2]
    for near, at in ((slice(None), points), (slice(None, None, -1), points[::-1])):  # what the held ends pull
        v, pulled = w[near], right[near]
        pulled[0] += 2.0 * (v[0] + v[1]) * at[1] - v[0] * at[0]
        pulled[1] -= v[1] * at[1]
    return np.asarray(solveh_banded(bands, right, check_finite=False))


def _tight(line: LineString, bend: float) -> Iterator[tuple[float, float]]:
    """Where along a line its bends are tighter than a radius: from, to."""
    at, points = _sampled(line, SEEN_M)
    bad = np.flatnonzero(_radii_m(points) < bend) + 1
    if len(bad):
        for group in np.split(bad, np.flatnonzero(np.diff(at[bad]) > GROUP_M) + 1):
            yield float(at[group[0]]), float(at[group[-1]])


def _sampled(line: LineString, step: float) -> tuple[np.ndarray, np.ndarray]:
    corners = get_coordinates(line)
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(corners, axis=0).T))]
    at = np.linspace(0.0, along[-1], max(3, math.ceil(along[-1] / step)))
    return at, np.column_stack([np.interp(at, along, corners[:, k]) for k in (0, 1)])


def _radii_m(points: np.ndarray) -> np.ndarray:
    """The radius at every point but the ends; infinite where the way is straight."""
    steps = np.diff(points, axis=0)
    one, two = steps[:-1], steps[1:]
    turn = np.abs(np.arctan2(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], (one * two).sum(axis=1)))
    length = 0.5 * (np.hypot(*one.T) + np.hypot(*two.T))
    return np.where(turn > math.radians(1.0), length / (2.0 * np.tan(0.5 * np.maximum(turn, 1e-6))), math.inf)
