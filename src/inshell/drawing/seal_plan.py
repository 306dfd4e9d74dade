"""The seal list on the plan: a numbered mark at every joint and opening of each level."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import Point

from inshell.drawing.labels import MARK_MM, label
from inshell.drawing.plan import Drawing, bare_plans, north_and_scale
from inshell.house.geometry import Geometry
from inshell.house.model.house import House

APART_M, TURNS = 0.55, 10


@dataclass(frozen=True)
class SealMark:
    """One mark: its number, the room it belongs to, where it is on the plan."""

    number: int
    room: str
    at: tuple[float, float]


def draw_seals(house: House, geometry: Geometry, marks: list[SealMark]) -> list[Drawing]:
    """One plan a level; marks that would cover one another stand a step apart."""
    plans = []
    for title, scale, level, page, taken in bare_plans(house, geometry):
        placed: list[tuple[float, float]] = []
        for mark in sorted((m for m in marks if m.room in level.rooms), key=lambda m: m.number):
            at = _free(mark.at, placed)
            placed.append(at)
            page.mark(at, mark.number)
        marks_here = [Point(*at).buffer(MARK_MM * page.ratio / 1000.0) for at in placed]
        for outline in level.outlines:
            name = house.room_named(outline.owner).name or outline.owner
            label(page, outline.polygon, [name], taken + marks_here)
        north_and_scale(page, house, scale)
        heading = f"Seals, {title.lower()}"
        plans.append(Drawing(heading, page.svg(f"{heading}, {house.name}"), scale))
    return plans


def _free(at: tuple[float, float], placed: list[tuple[float, float]]) -> tuple[float, float]:
    """The place itself, else the nearest on rings round it that no mark covers."""
    for ring in range(8):
        for turn in range(TURNS if ring else 1):
            angle = 2.0 * math.pi * turn / TURNS
            spot = (at[0] + ring * APART_M * math.cos(angle), at[1] + ring * APART_M * math.sin(angle))
            if all(math.dist(spot, other) >= APART_M for other in placed):
                return spot
    return at
