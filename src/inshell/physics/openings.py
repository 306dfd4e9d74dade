"""Air through large openings: doors that stand open, and horizontal openings."""

from __future__ import annotations

import numpy as np

from inshell.physics.air import GRAVITY_M_S2
from inshell.physics.types import Array, Floats


def balanced_door_flow_m3_s(
    *, width_m: Array, height_m: Array, difference_k: Array, mean_k: Array, discharge: Array
) -> Array:
    """Flow each way through an open door between rooms of two temperatures, no net flow.

    Formula: Q = (Cd W / 3) sqrt(g H^3 dT / T)
    Arguments: width_m, height_m [m]; difference_k [K]; mean_k [K] mean absolute temperature; discharge [-]
    Returns: flow [m3/s] each way
    Valid: differences small against the absolute temperature; discharge 0.4 to 0.78 in the literature
    Source: Brown and Solvason 1962

    >>> round(float(balanced_door_flow_m3_s(width_m=0.9, height_m=2.0, difference_k=2.0, mean_k=293.15,
    ...                                     discharge=0.6)), 4)
    0.1317
    """
    return (
        np.asarray(discharge)
        * width_m
        / 3.0
        * np.sqrt(GRAVITY_M_S2 * np.asarray(height_m) ** 3 * np.asarray(difference_k) / mean_k)
    )


def door_mass_flows_kg_s(
    *,
    sill_pressure_pa: Array,
    density_1_kg_m3: Array,
    density_2_kg_m3: Array,
    width_m: Array,
    height_m: Array,
    discharge: Array,
) -> tuple[Floats, Floats]:
    """Mass flow each way through an upright opening between two rooms of constant density.

    Formula: p(z) = pb + k z with k = (rho2 - rho1) g; zn = -pb/k; each way (2/3) Cd W sqrt(2 rho k) times the
    height above (below) zn to the power 1.5, cut to the opening; k -> 0: Cd W H sqrt(2 rho dP)
    Arguments: sill_pressure_pa [Pa] p1 - p2 at the sill; density_1_kg_m3, density_2_kg_m3 [kg/m3]; width_m,
    height_m [m]; discharge [-]
    Returns: (1 to 2, 2 to 1) [kg/s], both positive
    Valid: turbulent flow, one density a room
    Source: integral of the orifice equation over the height (Brown and Solvason 1962 with net flow)

    >>> one, two = door_mass_flows_kg_s(sill_pressure_pa=-0.03552, density_1_kg_m3=1.2000, density_2_kg_m3=1.2041,
    ...                                 width_m=0.9, height_m=2.0, discharge=0.78)
    >>> bool(one > two)
    True
    """
    slope = (np.asarray(density_2_kg_m3, dtype=float) - density_1_kg_m3) * GRAVITY_M_S2
    bottom = np.asarray(sill_pressure_pa, dtype=float)
    top = bottom + slope * height_m
    # integral of sqrt|p| over the part of the height with p > 0 and with p < 0
    level = np.abs(top - bottom) < 1e-9 * (np.abs(bottom) + np.abs(top) + 1e-12)
    rise = np.where(level, 1.0, top - bottom)
    middle = 0.5 * (bottom + top)

    def part(sign: float) -> Floats:
        ends = [np.maximum(sign * end, 0.0) ** 1.5 for end in (top, bottom)]
        swept = 2.0 / 3.0 * sign * (ends[0] - ends[1]) * height_m / rise
        return np.asarray(np.where(level, np.sqrt(np.maximum(sign * middle, 0.0)) * height_m, swept))

    scale = np.asarray(discharge) * width_m * np.sqrt(2.0)
    return scale * np.sqrt(density_1_kg_m3) * part(1.0), scale * np.sqrt(density_2_kg_m3) * part(-1.0)


def horizontal_exchange_m3_s(*, diameter_m: Array, density_above_kg_m3: Array, density_below_kg_m3: Array) -> Array:
    """Buoyant exchange through a horizontal opening: none if the air above is the warmer.

    Formula: Q = 0.055 sqrt(g D^5 drho / rho), drho = rho_above - rho_below > 0, rho their mean
    Arguments: diameter_m [m] of a circle of the same area; density_above_kg_m3, density_below_kg_m3 [kg/m3]
    Returns: flow each way [m3/s]
    Valid: openings thin against their width
    Source: Epstein 1988 (from memory)

    >>> float(horizontal_exchange_m3_s(diameter_m=1.0, density_above_kg_m3=1.19, density_below_kg_m3=1.20))
    0.0
    """
    above, below = np.asarray(density_above_kg_m3, dtype=float), np.asarray(density_below_kg_m3, dtype=float)
    heavier = np.maximum(above - below, 0.0) / (0.5 * (above + below))
    return 0.055 * np.sqrt(GRAVITY_M_S2 * np.asarray(diameter_m) ** 5 * heavier)
