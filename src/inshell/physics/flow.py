"""Air through leaks and holes."""

from __future__ import annotations

import math

import numpy as np

from inshell.physics.air import GRAVITY_M_S2
from inshell.physics.types import Array, Floats


def power_law_flow_m3_s(*, coefficient_m3_s_pan: Array, exponent: Array, pressure_pa: Array) -> Array:
    """Flow through a crack, with the sign of the pressure.

    Formula: Q = C sgn(dP) |dP|^n
    Arguments: coefficient_m3_s_pan [m3/(s Pa^n)]; exponent [-]; pressure_pa [Pa] indoor minus outdoor
    Returns: flow [m3/s], positive outward
    Valid: exponent 0.5 to 1
    Source: ASTM E779-19; ISO 9972:2015

    >>> round(float(power_law_flow_m3_s(coefficient_m3_s_pan=0.01, exponent=0.65, pressure_pa=-10.0)), 5)
    -0.04467
    """
    pressure = np.asarray(pressure_pa, dtype=float)
    return coefficient_m3_s_pan * np.sign(pressure) * np.abs(pressure) ** exponent


def coefficient_m3_s_pan(*, flow_m3_s: Array, pressure_pa: Array, exponent: Array) -> Array:
    """Leakage coefficient from one flow at one pressure.

    Formula: C = Q / |dP|^n
    Arguments: flow_m3_s [m3/s]; pressure_pa [Pa], not zero; exponent [-]
    Returns: coefficient [m3/(s Pa^n)]
    Valid: exponent 0.5 to 1
    Source: ISO 9972:2015, 6.1.3

    >>> round(float(coefficient_m3_s_pan(flow_m3_s=0.1, pressure_pa=50.0, exponent=0.65)), 6)
    0.007864
    """
    return np.asarray(flow_m3_s) / np.abs(np.asarray(pressure_pa, dtype=float)) ** exponent


def leakage_area_m2(
    *, coefficient_m3_s_pan: Array, exponent: Array, pressure_pa: float, discharge: float, density_kg_m3: float
) -> Array:
    """Area of the hole that would pass the same flow at a reference pressure.

    Formula: A = C dP^n / (Cd sqrt(2 dP / rho)); ELA: 4 Pa, Cd 1; EqLA: 10 Pa, Cd 0.611
    Arguments: coefficient_m3_s_pan [m3/(s Pa^n)]; exponent [-]; pressure_pa [Pa]; discharge [-]; density_kg_m3 [kg/m3]
    Returns: area [m2]
    Valid: exponent 0.5 to 1
    Source: ASTM E779-19, 9 (4 Pa); CGSB 149.10 (10 Pa)

    >>> round(float(leakage_area_m2(coefficient_m3_s_pan=0.01, exponent=0.65, pressure_pa=4.0, discharge=1.0,
    ...                             density_kg_m3=1.2041)), 6)
    0.009553
    """
    velocity = math.sqrt(2.0 * pressure_pa / density_kg_m3)
    return coefficient_m3_s_pan * pressure_pa**exponent / (discharge * velocity)


def stack_gradient_pa_m(*, inside_kg_m3: float, outside_kg_m3: float) -> float:
    """Growth of the indoor-minus-outdoor pressure with height.

    Formula: d(dP)/dz = (rho_out - rho_in) g
    Arguments: inside_kg_m3, outside_kg_m3 [kg/m3]
    Returns: gradient [Pa/m]
    Valid: one density a side
    Source: ASHRAE Handbook Fundamentals, Ventilation and Infiltration

    >>> round(stack_gradient_pa_m(inside_kg_m3=1.2041, outside_kg_m3=1.3414), 3)
    1.346
    """
    return (outside_kg_m3 - inside_kg_m3) * GRAVITY_M_S2


def mean_leak_flow(
    *, floor_pressure_pa: float, gradient_pa_m: float, low_m: Floats, high_m: Floats, exponent: float
) -> Floats:
    """Mean of sgn(p) |p|^n over surfaces along which the pressure changes with height.

    Formula: (1/(z2 - z1)) integral sgn(p) |p|^n dz, p = p0 + g z = [|p|^(n+1)] / ((n + 1) g (z2 - z1))
    Arguments: floor_pressure_pa [Pa] at height 0; gradient_pa_m [Pa/m]; low_m, high_m [m] shape (k,); exponent [-]
    Returns: mean [Pa^n], shape (k,)
    Valid: exponent 0.5 to 1
    Source: integral of the power law, solved by hand

    >>> round(float(mean_leak_flow(floor_pressure_pa=0.0, gradient_pa_m=1.0, low_m=np.array([0.0]),
    ...                            high_m=np.array([4.0]), exponent=0.5)[0]), 4)
    1.3333
    """
    bottom, top = floor_pressure_pa + gradient_pa_m * low_m, floor_pressure_pa + gradient_pa_m * high_m
    rise = top - bottom
    flat = np.abs(rise) < 1e-9
    power = exponent + 1.0
    swept = (np.abs(top) ** power - np.abs(bottom) ** power) / (power * np.where(flat, 1.0, rise))
    middle = 0.5 * (top + bottom)
    return np.asarray(np.where(flat, np.sign(middle) * np.abs(middle) ** exponent, swept))


def hole_flow_m3_s(
    *, area_m2: Array, pressure_pa: Array, discharge: float = 0.6, density_kg_m3: float = 1.2041
) -> Array:
    """Flow through a sharp hole.

    Formula: Q = Cd A sqrt(2 dP / rho), with the sign of the pressure
    Arguments: area_m2 [m2]; pressure_pa [Pa]; discharge [-]; density_kg_m3 [kg/m3] of the air that flows
    Returns: flow [m3/s]
    Valid: holes small against the wall, turbulent flow
    Source: orifice equation; Cd 0.6 common practice

    >>> round(float(hole_flow_m3_s(area_m2=0.00064516, pressure_pa=50.0)) * 2118.88, 2)
    7.47
    """
    pressure = np.asarray(pressure_pa, dtype=float)
    return discharge * np.asarray(area_m2) * np.sign(pressure) * np.sqrt(2.0 * np.abs(pressure) / density_kg_m3)
