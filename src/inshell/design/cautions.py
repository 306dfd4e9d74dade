"""Cautions that must be shown where they apply. They cannot be suppressed."""

from __future__ import annotations

from inshell.design.appliance_rooms import burning
from inshell.design.pressure import PressureResult
from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.house import House
from inshell.house.model.rooms import WET_USES

EXCESS_PA = 10.0
SCALD_C = 49.0
HEAVY_W = 7000.0


def cautions(house: House, geometry: Geometry) -> list[Finding]:
    """Gas, soil gas, electricity, refrigerant, scalding, structure."""
    found = []
    for where, what in _burning(house):
        found.append(Finding("combustion-caution", where, {"appliance": what}))
    found += _open_flames(house)
    if any(s.other == GROUND for s in geometry.surfaces) and (house.fan or house.hood or house.dryer):
        found.append(Finding("soil-gas-caution", "site", {}))
    if house.head:
        found.append(Finding("refrigerant-caution", "head", {}))
    for heater in house.water_heater:
        where = f"water_heater.{heater.id}"
        if heater.set_point_c > SCALD_C:
            found.append(Finding("scald-caution", where, {"temperature": (heater.set_point_c, "temperature")}))
        if heater.fuel == "electric" and (heater.input_maximum_w or 0.0) > HEAVY_W:
            found.append(
                Finding(
                    "electrical-caution",
                    where,
                    {"device": heater.name or heater.id, "power": (heater.input_maximum_w or 0.0, "power")},
                )
            )
        if heater.feeds_floor and heater.separation != "exchanger":
            found.append(Finding("floor-water-not-separated", where, {"device": heater.name or heater.id}))
    if any(assembly.panel for assembly in house.assembly):
        found.append(Finding("structure-caution", "assembly", {}))
    found += _garages(house, {s.other for s in geometry.surfaces})
    if any(appliance.kind in ("fireplace", "wood-stove") for appliance in house.appliance):
        found.append(Finding("solid-fuel-ach", "appliance", {}))
    return found


def _open_flames(house: House) -> list[Finding]:
    """Appliances without a flue, and open or draft-vented ones where people sleep or bathe."""
    rows = [(f"water_heater.{w.id}", w.name or w.kind, w.room, w.venting) for w in house.water_heater]
    fuels = {f"water_heater.{w.id}" for w in house.water_heater if w.fuel != "electric" and w.room}
    rows = [row for row in rows if row[0] in fuels]
    flames = [*rows, *((f"appliance.{a.id}", a.name or a.kind, a.room, a.venting) for a in house.appliance)]
    sleeps = {room.id for room in house.room if room.is_bedroom or room.use in WET_USES}
    sleeps |= {person.sleeps_in for person in house.person}
    found = []
    for where, name, room, venting in flames:
        if venting == "none":
            found.append(Finding("unvented-combustion", where, {"appliance": name}))
        if venting != "sealed" and room in sleeps:
            values = {"appliance": name, "venting": f"vented: {venting}", "room": room}
            found.append(Finding("fuel-where-people-sleep", where, values))
    return found


def _garages(house: House, touching: set[str]) -> list[Finding]:
    if not (house.fan or house.hood or house.dryer or house.ventilator):
        return []
    garages = [b for b in house.buffer if b.kind == "garage" and b.id in touching]
    return [Finding("garage-caution", f"buffer.{b.id}", {"garage": b.name or b.id}) for b in garages]


def _burning(house: House) -> list[tuple[str, str]]:
    found = [(f"water_heater.{w.id}", w.name or w.kind) for w in house.water_heater if w.fuel != "electric" and w.room]
    found += [(f"appliance.{a.id}", a.name or a.kind) for a in house.appliance]
    return found + [(f"dryer.{d.id}", d.name or "gas dryer") for d in house.dryer if d.fuel == "gas"]


def pressure_findings(house: House, result: PressureResult) -> list[Finding]:
    """What the fans do to the house, in words: excess exhaust, hoods, screening by appliance."""
    found = []
    lowest = min(result.states, key=lambda state: state.fans_alone_pa)
    if lowest.fans_alone_pa < -EXCESS_PA:
        found.append(
            Finding(
                "excess-exhaust",
                "fans",
                {"running": ", ".join(lowest.running), "pressure": (lowest.fans_alone_pa, "pressure")},
            )
        )
    known = {device.id for device in result.devices}
    for hood in house.hood:
        if hood.id in known and hood.makeup == "none":
            alone = result.of({hood.id}).fans_alone_pa
            if alone < -EXCESS_PA:
                found.append(
                    Finding(
                        "hood-without-makeup",
                        f"hood.{hood.id}",
                        {
                            "flow": (hood.flow_m3_s, "flow"),
                            "leak": (result.flow_at_50_pa_m3_s, "flow"),
                            "pressure": (alone, "pressure"),
                        },
                    )
                )
    return found + _screening(house, result)


def _screening(house: House, result: PressureResult) -> list[Finding]:
    found = []
    for where, name, _, venting, limit in burning(house):
        if result.lowest.with_stack_pa < -limit:
            found.append(
                Finding(
                    "screening-pressure-natural-draft" if venting == "natural-draft" else "screening-pressure",
                    where,
                    {
                        "appliance": name,
                        "venting": venting,
                        "limit": (limit, "pressure"),
                        "pressure": (result.lowest.with_stack_pa, "pressure"),
                    },
                )
            )
    return found
