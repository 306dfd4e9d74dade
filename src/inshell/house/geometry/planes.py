"""Planes of roofs, and which plane governs where."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from inshell.house.model.rooms import Roof, RoofPlane
from inshell.physics.types import Floats

OVERHANG_M = 0.2


@dataclass(frozen=True)
class Plane:
    """z = a x + b y + c over the plan."""

    a: float
    b: float
    c: float
    name: str = ""

    def z(self, point: Floats | tuple[float, float]) -> float:
        """Height over a plan point."""
        return float(self.a * point[0] + self.b * point[1] + self.c)

    @property
    def is_flat(self) -> bool:
        """Whether it has no slope."""
        return math.hypot(self.a, self.b) < 1e-9

    @property
    def stretch(self) -> float:
        """Area on the slope per area on the plan."""
        return math.sqrt(1.0 + self.a**2 + self.b**2)

    def raised(self, by: float) -> Plane:
        """The same plane, higher."""
        return Plane(self.a, self.b, self.c + by, self.name)


def flat(z: float, name: str = "") -> Plane:
    """A horizontal plane."""
    return Plane(0.0, 0.0, z, name)


@dataclass(frozen=True)
class RoofPiece:
    """The part of the plan where one plane is the roof."""

    plane: Plane
    region: BaseGeometry


def plane_of(spec: RoofPlane, covered: Floats) -> Plane:
    """The plane of a description; its eave is the lowest point among the covered plan points."""
    angle = math.radians(spec.falls_deg)
    rise = math.tan(math.radians(spec.pitch_deg))
    up = np.array([-math.sin(angle), -math.cos(angle)])
    if spec.at is not None and spec.height_m is not None:
        anchor, height = up @ np.array([spec.at.x_m, spec.at.y_m]), spec.height_m
    else:
        anchor, height = float((covered @ up).min()), float(spec.eave_height_m or 0.0)
    a, b = rise * up
    return Plane(float(a), float(b), float(height - rise * anchor), spec.id)


def _below(one: Plane, other: Plane, frame: Polygon) -> BaseGeometry:
    """Part of the frame where `one` lies below `other`."""
    a, b, c = other.a - one.a, other.b - one.b, other.c - one.c
    steep = math.hypot(a, b)
    if steep < 1e-9:
        return frame if c > 1e-9 else Polygon()
    normal = np.array([a, b]) / steep
    along = np.array([-normal[1], normal[0]])
    reach = 4.0 * (abs(np.array(frame.bounds)).max() + 10.0)
    foot = -normal * c / steep
    corners = [foot + along * reach, foot - along * reach]
    corners += [corners[1] + normal * 2.0 * reach, corners[0] + normal * 2.0 * reach]
    return frame.intersection(Polygon(corners))


def roof_pieces(roofs: tuple[Roof, ...], rooms: BaseGeometry) -> list[RoofPiece]:
    """Where each plane governs: the lowest within one roof, the highest where two roofs overlap."""
    regions = [_region(roof, rooms) for roof in roofs]
    groups: list[list[RoofPiece]] = []
    for k, roof in enumerate(roofs):
        covered = regions[k].intersection(rooms)
        shape = covered.convex_hull if covered.area > 0 else regions[k]
        planes = [plane_of(spec, np.array(shape.exterior.coords)) for spec in roof.plane]
        groups.append([p for p in _lowest(planes, _widened(k, regions)) if p.region.area > 0.0])
    pieces = []
    for k, group in enumerate(groups):
        others = [piece for j, other in enumerate(groups) if j != k for piece in other]
        for piece in group:
            hidden = [_hidden_by(piece, other, first=groups.index(group)) for other in others]
            region = piece.region.difference(unary_union(hidden)) if hidden else piece.region
            if region.area > 1e-6:
                pieces.append(RoofPiece(piece.plane, region))
    return pieces


def _region(roof: Roof, rooms: BaseGeometry) -> BaseGeometry:
    return Polygon([(c.x_m, c.y_m) for c in roof.outline]) if roof.outline else rooms.convex_hull


def _widened(k: int, regions: list[BaseGeometry]) -> BaseGeometry:
    """A roof's region with some overhang where no other roof lies, so that snapped outlines stay covered."""
    spare = regions[k].buffer(OVERHANG_M, join_style="mitre")
    for j, other in enumerate(regions):
        if j != k:
            spare = spare.difference(other)
    return regions[k].union(spare)


def _lowest(planes: list[Plane], region: BaseGeometry) -> list[RoofPiece]:
    frame = box(*region.bounds).buffer(1.0, join_style="mitre")
    pieces = []
    for k, plane in enumerate(planes):
        mine: BaseGeometry = region
        for j, other in enumerate(planes):
            if j != k and not (other == plane and j > k):
                mine = mine.difference(_below(other, plane, frame))
        pieces.append(RoofPiece(plane, mine))
    return pieces


def _hidden_by(piece: RoofPiece, other: RoofPiece, *, first: int) -> BaseGeometry:
    """Part of a piece over which the other roof is higher (the earlier roof wins a tie)."""
    shared = piece.region.intersection(other.region)
    if shared.area < 1e-9:
        return Polygon()
    frame = box(*shared.bounds).buffer(1.0, join_style="mitre")
    raised = piece.plane.raised(1e-9 if first == 0 else -1e-9)
    return shared.intersection(_below(raised, other.plane, frame))
