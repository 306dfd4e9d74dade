"""Hot water at the taps: mixing, cold mains by season, how many run at once."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from inshell.physics.types import Array, Floats


def hot_flow_m3_s(*, flow_m3_s: Array, mixed_c: Array, cold_c: Array, hot_c: Array) -> Floats:
    """Hot water in a mixed flow.

    Formula: Qh = Q (Tm - Tc) / (Th - Tc)
    Arguments: flow_m3_s at the tap [m3/s]; mixed_c, cold_c, hot_c [°C], hot above cold
    Returns: flow [m3/s]; all of it where hot water is no warmer than what is asked
    Errors: ValueError where hot is not warmer than cold
    Valid: densities taken as equal
    Source: heat balance

    >>> round(float(hot_flow_m3_s(flow_m3_s=2.0, mixed_c=40.56, cold_c=10.0, hot_c=48.89)), 3)
    1.572
    """
    if np.any(np.asarray(hot_c) <= np.asarray(cold_c)):
        raise ValueError("hot water must be warmer than cold")
    share = (np.asarray(mixed_c, dtype=float) - cold_c) / (np.asarray(hot_c, dtype=float) - cold_c)
    return np.asarray(flow_m3_s * np.clip(share, 0.0, 1.0))


def mains_water_c(*, day: Array, mean_air_c: Array, monthly_swing_k: Array) -> Floats:
    """Cold water from the street through the year.

    Formula: [°F] Tm = (Ta + 6) + r (dT/2) sin(0.986 (d - 15 - lag) - 90), r = 0.4 + 0.01 (Ta - 44),
        lag = 35 - (Ta - 44)
    Arguments: day of the year, 1 to 365; mean_air_c yearly mean of outdoor air [°C]; monthly_swing_k [K] between the
        means of the warmest and the coldest month
    Returns: temperature [°C], never below 0.5
    Valid: buried mains of temperate climates; a private well follows the yearly mean
    Source: form published, coefficients from memory

    >>> coldest = mains_water_c(day=43, mean_air_c=18.5 / 1.8, monthly_swing_k=48 / 1.8)
    >>> round(float(coldest) * 1.8 + 32, 2)
    45.34
    """
    air_f, swing_f = np.asarray(mean_air_c) * 1.8 + 32.0, np.asarray(monthly_swing_k) * 1.8
    ratio, lag = 0.4 + 0.01 * (air_f - 44.0), 35.0 - (air_f - 44.0)
    turn = np.radians(0.986 * (np.asarray(day, dtype=float) - 15.0 - lag) - 90.0)
    return np.maximum((air_f + 6.0 + ratio * 0.5 * swing_f * np.sin(turn) - 32.0) / 1.8, 0.5)


def simultaneous(*, fixtures: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Every total flow that a set of fixtures can ask for at once, and how likely it is: all combinations, exactly.

    Formula: the sum over combinations of the product of p or (1 - p)
    Arguments: fixtures as (flow [m3/s], share of the busiest time that it runs)
    Returns: (flow, probability) by rising flow; probabilities add up to 1
    Valid: fixtures independent of one another
    Source: enumeration

    >>> [(f, round(p, 4)) for f, p in simultaneous(fixtures=[(2.0, 0.1), (1.0, 0.5)])]
    [(0.0, 0.45), (1.0, 0.45), (2.0, 0.05), (3.0, 0.05)]
    """
    told: dict[float, float] = {0.0: 1.0}
    for flow, share in fixtures:
        grown: dict[float, float] = {}
        for total, likely in told.items():
            for more, part in ((0.0, 1.0 - share), (flow, share)):
                at = round(total + more, 12)
                grown[at] = grown.get(at, 0.0) + likely * part
        told = grown
    return sorted(told.items())


def flow_exceeded(*, totals: list[tuple[float, float]], share: float) -> float:
    """The flow that is asked for or passed in no more than a share of the time.

    Formula: the least flow whose larger totals together have at most the share
    Arguments: totals of `simultaneous`; share, such as 0.01
    Returns: flow
    Valid: as its totals
    Source: definition of a quantile

    >>> flow_exceeded(totals=[(0.0, 0.9), (1.0, 0.08), (2.0, 0.015), (3.0, 0.005)], share=0.01)
    2.0
    """
    beyond = 0.0
    for flow, likely in sorted(totals, reverse=True):
        beyond += likely
        if beyond > share:
            return flow
    return 0.0
