"""Air through a slit, and what it can leave on a cold skin."""

from __future__ import annotations

import numpy as np

from inshell.physics.air import dew_point_c, mass_fraction, saturation_pressure_pa
from inshell.physics.types import Array, Floats

AIR_KG_M3, VISCOSITY_PA_S, SEA_LEVEL_PA = 1.2, 1.818e-5, 101325.0


def slit_flow_m3_s(*, width_m: Array, depth_m: Array, length_m: Array, pressure_pa: Array) -> Floats:
    """Laminar flow through a narrow slit.

    Formula: Q = w^3 L dP/(12 mu depth), mu 1.818e-5 Pa s
    Arguments: width_m w, depth_m along the flow, length_m L of the slit [m]; pressure_pa [Pa]
    Returns: flow [m3/s]
    Valid: Reynolds number (rho Q/(mu L)) below about 1000; entry losses left out, so it is a little too much
    Source: plane Poiseuille flow (textbook)

    >>> round(float(slit_flow_m3_s(width_m=0.5e-3, depth_m=0.25, length_m=1.0, pressure_pa=4.0)) * 1000, 4)
    0.0092
    """
    w = np.asarray(width_m, dtype=float)
    return np.asarray(
        w**3 * np.asarray(length_m) * np.asarray(pressure_pa) / (12.0 * VISCOSITY_PA_S * np.asarray(depth_m))
    )


def humidity_ratio(*, temperature_c: Array, humidity: Array, pressure_pa: float = SEA_LEVEL_PA) -> Floats:
    """Vapour a kilogram of dry air carries.

    Formula: W = w/(1 - w), w the mass fraction at pv = phi psat
    Arguments: temperature_c [degC]; humidity phi, 0 to 1; pressure_pa [Pa]
    Returns: W [kg/kg]
    Valid: -60 to 80 degC
    Source: definition

    >>> round(float(humidity_ratio(temperature_c=21.0, humidity=0.40)) * 1000, 2)
    6.16
    """
    vapour = np.asarray(humidity, dtype=float) * saturation_pressure_pa(temperature_c=temperature_c)
    share = np.asarray(mass_fraction(vapour_pa=vapour, pressure_pa=pressure_pa))
    return share / (1.0 - share)


def deposit_kg_s(
    *, flow_m3_s: Array, inside_c: Array, humidity: Array, skin_c: Array, catch: float = 1.0,
    pressure_pa: float = SEA_LEVEL_PA,
) -> Floats:  # fmt: skip
    """Water that air through a leak leaves on a skin.

    Formula: m = eta rho q max(0, W_i - W_sat(T_s)), rho = 1.2 p/101325
    Arguments: flow_m3_s q outward [m3/s]; inside_c [degC], humidity 0 to 1 of the air; skin_c T_s [degC]; catch eta,
        the share that the skin takes (1: an upper bound); pressure_pa [Pa]
    Returns: deposit [kg/s], frost below freezing
    Valid: steady; the leak does not warm the skin
    Source: mass balance; ASHRAE Fundamentals, Moisture (textbook)

    >>> round(float(deposit_kg_s(flow_m3_s=1e-3, inside_c=21.0, humidity=0.35, skin_c=-5.0)) * 86400, 3)
    0.302
    """
    carried = humidity_ratio(temperature_c=inside_c, humidity=humidity, pressure_pa=pressure_pa)
    kept = humidity_ratio(temperature_c=skin_c, humidity=1.0, pressure_pa=pressure_pa)
    density = AIR_KG_M3 * pressure_pa / SEA_LEVEL_PA
    return np.asarray(catch * density * np.asarray(flow_m3_s, dtype=float) * np.maximum(carried - kept, 0.0))


def highest_humidity(*, outside_c: Array, inside_c: Array, factor: Array) -> Floats:
    """Greatest indoor humidity that leaves an inside surface dry.

    Formula: psat(ts)/psat(ti), ts = te + fRsi (ti - te), at most 1
    Arguments: outside_c te, inside_c ti [degC]; factor fRsi, 0 to 1 [-]
    Returns: relative humidity, 0 to 1
    Valid: steady
    Source: ISO 13788:2012, temperature factor

    >>> round(float(highest_humidity(outside_c=-10.0, inside_c=21.0, factor=0.7)), 3)
    0.553
    """
    outside, inside = np.asarray(outside_c, dtype=float), np.asarray(inside_c, dtype=float)
    surface = outside + np.asarray(factor) * (inside - outside)
    ratio = saturation_pressure_pa(temperature_c=surface) / saturation_pressure_pa(temperature_c=inside)
    return np.asarray(np.minimum(ratio, 1.0))


def least_factor(*, outside_c: Array, inside_c: Array, humidity: Array, most_humidity: float = 0.8) -> Floats:
    """Least temperature factor that keeps the humidity at an inside surface within a limit.

    Formula: (ts - te)/(ti - te), psat(ts) = phi psat(ti)/limit
    Arguments: outside_c te, inside_c ti [degC]; humidity phi indoors, 0 to 1; most_humidity at the surface, 0.8
    Returns: fRsi at least [-]
    Valid: te below ti
    Source: ISO 13788:2012, clause 5

    >>> round(float(least_factor(outside_c=-5.0, inside_c=20.0, humidity=0.5)), 3)
    0.705
    """
    outside, inside = np.asarray(outside_c, dtype=float), np.asarray(inside_c, dtype=float)
    wanted = np.asarray(humidity) * saturation_pressure_pa(temperature_c=inside) / most_humidity
    return np.asarray((dew_point_c(vapour_pa=wanted) - outside) / (inside - outside))
