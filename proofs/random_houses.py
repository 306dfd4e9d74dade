"""Legal but absurd houses from a seed: every shape, size, climate and device kind."""

from __future__ import annotations

import math
import random
from typing import Any

import numpy as np
from shapely.geometry import LineString, Polygon
from tests.houses import content, moved
from tests.test_random_houses import EAVE_M, FALLS, ROOFS, plan

from proofs.random_details import detailed

Rooms = list[dict[str, Any]]
YEARS = ("greensboro", "sand-point", "miami")
USES = ("living", "kitchen-living", "kitchen", "bedroom", "bath", "hall", "utility", "loft", "stair", "toilet", "other")
DEVICES = ("fan", "supply-fan", "hood", "dryer", "ventilator", "transfer_fan", "head", "heater", "floor", "dehumidifier",
           "water_heater", "appliance", "transfer_opening", "leak", "person", "control", "window")  # fmt: skip


def random_house(seed: int, *, plain: bool = False) -> dict[str, Any]:
    """The content of a house file. Every seventeenth house has one kind of device alone, in turn; others any.

    A `plain` one has one row of each device as its maker told it, without options, controls or spaces beside.
    """
    dice = random.Random(seed)
    turn = dice.choice([0.0, dice.uniform(0, 360)])
    kind, pitch = dice.choice(sorted(ROOFS)), dice.uniform(0.0, 60.0)
    lower = plan(dice)[:15]
    rooms: Rooms = [{"outline": outline, "ceiling": 2.5} for outline in lower]
    two = dice.random() < 0.3 and len(lower) < 8
    if two:
        rooms += [{"outline": outline, "ceiling": 2.5, "floor_height": 2.8} for outline in lower]
    top = rooms[len(lower) :] if two else rooms
    eave = EAVE_M + (2.8 if two else 0.0)
    for room in top:
        if kind != "flat" and dice.random() < 0.8:
            room["ceiling"] = "roof"
    for k, room in enumerate(rooms):
        room["id"], room["use"] = f"r{k}", dice.choice(USES)
    rooms[0]["use"] = "kitchen-living"
    planes = [
        {"id": d, "falls": f"{(FALLS[d] - turn) % 360}°", "pitch": f"{max(pitch, 0.5)}°", "eave_height": eave}
        for d in ROOFS[kind]
    ]
    roof = [{"id": "roof", "plane": planes}] if any(r["ceiling"] == "roof" for r in rooms) else []
    doors = _doors(rooms, dice)
    rest = _devices(rooms, doors, dice, seed)
    turned = moved(rooms, turn_deg=turn, dx=dice.uniform(-20, 20), dy=dice.uniform(-20, 20))
    for row in rest.get("manifold", []):
        outline = next(Polygon(r["outline"]) for r in turned if r["id"] == row["room"])
        at = outline.representative_point()
        row["position"] = [round(at.x, 3), round(at.y, 3)]
    told = content(turned, roof=roof, door=doors, **rest)
    told["site"] |= {"elevation": f"{dice.uniform(0, 3500):.0f} m", "terrain": dice.choice(["open", "suburban", "urban"]),
                     "soil": dice.choice(["clay", "sand", "rock"]), "plan_north": f"{dice.uniform(0, 359):.0f}°"}  # fmt: skip
    cold = dice.uniform(-45, 30)
    told["climate"] = {"heating_design": f"{cold:.1f} °C", "mean_annual": f"{cold + dice.uniform(2, 30):.1f} °C",
                       "cooling_design": f"{dice.uniform(max(cold, 15) + 1, 46):.1f} °C"}  # fmt: skip
    told["climate"]["year"] = dice.choice(YEARS)
    told |= _more(rooms, dice)
    told["tightness"] = {"ach50": round(math.exp(dice.uniform(math.log(0.05), math.log(15))), 3),
                         "exponent": round(dice.uniform(0.5, 0.9), 2)}  # fmt: skip
    if plain or seed % 17 == 0:
        return told
    return detailed(told, [(room["id"], wall) for room, wall in _outer_walls(rooms, dice, 0.8)], seed)


def _more(rooms: Rooms, dice: random.Random) -> dict[str, Any]:
    """Promises, ways to calculate, rules, edges of the slab and what the household asks, each now and then."""
    told: dict[str, Any] = {}
    room, other = rooms[0]["id"], rooms[-1]["id"]
    offset = {"kind": "room-temperature-offset", "limit": "2 K", "room": other}
    promises = [
        offset, offset | {"doors": "open", "season": "cooling"}, offset | {"doors": "by-hours", "temperature": "operative"},
        {"kind": "hours-outside-band", "limit": 100}, {"kind": "relative-humidity", "limit": "60 %", "room": room},
        {"kind": "carbon-dioxide", "limit": 1000}, {"kind": "house-pressure", "limit": "-5 Pa"},
        {"kind": "house-heating-load", "limit": "5 kW"}, {"kind": "floor-surface-temperature", "limit": "29 °C"},
        {"kind": "mould-index", "limit": 3}, {"kind": "sound", "limit": 1},
    ]  # fmt: skip
    chosen = [p for p in promises if dice.random() < 0.3]
    told["promise"] = [p | {"id": f"p{k}"} for k, p in enumerate(chosen)]
    told["simulation"] = {"convection": dice.choice(["constant", "by-difference"]),
                          "sky": dice.choice(["air-less-11", "dew-point"])}  # fmt: skip
    told["rules"] = {"fresh_air": dice.sample(["ashrae-62.2-2010", "ashrae-62.2-2019", "irc-2018-table"], 2),
                     "local_exhaust": dice.choice(["ashrae-62.2", "irc"]),
                     "weather_factor": dice.choice([0.4, 0.7, 1.0])}  # fmt: skip
    slab: dict[str, Any] = {"id": "s", "under_r": dice.choice([0.0, 0.5, 2.0]), "heated": True}
    if dice.random() < 0.5:
        slab["edge"] = {"r": dice.choice([0.5, 2.0]), "depth": "0.6 m", "kind": dice.choice(["vertical", "horizontal"])}
    told["slab"] = [slab]
    return told


def _doors(rooms: Rooms, dice: random.Random) -> list[dict[str, Any]]:
    """Doors and passages between neighbours of a floor, most of them; stairs between floors."""
    told = []
    for a, one in enumerate(rooms):
        for b, two in enumerate(rooms[a + 1 :], start=a + 1):
            if one.get("floor_height", 0.0) != two.get("floor_height", 0.0):
                continue
            shared = Polygon(one["outline"]).intersection(Polygon(two["outline"]))
            pieces = [g for g in getattr(shared, "geoms", [shared]) if isinstance(g, LineString)]
            if sum(p.length for p in pieces) > 1.5 and max(p.length for p in pieces) > 1.5 and dice.random() < 0.7:
                door = {"id": f"d{a}-{b}", "between": [one["id"], two["id"]], "width": 0.8, "height": 2.0}
                if dice.random() < 0.5:
                    door["undercut"] = f"{dice.uniform(0, 40):.0f} mm"
                told.append(door)
    return told


def _devices(rooms: Rooms, doors: list[dict[str, Any]], dice: random.Random, seed: int) -> dict[str, Any]:
    alone = DEVICES[seed // 17 % len(DEVICES)] if seed % 17 == 0 else None
    kinds = [alone] if alone else [k for k in DEVICES if dice.random() < 0.4]
    told: dict[str, Any] = {}
    for kind in kinds:
        for table, rows in _one(kind, rooms, doors, dice).items():
            if isinstance(rows, list):
                told.setdefault(table, []).extend(rows)
            else:
                told[table] = rows
    if "control" in kinds:
        named = [row["id"] for table in ("fan", "transfer_fan") for row in told.get(table, [])]
        told["control"] = [_control(f"k{k}", target, dice) for k, target in enumerate(named[:3])]
    return told


def _flow(dice: random.Random, most_m3_h: float) -> str:
    return f"{math.exp(dice.uniform(math.log(1.0), math.log(most_m3_h))):.2f} m3/h"


def _one(kind: str, rooms: Rooms, doors: list[dict[str, Any]], dice: random.Random) -> dict[str, Any]:
    """Rows of one kind of device."""
    any_room = [r["id"] for r in rooms]
    room, other = dice.choice(any_room), dice.choice(any_room)
    apart = [d["between"] for d in doors]
    match kind:
        case "fan" | "supply-fan":
            way = "exhaust" if kind == "fan" else "supply"
            fan = {"id": kind, "room": room, "kind": way, "rated_flow": _flow(dice, 600), "serves": ["whole-house"]}
            if dice.random() < 0.5:
                fan["base_flow"] = "1 m3/h"
            if dice.random() < 0.5:
                fan["duct"] = {"diameter": f"{dice.choice([80, 100, 125])} mm", "length": f"{dice.uniform(0.1, 30):.1f} m",
                               "material": dice.choice(["smooth", "flex"]), "elbows": dice.randint(0, 6)}  # fmt: skip
            return {"fan": [fan]}
        case "hood":
            return {"hood": [{"id": "hood", "room": room, "flow": _flow(dice, 1500)}]}
        case "dryer":
            return {"dryer": [{"id": "dryer", "room": room, "vented": dice.random() < 0.7}]}
        case "ventilator":
            row = {"id": "unit", "room": room, "supply_rooms": [other], "exhaust_rooms": [room], "supply_flow": _flow(dice, 300),
                   "exhaust_flow": _flow(dice, 300), "recovery": round(dice.uniform(0, 0.95), 2),
                   "defrost": dice.choice(["none", "exhaust-only", "recirculate", "preheat"]), "defrost_below": "-5 °C",
                   "defrost_share": 0.2}  # fmt: skip
            return {"ventilator": [row]}
        case "transfer_fan":
            if room == other:
                return {}
            return {"transfer_fan": [{"id": "t", "from_room": room, "to_room": other, "flow": _flow(dice, 300)}]}
        case "head":
            most = dice.randint(1500, 9000)
            points = [
                {
                    "mode": m,
                    "outdoor": f"{t} °C",
                    "minimum": "600 W",
                    "maximum": f"{share * most:.0f} W",
                    "power": "900 W",
                }
                for m, t, share in (("heating", 8, 1), ("heating", -15, 0.6), ("cooling", 35, 0.8), ("cooling", 20, 1))
            ]
            return {"head": [{"id": "head", "room": room, "point": points, "fan_always": dice.random() < 0.3}]}
        case "heater":
            rows = [
                {"id": f"h{k}", "room": r, "power": f"{dice.randint(200, 4000)} W"} for k, r in enumerate(any_room[:6])
            ]
            return {"heater": rows}
        case "floor":
            return _floor(rooms, dice)
        case "dehumidifier":
            return {
                "dehumidifier": [{"id": "dry", "room": room, "removes_l_day": 20, "rating": "80F-60", "power": "400 W"}]
            }
        case "water_heater":
            kinds = [
                ("tankless", "gas"),
                ("tank", "electric"),
                ("heat-pump-tank", "electric"),
                ("tankless", "electric"),
            ]
            what, fuel = dice.choice(kinds)
            row = {
                "id": "hot",
                "room": room,
                "kind": what,
                "fuel": fuel,
                "input_minimum": "4 kW",
                "input_maximum": "35 kW",
            }
            taps = [{"id": f"f{k}", "kind": kind, "room": room} for k, kind in enumerate(("shower", "lavatory", "tub"))]
            return {"water_heater": [row], "fixture": taps[: dice.randint(0, 3)]}
        case "appliance":
            vents = ["sealed", "induced", "natural-draft", "none"]
            return {"appliance": [{"id": "stove", "room": room, "kind": "wood-stove", "venting": dice.choice(vents)}]}
        case "transfer_opening":
            pair = dice.choice(apart) if apart else None
            return {"transfer_opening": [{"id": "o", "between": pair, "free_area": "0.02 m2"}]} if pair else {}
        case "leak":
            area = f"{math.exp(dice.uniform(0, 7)):.0f} cm2"
            return {"leak": [{"id": "hole", "room": room, "area": area, "height": f"{dice.uniform(0, 2.3):.1f} m"}]}
        case "person":
            rows = [
                {"id": f"p{k}", "sleeps_in": r, "age": dice.randint(1, 90)}
                for k, r in enumerate(any_room[: dice.randint(1, 5)])
            ]
            return {"person": rows}
        case "window":
            return {"window": [
                {"id": f"w{k}", "room": r["id"], "width": 0.5, "height": 0.6, "sill": 1.0, "glazing": "g", "wall": wall}
                for k, (r, wall) in enumerate(_outer_walls(rooms, dice))
            ]}  # fmt: skip
    return {}


def _outer_walls(rooms: Rooms, dice: random.Random, share: float = 0.4) -> list[tuple[dict[str, Any], str]]:
    """Walls by their corners that no other room of the floor touches, for some of the rooms."""
    told = []
    for room in rooms:
        shape = Polygon(room["outline"])
        level = [
            Polygon(r["outline"]) for r in rooms
            if r is not room and r.get("floor_height", 0.0) == room.get("floor_height", 0.0)
        ]  # fmt: skip
        corners = room["outline"]
        for k, (a, b) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
            edge = LineString([a, b])
            free = all(edge.intersection(other).length < 1e-9 for other in level)
            if edge.length > 1.5 and free and dice.random() < share and shape.is_valid:
                told.append((room, f"c{k + 1}-c{(k + 1) % len(corners) + 1}"))
                break
    return told


def _floor(rooms: Rooms, dice: random.Random) -> dict[str, Any]:
    ground = [r for r in rooms if not r.get("floor_height")]
    spacing = f"{dice.choice([150, 200, 250, 300])} mm"
    chosen = [r["id"] for r in ground if dice.random() < 0.6] or [ground[0]["id"]]
    rows = [
        {"id": f"c{k}", "rooms": [r], "manifold": "m", "spacing": spacing, "depth": "50 mm"}
        for k, r in enumerate(chosen)
    ]
    return {"manifold": [{"id": "m", "room": ground[0]["id"]}], "circuit": rows, "floor": {"wall_clearance": "0.15 m"}}


def _control(name: str, target: str, dice: random.Random) -> dict[str, Any]:
    row: dict[str, Any] = {"id": name, "target": target, "does": dice.choice(["full", "off"])}
    row |= dice.choice([
        {"from": "08:00", "to": "17:00"}, {"outdoor_below": "5 °C"}, {"humidity_above": 0.6, "room": "r0"},
        {"carbon_dioxide_above": 900, "room": "r0"}, {"air_above": "24 °C", "room": "r0"},
    ])  # fmt: skip
    return row


def finite(values: object) -> bool:
    """Whether all numbers of a nested answer are finite; None stands for what is not known."""
    if isinstance(values, dict):
        return all(finite(v) for v in values.values())
    if isinstance(values, list | tuple):
        return all(finite(v) for v in values)
    if isinstance(values, np.ndarray):
        return bool(np.isfinite(values).all())
    return not isinstance(values, float) or math.isfinite(values)
