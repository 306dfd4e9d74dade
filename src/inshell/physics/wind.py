"""Wind on a house: its speed at a height, and the pressure on a wall."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array

# terrain: thickness of the boundary layer [m], exponent (ASHRAE Handbook Fundamentals)
TERRAIN = {"open": (270.0, 0.14), "suburban": (370.0, 0.22), "urban": (460.0, 0.33)}
FACING_COEFFICIENT = 0.6


def wind_at_height_m_s(*, station_m_s: Array, height_m: Array, terrain: str) -> Array:
    """Wind speed at a height over a terrain, from a station 10 m up in open country.

    Formula: U = U_met (270/10)^0.14 (H/d)^a
    Arguments: station_m_s [m/s]; height_m [m]; terrain: open (d 270, a 0.14), suburban (370, 0.22), urban (460, 0.33)
    Returns: speed [m/s]
    Valid: heights above the neighbouring roofs; below them an upper bound
    Source: ASHRAE Handbook Fundamentals, Airflow around Buildings

    >>> round(float(wind_at_height_m_s(station_m_s=5.0, height_m=5.0, terrain="suburban")), 3)
    3.077
    """
    depth, exponent = TERRAIN[terrain]
    return np.asarray(station_m_s) * (270.0 / 10.0) ** 0.14 * (np.asarray(height_m) / depth) ** exponent


def wall_pressure_coefficient(*, angle_deg: Array, side_ratio: Array = 1.0) -> Array:
    """Mean pressure coefficient of a wall of a low house, against the angle between wind and the wall's normal.

    Formula: Cp(a)/Cp(0) = ln[1.248 - 0.703 sin(a/2) - 1.175 sin^2 a + 0.131 sin^3(2 a G) + 0.769 cos(a/2)
    + 0.07 G^2 sin^2(a/2) + 0.717 cos^2(a/2)], G = ln(this wall / adjacent), Cp(0) = 0.6
    Arguments: angle_deg [°], 0 when the wind blows onto the wall; side_ratio [-] this wall's length over the adjacent's
    Returns: pressure coefficient [-] of the dynamic pressure at eaves height
    Valid: low-rise, rectangular plan, side ratio 1/2 to 2
    Source: Swami and Chandra 1987 (from memory; the sign of 0.131 is disputed, + gives leeward -0.45 at ratio 2)

    >>> round(float(wall_pressure_coefficient(angle_deg=0.0)), 3)
    0.603
    """
    a = np.radians(np.abs((np.asarray(angle_deg, dtype=float) + 180.0) % 360.0 - 180.0))
    g = np.log(np.asarray(side_ratio, dtype=float))
    inner = (
        1.248
        - 0.703 * np.sin(a / 2)
        - 1.175 * np.sin(a) ** 2
        + 0.131 * np.sin(2 * a * g) ** 3
        + 0.769 * np.cos(a / 2)
        + 0.07 * g**2 * np.sin(a / 2) ** 2
        + 0.717 * np.cos(a / 2) ** 2
    )
    return FACING_COEFFICIENT * np.log(inner)
