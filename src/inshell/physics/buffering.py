"""Moisture that a finish takes up and gives back through a day."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats


def penetration_depth_m(
    *, permeability_kg_m_s_pa: Array, saturation_pa: Array, period_s: Array, moisture_capacity_kg_m3: Array
) -> Floats:
    """Depth to which a daily swing of humidity reaches into a material.

    Formula: d = sqrt(delta psat tau / (pi xi))
    Arguments: permeability_kg_m_s_pa [kg/(m s Pa)]; saturation_pa [Pa]; period_s [s]; moisture_capacity_kg_m3
    [kg/m3] for the whole range of relative humidity
    Returns: depth [m] at which the swing has fallen to 1/e
    Valid: thick layers, small swings about one humidity
    Source: effective penetration depth, solution of the diffusion equation for a sine at the surface

    >>> round(float(penetration_depth_m(permeability_kg_m_s_pa=2.5e-11, saturation_pa=2337.0, period_s=86400.0,
    ...                                 moisture_capacity_kg_m3=6.4)), 4)
    0.0158
    """
    swing = np.asarray(permeability_kg_m_s_pa) * saturation_pa * period_s
    return np.asarray(np.sqrt(swing / (np.pi * np.asarray(moisture_capacity_kg_m3))))


def uptake_kg_m2_s_pa(
    *, depth_m: Array, permeability_kg_m_s_pa: Array, coating_sd_m: Array, film_kg_m2_s_pa: Array, air_kg_m_s_pa: Array
) -> Floats:
    """Conductance for vapour from room air to the middle of the layer that takes part.

    Formula: 1 / (1/beta + sd/delta0 + d/(2 delta))
    Arguments: depth_m [m]; permeability_kg_m_s_pa [kg/(m s Pa)]; coating_sd_m [m]; film_kg_m2_s_pa [kg/(m2 s Pa)];
    air_kg_m_s_pa [kg/(m s Pa)] permeability of air
    Returns: conductance [kg/(m2 s Pa)]
    Valid: one layer behind one coating
    Source: resistances in series

    >>> float(uptake_kg_m2_s_pa(depth_m=0.0, permeability_kg_m_s_pa=1e-11, coating_sd_m=0.0,
    ...                         film_kg_m2_s_pa=2e-8, air_kg_m_s_pa=2e-10))
    2e-08
    """
    resistance = 1.0 / np.asarray(film_kg_m2_s_pa) + np.asarray(coating_sd_m) / air_kg_m_s_pa
    return np.asarray(1.0 / (resistance + 0.5 * np.asarray(depth_m) / permeability_kg_m_s_pa))
