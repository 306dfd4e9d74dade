"""Ids that point at something: each must exist, and none may be given twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches

from inshell.errors import Problem
from inshell.house.ids import TABLES
from inshell.house.model.house import House
from inshell.sources import table


def reference_problems(house: House, ignore: frozenset[str] = frozenset()) -> list[Problem]:
    """Everything that names what is not there, and ids that stand twice."""
    known = {kind: {item.id for item in getattr(house, kind)} for kind in TABLES}
    known["material"] |= set(table("materials"))
    known["floor"] = known["slab"] | known["assembly"]
    known["opaque"] = known["assembly"]
    problems = _twice(house)
    for where, kind, name in _references(house):
        if name is not None and name not in known[kind] and name not in ignore:
            problems.append(_missing(where, kind, name, sorted(known[kind])))
    for path in _wall_paths(house):
        problems += path
    return problems


def _missing(where: str, kind: str, name: str, known: list[str]) -> Problem:
    near = get_close_matches(name, known, n=1)
    accepted = ", ".join(known[:12]) or f"nothing yet: the file has no {kind}"
    return Problem(where, f"no {kind.replace('_', ' ')} has the id {name!r}", accepted,
                   f"Did you mean {near[0]!r}?" if near else "")


def _twice(house: House) -> list[Problem]:
    problems = []
    for kind in TABLES:
        for name, count in Counter(item.id for item in getattr(house, kind)).items():
            if count > 1:
                problems.append(Problem(f"{kind}.{name}.id", f"{count} of them have this id", "an id of its own each"))
    for room in house.room:
        for name, count in Counter(corner.id for corner in room.outline).items():
            if count > 1:
                problems.append(Problem(f"room.{room.id}.outline.{name}", f"{count} corners have this id",
                                        "an id of its own each"))
    return problems


def _references(house: House) -> Iterator[tuple[str, str, str | None]]:
    """(place, what kind of thing it names, the id it names)."""
    e = house.enclosure
    for key in ("wall", "roof", "ceiling", "partition", "mid_floor", "buffer_wall"):
        yield f"enclosure.{key}", "opaque", getattr(e, key)
    yield "enclosure.floor", "floor", e.floor
    for assembly in house.assembly:
        for k, layer in enumerate(assembly.layers, start=1):
            yield f"assembly.{assembly.id}.layers[{k}].material", "material", layer.material
            if layer.framing:
                yield f"assembly.{assembly.id}.layers[{k}].framing", "material", layer.framing.material
    for room in house.room:
        yield f"room.{room.id}.storey", "storey", room.storey
        for key in ("wall", "roof"):
            yield f"room.{room.id}.{key}", "opaque", getattr(room, key)
        yield f"room.{room.id}.floor", "floor", room.floor
    for choice in house.wall:
        yield f"wall.{choice.room}.room", "room", choice.room
        yield f"wall.{choice.room}.assembly", "opaque", choice.assembly
    for window in house.window:
        yield f"window.{window.id}.room", "room", window.room
        yield f"window.{window.id}.glazing", "glazing", window.glazing
    for door in house.door:
        yield f"door.{door.id}.type", "door_type", door.type
    yield from _device_references(house)


def _device_references(house: House) -> Iterator[tuple[str, str, str | None]]:
    for kind in ("door", "leak", "fan", "hood", "dryer", "ventilator", "head", "heater", "manifold", "water_heater",
                 "appliance", "promise"):
        for item in getattr(house, kind):
            yield f"{kind}.{item.id}.room", "room", item.room
    for kind in ("door", "passage"):
        for item in getattr(house, kind):
            for name in item.between or ():
                yield f"{kind}.{item.id}.between", "room", name
    for person in house.person:
        yield f"person.{person.id}.sleeps_in", "room", person.sleeps_in
    for unit in house.ventilator:
        for name in unit.supply_rooms:
            yield f"ventilator.{unit.id}.supply_rooms", "room", name
        for name in unit.exhaust_rooms:
            yield f"ventilator.{unit.id}.exhaust_rooms", "room", name
    for fan in house.transfer_fan:
        yield f"transfer_fan.{fan.id}.from_room", "room", fan.from_room
        yield f"transfer_fan.{fan.id}.to_room", "room", fan.to_room
    for head in house.head:
        yield f"head.{head.id}.outdoor_unit", "outdoor_unit", head.outdoor_unit
    for circuit in house.circuit:
        yield f"circuit.{circuit.id}.manifold", "manifold", circuit.manifold
        for name in circuit.rooms:
            yield f"circuit.{circuit.id}.rooms", "room", name


def _wall_paths(house: House) -> list[list[Problem]]:
    """Walls of buffers are written room:corner-corner; the corners must be corners of that room."""
    corners = {room.id: {c.id for c in room.outline} for room in house.room}
    problems = []
    for buffer in house.buffer:
        for wall in buffer.walls:
            room, _, edge = wall.partition(":")
            if room not in corners or not set(edge.split("-")) <= corners[room]:
                problems.append([Problem(
                    f"buffer.{buffer.id}.walls", f"{wall!r} is no wall of a room",
                    'room, colon, two corners in counterclockwise order, such as "living:c1-c2"',
                )])
    return problems
