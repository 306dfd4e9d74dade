"""What makes warm water: efficiency by return temperature, heat pumps by lift, cycling below the least fire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.types import Array, Floats

RETURN_C = (np.array([60.0, 80.0, 100.0, 120.0, 130.0, 160.0]) - 32.0) / 1.8
EFFICIENCY = np.array([0.979, 0.956, 0.916, 0.885, 0.883, 0.875])
JACKET = 0.015
FIELD = 0.95


def condensing_efficiency(*, return_c: Array, losses: Array = JACKET) -> Floats:
    """Heat to water per fuel (higher heating value) of a condensing gas heater by its return temperature.

    Formula: combustion of methane in dry air of 25 °C with 30 % excess, flue 11 K (20 °F) above the return, less losses
    Arguments: return_c [°C]; losses, jacket and starting, as a share
    Returns: efficiency; outside 16 to 71 °C that of the nearest end
    Valid: clean exchanger; what condenses below about 54 °C depends on the excess air
    Source: combustion calculation tabulated at 60 to 160 °F; losses common practice

    >>> round(float(condensing_efficiency(return_c=37.78, losses=0.0)), 3)
    0.916
    """
    return np.asarray(np.interp(return_c, RETURN_C, EFFICIENCY) - losses)


def air_to_water_cop(*, source_c: Array, sink_c: Array, field: Array = FIELD) -> Floats:
    """Coefficient of performance of an air-to-water heat pump by its lift.

    Formula: COP = f (6.08 - 0.0941 d + 0.0005 d2), d = sink - source
    Arguments: source_c outdoor air, sink_c water [°C]; field f, what houses see of it
    Returns: coefficient of performance
    Valid: d of 15 to 60 K; a maker's map comes first
    Source: open fit over tested machines

    >>> [round(float(air_to_water_cop(source_c=0.0, sink_c=d, field=f)), 3) for d, f in ((30, 1), (45, 1), (30, 0.95))]
    [3.707, 2.858, 3.522]
    """
    lift = np.maximum(np.asarray(sink_c, dtype=float) - source_c, 15.0)
    return np.asarray(field * np.maximum(6.08 - 0.0941 * lift + 0.0005 * lift**2, 1.0))


@dataclass(frozen=True)
class Cycling:
    """How a heater runs at a load below its least fire."""

    run_s: float
    rest_s: float
    starts_per_h: float


def cycling(*, load_w: float, minimum_w: float, store_j_k: float, band_k: float) -> Cycling:
    """Run, rest and starts of a heater that can give no less than its least fire.

    Formula: t_on = C dT / (Qmin - Q), t_off = C dT / Q, starts = 3600 / (t_on + t_off)
    Arguments: load_w Q taken from the water, minimum_w Qmin [W]; store_j_k C of the water between [J/K]; band_k dT [K]
        between switching on and off
    Returns: run, rest [s]; starts in an hour, 0 where it never stops or never runs
    Valid: store mixed, load steady through a cycle
    Source: heat balance; most starts at half the least fire

    >>> cycle = cycling(load_w=2000.0, minimum_w=4000.0, store_j_k=80e3, band_k=5.0)
    >>> cycle.run_s, cycle.rest_s, cycle.starts_per_h
    (200.0, 200.0, 9.0)
    """
    if load_w <= 0.0:
        return Cycling(0.0, float("inf"), 0.0)
    if load_w >= minimum_w:
        return Cycling(float("inf"), 0.0, 0.0)
    run, rest = store_j_k * band_k / (minimum_w - load_w), store_j_k * band_k / load_w
    return Cycling(run, rest, 3600.0 / (run + rest))
