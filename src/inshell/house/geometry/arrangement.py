"""The plan cut into faces over which every floor and ceiling is one plane: the source of areas and volumes."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

import numpy as np
from shapely import get_coordinates, polygonize, union_all
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.prepared import prep

from inshell.house.geometry.outlines import Outline
from inshell.house.geometry.planes import Plane, RoofPiece, flat
from inshell.house.model.house import House
from inshell.physics.types import Floats

GRID_M = 1e-6
CAVITY_M = 0.7


@dataclass(frozen=True)
class Column:
    """One room over one face: from its floor to its ceiling.

    `top` reaches to the floor of the room above where only a floor structure lies between; `net_top` is the
    ceiling that a person sees.
    """

    owner: str
    bottom: Plane
    top: Plane
    net_top: Plane


@dataclass
class Face:
    """A face of the plan with the columns over it, lowest first."""

    polygon: Polygon
    stack: list[Column] = field(default_factory=list)

    @property
    def centre(self) -> tuple[float, float]:
        """Centroid: the height of a plane there times the area is the exact integral."""
        point = self.polygon.centroid
        return point.x, point.y


@dataclass(frozen=True)
class Segment:
    """A side between two faces (or a face and nothing), with the stack on either hand."""

    start: Floats
    end: Floats
    left: tuple[Column, ...]
    right: tuple[Column, ...]


@dataclass
class Arrangement:
    """Faces and the segments between them."""

    faces: list[Face]
    segments: list[Segment]


def arrange(house: House, outlines: list[Outline], pieces: list[RoofPiece]) -> Arrangement:
    """Cut the plan along outlines, roof lines and heights where planes meet floors and collars."""
    lines: list[BaseGeometry] = [outline.polygon.exterior for outline in outlines]
    covered = unary_union([o.polygon for o in outlines if o.is_room and house.room_named(o.owner).ceiling == "roof"])
    for piece in pieces:
        lines.append(piece.region.boundary.intersection(covered))
        lines += [line.intersection(covered) for line in _level_lines(house, piece)]
    noded = union_all([line for line in lines if not line.is_empty], grid_size=GRID_M)
    polygons = [p for p in polygonize([noded]).geoms if p.area > 1e-8]
    prepared = [(outline, prep(outline.polygon)) for outline in outlines]
    faces = [Face(polygon) for polygon in polygons]
    for face in faces:
        inside = face.polygon.representative_point()
        face.stack = _stack(house, [o for o, shape in prepared if shape.contains(inside)], inside, pieces)
    faces = [face for face in faces if face.stack]
    return Arrangement(faces, _segments(faces))


def _level_lines(house: House, piece: RoofPiece) -> list[LineString]:
    """Plan lines on which a roof plane meets the floor or the collar of a room."""
    plane = piece.plane
    slope2 = plane.a**2 + plane.b**2
    if slope2 < 1e-12:
        return []
    levels = set()
    for room in house.room:
        if room.ceiling == "roof":
            floor = house.floor_height_m(room)
            levels |= {floor} | ({floor + room.collar_m} if room.collar_m else set())
    along = np.array([-plane.b, plane.a]) / np.sqrt(slope2)
    lines = []
    for z in levels:
        foot = np.array([plane.a, plane.b]) * (z - plane.c) / slope2
        line = LineString([foot - along * 5e3, foot + along * 5e3]).intersection(piece.region)
        if not line.is_empty:
            lines.append(line)
    return lines


def _stack(house: House, here: list[Outline], inside: Point, pieces: list[RoofPiece]) -> list[Column]:
    columns = []
    for outline in here:
        if outline.is_room:
            room = house.room_named(outline.owner)
            bottom = flat(house.floor_height_m(room))
            top = _ceiling(room.ceiling, room.collar_m, bottom, inside, pieces)
        else:
            buffer = next(b for b in house.buffer if b.id == outline.owner)
            bottom, top = flat(buffer.floor_height_m), flat(buffer.floor_height_m + buffer.height_m)
        if top is not None and top.z((inside.x, inside.y)) > bottom.c + 1e-6:
            columns.append(Column(outline.owner, bottom, top, top))
    columns.sort(key=lambda column: column.bottom.c)
    return _closed(columns, (inside.x, inside.y))


def _ceiling(
    ceiling: float | str, collar: float | None, bottom: Plane, inside: Point, pieces: list[RoofPiece]
) -> Plane | None:
    if ceiling != "roof":
        return flat(bottom.c + float(ceiling), "ceiling")
    plane = next((p.plane for p in pieces if p.region.covers(inside)), None)
    if plane is not None and collar is not None and plane.z((inside.x, inside.y)) > bottom.c + collar:
        return flat(bottom.c + collar, "collar")
    return plane


def _closed(columns: list[Column], at: tuple[float, float]) -> list[Column]:
    """Columns cut at the floor above, or reached up to it across the floor's structure."""
    closed = []
    for low, high in zip(columns, [*columns[1:], None][: len(columns)], strict=True):
        column = low
        if high is not None:
            gap = high.bottom.c - low.top.z(at)
            if gap < 0.0:
                column = Column(low.owner, low.bottom, high.bottom, high.bottom)
            elif gap < CAVITY_M:
                column = Column(low.owner, low.bottom, high.bottom, low.top)
        closed.append(column)
    return closed


def _segments(faces: list[Face]) -> list[Segment]:
    sides: dict[tuple[tuple[int, int], tuple[int, int]], list[tuple[Floats, Floats, int]]] = {}
    for k, face in enumerate(faces):
        oriented = Polygon(face.polygon.exterior, face.polygon.interiors).normalize()
        for ring in (oriented.exterior, *oriented.interiors):
            points = get_coordinates(ring)
            for start, end in itertools.pairwise(points):
                key = tuple(sorted((_key(start), _key(end))))
                sides.setdefault(key, []).append((start, end, k))  # type: ignore[arg-type]
    segments = []
    for uses in sides.values():
        start, end, _ = uses[0]
        left: tuple[Column, ...] = ()
        right: tuple[Column, ...] = ()
        for _, _, k in uses:
            if _is_left(faces[k].polygon, start, end):
                left = tuple(faces[k].stack)
            else:
                right = tuple(faces[k].stack)
        segments.append(Segment(start, end, left, right))
    return segments


def _key(point: Floats) -> tuple[int, int]:
    return round(float(point[0]) / GRID_M), round(float(point[1]) / GRID_M)


def _is_left(polygon: Polygon, start: Floats, end: Floats) -> bool:
    along = (end - start) / np.hypot(*(end - start))
    probe = 0.5 * (start + end) + np.array([-along[1], along[0]]) * 2e-5
    return bool(polygon.covers(Point(probe)))
