"""Reduction of a fan pressurisation test: the fit, its uncertainty and the density corrections."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inshell.physics.air import pressurisation_density_kg_m3, viscosity_pa_s
from inshell.physics.types import Floats

Method = Literal["astm-e779", "iso-9972", "as-entered"]
Direction = Literal["depressurise", "pressurise"]
REFERENCE_DENSITY_KG_M3 = 1.2041


@dataclass(frozen=True)
class PowerLawFit:
    """Q = C dP^n fitted to readings, with the 95 % precision of the fit (None where it cannot be known)."""

    coefficient_m3_s_pan: float
    exponent: float
    r2: float
    exponent_half_width: float | None
    ln_coefficient_half_width: float | None
    points: int
    mean_x: float
    variance_x: float
    exponent_error: float | None
    t95: float | None

    def flow_m3_s(self, pressure_pa: float) -> float:
        """Flow of the fitted line at a pressure."""
        return float(self.coefficient_m3_s_pan * pressure_pa**self.exponent)

    def ln_flow_half_width(self, pressure_pa: float) -> float | None:
        """Half width of the 95 % interval of ln Q at a pressure: precision only, no instrument bias."""
        if self.exponent_error is None or self.t95 is None:
            return None
        x = math.log(pressure_pa)
        spread = (self.points - 1) / self.points * self.variance_x + (x - self.mean_x) ** 2
        return self.t95 * self.exponent_error * math.sqrt(spread)


def fit_power_law(*, pressure_pa: Floats, flow_m3_s: Floats) -> PowerLawFit:
    """Fit of Q = C dP^n by ordinary least squares on logarithms.

    Formula: x = ln dP, y = ln Q, sample variances over N - 1; n = Sxy/Sx^2; ln C = ybar - n xbar;
    Sn = (1/Sx) sqrt((Sy^2 - n Sxy)/(N - 2)); SlnC = Sn sqrt(sum x^2/N); 95 % by Student's t with N - 2
    Arguments: pressure_pa [Pa] > 0, shape (N,); flow_m3_s [m3/s] > 0, shape (N,)
    Returns: PowerLawFit; the intervals are None for two points
    Valid: at least two points at different pressures; the standards ask for five or more
    Raises: ValueError for fewer than two points, values that are not positive, or one pressure only
    Source: ASTM E779-19, annex A1 (from memory)

    >>> p = np.array([10.0, 20.0, 40.0, 60.0])
    >>> round(fit_power_law(pressure_pa=p, flow_m3_s=0.04 * p**0.65).exponent, 6)
    0.65
    """
    pressure, flow = np.asarray(pressure_pa, dtype=float), np.asarray(flow_m3_s, dtype=float)
    if len(pressure) < 2 or np.any(pressure <= 0.0) or np.any(flow <= 0.0):
        raise ValueError("a fit needs two points or more, all above zero")
    x, y = np.log(pressure), np.log(flow)
    count = len(x)
    sx2, sy2 = float(np.var(x, ddof=1)), float(np.var(y, ddof=1))
    if sx2 < 1e-8:
        raise ValueError("all readings stand at one pressure")
    sxy = float(np.sum((x - x.mean()) * (y - y.mean()))) / (count - 1)
    n = sxy / sx2
    error, t95 = _exponent_error(sx2=sx2, sy2=sy2, sxy=sxy, count=count)
    half = None if error is None or t95 is None else t95 * error
    return PowerLawFit(
        coefficient_m3_s_pan=math.exp(float(y.mean()) - n * float(x.mean())),
        exponent=n,
        r2=sxy**2 / (sx2 * sy2) if sy2 > 0.0 else 0.0,
        exponent_half_width=half,
        ln_coefficient_half_width=None if half is None else half * math.sqrt(float(np.sum(x**2)) / count),
        points=count,
        mean_x=float(x.mean()),
        variance_x=sx2,
        exponent_error=error,
        t95=t95,
    )


def _exponent_error(*, sx2: float, sy2: float, sxy: float, count: int) -> tuple[float | None, float | None]:
    if count < 3:
        return None, None
    from scipy.special import stdtrit

    residual = max(0.0, sy2 - sxy**2 / sx2)
    return math.sqrt(residual / (count - 2)) / math.sqrt(sx2), float(stdtrit(count - 2, 0.975))


def envelope_flow_factor(*, direction: Direction, inside_c: float, outside_c: float, elevation_m: float) -> float:
    """Factor from the flow at the fan to the flow through the envelope.

    Formula: depressurise: rho_in/rho_out; pressurise: rho_out/rho_in
    Arguments: direction; inside_c, outside_c [°C]; elevation_m [m]
    Returns: factor [-]
    Valid: flow given as actual volume where the fan stands
    Source: ASTM E779-19, 9; ISO 9972:2015, 6.1.2 (from memory)

    >>> round(envelope_flow_factor(direction="depressurise", inside_c=20.0, outside_c=0.0, elevation_m=0.0), 4)
    0.9317
    """
    inside = float(pressurisation_density_kg_m3(temperature_c=inside_c, elevation_m=elevation_m))
    outside = float(pressurisation_density_kg_m3(temperature_c=outside_c, elevation_m=elevation_m))
    return inside / outside if direction == "depressurise" else outside / inside


def standard_coefficient_factor(*, method: Method, leak_air_c: float, elevation_m: float, exponent: float) -> float:
    """Factor that brings the leakage coefficient to 20 °C at sea level.

    Formula: E779: (mu/mu0)^(2n-1) (rho/rho0)^(1-n); ISO 9972: (rho/rho0)^(1-n); as entered: 1
    Arguments: method; leak_air_c [°C] of the air that passes the leaks (outdoor air when depressurising);
    elevation_m [m]; exponent [-]
    Returns: factor [-]
    Valid: exponent 0.5 to 1
    Source: ASTM E779-19, 9 and annex; ISO 9972:2015, 6.1.3 (from memory)

    >>> round(standard_coefficient_factor(method="iso-9972", leak_air_c=0.0, elevation_m=0.0, exponent=0.65), 4)
    1.0251
    """
    if method == "as-entered":
        return 1.0
    rho = float(pressurisation_density_kg_m3(temperature_c=leak_air_c, elevation_m=elevation_m))
    factor = (rho / REFERENCE_DENSITY_KG_M3) ** (1.0 - exponent)
    if method == "astm-e779":
        ratio = float(viscosity_pa_s(temperature_c=leak_air_c) / viscosity_pa_s(temperature_c=20.0))
        factor *= float(ratio ** (2.0 * exponent - 1.0))
    return float(factor)
