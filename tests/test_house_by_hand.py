"""Walls, corners, panel joints, doors and records of tests against sums written out by hand."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit

from inshell.cli.run import run as command
from inshell.climate.year import HOURS, SERIES, ClimateYear
from inshell.design.tightness import Readings, TestResult, reduce_test, tall_and_cold
from inshell.errors import InputRefused
from inshell.house.geometry import derive
from inshell.house.geometry.joints import panel_joints_m
from inshell.house.geometry.outlines import outline_of, snap
from inshell.house.geometry.walls import WORDS, compass
from inshell.house.model.house import House
from inshell.network.air import solve_air
from inshell.network.fans import constant_curve
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.records.jobfolder import JobFolder, read_jobfolder
from tests.evidence import assert_close
from tests.houses import BASE, content, house, moved, rectangle

EXACT = "by hand, rounding only"
GRID = "corners are rounded to the 1e-6 m grid"
BOX = [{"id": "a", "outline": rectangle(0, 0, 6, 4), "ceiling": 2.5}]
SHELL = "abcd" * 16
SLOPE = math.sqrt(1.25)  # one in two, along the slope
STEPS_PA = np.array([10.0, 20.0, 30.0, 40.0, 50.0, 60.0])


def corners_of(rooms: list[dict[str, Any]]) -> dict[tuple[float, float, float], tuple[str, float, float]]:
    """Each corner of outer walls by its foot: room, height of its top, turn; the top stands over the foot."""
    told = {}
    for joint in derive(house(rooms)).joints:
        if joint.kind == "corner":
            assert_close(joint.end[:2], joint.start[:2], abs=1e-9, why="a corner is upright")
            assert_close(joint.length_m, joint.end[2] - joint.start[2], abs=1e-9, why="as long as it is high")
            x, y, z = (round(value, 5) for value in joint.start)
            told[x, y, z] = (joint.room, round(joint.end[2], 5), round(joint.turn_deg, 3))
    return told


@pytest.mark.analytic
def test_a_room_in_the_shape_of_an_l_has_five_corners_and_one_that_turns_back() -> None:
    """Each stands where the outline turns, from the floor at 0.5 m to the ceiling 2.4 m above it."""
    outline = [[1, 2], [8, 2], [8, 5], [4, 5], [4, 9], [1, 9]]
    told = corners_of([{"id": "a", "outline": outline, "ceiling": 2.4, "floor_height": 0.5}])
    turns = {(1, 2): 90.0, (8, 2): 90.0, (8, 5): 90.0, (4, 5): -90.0, (4, 9): 90.0, (1, 9): 90.0}
    assert told == {(x, y, 0.5): ("a", 2.9, turn) for (x, y), turn in turns.items()}


@pytest.mark.analytic
def test_a_slanting_triangle_turns_by_its_outer_angles() -> None:
    """Sides of 3, 4 and 5 m turned by the angle of 4 over 3: 90, 180 - atan(4/3) and 180 - atan(3/4); 360 in all."""
    told = corners_of([{"id": "a", "outline": [[1, 1], [2.8, 3.4], [-2.2, 3.4]], "ceiling": 2.5}])
    turns = [told[x, y, 0.0][2] for x, y in ((1, 1), (2.8, 3.4), (-2.2, 3.4))]
    wanted = [90.0, 180.0 - math.degrees(math.atan(4 / 3)), 180.0 - math.degrees(math.atan(3 / 4))]
    assert_close(turns, wanted, abs=1e-3, why=GRID)
    assert_close(sum(turns), 360.0, abs=1e-3, why="once round")


@pytest.mark.analytic
@pytest.mark.parametrize("mirrored", [False, True])
def test_corners_of_a_lower_room_beside_a_higher_one(mirrored: bool) -> None:
    """Ceilings at 2.5 and 3 m: a corner is as high as the lower of the two walls that meet in it, and the wall over the
    lower room's roof has one of its own, from 2.5 to 3 m. A corner is of the room whose wall ends there."""

    def at(x: float) -> float:
        return 7 - x if mirrored else x

    low = {"id": "a", "outline": [[at(x), y] for x, y in rectangle(0, 0, 4, 3)], "ceiling": 2.5}
    high = {"id": "b", "outline": [[at(x), y] for x, y in rectangle(4, 0, 7, 5)], "ceiling": 3.0}
    told = {(at(0), 0, 0): ("a", 2.5, 90.0), (at(0), 3, 0): ("a", 2.5, 90.0)}
    told |= {(at(4), 3, 0): ("a" if mirrored else "b", 2.5, -90.0), (at(4), 0, 2.5): ("b", 3.0, 90.0)}
    told |= {(at(x), y, 0): ("b", 3.0, 90.0) for x, y in ((7, 0), (7, 5), (4, 5))}
    assert corners_of([low, high]) == told


def panelled(width: str, length: str) -> list[dict[str, Any]]:
    """The usual assemblies, walls and roof in panels of that size."""
    return [BASE["assembly"][0] | {"panel": {"width": width, "length": length}}, BASE["assembly"][1]]


def northern_panels_m(width: str, length: str, *, x: float, floor: float, turn: float) -> float:
    """Joints of the north wall of two rooms in a row, 8 m of it outdoors: a third room covers the end of the first."""
    outlines = {"a": (x, 0, x + 6, 3), "b": (x + 4, 3, x + 6, 6), "c": (x - 4, 0, x, 3)}
    rooms = [
        {"id": name, "outline": rectangle(*plan), "ceiling": 2.5, "floor_height": floor}
        for name, plan in outlines.items()
    ]
    one = house(moved(rooms, turn_deg=turn, dx=0.2, dy=0.7), assembly=panelled(width, length))
    north = tuple(
        s for s in derive(one).surfaces
        if s.kind == "wall" and s.room in ("a", "c") and abs((s.azimuth_deg + turn + 180.0) % 360.0 - 180.0) < 0.1
    )  # fmt: skip
    assert_close(sum(s.length_m for s in north), 8.0, abs=1e-5, why=GRID)
    return panel_joints_m(one, north)["w"]


@pytest.mark.analytic
@pytest.mark.parametrize(("x", "floor", "turn"), [(0.0, 0.0, 0.0), (10.0, 4.0, 0.0), (0.0, -1.0, 30.0)])
@pytest.mark.parametrize(
    ("width", "length", "joints"),
    [
        ("1.5 m", "3 m", 5 * 2.5), ("2 m", "3 m", 3 * 2.5), ("3 m", "1.25 m", 2 * 2.5 + 8.0),
        ("1.5 m", "2 m", 5 * 2.5 + 8.0), ("8 m", "1 m", 2 * 8.0), ("9 m", "3 m", 0.0),
    ],
)  # fmt: skip
def test_panels_run_on_across_rooms_from_the_first_end(
    width: str, length: str, joints: float, x: float, floor: float, turn: float
) -> None:
    """A wall of 8 x 2.5 m: uprights at every panel's width short of its end, a cross joint where panels are too short;
    wherever it stands, however high its floor lies and however the plan is turned."""
    told = northern_panels_m(width, length, x=x, floor=floor, turn=turn)
    assert_close(told, joints, abs=1e-4, why=GRID + ", and shapes are widened by it")


def under_one_slope(falls: str, **more: object) -> House:
    """A room of 6 x 4 m under a plane that rises one in two from an eave at 2.4 m."""
    plane = {"id": "p", "falls": falls, "pitch": "6:12", "eave_height": 2.4}
    room = {"id": "a", "outline": rectangle(0, 0, 6, 4), "ceiling": "roof"}
    return house([room], roof=[{"id": "r", "plane": [plane]}], **more)


@pytest.mark.analytic
def test_corners_of_a_room_under_one_slope() -> None:
    """4 m at one in two: 2.4 m at the eave, 4.4 m at the high side."""
    tops = {(j.start[0], j.start[1]): j.end[2] for j in derive(under_one_slope("south")).joints if j.kind == "corner"}
    assert_close([tops[x, y] for x in (0, 6) for y in (0, 4)], [2.4, 4.4, 2.4, 4.4], abs=1e-5, why=GRID)
    assert len(tops) == 4


@pytest.mark.analytic
@pytest.mark.parametrize("north", ["0°", "25°"])
@pytest.mark.parametrize(
    ("falls", "joints"),
    [
        ("south", 2 * 4 * SLOPE + 6), ("north", 2 * 4 * SLOPE + 6), ("west", 6 * SLOPE + 2 * 4),
        ("east", 6 * SLOPE + 2 * 4),
    ],
)  # fmt: skip
def test_panels_of_a_roof_run_along_its_fall(falls: str, joints: float, north: str) -> None:
    """6 x 4 m on the plan, panels of 2 x 3 m along a slope of sqrt(5)/2 of the plan. Falling across, 4.47 m: two joints
    along and one across; falling along, 6.71 m: one along and two across."""
    site = {"latitude": 40, "longitude": -80, "plan_north": north}
    one = under_one_slope(falls, site=site, assembly=panelled("2 m", "3 m"))
    roof = tuple(s for s in derive(one).surfaces if s.kind == "roof")
    assert_close(panel_joints_m(one, roof)["w"], joints, abs=1e-3, why=GRID + ", and shapes are widened by it")


@pytest.mark.analytic
def test_panels_of_a_slanting_wall_are_as_high_as_it_is_there() -> None:
    """2.4 m rising to 4.4 over 4 m: uprights of 2.9, 3.4 and 3.9 m; the cross joint at 3 m begins 1.2 m along."""
    one = under_one_slope("south", assembly=panelled("1 m", "3 m"))
    gables = tuple(s for s in derive(one).surfaces if s.kind == "wall" and s.azimuth_deg in (90.0, 270.0))
    for gable in gables:
        assert_close(panel_joints_m(one, (gable,))["w"], 2.9 + 3.4 + 3.9 + 2.8, abs=1e-4, why=GRID)
    assert len(gables) == 2


@pytest.mark.analytic
def test_panels_of_a_flat_ceiling_run_north() -> None:
    """6 x 4 m in panels of 2 m by 3: two joints of 4 m and one of 6 m across."""
    one = house(BOX, assembly=panelled("2 m", "3 m"))
    ceiling = tuple(s for s in derive(one).surfaces if s.kind == "ceiling")
    assert_close(panel_joints_m(one, ceiling)["w"], 2 * 4.0 + 6.0, abs=1e-4, why=GRID)


@pytest.mark.analytic
@pytest.mark.parametrize("y", [0.0, 10.0])
def test_a_wall_with_a_corner_in_its_middle_moves_as_one(y: float) -> None:
    """A partition 10 cm thick beside a part of a wall: the whole wall moves to its middle, 4.05 m; rooms that stand
    beyond its ends stay where they are."""
    long = {"id": "a", "outline": [[0, y], [4, y], [4, y + 2], [4, y + 6], [0, y + 6]], "ceiling": 2.5}
    rooms = [{"id": name, "outline": rectangle(4.1, y + low, 8, y + low + 2), "ceiling": 2.5} for name, low in
             (("b", 0.0), ("c", 7.0), ("d", -3.0))]  # fmt: skip
    geometry = derive(house([long, *rooms]))
    floors = [geometry.space(name).floor_m2 for name in "abcd"]
    assert_close(floors, [4.05 * 6.0, 3.95 * 2.0, 3.9 * 2.0, 3.9 * 2.0], abs=1e-4, why=GRID)
    points = {tuple(np.round(p, 5)) for o in geometry.outlines for p in o.points}
    assert {(4.05, y), (4.05, y + 2.0), (4.05, y + 6.0)} <= points


@pytest.mark.invariant
def test_a_wall_that_bends_a_little_stays_bent() -> None:
    """Half a degree is drawn on purpose: without a neighbour nothing moves."""
    bend = 4.0 * math.tan(math.radians(0.5))
    room = house([{"id": "a", "outline": [[0, 0], [4, 0], [4, 2], [4 + bend, 6], [0, 6]], "ceiling": 2.5}]).room[0]
    drawn = outline_of("a", room.outline)
    assert_close(snap([drawn], tolerance_m=0.13)[0].points, drawn.points, abs=1e-12, why="nothing to meet")


@pytest.mark.analytic
@pytest.mark.parametrize("back", [False, True])
def test_sides_lie_between_their_own_corner_and_the_next(back: bool) -> None:
    """A triangle of three ids, drawn either way round: the plan is kept counterclockwise, with each id at its point."""
    drawn = [("p", (0.0, 0.0)), ("q", (3.0, 0.0)), ("r", (0.0, 4.0))]
    corners = [{"id": name, "x": point[0], "y": point[1]} for name, point in (drawn[::-1] if back else drawn)]
    outline = outline_of("a", house([{"id": "a", "outline": corners, "ceiling": 2.5}]).room[0].outline)
    sides = {outline.edge_corners(k): outline.edge(k) for k in range(3)}
    assert set(sides) == {("p", "q"), ("q", "r"), ("r", "p")}
    at = dict(drawn)
    for (first, second), (start, end) in sides.items():
        assert_close((start, end), (at[first], at[second]), abs=1e-12, why=EXACT)


def described(tmp_path: Path, capsys: pytest.CaptureFixture[str], **more: object) -> dict[str, dict[str, Any]]:
    """Surfaces of the box by the compass word that they face, or by their kind, as the command tells them."""
    path = tmp_path / "h.toml"
    path.write_text(tomlkit.dumps(content(BOX, **more)), encoding="utf-8")
    assert command(["describe", str(path), "--json"]) == 0
    surfaces = json.loads(capsys.readouterr().out)["surfaces"]
    return {compass(s["azimuth_deg"]) if s["kind"] == "wall" else s["kind"]: s for s in surfaces}


@pytest.mark.analytic
@pytest.mark.parametrize("wall", ["north", "c3-c4", "c4-c3"])
def test_one_wall_of_a_room_may_be_built_otherwise(
    wall: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The choice holds for that wall alone, and for no other room's; a buffer stands before the wall that it names."""
    other = {"id": "x", "layers": [{"material": "eps", "thickness": "0.1 m"}]}
    choices = [{"room": "a", "wall": wall, "assembly": "x"}]
    garage = {"id": "g", "kind": "garage", "walls": ["a:c1-c2"]}
    told = described(tmp_path, capsys, assembly=[*BASE["assembly"], other], wall=choices, buffer=[garage])
    built = {word: told[word]["assembly"] for word in ("north", "east", "south", "west")}
    assert built == {"north": "x", "east": "w", "south": "w", "west": "w"}
    beyond = {word: told[word]["other"] for word in built}
    assert beyond == {"north": "outdoors", "east": "outdoors", "south": "g", "west": "outdoors"}
    areas = [told[word]["area_m2"] for word in built]
    assert_close(areas, [15.0, 10.0, 15.0, 10.0], abs=1e-4, why=GRID)


@pytest.mark.analytic
def test_a_direction_is_called_by_the_nearest_of_eight_words() -> None:
    """Each word holds for 22.5 degrees to either side, across north too, whatever whole turns are added."""
    for word, azimuth in WORDS.items():
        for off in (-22.0, 0.0, 22.0):
            for turn in (-360.0, 0.0, 360.0):
                assert compass(azimuth + off + turn) == word


@pytest.mark.analytic
@pytest.mark.parametrize("sill", [0.0, 0.5, 3.0, -2.7])
def test_a_door_passes_air_by_its_own_height_wherever_its_sill_lies(sill: float) -> None:
    """Warm air of 1.2 kg/m3 leaves above the neutral height, cold air of 1.3 comes below it, as much by mass: the two
    heights are as the cube root of the densities; each way (2/3) Cd W h^1.5 sqrt(2 rho g 0.1) (orifice equation over
    the height, Brown and Solvason 1962 with two densities)."""
    warm, cold, gravity = 1.2, 1.3, 9.80665
    below = 2.0 / (1.0 + (cold / warm) ** (1.0 / 3.0))
    flow = 2.0 / 3.0 * 0.6 * 0.9 * below**1.5 * math.sqrt(2.0 * cold * gravity * (cold - warm))
    door = Link("d", LinkKind.DOOR, 0, 1, low_m=sill, high_m=sill + 2.0, width_m=0.9, discharge=0.6)
    network = AirNetwork(("a",), (door,))
    told = solve_air(network, density_kg_m3=np.array([warm, cold]))
    assert_close(network.columns.height_m, [2.0], abs=1e-12, why=EXACT)
    each = (told.forward_kg_s[0], told.back_kg_s[0])
    assert_close(each, (flow, flow), rel=1e-6, why="the balance is met to 1e-10 of what passes")
    wanted = (warm - cold) * gravity * (sill + below)
    assert_close(told.pressure_pa, [wanted], abs=1e-6, why="no difference at that height")


@pytest.mark.analytic
@pytest.mark.parametrize(("a", "b", "sign"), [(0, 1, -1.0), (1, 0, 1.0)])
def test_a_fan_moves_air_from_its_first_end_to_its_second(a: int, b: int, sign: float) -> None:
    """0.02 m3/s through a crack of 0.01 m3/s at 1 Pa, exponent 0.5: 4 Pa, below outdoors where it blows out."""
    fan = Link("f", LinkKind.FAN, a, b, curve=constant_curve(0.02, 100.0))
    crack = Link("c", LinkKind.CRACK, 0, 1, low_m=1.0, coefficient_m3_s_pan=0.01, exponent=0.5)
    network = AirNetwork(("a",), (fan, crack))
    told = solve_air(network, density_kg_m3=np.array([1.2, 1.2]))
    assert (int(network.columns.a[0]), int(network.columns.b[0])) == (a, b)
    assert_close(told.pressure_pa, [sign * 4.0], rel=1e-6, why="the balance is met to 1e-10 of what passes")
    assert_close(told.net_kg_s, [0.024, sign * 0.024], rel=1e-6, why="1.2 kg/m3 x 0.02 m3/s")


def reduced(exponent: float, **conditions: float) -> TestResult:
    """Six readings on a line, 0.01 m3/s at 1 Pa to a power, reduced as they were entered."""
    given = {"inside_c": 20.0, "outside_c": 20.0, "zero_before_pa": 0.0, "zero_after_pa": 0.0} | conditions
    read = Readings(pressure_pa=STEPS_PA, flow_m3_s=0.01 * STEPS_PA**exponent, **given)  # type: ignore[arg-type]
    return reduce_test(read, volume_m3=100.0, method="as-entered")


@pytest.mark.published
def test_what_makes_a_pressure_test_invalid_is_said_in_words() -> None:
    """ISO 9972:2015 and ASTM E779: an exponent from 0.5 to 1, zero pressures of 5 Pa at most (from memory)."""
    assert reduced(0.65).errors == ()
    assert reduced(0.4).errors == ("exponent out of range",)
    assert reduced(1.1).errors == ("exponent out of range",)
    assert reduced(0.65, zero_after_pa=-4.9).errors == ()
    assert reduced(0.65, zero_before_pa=5.1, zero_after_pa=5.1).errors == ("zero reading large",)


@pytest.mark.published
@pytest.mark.parametrize(
    ("inside", "outside", "height", "product"),
    [
        (20.0, -10.0, 9.0, 270), (-10.0, 20.0, 9.0, 270), (30.0, 20.0, 9.0, None), (-20.0, 5.0, 9.9, None),
        (20.0, -10.0, 8.3, None), (20.0, -10.0, 8.4, 252),
    ],
)  # fmt: skip
def test_a_tall_house_in_the_cold_spoils_its_test(
    inside: float, outside: float, height: float, product: int | None
) -> None:
    """ISO 9972:2015: difference of temperature times height over 250 m.K seldom gives a sound zero (from memory)."""
    found = tall_and_cold(inside, outside, height)
    assert (found.values["product"] if found else None) == product


def job(folder: Path, *files: dict[str, str]) -> JobFolder:
    """A folder with tests of these conditions beside the usual ones, named t1, t2 and so on."""
    (folder / "tests").mkdir()
    usual = {"stage": "final", "purpose": "compliance", "shell": SHELL, "date": "2026-03-12", "zero before": "0 Pa",
             "direction": "depressurise", "inside": "20 °C", "outside": "20 °C"}  # fmt: skip
    rows = [f"{p:g},{36.0 * p**0.65:.6f}" for p in STEPS_PA]
    for k, changed in enumerate(files, start=1):
        said = [f"# {key}: {value}" for key, value in (usual | changed).items() if value]
        text = "\n".join([*said, "pressure_pa,flow_m3_h", *rows]) + "\n"
        (folder / "tests" / f"t{k}.csv").write_text(text, encoding="utf-8")
    return read_jobfolder(folder, house(BOX), 100.0)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("dates", "latest"),
    [(("2026-03-12", "2026-05-01"), "t2"), (("2026-05-01", "2026-03-12"), "t1"), (("2025-12-31", "2026-01-01"), "t2")],
)
def test_the_latest_day_decides_whatever_the_names_of_the_files(
    dates: tuple[str, str], latest: str, tmp_path: Path
) -> None:
    told = job(tmp_path, *({"date": day} for day in dates))
    assert tuple(test.date for test in told.tests) == dates
    deciding = told.deciding_test(SHELL)
    assert deciding is not None
    assert deciding.id == latest
    assert_close(
        deciding.result.flow_at_50_pa_m3_s, 0.01 * 50.0**0.65, rel=1e-5, why="flows are written to six decimals"
    )


@pytest.mark.invariant
def test_a_test_without_a_day_or_a_zero_decides_nothing(tmp_path: Path) -> None:
    told = job(tmp_path, {"date": ""}, {"zero before": "", "date": "2026-04-01"})
    assert told.tests[0].date == ""
    assert told.tests[0].unfit == "no date"
    assert told.tests[1].unfit.startswith("no zero reading")
    assert told.deciding_test(SHELL) is None
    assert "t2 cannot decide: no zero reading" in told.why_undecided(SHELL)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("changed", "decides"),
    [
        ({}, True), ({"shell": SHELL[:8]}, True), ({"shell": ""}, False), ({"shell": "dcba"}, False),
        ({"stage": "pre-drywall"}, False), ({"stage": ""}, False), ({"purpose": "diagnostic"}, False),
        ({"purpose": ""}, False),
    ],
)  # fmt: skip
def test_only_a_final_test_for_compliance_on_this_shell_decides(
    changed: dict[str, str], decides: bool, tmp_path: Path
) -> None:
    told = job(tmp_path, changed)
    assert (told.deciding_test(SHELL) is not None) is decides
    assert told.why_undecided(SHELL).startswith("no final") is not decides


@pytest.mark.invariant
def test_what_is_wrong_in_a_job_folder_is_told_by_its_place(tmp_path: Path) -> None:
    """A file in place of the folder of tests is named, not what was found there."""
    assert read_jobfolder(tmp_path, house(BOX), 100.0) == JobFolder((), {}, {})
    (tmp_path / "tests").write_text("pressure_pa,flow_m3_h\n50,100\n", encoding="utf-8")
    with pytest.raises(InputRefused) as refused:
        read_jobfolder(tmp_path, house(BOX), 100.0)
    assert [(p.where, p.found) for p in refused.value.problems] == [("tests", "a file")]


@pytest.mark.analytic
def test_a_year_that_is_cold_in_july_has_its_coldest_day_in_the_middle_of_july() -> None:
    """181 days to the end of June and half of 31: 196.5. July of 5 degrees in a year of 20: 744 of 8,760 hours."""
    flat = {name: np.full(HOURS, 20.0) for name in SERIES}
    flat["dry_bulb_c"][181 * 24 : 212 * 24] = 5.0
    year = ClimateYear("", "", -35.0, 149.0, 0.0, 10.0, **flat)
    assert_close(year.coldest_day, 196.5, abs=1e-9, why=EXACT)
    assert_close(year.monthly_swing_k, 15.0, abs=1e-9, why=EXACT)
    assert_close(year.mean_c, 20.0 - 15.0 * 744.0 / 8760.0, abs=1e-9, why=EXACT)
