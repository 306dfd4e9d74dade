"""Finding the wall that an opening names, and its place on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import Polygon, box

from inshell.errors import Problem
from inshell.house.geometry.outlines import Outline
from inshell.house.model.house import House
from inshell.house.model.openings import Door, Passage, Window
from inshell.units import show

if TYPE_CHECKING:
    from inshell.house.geometry.surfaces import Surface

WORDS = {
    "north": 0.0,
    "east": 90.0,
    "south": 180.0,
    "west": 270.0,
    "north-east": 45.0,
    "south-east": 135.0,
    "south-west": 225.0,
    "north-west": 315.0,
}


def compass(azimuth_deg: float) -> str:
    """The nearest of the eight compass words.

    >>> compass(350.0), compass(100.0)
    ('north', 'east')
    """
    return min(WORDS, key=lambda word: abs((WORDS[word] - azimuth_deg + 180.0) % 360.0 - 180.0))


@dataclass(frozen=True)
class Placed:
    """An opening at its place: the surface that holds it and its ends on the plan."""

    id: str
    kind: str
    surface: str
    area_m2: float
    start: tuple[float, float]
    end: tuple[float, float]
    sill_m: float
    head_m: float


def edges_named(outline: Outline, name: str) -> list[tuple[str, str]]:
    """Corner pairs of the edges that a wall's name means.

    `c1-c4` still names its wall after corners were inserted on the straight line between the two; a compass word
    means every edge that faces that way on the plan.
    """
    count = len(outline.corners)
    if name in WORDS:
        return [outline.edge_corners(k) for k in range(count) if _faces(outline, k, WORDS[name])]
    first, _, last = name.partition("-")
    if first not in outline.corners or last not in outline.corners or first == last:
        return []
    for a, b in ((first, last), (last, first)):
        run = _straight_run(outline, outline.corners.index(a), outline.corners.index(b))
        if run:
            return [outline.edge_corners(k) for k in run]
    return []


def _faces(outline: Outline, k: int, azimuth: float) -> bool:
    start, end = outline.edge(k)
    along = (end - start) / np.hypot(*(end - start))
    facing = math.degrees(math.atan2(along[1], -along[0]))
    return abs((facing - azimuth + 180.0) % 360.0 - 180.0) < 22.5


def _straight_run(outline: Outline, first: int, last: int) -> list[int]:
    count = len(outline.corners)
    run = [(first + k) % count for k in range((last - first) % count)]
    start, end = outline.points[first], outline.points[last]
    length = float(np.hypot(*(end - start)))
    for k in run:
        offset = outline.points[k] - start
        if abs(offset[0] * (end - start)[1] - offset[1] * (end - start)[0]) > 1e-3 * max(length, 1e-9):
            return []
    return run


def _candidates(outline: Outline, wall: str | None, surfaces: list[Surface]) -> list[Surface]:
    edges = edges_named(outline, wall) if wall else None
    mine = [s for s in surfaces if s.room == outline.owner and s.kind == "wall"]
    return mine if edges is None else [s for s in mine if s.corners in edges]


def _where_wall(kind: str, opening: Window | Door, outline: Outline) -> Problem:
    walls = ", ".join("-".join(outline.edge_corners(k)) for k in range(len(outline.corners)))
    return Problem(
        f"{kind}.{opening.id}.wall",
        f"{opening.wall!r} is no outer wall of room {outline.owner}",
        f"a compass word of the plan, or one of {walls}",
        "It may have lost its wall when the outline changed: it is kept here until you place it again",
    )


def place_outer(
    house: House, kind: str, opening: Window | Door, outline: Outline, surfaces: list[Surface]
) -> Placed | Problem:
    """A window or outer door at its place on an outer wall, or why it cannot be placed."""
    held = _candidates(outline, opening.wall, surfaces)
    if not held:
        return _where_wall(kind, opening, outline)
    floor = house.floor_height_m(house.room_named(outline.owner))
    sill = floor + (opening.sill_m if isinstance(opening, Window) else 0.0)
    results = [(s.length_m, _on_wall(house, kind, opening, outline, s, sill)) for s in held]
    fits = [(length, result) for length, result in results if isinstance(result, Placed)]
    return max(fits, key=lambda r: r[0])[1] if fits else max(results, key=lambda r: r[0])[1]


def _on_wall(
    house: House, kind: str, opening: Window | Door, outline: Outline, surface: Surface, sill: float
) -> Placed | Problem:
    k = outline.corners.index(surface.corners[0]) if surface.corners else 0
    start, end = outline.edge(k)
    along = (end - start) / np.hypot(*(end - start))
    low, _, high, _ = surface.shape.bounds
    at = low + opening.at_m if opening.at_m is not None else 0.5 * (low + high - opening.width_m)
    if opening.at_m is not None and opening.wall and _is_reversed(outline, opening.wall):
        at = high - opening.at_m - opening.width_m
    head = sill + opening.height_m
    rectangle = box(at, sill, at + opening.width_m, head)
    if rectangle.difference(surface.shape.buffer(0.006, join_style="mitre")).area > 1e-6:
        return _too_large(house, kind, opening, surface, (at, sill))
    return Placed(
        opening.id,
        kind,
        surface.id,
        opening.area_m2,
        tuple(start + along * at),
        tuple(start + along * (at + opening.width_m)),
        sill,
        head,
    )


def _is_reversed(outline: Outline, wall: str) -> bool:
    """Whether a wall was named against the counterclockwise order, so that `at` runs from its other end."""
    first, _, last = wall.partition("-")
    if wall in WORDS or first not in outline.corners:
        return False
    return not _straight_run(outline, outline.corners.index(first), outline.corners.index(last))


def _too_large(house: House, kind: str, opening: Window | Door, surface: Surface, at: tuple[float, float]) -> Problem:
    low, bottom, high, top = surface.shape.bounds

    def length(value: float) -> str:
        return show(value, "length", house.units)

    return Problem(
        f"{kind}.{opening.id}",
        f"{length(opening.width_m)} x {length(opening.height_m)} at {length(at[0] - low)} along and "
        f"{length(at[1] - bottom)} up does not lie within wall {surface.id}, {length(high - low)} long and up to "
        f"{length(top - bottom)} high",
        "an opening within its wall",
        "Check its width, height, sill and at",
    )


def place_inner(
    house: House, kind: str, opening: Door | Passage, surfaces: list[Surface], outlines: dict[str, Outline]
) -> Placed | Problem:
    """A door or passage at its place between two rooms, or why it cannot be placed."""
    pair = set(opening.between or ())
    shared = [s for s in surfaces if s.kind == "partition" and {s.room, s.other} == pair]
    if isinstance(opening, Passage) and opening.kind in ("stair", "hatch"):
        shared += [s for s in surfaces if s.kind == "mid-floor" and {s.room, s.other} == pair]
    if not shared:
        one, two = sorted(pair) if len(pair) == 2 else (*pair, *pair)
        return Problem(
            f"{kind}.{opening.id}.between",
            f"rooms {one} and {two} share no wall",
            "two rooms that meet",
            "Check the rooms, or move their outlines together",
        )
    surface = max(shared, key=lambda s: s.area_m2)
    if surface.kind == "mid-floor":
        x, y = surface.shape.centroid.coords[0]
        return Placed(
            opening.id,
            kind,
            surface.id,
            opening.area_m2 or 1.0,
            (x - 0.4, y),
            (x + 0.4, y),
            surface.low_m,
            surface.high_m,
        )
    return _in_partition(house, kind, opening, surface, outlines)


def _in_partition(
    house: House, kind: str, opening: Door | Passage, surface: Surface, outlines: dict[str, Outline]
) -> Placed | Problem:
    outline = outlines[surface.room]
    k = outline.corners.index(surface.corners[0]) if surface.corners else 0
    start, end = outline.edge(k)
    along = (end - start) / np.hypot(*(end - start))
    low, bottom, high, top = surface.shape.bounds
    width = opening.width_m if opening.width_m is not None else high - low
    height = opening.height_m if opening.height_m is not None else top - bottom
    floor = max(bottom, *(house.floor_height_m(house.room_named(r)) for r in (surface.room, surface.other)))
    if width > high - low + 0.006 or floor + height > top + 0.006:
        return Problem(
            f"{kind}.{opening.id}",
            f"{show(width, 'length', house.units)} x {show(height, 'length', house.units)} does not fit the shared "
            f"wall {surface.id}, {show(high - low, 'length', house.units)} long and "
            f"{show(top - floor, 'length', house.units)} high",
            "an opening within its wall",
        )
    at = low + opening.at_m if opening.at_m is not None else 0.5 * (low + high - width)
    at = min(max(at, low), high - width)
    area = surface.area_m2 if isinstance(opening, Passage) and opening.kind == "loft-edge" else width * height
    return Placed(
        opening.id,
        kind,
        surface.id,
        min(area, surface.area_m2),
        tuple(start + along * at),
        tuple(start + along * (at + width)),
        floor,
        floor + height,
    )


def overlapping(placed: list[Placed], shapes: dict[str, Polygon]) -> list[Problem]:
    """Openings that lie over one another on one wall."""
    problems = []
    boxes = [(p, _plan_box(p)) for p in placed]
    for i, (one, box_one) in enumerate(boxes):
        for two, box_two in boxes[i + 1 :]:
            if one.surface == two.surface and one.surface in shapes and box_one.intersection(box_two).area > 1e-4:
                problems.append(
                    Problem(
                        f"{one.kind}.{one.id}",
                        f"lies over {two.kind} {two.id} on wall {one.surface}",
                        "openings side by side or above one another",
                        "Check at, sill, width and height of both",
                    )
                )
    return problems


def _plan_box(placed: Placed) -> Polygon:
    """The opening in coordinates of its own line, so that two on one line can be compared."""
    (x0, y0), (x1, y1) = placed.start, placed.end
    length = math.hypot(x1 - x0, y1 - y0) or 1.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    if ux < -1e-9 or (abs(ux) < 1e-9 and uy < 0):
        ux, uy = -ux, -uy
    s0, s1 = sorted((x0 * ux + y0 * uy, x1 * ux + y1 * uy))
    return box(s0, placed.sill_m, s1, placed.head_m)
