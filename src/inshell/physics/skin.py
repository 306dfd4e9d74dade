"""A skin of wood that a leak wets and dries: sorption, diffusion both ways, air that carries vapour past it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from inshell.errors import NotConverged
from inshell.physics.air import MOLAR_RATIO, saturation_pressure_pa
from inshell.physics.types import Array, Floats

HUMIDITY = np.array([0.0, 0.35, 0.50, 0.65, 0.80, 0.90, 0.95, 0.98, 1.0])
MOISTURE_KG_KG = np.array([0.0, 0.045, 0.060, 0.080, 0.110, 0.160, 0.200, 0.250, 0.300])
MOST_KG_KG = 1.5
WET_RISE = 1e-3  # above full sorption humidity hardly rises: what comes then is liquid


def humidity_of_board(*, moisture_kg_kg: Array) -> Floats:
    """Relative humidity in the pores of oriented strand board at a moisture content.

    Formula: linear between the points of a sorption curve; above the last, 1 and a thousandth per kg/kg
    Arguments: moisture_kg_kg [kg/kg] dry mass
    Returns: relative humidity [-]
    Valid: 0 to 1.5 kg/kg, no hysteresis
    Source: sorption of OSB, order of magnitude (from memory)

    >>> round(float(humidity_of_board(moisture_kg_kg=0.11)), 3)
    0.8
    """
    u = np.asarray(moisture_kg_kg, dtype=float)
    return np.asarray(np.interp(u, MOISTURE_KG_KG, HUMIDITY) + WET_RISE * np.maximum(u - MOISTURE_KG_KG[-1], 0.0))


@dataclass(frozen=True)
class AtSkin:
    """What acts on a skin: its temperature, a leak with its vapour and the share that touches it, diffusion both ways.

    Units: skin_c [°C]; leak_kg_s [kg/s]; leak_vapour [-] mass fraction; catch [-]; inside_kg_s_pa, outside_kg_s_pa
    [kg/(s Pa)]; inside_pa, outside_pa, pressure_pa [Pa].
    """

    skin_c: float
    leak_kg_s: float = 0.0
    leak_vapour: float = 0.0
    catch: float = 1.0
    inside_kg_s_pa: float = 0.0
    inside_pa: float = 0.0
    outside_kg_s_pa: float = 0.0
    outside_pa: float = 0.0
    pressure_pa: float = 101325.0


def skin_uptake_kg_s(*, moisture_kg_kg: Array, acting: AtSkin) -> Floats:
    """Water that a skin takes up (negative: gives off) from a leak and by diffusion.

    Formula: catch m (w_leak - w_skin) + G_in (p_in - p_skin) + G_out (p_out - p_skin), p_skin = phi(u) psat(T),
    w_skin = 0.622 p_skin / (p - 0.378 p_skin)
    Arguments: moisture_kg_kg [kg/kg]; acting: what acts on it
    Returns: uptake [kg/s]
    Valid: one temperature and one moisture content for the strip
    Source: mass balance of the strip; isothermal exchange between air and surface

    >>> float(skin_uptake_kg_s(moisture_kg_kg=0.11, acting=AtSkin(skin_c=5.0))) == 0.0
    True
    """
    skin_pa = humidity_of_board(moisture_kg_kg=moisture_kg_kg) * saturation_pressure_pa(temperature_c=acting.skin_c)
    at_skin = MOLAR_RATIO * skin_pa / (acting.pressure_pa - (1.0 - MOLAR_RATIO) * skin_pa)
    carried = acting.catch * acting.leak_kg_s * (acting.leak_vapour - at_skin)
    inward = acting.inside_kg_s_pa * (acting.inside_pa - skin_pa)
    return np.asarray(carried + inward + acting.outside_kg_s_pa * (acting.outside_pa - skin_pa))


def skin_step(*, moisture_kg_kg: float, dry_kg: float, step_s: float, acting: AtSkin) -> float:
    """Moisture content of a skin after a step.

    Formula: dry_kg (u1 - u0) / step = uptake(u1), implicit; the root lies between nothing and MOST_KG_KG
    Arguments: moisture_kg_kg [kg/kg] before; dry_kg [kg] of board; step_s [s]; acting: what acts on it
    Returns: moisture content [kg/kg], from 0 to 1.5
    Valid: any step; first order
    Raises: NotConverged if no root is found
    Source: backward Euler

    >>> acting = AtSkin(skin_c=5.0, leak_kg_s=1e-3, leak_vapour=0.006)
    >>> round(skin_step(moisture_kg_kg=0.11, dry_kg=2.0, step_s=3600.0, acting=acting), 5)
    0.11302
    """

    def left(u: float) -> float:
        return dry_kg * (u - moisture_kg_kg) / step_s - float(skin_uptake_kg_s(moisture_kg_kg=u, acting=acting))

    if left(MOST_KG_KG) <= 0.0:
        return MOST_KG_KG
    if left(0.0) >= 0.0:
        return 0.0
    root, told = brentq(left, 0.0, MOST_KG_KG, xtol=1e-13, full_output=True, disp=False)
    if not told.converged:
        raise NotConverged("moisture of a skin", iterations=told.iterations, residual=left(root))
    return float(root)


@dataclass(frozen=True)
class SkinCourse:
    """A skin hour by hour, shape (hours, cases): moisture content [kg/kg], and its pores' relative humidity [-]."""

    moisture_kg_kg: Floats
    humidity: Floats


LEVELS = np.append(MOISTURE_KG_KG, MOST_KG_KG)


def skin_course(
    *, start_kg_kg: Array, dry_kg: Array, skin_c: Floats, leak_kg_s: Floats, leak_vapour: Floats,
    inside_kg_s_pa: Array, inside_pa: Floats, outside_kg_s_pa: Array, outside_pa: Floats, step_s: float = 3600.0,
    pressure_pa: float = 101325.0,
) -> SkinCourse:  # fmt: skip
    """Many skins through many hours: the equations of `skin_step`, solved for all cases at once.

    Formula: dry_kg (u1 - u0)/step = m (w_leak - w_skin) + G_in (p_in - p_skin) + G_out (p_out - p_skin), implicit; the
        sorption curve's segment is found by the sign of the balance at its points, within it w_skin is linear in p_skin
        round the last step, taken twice
    Arguments: start_kg_kg, dry_kg, inside_kg_s_pa, outside_kg_s_pa for each case; skin_c, leak_kg_s (that touches the
        skin), leak_vapour, inside_pa, outside_pa for each hour and case, shape (hours, cases);
        step_s, pressure_pa [SI]
    Returns: SkinCourse
    Valid: one temperature and one moisture content for each strip; 0 to 1.5 kg/kg
    Source: as skin_step; checked against it

    >>> one = np.full((2, 1), 1.0)
    >>> told = skin_course(start_kg_kg=0.11, dry_kg=2.0, skin_c=5.0 * one, leak_kg_s=1e-3 * one,
    ...                    leak_vapour=0.006 * one, inside_kg_s_pa=0.0, inside_pa=0.0 * one, outside_kg_s_pa=0.0,
    ...                    outside_pa=0.0 * one)
    >>> round(float(told.moisture_kg_kg[0, 0]), 5)
    0.11302
    """
    hours, cases = np.broadcast_shapes(skin_c.shape, leak_kg_s.shape)
    shape = (hours, cases)
    leak, vapour, inside, outside = (np.broadcast_to(v, shape) for v in (leak_kg_s, leak_vapour, inside_pa, outside_pa))
    saturation = np.broadcast_to(saturation_pressure_pa(temperature_c=skin_c), shape)
    now = np.broadcast_to(np.asarray(start_kg_kg, dtype=float), (cases,)).copy()
    mass, g_in, g_out = (
        np.broadcast_to(np.asarray(v, dtype=float), (cases,)) for v in (dry_kg, inside_kg_s_pa, outside_kg_s_pa)
    )
    points = humidity_of_board(moisture_kg_kg=LEVELS)
    moisture, humidity = np.empty(shape), np.empty(shape)
    drives, per = leak * vapour + g_in * inside + g_out * outside, mass / step_s
    segment, pores = np.searchsorted(LEVELS[1:-1], now, side="right"), humidity_of_board(moisture_kg_kg=now)
    for hour in range(hours):
        sat, before = saturation[hour], now
        for _ in range(2):
            per_pa = MOLAR_RATIO / (pressure_pa - (1.0 - MOLAR_RATIO) * pores * sat)
            takes = (leak[hour] * per_pa + g_in + g_out) * sat
            now, pores, segment = _implicit(before, segment, per, drives[hour], takes, points)
        moisture[hour], humidity[hour] = now, pores
    return SkinCourse(moisture, humidity)


def _implicit(
    before: Floats, segment: NDArray[np.int64], per: Floats, drives: Floats, takes: Floats, points: Floats
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """u of per (u - before) = drives - takes phi(u), phi linear between its points; kept within their ends.

    Looks in a segment first, and goes on to the next one while the balance has the same sign at both of its ends.
    Returns u, phi(u) and the segment that holds u.
    """
    for _ in LEVELS:
        low = per * (LEVELS[segment] - before) - drives + takes * points[segment]
        high = per * (LEVELS[segment + 1] - before) - drives + takes * points[segment + 1]
        down, up = (low > 0.0) & (segment > 0), (high < 0.0) & (segment < len(LEVELS) - 2)
        if not (down | up).any():
            break
        segment = segment - down + up
    share = np.minimum(np.maximum(-low / np.maximum(high - low, 1e-300), 0.0), 1.0)
    u = LEVELS[segment] + share * (LEVELS[segment + 1] - LEVELS[segment])
    return u, points[segment] + share * (points[segment + 1] - points[segment]), segment
