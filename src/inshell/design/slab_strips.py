"""Slabs on the ground in two parts: the metre along outer walls, and what lies behind."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import LineString
from shapely.ops import unary_union

from inshell.design.envelope import SlabResult, calculate_slab
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.house import House
from inshell.physics.ground import RSE_FLOOR_M2K_W, RSI_FLOOR_M2K_W, edge_strip_ratio

STRIP_M = 1.0


@dataclass(frozen=True)
class SlabStrip:
    """A floor on the ground in two parts: the metre along its outer walls, and what lies behind."""

    edge_m2: float
    behind_m2: float
    edge_u_w_m2k: float
    behind_u_w_m2k: float


def slab_strips(house: House, geometry: Geometry) -> dict[str, SlabStrip]:
    """Every floor on the ground with the metre along its outer walls apart: areas, and what each part loses.

    Both parts of a slab together lose what ISO 13370 says of the whole.
    """
    heated = {buffer.id for buffer in house.buffer if buffer.kind == "house-next-door"}
    walls = [s for s in geometry.surfaces if s.kind == "wall" and s.foot_m > 0.0 and s.ends and s.other not in heated]
    bands = {
        room.id: unary_union([LineString(w.ends).buffer(STRIP_M, cap_style="flat") for w in walls if w.room == room.id])
        for room in house.room
    }
    found: dict[str, SlabStrip] = {}
    for slab in house.slab:
        result = calculate_slab(house, geometry, slab)
        floors = [s for s in geometry.surfaces if s.other == GROUND and s.assembly == slab.id]
        if result is None:
            continue
        edges = {s.id: min(float(s.shape.intersection(bands[s.room]).area), s.net_m2) for s in floors}
        behind, edge = _strip_u(result, sum(edges.values()))
        found |= {s.id: SlabStrip(edges[s.id], s.net_m2 - edges[s.id], edge, behind) for s in floors}
    return found


def _strip_u(result: SlabResult, edge_m2: float) -> tuple[float, float]:
    """(behind, edge): U of both parts, the edge's no more than its floor alone lets through."""
    whole, behind_m2 = result.effective_u_w_m2k * result.area_m2, result.area_m2 - edge_m2
    if edge_m2 <= 0.0 or behind_m2 <= 1e-6:
        return result.effective_u_w_m2k, result.effective_u_w_m2k
    half_width = result.area_m2 / (0.5 * result.perimeter_m)
    ratio = edge_strip_ratio(strip_m=STRIP_M, half_width_m=half_width, dt_m=result.dt_m)
    most = 1.0 / (RSI_FLOOR_M2K_W + result.floor_r_m2k_w + RSE_FLOOR_M2K_W)
    edge = min(ratio * whole / (behind_m2 + ratio * edge_m2), most)
    return (whole - edge * edge_m2) / behind_m2, edge
