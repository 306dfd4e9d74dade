"""A zone between house and outdoors under the test fan: what leaks where, with a hole or a door opened."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.flow import hole_flow_m3_s
from inshell.physics.types import Array, Floats

HOUSE_PA = 50.0


def leak_ratio(*, house_to_zone_pa: Array, exponent: float = 0.65, house_pa: float = HOUSE_PA) -> Floats:
    """Leakage between house and zone over that between zone and outdoors.

    Formula: C_hz/C_zo = (z/p)^n, p from house to zone, z = house - p from zone to outdoors
    Arguments: house_to_zone_pa p [Pa]; exponent n; house_pa, the house against outdoors [Pa]
    Returns: ratio [-]
    Valid: 0 < p < house_pa; one zone, both leaks with one exponent
    Source: mass balance of the zone

    >>> round(float(leak_ratio(house_to_zone_pa=37.5)), 3)
    0.49
    """
    p = np.asarray(house_to_zone_pa, dtype=float)
    return np.asarray(((house_pa - p) / p) ** exponent)


@dataclass(frozen=True)
class ZoneLeaks:
    """Coefficients of both sides of a zone, C in Q = C dP^n [m3/(s Pa^n)], and their standard errors."""

    outdoors: float
    house: float
    outdoors_error: float
    house_error: float


def add_a_hole(
    *, before_pa: float, after_pa: float, hole_m2: float, exponent: float = 0.65, house_pa: float = HOUSE_PA,
    reading_error_pa: float = 0.5,
) -> ZoneLeaks:  # fmt: skip
    """Both sides of a zone from its pressure before and after a hole of known area opens towards the house.

    Formula: C_zo = Qh/(z2^n - (z1/p1)^n p2^n), C_hz = C_zo (z1/p1)^n, Qh through the hole at p2, Cd 0.6;
        errors by differences of each reading, added in squares
    Arguments: before_pa p1, after_pa p2 from house to zone [Pa]; hole_m2 [m2]; exponent n; house_pa [Pa];
        reading_error_pa of each reading [Pa]
    Returns: ZoneLeaks
    Errors: ValueError where the hole does not lower the pressure between house and zone
    Valid: p2 < p1, the fan holding house_pa; reject where the error is as large as the result
    Source: mass balances before and after, derived

    >>> told = add_a_hole(before_pa=40.0, after_pa=30.0, hole_m2=50 * 0.0254**2)
    >>> round(told.outdoors / 4.719474e-4, 2), round(told.house / 4.719474e-4, 2)
    (87.61, 35.58)
    """

    def both(p1: float, p2: float) -> tuple[float, float]:
        if not 0.0 < p2 < p1 < house_pa:
            raise ValueError("the second reading must lie below the first, both between nothing and the house's")
        ratio = float(leak_ratio(house_to_zone_pa=p1, exponent=exponent, house_pa=house_pa))
        through = float(hole_flow_m3_s(area_m2=hole_m2, pressure_pa=p2))
        outdoors = through / ((house_pa - p2) ** exponent - ratio * p2**exponent)
        return outdoors, ratio * outdoors

    outdoors, house = both(before_pa, after_pa)
    step = min(0.05, 0.2 * (before_pa - after_pa))
    sides = []
    for k in range(2):
        by_first = (both(before_pa + step, after_pa)[k] - both(before_pa - step, after_pa)[k]) / (2.0 * step)
        by_second = (both(before_pa, after_pa + step)[k] - both(before_pa, after_pa - step)[k]) / (2.0 * step)
        sides.append(reading_error_pa * float(np.hypot(by_first, by_second)))
    return ZoneLeaks(outdoors, house, sides[0], sides[1])


def open_the_door_m3_s(
    *, closed_m3_s: float, open_m3_s: float, zone_pa: float, exponent: float = 0.65, house_pa: float = HOUSE_PA
) -> float:
    """Leakage of a zone to outdoors at the house's test pressure, from the test flow with its door shut and open.

    Formula: (Q_open - Q_closed)/(1 - (z/house)^n), z from zone to outdoors with the door shut
    Arguments: closed_m3_s, open_m3_s test flows at house_pa [m3/s]; zone_pa z [Pa]; exponent n; house_pa [Pa]
    Returns: flow [m3/s]
    Valid: the open door leaves the zone at the house's pressure; z well below it
    Source: mass balance

    >>> round(open_the_door_m3_s(closed_m3_s=900.0, open_m3_s=1060.0, zone_pa=22.0), 2)
    386.91
    """
    return float((open_m3_s - closed_m3_s) / (1.0 - (zone_pa / house_pa) ** exponent))
