"""Mould on surfaces by temperature, humidity and time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.physics.types import Array, Floats


@dataclass(frozen=True)
class Sensitivity:
    """How fast and how far mould grows on a surface: k1 below and from index 1 on, A, B, C, least humidity [%]."""

    slow: float
    fast: float
    a: float
    b: float
    c: float
    least_percent: float


CLASSES = {
    "very-sensitive": Sensitivity(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    "sensitive": Sensitivity(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    "medium": Sensitivity(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    "resistant": Sensitivity(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}
LIMIT = 3.0
FAST_H, PAUSE_H, FAST_LOSS, SLOW_LOSS, DECLINE = 6.0, 24.0, 0.00133, 0.000667, 0.1


def critical_percent(*, temperature_c: Array, least_percent: float) -> Floats:
    """Relative humidity above which mould grows.

    Formula: max(-0.00267 T^3 + 0.160 T^2 - 3.13 T + 100, least) up to 20 °C, the least above
    Arguments: temperature_c T [degC]; least_percent of the class [%]
    Returns: critical relative humidity [%]
    Valid: 0 to 50 degC; below and above nothing grows
    Source: Hukka and Viitanen 1999; ASHRAE 160-2016 (from memory)

    >>> round(float(critical_percent(temperature_c=5.0, least_percent=80.0)), 2)
    88.02
    """
    t = np.asarray(temperature_c, dtype=float)
    curve = -0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0
    return np.asarray(np.where(t <= 20.0, np.maximum(curve, least_percent), least_percent))


def mould_index(
    *, temperature_c: Array, humidity: Array, surface: str, start: Array = 0.0, decline: float = DECLINE
) -> Floats:
    """Mould index at the end of every hour.

    Formula: dM/h = k1 k2 / (168 exp(-0.68 ln T - 13.9 ln RH + 66.02)) above the critical humidity,
        k2 = max(0, 1 - exp(2.3 (M - Mmax))), Mmax = A + B x - C x^2, x = (RHcrit - RH)/(RHcrit - 100), RH in per cent;
        else -0.00133 k3 for 6 h, 0 until 24 h, -0.000667 k3 after, M never below 0
    Arguments: temperature_c T, humidity (0 to 1), one row an hour, further axes are cases; surface:
        very-sensitive (pine sapwood), sensitive (OSB, planed wood, paper), medium, resistant; start M at the
        beginning; decline k3 (1 for pine)
    Returns: M [-], shape of the hours; 3 is where mould can be seen
    Errors: KeyError for a surface that is no class
    Valid: W = SQ = 0 (pine, kiln-dried); an index of likelihood, no measurement
    Source: Hukka and Viitanen 1999; ASHRAE 160-2016 (from memory)

    >>> round(float(mould_index(temperature_c=np.full(28 * 24, 20.0), humidity=np.full(28 * 24, 0.90),
    ...                         surface="sensitive")[-1]), 2)
    0.55
    """
    kind = CLASSES[surface]
    temperature, percent = np.broadcast_arrays(
        np.asarray(temperature_c, dtype=float), 100.0 * np.asarray(humidity, dtype=float)
    )
    critical = critical_percent(temperature_c=temperature, least_percent=kind.least_percent)
    grows = (temperature > 0.0) & (temperature < 50.0) & (percent >= critical)
    warm, damp = np.maximum(temperature, 1e-3), np.clip(percent, 1.0, 100.0)
    rate = 1.0 / (168.0 * np.exp(-0.68 * np.log(warm) - 13.9 * np.log(damp) + 66.02))
    x = (critical - damp) / np.minimum(critical - 100.0, -1e-9)
    most = kind.a + kind.b * x - kind.c * x**2
    shape, loss = grows.shape, decline * _loss(grows)
    rows = (len(grows), -1)
    begin = np.full(shape[1:], start, dtype=float).reshape(-1)
    course = _course(begin, grows.reshape(rows), rate.reshape(rows), most.reshape(rows), loss.reshape(rows), kind)
    return course.reshape(shape)


def _loss(grows: NDArray[np.bool_]) -> Floats:
    """Loss of the index in each hour, before the surface's own share of it: none while it grows."""
    hour = np.arange(1.0, len(grows) + 1.0).reshape(-1, *[1] * (grows.ndim - 1))
    out_h = hour - np.maximum.accumulate(np.where(grows, hour, 0.0), axis=0)
    after = np.where(out_h <= PAUSE_H, 0.0, SLOW_LOSS)
    return np.asarray(np.where(grows, 0.0, np.where(out_h <= FAST_H, FAST_LOSS, after)))


def _course(
    index: Floats, grows: NDArray[np.bool_], rate: Floats, most: Floats, loss: Floats, kind: Sensitivity
) -> Floats:
    """The index hour by hour and case by case. Hours in which no case grows are taken together: a loss never turns."""
    told, begun = np.empty(grows.shape), 0
    damp = np.flatnonzero(grows.any(axis=1)).tolist()
    for hour in [*damp, len(grows)]:
        if hour > begun:
            told[begun:hour] = np.maximum(0.0, index - np.cumsum(loss[begun:hour], axis=0))
            index = told[hour - 1]
        if hour < len(grows):
            mine = np.flatnonzero(grows[hour])
            m = index[mine]
            slows = np.maximum(0.0, 1.0 - np.exp(np.minimum(2.3 * (m - most[hour, mine]), 50.0)))
            index = np.maximum(0.0, index - loss[hour])
            index[mine] = m + np.where(m < 1.0, kind.slow, kind.fast) * slows * rate[hour, mine]
            told[hour] = index
        begun = hour + 1
    return told
