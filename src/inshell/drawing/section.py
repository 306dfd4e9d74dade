"""A section through the house: what the columns over the plan look like along one line."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.drawing.labels import NAME_MM, label
from inshell.drawing.paper import Sheet, scale_for
from inshell.drawing.plan import Drawing
from inshell.house.geometry import Geometry
from inshell.house.geometry.planes import Plane
from inshell.house.model.house import House
from inshell.units import show

PAPER_MM = (150.0, 90.0)


def draw_sections(house: House, geometry: Geometry) -> list[Drawing]:
    """One section along each fall of the roof, through the tallest part below it (and a loft where there is one)."""
    return [_section(house, geometry, *cut) for cut in _cuts(house, geometry)]


Cut = tuple[np.ndarray, np.ndarray, str]


def _section(house: House, geometry: Geometry, origin: np.ndarray, along: np.ndarray, name: str) -> Drawing:
    pieces, whole = _pieces(geometry, origin, along)
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
    _rooms(sheet, house, pieces, whole)
    _heights(sheet, house, (x0 - 2 * shell, z0, z1))
    title = f"Section {name}"
    return Drawing(title, sheet.svg(f"{title}, {house.name}"), scale)


def _cuts(house: House, geometry: Geometry) -> list[Cut]:
    """A point, a direction and a name of the line of each section; falls that are parallel share one."""
    sloped = [p for p in geometry.pieces if not p.plane.is_flat]
    lofts = [o.polygon for o in geometry.outlines if o.is_room and house.room_named(o.owner).use == "loft"]
    tallest = max(geometry.spaces, key=lambda space: space.highest_m).room
    main = lofts[0] if lofts else next(o.polygon for o in geometry.outlines if o.owner == tallest)
    origin = np.array(main.representative_point().coords[0])
    if not sloped:
        x0, y0, x1, y1 = unary_union([o.polygon for o in geometry.outlines if o.is_room]).bounds
        return [(origin, np.array([0.0, 1.0]) if y1 - y0 < x1 - x0 else np.array([1.0, 0.0]), "across the house")]
    cuts: list[Cut] = []
    for piece in sorted(sloped, key=lambda p: -p.region.area):
        fall = np.array([piece.plane.a, piece.plane.b])
        fall = fall / np.hypot(*fall)
        if fall[0] < -1e-9 or (abs(fall[0]) < 1e-9 and fall[1] < 0):
            fall = -fall
        if any(abs(float(fall @ along)) > 0.999 for _, along, _ in cuts):
            continue
        falling = unary_union([p.region for p in sloped if abs(float(fall @ [p.plane.b, -p.plane.a])) < 1e-9])
        at = origin if falling.covers(Point(*origin)) else np.array(falling.representative_point().coords[0])
        name = "along the fall of the roof" if not cuts else f"along the roof that falls along {_bearing(house, fall)}"
        cuts.append((at, fall, name))
    return cuts


def _bearing(house: House, fall: np.ndarray) -> str:
    angle = (math.degrees(math.atan2(fall[0], fall[1])) + house.site.plan_north_deg) % 180.0
    return f"{angle:.0f}° and {angle + 180.0:.0f}°"


def _pieces(geometry: Geometry, origin: np.ndarray, along: np.ndarray) -> tuple[dict[str, list[Polygon]], BaseGeometry]:
    """For each room its polygons in the plane of the section; and all of it, floors to ceilings."""
    line = LineString([origin - along * 500.0, origin + along * 500.0])
    pieces: dict[str, list[Polygon]] = {}
    full: list[Polygon] = []
    for face in geometry.arrangement.faces:
        cut = face.polygon.intersection(line)
        for part in [cut] if isinstance(cut, LineString) else list(getattr(cut, "geoms", [])):
            if part.is_empty or part.length < 1e-4:
                continue
            a, b = (np.array(p) for p in (part.coords[0], part.coords[-1]))
            sa, sb = float(along @ (a - origin)), float(along @ (b - origin))
            for column in face.stack:
                shape = _upright(sa, sb, column.bottom, column.net_top, a, b)
                pieces.setdefault(column.owner, []).append(shape)
            if face.stack:
                low, high = face.stack[0], face.stack[-1]
                full.append(_upright(sa, sb, low.bottom, high.net_top, a, b).buffer(1e-4, join_style="mitre"))
    return pieces, unary_union(full)


def _upright(sa: float, sb: float, low: Plane, high: Plane, a: np.ndarray, b: np.ndarray) -> Polygon:
    """What stands between two planes over the line from plan point a (at sa along the section) to b (at sb)."""
    return Polygon([(sa, low.z(a)), (sb, low.z(b)), (sb, high.z(b)), (sa, high.z(a))]).buffer(0)


def _rooms(sheet: Sheet, house: House, pieces: dict[str, list[Polygon]], whole: BaseGeometry) -> None:
    names = {room.id: room.name or room.id for room in house.room} | {b.id: b.name or b.id for b in house.buffer}
    half = 0.5 * house.enclosure.partition_thickness_m
    rooms = {
        owner: unary_union([s.buffer(1e-5, join_style="mitre") for s in shapes]) for owner, shapes in pieces.items()
    }
    shell = whole.boundary.buffer(0.01)
    for shape in rooms.values():
        between = shape.boundary.difference(shell)
        if not between.is_empty:
            sheet.area(between.buffer(half, cap_style="square", join_style="mitre").intersection(whole), "wall")
    taken: list[Polygon] = []
    for owner, shape in rooms.items():
        widest = max(shape.geoms, key=lambda part: part.area) if hasattr(shape, "geoms") else shape
        if (widest.bounds[2] - widest.bounds[0]) * 1000.0 / sheet.ratio > len(names[owner]) * NAME_MM:
            taken.append(label(sheet, widest, [names[owner]], list(taken)))


def _heights(sheet: Sheet, house: House, where: tuple[float, float, float]) -> None:
    """The inside height from the lowest floor to the highest point."""
    x, z0, z1 = where
    (xa, ya), (_, yb) = sheet.mm((x, z0)), sheet.mm((x, z1))
    sheet.line_mm([(xa, ya), (xa, yb)], "thin")
    for y in (ya, yb):
        sheet.line_mm([(xa - 0.8, y + 0.8), (xa + 0.8, y - 0.8)], "thin")
    sheet.text_mm((xa - 0.9, 0.5 * (ya + yb)), show(z1 - z0, "length", house.units), "dim", turn=-90.0)
