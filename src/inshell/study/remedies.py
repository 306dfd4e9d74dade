"""What would change the answer for a room: each remedy simulated again, ranked by what it does, with what it costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from inshell.findings import Finding
from inshell.house.model.air_devices import TransferFan
from inshell.house.model.heat_devices import Dehumidifier, Head
from inshell.house.model.house import House
from inshell.house.model.openings import TransferOpening
from inshell.house.model.rooms import WET_USES
from inshell.physics.sound import fan_sound_change_db, partition_with_hole_db

FAN_M3_S, FAN_W_PER_M3_S = 0.0283, 320.0  # 60 cfm; 0.15 W a cfm (common practice)
BIGGER, UNDERCUT_M, GRILLE_M2, SHADE, COOLER_K = 1.7, 0.0381, 0.0387, 0.5, 1.0  # 1 1/2 in, 60 in2
LEAST_MOVE_K = 0.2  # of a set point: less than a thermostat shows
LITRES_DAY, DRIER_W = 15.0, 300.0
WALL_DB, WALL_M2 = 35.0, 10.0  # a partition whose sound is told (common practice)


@dataclass(frozen=True)
class Remedy:
    """A change to the house: what it is in words of the catalogue, the house with it, what it costs."""

    id: str
    findings: tuple[Finding, ...]
    house: House
    watts: float = 0.0
    price: float | None = None
    opens_doors: bool = False


def remedies_of(house: House, room: str, main: str) -> tuple[Remedy, ...]:
    """Every remedy that could be tried for a room that drifts from the main room."""
    found = [make(house, room, main) for make in MAKERS.values()]
    return tuple(remedy for remedy in found if remedy is not None)


def together(house: House, names: tuple[str, ...], room: str, main: str) -> Remedy | None:
    """Several remedies at once, each made to what the ones before have left; None where one has nothing left to do."""
    made: list[Remedy] = []
    for name in names:
        one = MAKERS[name](made[-1].house if made else house, room, main)
        if one is None:
            return None
        made.append(one)
    prices = [one.price for one in made]
    return Remedy(
        id="+".join(names),
        findings=tuple(finding for one in made for finding in one.findings),
        house=made[-1].house,
        watts=sum(one.watts for one in made),
        price=None if any(p is None for p in prices) else float(sum(p for p in prices if p is not None)),
        opens_doors=any(one.opens_doors for one in made),
    )


def _transfer(house: House, room: str, main: str) -> Remedy | None:
    """A bigger transfer fan, or one where there is none."""
    if room == main:
        return None
    own = [fan for fan in house.transfer_fan if fan.to_room == room]
    where = f"room.{room}"
    if own:
        fan = own[0]
        more = fan.model_copy(update={"flow_m3_s": fan.flow_m3_s * BIGGER})
        added = (BIGGER - 1.0) * (fan.power_w or FAN_W_PER_M3_S * fan.flow_m3_s)
        fans = tuple(more if f.id == fan.id else f for f in house.transfer_fan)
        louder = round(float(fan_sound_change_db(flow_ratio=BIGGER)))
        after, now = (more.flow_m3_s, "flow"), (fan.flow_m3_s, "flow")
        values = {"fan": fan.id, "flow": after, "now": now, "louder": louder}
        finding = Finding("remedy-transfer-bigger", where, values)
    else:
        fan = TransferFan(
            id=f"new-transfer-{room}",
            from_room=main,
            to_room=room,
            flow_m3_s=f"{FAN_M3_S} m3/s",  # a bare number would be m3/h
            return_grille_m2=GRILLE_M2,
        )
        fans, added = (*house.transfer_fan, fan), FAN_W_PER_M3_S * FAN_M3_S
        finding = Finding("remedy-transfer-new", where, {"main": main, "flow": (FAN_M3_S, "flow")})
    return Remedy(
        "transfer", (finding,), house.model_copy(update={"transfer_fan": fans}), added, house.prices.transfer_fan
    )


def _second_head(house: House, room: str, main: str) -> Remedy | None:
    heads = [head for head in house.head if head.room == main] or list(house.head)
    if not heads or any(head.room == room for head in house.head):
        return None
    new = _moved(heads[0], room, f"new-head-{room}")
    return Remedy(
        "second-head", (Finding("remedy-second-head", f"room.{room}", {}),),
        house.model_copy(update={"head": (*house.head, new)}), 0.0, house.prices.head,
    )  # fmt: skip


def _moved(head: Head, room: str, name: str) -> Head:
    return head.model_copy(update={"id": name, "room": room, "position": None, "thermostat_room": None})


def _beyond_door(house: House, room: str) -> str | None:
    """The room on the other side of a room's door."""
    ways = [door.between for door in house.door if door.between and room in door.between]
    others = [a if b == room else b for a, b in ways]
    return others[0] if others else None


def _head_elsewhere(house: House, room: str, main: str) -> Remedy | None:
    """The main room's head in the room outside the door instead."""
    there = _beyond_door(house, room)
    heads = [head for head in house.head if head.room == main]
    if not heads or there in (None, main) or house.room_named(there or main).use in WET_USES:
        return None
    moved = tuple(_moved(h, there or main, h.id) if h.room == main else h for h in house.head)
    finding = Finding("remedy-head-elsewhere", f"room.{room}", {"there": there})
    return Remedy("head-elsewhere", (finding,), house.model_copy(update={"head": moved}), 0.0, house.prices.head)


def _undercut(house: House, room: str, main: str) -> Remedy | None:
    own = [door for door in house.door if door.between and room in door.between and door.undercut_m < UNDERCUT_M - 1e-6]
    if not own:
        return None
    wider = tuple(door.model_copy(update={"undercut_m": UNDERCUT_M}) if door in own else door for door in house.door)
    finding = Finding("remedy-undercut", f"room.{room}", {"undercut": (UNDERCUT_M, "length")})
    return Remedy("undercut", (finding,), house.model_copy(update={"door": wider}), 0.0, house.prices.grille)


def _grille(house: House, room: str, main: str) -> Remedy | None:
    there = _beyond_door(house, room)
    if there is None:
        return None
    names = (f"new-grille-{room}-low", f"new-grille-{room}-high")
    new = tuple(
        TransferOpening(id=name, between=(there, room), free_area_m2=GRILLE_M2, height_m=height)
        for name, height in zip(names, (0.3, 2.2), strict=True)
    )
    left = partition_with_hole_db(partition_db=WALL_DB, partition_m2=WALL_M2, hole_m2=2.0 * GRILLE_M2)
    finding = Finding("remedy-grilles", f"room.{room}", {"area": (GRILLE_M2, "area"), "left": round(float(left))})
    changed = house.model_copy(update={"transfer_opening": (*house.transfer_opening, *new)})
    return Remedy("grilles", (finding,), changed, 0.0, house.prices.grille)


def _doors_open(house: House, room: str, main: str) -> Remedy | None:
    own = [door for door in house.door if door.between and room in door.between]
    if not own:
        return None
    doors = tuple(door.model_copy(update={"open_hours": "always"}) if door in own else door for door in house.door)
    finding = Finding("remedy-door-open", f"room.{room}", {})
    return Remedy("door-open", (finding,), house.model_copy(update={"door": doors}), 0.0, 0.0, opens_doors=True)


def _shade(house: House, room: str, main: str) -> Remedy | None:
    own = [window for window in house.window if window.room == room]
    if not own:
        return None
    windows = tuple(w.model_copy(update={"shade": w.shade * SHADE}) if w in own else w for w in house.window)
    price = None if house.prices.shade is None else house.prices.shade * len(own)
    finding = Finding("remedy-shade", f"room.{room}", {"windows": len(own)})
    return Remedy("shade", (finding,), house.model_copy(update={"window": windows}), 0.0, price)


def _set_points(house: House, room: str, main: str) -> Remedy | None:
    """The heads' set points a kelvin further: cooler in summer, warmer in winter; the main room leaves its own.

    Where those for heating and cooling lie close, only so far that they do not meet.
    """
    by = min(COOLER_K, 0.4 * _between_set_points_k(house))
    if not house.head or by < LEAST_MOVE_K:
        return None
    h = house.household
    moved = h.model_copy(
        update={"cooling_set_point_c": h.cooling_set_point_c - by, "heating_set_point_c": h.heating_set_point_c + by}
    )
    finding = Finding("remedy-set-points", f"room.{room}", {"by": (by, "temperature_difference")})
    return Remedy("set-points", (finding,), house.model_copy(update={"household": moved}), 0.0, 0.0)


def _between_set_points_k(house: House) -> float:
    """From the warmest that heating is told anywhere to the coolest that cooling is told."""
    home, rows = house.household, house.control
    heat = [home.heating_set_point_c, *(r.heating_set_point_c for r in house.room if r.heating_set_point_c is not None)]
    heat += [row.set_point_c for row in rows if row.does == "heat-to" and row.set_point_c is not None]
    cool = [home.cooling_set_point_c]
    cool += [row.set_point_c for row in rows if row.does == "cool-to" and row.set_point_c is not None]
    return float(min(cool) - max(heat))


def _drier(house: House, room: str, main: str) -> Remedy | None:
    if house.dehumidifier:
        return None
    unit = Dehumidifier(id="new-dehumidifier", room=main, removes_l_day=LITRES_DAY, power_w=DRIER_W)
    finding = Finding("remedy-dehumidifier", f"room.{main}", {"litres": LITRES_DAY})
    return Remedy(
        "dehumidifier", (finding,), house.model_copy(update={"dehumidifier": (unit,)}), 0.0, house.prices.dehumidifier
    )


MAKERS: dict[str, Callable[[House, str, str], Remedy | None]] = {
    "transfer": _transfer,
    "second-head": _second_head,
    "head-elsewhere": _head_elsewhere,
    "undercut": _undercut,
    "grilles": _grille,
    "door-open": _doors_open,
    "shade": _shade,
    "set-points": _set_points,
    "dehumidifier": _drier,
}
