"""A floor that gives heat to the room above."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array


def floor_flux_w_m2(*, excess_k: Array) -> Array:
    """Heat from a floor to the room.

    Formula: q = 8.92 (tF - ti)^1.1
    Arguments: excess_k [K] mean floor surface over room temperature, >= 0
    Returns: flux [W/m2]
    Valid: heated floors, 0 to 15 K
    Source: EN 1264-2

    >>> round(float(floor_flux_w_m2(excess_k=5.0)), 2)
    52.39
    """
    return 8.92 * np.maximum(np.asarray(excess_k, dtype=float), 0.0) ** 1.1


def floor_excess_k(*, flux_w_m2: Array) -> Array:
    """How much warmer than the room a floor must be to give a flux: the inverse of `floor_flux_w_m2`.

    Formula: tF - ti = (q / 8.92)^(1/1.1)
    Arguments: flux_w_m2 [W/m2], >= 0
    Returns: excess [K]
    Valid: 0 to 175 W/m2
    Source: EN 1264-2

    >>> round(float(floor_excess_k(flux_w_m2=100.01)), 2)
    9.0
    """
    return (np.maximum(np.asarray(flux_w_m2, dtype=float), 0.0) / 8.92) ** (1.0 / 1.1)
