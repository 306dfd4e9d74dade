"""What the runs of `inshell rooms` give reason to say."""

from __future__ import annotations

from inshell.climate.choose import HouseClimate
from inshell.design.room_days import DesignDay, calculate_design_day
from inshell.design.room_findings import observe_rooms
from inshell.findings import Finding, by_severity
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.study.outcome import Outcome
from inshell.study.trying import Option, Tried

WEAK, STARVED = 0.8, 0.5


def findings_of(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    days: tuple[DesignDay, ...],
    nominal: Outcome,
    options: tuple[Option, ...],
    tried: tuple[Tried, ...],
) -> list[Finding]:
    """Findings of devices, of the design days, of the year and of the heads to choose from; the worst first."""
    found = observe_rooms(house) + _scope(house)
    found += _transfers(house, geometry, climate, days) + _heads(house, days, nominal)
    found += [finding for option in options for finding in option.findings]
    if any(t.remedy.opens_doors for t in tried):
        found.append(Finding("door-open-fire", "door", {}))
    if house.head or house.head_option:
        found.append(Finding("refrigerant-caution", "head", {}))
    return by_severity(found)


def _scope(house: House) -> list[Finding]:
    if not (house.head or house.heater):
        return [Finding("rooms-no-head", "head", {})]
    return [Finding("rooms-floor-left-out", "circuit", {})] if house.circuit else []


def _transfers(house: House, geometry: Geometry, climate: HouseClimate, days: tuple[DesignDay, ...]) -> list[Finding]:
    """Transfer fans that their way back holds up, and what they do to the outdoor air of the rooms."""
    shut = next(d for d in days if d.season == "heating" and d.doors == "shut")
    found = []
    for fan in house.transfer_fan:
        moved = shut.moved_m3_s[fan.id]
        if moved < WEAK * fan.flow_m3_s:
            behind = shut.of(fan.to_room).pressure_pa - shut.of(fan.from_room).pressure_pa
            values = {
                "fan": fan.id, "moved": (moved, "flow"), "rated": (fan.flow_m3_s, "flow"),
                "pressure": (behind, "pressure"),
            }  # fmt: skip
            found.append(Finding("transfer-fan-weak", f"transfer_fan.{fan.id}", values))
    if house.transfer_fan:
        bare = house.model_copy(update={"transfer_fan": (), "control": ()})
        without = calculate_design_day(bare, geometry, climate, season="heating", doors="shut")
        for room in sorted({fan.to_room for fan in house.transfer_fan}):
            now, then = shut.of(room).outdoor_m3_s, without.of(room).outdoor_m3_s
            if now < STARVED * then:
                flows = {"room": room, "with_fans": (now, "flow"), "without": (then, "flow")}
                found.append(Finding("transfer-stops-outdoor-air", f"room.{room}", flows))
    return found


def _heads(house: House, days: tuple[DesignDay, ...], nominal: Outcome) -> list[Finding]:
    cooling = next((d for d in days if d.season == "cooling" and d.doors == "shut"), None)
    found = []
    for head in house.head:
        if head.condensate == "not-said" and cooling is not None:
            values = {"head": head.id, "litres": round(cooling.removed_kg)}
            found.append(Finding("head-condensate-unasked", f"head.{head.id}", values))
    for year in nominal.heads:
        where = (
            f"outdoor_unit.{year.unit}" if any(u.id == year.unit for u in house.outdoor_unit) else f"head.{year.unit}"
        )
        if year.electric_kwh is None:
            found.append(Finding("head-power-unknown", where, {"unit": year.unit}))
        if year.beyond_points_h >= 1.0:
            values = {"unit": year.unit, "hours": round(year.beyond_points_h), "mode": year.mode}
            found.append(Finding("head-beyond-points", where, values))
    return found
