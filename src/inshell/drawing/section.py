"""A section through the house: what the columns over the plan look like along one line."""

from __future__ import annotations

import numpy as np
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union

from inshell.drawing.paper import Sheet, scale_for
from inshell.drawing.plan import Drawing
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.units import show

PAPER_MM = (150.0, 90.0)


def draw_section(house: House, geometry: Geometry) -> Drawing:
    """A section along the fall of the roof, through the tallest part of the house (and a loft where there is one)."""
    origin, along, name = _cut(house, geometry)
    pieces = _pieces(geometry, origin, along)
    inside = unary_union(
        [shape.buffer(1e-4, join_style="mitre") for shapes in pieces.values() for shape in shapes]
    ).simplify(2e-3)
    shell = next(a.total_thickness_m for a in house.assembly if a.id == house.enclosure.wall)
    x0, z0, x1, z1 = inside.bounds
    bounds = (x0 - 2 * shell - 0.6, z0 - 0.6, x1 + 2 * shell + 0.6, z1 + 2 * shell)
    ratio, scale = scale_for(bounds[2] - bounds[0], bounds[3] - bounds[1], paper_mm=PAPER_MM, system=house.units)
    sheet = Sheet(bounds, ratio)
    if any(s.other == "ground" for s in geometry.surfaces):
        sheet.area(box(bounds[0], z0 - 0.6, bounds[2], z0 - 0.1), "ground")
    sheet.area(inside.buffer(shell, join_style="mitre").difference(inside), "wall")
    sheet.area(inside, "room")
    _rooms(sheet, house, pieces)
    _heights(sheet, house, (x0 - 2 * shell, z0, z1))
    title = f"Section {name}"
    return Drawing(title, sheet.svg(f"{title}, {house.name}"), scale)


def _cut(house: House, geometry: Geometry) -> tuple[np.ndarray, np.ndarray, str]:
    """A point, a direction and a name of the line of the section."""
    lofts = [o for o in geometry.outlines if o.is_room and house.room_named(o.owner).use == "loft"]
    tallest = max(geometry.spaces, key=lambda space: space.highest_m).room
    shape = lofts[0].polygon if lofts else next(o.polygon for o in geometry.outlines if o.owner == tallest)
    origin = np.array(shape.representative_point().coords[0])
    sloped = [p.plane for p in geometry.pieces if not p.plane.is_flat]
    if not sloped:
        x0, y0, x1, y1 = unary_union([o.polygon for o in geometry.outlines if o.is_room]).bounds
        return origin, np.array([0.0, 1.0]) if y1 - y0 < x1 - x0 else np.array([1.0, 0.0]), "across the house"
    fall = np.array([sloped[0].a, sloped[0].b])
    fall = fall / np.hypot(*fall)
    if fall[0] < -1e-9 or (abs(fall[0]) < 1e-9 and fall[1] < 0):
        fall = -fall
    return origin, fall, "along the fall of the roof"


def _pieces(geometry: Geometry, origin: np.ndarray, along: np.ndarray) -> dict[str, list[Polygon]]:
    """For each room, its polygons in the plane of the section."""
    line = LineString([origin - along * 500.0, origin + along * 500.0])
    pieces: dict[str, list[Polygon]] = {}
    for face in geometry.arrangement.faces:
        cut = face.polygon.intersection(line)
        for part in [cut] if isinstance(cut, LineString) else list(getattr(cut, "geoms", [])):
            if part.is_empty or part.length < 1e-4:
                continue
            a, b = (np.array(p) for p in (part.coords[0], part.coords[-1]))
            sa, sb = float(along @ (a - origin)), float(along @ (b - origin))
            for column in face.stack:
                shape = Polygon(
                    [
                        (sa, column.bottom.z(a)),
                        (sb, column.bottom.z(b)),
                        (sb, column.net_top.z(b)),
                        (sa, column.net_top.z(a)),
                    ]
                )
                pieces.setdefault(column.owner, []).append(shape.buffer(0))
    return pieces


def _rooms(sheet: Sheet, house: House, pieces: dict[str, list[Polygon]]) -> None:
    names = {room.id: room.name or room.id for room in house.room} | {b.id: b.name or b.id for b in house.buffer}
    half = 0.5 * house.enclosure.partition_thickness_m
    rooms = {
        owner: unary_union([s.buffer(1e-5, join_style="mitre") for s in shapes]) for owner, shapes in pieces.items()
    }
    everything = unary_union(list(rooms.values()))
    for owner, shape in rooms.items():
        others = unary_union([s for name, s in rooms.items() if name != owner]) if len(rooms) > 1 else Polygon()
        shared = shape.boundary.intersection(others.buffer(0.01))
        if not shared.is_empty:
            sheet.area(shared.buffer(half, cap_style="square", join_style="mitre").intersection(everything), "wall")
    for owner, shape in rooms.items():
        at = shape.representative_point()
        x, y = sheet.mm((at.x, at.y))
        if (shape.bounds[2] - shape.bounds[0]) * 1000.0 / sheet.ratio > len(names[owner]) * 1.7:
            sheet.text_mm((x, y), names[owner], "note")


def _heights(sheet: Sheet, house: House, where: tuple[float, float, float]) -> None:
    """The inside height from the lowest floor to the highest point."""
    x, z0, z1 = where
    (xa, ya), (_, yb) = sheet.mm((x, z0)), sheet.mm((x, z1))
    sheet.line_mm([(xa, ya), (xa, yb)], "thin")
    for y in (ya, yb):
        sheet.line_mm([(xa - 0.8, y + 0.8), (xa + 0.8, y - 0.8)], "thin")
    sheet.text_mm((xa - 0.9, 0.5 * (ya + yb)), show(z1 - z0, "length", house.units), "dim", turn=-90.0)
