"""What acts on a house hour by hour: weather, ground, sun, people, appliances, showers, cooking, doors, set points."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS, MONTH_HOURS, ClimateYear
from inshell.design.cold_day import Makers, heated_rooms, warmed_by_floor
from inshell.design.controls import controls_of, is_working, permits, preheat_w, resting, set_points
from inshell.design.coupled import films_of, networks_of
from inshell.design.envelope import ground_swing
from inshell.design.gains import people_at, sun_on_nodes, within
from inshell.design.heads import heads_of
from inshell.design.heating import buffer_c, set_point_c
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.house.model.openings import Door
from inshell.house.model.rooms import WET_USES
from inshell.network.rooms import HouseThermal
from inshell.network.routes import DoorsAre, HouseRoutes, wind_pressures_pa
from inshell.network.system import Control, Forcing, System
from inshell.physics.air import (
    STANDARD_PRESSURE_PA,
    VAPORISATION_J_KG,
    density_kg_m3,
    mass_fraction,
    saturation_pressure_pa,
)
from inshell.physics.buffering import penetration_depth_m, uptake_kg_m2_s_pa
from inshell.physics.surfaces import sky_temperature_c
from inshell.physics.types import Floats
from inshell.physics.wind import wind_at_height_m_s
from inshell.sources import table

WINTER_DEW_K = 4.0  # outdoor dew point below design cold (common practice: about 75 % relative humidity)
SKY_BELOW_AIR_K = 11.0
AIR_KG_M3 = 1.2
AIR_PERMEABILITY = 2e-10
SATURATION_20_C_PA = 2337.0


@dataclass(frozen=True)
class Prepared:
    """A house with its routes, its network and what drives it through some hours."""

    system: System
    forcing: Forcing
    routes: HouseRoutes
    thermal: HouseThermal
    held: tuple[str, ...]


def prepare(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    hours: NDArray[np.int64],
    doors: DoorsAre,
    on_demand: bool = True,
    makers: Makers = "all",
    tested_flow_m3_s: float | None = None,
) -> Prepared:
    """Everything that a run through hours of the weather year needs; raises ValueError without a year.

    `makers` says what holds rooms: everything that makes heat, a warm floor without limit, or heads and heaters alone.
    """
    if climate.year is None:
        raise ValueError("a run through hours needs a weather year")
    routes, thermal = networks_of(
        house, geometry, climate, doors=doors, on_demand=on_demand, tested_flow_m3_s=tested_flow_m3_s
    )
    hourly, share = resting(house, routes, _shares(house, routes, hours % 24))
    rows = (*hourly, *controls_of(house, routes))
    system = system_of(house, geometry, climate, routes, thermal, tuple(row.control for row in rows))
    forcing = _forcing(house, geometry, climate, climate.year, hours, routes, thermal)
    forcing = replace(forcing, route_share=share, permit=permits(house, rows, hours))
    heated = heated_rooms(house, makers)
    system, forcing = with_heads(house, system, forcing, hours, makers)
    return Prepared(system, forcing, routes, thermal, tuple(room.id for room in house.room if room.id in heated))


def with_heads(
    house: House, system: System, forcing: Forcing, hours: NDArray[np.int64], makers: Makers
) -> tuple[System, Forcing]:
    """Set points where something makes heat or cold, within what heads can give in each hour."""
    heated, cooled = heated_rooms(house, makers), {head.room for head in house.head}
    free = warmed_by_floor(house) & set(heated) if makers == "all" or not (house.head or house.heater) else set()
    able = heads_of(house, forcing.outdoor_c, system.pressure_pa, unlimited=frozenset(free), room_weight=system.mass_kg)
    heat = np.array([set_point_c(house, r.id) if r.id in heated else np.nan for r in house.room])
    cool = np.array([house.household.cooling_set_point_c if r.id in cooled else np.nan for r in house.room])
    heat_at, cool_at = set_points(house, hours, heat - able.reads_high_k, cool - able.reads_high_k)
    system = replace(system, coils=able.coils, senses=able.senses)
    return system, replace(
        forcing,
        heat_at_c=heat_at,
        cool_at_c=cool_at,
        most_w=able.most_w,
        least_w=able.least_w,
        coil_most_w=able.coil_most_w,
        coil_least_w=able.coil_least_w,
    )


def system_of(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    routes: HouseRoutes,
    thermal: HouseThermal,
    controls: tuple[Control, ...] = (),
) -> System:
    """The numbers of a house: air, heat, and the moisture that painted walls and ceilings take up."""
    volumes = np.array([geometry.space(room.id).volume_m3 for room in house.room])
    finish: dict[str, Any] = table("household")["finish"]
    depth = min(
        finish["thickness_m"],
        float(
            penetration_depth_m(
                permeability_kg_m_s_pa=finish["permeability_kg_m_s_pa"],
                saturation_pa=SATURATION_20_C_PA,
                period_s=finish["period_s"],
                moisture_capacity_kg_m3=finish["moisture_capacity_kg_m3"],
            )
        ),
    )
    take = uptake_kg_m2_s_pa(
        depth_m=depth,
        permeability_kg_m_s_pa=finish["permeability_kg_m_s_pa"],
        coating_sd_m=finish["paint_sd_m"],
        film_kg_m2_s_pa=finish["film_kg_m2_s_pa"],
        air_kg_m_s_pa=AIR_PERMEABILITY,
    )
    area = np.zeros(len(house.room))
    openings = {placed.id for placed in geometry.openings}
    for face in thermal.faces:
        if face.surface not in openings and face.surface != "furnishings" and "floor" not in face.surface:
            area[face.room] += face.area_m2
    scale = climate.pressure_pa / STANDARD_PRESSURE_PA
    return System(
        thermal=thermal.network,
        air=routes.network,
        mass_kg=AIR_KG_M3 * scale * volumes,
        buffer_kg=area * depth * finish["moisture_capacity_kg_m3"],
        buffer_kg_s_pa=area * float(take),
        pressure_pa=climate.pressure_pa,
        radiant=thermal.radiant,
        recoveries=routes.recoveries,
        exchanges=routes.exchanges,
        controls=controls,
        films=films_of(house, geometry, thermal),
    )


def _forcing(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    year: ClimateYear,
    hours: NDArray[np.int64],
    routes: HouseRoutes,
    thermal: HouseThermal,
) -> Forcing:
    """Weather, ground, sun and people; routes stand as built, no control may act and nothing is held."""
    clock, rooms = hours % 24, len(house.room)
    outdoor = year.dry_bulb_c[hours]
    source = sun_on_nodes(house, geometry, thermal, year, hours)
    days = {works: [_inside(house, geometry, hour, works) for hour in range(24)] for works in (True, False)}
    inside_now = [days[bool(works)][h] for works, h in zip(is_working(house, hours), clock, strict=True)]
    sky = sky_c(house, outdoor, year.dew_point_c[hours])
    boundary = np.column_stack([outdoor, sky, earth_c(house, geometry, year, hours), buffer_c(house, outdoor)])
    none, scale = np.full((len(hours), rooms), np.nan), climate.pressure_pa / STANDARD_PRESSURE_PA
    return Forcing(
        outdoor_c=outdoor,
        outdoor_vapour=vapour_share(year.dew_point_c[hours], climate.pressure_pa),
        boundary_c=boundary,
        source_w=source,
        vapour_kg_s=np.array([now.vapour_kg_s for now in inside_now]),
        gas_kg_s=np.array([now.gas_kg_s for now in inside_now]),
        wind_pa=_wind(house, geometry, climate, year, hours, routes),
        route_share=np.ones((len(hours), len(routes.network.links))),
        heat_at_c=none,
        cool_at_c=none,
        most_w=none,
        least_w=none,
        permit=np.zeros((len(hours), 0)),
        gains_w=np.array([now.heat_w for now in inside_now]) + preheat_w(house, outdoor, AIR_KG_M3 * scale),
    )


@dataclass(frozen=True)
class _Inside:
    heat_w: Floats
    vapour_kg_s: Floats
    gas_kg_s: Floats


def _inside(house: House, geometry: Geometry, hour: int, working: bool) -> _Inside:
    """What people, appliances, a shower and a meal give off in an hour of the day; nothing if nobody is described."""
    people, rows = people_at(house, hour + 0.5, working=working), table("household")
    heat, vapour = people.heat_w.copy(), people.vapour_kg_s.copy()
    if not house.person:
        return _Inside(heat, vapour, people.carbon_dioxide_kg_s)
    count = sum(person.count for person in house.person)
    floors = np.array([geometry.space(room.id).floor_m2 for room in house.room])
    kitchen = _first(house, ("kitchen-living", "kitchen", "living"))
    appliances = rows["appliances"]
    heat += appliances["per_area_w_m2"] * floors
    heat[kitchen] += appliances["fixed_w"]
    latent = appliances["latent_per_area_w_m2"] * floors
    latent[kitchen] += appliances["latent_fixed_w"]
    vapour += latent / VAPORISATION_J_KG
    if hour == rows["hours"]["shower"]:
        vapour[_first(house, WET_USES)] += count * rows["vapour"]["shower_kg"] / 3600.0
    if hour == rows["hours"]["cooking"]:
        vapour[kitchen] += count * rows["vapour"]["cooking_kg_person"] / 3600.0
    return _Inside(heat, vapour, people.carbon_dioxide_kg_s)


def _first(house: House, uses: tuple[str, ...]) -> int:
    found = (k for use in uses for k, room in enumerate(house.room) if room.use == use)
    return next(found, 0)


def sky_c(house: House, outdoor_c: Floats, dew_point_c: Floats) -> Floats:
    """Temperature of the sky by the house's choice: 11 K below the air, or a clear one by the dew point."""
    if house.simulation.sky == "dew-point":
        return np.asarray(sky_temperature_c(air_c=outdoor_c, dew_point_c=dew_point_c))
    return outdoor_c - SKY_BELOW_AIR_K


def vapour_share(dew_point_c: Floats, pressure_pa: float) -> Floats:
    """Mass fraction of vapour in air of a dew point."""
    vapour = saturation_pressure_pa(temperature_c=dew_point_c)
    return np.asarray(mass_fraction(vapour_pa=vapour, pressure_pa=pressure_pa))


def _wind(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    year: ClimateYear,
    hours: NDArray[np.int64],
    routes: HouseRoutes,
) -> Floats:
    """Wind pressure on every route in every hour, at the height of the house over its terrain."""
    speed = wind_at_height_m_s(
        station_m_s=year.wind_speed_m_s[hours], height_m=max(geometry.height_m, 2.0), terrain=house.site.terrain
    )
    density = density_kg_m3(temperature_c=year.dry_bulb_c[hours], pressure_pa=climate.pressure_pa)
    return wind_pressures_pa(
        routes, speed_m_s=speed, from_deg=year.wind_direction_deg[hours], density_kg_m3=np.asarray(density)
    )


def _shares(house: House, routes: HouseRoutes, clock: NDArray[np.int64]) -> Floats:
    """One, but for the leaf of a door that goes by hours: its own, else nothing passes while someone sleeps behind."""
    share = np.ones((len(clock), len(routes.network.links)))
    doors = {door.id: door for door in house.door}
    has_gaps = {link.name.rpartition(" ")[0] for link in routes.network.links}
    for link, name in routes.leaves:
        if name in has_gaps:
            is_open = np.array([_is_open(house, doors[name], h + 0.5) for h in range(24)])
            share[:, link] = is_open[clock]
    windows = {window.id: window for window in house.window}
    for link, name in routes.windows:
        start, end = windows[name].open_from_h, windows[name].open_to_h
        share[:, link] = 0.0
        if start is not None and end is not None:
            share[:, link] = [float(within(h + 0.5, start, end)) for h in clock]
    return share


def _is_open(house: House, door: Door, hour: float) -> float:
    own = door.is_open_at(hour)
    if own is not None:
        return float(own)
    asleep = [p for p in house.person if p.sleeps_in in (door.between or ())]
    return float(not any(within(hour, p.asleep_from_h, p.asleep_to_h) for p in asleep))


def earth_c(house: House, geometry: Geometry, year: ClimateYear, hours: NDArray[np.int64]) -> Floats:
    """Temperature below the half metre of soil: the yearly mean, with the part of the outdoor swing that reaches it.

    ISO 13370 with monthly means: theta_v = mean - (Hpe / Hg) (mean - theta_month), linear between mid-months; the
    swing indoors is what the soil in the model stores.
    """
    months, mean = year.monthly_means("dry_bulb_c"), float(year.dry_bulb_c.mean())
    ratio = ground_swing(house, geometry)
    middles = np.cumsum(MONTH_HOURS) - 0.5 * MONTH_HOURS
    at = np.r_[middles[-1] - HOURS, middles, middles[0] + HOURS]
    values = mean - ratio * (mean - months)
    return np.asarray(np.interp(hours, at, np.r_[values[-1], values, values[0]]))
