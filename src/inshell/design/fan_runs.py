"""Fans on their ducts: what each really moves, what takes most, what would mend it, what the table says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from inshell.design.fresh_air import CFM_M3_S
from inshell.house.model.air_devices import Duct, Fan, Hood
from inshell.house.model.house import House
from inshell.network.fans import alone, full_curve, loss_of
from inshell.physics.duct import ELBOW_LOSS, ENTRY_LOSS, DuctLoss, curve_on_duct, duct_loss_pa
from inshell.physics.fan import flow_at_m3_s
from inshell.sources import table

FOOT_M, INCH_M = 0.3048, 0.0254
BARE_M = 1e-6
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
    """A device on its duct: flows [m3/s] and what each part of the run takes at its flow [Pa]."""

    device: str
    rated_m3_s: float
    free_m3_s: float
    in_house_m3_s: float
    field_m3_s: float
    house_pa: float
    parts_pa: dict[str, float]
    mends: tuple[Mended, ...]
    table: Table

    @property
    def most(self) -> str:
        """What takes most."""
        return max(self.parts_pa, key=lambda part: self.parts_pa[part])


def calculate_fan_runs(house: House, house_pa: dict[str, float]) -> tuple[FanRun, ...]:
    """Every fan and hood with a duct, in a house at the pressure that each sees when it runs."""
    devices: list[Fan | Hood] = [*house.fan, *house.hood]
    return tuple(_run(d, d.duct, house_pa.get(d.id, 0.0)) for d in devices if d.duct is not None)


def _run(device: Fan | Hood, duct: Duct, house_pa: float) -> FanRun:
    exhausts = not isinstance(device, Fan) or device.kind == "exhaust"
    against = -house_pa if exhausts else house_pa
    curve = full_curve(device)
    free = float(flow_at_m3_s(curve=curve, pressure_pa=0.0))
    moved = float(flow_at_m3_s(curve=curve, pressure_pa=max(against, 0.0)))
    row = table("fresh_air")["field_run"]
    crushed = duct.model_copy(
        update={"material": "flex", "compression": row["compression"], "elbows": duct.elbows + row["more_elbows"]}
    )
    return FanRun(
        device=device.id,
        rated_m3_s=float(device.rated_flow_m3_s if isinstance(device, Fan) else device.flow_m3_s),
        free_m3_s=free,
        in_house_m3_s=moved,
        field_m3_s=_flow(device, crushed, max(against, 0.0)),
        house_pa=house_pa,
        parts_pa=parts_pa(duct, moved),
        mends=_mends(device, duct, max(against, 0.0), moved),
        table=prescriptive(device, duct),
    )


def _flow(device: Fan | Hood, duct: Duct, against_pa: float) -> float:
    curve = curve_on_duct(curve=alone(device), duct=loss_of(duct))
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
