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


def sone_at_flow(*, rated_sone: Array, flow_ratio: Array) -> Floats:
    """Loudness of a fan at another flow than it is rated for.

    Formula: phon = 40 + 10 log2(sone); phon changes by 50 log10(Q/Qrated); so sone = rated x 2^(5 log10(Q/Qrated))
    Arguments: rated_sone [sone]; flow_ratio Q/Qrated [-], above 0
    Returns: loudness [sone]
    Valid: one fan on one duct, its spectrum as rated; an estimate beside a rating
    Source: sone and phon by definition (Stevens); fan laws (from memory)

    >>> round(float(sone_at_flow(rated_sone=1.0, flow_ratio=0.5)), 2)
    0.35
    """
    louder = fan_sound_change_db(flow_ratio=np.maximum(np.asarray(flow_ratio, dtype=float), 1e-6))
    return np.asarray(np.asarray(rated_sone, dtype=float) * 2.0 ** (louder / 10.0))
