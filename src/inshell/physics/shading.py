"""Geometry of shade on a window."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array


def overhang_sunlit_fraction(
    *,
    altitude_deg: Array,
    azimuth_deg: Array,
    window_azimuth_deg: float,
    width_m: float,
    height_m: float,
    overhang_m: float,
    gap_m: float,
    side_m: float = 0.0,
) -> Array:
    """Share of a vertical window that direct sun reaches under an overhang.

    Formula: shadow depth = D tan(profile angle), tan(profile) = tan(alt)/cos(gamma), gamma sun less window azimuth;
    the overhang reaches side_m past both jambs, its shadow is sheared sideways by D tan(gamma)
    Arguments: altitude_deg, azimuth_deg [°] of the sun; window_azimuth_deg [°]; width_m, height_m [m];
    overhang_m [m] depth; gap_m [m] from the head of the window up to it; side_m [m]
    Returns: share 0 to 1; 0 when the sun is behind the wall or down
    Valid: vertical windows, horizontal overhangs
    Source: plane geometry, solved by hand

    >>> round(float(overhang_sunlit_fraction(altitude_deg=45.0, azimuth_deg=180.0, window_azimuth_deg=180.0,
    ...     width_m=1.0, height_m=1.5, overhang_m=0.6, gap_m=0.1, side_m=9.0)), 4)
    0.6562
    """
    gamma = np.radians(np.asarray(azimuth_deg, dtype=float) - window_azimuth_deg)
    altitude = np.radians(np.asarray(altitude_deg, dtype=float))
    facing = (np.cos(gamma) > 1e-6) & (altitude > 0.0)
    cosine = np.where(facing, np.cos(gamma), 1.0)
    drop = overhang_m * np.tan(altitude) / cosine
    shift = overhang_m * np.tan(gamma)
    # a ray from a point y below the overhang crosses its plane D y/drop further out, shifted sideways alike
    y = gap_m + height_m * (np.arange(32) + 0.5) / 32.0
    under = y <= drop[..., None]
    sideways = np.abs(shift)[..., None] * y / np.where(drop > 1e-9, drop, 1.0)[..., None]
    covered = np.where(under, width_m - np.clip(sideways - side_m, 0.0, width_m), 0.0)
    shaded = covered.mean(axis=-1) / width_m
    return np.where(facing, 1.0 - shaded, 0.0)


def fins_sunlit_fraction(
    *, altitude_deg: Array, azimuth_deg: Array, window_azimuth_deg: float, width_m: float, fin_m: float
) -> Array:
    """Share of a vertical window that direct sun reaches between two fins at its jambs.

    Formula: 1 - min(F |tan gamma|, W) / W, gamma sun less window azimuth
    Arguments: altitude_deg, azimuth_deg [°] of the sun; window_azimuth_deg [°]; width_m [m]; fin_m [m] depth
    Returns: share 0 to 1; 0 when the sun is behind the wall or down
    Valid: fins at the jambs, taller than the window's shadow
    Source: plane geometry

    >>> round(float(fins_sunlit_fraction(altitude_deg=30.0, azimuth_deg=225.0, window_azimuth_deg=180.0, width_m=1.0,
    ...                                  fin_m=0.25)), 4)
    0.75
    """
    gamma = np.radians(np.asarray(azimuth_deg, dtype=float) - window_azimuth_deg)
    facing = (np.cos(gamma) > 1e-6) & (np.asarray(altitude_deg, dtype=float) > 0.0)
    shadow = np.minimum(fin_m * np.abs(np.tan(np.where(facing, gamma, 0.0))), width_m)
    return np.where(facing, 1.0 - shadow / width_m, 0.0)


def horizon_altitude_deg(*, azimuth_deg: Array, horizon: tuple[tuple[float, float], ...]) -> Array:
    """Altitude of the skyline in a direction, linear between the given points, round the compass.

    Formula: periodic linear interpolation over 360 degrees
    Arguments: azimuth_deg [°]; horizon pairs (azimuth, altitude) [°]; none means a flat horizon
    Returns: altitude [°]
    Valid: azimuths 0 to 360
    Source: definition

    >>> float(horizon_altitude_deg(azimuth_deg=135.0, horizon=((90.0, 10.0), (180.0, 20.0))))
    15.0
    """
    azimuth = np.asarray(azimuth_deg, dtype=float)
    if not horizon:
        return np.zeros_like(azimuth)
    points = np.array(sorted(horizon))
    return np.interp(azimuth, points[:, 0], points[:, 1], period=360.0)
