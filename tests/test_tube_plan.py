"""The tube plan: fields through any room, leaders through doorways, lengths as drawn, what cannot be laid and why."""

from __future__ import annotations

import json
from io import StringIO
from itertools import combinations
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from inshell.cli.run import run
from inshell.design.tube_field import bare_of, lay_field
from inshell.design.tube_plan import TubePlan, lay_tubes
from inshell.house.reading import HouseFile, read_house
from tests.evidence import DEMO, FT, ROOT, assert_close

GAP = 0.0508
CURVE_END = (
    '{ flow = "3 gpm", head = "17 ftwg" },\n  { flow = "6 gpm", head = "14 ftwg" },\n'
    '  { flow = "9 gpm", head = "9 ftwg" },\n  { flow = "12 gpm", head = "2 ftwg" },\n]'
)
BEND = 5 * 0.0254


@st.composite
def areas(draw: st.DrawFn) -> tuple[Polygon, tuple[float, float]]:
    """A rectangle, an L, an angled room or a room with a tub in it, and a place on its edge."""
    wide, deep = draw(st.floats(2.2, 6.5)), draw(st.floats(2.2, 6.5))
    kind = draw(st.sampled_from(["plain", "L", "angled", "tub"]))
    shape = box(0.0, 0.0, wide, deep)
    if kind == "L":
        x, y = draw(st.floats(0.4, 0.6)) * wide, draw(st.floats(0.4, 0.6)) * deep
        shape = shape.difference(box(x, y, wide, deep))
    if kind == "tub":
        shape = shape.difference(box(0.0, deep - 0.9, min(1.6, 0.5 * wide), deep))
    if kind == "angled":
        shape = Polygon([(0, 0), (wide, 0), (wide, 0.7 * deep), (0.75 * wide, deep), (0, deep)])
    shape = affinity.rotate(shape, draw(st.sampled_from([0.0, 0.0, 17.0, 45.0])), origin=(0, 0))
    at = shape.exterior.interpolate(draw(st.floats(0.0, 1.0)), normalized=True)
    return shape, (at.x, at.y)


@pytest.mark.invariant
@settings(
    max_examples=20, deadline=None, derandomize=True, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)
@given(areas(), st.sampled_from([0.2286, 0.3048]))
def test_a_field_winds_through_any_room(room: tuple[Polygon, tuple[float, float]], spacing: float) -> None:
    """It crosses nothing, stays inside, holds its spacing and leaves next to nothing further than one spacing away."""
    area, root = room
    field = lay_field(area, (root,), spacing_m=spacing, bend_m=BEND, gap_m=GAP)
    assert field is not None
    tube = LineString(field.band.exterior.coords)
    assert tube.is_simple, "it crosses itself nowhere"
    home = area.buffer(0.005).union(Point(root).buffer(1.2 * spacing))
    assert home.contains(tube), "it leaves its area nowhere but at its root"
    assert abs(field.spacing_m / spacing - 1.0) <= 0.1
    bare = bare_of(area, [tube], spacing, BEND)
    assert bare.area < 0.05 * area.area, f"{bare.area:.3f} of {area.area:.1f} m2"
    assert beside_share(tube, field.spacing_m) > 0.55, "straight runs lie one spacing from the next"


def beside_share(tube: LineString, spacing: float) -> float:
    """Share of the tube from which another stretch of it lies one spacing away, within a tenth and a little for arcs."""
    along = np.arange(0.0, tube.length, 0.1)
    points = np.array([tube.interpolate(d).coords[0] for d in along])
    apart = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    between = np.abs(along[:, None] - along[None, :])
    apart[np.minimum(between, tube.length - between) <= 2.5 * spacing] = np.inf
    nearest = apart.min(axis=1)
    return float(((nearest > 0.88 * spacing) & (nearest < 1.2 * spacing)).mean())


@pytest.fixture(scope="module")
def plan() -> TubePlan:
    file = read_house(DEMO)
    return lay_tubes(file.house, file.geometry)


@pytest.mark.invariant
def test_the_demo_house_is_laid(plan: TubePlan) -> None:
    assert not plan.not_routed
    assert {run.circuit for run in plan.runs} == {"circuit-1", "circuit-2", "circuit-3"}
    blocked = unary_union(list(plan.keep_outs.values()))
    for one in plan.runs:
        assert one.tube.is_simple
        assert one.length_m <= 300 * FT
        assert_close(one.length_m, LineString(one.tube.coords).length, rel=1e-12, why="length is that of the polyline")
        assert not one.tube.intersects(blocked), "no tube in a keep-out"
        assert one.bare_m2 < 0.1
        assert one.tightest_m > 0.9 * BEND, "no bend that the crew must lay wider"
        ends = Point(one.tube.coords[0]).distance(Point(one.tube.coords[-1]))
        assert_close(ends, plan.gap_m, rel=0.2, why="supply and return end beside one another at the manifold")
    for one, two in combinations(plan.runs, 2):
        assert not one.tube.intersects(two.tube), f"{one.id} crosses {two.id}"
        assert one.tube.distance(two.tube) > 0.6 * plan.gap_m
    loops = [one.length_m for one in plan.of("circuit-1")]
    assert max(loops) / min(loops) < 1.25, "a circuit that is cut is cut evenly, but for what cabinets cover"


@pytest.mark.invariant
def test_another_house_with_a_room_behind_a_room() -> None:
    """The ridge cabin's bunk room is reached through the great room alone: nothing crosses, all is laid."""
    file = read_house(ROOT / "examples" / "ridge-cabin" / "ridge-cabin.toml")
    told = lay_tubes(file.house, file.geometry)
    assert not told.not_routed
    assert all(one.tightest_m > 0.6 * BEND for one in told.runs)
    for one, two in combinations(told.runs, 2):
        assert one.tube.distance(two.tube) > 0.4 * told.gap_m
    doorways_only(file, told)


@pytest.mark.invariant
def test_leaders_pass_doorways_only(plan: TubePlan) -> None:
    """Where the tubes cross partitions they do so inside a doorway."""
    doorways_only(read_house(DEMO), plan)


def doorways_only(file: HouseFile, plan: TubePlan) -> None:
    walls = [
        LineString(s.ends) for s in file.geometry.surfaces
        if s.kind == "partition" and s.ends and {s.room, s.other} <= {r.id for r in file.house.room} - {"loft"}
    ]  # fmt: skip
    doors = unary_union([
        LineString([p.start, p.end]).buffer(0.01, cap_style="flat") for p in file.geometry.openings
        if p.kind != "window" and p.start != p.end
    ])  # fmt: skip
    solid = unary_union(walls).difference(doors)
    for one in plan.runs:
        assert not one.tube.intersects(solid), one.id


@pytest.mark.invariant
def test_what_cannot_be_laid_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = DEMO.read_text(encoding="utf-8")
    cases = {
        "storey": (text.replace('room = "utility"\nposition = ["33 ft", "13 ft"]', 'room = "loft"\nposition = ["33 ft", "13 ft"]'), "another storey"),
        "place": (text.replace('room = "utility"\nposition = ["33 ft", "13 ft"]', 'room = "utility"'), "is not given"),
        "door": (text[: text.index('[[door]]\nid = "d-bed-1"')] + text[text.index('[[door]]\nid = "d-bed-2"') :], "no doorway leads to bed-1"),
    }  # fmt: skip
    for name, (content, words) in cases.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(content, encoding="utf-8")
        assert run(["floor", str(path), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert any(words in why for why in told["not_routed"].values()), (name, told["not_routed"])
        assert "circuit-not-routed" in {f["code"] for f in told["findings"]}


@pytest.mark.invariant
def test_the_command_and_its_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["floor", str(DEMO), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    loops = told["heat"]["loops"]
    for loop in loops:
        assert_close(
            loop["heat_w"], loop["to_rooms_w"] + loop["down_w"] + loop["edge_w"], rel=1e-12, why="room + down + edge"
        )
    assert_close(told["tube_total_m"], sum(c["length_m"] for c in told["circuits"]), rel=1e-12, why="a sum")
    codes = {f["code"] for f in told["findings"]}
    assert {"heater-always-cycles", "maker-not-asked", "tubes-below", "heater-burns", "room-by-leaders-alone"} <= codes
    drawn = tmp_path / "plan.dxf"
    assert run(["floor", str(DEMO), "--plan", str(drawn), "--json"]) == 0
    capsys.readouterr()
    document = ezdxf.read(StringIO(drawn.read_text(encoding="utf-8")))
    assert document.header["$INSUNITS"] == 1
    for number, circuit in enumerate(told["circuits"], start=1):
        (line,) = document.modelspace().query(f'LWPOLYLINE[layer=="TUBE-{number}"]')
        points = np.array([p[:2] for p in line.get_points()]) * 0.0254
        assert_close(np.hypot(*np.diff(points, axis=0).T).sum(), circuit["length_m"], rel=1e-6, why="as listed")
    sheet = tmp_path / "sheet.html"
    assert run(["floor", str(DEMO), "--plan", str(sheet)]) == 0
    page = sheet.read_text(encoding="utf-8")
    for words in ("DO NOT DRILL", "Pressure log", "Tube to order", 'class="tube"', "Hold-down, south-west corner"):
        assert words in page
    assert run(["floor", str(DEMO), "--plan", str(sheet)]) == 2, "it exists"
    assert run(["floor", str(DEMO), "--plan", str(tmp_path / "plan.txt")]) == 2
    bare = tmp_path / "bare.toml"
    text = DEMO.read_text(encoding="utf-8")
    start, end = text.index('[[circuit]]\nid = "circuit-1"'), text.index("[[water_heater]]")
    bare.write_text(text[:start] + text[end:], encoding="utf-8")
    assert run(["floor", str(bare)]) == 2
    capsys.readouterr()


@pytest.mark.invariant
def test_hot_water_of_a_house(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["hot-water", str(DEMO), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert_close(sum(t["share_of_busiest_time"] for t in told["totals"]), 1.0, abs=1e-12, why="probabilities")
    assert len(told["months"]) == 12
    assert {"hot-water-scalds", "water-stands"} <= {f["code"] for f in told["findings"]}
    small = tmp_path / "small.toml"
    text = DEMO.read_text(encoding="utf-8").replace('input_maximum = "120000 Btu/h"', 'input_maximum = "30000 Btu/h"')
    small.write_text(
        text.replace('separation = "exchanger"', 'separation = "none"').replace('mixing_valve = "yes"\n', ""),
        encoding="utf-8",
    )
    assert run(["hot-water", str(small), "--json"]) == 0
    codes = {f["code"] for f in json.loads(capsys.readouterr().out)["findings"]}
    assert {"taps-ask-more", "floor-through-taps", "mixing-valve-not-said"} <= codes
    tank = tmp_path / "tank.toml"
    tank.write_text(
        text.replace('kind = "tankless"', 'kind = "tank"\nstored = "40 gal"').replace("30000 Btu/h", "15000 Btu/h"),
        encoding="utf-8",
    )
    assert run(["hot-water", str(tank), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    coldest = min(told["months"], key=lambda m: m["mains_c"])
    short = coldest["peak_m3_s"] - coldest["able_m3_s"]
    assert_close(coldest["lasts_s"], 0.7 * 40 * 0.00378541 / short, rel=1e-6, why="what can be used over what is short")


def floor_json(path: Path, text: str, capsys: pytest.CaptureFixture[str]) -> dict:
    path.write_text(text, encoding="utf-8")
    assert run(["floor", str(path), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.invariant
def test_what_a_given_supply_does_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Warmer water than asked drives floors past their limit, cooler leaves rooms short; the balance closes in both."""
    text = DEMO.read_text(encoding="utf-8")
    for supply, asked in (
        ("115 °F", {"floor-too-hot", "supply-too-warm"}),
        ("80 °F", {"floor-gives-less", "supply-too-cool"}),
    ):
        told = floor_json(tmp_path / "s.toml", text.replace("[floor]\n", f'[floor]\nsupply = "{supply}"\n'), capsys)
        assert asked <= {f["code"] for f in told["findings"]}, supply
        water = {loop["id"]: loop for loop in told["water"]["loops"]}
        carried = told["water"]["fluid"]["density_kg_m3"] * told["water"]["fluid"]["heat_j_kgk"]
        for loop in told["heat"]["loops"]:
            heat = carried * water[loop["id"]]["flow_m3_s"] * (loop["supply_c"] - loop["return_c"])
            assert_close(heat, loop["heat_w"], rel=0.01, why="properties a few kelvin apart")
        given = sum(r["gives_w"] for r in told["heat"]["rooms"])
        assert_close(
            given, sum(loop["to_rooms_w"] for loop in told["heat"]["loops"]), rel=1e-9, why="what loops give rooms get"
        )
    cold = tmp_path / "cold.toml"
    cold.write_text(text.replace("[floor]\n", '[floor]\nsupply = "65 °F"\n'), encoding="utf-8")
    assert run(["floor", str(cold)]) == 2
    capsys.readouterr()


@pytest.mark.invariant
def test_a_heated_floor_takes_no_less_than_the_house_loses(capsys: pytest.CaptureFixture[str]) -> None:
    """Rooms' loads and what the ground takes of the warm slab: nothing dropped, nothing twice."""
    assert run(["floor", str(DEMO), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert run(["check", str(DEMO), "--json"]) == 1
    loads = {r["id"]: r["load_w"] for r in json.loads(capsys.readouterr().out)["heating"]["rooms"]}
    asked = sum(r["asks_w"] for r in told["heat"]["rooms"])
    whole = sum(loads[r["room"]] for r in told["heat"]["rooms"])
    down = sum(loop["down_w"] + loop["edge_w"] for loop in told["heat"]["loops"])
    below = sum(r["ground_loss_w"] for r in told["heat"]["rooms"])
    assert asked < whole < asked + down, "the ground takes more of a warm slab than of a cold one"
    assert whole - asked <= below + 1e-6


@pytest.mark.invariant
def test_odd_plans_are_laid_or_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A manifold in the room that it feeds, outside its room, two of them; a room named by two; tube out of the slab."""
    text = DEMO.read_text(encoding="utf-8")
    manifold = '[[manifold]]\nid = "manifold"\nroom = "utility"\nposition = ["33 ft", "13 ft"]\n'
    assert manifold in text
    second = manifold + '\n[[manifold]]\nid = "second"\nroom = "living"\nposition = ["19 ft", "11 ft"]\n'
    third = text.index('id = "circuit-3"')
    two = text[:third] + text[third:].replace('manifold = "manifold"', 'manifold = "second"', 1)
    cases = {
        "own": text.replace(manifold, manifold.replace("utility", "bath").replace("33 ft", "25 ft")),
        "outside": text.replace(manifold, manifold.replace("33 ft", "10 ft")),
        "two": two.replace(manifold, second),
        "again": text.replace('rooms = ["bed-2", "bath"]', 'rooms = ["bed-2", "living"]'),
        "deep": text.replace('depth = "2 in"', 'depth = "8 in"', 1),
    }
    told = {name: floor_json(tmp_path / f"{name}.toml", content, capsys) for name, content in cases.items()}
    assert len(told["own"]["circuits"]) >= 3
    assert all("outside utility" in why for why in told["outside"]["not_routed"].values())
    assert told["again"]["not_routed"] == {"circuit-3": "circuit-1 already warms living"}
    assert "does not lie in a slab" in told["deep"]["not_routed"]["circuit-1"]
    for document in told.values():
        tubes = [LineString(c["tube"]) for c in document["circuits"]]
        assert all(not one.intersects(other) for one, other in combinations(tubes, 2))
    for wrong in (
        ('tube = "7/16"\nspacing', "spacing"),
        ('spacing = "1 in"', 'spacing = "12 in"'),
        ('flow = "0 gpm"', 'flow = "0.5 gpm"'),
    ):
        path = tmp_path / "wrong.toml"
        path.write_text(text.replace(wrong[1], wrong[0], 1), encoding="utf-8")
        assert run(["floor", str(path)]) == 2, wrong
    capsys.readouterr()


@pytest.mark.invariant
def test_what_is_unsafe_or_unknown_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = DEMO.read_text(encoding="utf-8")
    floor_cases = {
        ("[floor]\n", '[floor]\nmaker_approves = "no"\n'): "maker-forbids",
        ("[floor]\n", '[floor]\ndouble_wall = "no"\nglycol = "30 %"\n'): "single-wall-with-glycol",
        ("[floor]\n", '[floor]\nglycol = "10 %"\n'): "floor-water-freezes",
        ("exchanger_cv = 3.5\n", ""): "exchanger-loss-not-said",
        (CURVE_END, '{ flow = "0.3 gpm", head = "18.5 ftwg" },\n]'): "pump-curve-short",
        ('set_point = "125 °F"', 'set_point = "88 °F"'): "heater-set-too-low",
        ("[floor]\n", "[floor] # as it is\n"): "floor-high-limit",
    }
    for (right, wrong), code in floor_cases.items():
        told = floor_json(tmp_path / "f.toml", text.replace(right, wrong, 1), capsys)
        assert code in {f["code"] for f in told["findings"]}, code
        if code == "pump-curve-short":
            assert told["water"]["running_share"] is None, "what lies beyond the curve is not known"
    water_cases = {
        ('set_point = "125 °F"', 'set_point = "160 °F"'): "outlet-too-hot",
        ('set_point = "125 °F"', 'set_point = "100 °F"'): "tap-warmer-than-heater",
        ('kind = "shower"', 'kind = "shower"\nmixed = "135 °F"'): "tap-scalds",
    }
    for (right, wrong), code in water_cases.items():
        path = tmp_path / "w.toml"
        path.write_text(text.replace(right, wrong, 1), encoding="utf-8")
        assert run(["hot-water", str(path), "--json"]) == 0
        assert code in {f["code"] for f in json.loads(capsys.readouterr().out)["findings"]}, code
