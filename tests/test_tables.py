"""Rows of the tables against what their sources print, in the sources' own units."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI

from inshell.sources import table
from tests.evidence import FT, assert_close

PRINTED = "as printed"
GPM = 231 * 0.0254**3 / 60.0

# ISO 10456 and ASHRAE Fundamentals, from memory: k [W/mK], rho [kg/m3], c [J/kgK], mu dry / wet
MATERIALS = {
    "osb": (0.12, 650, 1880, 50, 30), "plywood": (0.11, 540, 1210, 200, 70), "softwood": (0.12, 480, 1630, 50, 20),
    "gypsum": (0.16, 640, 1150, 10, 4), "eps": (0.036, 16, 1470, 60, 60), "xps": (0.029, 30, 1470, 150, 150),
    "polyurethane": (0.023, 35, 1450, 60, 60), "fibreglass": (0.040, 16, 840, 1, 1),
    "mineral-wool": (0.036, 45, 840, 1, 1), "cellulose": (0.040, 50, 1600, 2, 2), "concrete": (1.8, 2300, 880, 120, 70),
    "brick": (0.77, 1920, 790, 16, 10), "steel": (48, 7800, 480, 1e6, 1e6), "tile": (1.3, 2300, 840, 200, 100),
    "timber-floor": (0.14, 650, 1200, 50, 20),
}  # fmt: skip
KEYS = ("conductivity_w_mk", "density_kg_m3", "specific_heat_j_kgk", "mu_dry", "mu_wet")


@pytest.mark.published
@pytest.mark.parametrize("name", sorted(MATERIALS))
def test_materials(name: str) -> None:
    """ISO 10456:2007 and ASHRAE Handbook Fundamentals (from memory)."""
    assert_close([table("materials")[name][key] for key in KEYS], MATERIALS[name], rel=1e-12, why=PRINTED)


@pytest.mark.invariant
def test_no_material_is_left_out() -> None:
    assert set(table("materials")) == set(MATERIALS)
    assert table("materials")["osb"]["mu_least"] == 30
    # 3.5 perm metres over 0.75 perm is sd 4.67 m; over 11 mm mu 424 (dry cup of 0.75 to 1 perm: 320 to 420)
    assert_close(table("materials")["osb"]["mu_most"], 3.50 / 0.75 / 0.011, rel=0.02, why="0.75 perm has two digits")


# effective leakage area, cm2 at 4 Pa, best (least, most): ASHRAE Fundamentals (from memory), NIST values agree
LEAKS = {
    "ridge": (1.5, 0.16, 2.5), "hip": (1.5, 0.16, 2.5), "valley": (1.5, 0.16, 2.5), "eave": (1.5, 0.16, 2.5),
    "rake": (1.5, 0.16, 2.5), "high-edge": (1.5, 0.16, 2.5), "wall-ceiling": (1.5, 0.16, 2.5), "sill": (0.8, 0.075, 5.6),
    "floor-edge": (0.8, 0.075, 5.6), "window": (1.7, 0.3, 2.7), "door": (12, 4, 53), "sleeve": (2, 1, 24),
    "roof-sleeve": (2, 1, 24), "damper": (5, 1, 20),
}  # fmt: skip
UNPRINTED = {
    "roof-panel-joint": (0.3, 0.02, 1.5), "wall-panel-joint": (0.3, 0.02, 1.5), "corner": (0.5, 0.05, 1.5),
    "soil-opening": (0, 0, 0), "known-hole": (0, 0, 0),
}  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize("name", sorted(LEAKS))
def test_leak_places(name: str) -> None:
    """ASHRAE Fundamentals: ceiling-wall joint 1.5 (0.16 to 2.5) a metre; sole plate caulked 0.8 (0.075) to bare 5.6; wood
    window frame a m2 1.7 (caulked 0.3, to 2.7); exterior door 12 (4) to bare 53; opening caulked 2 (1) to bare 24 (from
    memory); kitchen vent closed 5 (1), bath vent to 20."""
    assert_close(table("leak_places")[name]["cm2"], LEAKS[name], rel=1e-12, why=PRINTED)


@pytest.mark.invariant
def test_places_without_a_printed_value_say_so() -> None:
    for name, values in UNPRINTED.items():
        row = table("leak_places")[name]
        assert_close(row["cm2"], values, rel=1e-12, abs=1e-12, why="common practice, as the row says")
        assert "no published value" in row["source"] or "measured" in row["source"]
    assert set(table("leak_places")) == set(LEAKS) | set(UNPRINTED)
    ranks = {n: r["priority"] for n, r in table("leak_places").items()}
    first = {n for n, rank in ranks.items() if rank == 1}
    assert first == {
        "ridge",
        "hip",
        "valley",
        "eave",
        "rake",
        "high-edge",
        "roof-panel-joint",
        "roof-sleeve",
        "soil-opening",
    }
    assert {n for n, rank in ranks.items() if rank == 3} == {"door", "damper"}, "a draught (common practice)"
    assert set(ranks.values()) == {1, 2, 3}


# IRC 2018, table M1506.2: feet at 0.25 in.wg, 15 ft off an elbow; flexible / smooth; X not allowed 0, no limit 9999
DUCTS = """3 50 0 5 | 4 50 56 114 | 4 80 4 31 | 4 100 0 10 | 5 50 9999 9999 | 5 80 81 152 | 5 100 42 91 | 5 125 16 51
| 5 150 2 28 | 6 100 158 9999 | 6 125 91 168 | 6 150 55 112 | 6 200 18 53 | 6 250 1 25"""


@pytest.mark.published
def test_duct_lengths_of_the_code() -> None:
    """IRC 2018, table M1506.2."""
    rows = [[int(v) for v in part.split()] for part in DUCTS.replace("\n", " ").split("|")]
    got = [[r["diameter_in"], r["cfm"], r["flex_ft"], r["smooth_ft"]] for r in table("fresh_air")["duct_table"]["rows"]]
    assert got == rows
    assert table("fresh_air")["duct_table"]["elbow_ft"] == 15
    assert_close(
        table("fresh_air")["duct_table"]["rated_pa"], 0.25 * 249.089, rel=2e-3, why="0.25 in.wg to three digits"
    )


@pytest.mark.published
def test_numbers_of_the_fresh_air_rules() -> None:
    """IRC 2018 run-time factors; sound of ASHRAE 62.2, 7.2; 30 % off where balanced and supplied; 10 ft from an intake."""
    row = table("fresh_air")
    assert row["intermittent"]["share"] == [0.25, 0.33, 0.50, 0.66, 0.75, 1.0]
    assert row["intermittent"]["factor"] == [4.0, 3.0, 2.0, 1.5, 1.3, 1.0]
    assert (row["sound"]["continuous_sone"], row["sound"]["demand_sone"], row["sound"]["free_above_cfm"]) == (
        1.0,
        3.0,
        400,
    )
    assert row["balanced_supplied"]["share"] == 0.30
    assert row["run_time"]["average_within_h"] == 3.0
    assert_close((row["intake"]["exhaust_m"], row["intake"]["flue_m"]), (10 * FT, 10 * FT), rel=1e-9, why=PRINTED)
    assert row["commissioning"]["tolerance"] == 0.10


# flow [gpm] and share of the busiest time of usual taps (from memory): shower 2.0, lavatory 1.5, kitchen 2.0, tub 5.5 …
TAPS = {
    "shower": (2.0, 0.045), "lavatory": (1.5, 0.02), "kitchen": (2.0, 0.02), "tub": (5.5, 0.01),
    "dishwasher": (1.3, 0.005), "washer": (3.5, 0.055),
}  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize("name", sorted(TAPS))
def test_taps(name: str) -> None:
    """Usual flows of fixtures, gpm, and shares of the busiest time (from memory)."""
    row = table("hot_water")["fixture"][name]
    assert_close(row["flow_m3_s"] / GPM, TAPS[name][0], rel=0.01, why="gpm to two digits")
    assert row["use"] == TAPS[name][1]


@pytest.mark.published
def test_temperatures_at_taps() -> None:
    """105 °F at the shower; 120 °F for dishes; the others between (common practice)."""
    rows = table("hot_water")["fixture"]
    assert_close(rows["shower"]["mixed_c"], (105 - 32) / 1.8, abs=0.05, why="a whole degree Fahrenheit")
    assert_close(rows["dishwasher"]["mixed_c"], (120 - 32) / 1.8, abs=0.05, why="a whole degree Fahrenheit")
    assert all(30.0 <= row["mixed_c"] <= 49.0 for row in rows.values() if isinstance(row, dict))
    told = {n: row["mixed_c"] for n, row in rows.items() if isinstance(row, dict)}
    assert told == {"shower": 40.6, "lavatory": 38.0, "kitchen": 43.0, "tub": 41.0, "dishwasher": 48.9, "washer": 32.0}


@pytest.mark.published
def test_what_people_give_off() -> None:
    """ASHRAE 160 (from memory): asleep 50 g/h, awake 60 to 120, a shower of five minutes 0.24 L, dinner for four 0.57 L."""
    row = table("household")["vapour"]
    assert row["asleep_kg_h"] == 0.050
    assert_close(row["awake_kg_h"], 0.5 * (0.060 + 0.120), rel=1e-9, why="the middle of the range")
    assert row["shower_kg"] == 0.24
    assert_close(row["cooking_kg_person"], 0.57 / 4.0, rel=0.02, why="two digits")
    finish = table("household")["finish"]
    assert_close(finish["thickness_m"], 0.0127, rel=1e-9, why="half an inch of board")
    assert_close(finish["moisture_capacity_kg_m3"], 0.01 * 640.0, rel=1e-9, why="1 % by mass of 640 kg/m3")
    assert_close(finish["permeability_kg_m_s_pa"], 2e-10 / 8.0, rel=1e-9, why="mu 8")
    assert (finish["paint_sd_m"], finish["film_kg_m2_s_pa"], finish["period_s"]) == (0.2, 2.0e-8, 86400.0)
    assert (table("household")["hours"]["shower"], table("household")["hours"]["cooking"]) == (7, 18)


@pytest.mark.published
def test_numbers_of_the_design() -> None:
    """EN 12831-1 reheat 11, 6, 2 W/m2 after 1, 2, 4 h (from memory); ISO 13370 soils; screening 2, 5, 15, 50 Pa (from
    memory); ISO 13788 Rsi 0.25."""
    row = table("design")
    assert row["reheat"]["hours"] == [1.0, 2.0, 4.0]
    assert row["reheat"]["w_m2"] == [11.0, 6.0, 2.0]
    assert row["ground"]["conductivity"] == {"clay": 1.5, "sand": 2.0, "rock": 3.5}
    assert row["ground"]["penetration"] == {"clay": 2.2, "sand": 3.2, "rock": 4.2}
    screening = {k: v for k, v in row["screening"].items() if k != "source"}
    assert screening == {"natural-draft-water-heater": 2.0, "natural-draft": 5.0, "induced": 15.0, "sealed": 50.0}
    infiltration = {k: v for k, v in row["infiltration"].items() if k != "source"}
    assert infiltration == {"open": 0.05, "moderate": 0.03, "sheltered": 0.02}
    assert row["inside_points"]["plain_rsi"] == 0.25
    assert (row["inside_points"]["frame"], row["inside_points"]["corner_rsi"]) == (0.60, 0.35)
    daily = [0.88, 0.92, 0.95, 0.98, 1, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13, 0.05, 0, 0, 0.06, 0.14, 0.24, 0.39, 0.50,
             0.59, 0.68, 0.75, 0.82]  # fmt: skip
    assert row["daily_swing"]["share"] == daily, "handbook profile of the design day (from memory)"


@pytest.mark.invariant
def test_ranges_of_what_is_not_known() -> None:
    """Common practice: each range holds the nominal house, and a tested leakage is known better than a designed one."""
    ranges = table("design")["unknowns"]["range"]
    assert ranges == {
        "leakage": [0.7, 1.3], "leakage_tested": [0.95, 1.05], "leaks_in_bedrooms": [0.3, 1.7], "leaks_high": [-0.6, 0.6],
        "doors_open_at_night": [0.0, 0.5], "doors_shut_by_day": [0.0, 0.5], "people": [0.6, 1.4], "capacity": [0.90, 1.05],
        "transfer": [0.7, 1.05], "weather_k": [-1.5, 1.5],
    }  # fmt: skip
    cover = table("design")["covering"]
    assert cover["roof"] == {"not-said": [0.05, 20.0, 1000.0], "vented": [0.05, 0.05, 0.3], "shingles": [2.0, 20.0, 60.0],
                             "metal": [1000.0, 1000.0, 1000.0], "membrane": [50.0, 100.0, 300.0]}  # fmt: skip
    assert cover["wall"] == {"not-said": [0.05, 0.3, 2.0], "vented": [0.05, 0.1, 0.3], "shingles": [0.3, 1.0, 3.0],
                             "metal": [1.0, 10.0, 1000.0], "membrane": [50.0, 100.0, 300.0]}  # fmt: skip


@pytest.mark.published
def test_limits_of_warm_floors() -> None:
    """EN 1264-2: 29 °C where people stay, 35 within 1 m of outer walls, 33 in baths of 24 °C; US practice 85 °F (from
    memory); coverings R-IP 0.2 tile and vinyl, 0.7 wood, 1.5 carpet with pad (common practice)."""
    limits = table("floor")["limits"]
    got = [limits[k] for k in ("occupied_c", "edge_c", "bath_c", "bath_room_c", "edge_m")]
    assert got == [29.0, 35.0, 33.0, 24.0, 1.0]
    assert_close(limits["practice_c"], (85 - 32) / 1.8, abs=0.05, why="a whole degree Fahrenheit")
    cover = table("floor")["coverings_r_m2k_w"]
    for name, ip in (("tile", 0.2), ("vinyl", 0.2), ("hardwood", 0.7), ("carpet", 1.5), ("sense", 4.0)):
        assert_close(cover[name] * 5.678, ip, rel=0.01, why="R-IP to two digits")


A_U = """1.069 1.056 1.043 1.037 / 1.066 1.053 1.041 1.035 / 1.063 1.050 1.039 1.0335 / 1.057 1.046 1.035 1.0305
/ 1.051 1.041 1.0315 1.0275 / 1.048 1.038 1.0295 1.026 / 1.0395 1.031 1.024 1.021 / 1.030 1.0221 1.0181 1.015"""
A_D = """1.013 1.013 1.012 1.011 / 1.021 1.019 1.016 1.014 / 1.029 1.025 1.022 1.018 / 1.040 1.034 1.029 1.024
/ 1.046 1.040 1.035 1.030 / 1.049 1.043 1.038 1.033 / 1.053 1.049 1.044 1.039 / 1.056 1.051 1.046 1.042"""


@pytest.mark.published
def test_coefficients_of_the_power_product() -> None:
    """EN 1264-2 / ISO 11855-2, tube on the insulation (from memory): aT, aU, aD by spacing and covering."""
    row = table("floor")["power_product"]
    for key, text in (("a_u", A_U), ("a_d", A_D)):
        assert row[key] == [[float(v) for v in part.split()] for part in text.replace("\n", " ").split("/")]
    assert row["a_t"] == [1.23, 1.188, 1.156, 1.134]
    assert row["spacing_m"] == [0.05, 0.075, 0.10, 0.15, 0.20, 0.225, 0.30, 0.375]
    assert row["covering_r"] == [0.0, 0.05, 0.10, 0.15]
    got = [row[k] for k in ("b0", "alpha_r", "cover0_m", "cover0_w_mk", "tube0_w_mk", "tube0_wall_m")]
    assert got == [6.7, 0.0926, 0.045, 1.0, 0.35, 0.002]


# outer diameter [in], SDR 9 wall [in], longest circuit [ft] (ASTM F876; CSA B214, from memory)
TUBES = {"3/8": (0.500, 0.070, 250), "1/2": (0.625, 0.070, 300), "5/8": (0.750, 0.083, 400), "3/4": (0.875, 0.097, 500)}


@pytest.mark.published
@pytest.mark.parametrize("size", sorted(TUBES))
def test_tubes(size: str) -> None:
    """ASTM F876 SDR 9: outer 0.500, 0.625, 0.750, 0.875 in, walls 0.070, 0.070, 0.083, 0.097 in; CSA B214 250 to 500 ft
    (from memory). Metric tubes by outer diameter and wall."""
    row, (outer, wall, longest) = table("tubes")[size], TUBES[size]
    assert_close(row["outer_m"] / 0.0254, outer, rel=1e-6, why=PRINTED)
    assert_close(row["wall_m"] / 0.0254, wall, rel=1e-3, why=PRINTED)
    assert_close(row["longest_m"] / FT, longest, rel=1e-6, why=PRINTED)
    assert_close(row["volume_m3_m"], math.pi / 4.0 * row["inner_m"] ** 2, rel=0.01, why="water in the average inside")
    assert 0.99 * (outer - 2.2 * wall) <= row["inner_m"] / 0.0254 <= outer - 2.0 * wall + 1e-6


@pytest.mark.published
@pytest.mark.parametrize(("key", "letter"), [("density_kg_m3", "D"), ("viscosity_pa_s", "V"), ("heat_j_kgk", "C")])
def test_every_value_of_the_fluids(key: str, letter: str) -> None:
    """CoolProp: water by IAPWS-95, propylene glycol by Melinder 2010, at 2 bar, not below freezing."""
    rows = table("fluids")
    assert rows["share"] == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    assert rows["temperature_c"] == list(range(-50, 101, 5))
    for share, freezing, values in zip(rows["share"], rows["freezing_c"], rows[key], strict=True):
        name = "Water" if share == 0.0 else f"INCOMP::MPG[{share}]"
        if share:
            melts = PropsSI("T_FREEZE", "T", 300.0, "P", 2e5, name) - 273.15
            assert_close(freezing, melts, abs=0.006, why="printed to a hundredth")
        wanted = [PropsSI(letter, "T", max(t, freezing + 0.06) + 273.15, "P", 2e5, name) for t in rows["temperature_c"]]
        within = 3e-3 if letter == "V" else 2e-4  # a cold mixture thickens by a few per cent a kelvin
        assert_close(values, wanted, rel=within, why="six digits; five hundredths of a kelvin at the freezing point")


@pytest.mark.analytic
@pytest.mark.parametrize(("size", "outer", "wall"), [("16x2", 16, 2), ("17x2", 17, 2), ("20x2", 20, 2)])
def test_metric_tubes(size: str, outer: int, wall: int) -> None:
    row = table("tubes")[size]
    assert_close(
        [row["outer_m"], row["wall_m"], row["inner_m"]], metres(outer, wall, outer - 2 * wall), rel=1e-9, why=PRINTED
    )
    assert_close(row["volume_m3_m"], math.pi / 4.0 * ((outer - 2 * wall) / 1000.0) ** 2, rel=1e-3, why="four digits")
    assert row["longest_m"] == 120.0


def metres(*values: int) -> list[float]:
    return [v / 1000.0 for v in values]


# IECC R402.4.1.2 and R402.4.1.3 by edition (2009 to 2018 read; 2021 and 2024 from memory), air changes or cfm/ft2 at 50 Pa
LIMITS = {
    "iecc-2009": {"0-8": 7.0}, "iecc-2012": {"0-2": 5.0, "3-8": 3.0}, "iecc-2021-prescriptive": {"0-2": 5.0, "3-8": 3.0},
    "iecc-2021-any-path-ach50": {"0-8": 5.0}, "iecc-2021-any-path-enclosure": {"0-8": 0.28},
    "iecc-2021-small-enclosure": {"0-8": 0.30}, "iecc-2024": {"0-2": 4.0, "3-5": 3.0, "6-8": 2.5},
    "owner-0-6": {"0-8": 0.6}, "owner-1-0": {"0-8": 1.0},
}  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize("rule", sorted(LIMITS))
def test_limits_of_tightness(rule: str) -> None:
    """IECC by edition: 7; 5 and 3; 5.0 or 0.28 cfm/ft2 by every path, 0.30 for small or attached; 4, 3, 2.5."""
    assert table("tightness")[rule]["limit"] == LIMITS[rule]
    assert set(table("tightness")) == set(LIMITS)


# per ft2 and person [cfm], per m2 and person [L/s]: ASHRAE 62.2 by edition, IRC equation (IP read, SI and older from memory)
RATES = {
    "ashrae-62.2-2010": (0.01, 7.5, 0.05, 3.5, "none"), "ashrae-62.2-2013": (0.03, 7.5, 0.15, 3.5, "plain"),
    "ashrae-62.2-2016": (0.03, 7.5, 0.15, 3.5, "plain"), "ashrae-62.2-2019": (0.03, 7.5, 0.15, 3.5, "balance-weighted"),
    "ashrae-62.2-2022": (0.03, 7.5, 0.15, 3.5, "balance-weighted"), "irc-2018-equation": (0.01, 7.5, 0.05, 3.5, "none"),
    "irc-2021-equation": (0.01, 7.5, 0.05, 3.5, "balanced-supplied"),
}  # fmt: skip
CFM_TABLE = """30 45 60 75 90 / 45 60 75 90 105 / 60 75 90 105 120 / 75 90 105 120 135 / 90 105 120 135 150
/ 105 120 135 150 165"""


@pytest.mark.published
@pytest.mark.parametrize("rule", sorted(RATES))
def test_rates_of_fresh_air(rule: str) -> None:
    """ASHRAE 62.2: 0.01 A + 7.5 (N + 1) until 2010, 0.03 A from 2013; SI 0.05 and 0.15 A + 3.5; IRC M1505.4.3."""
    row = table("fresh_air")[rule]
    got = (
        row["us"]["per_area"],
        row["us"]["per_person"],
        row["si"]["per_area"],
        row["si"]["per_person"],
        row["credit"],
    )
    assert got == RATES[rule]


@pytest.mark.published
@pytest.mark.parametrize("rule", ["irc-2018-table", "irc-2021-table"])
def test_table_of_the_residential_code(rule: str) -> None:
    """IRC table M1505.4.3(1): under 1,500 ft2 30 45 60 75 90 … above 7,500 105 to 165 cfm, by 0-1, 2-3, 4-5, 6-7, more."""
    row = table("fresh_air")[rule]
    assert row["cfm"] == [[int(v) for v in part.split()] for part in CFM_TABLE.replace("\n", " ").split("/")]
    assert row["area_tops_ft2"] == [1500, 3000, 4500, 6000, 7500]
    assert row["bedroom_tops"] == [1, 3, 5, 7]


@pytest.mark.invariant
def test_what_is_assumed_where_a_file_says_nothing() -> None:
    """Common practice; the report lists every default."""
    assert table("design")["tightness_default"]["ach50"] == 3.0
    factors = {k: v for k, v in table("design")["f_factor"].items() if k != "source"}
    assert list(factors.values()) == [0.73, 0.54, 0.48, 0.36, 0.84, 0.74, 0.55, 0.44, 0.39, 0.32]
    assert table("design")["ground"]["annual_factor"] == 1.45
    surfaces = {k: v for k, v in table("design")["surface_resistance"].items() if k != "source"}
    assert surfaces == {"up": 0.10, "level": 0.13, "down": 0.17, "outside": 0.04}, "ISO 6946:2017, table 7"
    gains = {k: v for k, v in table("household")["appliances"].items() if k != "source"}
    assert gains == {"fixed_w": 136.0, "per_area_w_m2": 2.2, "latent_fixed_w": 20.0, "latent_per_area_w_m2": 0.22}
