"""A house made ready for the coupled solution: its air routes and its thermal network."""

from __future__ import annotations

from inshell.climate.choose import HouseClimate
from inshell.design.heating import tightness_ach50
from inshell.design.slab_strips import slab_strips
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.rooms import EDGE, HouseThermal, thermal_of
from inshell.network.routes import DoorsAre, HouseRoutes, routes_of
from inshell.network.system import Film
from inshell.physics.air import STANDARD_PRESSURE_PA


def networks_of(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors: DoorsAre,
    on_demand: bool = False,
    tested_flow_m3_s: float | None = None,
) -> tuple[HouseRoutes, HouseThermal]:
    """Routes with inner doors open, shut or by their hours, and the thermal network with each slab's steady U."""
    ach50, _ = tightness_ach50(house, geometry.volume_m3, tested_flow_m3_s)
    routes = routes_of(
        house,
        geometry,
        flow_at_50_pa_m3_s=ach50 * geometry.volume_m3 / 3600.0,
        exponent=house.tightness.exponent,
        doors=doors,
        on_demand=on_demand,
    )
    thermal = thermal_of(
        house,
        geometry,
        strips={
            name: ((s.behind_m2, s.behind_u_w_m2k), (s.edge_m2, s.edge_u_w_m2k))
            for name, s in slab_strips(house, geometry).items()
        },
        air_scale=climate.pressure_pa / STANDARD_PRESSURE_PA,
    )
    return routes, thermal


def films_of(house: House, geometry: Geometry, thermal: HouseThermal) -> tuple[Film, ...]:
    """Where convection goes by difference: every face with its tilt as its room sees it; furnishings upright."""
    if house.simulation.convection != "by-difference":
        return ()
    surfaces = {s.id: s for s in geometry.surfaces}
    hosts = {placed.id: surfaces[placed.surface] for placed in geometry.openings}
    rows = []
    for face in thermal.faces:
        surface = surfaces.get(face.surface.removesuffix(EDGE)) or hosts.get(face.surface)
        if surface is None or surface.kind in ("wall", "partition"):
            tilt, sense = 90.0, 0
        else:
            below = surface.kind in ("roof", "ceiling") or house.room[face.room].id != surface.room
            tilt, sense = min(surface.tilt_deg, 180.0 - surface.tilt_deg), -1 if below else 1
        rows.append(Film(face.node, face.room, face.area_m2, face.convection_w_m2k, tilt, sense))
    return tuple(rows)
