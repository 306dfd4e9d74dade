"""What moving air carries between rooms: heat, with what ventilators recover."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from inshell.network.links import AirNetwork, Exchange, Recovery
from inshell.physics.air import HEAT_CAPACITY_J_KGK
from inshell.physics.openings import horizontal_exchange_m3_s
from inshell.physics.types import Floats


class Flows(Protocol):
    """Mass flow from a to b and back on every route: a solved network, or where a house stands."""

    @property
    def forward_kg_s(self) -> Floats: ...  # noqa: D102

    @property
    def back_kg_s(self) -> Floats: ...  # noqa: D102


def mass_flows_kg_s(
    network: AirNetwork, exchanges: tuple[Exchange, ...], state: Flows, density_kg_m3: Floats
) -> Floats:
    """Flow from node a to node b as [b, a], outdoors last; stairs and hatches exchange by buoyancy as well."""
    size = network.outdoors + 1
    flows = np.zeros((size, size))
    columns = network.columns
    np.add.at(flows, (columns.b, columns.a), state.forward_kg_s)
    np.add.at(flows, (columns.a, columns.b), state.back_kg_s)
    for e in exchanges:
        above, below = float(density_kg_m3[e.above]), float(density_kg_m3[e.below])
        volume = horizontal_exchange_m3_s(diameter_m=e.diameter_m, density_above_kg_m3=above, density_below_kg_m3=below)
        flows[e.below, e.above] += float(volume) * above
        flows[e.above, e.below] += float(volume) * above
    return flows


def heat_exchange(
    network: AirNetwork, recoveries: tuple[Recovery, ...], state: Flows, flows_kg_s: Floats, outdoor_c: float
) -> tuple[Floats, Floats]:
    """(matrix [W/K], source [W]) that moving air adds to the rooms' heat balance.

    Air that comes in through a recovery ventilator is warmed by its share of the difference to the exhausted room.
    """
    count, cp = network.outdoors, HEAT_CAPACITY_J_KGK
    matrix = np.diag(flows_kg_s[:count].sum(axis=1)) * cp - flows_kg_s[:count, :count] * cp
    source = flows_kg_s[:count, count] * cp * outdoor_c
    for recovery in recoveries:
        link = network.links[recovery.link]
        recovered = float(state.forward_kg_s[recovery.link]) * cp * recovery.share
        matrix[link.b, recovery.exhaust_room] -= recovered
        source[link.b] -= recovered * outdoor_c
    return matrix, source
