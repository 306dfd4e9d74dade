"""Sun on any surface, hour by hour."""

from __future__ import annotations

import numpy as np

from inshell.climate.year import ClimateYear
from inshell.physics.shading import horizon_altitude_deg
from inshell.physics.types import Floats


def incident_w_m2(
    year: ClimateYear,
    *,
    tilt_deg: float,
    azimuth_deg: float,
    ground_reflectance: float = 0.2,
    skyline: tuple[tuple[float, float], ...] = (),
    beam_share: Floats | float = 1.0,
) -> Floats:
    """Irradiance on a surface in each hour: beam, sky (Perez) and ground.

    The skyline takes away the beam (and the sky's bright ring round the sun) while the sun is behind it;
    `beam_share` is what an overhang or fins let through.
    """
    import pvlib

    mass = pvlib.atmosphere.get_relative_airmass(year.sun_zenith_deg)
    altitude = 90.0 - year.sun_zenith_deg
    seen = altitude > horizon_altitude_deg(azimuth_deg=year.sun_azimuth_deg, horizon=skyline)
    parts = pvlib.irradiance.get_total_irradiance(
        tilt_deg,
        azimuth_deg,
        year.sun_zenith_deg,
        year.sun_azimuth_deg,
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
    return np.asarray(beam + sky + ground, dtype=float)
