"""Sun on any surface, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate import cache
from inshell.climate.year import HOURS, ClimateYear
from inshell.physics.shading import horizon_altitude_deg
from inshell.physics.types import Floats


@dataclass(frozen=True)
class Incident:
    """Irradiance on a surface in each hour, and the angle at which the beam meets it."""

    beam_w_m2: Floats
    diffuse_w_m2: Floats
    angle_deg: Floats

    @property
    def total_w_m2(self) -> Floats:
        """Beam, sky and ground together."""
        return self.beam_w_m2 + self.diffuse_w_m2


def incident(
    year: ClimateYear,
    *,
    tilt_deg: float,
    azimuth_deg: float,
    ground_reflectance: float = 0.2,
    skyline: tuple[tuple[float, float], ...] = (),
    beam_share: Floats | float = 1.0,
) -> Incident:
    """Irradiance on a surface: beam, and sky (Perez) with what the ground reflects.

    The skyline takes away the beam while the sun is behind it; `beam_share` is what an overhang or fins let through.
    """
    beam, diffuse, angle = _unshaded(year, tilt_deg, azimuth_deg, ground_reflectance)
    altitude = 90.0 - year.sun_zenith_deg
    seen = altitude > horizon_altitude_deg(azimuth_deg=year.sun_azimuth_deg, horizon=skyline)
    return Incident(np.asarray(beam * np.where(seen, beam_share, 0.0)), diffuse, angle)


def _unshaded(year: ClimateYear, tilt: float, azimuth: float, reflectance: float) -> tuple[Floats, Floats, Floats]:
    """(beam, sky and ground, angle) of a surface that nothing shades, kept beside the prepared year."""
    name = cache.key(year.source_hash.encode(), f"sun|{tilt:.6f}|{azimuth:.6f}|{reflectance:.6f}")
    kept = cache.load_arrays(name, 3) if year.source_hash and len(year.ghi_w_m2) == HOURS else None
    if kept is None:
        kept = _computed(year, tilt, azimuth, reflectance)
        if year.source_hash and len(year.ghi_w_m2) == HOURS:
            cache.store_arrays(name, kept)
    return kept[0], kept[1], kept[2]


def _computed(year: ClimateYear, tilt: float, azimuth: float, reflectance: float) -> list[Floats]:
    import pvlib

    sun = year.sun_zenith_deg, year.sun_azimuth_deg
    parts = pvlib.irradiance.get_total_irradiance(
        tilt,
        azimuth,
        *sun,
        dni=year.dni_w_m2,
        ghi=year.ghi_w_m2,
        dhi=year.dhi_w_m2,
        dni_extra=year.extraterrestrial_w_m2,
        airmass=pvlib.atmosphere.get_relative_airmass(year.sun_zenith_deg),
        albedo=reflectance,
        model="perez",
    )
    names = ("poa_direct", "poa_sky_diffuse", "poa_ground_diffuse")
    beam, sky, ground = (np.nan_to_num(np.asarray(parts[name], dtype=float)) for name in names)
    return [beam, sky + ground, np.asarray(pvlib.irradiance.aoi(tilt, azimuth, *sun), dtype=float)]
