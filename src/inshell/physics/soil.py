"""Air that an opening in a slab draws out of the soil."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats

VISCOSITY_PA_S = 1.8e-5
PERMEABILITIES_M2 = (1e-10, 1e-9, 1e-8)  # silty, sandy, gravel


def soil_inflow_m3_s(*, area_m2: Array, pressure_pa: Array, permeability_m2: Array) -> Floats:
    """Flow of soil gas into an open disc at the soil's surface.

    Formula: Q = 4 k r dP/mu, r = sqrt(A/pi), mu 1.8e-5 Pa s
    Arguments: area_m2 A of bare soil in the opening [m2]; pressure_pa dP that draws [Pa]; permeability_m2 k [m2]
    Returns: flow [m3/s]
    Valid: even, deep soil; laminar; an order of magnitude, no radon level follows from it
    Source: disc sink in a half space (textbook)

    >>> round(float(soil_inflow_m3_s(area_m2=0.09, pressure_pa=3.0, permeability_m2=1e-9)) * 3600, 3)
    0.406
    """
    radius = np.sqrt(np.asarray(area_m2, dtype=float) / np.pi)
    return np.asarray(4.0 * np.asarray(permeability_m2) * radius * np.asarray(pressure_pa) / VISCOSITY_PA_S)
