"""A cooling coil that air passes: apparatus dew point, bypass, what it takes out of the air and what it gives back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.air import MOLAR_RATIO, saturation_pressure_pa
from inshell.physics.types import Array, Floats

DRY_J_KGK, VAPOUR_J_KGK, VAPORISATION_0_J_KG = 1006.0, 1860.0, 2_501_000.0
NEWTON_STEPS, HALVINGS = 6, 50
WET_S = 1000.0  # latent capacity that wet fins hold, as time at the running rate (from memory)
DRIES = 1.5  # first rate of drying over the running latent rate (from memory)
CYCLES_MOST_H = 3.0  # cycles an hour at half load (from memory)


def enthalpy_j_kg(*, temperature_c: Array, ratio: Array) -> Floats:
    """Enthalpy of moist air per kilogram of dry air.

    Formula: h = 1006 t + W (2501000 + 1860 t)
    Arguments: temperature_c [°C]; ratio W, vapour over dry air [kg/kg]
    Returns: enthalpy [J/kg]
    Valid: -30 to 60 °C
    Source: ASHRAE Fundamentals, Psychrometrics

    >>> round(float(enthalpy_j_kg(temperature_c=25.0, ratio=0.010)))
    50625
    """
    t, w = np.asarray(temperature_c, dtype=float), np.asarray(ratio, dtype=float)
    return np.asarray(DRY_J_KGK * t + w * (VAPORISATION_0_J_KG + VAPOUR_J_KGK * t))


def saturated_ratio(*, temperature_c: Array, pressure_pa: Array) -> Floats:
    """Vapour over dry air at saturation.

    Formula: W = 0.621945 ps / (p - ps)
    Arguments: temperature_c [°C]; pressure_pa [Pa]
    Returns: ratio [kg/kg]
    Valid: ps below p
    Source: ideal gases; saturation as ISO 13788

    >>> round(float(saturated_ratio(temperature_c=13.0, pressure_pa=101325.0)), 5)
    0.00933
    """
    saturated = np.asarray(saturation_pressure_pa(temperature_c=temperature_c))
    return np.asarray(MOLAR_RATIO * saturated / (np.asarray(pressure_pa) - saturated))


@dataclass(frozen=True)
class CoilPoint:
    """What a coil does at one point: the air that leaves, its apparatus dew point, bypass and water taken out."""

    leaving_c: float
    leaving_ratio: float
    adp_c: float
    bypass: float
    moisture_kg_s: float


def coil_at_rating(
    *,
    entering_c: float,
    ratio: float,
    dry_air_kg_s: float,
    total_w: float,
    sensible_share: float,
    pressure_pa: float = 101325.0,
) -> CoilPoint:
    """A coil from its rating: where the straight line through entering and leaving air meets saturation.

    Formula: t2 = t1 - SHR q/(m (1006 + 1860 W1)); h2 = h1 - q/m; ADP on the line in t and W; BF = (h2-ha)/(h1-ha)
    Arguments: entering_c [°C]; ratio [kg/kg]; dry_air_kg_s [kg/s]; total_w [W]; sensible_share [-];
        pressure_pa [Pa]
    Returns: CoilPoint
    Errors: ValueError where the line misses saturation (more water than such air can lose) or air would leave too cold
    Valid: above freezing; the heat of the condensate is left out. A rating that stays dry tells of no contact: the
        line then meets saturation at the dew point of the entering air, as it does for the least water
    Source: ASHRAE Fundamentals, apparatus dew point and bypass factor (textbook)

    >>> rating = {"entering_c": 26.67, "ratio": 0.01115, "total_w": 2637.6, "sensible_share": 0.75}
    >>> point = coil_at_rating(dry_air_kg_s=0.1638, **rating)
    >>> round(point.adp_c, 1), round(point.bypass, 2)
    (12.9, 0.14)
    """
    t2 = entering_c - sensible_share * total_w / (dry_air_kg_s * (DRY_J_KGK + VAPOUR_J_KGK * ratio))
    h1 = float(enthalpy_j_kg(temperature_c=entering_c, ratio=ratio))
    h2 = h1 - total_w / dry_air_kg_s
    w2 = (h2 - DRY_J_KGK * t2) / (VAPORISATION_0_J_KG + VAPOUR_J_KGK * t2)
    slope = (ratio - w2) / (entering_c - t2)

    def over(adp: float) -> float:
        return ratio - slope * (entering_c - adp) - float(saturated_ratio(temperature_c=adp, pressure_pa=pressure_pa))

    if t2 < -10.0 or w2 < 0.0 or over(t2) > 0.0:
        raise ValueError("the air would leave colder or wetter than air can be")
    low, high = t2 - 1.0, t2
    while over(low) < 0.0:
        low -= 1.0
        if low < -20.0:
            raise ValueError("the line through entering and leaving air does not meet saturation")
    for _ in range(HALVINGS):  # scipy's root finders would take longer to import than all heads of a house to solve
        adp = 0.5 * (low + high)
        low, high = (adp, high) if over(adp) > 0.0 else (low, adp)
    at = float(
        enthalpy_j_kg(temperature_c=adp, ratio=float(saturated_ratio(temperature_c=adp, pressure_pa=pressure_pa)))
    )
    return CoilPoint(t2, w2, adp, (h2 - at) / (h1 - at), dry_air_kg_s * max(0.0, ratio - w2))


def bypass_at_flow(*, bypass: Array, rated_kg_s: Array, dry_air_kg_s: Array) -> Floats:
    """Bypass factor at another air flow, the coil's surface being what it is.

    Formula: BF = exp(-A0/m), A0 = -m_rated ln BF_rated
    Arguments: bypass [-] at rated_kg_s [kg/s]; dry_air_kg_s [kg/s]
    Returns: bypass factor [-]
    Valid: one coil, wet or dry
    Source: ASHRAE Fundamentals (textbook)

    >>> round(float(bypass_at_flow(bypass=0.2, rated_kg_s=0.2, dry_air_kg_s=0.1)), 3)
    0.04
    """
    return np.asarray(np.asarray(bypass) ** (np.asarray(rated_kg_s) / np.asarray(dry_air_kg_s)))


def apparatus_c(*, entering_c: Array, ratio: Array, contact_kg_s: Array, total_w: Array, pressure_pa: Array) -> Floats:
    """Apparatus dew point of a coil that takes a total of heat out of the air.

    Formula: h_sat(T) = h1 - q/(m (1 - BF)), by Newton from h1's side; a coil above the air's dew point is dry, there
        T = t1 - q/(m (1 - BF) cp)
    Arguments: entering_c [°C]; ratio [kg/kg]; contact_kg_s = m (1 - BF) [kg/s]; total_w [W]; pressure_pa [Pa]
    Returns: temperature [°C]
    Valid: above -40 °C
    Source: textbook; the dew point follows the load (holding it fixed is the trap)

    >>> a = {"entering_c": 24.0, "contact_kg_s": 0.1, "total_w": 1500.0, "pressure_pa": 101325.0}
    >>> round(float(apparatus_c(ratio=0.0093, **a)), 2)
    11.49
    """
    t1, w1 = np.asarray(entering_c, dtype=float), np.asarray(ratio, dtype=float)
    contact, p = np.maximum(np.asarray(contact_kg_s, dtype=float), 1e-9), np.asarray(pressure_pa, dtype=float)
    cp = DRY_J_KGK + VAPOUR_J_KGK * w1
    wanted = enthalpy_j_kg(temperature_c=t1, ratio=w1) - np.asarray(total_w) / contact
    here = t1
    for _ in range(NEWTON_STEPS):
        saturated = np.asarray(saturation_pressure_pa(temperature_c=here))
        w = MOLAR_RATIO * saturated / (p - saturated)
        rise = np.where(here >= 0.0, 17.269 * 237.3 / (237.3 + here) ** 2, 21.875 * 265.5 / (265.5 + here) ** 2)
        slope = DRY_J_KGK + VAPOUR_J_KGK * w
        slope = slope + (VAPORISATION_0_J_KG + VAPOUR_J_KGK * here) * w * rise * p / (p - saturated)
        here = np.maximum(here - (enthalpy_j_kg(temperature_c=here, ratio=w) - wanted) / slope, -40.0)
    dry = t1 - np.asarray(total_w) / (contact * cp)
    is_wet = saturated_ratio(temperature_c=dry, pressure_pa=p) < w1
    return np.asarray(np.where(is_wet, here, dry))


def sensible_w(*, entering_c: Array, ratio: Array, contact_kg_s: Array, total_w: Array, pressure_pa: Array) -> Floats:
    """The sensible part of what a coil takes out of the air.

    Formula: qs = m (1 - BF) (1006 + 1860 W1) (t1 - ADP); all of it where the coil is dry
    Arguments: entering_c, ratio, contact_kg_s, total_w, pressure_pa as apparatus_c takes them
    Returns: sensible heat [W]
    Valid: as apparatus_c
    Source: textbook

    >>> a = {"entering_c": 24.0, "contact_kg_s": 0.1, "total_w": 2000.0, "pressure_pa": 101325.0}
    >>> round(float(sensible_w(ratio=0.002, **a))), round(float(sensible_w(ratio=0.011, **a)))
    (2000, 1313)
    """
    given = {"contact_kg_s": contact_kg_s, "total_w": total_w, "pressure_pa": pressure_pa}
    adp = apparatus_c(entering_c=entering_c, ratio=ratio, **given)
    cp = DRY_J_KGK + VAPOUR_J_KGK * np.asarray(ratio, dtype=float)
    return np.asarray(np.asarray(contact_kg_s) * cp * (np.asarray(entering_c) - adp))


def kept_with_fan_on(*, running: Array) -> Floats:
    """Share of the running latent capacity that is left over when the indoor fan blows over a wet coil that stands.

    Formula: t_on = 900/(N (1 - X)) s, t_off = 900/(N X) s, N 3 cycles an hour at half load; what dries off before the
        next start, 1 - exp(-1.5 t_off/1000 s) of a full coil, must be wetted again: 1 - 1000 s (...)/t_on, not below 0
    Arguments: running X, the share of time that the compressor runs [-]
    Returns: share [-], 1 where it never stops
    Valid: X 0 to 1
    Source: Henderson and Rengarajan 1996 (from memory), start-up left out

    >>> kept_with_fan_on(running=np.array([0.2, 0.7, 1.0])).round(2).tolist()
    [0.0, 0.53, 1.0]
    """
    x = np.clip(np.asarray(running, dtype=float), 1e-6, 1.0 - 1e-9)
    on, off = 900.0 / (CYCLES_MOST_H * (1.0 - x)), 900.0 / (CYCLES_MOST_H * x)
    return np.asarray(np.maximum(0.0, 1.0 - WET_S * (1.0 - np.exp(-DRIES * off / WET_S)) / on))
