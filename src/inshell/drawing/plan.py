"""The plan of one level: rooms, walls, doors, windows, devices, dimensions, north, scale bar."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely import line_merge
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.drawing.dimensions import draw_dimensions, wall_m, write_along
from inshell.drawing.labels import MARK_MM, Numbered, draw_devices, label, label_rooms, numbers_of
from inshell.drawing.paper import Sheet, scale_for
from inshell.house.geometry import Geometry
from inshell.house.geometry.outlines import Outline
from inshell.house.geometry.surfaces import Surface
from inshell.house.geometry.walls import Placed
from inshell.house.model.house import House
from inshell.units import show

PAPER_MM = (150.0, 190.0)
BEYOND_M = 0.35


@dataclass(frozen=True)
class Drawing:
    """A finished drawing with its title, scale and the legend of its numbers."""

    title: str
    svg: str
    scale: str
    legend: tuple[tuple[int, str], ...] = ()


def levels_of(house: House) -> list[tuple[float, list[str]]]:
    """Rooms by floor height, lowest level first; steps under 0.6 m share a plan."""
    levels: list[tuple[float, list[str]]] = []
    for room in sorted(house.room, key=house.floor_height_m):
        height = house.floor_height_m(room)
        if levels and height - levels[-1][0] < 0.6:
            levels[-1][1].append(room.id)
        else:
            levels.append((height, [room.id]))
    return levels


def draw_plans(house: House, geometry: Geometry) -> list[Drawing]:
    """One plan a level."""
    numbers = numbers_of(house)
    sheet, scale = empty_sheet(house, geometry)
    plans: list[Drawing] = []
    for title, level in levels_shown(house, geometry):
        page = Sheet(sheet.bounds, sheet.ratio)
        legend = _plan(page, level, numbers, is_lowest=not plans)
        north_and_scale(page, house, scale)
        plans.append(Drawing(title, page.svg(f"{title}, {house.name}"), scale, tuple(legend)))
    return plans


def bare_plans(house: House, geometry: Geometry) -> Iterator[tuple[str, str, Level, Sheet, list[BaseGeometry]]]:
    """(title, scale, level, page, covered floor) of each level with its walls and openings alone, lowest first."""
    sheet, scale = empty_sheet(house, geometry)
    for title, level in levels_shown(house, geometry):
        page = Sheet(sheet.bounds, sheet.ratio)
        inside = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in level.outlines])
        draw_walls(page, level, inside)
        yield title, scale, level, page, list(draw_openings(page, level, wall_m(house)))


def levels_shown(house: House, geometry: Geometry) -> list[tuple[str, Level]]:
    """(title, level) of each plan, lowest first."""
    levels = levels_of(house)
    tops = [height for height, _ in levels[1:]] + [math.inf]
    return [
        (
            "Plan" if len(levels) == 1 else f"Plan, level at {show(height, 'length', house.units)}",
            Level(house, geometry, frozenset(rooms), -math.inf if k == 0 else height - 0.3, tops[k] - 0.3),
        )
        for k, (height, rooms) in enumerate(levels)
    ]


def empty_sheet(house: House, geometry: Geometry) -> tuple[Sheet, str]:
    """One sheet size and scale for all levels."""
    spots = [Point(*spot).buffer(0.3) for _, _, _, spot in numbers_of(house) if spot]
    shapes = unary_union([o.polygon for o in geometry.outlines])
    near = shapes.buffer(4.0)  # what stands further away is marked on the edge of the sheet
    x0, y0, x1, y1 = unary_union([shapes, *(spot for spot in spots if near.intersects(spot))]).bounds
    room_for = 1.5 * wall_m(house) + (BEYOND_M if _behind_walls(house) else 0.0)
    bounds = (x0 - room_for, y0 - room_for, x1 + room_for, y1 + room_for)
    ratio, scale = scale_for(bounds[2] - bounds[0], bounds[3] - bounds[1], paper_mm=PAPER_MM, system=house.units)
    return Sheet(bounds, ratio), scale


def _behind_walls(house: House) -> dict[str, str]:
    """Names of the neighbours that are known by the walls that face them alone."""
    return {b.id: b.name or b.id for b in house.buffer if b.walls and not b.outline}


@dataclass(frozen=True)
class Level:
    """What the plan of one level shows: its rooms, and what stands up from their floors."""

    house: House
    geometry: Geometry
    rooms: frozenset[str]
    low_m: float
    high_m: float

    @property
    def outlines(self) -> list[Outline]:
        """Outlines of its rooms."""
        return [o for o in self.geometry.outlines if o.owner in self.rooms]

    def stands_here(self, surface: Surface) -> bool:
        """Whether a wall belongs to this plan: an outer wall of its rooms, or a partition that begins on its floor."""
        if surface.ends is None:
            return False
        if surface.is_outer:
            return surface.room in self.rooms
        return bool({surface.room, surface.other} & self.rooms) and self.low_m <= surface.low_m < self.high_m

    def walls(self) -> list[Surface]:
        """Every wall that stands on the level."""
        return [s for s in self.geometry.surfaces if self.stands_here(s)]


def _plan(sheet: Sheet, level: Level, numbers: list[Numbered], *, is_lowest: bool) -> list[tuple[int, str]]:
    house, geometry = level.house, level.geometry
    outlines, wall = level.outlines, wall_m(house)
    inside = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in outlines])
    if is_lowest:
        for buffer in (o for o in geometry.outlines if not o.is_room):
            sheet.area(buffer.polygon, "buffer")
            label(sheet, buffer.polygon, [next(b.name or b.id for b in house.buffer if b.id == buffer.owner)], [])
    else:
        whole = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in geometry.outlines if o.is_room])
        for polygon in [whole] if isinstance(whole, Polygon) else whole.geoms:
            sheet.line(list(polygon.exterior.coords), "dash")
    beyond = _neighbours(sheet, level, wall)
    partitions = draw_walls(sheet, level, inside)
    taken = draw_openings(sheet, level, wall)
    marks = [Point(*spot).buffer(MARK_MM * sheet.ratio / 1000.0) for _, _, _, spot in numbers if spot]
    legend = draw_devices(sheet, house, set(level.rooms), numbers, is_lowest=is_lowest)
    label_rooms(sheet, house, geometry, outlines, partitions=partitions, obstacles=taken + marks)
    draw_dimensions(sheet, house, np.concatenate([o.points for o in outlines]), inside, beyond_m=beyond)
    return legend


def _neighbours(sheet: Sheet, level: Level, wall: float) -> float:
    """A strip with the name of the neighbour along each wall that faces one; returns how deep the strips are."""
    names = _behind_walls(level.house)
    strips: dict[tuple[str, int], list[BaseGeometry]] = {}
    for surface in level.walls():
        if surface.other in names and surface.ends:
            strips.setdefault((surface.other, round(surface.azimuth_deg)), []).append(LineString(surface.ends))
    inside = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in level.outlines])
    for (other, _), lines in strips.items():
        deep = unary_union(lines).buffer(wall + BEYOND_M, cap_style="flat", join_style="mitre")
        sheet.area(deep.difference(inside.buffer(wall, join_style="mitre")), "buffer")
        start, end = max((line.coords for line in lines), key=lambda ends: math.dist(ends[0], ends[1]))
        write_along(sheet, np.array(end), np.array(start), names[other], away_m=wall + 0.5 * BEYOND_M)
    return BEYOND_M if strips else 0.0


def draw_walls(sheet: Sheet, level: Level, inside: BaseGeometry) -> BaseGeometry:
    """Outer walls where the level has some, partitions on their centre-lines, loft edges dashed."""
    wall, half = wall_m(level.house), 0.5 * level.house.enclosure.partition_thickness_m
    mine = level.walls()
    lines = unary_union([LineString(np.round(s.ends, 5)) for s in mine if s.kind == "wall" and s.ends])
    merged = lines if isinstance(lines, LineString) else line_merge(lines)
    outer = merged.buffer(1.05 * wall, cap_style="flat", join_style="mitre")
    sheet.area(inside.buffer(wall, join_style="mitre").difference(inside).intersection(outer), "wall")
    sheet.area(inside, "room")
    open_edges = [set(p.between) for p in level.house.passage if p.kind == "loft-edge"]
    partitions: list[BaseGeometry] = []
    for surface in (s for s in mine if s.kind == "partition"):
        line = LineString(surface.ends or ())
        if {surface.room, surface.other} in open_edges:
            sheet.line(list(surface.ends or ()), "dash")
        elif {surface.room, surface.other} <= level.rooms:
            partitions.append(line.buffer(half, cap_style="square").intersection(inside))
        else:
            partitions.append(line.buffer(half, cap_style="flat"))
    for partition in partitions:
        sheet.area(partition, "wall")
    return unary_union(partitions)


def draw_openings(sheet: Sheet, level: Level, wall: float) -> list[BaseGeometry]:
    """Doors, windows and cased openings of the level; returns the floor that doors swing over."""
    surfaces = {s.id: s for s in level.walls()}
    doors = {d.id: d for d in level.house.door}
    swept: list[BaseGeometry] = []
    edges = {p.id for p in level.house.passage if p.kind == "loft-edge"}
    for placed in level.geometry.openings:
        surface = surfaces.get(placed.surface)
        if surface is None or surface.tilt_deg != 90.0 or placed.start == placed.end or placed.id in edges:
            continue
        start, end = np.array(placed.start), np.array(placed.end)
        along = (end - start) / np.hypot(*(end - start))
        out = np.array([along[1], -along[0]])
        half = 0.5 * level.house.enclosure.partition_thickness_m
        depth = (0.0, wall) if surface.is_outer else (-half, half)
        corners = [start + out * depth[0], end + out * depth[0], end + out * depth[1], start + out * depth[1]]
        high_up = placed.kind == "window" and placed.sill_m > surface.low_m + 2.2
        sheet.area(Polygon(corners).buffer(0.002), "gap")
        if placed.kind == "window":
            _window(sheet, corners, dashed=high_up)
        elif placed.kind == "door":
            swing = out * (-1.0 if surface.is_outer else 1.0)
            swept.append(_door(sheet, placed, along, swing, left=doors[placed.id].hinge == "left"))
    return swept


def _window(sheet: Sheet, corners: list[np.ndarray], *, dashed: bool) -> None:
    style = "dash" if dashed else "glass"
    a, b, c, d = corners
    sheet.line([tuple(a), tuple(b)], style)
    sheet.line([tuple(d), tuple(c)], style)
    sheet.line([tuple(0.5 * (a + d)), tuple(0.5 * (b + c))], style)


def _door(sheet: Sheet, placed: Placed, along: np.ndarray, swing: np.ndarray, *, left: bool) -> Polygon:
    start, end = np.array(placed.start), np.array(placed.end)
    hinge, run = (start, along) if left else (end, -along)
    width = float(np.hypot(*(end - start)))
    arc = [hinge + width * (run * math.cos(t) + swing * math.sin(t)) for t in np.linspace(0.0, math.pi / 2.0, 13)]
    sheet.line([tuple(hinge), tuple(arc[-1])], "leaf")
    sheet.line([tuple(p) for p in arc], "thin")
    return Polygon([hinge, *arc])


def north_and_scale(sheet: Sheet, house: House, scale: str) -> None:
    """The arrow to true north, and a bar with its length and the scale."""
    width, height = sheet.size_mm
    x, y, angle = width - 7.0, 8.0, -math.radians(house.site.plan_north_deg)
    tip = (x + 5.0 * math.sin(angle), y - 5.0 * math.cos(angle))
    tail = (x - 4.0 * math.sin(angle), y + 4.0 * math.cos(angle))
    wing = (x + 1.6 * math.sin(angle + 2.4), y - 1.6 * math.cos(angle + 2.4))
    sheet.line_mm([tail, tip, wing], "glass")
    sheet.text_mm((tip[0], tip[1] - 0.6), "N", "dim")
    unit, mark = (0.3048 * 4, "4 ft") if house.units == "us" else (1.0, "1 m")
    length = unit * 1000.0 / sheet.ratio
    sheet.line_mm(
        [(4.0, height - 2.0), (4.0, height - 3.2), (4.0 + length, height - 3.2), (4.0 + length, height - 2.0)], "thin"
    )
    sheet.text_mm((4.0 + length + 1.5, height - 2.0), f"{mark} long; {scale} if printed at full size", "left")
