"""What options of a random house may be: values for the keys of each table, and the rows that they name."""

from __future__ import annotations

from typing import Any

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
    "slab": {"covering_r": [0.05, 0.3], "conductivity": ["2.3 W/mK"], "thickness": ["0.12 m", "0.2 m"]},
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
