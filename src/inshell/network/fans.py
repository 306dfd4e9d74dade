"""What each device of a house moves against a pressure between its room and outdoors, its duct included."""

from __future__ import annotations

import numpy as np

from inshell.house.model.air_devices import Dryer, Duct, Fan, Hood, TransferFan
from inshell.physics.duct import ELBOW_LOSS, ENTRY_LOSS, DuctLoss, curve_on_duct, flex_factor
from inshell.physics.fan import FanCurve, default_curve, flow_at_m3_s

FALLS_WITHIN = 1.1


def loss_of(duct: Duct, *, loaded_at_m3_s: float = 0.0) -> DuctLoss:
    """The losses of a run as described: friction by material and compression; entry, elbows, damper and cap.

    Its filter counts where `loaded_at_m3_s` says the flow at which it takes its pressure when loaded.
    """
    flexible = duct.material == "flex"
    scale = flex_factor(diameter_m=duct.diameter_m, compression=duct.compression) if flexible else 1.0
    loss = ENTRY_LOSS + duct.elbows * ELBOW_LOSS[duct.material] + duct.cap_loss
    resistance = duct.filter_pa / loaded_at_m3_s if loaded_at_m3_s > 0.0 else 0.0
    return DuctLoss(duct.diameter_m, duct.length_m, scale, loss, resistance)


def constant_curve(flow_m3_s: float, limit_pa: float) -> FanCurve:
    """A fan that holds its flow until its limit, then falls to nothing within a tenth more."""
    return FanCurve((0.0, limit_pa, FALLS_WITHIN * limit_pa), (flow_m3_s, flow_m3_s, 0.0))


def base_curve(fan: Fan) -> FanCurve:
    """A fan at its base: it holds that flow until its curve at full speed, on its duct, limits it."""
    full = full_curve(fan)
    corner = [p for p, q in zip(full.pressure_pa, full.flow_m3_s, strict=True) if q >= fan.base_flow_m3_s]
    if not corner:
        return full
    pressure = np.union1d(full.pressure_pa, np.interp(fan.base_flow_m3_s, full.flow_m3_s[::-1], full.pressure_pa[::-1]))
    flow = np.minimum(flow_at_m3_s(curve=full, pressure_pa=pressure), fan.base_flow_m3_s)
    return FanCurve(tuple(map(float, pressure)), tuple(map(float, flow)), assumed=full.assumed)


def full_curve(device: Fan | Hood | Dryer | TransferFan) -> FanCurve:
    """A device at its highest setting: its own points, else the declared default shape; less what its duct takes."""
    curve = alone(device)
    duct = None if isinstance(device, Dryer) else device.duct
    return curve_on_duct(curve=curve, duct=loss_of(duct)) if duct else curve


def alone(device: Fan | Hood | Dryer | TransferFan) -> FanCurve:
    """The same without its duct, as on its data sheet."""
    if isinstance(device, Fan) and device.curve:
        return falling_curve(device.curve)
    flow = device.rated_flow_m3_s if isinstance(device, Fan) else device.flow_m3_s
    return rated_curve(flow, device.rated_pressure_pa, device.maximum_pressure_pa)


def falling_curve(points: tuple[tuple[float, float], ...]) -> FanCurve:
    """(flow, pressure) points as flow against pressure. Where they rise, the branch that falls, up to shut-off.

    Beyond the pressure that it makes at its least flow a fan may stand still: from there on it counts for nothing.
    """
    by_flow = sorted(points)
    pressure = np.array([p for _, p in by_flow])
    top = int(np.argmax(pressure))
    falls = [(p, q) for q, p in by_flow[top:]]
    if top > 0:
        stops = float(pressure[0])
        at = float(np.interp(stops, [p for p, _ in falls[::-1]], [q for _, q in falls[::-1]]))
        falls = [(p, q) for p, q in falls if p < stops] + [(stops, at), (stops + 0.1, 0.0)]
    ordered = sorted(falls)
    flows = np.minimum.accumulate([q for _, q in ordered])
    return FanCurve(tuple(float(p) for p, _ in ordered), tuple(map(float, flows)))


def rated_curve(flow_m3_s: float, rated_pa: float, limit_pa: float) -> FanCurve:
    """The declared default shape through a rated point."""
    rated = min(rated_pa, 0.8 * limit_pa)
    return default_curve(rated_flow_m3_s=flow_m3_s, rated_pressure_pa=rated, maximum_pressure_pa=limit_pa)
