"""Heat between surfaces, air and sky."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8


def convection_w_m2k(*, difference_k: Array, tilt_deg: Array, heat_flows_up: Array) -> Array:
    """Natural convection at an indoor surface, depending on the temperature difference.

    Formula: upright 1.31 |dT|^(1/3); tilted, heat flowing up 9.482 |dT|^(1/3)/(7.238 - |cos|); down
    1.810 |dT|^(1/3)/(1.382 + |cos|), cos of the tilt
    Arguments: difference_k [K] surface less air; tilt_deg [°] 0 level, 90 upright; heat_flows_up: true where buoyancy
    helps (a warm floor, a cold ceiling)
    Returns: coefficient [W/m2K]
    Valid: rooms without forced air
    Source: Walton 1983

    >>> round(float(convection_w_m2k(difference_k=5.0, tilt_deg=90.0, heat_flows_up=True)), 3)
    2.24
    """
    root = np.abs(np.asarray(difference_k, dtype=float)) ** (1.0 / 3.0)
    cosine = np.abs(np.cos(np.radians(np.asarray(tilt_deg, dtype=float))))
    up = 9.482 * root / (7.238 - cosine)
    down = 1.810 * root / (1.382 + cosine)
    return np.where(cosine < 1e-9, 1.31 * root, np.where(heat_flows_up, up, down))


def sky_temperature_c(*, air_c: Array, dew_point_c: Array) -> Array:
    """Temperature of a clear sky as a black body.

    Formula: eps = 0.711 + 0.56 (Td/100) + 0.73 (Td/100)^2; T_sky = T eps^(1/4), absolute
    Arguments: air_c, dew_point_c [°C] near the ground
    Returns: temperature [°C]
    Valid: clear nights and days, dew point -20 to 30 °C
    Source: Berdahl and Martin 1984, monthly mean without the daily and pressure terms

    >>> round(float(sky_temperature_c(air_c=20.0, dew_point_c=10.0)), 2)
    1.84
    """
    dew = np.asarray(dew_point_c, dtype=float) / 100.0
    emissivity = 0.711 + 0.56 * dew + 0.73 * dew**2
    return (np.asarray(air_c) + 273.15) * emissivity**0.25 - 273.15


def swinbank_sky_c(*, air_c: Array) -> Array:
    """Temperature of a clear sky from the air temperature alone.

    Formula: T_sky = 0.0552 T^1.5, absolute
    Arguments: air_c [°C]
    Returns: temperature [°C]
    Valid: clear sky, mild air; about 18 K too cold at -20 °C against the rule T - 11
    Source: Swinbank 1963

    >>> round(float(swinbank_sky_c(air_c=20.0)), 2)
    3.91
    """
    return 0.0552 * (np.asarray(air_c, dtype=float) + 273.15) ** 1.5 - 273.15


def radiant_panel_w_m2(*, surface_c: Array, enclosure_c: Array, air_c: Array) -> tuple[Array, Array]:
    """Radiant and convective output of a heated floor or ceiling panel.

    Formula: radiant 5e-8 (T^4 - AUST^4); convective 2.13 (tp - ta)^1.31 for a floor
    Arguments: surface_c [°C]; enclosure_c [°C] area-weighted temperature of unheated surfaces; air_c [°C]
    Returns: (radiant, convective) [W/m2]
    Valid: floors warmer than the room
    Source: ASHRAE Handbook HVAC Systems, Panel Heating (from memory)

    >>> [round(float(q), 2) for q in radiant_panel_w_m2(surface_c=29.0, enclosure_c=20.0, air_c=20.0)]
    [47.48, 37.88]
    """
    hot, cold = np.asarray(surface_c, dtype=float) + 273.15, np.asarray(enclosure_c, dtype=float) + 273.15
    lift = np.maximum(np.asarray(surface_c, dtype=float) - air_c, 0.0)
    return 5e-8 * (hot**4 - cold**4), 2.13 * lift**1.31
