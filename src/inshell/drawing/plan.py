"""The plan of one level: rooms, walls, doors, windows, devices, dimensions, north, scale bar."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.drawing.dimensions import draw_dimensions, wall_m
from inshell.drawing.paper import Sheet, scale_for
from inshell.house.geometry import Geometry
from inshell.house.geometry.outlines import Outline
from inshell.house.geometry.walls import Placed
from inshell.house.model.house import House
from inshell.units import show

PAPER_MM = (150.0, 190.0)
SMALL_M2 = 5.0
DEVICE_TABLES = (
    "fan",
    "ventilator",
    "transfer_fan",
    "hood",
    "dryer",
    "head",
    "heater",
    "outdoor_unit",
    "manifold",
    "water_heater",
    "appliance",
)


Numbered = tuple[int, str, str | None, tuple[float, float] | None]


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
    levels = levels_of(house)
    numbers = _numbers(house)
    sheet, scale = _empty_sheet(house, geometry)
    plans = []
    for k, (height, rooms) in enumerate(levels):
        title = "Plan" if len(levels) == 1 else f"Plan, level at {show(height, 'length', house.units)}"
        level = Sheet(sheet.bounds, sheet.ratio)
        legend = _plan(level, house, geometry, rooms, numbers, is_lowest=k == 0)
        _north_and_scale(level, house, scale)
        plans.append(Drawing(title, level.svg(f"{title}, {house.name}"), scale, tuple(legend)))
    return plans


def _empty_sheet(house: House, geometry: Geometry) -> tuple[Sheet, str]:
    """One sheet size and scale for all levels."""
    spots = [Point(*spot).buffer(0.3) for _, _, _, spot in _numbers(house) if spot]
    x0, y0, x1, y1 = unary_union([*(o.polygon for o in geometry.outlines), *spots]).bounds
    room_for = 1.5 * wall_m(house)
    bounds = (x0 - room_for, y0 - room_for, x1 + room_for, y1 + room_for)
    ratio, scale = scale_for(bounds[2] - bounds[0], bounds[3] - bounds[1], paper_mm=PAPER_MM, system=house.units)
    return Sheet(bounds, ratio), scale


def _numbers(house: House) -> list[Numbered]:
    """(number, name, room, place) of every device that the plan shows."""
    rows: list[Numbered] = []
    for table in DEVICE_TABLES:
        for item in getattr(house, table):
            room = getattr(item, "room", None) or getattr(item, "to_room", None)
            spot = (item.position.x_m, item.position.y_m) if item.position else None
            rows.append((len(rows) + 1, item.name or item.id, room, spot))
    return rows


def _plan(
    sheet: Sheet, house: House, geometry: Geometry, rooms: list[str], numbers: list[Numbered], *, is_lowest: bool
) -> list[tuple[int, str]]:
    outlines = [o for o in geometry.outlines if o.owner in rooms]
    inside = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in outlines])
    if is_lowest:
        for buffer in (o for o in geometry.outlines if not o.is_room):
            sheet.area(buffer.polygon, "buffer")
            _label(sheet, buffer.polygon, [next(b.name or b.id for b in house.buffer if b.id == buffer.owner)])
    else:
        whole = unary_union([o.polygon.buffer(1e-4, join_style="mitre") for o in geometry.outlines if o.is_room])
        for polygon in [whole] if isinstance(whole, Polygon) else whole.geoms:
            sheet.line(list(polygon.exterior.coords), "dash")
    _walls(sheet, house, geometry, outlines, inside)
    _openings(sheet, house, geometry, set(rooms), wall_m(house))
    legend = _devices(sheet, outlines, set(rooms), numbers, is_lowest=is_lowest)
    _room_labels(sheet, house, geometry, outlines)
    draw_dimensions(sheet, house, np.concatenate([o.points for o in outlines]), inside)
    return legend


def _walls(sheet: Sheet, house: House, geometry: Geometry, outlines: list[Outline], inside: BaseGeometry) -> None:
    """Outer walls where the level has some, partitions on their centre-lines, loft edges dashed."""
    wall, half = wall_m(house), 0.5 * house.enclosure.partition_thickness_m
    here = {o.owner for o in outlines}
    mine = [s for s in geometry.surfaces if {s.room, s.other} & here and s.ends is not None]
    outer = unary_union(
        [LineString(s.ends).buffer(1.05 * wall, cap_style="square") for s in mine if s.kind == "wall" and s.ends]
    )
    sheet.area(inside.buffer(wall, join_style="mitre").difference(inside).intersection(outer), "wall")
    sheet.area(inside, "room")
    open_edges = [set(p.between) for p in house.passage if p.kind == "loft-edge"]
    for surface in (s for s in mine if s.kind == "partition"):
        line = LineString(surface.ends or ())
        if {surface.room, surface.other} in open_edges:
            sheet.line(list(surface.ends or ()), "dash")
        elif {surface.room, surface.other} <= here:
            sheet.area(line.buffer(half, cap_style="square").intersection(inside), "wall")
        else:
            sheet.area(line.buffer(half, cap_style="flat"), "wall")


def _openings(sheet: Sheet, house: House, geometry: Geometry, rooms: set[str], wall: float) -> None:
    surfaces = {s.id: s for s in geometry.surfaces}
    doors = {d.id: d for d in house.door}
    for placed in geometry.openings:
        surface = surfaces[placed.surface]
        if surface.room not in rooms or surface.tilt_deg != 90.0 or placed.start == placed.end:
            continue
        outer = surface.is_outer
        start, end = np.array(placed.start), np.array(placed.end)
        along = (end - start) / np.hypot(*(end - start))
        out = np.array([along[1], -along[0]])
        half = 0.5 * house.enclosure.partition_thickness_m
        depth = (0.0, wall) if outer else (-half, half)
        corners = [start + out * depth[0], end + out * depth[0], end + out * depth[1], start + out * depth[1]]
        high_up = placed.kind == "window" and placed.sill_m > surface.low_m + 2.2
        sheet.area(Polygon(corners).buffer(0.002), "gap")
        if placed.kind == "window":
            _window(sheet, corners, dashed=high_up)
        elif placed.kind == "door":
            _door(sheet, placed, along, out * (-1.0 if outer else 1.0), left=doors[placed.id].hinge == "left")


def _window(sheet: Sheet, corners: list[np.ndarray], *, dashed: bool) -> None:
    style = "dash" if dashed else "glass"
    a, b, c, d = corners
    sheet.line([tuple(a), tuple(b)], style)
    sheet.line([tuple(d), tuple(c)], style)
    sheet.line([tuple(0.5 * (a + d)), tuple(0.5 * (b + c))], style)


def _door(sheet: Sheet, placed: Placed, along: np.ndarray, swing: np.ndarray, *, left: bool) -> None:
    start, end = np.array(placed.start), np.array(placed.end)
    hinge, run = (start, along) if left else (end, -along)
    width = float(np.hypot(*(end - start)))
    arc = [hinge + width * (run * math.cos(t) + swing * math.sin(t)) for t in np.linspace(0.0, math.pi / 2.0, 13)]
    sheet.line([tuple(hinge), tuple(arc[-1])], "leaf")
    sheet.line([tuple(p) for p in arc], "thin")


def _label(sheet: Sheet, polygon: BaseGeometry, lines: list[str]) -> None:
    """Name and notes in the middle of a room; long lines shrink away before they cross a wall."""
    at = polygon.representative_point() if not polygon.contains(polygon.centroid) else polygon.centroid
    x, y = sheet.mm((at.x, at.y))
    width = (polygon.bounds[2] - polygon.bounds[0]) * 1000.0 / sheet.ratio - 3.0
    fitting = [line for k, line in enumerate(lines) if len(line) * (2.0 if k == 0 else 1.55) <= width] or lines[:1]
    y -= 1.8 * (len(fitting) - 1)
    for line in fitting:
        sheet.text_mm((x, y), line, "name" if line == lines[0] else "note")
        y += 3.6


def _room_labels(sheet: Sheet, house: House, geometry: Geometry, outlines: list[Outline]) -> None:
    for outline in outlines:
        room, space = house.room_named(outline.owner), geometry.space(outline.owner)
        x0, y0, x1, y1 = outline.polygon.bounds
        lines = [room.name or room.id, show(space.net_floor_m2, "area", house.units)]
        if outline.polygon.area < SMALL_M2:
            _label(sheet, outline.polygon, lines[:1])
            continue
        if abs(outline.polygon.area - (x1 - x0) * (y1 - y0)) < 0.01:
            lines.append(f"{show(x1 - x0, 'length', house.units)} × {show(y1 - y0, 'length', house.units)}")
        tubes = [c.name or c.id for c in house.circuit if room.id in c.rooms]
        if tubes:
            lines.append("tubes: " + ", ".join(tubes))
        if room.ceiling == "roof":
            lines.append("open to the roof")
        else:
            lines.append(f"ceiling {show(float(room.ceiling), 'length', house.units)}")
        _label(sheet, outline.polygon, lines)


def _devices(
    sheet: Sheet, outlines: list[Outline], rooms: set[str], numbers: list[Numbered], *, is_lowest: bool
) -> list[tuple[int, str]]:
    by_owner = {o.owner: o.polygon for o in outlines}
    legend, without_place = [], dict.fromkeys(rooms, 0)
    for number, name, room, spot in numbers:
        at = spot
        if (room is None and not is_lowest) or (room is not None and room not in rooms):
            continue
        if at is None and room is not None:
            at = _along_the_wall(by_owner[room], without_place[room])
            without_place[room] += 1
        x0, y0, x1, y1 = sheet.bounds
        if at is not None:
            sheet.mark((min(max(at[0], x0), x1), min(max(at[1], y0), y1)), number)
        legend.append((number, name))
    return legend


def _along_the_wall(room: Polygon, k: int) -> tuple[float, float]:
    """A spot inside a room for the k-th device whose place is not given: in a row along its walls."""
    ring = room.buffer(-0.3, join_style="mitre")
    if ring.is_empty or not isinstance(ring, Polygon):
        ring = room.buffer(-0.05)
    line = ring.exterior if isinstance(ring, Polygon) and not ring.is_empty else room.exterior
    point = line.interpolate((0.45 * k) % line.length)
    return point.x, point.y


def _north_and_scale(sheet: Sheet, house: House, scale: str) -> None:
    width, height = sheet.size_mm
    x, y, angle = width - 7.0, 8.0, -math.radians(house.site.plan_north_deg)
    tip = (x + 5.0 * math.sin(angle), y - 5.0 * math.cos(angle))
    tail = (x - 4.0 * math.sin(angle), y + 4.0 * math.cos(angle))
    wing = (x + 1.6 * math.sin(angle + 2.4), y - 1.6 * math.cos(angle + 2.4))
    sheet.line_mm([tail, tip, wing], "glass")
    sheet.text_mm((tip[0], tip[1] - 0.6), "N", "dim")
    unit, label = (0.3048 * 4, "4 ft") if house.units == "us" else (1.0, "1 m")
    length = unit * 1000.0 / sheet.ratio
    sheet.line_mm(
        [(4.0, height - 2.0), (4.0, height - 3.2), (4.0 + length, height - 3.2), (4.0 + length, height - 2.0)], "thin"
    )
    sheet.text_mm((4.0 + length + 1.5, height - 2.0), f"{label}   {scale} printed at full size", "left")
