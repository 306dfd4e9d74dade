"""U-value and heat loss coefficient of every outer surface and opening."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, Surface
from inshell.house.model.enclosure import Slab
from inshell.house.model.house import House
from inshell.network.construction import assembly_u
from inshell.physics.ground import (
    edge_insulation_psi_w_mk,
    equivalent_thickness_m,
    periodic_coefficients_w_k,
    slab_u_w_m2k,
)
from inshell.sources import table


@dataclass(frozen=True)
class Element:
    """One piece of the enclosure. `bridge_w_m2k` is added to U for thermal bridges."""

    id: str
    room: str
    kind: str
    other: str
    area_m2: float
    u_w_m2k: float
    bridge_w_m2k: float = 0.0

    @property
    def ua_w_k(self) -> float:
        """Heat loss coefficient, thermal bridges included."""
        return self.area_m2 * (self.u_w_m2k + self.bridge_w_m2k)


@dataclass(frozen=True)
class SlabResult:
    """A slab on the ground by ISO 13370, and its loss per perimeter."""

    slab: str
    area_m2: float
    perimeter_m: float
    u_w_m2k: float
    edge_psi_w_mk: float
    dt_m: float
    floor_r_m2k_w: float

    @property
    def effective_u_w_m2k(self) -> float:
        """U with the edge correction spread over the area: H / A."""
        return self.u_w_m2k + self.edge_psi_w_mk * self.perimeter_m / self.area_m2


def slab_perimeter_m(house: House, geometry: Geometry, rooms: set[str]) -> float:
    """Length of outer wall along the floors of some rooms; a heated house next door is no exposure."""
    heated = {buffer.id for buffer in house.buffer if buffer.kind == "house-next-door"}
    return sum(s.foot_m for s in geometry.surfaces if s.kind == "wall" and s.room in rooms and s.other not in heated)


def calculate_slab(house: House, geometry: Geometry, slab: Slab) -> SlabResult | None:
    """A slab by ISO 13370 with its edge insulation; None where no room stands on it."""
    floors = [s for s in geometry.surfaces if s.other == GROUND and s.assembly == slab.id]
    area = sum(s.area_m2 for s in floors)
    if area <= 0.0:
        return None
    perimeter = max(slab_perimeter_m(house, geometry, {s.room for s in floors}), 0.01)
    conductivity = table("design")["ground"]["conductivity"][house.site.soil]
    wall = next(a for a in house.assembly if a.id == house.enclosure.wall)
    resistance = slab.thickness_m / slab.conductivity_w_mk + slab.under_r_m2k_w + slab.covering_r_m2k_w
    dt = equivalent_thickness_m(
        wall_thickness_m=wall.total_thickness_m, ground_w_mk=conductivity, floor_r_m2k_w=resistance
    )
    psi = 0.0
    if slab.edge is not None:
        psi = edge_insulation_psi_w_mk(
            kind=slab.edge.kind,
            depth_m=slab.edge.depth_m,
            insulation_m=slab.edge.thickness_m,
            insulation_r_m2k_w=slab.edge.r_m2k_w,
            dt_m=dt,
            ground_w_mk=conductivity,
        )
    u = slab_u_w_m2k(area_m2=area, perimeter_m=perimeter, dt_m=dt, ground_w_mk=conductivity)
    return SlabResult(slab.id, area, perimeter, u, psi, dt, resistance)


def ground_swing(house: House, geometry: Geometry) -> float:
    """Share of the yearly outdoor swing that reaches the ground below the slabs: Hpe / Hg of ISO 13370."""
    loss = swing = 0.0
    row = table("design")["ground"]
    for slab in house.slab:
        result = calculate_slab(house, geometry, slab)
        if result is None:
            continue
        wall = next(a for a in house.assembly if a.id == house.enclosure.wall)
        dt = equivalent_thickness_m(
            wall_thickness_m=wall.total_thickness_m,
            ground_w_mk=row["conductivity"][house.site.soil],
            floor_r_m2k_w=slab.thickness_m / slab.conductivity_w_mk + slab.under_r_m2k_w + slab.covering_r_m2k_w,
        )
        _, outer = periodic_coefficients_w_k(
            area_m2=result.area_m2,
            perimeter_m=result.perimeter_m,
            dt_m=dt,
            ground_w_mk=row["conductivity"][house.site.soil],
            penetration_m=row["penetration"][house.site.soil],
        )
        loss += max(result.effective_u_w_m2k, 0.0) * result.area_m2
        swing += outer
    return min(swing / loss, 1.0) if loss > 0.0 else 0.0


def f_factor_loss_w_k(geometry: Geometry, house: House, slab: Slab) -> float | None:
    """Slab loss by the F-factor table, the alternative to ISO 13370; None where the table has no such slab."""
    row = _f_row(slab)
    floors = {s.room for s in geometry.surfaces if s.other == GROUND and s.assembly == slab.id}
    if row is None or not floors:
        return None
    return float(table("design")["f_factor"][row]) * 1.730735 * slab_perimeter_m(house, geometry, floors)


def _f_row(slab: Slab) -> str | None:
    """The table's row that a slab meets: insulation is rounded down to what the table knows."""
    under_ip = slab.under_r_m2k_w * 5.678263
    if slab.heated:
        steps = [r for r in (5, 10, 15, 20, 30) if under_ip >= r - 0.05]
        return f"heated-r{steps[-1]}-full" if steps else "heated-none" if under_ip < 0.05 else None
    if under_ip >= 9.95:
        return "unheated-r10-full"
    edge = slab.edge
    if edge is None or edge.r_m2k_w * 5.678263 < 9.95 or edge.kind != "vertical" or edge.depth_m < 0.6:
        return "unheated-none"
    return "unheated-r10-4ft-vertical" if edge.depth_m >= 1.2 else "unheated-r10-2ft-vertical"


def calculate_elements(house: House, geometry: Geometry) -> list[Element]:
    """Every outer surface (less its openings) and every opening, with U and area."""
    bridge = house.enclosure.thermal_bridge_w_m2k
    slabs = {slab.id: calculate_slab(house, geometry, slab) for slab in house.slab}
    elements = []
    for surface in geometry.surfaces:
        if not surface.is_outer or surface.assembly is None:
            continue
        if surface.other == GROUND:
            result = slabs[surface.assembly]
            u, added = (result.effective_u_w_m2k if result else 0.0), 0.0
        else:
            u = assembly_u(house, surface.assembly, surface.kind, surface.other).u_w_m2k
            added = bridge
        elements.append(Element(surface.id, surface.room, surface.kind, surface.other, surface.net_m2, u, added))
    return elements + _openings(house, geometry, bridge)


def _openings(house: House, geometry: Geometry, bridge: float) -> list[Element]:
    surfaces = {s.id: s for s in geometry.surfaces}
    windows = {w.id: w for w in house.window}
    glazing = {g.id: g.u_w_m2k for g in house.glazing}
    kinds = {t.id: t.u_w_m2k for t in house.door_type}
    doors = {d.id: d for d in house.door}
    elements = []
    for placed in geometry.openings:
        host: Surface = surfaces[placed.surface]
        if not host.is_outer:
            continue
        if placed.kind == "window":
            u = glazing[windows[placed.id].glazing]
        else:
            u = kinds.get(doors[placed.id].type or "", 1.8)
        elements.append(Element(placed.id, host.room, placed.kind, host.other, placed.area_m2, u, bridge))
    return elements
