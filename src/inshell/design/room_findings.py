"""What an experienced eye sees of heads, thermostats and transfer fans before anything is run."""

from __future__ import annotations

from inshell.design.heads import AIR_PER_COOLING_M3_J, contact_of, rated_cooling
from inshell.findings import Finding
from inshell.house.model.heat_devices import Head
from inshell.house.model.house import House
from inshell.house.model.rooms import WET_USES

FACE_M_S = 1.524  # 300 ft/min
LEAST_OFFSET_K = 0.28  # half a degree Fahrenheit: what a thermostat and a sensor can tell apart (common practice)


def observe_rooms(house: House) -> list[Finding]:
    """Every such finding."""
    found = [finding for head in house.head for finding in _head(house, head)]
    return found + _transfers(house) + _promises(house) + _open_doors(house)


def _head(house: House, head: Head) -> list[Finding]:
    where, found = f"head.{head.id}", []
    if house.room_named(head.room).use in WET_USES:
        found.append(Finding("head-in-bathroom", where, {"head": head.id}))
    if head.thermostat_room not in (None, head.room):
        values = {"head": head.id, "room": head.room, "sensed": head.thermostat_room}
        found.append(Finding("thermostat-elsewhere", where, values))
    if not any(point.mode == "heating" for point in head.point):
        found.append(Finding("head-heating-unknown", where, {"head": head.id}))
    if any(point.minimum_w is None for point in head.point):
        found.append(Finding("head-least-unknown", where, {"head": head.id}))
    rated = rated_cooling(head)
    if rated is None:
        return [*found, Finding("head-cooling-unknown", where, {"head": head.id})]
    if not head.air_flow_m3_s:
        flow = AIR_PER_COOLING_M3_J * float(rated.rated_w or rated.maximum_w)
        found.append(Finding("head-air-assumed", where, {"head": head.id, "flow": (flow, "flow")}))
    try:
        contact_of(head)
    except ValueError:
        found.append(Finding("head-coil-impossible", where, {"head": head.id}))
    return found


def _transfers(house: House) -> list[Finding]:
    """Transfer fans between rooms that nothing conditions, and the speed of air at their grilles."""
    made = set(house.rooms_with_heat)
    floor = {room for circuit in house.circuit for room in circuit.rooms}
    found = []
    for fan in house.transfer_fan:
        where = f"transfer_fan.{fan.id}"
        if made and not {fan.from_room, fan.to_room} & (made or floor):
            values = {"fan": fan.id, "from_room": fan.from_room, "to_room": fan.to_room}
            found.append(Finding("transfer-between-headless", where, values))
        needed = (fan.flow_m3_s / FACE_M_S, "area")
        if fan.face_m2 <= 0.0:
            found.append(Finding("transfer-face-unknown", where, {"fan": fan.id, "area": needed}))
        elif fan.flow_m3_s / fan.face_m2 > FACE_M_S:
            speed = round(fan.flow_m3_s / fan.face_m2 / 0.00508)
            found.append(Finding("transfer-face-fast", where, {"fan": fan.id, "speed": speed, "area": needed}))
    return found


def _promises(house: House) -> list[Finding]:
    least = (LEAST_OFFSET_K, "temperature_difference")
    return [
        Finding(
            "comfort-band-impossible",
            f"promise.{promise.id}",
            {"promise": promise.name or promise.id, "limit": (promise.limit, "temperature_difference"), "least": least},
        )
        for promise in house.promise
        if promise.kind == "room-temperature-offset" and promise.limit < LEAST_OFFSET_K
    ]


def _open_doors(house: House) -> list[Finding]:
    bedrooms = {room.id for room in house.room if room.is_bedroom}
    return [
        Finding("door-open-fire", f"door.{door.id}", {})
        for door in house.door
        if door.open_hours == "always" and set(door.between or ()) & bedrooms
    ]
