"""Water in a tube: friction through the change from laminar to turbulent flow, head, what a circuit gives off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from inshell.physics.types import Array, Floats

ROUGHNESS_M = 1.5e-6


def friction_factor(*, reynolds: Array, relative_roughness: Array) -> Floats:
    """Darcy friction factor, continuous through transition.

    Formula: f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12), A = {2.457 ln 1/[(7/Re)^0.9 + 0.27 e/D]}^16, B = (37530/Re)^16
    Arguments: reynolds > 0; relative_roughness e/D
    Returns: friction factor (Darcy)
    Valid: all Reynolds numbers; in transition (2,000 to 4,000) what really flows may differ by half
    Source: Churchill 1977

    >>> [round(float(friction_factor(reynolds=re, relative_roughness=1.2e-4)), 5) for re in (2000, 2300, 3000, 1e4)]
    [0.03204, 0.03084, 0.04306, 0.03121]
    """
    re = np.maximum(np.asarray(reynolds, dtype=float), 1e-6)
    a = (2.457 * np.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * np.asarray(relative_roughness)))) ** 16
    b = (37530.0 / re) ** 16
    return np.asarray(8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0))


@dataclass(frozen=True)
class TubeFlow:
    """What one flow does in a tube."""

    velocity_m_s: float
    reynolds: float
    head_pa_m: float


def tube_flow(
    *, flow_m3_s: float, inner_m: float, density_kg_m3: float, viscosity_pa_s: float, roughness_m: float = ROUGHNESS_M
) -> TubeFlow:
    """Velocity, Reynolds number and loss of pressure of each metre of straight tube.

    Formula: v = 4 Q / (pi D2), Re = rho v D / mu, dp/L = f rho v2 / (2 D)
    Arguments: flow_m3_s > 0 [m3/s]; inner_m inner diameter [m]; density_kg_m3; viscosity_pa_s; roughness_m [m]
    Returns: velocity [m/s], Reynolds number, loss [Pa/m]
    Valid: smooth plastic tube running full; bends and fittings apart
    Source: Darcy and Weisbach, friction by Churchill 1977

    >>> one = tube_flow(flow_m3_s=6.309e-5, inner_m=0.012065, density_kg_m3=993.0, viscosity_pa_s=0.000682)
    >>> round(one.velocity_m_s, 2), round(one.reynolds, -1), round(one.head_pa_m, -1)
    (0.55, 9690.0, 390.0)
    """
    velocity = flow_m3_s / (math.pi / 4.0 * inner_m**2)
    reynolds = density_kg_m3 * velocity * inner_m / viscosity_pa_s
    friction = float(friction_factor(reynolds=reynolds, relative_roughness=roughness_m / inner_m))
    return TubeFlow(velocity, reynolds, friction * density_kg_m3 * velocity**2 / (2.0 * inner_m))


def circuit_return_c(
    *, supply_c: Array, around_c: Array, length_m: Array, output_w_mk: Array, flow_w_k: Array
) -> Floats:
    """Temperature of the water at the end of a circuit.

    Formula: T_out = T_i + (T_in - T_i) exp(-a L / C)
    Arguments: supply_c, around_c (room) [°C]; length_m [m]; output_w_mk a, heat of each metre per kelvin of water over
        room [W/mK]; flow_w_k C, heat that the flow carries per kelvin [W/K]
    Returns: temperature [°C]
    Valid: steady, one surrounding temperature
    Source: heat balance of a tube

    >>> round(float(circuit_return_c(supply_c=43.33, around_c=21.11, length_m=30.48, output_w_mk=1.523,
    ...                              flow_w_k=263.75)), 2)
    39.74
    """
    gone = np.exp(-np.asarray(output_w_mk) * np.asarray(length_m) / np.asarray(flow_w_k))
    return np.asarray(around_c + (np.asarray(supply_c) - around_c) * gone)


def mean_over_room_k(*, supply_c: Array, return_c: Array, room_c: Array) -> Floats:
    """How much water is warmer than the room, as a mean along a circuit.

    Formula: (Ts - Tr) / ln[(Ts - Ti) / (Tr - Ti)]
    Arguments: supply_c, return_c, room_c [°C], supply >= return > room
    Returns: logarithmic mean excess [K]
    Valid: steady
    Source: EN 1264-2

    >>> round(float(mean_over_room_k(supply_c=35.0, return_c=30.0, room_c=20.0)), 3)
    12.332
    """
    near, far = np.asarray(supply_c, dtype=float) - room_c, np.asarray(return_c, dtype=float) - room_c
    if np.any(far <= 0.0) or np.any(near < far - 1e-12):
        raise ValueError("water leaves a circuit warmer than the room and no warmer than it came")
    ratio = np.maximum(near / far, 1.0 + 1e-9)
    return np.asarray(np.where(near - far < 1e-6 * near, 0.5 * (near + far), (near - far) / np.log(ratio)))
