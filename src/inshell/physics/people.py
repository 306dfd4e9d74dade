"""What people give off."""

from __future__ import annotations

from typing import Literal

import numpy as np

from inshell.physics.types import Array

Sex = Literal["female", "male", "either"]
RESPIRATORY_QUOTIENT = 0.85
# age from, male, female basal metabolic rate [MJ/day] (Persily and de Jonge 2017)
BASAL_MJ_DAY = (
    (3, 3.90, 3.59),
    (6, 5.14, 4.73),
    (11, 7.02, 6.03),
    (16, 7.77, 6.12),
    (21, 8.24, 6.49),
    (30, 7.83, 6.08),
    (40, 8.00, 6.16),
    (60, 6.84, 5.67),
)
MET = {"asleep": 0.95, "sitting": 1.3, "kitchen": 3.3}


def basal_rate_mj_day(*, age: int, sex: Sex) -> float:
    """Basal metabolic rate of a person of an age.

    Formula: row of the table; "either" is the mean of both
    Arguments: age [years]; sex
    Returns: rate [MJ/day]
    Valid: 3 years and older; the youngest row serves below
    Source: Persily and de Jonge 2017, table 3

    >>> round(basal_rate_mj_day(age=35, sex="either"), 3)
    6.955
    """
    row = BASAL_MJ_DAY[0]
    for candidate in BASAL_MJ_DAY:
        if age >= candidate[0]:
            row = candidate
    _, male, female = row
    return {"male": male, "female": female, "either": 0.5 * (male + female)}[sex]


def carbon_dioxide_l_s(*, basal_mj_day: Array, met: Array, room_c: Array = 0.0) -> Array:
    """Carbon dioxide that a person breathes out.

    Formula: 0.000569 RQ BMR met at 0 °C and 101 kPa, RQ 0.85; x T/273.15 for room air
    Arguments: basal_mj_day [MJ/day]; met [-] activity; room_c [°C] of the air in which it is counted
    Returns: flow [L/s]
    Valid: healthy people, 0.9 to 4 met
    Source: Persily and de Jonge 2017

    >>> round(float(carbon_dioxide_l_s(basal_mj_day=7.73, met=1.0)), 4)
    0.0037
    """
    return (
        0.000569
        * RESPIRATORY_QUOTIENT
        * np.asarray(basal_mj_day)
        * np.asarray(met)
        * (np.asarray(room_c) + 273.15)
        / 273.15
    )
