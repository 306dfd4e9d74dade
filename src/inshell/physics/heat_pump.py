"""Heat pumps from the points of their data sheets: capacity between them, frost, cycling below the least speed."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats

FROST_C, FROST_RANGE_C = (35.0 - 32.0) / 1.8, ((17.0 - 32.0) / 1.8, (47.0 - 32.0) / 1.8)
CYCLING_LOSS = 0.25


def frosted_w(*, at_17_w: Array, at_47_w: Array) -> Floats:
    """Heating capacity at 35 °F, where the outdoor coil frosts, if the data sheet does not say.

    Formula: 0.90 (Q17 + 0.6 (Q47 - Q17))
    Arguments: at_17_w, at_47_w, capacity at 17 and 47 °F [W]
    Returns: capacity at 35 °F [W]
    Valid: machines that defrost by reversing
    Source: 10 CFR 430 subpart B, appendix M1 (from memory)

    >>> float(frosted_w(at_17_w=2000.0, at_47_w=3000.0))
    2340.0
    """
    low = np.asarray(at_17_w, dtype=float)
    return np.asarray(0.90 * (low + 0.6 * (np.asarray(at_47_w) - low)))


def run_share(*, load_share: Array, loss: float = CYCLING_LOSS) -> Floats:
    """Share of time that a machine runs when it must give less than its least.

    Formula: RTF = LF/PLF, PLF = 1 - Cd (1 - LF); 1 from LF 1 on
    Arguments: load_share LF, load over least capacity [-]; loss Cd 0.20 to 0.25 [-]
    Returns: share of time [-]
    Valid: LF >= 0
    Source: 10 CFR 430 subpart B, appendix M1, part-load factor (from memory)

    >>> run_share(load_share=np.array([0.1, 0.3, 0.5, 0.75, 2.0])).round(4).tolist()
    [0.129, 0.3636, 0.5714, 0.8, 1.0]
    """
    share = np.clip(np.asarray(load_share, dtype=float), 0.0, 1.0)
    return np.asarray(share / (1.0 - loss * (1.0 - share)))


def cycles_per_hour(*, run: Array, most: float = 3.0) -> Floats:
    """Starts in an hour of a machine that a thermostat switches.

    Formula: N = 4 Nmax X (1 - X)
    Arguments: run X, share of time that it runs [-]; most Nmax, cycles an hour at half load [1/h]
    Returns: starts [1/h]
    Valid: X 0 to 1
    Source: the thermostat's parabola (NEMA DC 3; from memory)

    >>> float(cycles_per_hour(run=0.5))
    3.0
    """
    x = np.clip(np.asarray(run, dtype=float), 0.0, 1.0)
    return np.asarray(4.0 * most * x * (1.0 - x))
