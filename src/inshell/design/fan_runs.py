"""Fans on their ducts: what each really moves, what takes most, what would mend it, what the table says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from inshell.design.fresh_air import CFM_M3_S
from inshell.house.model.air_devices import Duct, Fan, Hood
from inshell.house.model.house import House
from inshell.network.fans import alone, full_curve, loss_of
from inshell.physics.duct import ELBOW_LOSS, ENTRY_LOSS, DuctLoss, curve_on_duct, duct_loss_pa, operating_points_m3_s
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.wind import wall_pressure_coefficient
from inshell.sources import table

FOOT_M, INCH_M = 0.3048, 0.0254
BARE_M = 1e-6
AIR_KG_M3 = 1.2
SIZES_M = tuple(inches * INCH_M for inches in (3, 4, 5, 6, 7, 8))


@dataclass(frozen=True)
class Mended:
    """One change to a run and the flow that it would give."""

    what: str
    flow_m3_s: float


@dataclass(frozen=True)
class Table:
    """What the prescriptive table allows: None where it says nothing of such a fan and duct."""

    longest_m: float | None
    allowed: bool
    source: str


@dataclass(frozen=True)
class FanRun:
    """A device on its duct: flows [m3/s] and what each part of the run takes at its flow [Pa].

    `in_house` has the house at its pressure, `windy` the year's strongest wind on its cap as well, `loaded` (None
    without a filter) a filter that must be changed, `field` the run as often found. `crossings` are all flows at which
    a curve that was given meets its duct: more than one where it rises.
    """

    device: str
    rated_m3_s: float
    free_m3_s: float
    in_house_m3_s: float
    windy_m3_s: float
    loaded_m3_s: float | None
    field_m3_s: float
    house_pa: float
    wind_pa: float
    parts_pa: dict[str, float]
    mends: tuple[Mended, ...]
    table: Table
    crossings_m3_s: tuple[float, ...] = ()

    @property
    def most(self) -> str:
        """What takes most."""
        return max(self.parts_pa, key=lambda part: self.parts_pa[part])


def calculate_fan_runs(house: House, house_pa: dict[str, float], wind_m_s: float = 0.0) -> tuple[FanRun, ...]:
    """Every fan and hood with a duct, in a house at the pressure that each sees when it runs, and in a wind."""
    devices: list[Fan | Hood] = [*house.fan, *house.hood]
    windward = float(wall_pressure_coefficient(angle_deg=0.0, side_ratio=1.0))
    wind_pa = 0.5 * AIR_KG_M3 * windward * wind_m_s**2
    return tuple(_run(d, d.duct, house_pa.get(d.id, 0.0), wind_pa) for d in devices if d.duct is not None)


def _run(device: Fan | Hood, duct: Duct, house_pa: float, wind_pa: float) -> FanRun:
    exhausts = not isinstance(device, Fan) or device.kind == "exhaust"
    against = max(-house_pa if exhausts else house_pa, 0.0)
    curve = full_curve(device)
    moved = float(flow_at_m3_s(curve=curve, pressure_pa=against))
    windy = float(flow_at_m3_s(curve=curve, pressure_pa=against + (wind_pa if exhausts else 0.0)))
    row = table("fresh_air")["field_run"]
    compression = max(row["compression"], duct.compression if duct.material == "flex" else 0.0)
    crushed = duct.model_copy(
        update={"material": "flex", "compression": compression, "elbows": duct.elbows + row["more_elbows"]}
    )
    rated = float(device.rated_flow_m3_s if isinstance(device, Fan) else device.flow_m3_s)
    return FanRun(
        device=device.id,
        rated_m3_s=rated,
        free_m3_s=float(flow_at_m3_s(curve=curve, pressure_pa=0.0)),
        in_house_m3_s=moved,
        windy_m3_s=windy,
        loaded_m3_s=_flow(device, duct, against, loaded_at_m3_s=rated) if duct.filter_pa > 0.0 else None,
        field_m3_s=_flow(device, crushed, against),
        house_pa=house_pa,
        wind_pa=wind_pa,
        parts_pa=parts_pa(duct, moved),
        mends=_mends(device, duct, against, moved),
        table=prescriptive(device, duct),
        crossings_m3_s=_crossings(device, duct, against),
    )


def _crossings(device: Fan | Hood, duct: Duct, against_pa: float) -> tuple[float, ...]:
    """Every operating point of a curve that was given; none of a declared shape, which falls throughout."""
    if not isinstance(device, Fan) or len(device.curve) < 2:
        return ()
    flow, pressure = np.array(sorted(device.curve)).T
    return operating_points_m3_s(flow_m3_s=flow, pressure_pa=pressure, duct=loss_of(duct), against_pa=against_pa)


def _flow(device: Fan | Hood, duct: Duct, against_pa: float, *, loaded_at_m3_s: float = 0.0) -> float:
    curve = curve_on_duct(curve=alone(device), duct=loss_of(duct, loaded_at_m3_s=loaded_at_m3_s))
    return float(flow_at_m3_s(curve=curve, pressure_pa=against_pa))


def parts_pa(duct: Duct, flow_m3_s: float) -> dict[str, float]:
    """What friction, elbows, entry, and damper and cap take at a flow."""
    whole = loss_of(duct)

    def only(loss: float) -> float:
        bare = DuctLoss(duct.diameter_m, BARE_M, 1.0, loss)
        return float(duct_loss_pa(duct=bare, flow_m3_s=flow_m3_s))

    return {
        "friction": float(duct_loss_pa(duct=replace(whole, loss_coefficient=0.0), flow_m3_s=flow_m3_s)),
        "elbows": only(duct.elbows * ELBOW_LOSS[duct.material]),
        "entry": only(ENTRY_LOSS),
        "damper and cap": only(duct.cap_loss),
    }


def _mends(device: Fan | Hood, duct: Duct, against_pa: float, now_m3_s: float) -> tuple[Mended, ...]:
    """Changes that give more, the best first."""
    wider = next((size for size in SIZES_M if size > duct.diameter_m + 0.005), None)
    tried: dict[str, dict[str, Any]] = {}
    if duct.material == "flex":
        tried["smooth duct instead of flexible"] = {"material": "smooth"}
        tried["flexible duct pulled tight"] = {"compression": 0.04}
    if wider is not None:
        tried[f"{wider / INCH_M:.0f} in ({wider * 1000:.0f} mm) duct"] = {"diameter_m": wider}
    if duct.elbows > 0:
        tried["one elbow less"] = {"elbows": duct.elbows - 1}
    if duct.cap_loss > 1.6:
        tried["an open cap and an easy damper (C 1.5)"] = {"cap_loss": 1.5}
    tried["half the length"] = {"length_m": 0.5 * duct.length_m}
    told = [Mended(what, _flow(device, duct.model_copy(update=change), against_pa)) for what, change in tried.items()]
    return tuple(sorted((m for m in told if m.flow_m3_s > now_m3_s * 1.01), key=lambda m: -m.flow_m3_s))


def prescriptive(device: Fan | Hood, duct: Duct) -> Table:
    """The table's longest run for a duct of this size and the fan's flow at 0.25 in.wg, elbows taken off."""
    rows, source = table("fresh_air")["duct_table"], str(table("fresh_air")["duct_table"]["source"])
    cfm = float(flow_at_m3_s(curve=alone(device), pressure_pa=rows["rated_pa"])) / CFM_M3_S
    inches = round(duct.diameter_m / INCH_M)
    fits = [row for row in rows["rows"] if row["diameter_in"] == inches and row["cfm"] >= cfm - 0.5]
    if not fits:
        return Table(None, False, source)
    longest_ft = fits[0][f"{duct.material}_ft"] - rows["elbow_ft"] * duct.elbows
    longest = max(0.0, longest_ft * FOOT_M)
    return Table(longest, duct.length_m <= longest + 1e-9 and longest > 0.0, source)
