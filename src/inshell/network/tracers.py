"""What air carries: steady concentrations, and the age of air, from solved flows."""

from __future__ import annotations

import numpy as np

from inshell.network.links import AirNetwork, AirState
from inshell.physics.types import Floats


def exchange_matrix(network: AirNetwork, state: AirState) -> Floats:
    """Matrix Q of mass flows: (Q c)_i is what leaves room i less what comes from other rooms [kg/s]."""
    count = len(network.rooms)
    matrix = np.zeros((count + 1, count + 1))
    for link, forward, back in zip(network.links, state.forward_kg_s, state.back_kg_s, strict=True):
        for source, target, flow in ((link.a, link.b, forward), (link.b, link.a, back)):
            matrix[source, source] += flow
            matrix[target, source] -= flow
    return matrix[:count, :count]


def steady_concentration(network: AirNetwork, state: AirState, *, source_kg_s: Floats, outdoor: float = 0.0) -> Floats:
    """Steady mass fraction of a tracer above (and with) its outdoor value: c = c_out + Q^-1 S."""
    return np.asarray(outdoor + np.linalg.solve(exchange_matrix(network, state), source_kg_s))


def age_of_air_s(network: AirNetwork, state: AirState, *, mass_kg: Floats) -> Floats:
    """Mean age of the air in every room: Q^-1 M, the time since it came in from outdoors."""
    return np.asarray(np.linalg.solve(exchange_matrix(network, state), mass_kg))
