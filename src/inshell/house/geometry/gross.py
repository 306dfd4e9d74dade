"""Outside sizes: the inside drawing grown by the thickness of walls, roof and floor."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import Polygon
from shapely.ops import unary_union

from inshell.house.geometry.derive import Geometry
from inshell.house.geometry.surfaces import Surface
from inshell.house.model.house import House


@dataclass(frozen=True)
class Gross:
    """Floor area and volume to the outer faces."""

    floor_m2: float
    volume_m3: float

    def air_barrier_m3(self, house: House, geometry: Geometry) -> float:
        """Volume inside the air barrier: the inner faces unless the house declares the outer ones."""
        return geometry.volume_m3 if house.enclosure.air_barrier == "inner-face" else self.volume_m3


def gross_of(house: House, geometry: Geometry) -> Gross:
    """Gross sizes.

    Formula: V = V_in + sum A t + sum over edges L k, where two faces turned by phi meet with thicknesses t1, t2:
    k = (2 t1 t2 - (t1^2 + t2^2) cos phi) / (2 sin phi), negative at re-entrant edges. The corners where three
    faces meet are left out: t^3 each, below 0.1 % of a house.
    """
    wall = _thickness(house, house.enclosure.wall)
    roof = _thickness(house, house.enclosure.roof)
    floor = _thickness(house, house.enclosure.floor)
    volume = geometry.volume_m3
    for surface in geometry.surfaces:
        if surface.is_outer:
            volume += surface.area_m2 * _surface_thickness(house, surface)
    pairs = {
        "corner": (wall, wall),
        "sill": (wall, floor),
        "eave": (wall, roof),
        "rake": (wall, roof),
        "high-edge": (wall, roof),
        "wall-ceiling": (wall, roof),
        "ridge": (roof, roof),
        "hip": (roof, roof),
        "valley": (roof, roof),
    }
    for joint in geometry.joints:
        if joint.kind in pairs:
            volume += joint.length_m * edge_area_m2(*pairs[joint.kind], turn_deg=joint.turn_deg)
    return Gross(_gross_floor(house, geometry, wall), volume)


def edge_area_m2(first_m: float, second_m: float, *, turn_deg: float) -> float:
    """Cross-section between two offset faces at an edge.

    >>> round(edge_area_m2(0.2, 0.3, turn_deg=90.0), 4)
    0.06
    """
    phi = math.radians(abs(turn_deg))
    if not math.radians(2.0) < phi < math.radians(178.0):
        return 0.0
    area = (2.0 * first_m * second_m - (first_m**2 + second_m**2) * math.cos(phi)) / (2.0 * math.sin(phi))
    return area if turn_deg > 0.0 else -area


def _thickness(house: House, name: str) -> float:
    for slab in house.slab:
        if slab.id == name:
            return float(slab.thickness_m)
    return next((a.total_thickness_m for a in house.assembly if a.id == name), 0.0)


def _surface_thickness(house: House, surface: Surface) -> float:
    return _thickness(house, surface.assembly) if surface.assembly else 0.0


def _gross_floor(house: House, geometry: Geometry, wall_m: float) -> float:
    """Each level's outline grown by the wall's thickness; rooms that lie over others count again."""
    levels: dict[float, list[Polygon]] = {}
    for outline in geometry.outlines:
        if outline.is_room:
            height = round(house.floor_height_m(house.room_named(outline.owner)), 3)
            levels.setdefault(height, []).append(outline.polygon)
    total = 0.0
    for polygons in levels.values():
        shape = unary_union([p.buffer(1e-4, join_style="mitre") for p in polygons]).buffer(-1e-4, join_style="mitre")
        total += shape.buffer(wall_m, join_style="mitre").area
    return total
