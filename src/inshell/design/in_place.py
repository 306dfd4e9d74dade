"""The house as built: what was measured in place of what was designed, on the curves that the measured flows imply."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inshell.house.as_built import Measured, as_built
from inshell.house.model.air_devices import Dryer, Fan, Hood, TransferFan
from inshell.house.model.house import House
from inshell.network.fans import full_curve
from inshell.physics.fan import flow_at_m3_s

ABOVE = 1.001


def in_place(house: House, measured: Mapping[tuple[str, str], Measured], house_pa: Mapping[str, float]) -> House:
    """A copy in which every device that was measured moves what was measured with the house at its pressure.

    A flow measured on site holds the duct in it: the curve of fan and duct together is scaled in flow so that it passes
    the measured one, and the duct is taken away. A base flow beyond that curve lifts it. Ventilators take their flows.
    """
    built = as_built(house, measured)
    fans = tuple(_fan(f, b, measured, house_pa.get(f.id, 0.0)) for f, b in zip(house.fan, built.fan, strict=True))
    update: dict[str, Any] = {"fan": fans}
    for kind in ("hood", "dryer", "transfer_fan"):
        update[kind] = tuple(_blower(item, measured, house_pa.get(item.id, 0.0)) for item in getattr(built, kind))
    return built.model_copy(update=update)


def _fan(fan: Fan, built: Fan, measured: Mapping[tuple[str, str], Measured], house_pa: float) -> Fan:
    against = max(-house_pa if fan.kind == "exhaust" else house_pa, 0.0)
    curve = full_curve(fan)
    now = float(flow_at_m3_s(curve=curve, pressure_pa=against))
    wanted = None
    if (fan.id, "flow") in measured:
        wanted = measured[fan.id, "flow"].value_m3_s
    if (fan.id, "base_flow") in measured and measured[fan.id, "base_flow"].value_m3_s > (wanted or now):
        wanted = ABOVE * measured[fan.id, "base_flow"].value_m3_s
    if wanted is None or now <= 0.0:
        return built
    points = tuple((q * wanted / now, p) for p, q in zip(curve.pressure_pa, curve.flow_m3_s, strict=True))
    return built.model_copy(update={"curve": points, "duct": None, "rated_flow_m3_s": wanted})


def _blower(
    item: Hood | Dryer | TransferFan, measured: Mapping[tuple[str, str], Measured], house_pa: float
) -> Hood | Dryer | TransferFan:
    """A device without a curve of its own: the declared shape through what was measured at the house's pressure."""
    if (item.id, "flow") not in measured:
        return item
    update: dict[str, Any] = {"rated_pressure_pa": max(-house_pa, 0.0)}
    if not isinstance(item, Dryer):
        update["duct"] = None
    return item.model_copy(update=update)
