"""What is wrong with fans, runs and caps as described, before anything is run."""

from __future__ import annotations

import math
from itertools import pairwise

from shapely.geometry import Point

from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import PlanPoint
from inshell.house.model.house import House
from inshell.sources import table

UNBALANCE, WALL_M = 0.10, 0.3


def observe_air(house: House, geometry: Geometry) -> list[Finding]:
    """Findings on fans, dryers, ventilators and where their runs end outdoors."""
    found = _dryers(house) + _two_systems(house) + _rising(house) + _ventilators(house)
    return found + _caps(house) + _indoors(house, geometry)


def _indoors(house: House, geometry: Geometry) -> list[Finding]:
    """Intakes that the plan shows inside a room."""
    rooms = [o for o in geometry.outlines if o.is_room]
    return [
        Finding("intake-indoors", name, {"intake": name, "room": outline.owner})
        for name, place, _ in _intakes(house)
        for outline in rooms
        if outline.polygon.buffer(-WALL_M).contains(Point(place.x_m, place.y_m))
    ]


def _dryers(house: House) -> list[Finding]:
    found = [
        Finding("dryer-counted", f"dryer.{dryer.id}", {"flow": (dryer.flow_m3_s, "flow")})
        for dryer in house.dryer
        if "whole-house" in dryer.serves
    ]
    return found + [
        Finding("dryer-flow-assumed", f"dryer.{dryer.id}", {"flow": (dryer.flow_m3_s, "flow")})
        for dryer in house.dryer
        if dryer.vented and "flow_m3_s" not in dryer.model_fields_set
    ]


def _two_systems(house: House) -> list[Finding]:
    """Fans that two duties ask at once, and runs that two devices share."""
    found = []
    for fan in house.fan:
        if {"whole-house", "kitchen"} <= set(fan.serves):
            values = {"flow": (fan.base_flow_m3_s, "flow")}
            found.append(Finding("fan-in-two-systems", f"fan.{fan.id}", values))
    for kind in ("fan", "hood", "transfer_fan"):
        for item in getattr(house, kind):
            if item.duct and item.duct.shared_with:
                values = {"device": item.id, "other": item.duct.shared_with}
                found.append(Finding("run-shared", f"{kind}.{item.id}", values))
    return found


def _rising(house: House) -> list[Finding]:
    """Curves that rise somewhere: the flow at the start and end of the rise."""
    found = []
    for fan in house.fan:
        points = sorted(fan.curve)
        rises = [(one, two) for one, two in pairwise(points) if two[1] > one[1] + 1e-9]
        if rises:
            low, high = rises[0][0][0], rises[-1][1][0]
            found.append(Finding("fan-curve-rises", f"fan.{fan.id}", {"low": (low, "flow"), "high": (high, "flow")}))
    return found


def _ventilators(house: House) -> list[Finding]:
    found = []
    for unit in house.ventilator:
        where = f"ventilator.{unit.id}"
        high, low = (pick(unit.supply_flow_m3_s, unit.exhaust_flow_m3_s) for pick in (max, min))
        if high - low > UNBALANCE * high:
            values = {"supply": (unit.supply_flow_m3_s, "flow"), "exhaust": (unit.exhaust_flow_m3_s, "flow")}
            found.append(Finding("ventilator-unbalanced", where, values))
        if unit.condensate == "none":
            found.append(Finding("ventilator-without-drain", where, {"device": unit.name or unit.id}))
        if unit.defrost == "exhaust-only":
            found.append(Finding("defrost-sucks", where, {"below": (unit.defrost_below_c, "temperature")}))
    return found


def _caps(house: House) -> list[Finding]:
    """Outdoor air intakes too near to where something is blown out, by their places on the plan."""
    row = table("fresh_air")["intake"]
    found = []
    for name, intake, own in _intakes(house):
        for other, place, least in _outlets(house, row["exhaust_m"], row["flue_m"]):
            if other == own:
                continue
            away = math.hypot(intake.x_m - place.x_m, intake.y_m - place.y_m)
            if away < least - 1e-9:
                values = {"intake": name, "other": other, "away": (away, "length"), "least": (least, "length")}
                found.append(Finding("intake-beside-exhaust", name, values))
    return found


def _intakes(house: House) -> list[tuple[str, PlanPoint, str]]:
    """(place in the file, point, outlet that shares its listed cap)."""
    found = [(f"fan.{f.id}", f.cap, "") for f in house.fan if f.kind == "supply" and f.cap]
    return found + [
        (f"ventilator.{u.id}", u.intake, f"ventilator.{u.id}" if u.combined_cap else "")
        for u in house.ventilator
        if u.intake
    ]


def _outlets(house: House, exhaust_m: float, flue_m: float) -> list[tuple[str, PlanPoint, float]]:
    """(place in the file, point, least distance of an intake from it)."""
    found = [(f"fan.{f.id}", f.cap, exhaust_m) for f in house.fan if f.kind == "exhaust" and f.cap]
    for kind in ("hood", "dryer", "ventilator"):
        found += [(f"{kind}.{item.id}", item.cap, exhaust_m) for item in getattr(house, kind) if item.cap]
    for kind in ("water_heater", "appliance"):
        found += [(f"{kind}.{item.id}", item.vent, flue_m) for item in getattr(house, kind) if item.vent]
    return found
