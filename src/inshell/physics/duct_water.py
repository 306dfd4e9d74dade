"""Water and sweat on the walls of ducts that pass through the cold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.air import mass_fraction, saturation_pressure_pa
from inshell.physics.duct import LAMINAR_BELOW, VISCOSITY_PA_S
from inshell.physics.types import Array, Floats

AIR_J_KGK, AIR_W_MK, PRANDTL = 1006.0, 0.0257, 0.71
OUTER_W_M2K = {"cold": 10.0, "indoors": 8.0}  # from the duct's surface to still air around it (common practice)
LEAST_KG_S = 1e-7
PARTS = 24


@dataclass(frozen=True)
class DuctWater:
    """What a duct's wall takes out of the air in it, one value for each moment."""

    outlet_c: Floats
    coldest_wall_c: Floats
    condensed_kg_s: Floats


def inner_film_w_m2k(*, mass_kg_s: Array, diameter_m: float) -> Floats:
    """Heat transfer from the air in a round duct to its wall.

    Formula: Nu = 3.66 below Re 2000; else the greater of it and 0.023 Re^0.8 Pr^0.3; h = Nu k / D, Re = 4 m/(pi D mu)
    Arguments: mass_kg_s dry air in the duct [kg/s]; diameter_m D [m]
    Returns: h [W/(m2.K)]
    Valid: air near room temperature, walls colder than the air
    Source: Dittus and Boelter for cooling; ASHRAE Fundamentals, Heat transfer

    >>> round(float(inner_film_w_m2k(mass_kg_s=0.0286, diameter_m=0.1016)), 1)
    14.3
    """
    reynolds = 4.0 * np.asarray(mass_kg_s, dtype=float) / (np.pi * diameter_m * VISCOSITY_PA_S)
    turbulent = 0.023 * np.maximum(reynolds, 1.0) ** 0.8 * PRANDTL**0.3
    number = np.where(reynolds < LAMINAR_BELOW, 3.66, np.maximum(turbulent, 3.66))
    return np.asarray(number * AIR_W_MK / diameter_m)


def duct_water(
    *, mass_kg_s: Array, inlet_c: Array, inlet_vapour: Array, around_c: Array, diameter_m: float, length_m: float,
    insulation_r_m2k_w: float = 0.0, pressure_pa: float = 101325.0,
) -> DuctWater:  # fmt: skip
    """Condensation inside a duct whose surroundings are colder than its air.

    Formula: T(x) = Ta + (T0 - Ta) exp(-U pi D x/(m cp)), 1/U = 1/hi + R + 1/10; wall Tw = Ta + (T - Ta)(1 - U/hi);
        where w > ws(Tw): dw/dx = -(hi pi D/(m cp)) (w - ws(Tw)), in 24 parts of the length
    Arguments: mass_kg_s m of dry air, inlet_c T0 [degC], inlet_vapour w0 mass fraction [-], around_c Ta [degC], any
        one shape; diameter_m D, length_m [m]; insulation_r_m2k_w R around it [m2.K/W]; pressure_pa [Pa]
    Returns: DuctWater of that shape; nothing condenses where nothing flows
    Valid: steady in each moment; the heat set free by condensing is left out, so the wall is a little too cold
    Source: ISO 12241 (exponential fall along a duct); Lewis relation with Le = 1, ASHRAE Fundamentals, Mass transfer

    >>> told = duct_water(mass_kg_s=0.02, inlet_c=21.0, inlet_vapour=0.008, around_c=-10.0, diameter_m=0.1,
    ...                   length_m=4.0)
    >>> bool(told.condensed_kg_s > 0.0), round(float(told.outlet_c), 1)
    (True, 12.3)
    """
    flow, air, around, vapour = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (mass_kg_s, inlet_c, around_c, inlet_vapour))
    )
    moves = flow > LEAST_KG_S
    mass = np.where(moves, flow, 1.0)
    film = inner_film_w_m2k(mass_kg_s=mass, diameter_m=diameter_m)
    u = 1.0 / (1.0 / film + insulation_r_m2k_w + 1.0 / OUTER_W_M2K["cold"])
    per_part = np.pi * diameter_m * length_m / PARTS / (mass * AIR_J_KGK)
    cools, dries = 1.0 - np.exp(-u * per_part), 1.0 - np.exp(-film * per_part)
    wall, water, coldest = around, np.zeros(flow.shape), np.full(flow.shape, np.inf)
    for _ in range(PARTS):
        wall = around + (air - around) * (1.0 - u / film)
        held = _saturated(wall, pressure_pa)
        taken = np.maximum(vapour - held, 0.0) * dries
        water, vapour = water + taken, vapour - taken
        air = air - (air - around) * cools
        coldest = np.minimum(coldest, wall)
    return DuctWater(air, coldest, np.where(moves, water * flow, 0.0))


def sweat_margin_k(
    *, mass_kg_s: Array, air_c: Array, room_c: Array, room_dew_point_c: Array, diameter_m: float,
    insulation_r_m2k_w: float = 0.0,
) -> Floats:  # fmt: skip
    """How far a cold duct's outer surface in a room stays above the room's dew point.

    Formula: Ts = Troom - U (Troom - T)/8, 1/U = 1/hi + R + 1/8; margin Ts - dew point
    Arguments: mass_kg_s in the duct [kg/s]; air_c T in it, room_c, room_dew_point_c [degC]; diameter_m [m];
        insulation_r_m2k_w R [m2.K/W]
    Returns: margin [K]; below zero it sweats
    Valid: at the cold end of the duct, R small against its diameter
    Source: ISO 12241, prevention of surface condensation; surface film 8 W/(m2.K) common practice

    >>> margin = sweat_margin_k(mass_kg_s=0.02, air_c=-10.0, room_c=21.0, room_dew_point_c=8.0, diameter_m=0.1)
    >>> bool(margin < 0.0)
    True
    """
    film = inner_film_w_m2k(mass_kg_s=np.maximum(mass_kg_s, LEAST_KG_S), diameter_m=diameter_m)
    outer = OUTER_W_M2K["indoors"]
    u = 1.0 / (1.0 / film + insulation_r_m2k_w + 1.0 / outer)
    surface = np.asarray(room_c) - u * (np.asarray(room_c) - np.asarray(air_c)) / outer
    return np.asarray(surface - np.asarray(room_dew_point_c))


def _saturated(temperature_c: Floats, pressure_pa: float) -> Floats:
    vapour = saturation_pressure_pa(temperature_c=np.clip(temperature_c, -60.0, 90.0))
    return np.asarray(mass_fraction(vapour_pa=vapour, pressure_pa=pressure_pa))
