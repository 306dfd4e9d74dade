"""What houses have beyond their shape and one plain row of each device: options, openings, rules, controls, tests on file."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from typing import Any

from shapely.geometry import Polygon

from proofs.random_values import ENDS, LAYERS, PLACED, SHEETS, VALUES, WATER_MAP, House


def detailed(told: House, outer: list[tuple[str, str]], seed: int) -> House:
    """The content of a house file with more in it. `outer` are walls outdoors by room and corners."""
    dice = random.Random(f"details {seed}")
    for work in (_shell, _beside, _openings, _between, _people, _machines, _options):
        work(told, outer, dice)
    for table, fields in VALUES.items():
        rows = told.get(table, [])
        for row in rows if isinstance(rows, list) else [rows]:
            for key, choices in fields.items():
                if (key not in row or key == "serves") and dice.random() < 0.3:
                    row[key] = dice.choice(choices)
    _together(told)
    _places(told, dice)
    _controls(told, dice)
    _promises(told, dice)
    if dice.random() < 0.25:
        told = copy.deepcopy(told)
        _in_feet(told)
    return told


def _maybe(dice: random.Random, share: float, work: Callable[[], object]) -> None:
    if dice.random() < share:
        work()


def _shell(told: House, _: list[tuple[str, str]], dice: random.Random) -> None:
    """Panels, own materials, walls known by U alone, a fire wall between rooms, air tightness by flow."""
    told["material"] = [
        {"id": "own", "conductivity": "0.1 W/mK", "density": "500 kg/m3", "specific_heat": "1600 J/kgK", "mu_dry": 12}
    ]
    shell, inner = told["assembly"]
    _maybe(dice, 0.6, lambda: shell.update(layers=dice.choice(LAYERS)))
    if dice.random() < 0.1:
        shell.pop("layers")
        shell.update(u="0.2 W/m2K", thickness="0.25 m")
    _maybe(dice, 0.15, lambda: inner.update(fire_rated=True))
    for table in ("household", "prices", "floor"):
        told.setdefault(table, {})
    _maybe(dice, 0.1, lambda: told["climate"].pop("year"))
    _maybe(dice, 0.15, lambda: told["climate"].pop("cooling_design"))
    told["tightness"]["shielding"] = dice.choice(["open", "moderate", "sheltered"])
    if dice.random() < 0.2:
        told["tightness"].pop("ach50")
        told["tightness"]["flow_at_50_pa"] = f"{dice.uniform(5, 900):.0f} m3/h"


def _beside(told: House, outer: list[tuple[str, str]], dice: random.Random) -> None:
    """Garages, neighbours, lofts above and crawl spaces beneath; a floor on piers."""
    rows: list[House] = []
    for k, (room, wall) in enumerate(outer[:2]):
        if dice.random() < 0.25:
            kind = dice.choice(["garage", "house-next-door", "porch", "other"])
            rows.append({"id": f"beside{k}", "kind": kind, "walls": [f"{room}:{wall}"]})
            _maybe(dice, 0.3, lambda: rows[-1].update(temperature_factor=0.4))
            outer.remove((room, wall))
    told["enclosure"] |= {"ceiling": "w"} if dice.random() < 0.3 else {}
    if dice.random() < 0.2:
        rows.append({"id": "attic", "kind": "attic", "above": True})
    if dice.random() < 0.25 and "circuit" not in told:
        told["assembly"].append({"id": "f", "layers": [{"material": "plywood", "thickness": "20 mm"},
                                                       {"material": "eps", "thickness": "0.2 m"}]})  # fmt: skip
        told["enclosure"]["floor"] = "f"
        if dice.random() < 0.6:
            rows.append({"id": "below", "kind": dice.choice(["crawl-space", "basement"]), "beneath": True})
    told["buffer"] = rows


def _openings(told: House, outer: list[tuple[str, str]], dice: random.Random) -> None:
    """Outer doors, windows that open and by hours, roof windows, leaks in walls."""
    told["door_type"] = [{"id": "t", "u": "1 W/m2K", "glazing_share": 0.3}]
    if outer and dice.random() < 0.7:
        room, wall = dice.choice(outer)
        if not any((w["room"], w["wall"]) == (room, wall) for w in told.get("window", ())):
            told["door"].append({"id": "front", "room": room, "wall": wall, "width": 0.9, "height": 2.0, "type": "t"})
    for window in told.get("window", []):
        if dice.random() < 0.4:
            window |= {"openable": "0.1 m2", "open_from": "21:00", "open_to": "06:00"}
    planes = [p["id"] for roof in told.get("roof", ()) for p in roof["plane"]]
    under = [room["id"] for room in told["room"] if room["ceiling"] == "roof"]
    if planes and under and len(planes) == 1 and dice.random() < 0.3:
        told.setdefault("window", []).append(
            {"id": "sky", "room": dice.choice(under), "plane": planes[0], "width": 0.4, "height": 0.4, "glazing": "g"}
        )
    for k, (room, wall) in enumerate(outer):
        if dice.random() < 0.2:
            row = {"id": f"gap{k}", "room": room, "wall": wall, "area": "15 cm2", "height": "1 m"}
            told.setdefault("leak", []).append(row)


def _between(told: House, _: list[tuple[str, str]], dice: random.Random) -> None:
    """Passages in place of doors, stairs, hatches and loft edges between floors, grilles and jump ducts."""
    kept: list[House] = []
    told["passage"] = told.get("passage", [])
    for k, door in enumerate(told["door"]):
        if "between" in door and dice.random() < 0.25:
            row: House = {"id": f"way{k}", "kind": "cased-opening", "between": door["between"], "width": 0.8}
            told["passage"].append(row | ({"height": 2.0} if dice.random() < 0.5 else {}))
            continue
        kept.append(door)
        if "between" in door and dice.random() < 0.2:
            told.setdefault("transfer_opening", []).append(
                {"id": f"o{k}", "between": door["between"], "free_area": "0.03 m2", "height": "2.2 m"}
            )
    told["door"] = kept
    upper = [room for room in told["room"] if room.get("floor_height")]
    if upper:
        lower = [room for room in told["room"] if not room.get("floor_height")]
        for k in dice.sample(range(len(upper)), min(2, len(upper))):
            row = {"id": f"up{k}", "kind": dice.choice(["stair", "hatch"]), "between": [lower[k]["id"], upper[k]["id"]]}
            told["passage"].append(row | {"area": dice.choice(["0.5 m2", "2 m2"])})


def _people(told: House, _: list[tuple[str, str]], dice: random.Random) -> None:
    for row in told.get("person", []):
        if dice.random() < 0.5:
            row |= {"away_from": "08:00", "away_to": "17:30"}


def _machines(told: House, _: list[tuple[str, str]], dice: random.Random) -> None:
    """Rows that name other rows: outdoor units, thermostats elsewhere, heat pumps for water, fixtures, what lies in the floor."""
    rooms = [room["id"] for room in told["room"]]
    for row in told.get("head", []):
        _maybe(dice, 0.3, lambda row=row: row.update(point=dice.choice(SHEETS)))  # type: ignore[misc]
        _maybe(dice, 0.4, lambda row=row: row.update(thermostat_room=dice.choice(rooms)))  # type: ignore[misc]
        if dice.random() < 0.4:
            row["outdoor_unit"] = "outside"
            told["outdoor_unit"] = [{"id": "outside", "minimum": "500 W", "maximum": "5 kW"}]
            told["head"] = [row, row | {"id": "head2", "room": dice.choice(rooms)}]
            break
    for row in told.get("head", [])[:1]:
        if dice.random() < 0.4:
            points = [p | {"minimum_power": "150 W"} for p in row["point"]]
            kinds: list[House] = [{"price": 3000}, {"group": "two", "price": 2000}, {"group": "two"}]
            told["head_option"] = [
                {"id": f"option{k}", "room": dice.choice(rooms), "point": points} | more for k, more in enumerate(kinds)
            ]
    for row in told.get("water_heater", []):
        if row["fuel"] == "electric" and dice.random() < 0.4:
            row |= {"kind": "air-to-water", "map": WATER_MAP}
            _maybe(dice, 0.5, lambda row=row: row.pop("room", None))  # type: ignore[misc]
        if row["fuel"] == "gas":
            row["fuel"] = dice.choice(["gas", "propane"])
        for k, kind in enumerate(("kitchen", "washer", "dishwasher", "shower")):
            _maybe(dice, 0.4, lambda k=k, kind=kind: told["fixture"].append(  # type: ignore[misc]
                {"id": f"tap{k}", "kind": kind, "room": dice.choice(rooms)}))  # fmt: skip
    if "circuit" in told:
        middles = {room["id"]: Polygon(room["outline"]).representative_point() for room in told["room"]}
        for k, circuit in enumerate(told["circuit"]):
            if dice.random() < 0.3:
                at = middles[circuit["rooms"][0]]
                place = [round(at.x + dice.uniform(-1, 1), 3), round(at.y + dice.uniform(-1, 1), 3)]
                size = dice.choice([{"radius": "0.1 m"}, {"width": "0.8 m", "depth": "0.4 m"}])
                kind = dice.choice(["cabinet", "tub", "shower", "toilet", "anchor", "joint", "other"])
                told.setdefault("keep_out", []).append({"id": f"keep{k}", "kind": kind, "position": place} | size)
        if "water_heater" not in told and dice.random() < 0.7:
            boiler: House = {
                "id": "boiler",
                "room": rooms[0],
                "fuel": "electric",
                "feeds_floor": True,
                "input_maximum": "9 kW",
            }
            ways: list[House] = [
                {"kind": "tankless"},
                {"kind": "tank", "stored": "100 L"},
                {"kind": "air-to-water", "map": WATER_MAP},
            ]
            told["water_heater"] = [boiler | dice.choice(ways)]


def _options(told: House, _: list[tuple[str, str]], dice: random.Random) -> None:
    """Levels by name; slabs without tubes, circuits through two rooms, manifolds without a place; runs that are shared."""
    _maybe(dice, 0.5, lambda: "circuit" in told or told["slab"][0].update(heated=False))
    if len(told.get("circuit", ())) > 1 and dice.random() < 0.5:
        told["circuit"][0]["rooms"] += told["circuit"].pop()["rooms"]
    if "circuit" in told and dice.random() < 0.5:
        _odd_floor(told, dice)
    for row in told.get("hood", []):
        if "dryer" in told and dice.random() < 0.4:
            row["duct"] = {"diameter": "150 mm", "length": "4 m", "shared_with": "dryer"}
    if dice.random() < 0.3:
        told["storey"] = [{"id": "one", "floor_height": "0 m"}, {"id": "two", "floor_height": "2.8 m"}]
        for room in told["room"]:
            room["storey"] = "two" if room.pop("floor_height", 0.0) else "one"


def _odd_floor(told: House, dice: random.Random) -> None:
    """One thing about a floor that cannot be laid, or hardly: where its manifold is, what its circuits share."""
    manifold, last = told["manifold"][0], told["circuit"][-1]
    upper = [room["id"] for room in told["room"] if room.get("floor_height") or room.get("storey") == "two"]
    match dice.randrange(7):
        case 0:
            manifold.pop("position")
        case 1:
            manifold["position"] = [500.0, 500.0]
        case 2:
            told["circuit"].append(last | {"id": "again"})
        case 3:
            last["depth"] = dice.choice(["4 mm", "200 mm"])
        case 4 if upper:
            told["circuit"].append(last | {"id": "above", "rooms": upper[:1]})
        case 5:
            told["manifold"].append(manifold | {"id": "spare"})
        case _:
            last["rooms"] = [room["id"] for room in told["room"] if room["id"] not in upper][:6]
            told["circuit"] = [last]


FEET = {"width", "height", "sill", "ceiling", "floor_height", "eave_height"}
PER_FEET = {"u": "W/m2K", "under_r": "m2K/W", "r": "m2K/W", "covering_r": "m2K/W", "insulation_r": "m2K/W"}


def _in_feet(told: House) -> None:
    """The same house in a file whose bare numbers are US units: what stood bare gets its unit."""
    told["units"] = "us"
    todo: list[Any] = [told]
    while todo:
        for key, value in list((row := todo.pop()).items()):
            if key in ("outline", "position", "cap", "intake", "vent"):
                pairs = value if key == "outline" else [value]
                said = [[f"{x} m" for x in pair] if isinstance(pair, list) else _in_metres(pair) for pair in pairs]
                row[key] = said if key == "outline" else said[0]
            elif isinstance(value, int | float) and not isinstance(value, bool) and key in FEET | set(PER_FEET):
                row[key] = f"{value} {PER_FEET.get(key, 'm')}"
            elif isinstance(value, dict):
                todo.append(value)
            elif isinstance(value, list):
                todo += [one for one in value if isinstance(one, dict)]


def _in_metres(corner: House) -> House:
    return {k: f"{v} m" if k in ("x", "y") and not isinstance(v, str) else v for k, v in corner.items()}


def _together(told: House) -> None:
    """What may not stand without something else, or beside it."""
    for row in told.get("fan", []):
        if "sound" in row:  # as good a coin as any
            row["base_flow"] = f"{0.5 * float(row['rated_flow'].split()[0]):.2f} m3/h"
    for row in told.get("hood", []) + told.get("fan", []):
        if "curve" in row:
            row.pop("maximum_pressure", None)
    for row in told.get("assembly", []):
        if "u" in row:
            row.pop("panel", None)
    floor = told["floor"]
    if floor.get("sensor") == "slab":
        floor.setdefault("slab_set_point", "24 °C")
    else:
        floor.pop("slab_set_point", None)


def _places(told: House, dice: random.Random) -> None:
    """Where devices stand on the plan and where their runs end outdoors, some of them close together."""
    shapes = {room["id"]: Polygon(room["outline"]) for room in told["room"]}
    west, south, east, _ = next(iter(shapes.values())).bounds
    for table in PLACED:
        for row in told.get(table, []):
            room = row.get("room", row.get("from_room"))
            if room is None or dice.random() < 0.5:
                continue
            at = shapes[room].representative_point()
            row["position"] = [round(at.x, 3), round(at.y, 3)]
            for end in ENDS.get(table, ()):
                row[end] = [round(dice.uniform(west, east), 3), round(south - dice.uniform(0.1, 3), 3)]


def _controls(told: House, dice: random.Random) -> None:
    """Rows of control of every kind for every kind of target."""
    rows = told.get("control", [])
    rooms = [room["id"] for room in told["room"]]
    inner = [door["id"] for door in told["door"] if "between" in door]
    opening = [w["id"] for w in told.get("window", []) if "openable" in w]
    movers = [r["id"] for t in ("fan", "hood", "dryer", "ventilator") for r in told.get(t, [])]
    driven = [r["id"] for t in ("fan", "hood", "ventilator", "transfer_fan") for r in told.get(t, [])]
    wanted = [(name, ["full", "base", "off"]) for name in driven] + [
        (name, ["open", "shut"]) for name in inner[:2] + opening[:2]
    ]
    for k, (target, words) in enumerate(wanted):
        if dice.random() < 0.4:
            row: House = {
                "id": f"c{k}",
                "target": target,
                "does": dice.choice(words),
                "room": dice.choice(rooms),
                "priority": dice.randint(0, 3),
            }
            others: list[House] = [{"while_runs": m} for m in movers if m != target]
            when: list[House] = [
                {"occupied": True}, {"air_below": "19 °C", "hold_time": "20 min"}, {"air_above": "25 °C", "least_on": "10 min"},
                {"outdoor_above": "15 °C", "least_off": "30 min"}, {"outdoor_below": "0 °C", "dead_band": "2 K"}, {"humidity_above": 0.55},
                {"carbon_dioxide_above": 1000}, {"from": "22:00", "to": "06:00", "days": "working"}, {"days": "free"}, {},
                *others[:1],
            ]  # fmt: skip
            rows.append(row | dice.choice(when))
    for k, (does, point) in enumerate((("heat-to", "18 °C"), ("cool-to", "26 °C"), ("heat-to", "20 °C"))):
        if dice.random() < 0.2:
            row = {"id": f"s{k}", "target": dice.choice(rooms), "does": does, "set_point": point}
            rows.append(row | dice.choice([{"from": "23:00", "to": "05:30"}, {"days": "working"}, {"occupied": True}]))
    told["control"] = rows


def _promises(told: House, dice: random.Random) -> None:
    """Promises about fans that run, rooms by name, with words of their own."""
    fans = [f"{fan['id']}:base" for fan in told.get("fan", []) if "base_flow" in fan]
    fans += [row["id"] for table in ("hood", "dryer", "fan") for row in told.get(table, [])]
    room = dice.choice(told["room"])["id"]
    rows: list[dict[str, Any]] = [
        {"kind": "house-pressure", "limit": "-8 Pa", "stack": False, "condition": "a calm day"},
        {"kind": "carbon-dioxide", "limit": 900, "room": room}, {"kind": "mould-index", "limit": 1, "room": room},
        {"kind": "sound", "limit": 2, "room": room}, {"kind": "floor-surface-temperature", "limit": "27 °C", "room": room},
        {"kind": "hours-outside-band", "limit": 50, "room": room}, {"kind": "relative-humidity", "limit": 0.7},
        {"kind": "room-temperature-offset", "limit": "1 K", "temperature": "operative", "season": "heating"},
    ]  # fmt: skip
    if fans:
        rows.append({"kind": "house-pressure", "limit": "-12 Pa", "fans": dice.sample(fans, min(2, len(fans)))})
    told["promise"] = told.get("promise", []) + [
        {"id": f"q{k}"} | row for k, row in enumerate(rows) if dice.random() < 0.3
    ]
