"""Air over time: what an on-off fan is worth, exposure to a steady source, one zone that breathes."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats


def on_off_effectiveness(*, on_fraction: float, changes: float) -> float:
    """What an on-off fan is worth against one that always runs, for a steady source in a well-mixed zone.

    Formula: 1 = e f (2 - f) + (N/2)(1 - f)^2 coth(N/(2 e)), e = Q_eq/(f Q_on), solved for e
    Arguments: on_fraction f, share of the cycle that it runs [-]; changes N = Q_eq T / V in one cycle of length T [-]
    Returns: effectiveness e [-], 1 where it always runs
    Errors: ValueError where it stands so long that no flow could make up for it (N (1 - f)^2 / 2 >= 1)
    Valid: f above 0; the same mean concentration as the flow Q_eq would leave
    Source: mean of the periodic concentration, derived for this project

    >>> round(on_off_effectiveness(on_fraction=0.5, changes=1.0), 4)
    0.9791
    """
    from scipy.optimize import brentq

    f, n = on_fraction, changes
    if f >= 1.0 or n <= 0.0:
        return 1.0

    if 0.5 * n * (1.0 - f) ** 2 >= 1.0:
        raise ValueError("it stands so long that no flow makes up for it")

    def over(e: float) -> float:
        return e * f * (2.0 - f) + 0.5 * n * (1.0 - f) ** 2 / float(np.tanh(n / (2.0 * e))) - 1.0

    return float(brentq(over, 1e-9, 1.0 + 1e-9, xtol=1e-14))


def relative_exposure(*, required_m3_s: float, volume_m3: float, flows_m3_s: Array, step_s: float = 3600.0,
                      start: float = 1.0) -> Floats:  # fmt: skip
    """Exposure to a steady source against that at the required flow, at the end of each step.

    Formula: Q > 0: R = Qtot/Q + (R0 - Qtot/Q) exp(-Q dt/V); Q = 0: R = R0 + Qtot dt/V
    Arguments: required_m3_s Qtot [m3/s]; volume_m3 V [m3]; flows_m3_s Q of each step [m3/s]; step_s dt [s]; start R0
    Returns: relative exposure [-], shape of the flows
    Valid: one well-mixed zone
    Source: ASHRAE 62.2, appendix C (from memory)

    >>> relative_exposure(required_m3_s=50 / 3600, volume_m3=300.0, flows_m3_s=[0.0, 100 / 3600]).round(4).tolist()
    [1.1667, 0.9777]
    """
    now, told = start, []
    for flow in np.atleast_1d(np.asarray(flows_m3_s, dtype=float)):
        if flow > 0.0:
            ratio = required_m3_s / flow
            now = ratio + (now - ratio) * np.exp(-flow * step_s / volume_m3)
        else:
            now = now + required_m3_s * step_s / volume_m3
        told.append(now)
    return np.array(told)


def zone_ppm(*, outdoor_flow_m3_s: float, source_m3_s: float, volume_m3: float, start_ppm: float, after_s: Array,
             outdoor_ppm: float = 420.0) -> Floats:  # fmt: skip
    """Carbon dioxide in one zone after some time.

    Formula: V dC/dt = Q (Cout - C) + G, solved
    Arguments: outdoor_flow_m3_s Q, source_m3_s G [m3/s]; volume_m3 V [m3]; start_ppm, outdoor_ppm [ppm]; after_s [s]
    Returns: concentration [ppm]
    Valid: one well-mixed zone
    Source: mass balance

    >>> round(float(zone_ppm(outdoor_flow_m3_s=0.004, source_m3_s=6.906e-6, volume_m3=30.0, start_ppm=600.0,
    ...                      after_s=3600.0)), 1)
    1189.6
    """
    after, outside = np.asarray(after_s, dtype=float), outdoor_ppm
    if outdoor_flow_m3_s <= 0.0:
        return np.asarray(start_ppm + 1e6 * source_m3_s * after / volume_m3)
    steady = outside + 1e6 * source_m3_s / outdoor_flow_m3_s
    return np.asarray(steady + (start_ppm - steady) * np.exp(-outdoor_flow_m3_s * after / volume_m3))
