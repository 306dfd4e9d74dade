"""Geometry of a house: the one place where outlines, roofs and openings become surfaces and volumes."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from inshell.errors import InputRefused, Problem
from inshell.house.geometry.arrangement import Arrangement, arrange
from inshell.house.geometry.joints import Joint, edge_joints
from inshell.house.geometry.outlines import SNAP_EXTRA_M, Outline, outlines_of, overlap_problems, snap
from inshell.house.geometry.planes import RoofPiece, roof_pieces
from inshell.house.geometry.surfaces import Surface, level_surfaces, upright_surfaces, with_openings
from inshell.house.geometry.walls import Placed, overlapping, place_inner, place_outer
from inshell.house.model.house import House
from inshell.house.model.openings import Window


@dataclass(frozen=True)
class RoomSpace:
    """Floor areas and volumes of one room: to partition centre-lines, and net of partitions and structure."""

    room: str
    floor_m2: float
    net_floor_m2: float
    volume_m3: float
    net_volume_m3: float
    highest_m: float


@dataclass(frozen=True)
class Geometry:
    """Everything derived from the drawing of a house."""

    outlines: tuple[Outline, ...]
    arrangement: Arrangement
    pieces: tuple[RoofPiece, ...]
    surfaces: tuple[Surface, ...]
    openings: tuple[Placed, ...]
    joints: tuple[Joint, ...]
    spaces: tuple[RoomSpace, ...]

    @property
    def floor_m2(self) -> float:
        """Floor area inside the outer walls, partitions included."""
        return sum(space.floor_m2 for space in self.spaces)

    @property
    def volume_m3(self) -> float:
        """Volume inside the inner faces, partitions and floors between storeys included."""
        return sum(space.volume_m3 for space in self.spaces)

    @property
    def net_volume_m3(self) -> float:
        """Volume of the rooms alone."""
        return sum(space.net_volume_m3 for space in self.spaces)

    @property
    def enclosure_m2(self) -> float:
        """Area of the enclosure: everything with outdoors, ground or a buffer on its other side."""
        return sum(surface.area_m2 for surface in self.surfaces if surface.is_outer)

    @property
    def height_m(self) -> float:
        """From the lowest floor to the highest ceiling."""
        return max(s.high_m for s in self.surfaces) - min(s.low_m for s in self.surfaces)

    @property
    def lowest_m(self) -> float:
        """Height of the lowest floor above the datum."""
        return min(s.low_m for s in self.surfaces)

    def space(self, room: str) -> RoomSpace:
        """Areas and volumes of one room."""
        return next(space for space in self.spaces if space.room == room)

    def joint_m(self, kind: str) -> float:
        """Total length of joints of one kind."""
        return sum(joint.length_m for joint in self.joints if joint.kind == kind)


def derive(house: House) -> Geometry:
    """The geometry of a house; raises InputRefused with everything that is wrong with the drawing."""
    outlines, problems = outlines_of(house)
    if problems:
        raise InputRefused(problems)
    tolerance = house.enclosure.partition_thickness_m + SNAP_EXTRA_M
    outlines = snap(outlines, tolerance_m=tolerance)
    problems = _broken_by_snapping(outlines) or overlap_problems(house, outlines)
    roofed = unary_union([o.polygon for o in outlines if o.is_room and house.room_named(o.owner).ceiling == "roof"])
    pieces = roof_pieces(house.roof, roofed) if not roofed.is_empty else []
    problems += _uncovered(house, outlines, pieces)
    if problems:
        raise InputRefused(problems)
    arrangement = arrange(house, outlines, pieces)
    uprights = upright_surfaces(house, outlines, arrangement)
    surfaces = uprights + level_surfaces(house, arrangement)
    placed, problems = _place_all(house, outlines, surfaces)
    problems += _without_assembly(surfaces)
    if problems:
        raise InputRefused(problems)
    areas: dict[str, float] = {}
    for opening in placed:
        areas[opening.surface] = areas.get(opening.surface, 0.0) + opening.area_m2
    return Geometry(
        outlines=tuple(outlines),
        arrangement=arrangement,
        pieces=tuple(pieces),
        surfaces=tuple(with_openings(surfaces, areas)),
        openings=tuple(placed),
        joints=tuple(edge_joints(house, arrangement)),
        spaces=tuple(_spaces(house, outlines, arrangement, _solid(house, uprights))),
    )


def _broken_by_snapping(outlines: list[Outline]) -> list[Problem]:
    return [
        Problem(
            f"room.{o.owner}.outline",
            "folds over itself once its sides meet their neighbours'",
            "rooms wider than a partition",
            "Check the sizes of this room",
        )
        for o in outlines
        if not o.polygon.is_valid
    ]


def _uncovered(house: House, outlines: list[Outline], pieces: list[RoofPiece]) -> list[Problem]:
    if not house.roof and any(room.ceiling == "roof" for room in house.room):
        names = ", ".join(room.id for room in house.room if room.ceiling == "roof")
        return [Problem("roof", "no roof planes", f"a roof over {names}", "Add a [[roof]] with its planes")]
    problems = []
    for outline in outlines:
        if outline.is_room and house.room_named(outline.owner).ceiling == "roof":
            # summed piece by piece: the union of pieces that merely touch is not always right
            bare = outline.polygon.area - sum(outline.polygon.intersection(p.region).area for p in pieces)
            if bare > 0.01:
                problems.append(
                    Problem(
                        f"room.{outline.owner}.ceiling",
                        f"{bare:.2f} m2 of it lie under no roof plane",
                        "roof planes that cover the whole room",
                        "Widen the roof's outline or give a flat ceiling",
                    )
                )
            problems += _sunken(house, outline, pieces)
    return problems


def _sunken(house: House, outline: Outline, pieces: list[RoofPiece]) -> list[Problem]:
    """A room whose roof is nowhere above its floor, told by the heights that do it."""
    floor = house.floor_height_m(house.room_named(outline.owner))
    corners = list(outline.polygon.exterior.coords)
    highest = max((p.plane.z(c) - floor for p in pieces for c in corners if p.region.covers(Point(c))), default=1.0)
    if highest > 0.0:
        return []
    return [
        Problem(
            f"room.{outline.owner}.ceiling",
            f"its roof is nowhere above its floor: {highest:.2f} m at its highest",
            "a roof above the floor",
            "Look at eave_height (or height) and falls of the planes over it",
        )
    ]


def _place_all(house: House, outlines: list[Outline], surfaces: list[Surface]) -> tuple[list[Placed], list[Problem]]:
    by_owner = {outline.owner: outline for outline in outlines}
    results: list[Placed | Problem] = []
    for window in house.window:
        results.append(_place_window(house, window, by_owner[window.room], surfaces))
    for door in house.door:
        if door.room is not None:
            results.append(place_outer(house, "door", door, by_owner[door.room], surfaces))
        else:
            results.append(place_inner(house, "door", door, surfaces, by_owner))
    results += [place_inner(house, "passage", passage, surfaces, by_owner) for passage in house.passage]
    placed = [r for r in results if isinstance(r, Placed)]
    problems = [r for r in results if isinstance(r, Problem)]
    return placed, problems + overlapping(placed, {s.id: s.shape for s in surfaces if s.tilt_deg == 90.0})


def _place_window(house: House, window: Window, outline: Outline, surfaces: list[Surface]) -> Placed | Problem:
    if window.plane is None:
        return place_outer(house, "window", window, outline, surfaces)
    host = next((s for s in surfaces if s.room == window.room and s.plane == window.plane), None)
    if host is None or host.area_m2 < window.area_m2:
        return Problem(
            f"window.{window.id}.plane",
            f"room {window.room} has no roof of plane {window.plane!r} that holds {window.area_m2:.2f} m2",
            "a roof plane over the room, larger than the window",
        )
    x, y = host.shape.representative_point().coords[0]
    half = 0.5 * window.width_m
    return Placed(window.id, "window", host.id, window.area_m2, (x - half, y), (x + half, y), host.low_m, host.high_m)


def _without_assembly(surfaces: list[Surface]) -> list[Problem]:
    names = {
        "floor": "floor (a floor over air is no slab: give enclosure.mid_floor or the room's floor)",
        "partition": "partition",
        "mid-floor": "mid_floor",
    }
    missing: dict[str, list[str]] = {}
    for surface in surfaces:
        if surface.assembly is None:
            missing.setdefault(surface.kind, []).append(surface.id)
    return [
        Problem(
            "enclosure", f"no assembly for {kind} {', '.join(ids[:4])}", f"an assembly id for {names.get(kind, kind)}"
        )
        for kind, ids in missing.items()
    ]


def _solid(house: House, uprights: list[Surface]) -> list[Surface]:
    """Partitions that take space: all but the open edges of lofts."""
    open_edges = [set(p.between) for p in house.passage if p.kind == "loft-edge"]
    return [s for s in uprights if s.kind == "partition" and {s.room, s.other} not in open_edges]


def _spaces(
    house: House, outlines: list[Outline], arrangement: Arrangement, uprights: list[Surface]
) -> list[RoomSpace]:
    half = 0.5 * house.enclosure.partition_thickness_m
    spaces = []
    for outline in (o for o in outlines if o.is_room):
        sides = [
            LineString(s.ends) for s in uprights if outline.owner in (s.room, s.other) and s.ends and s.length_m > 1e-6
        ]
        walls = unary_union([side.buffer(half, cap_style="square") for side in sides]) if sides else Polygon()
        area = net_area = volume = net_volume = 0.0
        highest = house.floor_height_m(house.room_named(outline.owner))
        for face in arrangement.faces:
            for column in face.stack:
                if column.owner != outline.owner:
                    continue
                clear = face.polygon.difference(walls)
                area += face.polygon.area
                net_area += clear.area
                volume += face.polygon.area * (column.top.z(face.centre) - column.bottom.c)
                if clear.area > 1e-9:
                    at = (clear.centroid.x, clear.centroid.y)
                    net_volume += clear.area * (column.net_top.z(at) - column.bottom.c)
                highest = max([highest, *(column.net_top.z(p) for p in face.polygon.exterior.coords)])
        spaces.append(RoomSpace(outline.owner, area, net_area, volume, net_volume, highest))
    return spaces
