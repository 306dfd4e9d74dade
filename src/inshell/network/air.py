"""Air flow between rooms, solved for the datum pressure of every room: the readable reference.

Unknown: one pressure a room at height 0. At a height z the pressure is p - rho g z; outdoors -rho_out g z plus wind.
Residual: the sum of mass flow into each room. Newton with the exact derivative, damped by a line search; a room without
any route outdoors is held at 0 if no fan moves net air into its group, and refused by name if one does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from inshell.errors import NotConverged, refuse
from inshell.network.links import AirNetwork, AirState, Link, LinkColumns, LinkKind
from inshell.physics.air import GRAVITY_M_S2
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.openings import door_mass_flows_kg_s
from inshell.physics.types import Floats

LINEAR_BELOW_PA = 1e-3
TOLERANCE = 1e-10
NOTHING_KG_S = 1e-14
ROUNDING = 1e-15  # of a pressure, what a difference of two cannot resolve: a steep door turns it into a flow
MOST_ITERATIONS = 200
MOST_CUTS = 40
REACH_PA = 1000.0  # a step goes no further, or twice as far as the deepest pressure: fans end long before
KEEPS_KG_S_PA = 1e-18  # added to every slope, so that a room without any can be solved
STEP_PA = 1e-6
LEAST_DIFFERENCE_KG_M3 = 1e-5  # about 0.0025 K


def solve_air(
    network: AirNetwork,
    *,
    density_kg_m3: Floats,
    start_pa: Floats | None = None,
    wind_pa: Floats | None = None,
    share: Floats | None = None,
) -> AirState:
    """Pressures and flows of a network whose node densities (outdoors last) are given.

    `wind_pa` replaces the wind pressure of each route, `share` scales its flow. Raises NotConverged with the room that
    is furthest from balance.
    """
    count = len(network.rooms)
    wind = np.array([link.wind_pa for link in network.links]) if wind_pa is None else np.asarray(wind_pa, dtype=float)
    held, isolated = held_rooms(network)
    pressure = np.zeros(count + 1)
    if start_pa is not None:
        pressure[:count] = start_pa[:count]
    pressure[list(held)] = 0.0
    free = np.array([k for k in range(count) if k not in held], dtype=int)
    for iteration in range(MOST_ITERATIONS):
        forward, back, slope = _flows(network, pressure, density_kg_m3, wind, share)
        residual = _residual(network, forward - back)
        throughput = float(np.sum(forward + back)) or 1.0
        unseen = ROUNDING * float(np.max(np.abs(pressure))) * _steepest(network, slope, free)
        if not free.size or np.max(np.abs(residual[free])) <= max(TOLERANCE * throughput, unseen, NOTHING_KG_S):
            return AirState(pressure[:count], forward, back, residual[:count], iteration, throughput, isolated)
        step = _newton_step(network, residual, slope, free)
        pressure = _searched(network, pressure, step, free, (density_kg_m3, wind, share), residual)
    worst = network.rooms[int(free[np.argmax(np.abs(residual[free]))])]
    raise NotConverged(
        f"air flow, room {worst}", iterations=MOST_ITERATIONS, residual=float(np.max(np.abs(residual[free])))
    )


def held_rooms(network: AirNetwork) -> tuple[set[int], tuple[str, ...]]:
    """One room of every group that no route but a fan joins to outdoors."""
    groups = _groups(network)
    held: set[int] = set()
    names: list[str] = []
    for group in groups:
        if network.outdoors in group:
            continue
        fans = [k for k in network.links if k.kind is LinkKind.FAN and (k.a in group) != (k.b in group)]
        rooms = sorted(group)
        if fans:
            where = ", ".join(network.rooms[k] for k in rooms)
            raise refuse(
                where,
                f"fan {fans[0].name} moves air across a boundary that nothing else passes",
                "a way back for its air",
                "Give the room a leak, an undercut or a grille",
            )
        held.add(rooms[0])
        names += [network.rooms[k] for k in rooms]
    return held, tuple(names)


def _groups(network: AirNetwork) -> list[set[int]]:
    groups = [{k} for k in range(network.outdoors + 1)]
    for link in network.links:
        passes = link.kind is LinkKind.DOOR or (link.kind is LinkKind.CRACK and link.coefficient_m3_s_pan > 0.0)
        if passes:
            one, two = (next(g for g in groups if end in g) for end in (link.a, link.b))
            if one is not two:
                one |= two
                groups.remove(two)
    return groups


def _flows(
    network: AirNetwork, pressure: Floats, density: Floats, wind: Floats, share: Floats | None = None
) -> tuple[Floats, Floats, Floats]:
    """Mass flow from a to b, back, and the derivative of the net flow by the pressure difference, for every route.

    `share` scales a route: nothing passes where it is 0.
    """
    c = network.columns
    rho_a, rho_b = density[c.a], density[c.b]
    drop = pressure[c.a] - pressure[c.b] - (rho_a - rho_b) * GRAVITY_M_S2 * c.low_m - wind
    forward, back, slope = np.zeros(len(drop)), np.zeros(len(drop)), np.zeros(len(drop))
    for rows, of_kind in ((c.cracks, _cracks), (c.doors, _doors)):
        if rows.size:
            values = of_kind(c, rows, drop[rows], rho_a[rows], rho_b[rows])
            forward[rows], back[rows], slope[rows] = values
    for k in c.fans:
        forward[k], slope[k] = _fan(network.links[k], float(drop[k]), float(rho_a[k]))
    if share is not None:
        forward, back, slope = forward * share, back * share, slope * share
    return forward, back, slope


def _cracks(
    c: LinkColumns, rows: NDArray[np.int64], drop: Floats, rho_a: Floats, rho_b: Floats
) -> tuple[Floats, Floats, Floats]:
    """Power law, linear below a thousandth of a pascal so that its derivative stays finite."""
    size, ahead = np.abs(drop), drop >= 0.0
    n, strength = c.exponent[rows], np.where(ahead, rho_a, rho_b) * c.coefficient[rows]
    flow = strength * np.maximum(size, LINEAR_BELOW_PA) ** n
    small = size < LINEAR_BELOW_PA
    slope = np.where(small, flow / LINEAR_BELOW_PA, n * flow / np.maximum(size, LINEAR_BELOW_PA))
    flow = np.where(small, slope * size, flow)
    return np.where(ahead, flow, 0.0), np.where(ahead, 0.0, flow), slope


def _fan(link: Link, drop: float, rho_a: float) -> tuple[float, float]:
    """A fan from a to b must make the pressure -drop; helped along, it moves its free flow."""
    if link.curve is None:
        raise ValueError(f"fan {link.name} has no curve")
    against, points, flows = max(0.0, -drop), link.curve.pressure_pa, link.curve.flow_m3_s
    here = float(flow_at_m3_s(curve=link.curve, pressure_pa=against))
    k = int(np.searchsorted(points, against))  # it lies between this point and the one before
    falls = (flows[k - 1] - flows[k]) / (points[k] - points[k - 1]) if 0 < k < len(points) else 0.0
    return rho_a * here, max(0.0, rho_a * falls)


def _doors(
    c: LinkColumns, rows: NDArray[np.int64], drop: Floats, rho_a: Floats, rho_b: Floats
) -> tuple[Floats, Floats, Floats]:
    """Two-way flow. Densities are kept a hair apart: between like densities the slope at no pressure is infinite."""
    apart = np.where(rho_b >= rho_a, LEAST_DIFFERENCE_KG_M3, -LEAST_DIFFERENCE_KG_M3)
    rho_b = np.where(np.abs(rho_a - rho_b) < LEAST_DIFFERENCE_KG_M3, rho_a + apart, rho_b)

    def flows(sill: Floats) -> tuple[Floats, Floats]:
        return door_mass_flows_kg_s(
            sill_pressure_pa=sill,
            density_1_kg_m3=rho_a,
            density_2_kg_m3=rho_b,
            width_m=c.width_m[rows],
            height_m=c.height_m[rows],
            discharge=c.discharge[rows],
        )

    (one, two), (up, down) = flows(drop), flows(drop + STEP_PA)
    return one, two, np.maximum(1e-9, (up - down - one + two) / STEP_PA)


def _residual(network: AirNetwork, net: Floats) -> Floats:
    """Mass flow into every node."""
    total, c = np.zeros(network.outdoors + 1), network.columns
    np.add.at(total, c.a, -net)
    np.add.at(total, c.b, net)
    return total


def _steepest(network: AirNetwork, slope: Floats, free: Floats) -> float:
    """How much a room's balance changes with its pressure, at most [kg/(s Pa)]: rounding of pressures shows in it."""
    total, c = np.zeros(network.outdoors + 1), network.columns
    np.add.at(total, c.a, slope)
    np.add.at(total, c.b, slope)
    return float(np.max(total[free], initial=0.0))


def _newton_step(network: AirNetwork, residual: Floats, slope: Floats, free: Floats) -> Floats:
    matrix = np.zeros((network.outdoors + 1,) * 2)
    c = network.columns
    for rows, columns, sign in ((c.a, c.a, -1.0), (c.b, c.b, -1.0), (c.a, c.b, 1.0), (c.b, c.a, 1.0)):
        np.add.at(matrix, (rows, columns), sign * slope)
    part = matrix[np.ix_(free, free)]
    part -= KEEPS_KG_S_PA * np.eye(len(free))
    return np.asarray(np.linalg.solve(part, -residual[free]))


def _searched(
    network: AirNetwork,
    pressure: Floats,
    step: Floats,
    free: Floats,
    given: tuple[Floats, Floats, Floats | None],
    residual: Floats,
) -> Floats:
    """The step, shortened until it does not overshoot.

    Every route's flow rises with its drop, so the residual is the slope of a convex function of the pressures: along
    the step its projection falls, and a step that ends beyond twice the way to its root is cut back towards it. In a
    room that hardly leaks a first step would end at pressures where nothing is left of the slope.
    """
    ahead = float(step @ residual[free])
    share = min(1.0, max(REACH_PA, 2.0 * float(np.max(np.abs(pressure)))) / max(float(np.max(np.abs(step))), 1e-12))
    for _ in range(MOST_CUTS):
        trial = pressure.copy()
        trial[free] += share * step
        forward, back, _ = _flows(network, trial, *given)
        here = float(step @ _residual(network, forward - back)[free])
        if here >= -0.5 * ahead:
            return trial
        share *= min(max(ahead / (ahead - here), 0.1), 0.5)
    return trial
