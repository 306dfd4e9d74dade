"""What houses have beyond their shape and one plain row of each device: options, openings, rules, controls, tests on file."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from shapely.geometry import Polygon

House = dict[str, Any]
PUMP = [
    {"flow": "0 L/min", "head": "60 kPa"},
    {"flow": "12 L/min", "head": "50 kPa"},
    {"flow": "45 L/min", "head": "5 kPa"},
]
CURVE = [["100 m3/h", "0 Pa"], ["80 m3/h", "40 Pa"], ["0 m3/h", "110 Pa"]]
DUCTS = [
    {"diameter": "100 mm", "length": "6 m", "elbows": 2, "cold_length": "2 m", "insulation_r": "1 m2K/W"},
    {"diameter": "125 mm", "length": "20 m", "material": "flex", "compression": "15 %", "filter": "20 Pa"},
    {"diameter": "80 mm", "length": "1 m", "cold_length": "1 m", "cap_loss": 0.5},
]
LAYERS = [
    [{"material": "osb", "thickness": "11 mm"}, {"material": "eps", "thickness": "0.15 m", "framing": {"share": "6 %"}},
     {"material": "osb", "thickness": "11 mm"}, {"material": "gypsum", "thickness": "12 mm"}],
    [{"material": "osb", "thickness": "11 mm", "sd": "2 m"}, {"r": "4 m2K/W", "thickness": "0.15 m"}, {"material": "own", "thickness": "20 mm"}],
    [{"material": "gypsum", "thickness": "0.2 m"}],
]  # fmt: skip
WATER_MAP = [
    {"outdoor": f"{out} °C", "water": f"{water} °C", "heat": f"{heat} kW", "power": f"{power} kW"}
    for out, water, heat, power in ((-20, 35, 4, 1.9), (-20, 50, 3.6, 2.2), (7, 35, 8, 1.8), (7, 50, 7.5, 2.6))
]
SHEETS: list[list[House]] = [
    [],
    [{"mode": "heating", "outdoor": "-8 °C", "maximum": "3 kW"}],
    [{"mode": "cooling", "outdoor": "35 °C", "maximum": "2.5 kW", "rated": "2 kW", "power": "700 W"}],
    [{"mode": mode, "outdoor": f"{out} °F", "minimum": "600 W", "maximum": f"{most} kW", "power": "1 kW", "minimum_power": "150 W"}
     for mode, out, most in (("heating", 47, 4.2), ("heating", 17, 3), ("heating", 5, 2.6), ("cooling", 95, 2.8), ("cooling", 82, 3))],
]  # fmt: skip

VALUES: dict[str, dict[str, list[Any]]] = {
    "site": {"climate_zone": [0, 2, 4, 6, 8], "ground_reflectance": [0.1, 0.6],
             "skyline": [[{"azimuth": "90°", "altitude": "12°"}, {"azimuth": "250°", "altitude": "30°"}]]},
    "climate": {"cooling_wet_bulb": ["14 °C"], "daily_range": ["5 K", "16 K"], "design_source": ["survey"]},
    "household": {"bedrooms": [1, 3], "occupants": [1, 6], "heating_set_point": ["18 °C", "22 °C"], "comfort_heating": ["0.5 K"],
                  "cooling_set_point": ["25 °C"], "humidity_most": [0.5, 0.7], "winter_humidity": [0.2, 0.6], "reheat_hours": [2]},
    "simulation": {"first_day": ["saturday", "wednesday"]},
    "enclosure": {"air_barrier": ["outer-face", "inner-face"], "thermal_bridge": [0.0, 0.1], "partition_thickness": ["15 cm"]},
    "assembly": {"covering": ["vented", "shingles", "metal", "membrane"], "panel": [{"width": "1.2 m"}, {"width": "2.4 m", "length": "5 m"}]},
    "slab": {"covering_r": [0.05, 0.3], "conductivity": [2.3], "thickness": ["0.12 m", "0.2 m"]},
    "glazing": {"frame_share": [0.0, 0.35]},
    "room": {"heating_set_point": ["17 °C", "23 °C"], "collar": ["2.7 m"], "heated": [False, True, True]},
    "window": {"openable": ["0.1 m2", "0.25 m2"], "overhang": [{"depth": "0.6 m"}, {"depth": "0.4 m", "gap": "0.2 m", "side": "1 m"}],
               "fin": ["0.2 m"], "shade": [0.3]},
    "door": {"jamb_gap": ["0 mm", "5 mm"], "grille": ["0.02 m2"], "open_hours": ["06:30-22:00", "always", "never"]},
    "leak": {"sealed": [True, False]},
    "transfer_opening": {"kind": ["grille", "jump-duct"], "height": ["0.3 m"], "loss": [1.5]},
    "person": {"count": [2, 3], "sex": ["female", "male"], "asleep_from": ["20:30"], "asleep_to": ["09:15"]},
    "fan": {"curve": [CURVE], "hold_time": ["5 min", "2 h"], "sound": [0.3, 1.0, 3.0], "remote": [True], "power": ["10 W", "40 W"],
            "height": ["0.3 m"], "duct": DUCTS, "maximum_pressure": ["60 Pa"],
            "serves": [["bath"], ["whole-house", "bath"], ["kitchen"], ["whole-house", "kitchen"], ["laundry"]]},
    "hood": {"makeup": ["passive", "powered"], "sound": [1.0, 4.0], "duct": DUCTS, "maximum_pressure": ["100 Pa"]},
    "dryer": {"flow": ["150 m3/h"], "fuel": ["gas"], "serves": [["laundry"], ["whole-house"]]},
    "ventilator": {"ducted": [True], "recovery_kind": ["SRE", "ASE", "ASRE"], "exhaust_transfer": [0.08], "supply_stops_below": ["-10 °C", "0 °C"],
                   "condensate": ["drain", "none"], "cold_duct": [{"diameter": "125 mm", "length": "3 m", "insulation_r": "0.7 m2K/W"},
                   {"diameter": "160 mm", "length": "1 m"}], "sound": [0.5, 2.0], "power": ["30 W"], "combined_cap": [True]},
    "transfer_fan": {"duct": DUCTS, "face": ["0.02 m2"], "return_grille": ["0.03 m2"], "sound": [0.7, 2.5], "power": ["8 W"],
                     "rated_pressure": ["5 Pa"]},
    "head": {"nameplate": ["2600 W"], "line_length": ["25 m"], "line_factor": [0.93], "thermostat_reads_high": ["1 K", "2 K"],
             "condensate": ["gravity", "pump"], "refrigerant": ["not-flammable", "mildly-flammable"], "sensible_share": [0.6, 0.9],
             "air_flow": [["200 m3/h", "500 m3/h"]], "height": ["0.4 m"]},
    "dehumidifier": {"on_above": [0.45, 0.65], "dead_band_share": [0.02]},
    "circuit": {"tube": ["3/8", "5/8", "16x2", "20x2"], "covering_r": [0.1], "flow": ["1.5 L/min", "4 L/min"]},
    "floor": {"glycol": [0.3], "drop": ["4 K", "8 K"], "supply": ["32 °C", "45 °C"], "supply_most": ["45 °C"], "sensor": ["slab"],
              "slab_set_point": ["24 °C"], "dead_band": ["0.5 K"], "reset": [False], "lockout_above": ["12 °C", "18 °C"],
              "setback": ["2 K"], "pump": [PUMP], "exchanger_cv": [3.5], "exchanger_effectiveness": [0.6],
              "double_wall": ["yes", "no"], "maker_approves": ["yes", "no"], "buffer": ["60 L"]},
    "fixture": {"flow": ["5 L/min"], "mixed": ["40 °C"], "use": [0.5]},
    "water_heater": {"feeds_floor": [True], "activation": ["2 L/min"], "priority_most": ["20 min"], "mixing_valve": ["yes", "no"],
                     "separation": ["exchanger", "none"], "venting": ["sealed", "power-vented", "natural-draft"], "efficiency": [0.8],
                     "set_point": ["45 °C", "60 °C"], "stored": ["150 L"]},
    "rules": {"new_house": [False], "level": [0.75], "tightness": [["iecc-2021-prescriptive", "owner-1-0"],
              ["iecc-2021-small-enclosure", "iecc-2024", "iecc-2021-any-path-enclosure"]],
              "fresh_air": [["ashrae-62.2-2010"], ["ashrae-62.2-2019", "irc-2018-table"]]},
    "prices": {"currency": ["EUR"], "electricity_kwh": [0.2], "fuel_kwh": [0.06], "floor_loop": [1500], "room_heater": [200],
               "transfer_fan": [250], "grille": [80], "head": [2300], "shade": [150], "dehumidifier": [900]},
}  # fmt: skip
PLACED = (
    "fan",
    "hood",
    "dryer",
    "ventilator",
    "transfer_fan",
    "head",
    "heater",
    "dehumidifier",
    "water_heater",
    "appliance",
)
ENDS = {"fan": ("cap",), "hood": ("cap",), "dryer": ("cap",), "ventilator": ("cap", "intake"), "water_heater": ("vent",),
        "appliance": ("vent",)}  # fmt: skip


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
    for row in told.get("manifold", []):
        _maybe(dice, 0.15, lambda row=row: row.pop("position"))  # type: ignore[misc]
    for row in told.get("hood", []):
        if "dryer" in told and dice.random() < 0.4:
            row["duct"] = {"diameter": "150 mm", "length": "4 m", "shared_with": "dryer"}
    if dice.random() < 0.3:
        told["storey"] = [{"id": "one", "floor_height": "0 m"}, {"id": "two", "floor_height": "2.8 m"}]
        for room in told["room"]:
            room["storey"] = "two" if room.pop("floor_height", 0.0) else "one"


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
