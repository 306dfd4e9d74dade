"""A house made ready for the coupled solution: its air routes and its thermal network."""

from __future__ import annotations

from inshell.climate.choose import HouseClimate
from inshell.design.envelope import calculate_slab
from inshell.design.heating import tightness_ach50
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.rooms import HouseThermal, thermal_of
from inshell.network.routes import DoorsAre, HouseRoutes, routes_of
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
    slabs = {slab.id: calculate_slab(house, geometry, slab) for slab in house.slab}
    thermal = thermal_of(
        house,
        geometry,
        slab_u_w_m2k={name: result.effective_u_w_m2k for name, result in slabs.items() if result},
        air_scale=climate.pressure_pa / STANDARD_PRESSURE_PA,
    )
    return routes, thermal
