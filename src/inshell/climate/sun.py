"""Sun on any surface, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate.year import ClimateYear
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
    import pvlib

    mass = pvlib.atmosphere.get_relative_airmass(year.sun_zenith_deg)
    altitude = 90.0 - year.sun_zenith_deg
    seen = altitude > horizon_altitude_deg(azimuth_deg=year.sun_azimuth_deg, horizon=skyline)
    sun = year.sun_zenith_deg, year.sun_azimuth_deg
    parts = pvlib.irradiance.get_total_irradiance(
        tilt_deg,
        azimuth_deg,
        *sun,
        dni=year.dni_w_m2,
        ghi=year.ghi_w_m2,
        dhi=year.dhi_w_m2,
        dni_extra=year.extraterrestrial_w_m2,
        airmass=mass,
        albedo=ground_reflectance,
        model="perez",
    )
    beam = np.nan_to_num(np.asarray(parts["poa_direct"])) * np.where(seen, beam_share, 0.0)
    sky = np.nan_to_num(np.asarray(parts["poa_sky_diffuse"]))
    ground = np.nan_to_num(np.asarray(parts["poa_ground_diffuse"]))
    angle = np.asarray(pvlib.irradiance.aoi(tilt_deg, azimuth_deg, *sun), dtype=float)
    return Incident(np.asarray(beam, dtype=float), np.asarray(sky + ground, dtype=float), angle)
