"""Moist and dry air: density, viscosity, saturation pressure."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array

GRAVITY_M_S2 = 9.80665
HEAT_CAPACITY_J_KGK = 1006.0
STANDARD_PRESSURE_PA = 101325.0
GAS_CONSTANT_DRY_J_KGK = 287.055
MOLAR_RATIO = 0.621945
VAPORISATION_J_KG = 2.45e6  # of water at room temperature


def pressure_at_altitude_pa(*, elevation_m: Array) -> Array:
    """Pressure of the standard atmosphere.

    Formula: p = 101325 (1 - 0.0065 E / 288.15)^5.2559
    Arguments: elevation_m [m] height above sea level
    Returns: pressure [Pa]
    Valid: -500 to 11 000 m
    Source: ISO 2533:1975 standard atmosphere (from memory)

    >>> round(float(pressure_at_altitude_pa(elevation_m=1600.0)))
    83523
    """
    return STANDARD_PRESSURE_PA * (1.0 - 0.0065 * np.asarray(elevation_m) / 288.15) ** 5.2559


def density_kg_m3(*, temperature_c: Array, pressure_pa: Array = STANDARD_PRESSURE_PA, vapour_pa: Array = 0.0) -> Array:
    """Density of moist air from the ideal gas law.

    Formula: rho = (p - (1 - 0.621945) pv) / (287.055 (T + 273.15))
    Arguments: temperature_c [°C]; pressure_pa [Pa] total; vapour_pa [Pa] partial pressure of vapour
    Returns: density [kg/m3]
    Valid: -60 to 60 °C, near atmospheric pressure
    Source: ASHRAE Handbook Fundamentals, Psychrometrics (from memory)

    >>> round(float(density_kg_m3(temperature_c=20.0)), 4)
    1.2041
    """
    dry = np.asarray(pressure_pa) - (1.0 - MOLAR_RATIO) * np.asarray(vapour_pa)
    return dry / (GAS_CONSTANT_DRY_J_KGK * (np.asarray(temperature_c) + 273.15))


def pressurisation_density_kg_m3(*, temperature_c: Array, elevation_m: Array) -> Array:
    """Density of air as the fan pressurisation standard writes it.

    Formula: rho = 1.2041 (1 - 0.0065 E / 293)^5.2553 293 / (T + 273)
    Arguments: temperature_c [°C]; elevation_m [m]
    Returns: density [kg/m3]
    Valid: 0 to 5000 m
    Source: ASTM E779-19, section 9 (from memory)

    >>> round(float(pressurisation_density_kg_m3(temperature_c=20.0, elevation_m=1500.0)), 4)
    1.0079
    """
    at_height = 1.2041 * (1.0 - 0.0065 * np.asarray(elevation_m) / 293.0) ** 5.2553
    return at_height * 293.0 / (np.asarray(temperature_c) + 273.0)


def viscosity_pa_s(*, temperature_c: Array) -> Array:
    """Dynamic viscosity of air, as the fan pressurisation standard writes it.

    Formula: mu = 1.458e-6 T^0.5 / (1 + 110.4 / T), T = temperature_c + 273
    Arguments: temperature_c [°C]
    Returns: viscosity [Pa s]
    Valid: -50 to 60 °C
    Source: ASTM E779-19, section 9 (from memory)

    >>> round(float(viscosity_pa_s(temperature_c=20.0)) * 1e5, 4)
    1.8127
    """
    kelvin = np.asarray(temperature_c) + 273.0
    return 1.458e-6 * kelvin**0.5 / (1.0 + 110.4 / kelvin)


def saturation_pressure_pa(*, temperature_c: Array) -> Array:
    """Saturation pressure of water vapour, the one form used throughout.

    Formula: T >= 0: 610.5 exp(17.269 T/(237.3 + T)); T < 0: 610.5 exp(21.875 T/(265.5 + T))
    Arguments: temperature_c [°C]
    Returns: pressure [Pa]
    Valid: -50 to 80 °C
    Source: ISO 13788:2012, annex E (from memory)

    >>> round(float(saturation_pressure_pa(temperature_c=20.0)), 2)
    2336.95
    """
    t = np.asarray(temperature_c, dtype=float)
    warm = 610.5 * np.exp(17.269 * np.maximum(t, 0.0) / (237.3 + np.maximum(t, 0.0)))
    cold = 610.5 * np.exp(21.875 * np.minimum(t, 0.0) / (265.5 + np.minimum(t, 0.0)))
    return np.where(t >= 0.0, warm, cold)


def dew_point_c(*, vapour_pa: Array) -> Array:
    """Temperature at which vapour of a pressure saturates.

    Formula: L = ln(pv/610.5); L >= 0: 237.3 L/(17.269 - L); L < 0: 265.5 L/(21.875 - L)
    Arguments: vapour_pa pv [Pa], above 0
    Returns: dew point, below freezing frost point [degC]
    Valid: -60 to 80 degC
    Source: ISO 13788:2012, equations E.9 and E.10

    >>> round(float(dew_point_c(vapour_pa=1169.0)), 1)
    9.3
    """
    level = np.log(np.maximum(np.asarray(vapour_pa, dtype=float), 1e-3) / 610.5)
    return np.where(level >= 0.0, 237.3 * level / (17.269 - level), 265.5 * level / (21.875 - level))


def mass_fraction(*, vapour_pa: Array, pressure_pa: Array) -> Array:
    """Share of vapour in the mass of moist air.

    Formula: w = 0.621945 pv / (p - 0.378055 pv)
    Arguments: vapour_pa [Pa] partial pressure of vapour; pressure_pa [Pa] total
    Returns: mass fraction [-]
    Valid: ideal gases
    Source: definition

    >>> round(float(mass_fraction(vapour_pa=1000.0, pressure_pa=101325.0)), 6)
    0.006161
    """
    vapour = np.asarray(vapour_pa, dtype=float)
    return MOLAR_RATIO * vapour / (np.asarray(pressure_pa) - (1.0 - MOLAR_RATIO) * vapour)


def vapour_from_wet_bulb_pa(*, dry_bulb_c: Array, wet_bulb_c: Array, pressure_pa: Array) -> Array:
    """Vapour pressure from an aspirated wet bulb above freezing.

    Formula: pv = psat(twb) - 6.62e-4 p (t - twb), never below nothing
    Arguments: dry_bulb_c, wet_bulb_c [°C]; pressure_pa [Pa]
    Returns: vapour pressure [Pa]
    Valid: wet bulb above 0 °C, aspirated
    Source: psychrometer equation with Sprung's constant (from memory)

    >>> round(float(vapour_from_wet_bulb_pa(dry_bulb_c=30.0, wet_bulb_c=20.0, pressure_pa=101325.0)))
    1666
    """
    saturated = saturation_pressure_pa(temperature_c=wet_bulb_c)
    drop = np.asarray(dry_bulb_c, dtype=float) - wet_bulb_c
    return np.maximum(saturated - 6.62e-4 * np.asarray(pressure_pa) * drop, 0.0)


def vapour_from_adiabatic_wet_bulb_pa(*, dry_bulb_c: Array, wet_bulb_c: Array, pressure_pa: Array) -> Array:
    """Vapour pressure from the thermodynamic (adiabatic saturation) wet bulb, as data sheets of coils state it.

    Formula: W = ((2501 - 2.326 twb) Ws(twb) - 1.006 (t - twb)) / (2501 + 1.86 t - 4.186 twb); pv = p W/(0.621945 + W)
    Arguments: dry_bulb_c, wet_bulb_c [°C]; pressure_pa [Pa]
    Returns: vapour pressure [Pa], never below nothing
    Valid: wet bulb above 0 °C
    Source: ASHRAE Fundamentals 2017, chapter 1, eq. 33 (from memory)

    >>> round(float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=26.7, wet_bulb_c=19.4, pressure_pa=101325.0)))
    1774
    """
    t, wet = np.asarray(dry_bulb_c, dtype=float), np.asarray(wet_bulb_c, dtype=float)
    saturated = np.asarray(saturation_pressure_pa(temperature_c=wet))
    ratio = MOLAR_RATIO * saturated / (np.asarray(pressure_pa) - saturated)
    ratio = ((2501.0 - 2.326 * wet) * ratio - 1.006 * (t - wet)) / (2501.0 + 1.86 * t - 4.186 * wet)
    ratio = np.maximum(ratio, 0.0)
    return np.asarray(pressure_pa) * ratio / (MOLAR_RATIO + ratio)


def volumetric_heat_capacity_j_m3k(*, pressure_pa: Array) -> Array:
    """Heat that a cubic metre of outdoor air takes per kelvin, for design loads.

    Formula: 0.34 Wh/m3K x p / p0
    Arguments: pressure_pa [Pa] of the site
    Returns: volumetric heat capacity [J/m3K]
    Valid: near room temperature
    Source: EN 12831-1:2017 (from memory), with the pressure of the site

    >>> float(volumetric_heat_capacity_j_m3k(pressure_pa=101325.0))
    1224.0
    """
    return 0.34 * 3600.0 * np.asarray(pressure_pa) / STANDARD_PRESSURE_PA
