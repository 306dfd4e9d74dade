"""What a fan moves against a pressure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.types import Array, Floats


@dataclass(frozen=True)
class FanCurve:
    """Flow against the pressure a fan must make, from points or from the declared default shape.

    `flow_m3_s` falls as `pressure_pa` rises; beyond the last pressure the fan moves nothing.
    """

    pressure_pa: tuple[float, ...]
    flow_m3_s: tuple[float, ...]
    assumed: bool = False

    @property
    def maximum_pressure_pa(self) -> float:
        """Pressure at which the flow ends."""
        return self.pressure_pa[-1]


def default_curve(*, rated_flow_m3_s: float, rated_pressure_pa: float, maximum_pressure_pa: float) -> FanCurve:
    """A declared curve for a fan of which only a rated point is known.

    Formula: p = pmax - (pmax - prated)(Q/Qrated)^2, in 33 points from Q(0) to 0
    Arguments: rated_flow_m3_s [m3/s]; rated_pressure_pa, maximum_pressure_pa [Pa]
    Returns: FanCurve marked as assumed
    Valid: rated_pressure_pa < maximum_pressure_pa
    Raises: ValueError if the rated pressure is not below the maximum
    Source: common practice; a maker's curve is better

    >>> curve = default_curve(rated_flow_m3_s=0.04, rated_pressure_pa=25.0, maximum_pressure_pa=125.0)
    >>> round(float(flow_at_m3_s(curve=curve, pressure_pa=25.0)), 4)
    0.04
    """
    if rated_pressure_pa >= maximum_pressure_pa:
        raise ValueError("the rated pressure must lie below the maximum pressure")
    span = maximum_pressure_pa - rated_pressure_pa
    share = np.concatenate([np.linspace(0.0, 1.0, 24), [rated_pressure_pa / maximum_pressure_pa, 0.999]])
    pressure = np.unique(share) * maximum_pressure_pa
    flow = rated_flow_m3_s * np.sqrt(np.maximum(0.0, maximum_pressure_pa - pressure) / span)
    return FanCurve(tuple(map(float, pressure)), tuple(map(float, flow)), assumed=True)


def flow_at_m3_s(*, curve: FanCurve, pressure_pa: Array) -> Array:
    """Flow of a fan against a pressure, linear between the points of its curve.

    Formula: linear interpolation; below the first pressure the first flow, beyond the last one nothing
    Arguments: curve; pressure_pa [Pa] that the fan must make
    Returns: flow [m3/s], never negative
    Valid: curves whose flow falls with pressure
    Source: definition

    >>> float(flow_at_m3_s(curve=FanCurve((0.0, 100.0), (0.05, 0.0)), pressure_pa=50.0))
    0.025
    """
    pressure = np.asarray(pressure_pa, dtype=float)
    return np.interp(pressure, curve.pressure_pa, curve.flow_m3_s, right=0.0)


def curve_from_points(*, pressure_pa: Floats, flow_m3_s: Floats) -> FanCurve:
    """A fan curve from measured or published points, sorted by pressure.

    Formula: none; points are sorted and checked
    Arguments: pressure_pa [Pa]; flow_m3_s [m3/s], shape (k,), at least two
    Returns: FanCurve
    Valid: flow must not rise with pressure
    Raises: ValueError if the flow rises with pressure or fewer than two points are given
    Source: definition

    >>> curve_from_points(pressure_pa=np.array([50.0, 0.0]), flow_m3_s=np.array([0.0, 0.04])).flow_m3_s
    (0.04, 0.0)
    """
    if len(pressure_pa) < 2:
        raise ValueError("a fan curve needs at least two points")
    order = np.argsort(pressure_pa)
    pressure, flow = np.asarray(pressure_pa)[order], np.asarray(flow_m3_s)[order]
    if np.any(np.diff(flow) > 0.0):
        raise ValueError("the flow rises with pressure along the curve")
    return FanCurve(tuple(map(float, pressure)), tuple(map(float, flow)))
