"""What a transfer fan or an opening does to the quiet of a room."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats


def fan_sound_change_db(*, flow_ratio: Array) -> Floats:
    """How much louder one fan gets at another flow.

    Formula: dL = 50 log10(Q2/Q1)
    Arguments: flow_ratio Q2/Q1 [-]
    Returns: change [dB]
    Valid: one fan on one duct
    Source: fan laws (from memory)

    >>> round(float(fan_sound_change_db(flow_ratio=2.0)), 1)
    15.1
    """
    return np.asarray(50.0 * np.log10(np.asarray(flow_ratio, dtype=float)))


def partition_with_hole_db(*, partition_db: Array, partition_m2: Array, hole_m2: Array) -> Floats:
    """Sound reduction of a partition with an opening that lets everything through.

    Formula: R = -10 log10((S1 10^(-R1/10) + S0) / (S1 + S0))
    Arguments: partition_db R1 [dB]; partition_m2 S1, hole_m2 S0 [m2]
    Returns: sound reduction [dB]
    Valid: an open hole without lining
    Source: composite transmission (textbook)

    >>> round(float(partition_with_hole_db(partition_db=35.0, partition_m2=10.0, hole_m2=0.02)), 1)
    26.4
    """
    area, hole = np.asarray(partition_m2, dtype=float), np.asarray(hole_m2, dtype=float)
    through = area * 10.0 ** (-np.asarray(partition_db, dtype=float) / 10.0) + hole
    return np.asarray(-10.0 * np.log10(through / (area + hole)))
