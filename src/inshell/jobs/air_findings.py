"""What the answer of `inshell air` finds, each with its consequence and what to do."""

from __future__ import annotations

from inshell.design.air_findings import observe_air
from inshell.design.appliance_rooms import ApplianceRoom
from inshell.design.fan_runs import FanRun
from inshell.design.room_pressures import MOST_STATES, always_running
from inshell.findings import Finding
from inshell.house.geometry.surfaces import GROUND
from inshell.jobs.air_answer import AirAnswer
from inshell.jobs.record_findings import measured_findings
from inshell.units import show, show_opening

STUFFY_PPM = 1150.0
SOIL_GAS_PA, DOOR_N = 5.0, 67.0  # 67 N: 15 lbf at the handle (common practice)
STARVED, EXPOSED, LOADED, OFF = 0.8, 0.85, 0.9, 0.10
WET_L_DAY = 0.01


def findings_of(told: AirAnswer) -> list[Finding]:
    """Every finding of the answer."""
    found = [f for run in told.runs for f in _run(told, run)]
    found += _stuffy(told) + _pressures(told) + _water(told)
    found += [_appliance(told, one) for one in told.appliances if not one.within]
    found += observe_air(told.answer.house, told.answer.geometry) + measured_findings(told.answer)
    return found + _off(told)


def _run(told: AirAnswer, one: FanRun) -> list[Finding]:
    house, found = told.answer.house, []
    where = f"{'fan' if any(f.id == one.device for f in house.fan) else 'hood'}.{one.device}"
    if not one.table.allowed:
        if one.table.longest_m is None:
            found.append(Finding("duct-not-listed", where, {"device": one.device}))
        else:
            values = {"device": one.device, "longest": (one.table.longest_m, "length")}
            found.append(Finding("duct-not-in-table", where, values))
    moved, rated = (one.in_house_m3_s, "flow"), (one.rated_m3_s, "flow")
    if one.in_house_m3_s < STARVED * one.rated_m3_s:
        best = one.mends[0].what if one.mends else "nothing that was tried"
        values = {"device": one.device, "moved": moved, "rated": rated, "most": one.most, "best": best}
        found.append(Finding("fan-starved", where, values))
    if one.windy_m3_s < EXPOSED * one.in_house_m3_s:
        found.append(Finding("fan-exposed", where, {"windy": (one.windy_m3_s, "flow"), "still": moved}))
    if one.loaded_m3_s is not None and one.loaded_m3_s < LOADED * one.in_house_m3_s:
        found.append(Finding("filter-starves", where, {"loaded": (one.loaded_m3_s, "flow"), "clean": moved}))
    if len(one.crossings_m3_s) > 1:
        flows = ", ".join(show(q, "flow", house.units) for q in one.crossings_m3_s)
        found.append(Finding("fan-two-solutions", where, {"flows": flows}))
    return found


def _stuffy(told: AirAnswer) -> list[Finding]:
    found = []
    for one in told.ranges:
        most = max(one.ppm_at_5)
        if most > STUFFY_PPM:
            low = (min(one.outdoor_m3_s), "flow")
            values = {"room": one.room, "most": round(most), "low": low, "limit": round(STUFFY_PPM)}
            found.append(Finding("sleepers-stuffy", f"room.{one.room}", values))
    return found


def _pressures(told: AirAnswer) -> list[Finding]:
    """Rooms on the ground that fans always suck at, and doors that pressure holds shut."""
    base, found, still = told.answer, [], told.pressures[0]
    always = always_running(base.house)
    grounded = {s.room for s in base.geometry.surfaces if s.other == GROUND}
    at = still.find(always)
    row = still.pressure_pa[0 if at is None else at]
    sucked = [k for k, room in enumerate(still.rooms) if room in grounded and float(row[k]) < -SOIL_GAS_PA]
    if sucked and at is not None:
        rooms = ", ".join(still.rooms[k] for k in sucked)
        values = {"rooms": rooms, "pressure": (float(min(row[k] for k in sucked)), "pressure")}
        found.append(Finding("rooms-suck-at-soil", "slab", values))
    left = sorted({name for p in told.pressures for name in p.not_varied})
    if left:
        found.append(Finding("too-many-devices", "fans", {"most": MOST_STATES, "left": ", ".join(left)}))
    for door in sorted({name for p in told.pressures for name in p.door_n}):
        force = max(p.door_n.get(door, 0.0) for p in told.pressures)
        if force > DOOR_N:
            found.append(Finding("door-held-by-pressure", f"door.{door}", {"door": door, "force": round(force)}))
    return found


def _water(told: AirAnswer) -> list[Finding]:
    house, found = told.answer.house, []
    for water in told.run_water:
        where = f"{'fan' if any(f.id == water.device for f in house.fan) else 'hood'}.{water.device}"
        if water.litres_day > WET_L_DAY:
            litres, wrapped = round(water.litres_day, 2), round(water.wrapped_l_day, 2)
            values = {"hours": water.hours_wet, "litres": litres, "wrapped": wrapped}
            found.append(Finding("run-gathers-water", where, values))
        if water.hours_freezing:
            found.append(Finding("run-freezes", where, {"hours": water.hours_freezing}))
    for unit in told.recovery:
        where = f"ventilator.{unit.device}"
        if unit.sweats_h:
            found.append(Finding("cold-run-sweats", where, {"hours": unit.sweats_h}))
        if unit.core_freezing_h and unit.defrost == "none":
            found.append(Finding("core-freezes", where, {"hours": unit.core_freezing_h}))
    return found


def _appliance(told: AirAnswer, one: ApplianceRoom) -> Finding:
    units = told.answer.house.units
    opening = show_opening(one.opening_m2, units)
    together = "; ".join(" with ".join(names) or "nothing: the weather alone" for names in one.together)
    values = {
        "appliance": one.name, "venting": one.venting, "pressure": (one.deepest_pa, "pressure"),
        "running": ", ".join(one.running) or "nothing", "weather": one.weather, "limit": (one.limit_pa, "pressure"),
        "together": together, "opening": opening,
    }  # fmt: skip
    return Finding("appliance-room-sucked", one.where, values)


def _off(told: AirAnswer) -> list[Finding]:
    if told.built is None:
        return []
    found = []
    for flow in told.built.flows:
        if flow.off_share is not None and abs(flow.off_share) > OFF + 1e-9:
            values = {
                "device": flow.device, "setting": flow.setting.replace("_", " "),
                "measured": (flow.measured_m3_s, "flow"), "design": (flow.design_m3_s, "flow"),
                "off": f"{flow.off_share:+.0%}",
            }  # fmt: skip
            found.append(Finding("as-built-off", flow.device, values))
    return found
