"""Ids that point at something: each must exist, and none may be given twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches

from inshell.errors import Problem
from inshell.house.geometry.walls import WORDS
from inshell.house.model.house import House
from inshell.house.model.tables import devices, roomed, rows_of
from inshell.sources import table
from inshell.units import show


def reference_problems(house: House, ignore: frozenset[str] = frozenset()) -> list[Problem]:
    """Everything that names what is not there, and ids that stand twice."""
    known = {kind: {item.id for item in getattr(house, kind)} for kind in rows_of(type(house))}
    known["material"] |= set(table("materials"))
    known["floor"] = known["slab"] | known["assembly"]
    known["opaque"] = known["assembly"]
    known["target"] = {name for kinds in DOES.values() for kind in kinds for name in known[kind]}
    known["fan_setting"] = _fan_settings(house)
    known["other device"] = set()
    known["mover"] = {name for kind in ("fan", "hood", "dryer", "ventilator", "transfer_fan") for name in known[kind]}
    problems = _twice(house)
    for where, kind, name in _references(house):
        if name is not None and name not in known[kind] and name not in ignore:
            problems.append(_missing(where, kind, name, sorted(known[kind])))
    cool = house.household.cooling_set_point_c
    for room in house.room:
        heat = room.heating_set_point_c or house.household.heating_set_point_c
        if heat >= cool:
            shown = [show(value, "temperature", house.units) for value in (heat, cool)]
            found = f"heating to {shown[0]}, cooling to {shown[1]}"
            problems.append(Problem(f"room.{room.id}.heating_set_point", found, "heating below cooling_set_point"))
    problems += _misdirected(house, known)
    for path in _wall_paths(house):
        problems += path
    return problems


DOES = {
    ("full", "base", "off"): ("fan", "hood", "ventilator", "transfer_fan"),
    ("open", "shut"): ("door", "window"),
    ("heat-to", "cool-to"): ("room",),
}


def _misdirected(house: House, known: dict[str, set[str]]) -> list[Problem]:
    """Rows of control that ask of their target what it cannot do; rows for doors between no rooms."""
    problems = []
    doors = {door.id for door in house.door}
    for row in house.control:
        if row.target in doors and row.room is None and row.sense and not row.sense.startswith("outdoor"):
            problems.append(Problem(f"control.{row.id}.room", "a door that senses in no room", "room, where it senses"))
        kinds = next(kinds for words, kinds in DOES.items() if row.does in words)
        if row.target in known["target"] and not any(row.target in known[kind] for kind in kinds):
            able = next(w for w, k in DOES.items() if any(row.target in known[kind] for kind in k))
            problems.append(Problem(f"control.{row.id}.does", f"{row.does!r} of {row.target!r}", ", ".join(able)))
        for door in house.door:
            if door.id == row.target and door.between is None:
                problems.append(Problem(f"control.{row.id}.target", "a door outdoors", "an inner door, or a window"))
        for window in house.window:
            if window.id == row.target and window.openable_m2 <= 0.0:
                accepted = "a window with openable, its free area when open"
                problems.append(Problem(f"control.{row.id}.target", "a window that does not open", accepted))
    return problems


def _fan_settings(house: House) -> set[str]:
    """What a pressure promise may name as running: a device that moves air out or in, or a fan at its base flow."""
    movers = {item.id for name in ("fan", "hood", "dryer", "ventilator") for item in getattr(house, name)}
    return movers | {f"{fan.id}:base" for fan in house.fan}


def _missing(where: str, kind: str, name: str, known: list[str]) -> Problem:
    near = [n for n in get_close_matches(name, known, n=1) if _letters(n) != _letters(name)]
    accepted = ", ".join(known[:12]) or f"nothing yet: the file has no {kind}"
    return Problem(
        where,
        f"no {kind.replace('_', ' ')} has the id {name!r}",
        accepted,
        f"Did you mean {near[0]!r}?" if near else "",
    )


def _letters(name: str) -> str:
    """A name without its digits: bed-2 for bed-3 is no slip of the pen but another room."""
    return "".join(c for c in name if not c.isdigit())


def _twice(house: House) -> list[Problem]:
    problems = []
    for kind in rows_of(type(house)):
        for name, count in Counter(item.id for item in getattr(house, kind)).items():
            if count > 1:
                problems.append(Problem(f"{kind}.{name}.id", f"{count} of them have this id", "an id of its own each"))
    problems += _twice_among_devices(house)
    for room in house.room:
        for name, count in Counter(corner.id for corner in room.outline).items():
            if count > 1:
                problems.append(
                    Problem(f"room.{room.id}.outline.{name}", f"{count} corners have this id", "an id of its own each")
                )
    return problems


def _twice_among_devices(house: House) -> list[Problem]:
    problems = []
    mine = [(table_name, item.id) for table_name in devices(type(house)) for item in getattr(house, table_name)]
    for name, count in Counter(name for _, name in mine).items():
        kinds = sorted({kind for kind, other in mine if other == name})
        if count > 1 and len(kinds) > 1:
            found = f"a {' and a '.join(kind.replace('_', ' ') for kind in kinds)} have this id"
            problems.append(Problem(f"{kinds[-1]}.{name}.id", found, "an id of its own for each device"))
    for unit in house.ventilator:
        for key in ("supply_rooms", "exhaust_rooms"):
            for name, count in Counter(getattr(unit, key)).items():
                if count > 1:
                    problems.append(Problem(f"ventilator.{unit.id}.{key}", f"{name!r} {count} times", "each room once"))
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
        yield f"window.{window.id}.glazing", "glazing", window.glazing
    for door in house.door:
        yield f"door.{door.id}.type", "door_type", door.type
    yield from _device_references(house)


LISTED = (
    ("door", "between", "room"),
    ("passage", "between", "room"),
    ("transfer_opening", "between", "room"),
    ("ventilator", "supply_rooms", "room"),
    ("ventilator", "exhaust_rooms", "room"),
    ("circuit", "rooms", "room"),
)
NAMED = (
    ("person", "sleeps_in", "room"),
    ("control", "target", "target"),
    ("control", "while_runs", "mover"),
    ("transfer_fan", "from_room", "room"),
    ("transfer_fan", "to_room", "room"),
    ("head", "outdoor_unit", "outdoor_unit"),
    ("head", "thermostat_room", "room"),
    ("head_option", "outdoor_unit", "outdoor_unit"),
    ("head_option", "thermostat_room", "room"),
    ("circuit", "manifold", "manifold"),
)


def _device_references(house: House) -> Iterator[tuple[str, str, str | None]]:
    for table_name, key, kind in (*((name, "room", "room") for name in roomed(type(house))), *NAMED):
        for item in getattr(house, table_name):
            yield f"{table_name}.{item.id}.{key}", kind, getattr(item, key)
    for table_name, key, kind in LISTED:
        for item in getattr(house, table_name):
            for name in getattr(item, key) or ():
                yield f"{table_name}.{item.id}.{key}", kind, name
    yield from _shared_runs(house)
    for promise in house.promise:
        for name in promise.fans:
            yield f"promise.{promise.id}.fans", "fan_setting", name


def _shared_runs(house: House) -> Iterator[tuple[str, str, str | None]]:
    for table_name in ("fan", "hood", "transfer_fan"):
        for item in getattr(house, table_name):
            if item.duct and item.duct.shared_with == item.id:
                yield f"{table_name}.{item.id}.duct.shared_with", "other device", f"{item.id} itself"
            elif item.duct:
                yield f"{table_name}.{item.id}.duct.shared_with", "mover", item.duct.shared_with


def _wall_paths(house: House) -> list[list[Problem]]:
    """Walls of buffers are written room:corner-corner; the corners must be corners of that room."""
    corners = {room.id: {c.id for c in room.outline} for room in house.room}
    problems = []
    for buffer in house.buffer:
        for wall in buffer.walls:
            room, _, edge = wall.partition(":")
            if room not in corners or not (edge in WORDS or set(edge.split("-")) <= corners[room]):
                problems.append(
                    [
                        Problem(
                            f"buffer.{buffer.id}.walls",
                            f"{wall!r} is no wall of a room",
                            'room, colon, two corners or a compass word, such as "living:c1-c2" or "living:west"',
                        )
                    ]
                )
    return problems
