"""A room that a fan feeds with air from another, in the steady state."""

from __future__ import annotations

import numpy as np

from inshell.physics.air import HEAT_CAPACITY_J_KGK, STANDARD_PRESSURE_PA
from inshell.physics.types import Array, Floats

TRADE_KG_M3 = 1.2


def room_with_transfer_c(
    *,
    room_loss_w_k: Array,
    partition_w_k: Array,
    flow_m3_s: Array,
    source_c: Array,
    outside_c: Array,
    gain_w: Array,
    pressure_pa: Array = STANDARD_PRESSURE_PA,
) -> Floats:
    """Steady temperature of a room between outdoors and a source room that a fan takes air from.

    Formula: T = (UA_o T_o + (rho cp q + UA_i) T_s + Q) / (UA_o + UA_i + rho cp q), rho 1.2 kg/m3 by the site's pressure
    Arguments: room_loss_w_k UA_o, partition_w_k UA_i [W/K]; flow_m3_s [m3/s]; source_c, outside_c [°C];
        gain_w [W]; pressure_pa [Pa] of the site
    Returns: temperature [°C]
    Valid: steady state, air of the source room, the room's own air going back
    Source: heat balance; rho cp 1207 J/m3K is the trade's 1.08 Btu/h per cfm and °F

    >>> round(float(room_with_transfer_c(room_loss_w_k=8.0, partition_w_k=16.0, flow_m3_s=0.0, source_c=21.0,
    ...                                  outside_c=-15.0, gain_w=0.0)), 6)
    9.0
    """
    density = TRADE_KG_M3 * np.asarray(pressure_pa) / STANDARD_PRESSURE_PA
    carried = density * HEAT_CAPACITY_J_KGK * np.asarray(flow_m3_s, dtype=float)
    joined = carried + np.asarray(partition_w_k)
    top = np.asarray(room_loss_w_k) * np.asarray(outside_c) + joined * np.asarray(source_c) + np.asarray(gain_w)
    return np.asarray(top / (np.asarray(room_loss_w_k) + joined))
