"""Vapour through layers, mould, leaks that wet a skin, inside surfaces: against the sheets, solvers and hand."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from inshell.cli.run import run
from inshell.design.vapour_layers import most_bearable_kg_m2
from inshell.house.model.enclosure import Layer
from inshell.physics.air import saturation_pressure_pa
from inshell.physics.leak_moisture import deposit_kg_s, highest_humidity, humidity_ratio, least_factor, slit_flow_m3_s
from inshell.physics.mould import critical_percent, mould_index
from inshell.physics.vapour import (
    PERMEABILITY,
    VapourLayer,
    indoor_vapour_pa,
    lower_hull,
    monthly_vapour,
    split_layers,
    two_seasons,
)
from inshell.physics.zones import add_a_hole, leak_ratio
from inshell.sources import table
from tests.evidence import CFM, assert_close

OUT_C = np.array([-8.0, -6, 0, 7, 13, 18, 21, 20, 15, 9, 2, -5])
OUT_RH = np.array([0.80, 0.78, 0.74, 0.68, 0.66, 0.68, 0.70, 0.72, 0.74, 0.74, 0.78, 0.82])
OUT_PA = OUT_RH * saturation_pressure_pa(temperature_c=OUT_C)
PANEL = tuple(
    VapourLayer(*row) for row in ((0.05, 20.0), (0.011 / 0.13, 0.55), (0.235 / 0.035, 14.1), (0.011 / 0.13, 0.55), (0.0508, 0.227))
)  # fmt: skip
FLAT = tuple(VapourLayer(*row) for row in ((0.05, 100.0), (0.018 / 0.13, 0.9), (5.0, 0.2), (0.05, 0.125)))


def year(layers: tuple[VapourLayer, ...], excess: float, **more):
    given = {
        "outdoor_c": OUT_C, "outdoor_vapour_pa": OUT_PA, "inside_c": np.full(12, 20.0), "rsi_m2k_w": 0.10,
        "inside_vapour_pa": indoor_vapour_pa(outdoor_vapour_pa=OUT_PA, outdoor_c=OUT_C, excess_pa=excess),
    }  # fmt: skip
    return monthly_vapour(layers=layers, **(given | more))


@pytest.mark.published
def test_a_panel_roof_month_by_month() -> None:
    """ISO 13788 case A, two planes (computed sheet): every month, to the last printed digit."""
    told = year(PANEL, 810.0)
    p1, p2 = (told.plane.index(k) for k in (1, 2))
    outer = {10: (0.00607, 0.00607), 11: (0.00807, 0.01413), 0: (0.00723, 0.02136), 1: (0.00674, 0.02811),
             2: (0.00597, 0.03408), 3: (0.00155, 0.03563), 4: (-0.00588, 0.02976), 5: (-0.01429, 0.01547)}  # fmt: skip
    inner = {10: (0.00882, 0.00882), 11: (0.01550, 0.02432), 0: (0.01710, 0.04142), 1: (0.01408, 0.05549),
             2: (0.01213, 0.06762), 3: (-0.00374, 0.06388), 4: (-0.01671, 0.04716), 5: (-0.02331, 0.02385)}  # fmt: skip
    for plane, rows in ((p1, outer), (p2, inner)):
        for month, (taken, held) in rows.items():
            assert_close(told.taken_kg_m2[month, plane], taken, abs=6e-6, why="printed to five digits")
            assert_close(told.held_kg_m2[month, plane], held, abs=6e-6, why="printed to five digits")
        assert told.held_kg_m2[6, plane] == 0.0
    assert told.first_month == 10
    assert told.dries


@pytest.mark.published
def test_a_flat_roof_without_retarder() -> None:
    """ISO 13788 case C (computed sheet)."""
    told = year(FLAT, 540.0)
    p1, p2 = (told.plane.index(k) for k in (1, 2))
    assert_close(told.held_kg_m2[[10, 0], p1], [0.01305, 0.03854], abs=6e-6, why="printed to five digits")
    assert_close(told.held_kg_m2[[10, 0, 2], p2], [0.45072, 1.86508, 3.03210], abs=6e-6, why="printed to five digits")
    assert told.held_kg_m2[:, p2].max() == told.held_kg_m2[2, p2]
    assert told.held_kg_m2[7, p2] == 0.0 < told.held_kg_m2[6, p2]
    assert told.held_kg_m2[8, p1] == 0.0 < told.held_kg_m2[7, p1]


@pytest.mark.published
def test_indoor_supply_and_surface_factors() -> None:
    """ISO 13788: 20 °C 50 % -5 °C 12.625 °C and 0.705; 0 °C 0.631; -10 °C 40 % 0.642 (computed sheet)."""
    for outside, damp, want in ((-5.0, 0.5, 0.705), (0.0, 0.5, 0.631), (-10.0, 0.4, 0.642)):
        assert_close(least_factor(outside_c=outside, inside_c=20.0, humidity=damp), want, abs=6e-4, why="three digits")
    assert_close(indoor_vapour_pa(outdoor_vapour_pa=0.0, outdoor_c=[-3.0, 0.0, 10.0, 25.0], excess_pa=810.0),
                 [810.0, 810.0, 405.0, 0.0], abs=1e-9, why="linear between 0 and 20 °C")  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize(("outside", "row"), [(-20.0, (25.5, 34.1, 45.2, 59.4)), (-10.0, (36.3, 44.9, 55.3, 67.7)),
                                              (0.0, (51.1, 58.7, 67.3, 76.9))])  # fmt: skip
def test_highest_humidity_before_a_window_runs(
    outside: float, row: tuple[float, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """At 21 °C, fRsi .5 .6 .7 .8 (computed sheet)."""
    got = highest_humidity(outside_c=outside, inside_c=21.0, factor=np.array([0.5, 0.6, 0.7, 0.8]))
    assert_close(100.0 * got, row, abs=0.06, why="one decimal")
    words = ["quick", "window", "--outside", f"{outside:g} °C", "--inside", "21 °C", "--frsi", "0.7", "--json"]
    assert run(words) == 0
    assert_close(100 * json.loads(capsys.readouterr().out)["max_humidity"], row[2], abs=0.06, why="one decimal")


@pytest.mark.published
def test_mould_index() -> None:
    """ASHRAE 160 (from memory), computed sheet: critical humidity, days to 1 and 3, index after days."""
    got = critical_percent(temperature_c=np.array([1.0, 5.0, 10.0, 20.0]), least_percent=80.0)
    assert_close(got, [97.03, 88.02, 82.03, 80.04], abs=6e-3, why="two decimals")
    hours = 365 * 24
    course = mould_index(temperature_c=np.full(hours, 20.0), humidity=np.full(hours, 0.90), surface="sensitive")
    assert_close(course[[28 * 24 - 1, 90 * 24 - 1, hours - 1]], [0.549, 1.502, 3.041], abs=6e-4, why="three decimals")
    for level, days in ((1.0, 51.1), (3.0, 280.0)):
        assert_close((np.flatnonzero(course >= level)[0] + 1) / 24.0, days, abs=0.06, why="hours")
    fast = mould_index(temperature_c=np.full(720, 22.0), humidity=np.full(720, 0.97), surface="very-sensitive")
    for level, days in ((1.0, 9.75), (3.0, 19.5)):
        assert_close((np.flatnonzero(fast >= level)[0] + 1) / 24.0, days, abs=0.06, why="hours")


@pytest.mark.analytic
def test_mould_declines_by_its_three_stretches_and_rests_in_the_cold() -> None:
    """6 h at 0.00133, 18 h of rest, then 0.000667 an hour; k3 1; frost and dryness alike."""
    for air in (-5.0, 20.0):
        course = mould_index(
            temperature_c=np.full(48, air), humidity=np.full(48, 0.5), surface="sensitive", start=2.0, decline=1.0
        )
        assert_close(
            course[[5, 23, 47]], [2 - 0.00798, 2 - 0.00798, 2 - 0.00798 - 24 * 0.000667], abs=1e-9, why="by hand"
        )
    gone = mould_index(
        temperature_c=np.full(5000, 20.0), humidity=np.full(5000, 0.3), surface="medium", start=0.1, decline=1.0
    )
    assert gone[-1] == 0.0
    worse = [mould_index(temperature_c=np.full(2000, 20.0), humidity=np.full(2000, 0.97), surface=s)[-1]
             for s in ("resistant", "medium", "sensitive", "very-sensitive")]  # fmt: skip
    assert worse == sorted(worse)


@pytest.mark.published
@pytest.mark.parametrize(("pa", "air", "damp", "skin", "litres", "grams", "kg"),
                         [(4, 21, 0.35, -5, 0.9995, 2.915, 0.302), (2, 21, 0.35, -5, 0.707, 2.915, 0.214),
                          (4, 21, 0.40, -10, 0.9995, 4.569, 0.473)])  # fmt: skip
def test_a_square_inch_of_leak(
    pa: float, air: float, damp: float, skin: float, litres: float, grams: float, kg: float,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """645 mm2, Cd 0.6 (computed sheet)."""
    lifted = humidity_ratio(temperature_c=air, humidity=damp) - humidity_ratio(temperature_c=skin, humidity=1.0)
    assert_close(1000 * lifted, grams, rel=6e-3, why="forms of saturation differ so much")
    words = ["quick", "leak-moisture", "--area", "645.16 mm2", "--pressure", f"{pa} Pa", "--inside", f"{air} °C",
             "--humidity", str(damp), "--skin", f"{skin} °C", "--json"]  # fmt: skip
    assert run(words) == 0
    told = json.loads(capsys.readouterr().out)
    assert_close(1000 * told["flow_m3_s"], litres, abs=6e-4, why="four digits")
    assert_close(told["deposit_kg_day"], kg, rel=6e-3, why="forms of saturation differ so much")


@pytest.mark.published
def test_a_slit_through_a_panel_joint(capsys: pytest.CaptureFixture[str]) -> None:
    """1 m slit 250 mm deep, 21 °C 40 %, -10 °C, 4 Pa: 0.081 / 0.651 / 5.21 kg in 150 d (computed sheet)."""
    for width, kg in ((0.25e-3, 0.081), (0.5e-3, 0.651), (1e-3, 5.21)):
        flow = slit_flow_m3_s(width_m=width, depth_m=0.25, length_m=1.0, pressure_pa=4.0)
        left = deposit_kg_s(flow_m3_s=flow, inside_c=21.0, humidity=0.4, skin_c=-10.0) * 150 * 86400
        assert_close(left, kg, rel=8e-3, why="two or three digits")
    words = [
        "quick",
        "leak-moisture",
        "--pressure",
        "4 Pa",
        "--inside",
        "21 °C",
        "--humidity",
        "0.4",
        "--skin",
        "-10 °C",
    ]
    assert run([*words, "--slit", "0.5 mm x 250 mm x 1 m", "--json"]) == 0
    assert_close(150 * json.loads(capsys.readouterr().out)["deposit_kg_day"], 0.651, rel=8e-3, why="three digits")
    for bad in (["--slit", "0.5 mm"], [], ["--area", "1 in2", "--slit", "1 mm x 1 m x 1 m"]):
        assert run([*words, *bad]) == 2
    assert run([*words[:7], "45", *words[8:], "--area", "1 in2"]) == 2
    assert "did you mean 0.45?" in capsys.readouterr().err


@pytest.mark.published
def test_humidity_ratio_against_a_reference_library() -> None:
    """psychrolib (ASHRAE 2017), also at 1600 m."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for air, damp, pa in ((21.0, 0.4, 101325.0), (21.0, 0.4, 83524.0), (-10.0, 0.8, 101325.0)):
        want = psychrolib.GetHumRatioFromRelHum(air, damp, pa)
        assert_close(humidity_ratio(temperature_c=air, humidity=damp, pressure_pa=pa), want, rel=6e-3, why="two forms")


@pytest.mark.published
def test_a_hole(capsys: pytest.CaptureFixture[str]) -> None:
    """7.47 cfm a square inch at 50 Pa, Cd 0.6 (computed sheet)."""
    assert run(["quick", "hole", "--area", "1 in2", "--pressure", "50 Pa", "--json"]) == 0
    assert_close(json.loads(capsys.readouterr().out)["flow_m3_s"] / 4.719474e-4, 7.47, abs=6e-3, why="three digits")
    assert run(["quick", "hole", "--pressure", "50 Pa"]) == 2


def obstacle(depth: np.ndarray, saturation: np.ndarray, outside: float, inside: float) -> np.ndarray:
    """Vapour pressure under saturation by bounded least squares: least sum of dp^2/ds, an independent way."""
    n = len(saturation)
    ds = np.diff(np.concatenate([[0.0], depth]))
    a, b = np.zeros((n + 1, n)), np.zeros(n + 1)
    for k in range(n + 1):
        w = ds[k] ** -0.5
        if k < n:
            a[k, k] += w
        if k > 0:
            a[k, k - 1] -= w
        b[k] = w * ((outside if k == 0 else 0.0) - (inside if k == n else 0.0))
    return lsq_linear(a, b, bounds=(-np.inf, saturation), tol=1e-14, max_iter=400).x


@pytest.mark.analytic
@pytest.mark.parametrize("month", [0, 3, 10, 11])
@pytest.mark.parametrize("layers", [PANEL, FLAT], ids=["panel", "flat"])
def test_the_hull_is_what_an_obstacle_solver_finds(layers: tuple[VapourLayer, ...], month: int) -> None:
    """One dry month by itself: pressures at the planes from scipy's bounded least squares."""
    parts, _ = split_layers(layers=layers)
    depth = np.cumsum([p.sd_m for p in parts])
    r = np.cumsum([0.04, *(p.resistance_m2k_w for p in parts)])
    saturation = saturation_pressure_pa(temperature_c=OUT_C[month] + r[1:-1] / (r[-1] + 0.1) * (20.0 - OUT_C[month]))
    inside = float(indoor_vapour_pa(outdoor_vapour_pa=OUT_PA[month], outdoor_c=OUT_C[month], excess_pa=810.0))
    s = np.concatenate([[0.0], depth])
    height = np.concatenate([[OUT_PA[month]], saturation, [inside]])
    corners = lower_hull(depth=s, height=height)
    mine = np.interp(s[1:-1], s[corners], height[corners])
    want = obstacle(depth, saturation, float(OUT_PA[month]), inside)
    assert_close(mine, want, abs=0.05, why="what the solver leaves open, of hundreds of pascals")


@pytest.mark.invariant
@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0.02, 4.0), st.floats(0.01, 50.0)), min_size=1, max_size=6), st.floats(0.0, 1500.0))
def test_water_is_neither_made_nor_lost(rows: list[tuple[float, float]], excess: float) -> None:
    """What is held is what was taken; nothing below zero; splitting a layer changes nothing; no supply, no water."""
    layers = tuple(VapourLayer(*row) for row in rows)
    told = year(layers, excess)
    assert told.held_kg_m2.min(initial=0.0) >= 0.0
    assert told.held_kg_m2.sum() == 0.0 or told.first_month is not None
    if told.first_month is not None:
        before = np.zeros(len(told.plane))
        for month in ((told.first_month + k) % 12 for k in range(12)):
            assert_close(
                told.held_kg_m2[month], np.maximum(before + told.taken_kg_m2[month], 0.0), abs=1e-12, why="sum"
            )
            before = told.held_kg_m2[month]
    halves = tuple(VapourLayer(0.5 * r, 0.5 * sd) for r, sd in rows for _ in range(2))
    if all(r > 0.5 or r <= 0.25 for r, _ in rows):
        again = year(halves, excess)
        if np.array_equal(split_layers(layers=layers)[0], split_layers(layers=halves)[0]):
            assert_close(again.held_kg_m2.sum(axis=1), told.held_kg_m2.sum(axis=1), abs=1e-9, why="the same planes")
    thick = year(tuple(VapourLayer(r, 10.0 * sd) for r, sd in rows), excess)
    assert_close(
        10.0 * thick.held_kg_m2.sum(axis=1), told.held_kg_m2.sum(axis=1), rel=1e-6, abs=1e-9, why="all flows a tenth"
    )


@pytest.mark.analytic
def test_the_block_method_by_hand() -> None:
    """DIN 4108-3 (from memory): one plane between two layers, both seasons written out."""
    layers, d = (VapourLayer(0.05, 50.0), VapourLayer(4.9, 1.0)), PERMEABILITY * 90 * 86400
    r = 0.04 + 0.05 + 4.9 + 0.25
    at = -5.0 + 25.0 * 0.09 / r
    sat = 610.5 * np.exp(21.875 * at / (265.5 + at))
    out, inside = 0.8 * 401.18, 0.5 * 2336.95
    told = two_seasons(layers=layers, kind="roof")
    assert_close(
        told.condensed_kg_m2.sum(), d * ((inside - sat) / 1.0 - (sat - out) / 50.0), rel=1e-4, why="printed psat"
    )
    assert_close(told.dried_kg_m2.sum(), d * 800.0 * (1 / 1.0 + 1 / 50.0), rel=1e-9, why="2000 less 1200 Pa both ways")
    assert two_seasons(layers=layers, kind="wall").dried_kg_m2.sum() < told.dried_kg_m2.sum()


FILE = """
kind = "roof"
covering = "layers"
humidity_class = 3
outdoor = [-8, -6, 0, 7, 13, 18, 21, 20, 15, 9, 2, -5]
outdoor_humidity = ["80 %", "78 %", "74 %", "68 %", "66 %", "68 %", "70 %", "72 %", "74 %", "74 %", "78 %", "82 %"]
layers = [
  { r = "0.05 m2K/W", sd = "20 m" },
  { material = "osb", thickness = "11 mm" },
  { material = "eps", thickness = "235 mm" },
  { material = "osb", thickness = "11 mm" },
  { r = "0.0508 m2K/W", sd = "0.227 m" },
]
"""


@pytest.mark.invariant
def test_the_command_gives_both_bounds_and_names_what_is_wrong(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "roof.toml"
    path.write_text(FILE, encoding="utf-8")
    assert run(["quick", "vapour", str(path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told["bounds"]) == {"worse", "better"}
    assert told["bounds"]["worse"]["most_kg_m2"] > told["bounds"]["better"]["most_kg_m2"]
    path.write_text(FILE.replace('"layers"', '"metal"', 1), encoding="utf-8")
    assert run(["quick", "vapour", str(path)]) == 1
    assert "OUTSIDE THE METHOD" in capsys.readouterr().out
    assert capsys.readouterr().out == ""
    path.write_text(FILE.replace('covering = "layers"\n', ""), encoding="utf-8")
    assert run(["quick", "vapour", str(path)]) == 1, "a covering that is not said is no pass"
    assert capsys.readouterr().out.startswith("OUTSIDE THE METHOD")
    for right, wrong in (
        (', sd = "20 m"', ""),
        ("humidity_class = 3", ""),
        ('"82 %"]', "]"),
        ('"82 %"]', "45]"),
        ("osb", "wood-of-my-own"),
        ('{ material = "osb", thickness = "11 mm" }', '{ material = "osb", r = "0.1 m2K/W" }'),
    ):
        path.write_text(FILE.replace(right, wrong), encoding="utf-8")
        assert run(["quick", "vapour", str(path)]) == 2, wrong


@pytest.mark.published
def test_zones_under_the_test_fan(capsys: pytest.CaptureFixture[str]) -> None:
    """Ratios at 50 Pa, add a hole, open the door (computed sheet)."""
    got = leak_ratio(house_to_zone_pa=np.array([45.0, 37.5, 25.0, 12.5, 5.0]))
    assert_close(got, [0.240, 0.490, 1.000, 2.042, 4.171], abs=6e-4, why="three decimals")
    told = add_a_hole(before_pa=40.0, after_pa=30.0, hole_m2=50 * 0.0254**2)
    assert_close(
        [told.outdoors / CFM, told.house / CFM], [87.614, 35.582], rel=2e-4, why="the hole's Cd to four digits"
    )
    rng = np.random.default_rng(2)
    drawn = [add_a_hole(before_pa=40.0 + a, after_pa=30.0 + b, hole_m2=50 * 0.0254**2).outdoors
             for a, b in rng.normal(0.0, 0.5, (2000, 2))]  # fmt: skip
    assert_close(told.outdoors_error, float(np.std(drawn)), rel=0.15, why="first order against two thousand draws")
    words = ["quick", "zone", "--closed", "900 cfm", "--open", "1060 cfm", "--zone", "22 Pa", "--json"]
    assert run(words) == 0
    flows = json.loads(capsys.readouterr().out)
    assert_close(
        [flows["zone_to_outdoors_m3_s"] / CFM, flows["direct_m3_s"] / CFM],
        [386.91, 673.09],
        abs=0.02,
        why="two decimals",
    )
    close = ["quick", "zone", "--before", "40 Pa", "--after", "39.6 Pa", "--hole", "1 in2", "--json"]
    assert run(close) == 0
    assert json.loads(capsys.readouterr().out)["usable"] is False
    for more, drop in (("1060 cfm", "45 Pa"), ("901 cfm", "49.5 Pa")):
        assert run(["quick", "zone", "--closed", "900 cfm", "--open", more, "--zone", drop, "--json"]) == 0
        doubtful = json.loads(capsys.readouterr().out)
        assert doubtful["usable"] is False, "more than the whole flow, or readings that hardly move"
    for bad in (["--before", "30 Pa", "--after", "40 Pa", "--hole", "1 in2"], ["--closed", "900 cfm"], []):
        assert run(["quick", "zone", *bad]) == 2
    capsys.readouterr()


@pytest.mark.analytic
def test_no_slit_passes_more_than_a_hole_and_nothing_grows_in_frost(capsys: pytest.CaptureFixture[str]) -> None:
    words = [
        "quick",
        "leak-moisture",
        "--pressure",
        "4 Pa",
        "--inside",
        "21 °C",
        "--humidity",
        "0.4",
        "--skin",
        "-10 °C",
    ]
    assert run([*words, "--slit", "20 mm x 250 mm x 1 m", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert_close(told["flow_m3_s"], 0.6 * 0.02 * (2 * 4 / 1.2) ** 0.5, rel=1e-3, why="Cd 0.6 on its own area")
    assert "plain hole" in told["note"]
    assert (
        run(["quick", "mould", "--temperature", "-5 °C", "--humidity", "0.9", "--days", "30", "--class", "medium"]) == 0
    )
    assert "never this cold" in capsys.readouterr().out


@pytest.mark.published
def test_what_dries_may_still_hold_more_than_its_boards_bear(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """DIN 4108-3 (from memory): 3 % of a wood-based board's mass; a flat roof without retarder dries, and fails."""
    own = (Layer(material="osb", thickness_m="11 mm"), Layer(material="eps", thickness_m="235 mm"))
    mass = 0.011 * table("materials")["osb"]["density_kg_m3"]
    assert_close(most_bearable_kg_m2(own, ()), 0.03 * mass, rel=1e-9, why="3 % of its mass")
    bare = (Layer(material="eps", thickness_m="235 mm"),)
    assert_close(most_bearable_kg_m2(bare, ()), 1.0, rel=0.0, why="1 kg/m2 without wood")
    path = tmp_path / "flat.toml"
    path.write_text(
        'kind = "roof"\ncovering = "layers"\nhumidity_class = 3\ninside = "20 °C"\n'
        "outdoor = [-8, -6, 0, 7, 13, 18, 21, 20, 15, 9, 2, -5]\n"
        f"outdoor_humidity = {['75 %'] * 12}\n"
        'layers = [{ r = "0.05 m2K/W", sd = "5 m" }, { material = "osb", thickness = "18 mm" }, '
        '{ r = "5 m2K/W", sd = "0.4 m" }, { material = "gypsum", thickness = "12.5 mm" }]\n',
        encoding="utf-8",
    )
    assert run(["quick", "vapour", str(path), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert all(case["most_kg_m2"] > told["bears_kg_m2"] for case in told["bounds"].values())
    assert told["passes"] is False
