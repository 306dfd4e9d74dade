"""What a duct takes from a fan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.fan import FanCurve, flow_at_m3_s
from inshell.physics.types import Array, Floats

AIR_KG_M3, VISCOSITY_PA_S = 1.2041, 1.825e-5
ROUGHNESS_M = 0.09e-3  # galvanised steel (ASHRAE Fundamentals, Duct design)
LAMINAR_BELOW, TURBULENT_ABOVE = 2000.0, 4000.0
ELBOW_LOSS = {"smooth": 0.25, "flex": 0.5}  # smooth, r/D 1.5: 0.15 to 0.30 (from memory); flexible: common practice
ENTRY_LOSS = 0.5  # a plain end (from memory)


@dataclass(frozen=True)
class DuctLoss:
    """Pressure that a run takes: by friction over its length, by entry, elbows, damper and cap together, by a filter.

    A filter takes pressure in proportion to the flow.
    """

    diameter_m: float
    length_m: float
    friction_factor_scale: float
    loss_coefficient: float
    filter_pa_s_m3: float = 0.0


def friction_factor(*, reynolds: Array, relative_roughness: Array) -> Floats:
    """Darcy's friction factor of a round pipe.

    Formula: Colebrook, 1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f))), by eight rounds from Haaland;
        64/Re below Re 2000, linear in Re between 2000 and 4000
    Arguments: reynolds [-]; relative_roughness e = roughness / diameter [-]
    Returns: f [-]
    Valid: Re > 0, e < 0.05; between 2000 and 4000 no law holds, the line only joins them
    Source: Colebrook 1939; ASHRAE Fundamentals, Duct design

    >>> round(float(friction_factor(reynolds=1e5, relative_roughness=1e-4)), 5)
    0.01851
    """
    re, e = np.asarray(reynolds, dtype=float), np.asarray(relative_roughness, dtype=float)
    high = np.maximum(re, TURBULENT_ABOVE)
    root = -1.8 * np.log10((e / 3.7) ** 1.11 + 6.9 / high)
    for _ in range(8):
        root = -2.0 * np.log10(e / 3.7 + 2.51 * root / high)
    turbulent = 1.0 / root**2
    laminar = 64.0 / np.clip(re, 1e-9, LAMINAR_BELOW)
    share = np.clip((re - LAMINAR_BELOW) / (TURBULENT_ABOVE - LAMINAR_BELOW), 0.0, 1.0)
    return np.asarray(laminar + share * (turbulent - laminar))


def flex_factor(*, diameter_m: float, compression: float) -> float:
    """How many times a smooth duct's friction a flexible duct has.

    Formula: 1 + 0.58 K exp(-0.126 D), K the compression in per cent, D the diameter in inches
    Arguments: diameter_m [m]; compression: share by which it lies shorter than stretched
    Returns: factor [-]
    Valid: 3 to 16 in, 0 to 30 %; relaxed duct lies at about 4 %
    Source: Abushakra et al. 2004 (from memory)

    >>> round(flex_factor(diameter_m=0.1016, compression=0.04), 2)
    2.4
    """
    return float(1.0 + 0.58 * 100.0 * compression * np.exp(-0.126 * diameter_m / 0.0254))


def duct_loss_pa(*, duct: DuctLoss, flow_m3_s: Array) -> Floats:
    """Pressure that a duct takes at a flow.

    Formula: (s f L/D + C) rho v^2 / 2 + R Q, v = 4 Q / (pi D^2), f by Colebrook at 0.09 mm (galvanised), R of a filter
    Arguments: duct; flow_m3_s [m3/s]
    Returns: pressure [Pa]
    Valid: round ducts, air near 20 °C
    Source: Darcy-Weisbach; ASHRAE Fundamentals, Duct design

    >>> run = DuctLoss(diameter_m=0.1016, length_m=1.0, friction_factor_scale=1.0, loss_coefficient=0.0)
    >>> round(float(duct_loss_pa(duct=run, flow_m3_s=50 * 0.3048**3 / 60)), 2)
    1.4
    """
    flow, d = np.asarray(flow_m3_s, dtype=float), duct.diameter_m
    speed = 4.0 * flow / (np.pi * d**2)
    reynolds = np.maximum(AIR_KG_M3 * speed * d / VISCOSITY_PA_S, 1e-6)
    f = friction_factor(reynolds=reynolds, relative_roughness=ROUGHNESS_M / d)
    factor = duct.friction_factor_scale * f * duct.length_m / d + duct.loss_coefficient
    return np.asarray(factor * 0.5 * AIR_KG_M3 * speed**2 + duct.filter_pa_s_m3 * flow)


def operating_points_m3_s(
    *, flow_m3_s: Floats, pressure_pa: Floats, duct: DuctLoss, against_pa: float = 0.0
) -> tuple[float, ...]:
    """Every flow at which a fan's curve meets its duct and a pressure between its ends.

    Formula: p(Q) = duct_loss(Q) + against, p linear between the points; sought between 2,000 flows and the points
    Arguments: flow_m3_s, pressure_pa: points of the curve by rising flow [m3/s, Pa]; duct; against_pa [Pa], below zero
        where it helps the fan
    Returns: flows [m3/s], rising; more than one where the curve rises somewhere; none where it does not meet its duct
    Valid: flows between the first and the last point
    Source: definition of the operating point

    >>> run = DuctLoss(diameter_m=0.1016, length_m=4.572, friction_factor_scale=1.0, loss_coefficient=4.0)
    >>> [round(q, 4) for q in operating_points_m3_s(flow_m3_s=np.array([0.0, 0.05]),
    ...                                             pressure_pa=np.array([100.0, 0.0]), duct=run)]
    [0.0294]
    """
    from scipy.optimize import brentq

    def over(flow: Array) -> Floats:
        made = np.interp(flow, flow_m3_s, pressure_pa)
        return np.asarray(made - against_pa - duct_loss_pa(duct=duct, flow_m3_s=flow))

    grid = np.unique(np.concatenate([np.linspace(flow_m3_s[0], flow_m3_s[-1], 2001), flow_m3_s]))
    values = over(grid)
    places = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0)
    found = [float(brentq(lambda q: float(over(q)), grid[k], grid[k + 1])) for k in places]
    return tuple(sorted(found + [float(q) for q in grid[values == 0.0]]))


def curve_on_duct(*, curve: FanCurve, duct: DuctLoss, points: int = 33) -> FanCurve:
    """What fan and duct together move against a pressure between room and outdoors.

    Formula: the flow q at which the fan's curve meets p + duct_loss(q), by halving, at pressures up to the fan's last
    Arguments: curve of the fan alone; duct; points of the result
    Returns: FanCurve of both together, as assumed as the fan's own
    Valid: curves whose flow falls with pressure; houses that help the fan do not raise its flow further
    Source: definition of the operating point

    >>> run = DuctLoss(diameter_m=0.1016, length_m=4.572, friction_factor_scale=1.0, loss_coefficient=4.0)
    >>> fan = FanCurve((0.0, 100.0), (0.05, 0.0))
    >>> curve_on_duct(curve=fan, duct=run).flow_m3_s[0] < 0.05
    True
    """
    pressure = np.union1d(np.linspace(0.0, curve.maximum_pressure_pa, points), np.asarray(curve.pressure_pa))
    low, high = np.zeros(len(pressure)), np.full(len(pressure), curve.flow_m3_s[0])
    for _ in range(60):
        flow = 0.5 * (low + high)
        met = np.asarray(
            flow_at_m3_s(curve=curve, pressure_pa=pressure + duct_loss_pa(duct=duct, flow_m3_s=flow)) >= flow
        )
        low, high = np.where(met, flow, low), np.where(met, high, flow)
    flow = np.minimum.accumulate(low)
    return FanCurve(tuple(map(float, pressure)), tuple(map(float, flow)), assumed=curve.assumed)
