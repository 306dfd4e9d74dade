"""Heat through a slab on the ground, and the temperature of the ground itself."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from inshell.physics.types import Array

RSI_FLOOR_M2K_W = 0.17
RSE_FLOOR_M2K_W = 0.04
EdgeKind = Literal["horizontal", "vertical"]


def equivalent_thickness_m(*, wall_thickness_m: float, ground_w_mk: float, floor_r_m2k_w: float) -> float:
    """Total equivalent thickness of a slab on the ground.

    Formula: dt = w + lambda (Rsi + Rf + Rse), Rsi 0.17, Rse 0.04
    Arguments: wall_thickness_m [m]; ground_w_mk [W/mK]; floor_r_m2k_w [m2K/W] all layers of the floor
    Returns: thickness [m]
    Valid: slabs in contact with the ground over their whole area
    Source: ISO 13370:2017, 7.1 (from memory)

    >>> round(equivalent_thickness_m(wall_thickness_m=0.3, ground_w_mk=1.5, floor_r_m2k_w=2.5), 3)
    4.365
    """
    return wall_thickness_m + ground_w_mk * (RSI_FLOOR_M2K_W + floor_r_m2k_w + RSE_FLOOR_M2K_W)


def slab_u_w_m2k(*, area_m2: float, perimeter_m: float, dt_m: float, ground_w_mk: float) -> float:
    """Steady U-value of a slab on the ground, without edge insulation.

    Formula: B' = A / (0.5 P); dt < B': U = 2 lambda/(pi B' + dt) ln(pi B'/dt + 1); else lambda/(0.457 B' + dt)
    Arguments: area_m2 [m2]; perimeter_m [m] exposed perimeter, > 0; dt_m [m]; ground_w_mk [W/mK]
    Returns: U [W/m2K]
    Valid: any slab on the ground; a slab with no exposed perimeter needs another method
    Raises: ValueError for a perimeter or area that is not positive
    Source: ISO 13370:2017, 7.1 (from memory)

    >>> round(slab_u_w_m2k(area_m2=10.0, perimeter_m=3.0, dt_m=0.615, ground_w_mk=1.5), 3)
    0.495
    """
    if area_m2 <= 0.0 or perimeter_m <= 0.0:
        raise ValueError("a slab needs a positive area and exposed perimeter")
    b = area_m2 / (0.5 * perimeter_m)
    if dt_m < b:
        return 2.0 * ground_w_mk / (math.pi * b + dt_m) * math.log(math.pi * b / dt_m + 1.0)
    return ground_w_mk / (0.457 * b + dt_m)


def edge_strip_ratio(*, strip_m: float, half_width_m: float, dt_m: float) -> float:
    """How many times the loss per area of a strip along the edge is that of the floor behind it.

    Formula: heat at x from the edge goes around an arc, lambda/(dt + pi x); its mean over 0..b against b..B:
        ln(1 + pi b/dt)/b over ln((dt + pi B)/(dt + pi b))/(B - b)
    Arguments: strip_m [m] b; half_width_m [m] B, how far the floor reaches from its edge; dt_m [m] equivalent thickness
    Returns: ratio [-], at least 1
    Valid: slabs on the ground without deep edge insulation
    Source: the arcs behind ISO 13370's logarithm; common practice

    >>> round(edge_strip_ratio(strip_m=1.0, half_width_m=4.0, dt_m=3.0), 3)
    2.311
    """
    if half_width_m <= strip_m:
        return 1.0
    edge = math.log(1.0 + math.pi * strip_m / dt_m) / strip_m
    behind = math.log((dt_m + math.pi * half_width_m) / (dt_m + math.pi * strip_m)) / (half_width_m - strip_m)
    return edge / behind


def edge_insulation_psi_w_mk(
    *, kind: EdgeKind, depth_m: float, insulation_m: float, insulation_r_m2k_w: float, dt_m: float, ground_w_mk: float
) -> float:
    """Correction of the perimeter loss for insulation along the edge (negative: it saves).

    Formula: d' = lambda (Rn - dn/lambda); dPsi = -(lambda/pi)[ln(D/dt + 1) - ln(D/(dt + d') + 1)];
    vertical insulation takes 2D for D
    Arguments: kind; depth_m [m] width or depth D; insulation_m [m] dn; insulation_r_m2k_w [m2K/W] Rn; dt_m [m];
    ground_w_mk [W/mK]
    Returns: dPsi [W/mK]
    Valid: continuous insulation, d' >= 0
    Source: ISO 13370:2017, annex B (from memory)

    >>> round(edge_insulation_psi_w_mk(kind="vertical", depth_m=0.6, insulation_m=0.05, insulation_r_m2k_w=1.7,
    ...                                dt_m=0.615, ground_w_mk=1.5), 3)
    -0.361
    """
    extra = max(0.0, ground_w_mk * (insulation_r_m2k_w - insulation_m / ground_w_mk))
    depth = 2.0 * depth_m if kind == "vertical" else depth_m
    return -(ground_w_mk / math.pi) * (math.log(depth / dt_m + 1.0) - math.log(depth / (dt_m + extra) + 1.0))


def periodic_coefficients_w_k(
    *, area_m2: float, perimeter_m: float, dt_m: float, ground_w_mk: float, penetration_m: float
) -> tuple[float, float]:
    """Annual swing of a slab's heat flow: coefficients for the indoor and the outdoor swing.

    Formula: Hpi = (A lambda/dt) sqrt(2/((1 + delta/dt)^2 + 1)); Hpe = 0.37 P lambda ln(delta/dt + 1)
    Arguments: area_m2 [m2]; perimeter_m [m]; dt_m [m]; ground_w_mk [W/mK]; penetration_m [m] (clay 2.2, sand 3.2,
    rock 4.2)
    Returns: (Hpi, Hpe) [W/K]
    Valid: yearly sine
    Source: ISO 13370:2017, annex H (from memory)

    >>> [round(h, 2) for h in periodic_coefficients_w_k(area_m2=100.0, perimeter_m=40.0, dt_m=0.615,
    ...                                                 ground_w_mk=1.5, penetration_m=2.2)]
    [73.62, 33.77]
    """
    ratio = penetration_m / dt_m
    inside = area_m2 * ground_w_mk / dt_m * math.sqrt(2.0 / ((1.0 + ratio) ** 2 + 1.0))
    return inside, 0.37 * perimeter_m * ground_w_mk * math.log(ratio + 1.0)


def undisturbed_ground_c(
    *, depth_m: Array, day: Array, mean_c: float, amplitude_k: float, coldest_day: float, diffusivity_m2_day: float
) -> Array:
    """Temperature of undisturbed ground at a depth on a day of the year.

    Formula: T = Tm - As exp(-z sqrt(pi/(365 a))) cos((2 pi/365)(t - t0 - (z/2) sqrt(365/(pi a))))
    Arguments: depth_m [m]; day [d] 1 to 365; mean_c [°C] and amplitude_k [K] at the surface; coldest_day [d] of the
    surface; diffusivity_m2_day [m2/day]
    Returns: temperature [°C]
    Valid: uniform soil, no snow, no building
    Source: Kusuda and Achenbach 1965

    >>> round(float(undisturbed_ground_c(depth_m=1.0, day=15, mean_c=12.0, amplitude_k=10.0, coldest_day=35.0,
    ...                                  diffusivity_m2_day=0.0432)), 3)
    7.499
    """
    z = np.asarray(depth_m, dtype=float)
    damping = np.exp(-z * math.sqrt(math.pi / (365.0 * diffusivity_m2_day)))
    lag = 0.5 * z * math.sqrt(365.0 / (math.pi * diffusivity_m2_day))
    return mean_c - amplitude_k * damping * np.cos(2.0 * math.pi / 365.0 * (np.asarray(day) - coldest_day - lag))
