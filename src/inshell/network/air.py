"""Air flow between rooms, solved for the datum pressure of every room: the readable reference.

Unknown: one pressure a room at height 0. At a height z the pressure is p - rho g z; outdoors -rho_out g z plus wind.
Residual: the sum of mass flow into each room. Newton with the exact derivative, damped by a line search; a room without
any route outdoors is held at 0 if no fan moves net air into its group, and refused by name if one does.
"""

from __future__ import annotations

import numpy as np

from inshell.errors import NotConverged, refuse
from inshell.network.links import AirNetwork, AirState, Link, LinkKind
from inshell.physics.air import GRAVITY_M_S2
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.openings import door_mass_flows_kg_s
from inshell.physics.types import Floats

LINEAR_BELOW_PA = 1e-3
TOLERANCE = 1e-10
MOST_ITERATIONS = 200
STEP_PA = 1e-6
LEAST_DIFFERENCE_KG_M3 = 1e-5  # about 0.0025 K


def solve_air(
    network: AirNetwork, *, density_kg_m3: Floats, start_pa: Floats | None = None, wind_pa: Floats | None = None
) -> AirState:
    """Pressures and flows of a network whose node densities (outdoors last) are given.

    `wind_pa` replaces the wind pressure of each route. Raises NotConverged with the room that is furthest from balance.
    """
    count = len(network.rooms)
    wind = np.array([link.wind_pa for link in network.links]) if wind_pa is None else np.asarray(wind_pa, dtype=float)
    held, isolated = _held_rooms(network)
    pressure = np.zeros(count + 1)
    if start_pa is not None:
        pressure[:count] = start_pa[:count]
    pressure[list(held)] = 0.0
    free = np.array([k for k in range(count) if k not in held], dtype=int)
    for iteration in range(MOST_ITERATIONS):
        forward, back, slope = _flows(network, pressure, density_kg_m3, wind)
        residual = _residual(network, forward - back)
        throughput = float(np.sum(forward + back)) or 1.0
        if not free.size or np.max(np.abs(residual[free])) <= TOLERANCE * throughput:
            return AirState(pressure[:count], forward, back, residual[:count], iteration, throughput, isolated)
        step = _newton_step(network, residual, slope, free)
        pressure = _searched(network, pressure, step, free, density_kg_m3, wind, residual)
    worst = network.rooms[int(free[np.argmax(np.abs(residual[free]))])]
    raise NotConverged(
        f"air flow, room {worst}", iterations=MOST_ITERATIONS, residual=float(np.max(np.abs(residual[free])))
    )


def _held_rooms(network: AirNetwork) -> tuple[set[int], tuple[str, ...]]:
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


def _flows(network: AirNetwork, pressure: Floats, density: Floats, wind: Floats) -> tuple[Floats, Floats, Floats]:
    """Mass flow from a to b, back, and the derivative of the net flow by the pressure difference, for every route."""
    rows = [_one(link, pressure, density, float(w)) for link, w in zip(network.links, wind, strict=True)]
    forward, back, slope = (np.array(column) for column in zip(*rows, strict=True)) if rows else (np.zeros(0),) * 3
    return forward, back, slope


def _one(link: Link, pressure: Floats, density: Floats, wind_pa: float) -> tuple[float, float, float]:
    rho_a, rho_b = float(density[link.a]), float(density[link.b])
    drop = pressure[link.a] - pressure[link.b] - (rho_a - rho_b) * GRAVITY_M_S2 * link.low_m - wind_pa
    if link.kind is LinkKind.CRACK:
        return _crack(link, float(drop), rho_a, rho_b)
    if link.kind is LinkKind.FAN:
        return _fan(link, float(drop), rho_a)
    return _door(link, float(drop), rho_a, rho_b)


def _crack(link: Link, drop: float, rho_a: float, rho_b: float) -> tuple[float, float, float]:
    """Power law, linear below a thousandth of a pascal so that its derivative stays finite."""
    c, n, size = link.coefficient_m3_s_pan, link.exponent, abs(drop)
    rho = rho_a if drop >= 0.0 else rho_b
    if size < LINEAR_BELOW_PA:
        slope = rho * c * LINEAR_BELOW_PA ** (n - 1.0)
        flow = slope * size
    else:
        flow = rho * c * size**n
        slope = n * flow / size
    return (flow, 0.0, slope) if drop >= 0.0 else (0.0, flow, slope)


def _fan(link: Link, drop: float, rho_a: float) -> tuple[float, float, float]:
    """A fan from a to b must make the pressure -drop; helped along, it moves its free flow."""
    if link.curve is None:
        raise ValueError(f"fan {link.name} has no curve")
    here = float(flow_at_m3_s(curve=link.curve, pressure_pa=max(0.0, -drop)))
    near = float(flow_at_m3_s(curve=link.curve, pressure_pa=max(0.0, -drop - STEP_PA)))
    return rho_a * here, 0.0, max(0.0, rho_a * (near - here) / STEP_PA)


def _door(link: Link, drop: float, rho_a: float, rho_b: float) -> tuple[float, float, float]:
    """Two-way flow. Densities are kept a hair apart: between like densities the slope at no pressure is infinite."""
    if abs(rho_a - rho_b) < LEAST_DIFFERENCE_KG_M3:
        rho_b = rho_a + (LEAST_DIFFERENCE_KG_M3 if rho_b >= rho_a else -LEAST_DIFFERENCE_KG_M3)

    def flows(sill: float) -> tuple[float, float]:
        one, two = door_mass_flows_kg_s(
            sill_pressure_pa=sill,
            density_1_kg_m3=rho_a,
            density_2_kg_m3=rho_b,
            width_m=link.width_m,
            height_m=link.high_m - link.low_m,
            discharge=link.discharge,
        )
        return float(one), float(two)

    (one, two), (up, down) = flows(drop), flows(drop + STEP_PA)
    return one, two, max(1e-9, (up - down - one + two) / STEP_PA)


def _residual(network: AirNetwork, net: Floats) -> Floats:
    """Mass flow into every node."""
    total = np.zeros(network.outdoors + 1)
    for link, flow in zip(network.links, net, strict=True):
        total[link.a] -= flow
        total[link.b] += flow
    return total


def _newton_step(network: AirNetwork, residual: Floats, slope: Floats, free: Floats) -> Floats:
    matrix = np.zeros((network.outdoors + 1,) * 2)
    for link, s in zip(network.links, slope, strict=True):
        matrix[link.a, link.a] -= s
        matrix[link.b, link.b] -= s
        matrix[link.a, link.b] += s
        matrix[link.b, link.a] += s
    part = matrix[np.ix_(free, free)]
    part -= 1e-12 * np.eye(len(free))
    return np.asarray(np.linalg.solve(part, -residual[free]))


def _searched(
    network: AirNetwork, pressure: Floats, step: Floats, free: Floats, density: Floats, wind: Floats, residual: Floats
) -> Floats:
    """The step, halved until the sum of squares of the residual falls."""
    before = float(np.sum(residual[free] ** 2))
    share = 1.0
    for _ in range(30):
        trial = pressure.copy()
        trial[free] += share * step
        forward, back, _ = _flows(network, trial, density, wind)
        after = float(np.sum(_residual(network, forward - back)[free] ** 2))
        if after < before * (1.0 - 1e-4 * share):
            return trial
        share *= 0.5
    return trial
