"""Geometry: sums written out by hand, and what must not change when a house is turned, shifted or cut."""

from __future__ import annotations

import copy
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inshell.errors import InputRefused
from inshell.house.geometry import Geometry, derive
from inshell.house.geometry.gross import gross_of
from inshell.house.geometry.joints import panel_joints_m
from inshell.house.model import House
from inshell.house.reading import read_house
from tests.evidence import FT, ROOT, assert_close
from tests.houses import GABLE, house, moved, rectangle

FT2, FT3 = FT**2, FT**3
EXACT = "exact prisms; rounding and the 1e-6 m grid only"

# (example, floor, air-barrier volume, enclosure) as written out by hand in docs/examples.md, feet (metric: metres)
SQRT5_2 = math.sqrt(1.25)
BY_HAND = [
    (
        "demo-cottage",
        36 * 22 + 16 * 6,
        36 * (22 * 8 + 22 * 5.5 / 2),
        36 * 22 + 2 * (36 + 22) * 8 + 2 * 22 * 5.5 / 2 + 36 * 22 * SQRT5_2,
    ),
    (
        "ridge-cabin",
        32 * 24 + 8 * 8,
        32 * (24 * 8 + 24 * 9 / 2) + 8 * 8 * (7 + 8 / 24),
        # main: floor, walls, gables, roof; wing: floor, three walls, roof; less the wing's opening in the south wall
        32 * 24
        + 2 * (32 + 24) * 8
        + 2 * 24 * 9 / 2
        + 32 * 24 * 1.25
        + 64
        + 8 * 7
        + 2 * 8 * (7 + 8 / 24)
        + 64 * math.sqrt(1 + 1 / 144)
        - 8 * (7 + 8 / 12),
    ),
    (
        "mountain-shed",
        24 * 18 + 10 * 18,
        24 * 18 * 12,
        24 * 18 + 24 * 9 + 24 * 15 + 2 * 18 * 12 + 24 * 18 * math.sqrt(1 + 1 / 9),
    ),
    (
        "pier-house",
        12 * 60,
        60 * (12 * 8 + 12 * 1.5 / 2),
        12 * 60 + 2 * (12 + 60) * 8 + 2 * 12 * 1.5 / 2 + 12 * 60 * math.sqrt(1 + 1 / 16),
    ),
    (
        "row-house",
        18 * 20 + 8 * 12 + 18 * 32,
        (18 * 20 + 8 * 12) * 9 + 18 * 32 * 8,
        # slab, top ceiling, floor over the garage; ground walls round the L at 9 ft, upper walls at 8 ft
        456 + 576 + 120 + 2 * (18 + 32) * 9 + 2 * (18 + 32) * 8,
    ),
]


@pytest.mark.analytic
@pytest.mark.parametrize(("name", "floor", "volume", "enclosure"), BY_HAND, ids=[row[0] for row in BY_HAND])
def test_examples_by_hand(name: str, floor: float, volume: float, enclosure: float) -> None:
    geometry = read_house(ROOT / "examples" / name / f"{name}.toml").geometry
    assert_close(geometry.floor_m2 / FT2, floor, rel=1e-6, why=EXACT)
    assert_close(geometry.volume_m3 / FT3, volume, rel=1e-6, why=EXACT)
    assert_close(geometry.enclosure_m2 / FT2, enclosure, rel=1e-6, why=EXACT)


@pytest.mark.analytic
def test_metric_micro_house_by_hand() -> None:
    geometry = read_house(ROOT / "examples/micro-house/micro-house.toml").geometry
    area = 2 * 3 + (5 + 4) / 2 * 3
    perimeter = 7 + math.hypot(1, 3) + 6 + 3
    assert_close(geometry.volume_m3, area * 2.6, rel=2e-5, why="corners are written to a tenth of a millimetre")
    assert_close(geometry.enclosure_m2, 2 * area + perimeter * 2.6, rel=2e-5, why="corners to a tenth of a millimetre")
    slanted = next(s for s in geometry.surfaces if s.id == "main:c2-c3")
    # before turning its normal points (3, 1); turned by 30 degrees counterclockwise on the plan
    assert_close(slanted.azimuth_deg, math.degrees(math.atan2(3, 1)) - 30, abs=0.01, why="corners to .1 mm over 3 m")


@pytest.mark.analytic
def test_joints_of_the_demo_by_hand() -> None:
    file = read_house(ROOT / "examples/demo-cottage/demo-cottage.toml")
    g = file.geometry
    rake = 2 * 2 * 11 * SQRT5_2
    for kind, feet in (("ridge", 36), ("eave", 72), ("rake", rake), ("corner", 4 * 8), ("sill", 116)):
        assert_close(g.joint_m(kind) / FT, feet, rel=1e-6, why=EXACT)
    panels = panel_joints_m(file.house, g.surfaces)
    # roof: 36 ft in 4 ft panels: 8 joints, both slopes, 11 ft on the plan
    assert_close(panels["roof-panel"] / FT, 2 * 8 * 11 * SQRT5_2, rel=1e-6, why=EXACT)
    # walls: long ones 8 joints of 8 ft; gables at 4, 8 … 20 ft from a corner: 8 + the roof's rise there
    gable = sum(8 + min(x, 22 - x) / 2 for x in (4, 8, 12, 16, 20))
    assert_close(panels["wall-panel"] / FT, 2 * 8 * 8 + 2 * gable, rel=1e-6, why=EXACT)


@pytest.mark.analytic
def test_box_with_walls_all_round() -> None:
    h = house(
        [{"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 6)}],
        site={"latitude": 1, "longitude": 1, "plan_north": "30°"},
    )
    g = derive(h)
    south = next(s for s in g.surfaces if s.id == "a:c1-c2")
    assert (south.area_m2, south.azimuth_deg, south.tilt_deg, south.centre_m) == (10.0, 210.0, 90.0, 1.25)
    assert_close(g.volume_m3, 60.0, rel=1e-9, why=EXACT)
    assert_close(g.joint_m("corner"), 10.0, rel=1e-9, why=EXACT)
    # outside: 0.2 m walls and roof, 0.1 m slab
    gross = gross_of(h, g)
    assert_close(gross.floor_m2, 4.4 * 6.4, rel=1e-6, why=EXACT)
    assert_close(gross.volume_m3, 4.4 * 6.4 * 2.8, rel=1e-3, why="corners where three faces meet are left out")


@pytest.mark.analytic
def test_hip_roof_by_hand() -> None:
    """A 4 x 8 m hip at 45 degrees: two trapezoids and two triangles; volume by Simpson's rule on its sections."""
    planes = [{"id": d, "falls": d, "pitch": "45°", "eave_height": 2.0} for d in ("north", "south", "east", "west")]
    g = derive(
        house([{"id": "a", "ceiling": "roof", "outline": rectangle(0, 0, 8, 4)}], roof=[{"id": "r", "plane": planes}])
    )
    volume = 8 * 4 * 2 + (2 / 6) * (8 * 4 + 4 * 6 * 2 + 0 * 4)
    assert_close(g.volume_m3, volume, rel=1e-6, why=EXACT)
    roof = sum(s.area_m2 for s in g.surfaces if s.kind == "roof")
    assert_close(roof, 32 * math.sqrt(2), rel=1e-6, why=EXACT)
    assert_close(g.joint_m("ridge"), 4.0, rel=1e-6, why=EXACT)
    assert_close(g.joint_m("hip"), 4 * math.sqrt(12), rel=1e-6, why=EXACT)
    assert_close(g.joint_m("eave"), 24.0, rel=1e-6, why=EXACT)


@pytest.mark.analytic
def test_valley_where_two_roofs_cross() -> None:
    """A gable wing that runs into the main roof: two valleys of sqrt(1 + 1 + tan2) a metre."""
    rooms = [
        {"id": "a", "ceiling": "roof", "outline": [[0, 0], [3, 0], [3, -3], [7, -3], [7, 0], [10, 0], [10, 6], [0, 6]]}
    ]
    corners = [[3, -3], [7, -3], [7, 3], [3, 3]]
    roofs = [
        {
            "id": "main",
            "outline": rectangle(0, 0, 10, 6),
            "plane": [{"id": d, "falls": d, "pitch": "45°", "eave_height": 2.4} for d in ("north", "south")],
        },
        {
            "id": "wing",
            "outline": corners,
            "plane": [{"id": d, "falls": d, "pitch": "45°", "eave_height": 2.4} for d in ("east", "west")],
        },
    ]
    g = derive(house(rooms, roof=roofs))
    assert_close(g.joint_m("valley"), 2 * 2 * math.sqrt(3), rel=1e-6, why=EXACT)
    assert_close(g.joint_m("ridge"), 10 + 3 + 2, rel=1e-6, why=EXACT)


@pytest.mark.invariant
def test_garage_takes_its_part_of_a_wall_and_the_floor_above_it() -> None:
    g = read_house(ROOT / "examples/row-house/row-house.toml").geometry
    to_garage = {s.id: round(s.area_m2 / FT2, 6) for s in g.surfaces if s.other == "garage"}
    assert to_garage == {"living:c1-c2|garage": 90.0, "entry:c4-c1|garage": 108.0, "bed-2/floor|garage": 120.0}


@pytest.mark.invariant
def test_collar_cuts_the_top_off() -> None:
    room = {"id": "a", "ceiling": "roof", "collar": 3.0, "outline": rectangle(0, 0, 5, 6)}
    g = derive(house([room], roof=GABLE))
    # 6:12 from 2.4 m: 3 m is reached 1.2 m in; the flat part is 3.6 m wide
    assert_close(g.volume_m3, 5 * (6 * 2.4 + 2 * 1.2 * 0.6 / 2 + 3.6 * 0.6), rel=1e-6, why=EXACT)
    flat = next(s for s in g.surfaces if s.kind == "ceiling")
    assert_close(flat.area_m2, 5 * 3.6, rel=1e-6, why=EXACT)


# ----------------------------------------------------------------------------------------- properties

ROOMS = [
    {"id": "a", "ceiling": "roof", "outline": [[0, 0], [6, 0], [6, 5], [3, 5], [3, 8], [0, 8]]},
    {"id": "b", "ceiling": "roof", "outline": [[3, 5], [6, 5], [6, 8], [3, 8]]},
    {"id": "c", "ceiling": 2.4, "outline": [[6, 0], [9, 0], [9, 8], [6, 8]]},
]


def roof_at(turn: float) -> list[dict[str, Any]]:
    roofs = copy.deepcopy(GABLE)
    for plane, direction in zip(roofs[0]["plane"], (0.0, 180.0), strict=True):
        plane["falls"] = f"{(direction - turn) % 360}°"
    return roofs


def totals(g: Geometry) -> list[float]:
    by_kind = [
        sum(s.area_m2 for s in g.surfaces if s.kind == kind)
        for kind in ("wall", "partition", "roof", "ceiling", "floor")
    ]
    joints = [g.joint_m(kind) for kind in ("ridge", "eave", "rake", "corner", "sill")]
    return [g.volume_m3, g.floor_m2, g.net_volume_m3, g.enclosure_m2, *by_kind, *joints]


@pytest.mark.invariant
@settings(max_examples=25)
@given(turn=st.floats(0, 360), dx=st.floats(-50, 50), dy=st.floats(-50, 50))
def test_turning_and_shifting_changes_no_size(turn: float, dx: float, dy: float) -> None:
    g = derive(house(moved(ROOMS, turn_deg=turn, dx=dx, dy=dy), roof=roof_at(turn)))
    plain = derive(house(ROOMS, roof=roof_at(0)))
    assert_close(totals(g), totals(plain), rel=1e-5, abs=2e-4, why="corners are rounded to the 1e-6 m grid")


@pytest.mark.invariant
@settings(max_examples=20)
@given(turn=st.floats(0, 360))
def test_turning_the_plan_turns_every_azimuth(turn: float) -> None:
    g = derive(house(moved(ROOMS, turn_deg=turn, dx=0, dy=0), roof=roof_at(turn)))
    plain = {s.id: s.azimuth_deg for s in derive(house(ROOMS, roof=roof_at(0))).surfaces if s.tilt_deg == 90.0}
    for s in g.surfaces:
        if s.tilt_deg == 90.0:
            off = (plain[s.id] - turn - s.azimuth_deg + 180) % 360 - 180
            assert_close(off, 0.0, abs=1e-3, why="rounding of corners over metres")


@pytest.mark.invariant
@settings(max_examples=20)
@given(order=st.permutations([0, 1, 2]), start=st.integers(0, 3), back=st.booleans())
def test_renumbering_changes_nothing(order: list[int], start: int, back: bool) -> None:
    rooms = copy.deepcopy([ROOMS[k] for k in order])
    for room in rooms:
        outline = room["outline"]
        room["outline"] = outline[start:] + outline[:start]
        if back:
            room["outline"] = room["outline"][::-1]
    g = derive(house(rooms, roof=roof_at(0)))
    assert_close(totals(g), totals(derive(house(ROOMS, roof=roof_at(0)))), rel=1e-7, abs=1e-9, why="rounding")


@pytest.mark.invariant
@settings(max_examples=15)
@given(cut=st.floats(0.8, 5.2), pitch=st.floats(5, 55))
def test_splitting_a_room_changes_no_total(cut: float, pitch: float) -> None:
    roofs = copy.deepcopy(GABLE)
    for plane in roofs[0]["plane"]:
        plane["pitch"] = f"{pitch}°"
    whole = derive(house([{"id": "a", "ceiling": "roof", "outline": rectangle(0, 0, 6, 7)}], roof=roofs))
    two = [
        {"id": "a", "ceiling": "roof", "outline": rectangle(0, 0, cut, 7)},
        {"id": "b", "ceiling": "roof", "outline": rectangle(cut, 0, 6, 7)},
    ]
    split = derive(house(two, roof=roofs))
    assert_close((split.volume_m3, split.enclosure_m2), (whole.volume_m3, whole.enclosure_m2), rel=1e-6, why=EXACT)
    assert_close(split.joint_m("ridge"), whole.joint_m("ridge"), rel=1e-6, why=EXACT)


def sampled_volume(h: House, g: Geometry, n: int = 260) -> float:
    """Volume by summing heights over a fine grid: the lowest governing plane, looked up point by point."""
    total = 0.0
    for outline in g.outlines:
        room = h.room_named(outline.owner)
        x0, y0, x1, y1 = outline.polygon.bounds
        xs, ys = (np.linspace(a, b, n + 1) for a, b in ((x0, x1), (y0, y1)))
        cx, cy = np.meshgrid(0.5 * (xs[1:] + xs[:-1]), 0.5 * (ys[1:] + ys[:-1]))
        import shapely

        inside = shapely.contains_xy(outline.polygon, cx, cy)
        if room.ceiling == "roof":
            # lowest of the planes, from the description and not from the pieces
            ymin, ymax = (
                min(o.points[:, 1].min() for o in g.outlines if h.room_named(o.owner).ceiling == "roof"),
                max(o.points[:, 1].max() for o in g.outlines if h.room_named(o.owner).ceiling == "roof"),
            )
            height = 2.4 + 0.5 * np.minimum(cy - ymin, ymax - cy)
        else:
            height = np.full_like(cx, float(room.ceiling))
        total += float((height * inside).sum()) * (x1 - x0) * (y1 - y0) / n**2
    return total


@pytest.mark.analytic
def test_volume_by_prisms_equals_volume_by_integration() -> None:
    h = house(ROOMS, roof=roof_at(0))
    g = derive(h)
    assert_close(g.volume_m3, sampled_volume(h, g), rel=2e-3, why="a grid of 260 x 260 points misses slivers at edges")


@pytest.mark.invariant
@settings(max_examples=15)
@given(gap=st.floats(-0.1, 0.12))
def test_edges_within_a_partition_meet_in_the_middle(gap: float) -> None:
    rooms = [
        {"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 5)},
        {"id": "b", "ceiling": 2.5, "outline": rectangle(4 + gap, 0, 9, 5)},
    ]
    g = derive(house(rooms))
    assert_close(g.floor_m2, 45.0, rel=1e-6, why=EXACT)
    assert [s.other for s in g.surfaces if s.kind == "partition"] == ["b"]


@pytest.mark.invariant
def test_a_wider_gap_is_refused_and_so_is_an_overlap() -> None:
    for shift, word in ((0.3, "gap"), (-0.6, "overlaps")):
        rooms = [
            {"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 5)},
            {"id": "b", "ceiling": 2.5, "outline": rectangle(4 + shift, 0, 9, 5)},
        ]
        with pytest.raises(InputRefused, match=word):
            derive(house(rooms))


@pytest.mark.invariant
def test_vertical_faces_close_every_room() -> None:
    """Divergence theorem: the plan components of area times outward normal add to nothing for every room."""
    for path in sorted((ROOT / "examples").glob("*/*.toml")):
        file = read_house(path)
        g, turn = file.geometry, file.house.site.plan_north_deg
        sums = {room.id: np.zeros(2) for room in file.house.room}
        for s in g.surfaces:
            if s.tilt_deg in (0.0, 180.0):
                continue
            angle = math.radians(s.azimuth_deg - turn)
            flux = s.area_m2 * math.sin(math.radians(s.tilt_deg)) * np.array([math.sin(angle), math.cos(angle)])
            sums[s.room] += flux
            if not s.is_outer:
                sums[s.other] -= flux
        for room, total in sums.items():
            assert_close(total, [0.0, 0.0], abs=2e-3, why=f"closed surface of {path.stem} {room}; 1e-6 m grid")
