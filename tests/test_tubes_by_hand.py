"""Pieces of the tube plan by hand: bends, fields, lanes, leaders, slices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box

from inshell.design import tube_field, tube_lanes
from inshell.design.tube_bends import DRAWN_M, _bent, _radii_m, _sampled, _tight, relaxed, sharpest_m
from inshell.design.tube_field import bare_of, lay_field, widening
from inshell.design.tube_lanes import Goal, Lattice, door_distances, lay_lanes, leader_gap_m, ports_of, walkable
from inshell.design.tube_plan import TubePlan, lay_tubes
from inshell.design.tube_shapes import eased, filled, opened_at, split_even
from inshell.house.geometry import derive
from inshell.house.model.house import House
from tests.evidence import assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
GAP = 0.0508
OPEN = box(-1.0, -1.0, 10.0, 10.0)


def turns(radius: float, *ways: tuple[float, float]) -> LineString:
    """Straights, each followed by an arc: (length, degrees to the left), drawn every half degree."""
    at, way, points = np.zeros(2), 0.0, [(0.0, 0.0)]
    for length, degrees in ways:
        at = at + length * np.array([math.cos(way), math.sin(way)])
        points.append((at[0], at[1]))
        sign = math.copysign(1.0, degrees)
        centre = at + sign * radius * np.array([-math.sin(way), math.cos(way)])
        for _ in range(round(2.0 * abs(degrees))):
            way += math.radians(0.5) * sign
            at = centre + sign * radius * np.array([math.sin(way), -math.cos(way)])
            points.append((at[0], at[1]))
    return LineString(points)


def spared(radius: float, turn: float) -> float:
    """How much shorter an arc is than its corner, drawn in chords of 9 degrees at most."""
    chords = math.ceil(turn / math.radians(9.0) - 1e-9)
    return 2.0 * radius * (math.tan(0.5 * turn) - chords * math.sin(0.5 * turn / chords))


@pytest.mark.analytic
def test_a_half_circle_is_seen_at_ten_chords() -> None:
    """0.1 m: 0.314 m long, eleven points no more than 3.2 cm apart, 18 degrees each: the circle that ten chords touch,
    0.1 cos 9 degrees. A straight line has no bend at all."""
    assert_close(sharpest_m(turns(0.1, (0.0, 180.0))), 0.1 * math.cos(math.radians(9.0)), rel=1e-4, why="half degrees")
    assert sharpest_m(LineString([(0, 0), (3, 1)])) == math.inf


@pytest.mark.analytic
def test_tight_places_far_apart_are_two_and_near_ones_are_one() -> None:
    """Quarter turns of 0.1 m after 1 m; the next after 2 m: 1.157 to 3.157 is straight; after 0.1 m it is not far.

    Points are 3 cm apart. One is tight where it sees 0.1 / 0.12 of the whole turn: from 0.42 of a step within it on.
    """
    quarter = 0.05 * math.pi
    apart = list(_tight(turns(0.1, (1.0, 90.0), (2.0, -90.0), (1.0, 0.0)), 0.12))
    ends = [(1.0, 1.0 + quarter), (3.0 + quarter, 3.0 + 2.0 * quarter)]
    assert_close(apart, ends, abs=0.043, why="1.42 steps of 3 cm")
    near = list(_tight(turns(0.1, (1.0, 90.0), (0.1, -90.0), (1.0, 0.0)), 0.12))
    assert_close(near, [(1.0, 1.1 + 2.0 * quarter)], abs=0.043, why="1.42 steps of 3 cm")
    assert not list(_tight(turns(0.1, (1.0, 90.0), (2.0, -90.0), (1.0, 0.0)), 0.09))


@pytest.mark.invariant
def test_tight_turns_are_bent_wider_and_the_straight_between_stays() -> None:
    """A quarter of 0.1 m becomes one of 0.127 m by moving about 0.027 x (sqrt 2 - 1) = 11 mm; it may by 30 mm."""
    line = turns(0.1, (1.0, 90.0), (2.0, -90.0), (1.0, 0.0))
    made = relaxed(line, 0.127, 0.03, OPEN)
    assert sharpest_m(line) < 0.1
    assert sharpest_m(made) > 0.125
    assert made.hausdorff_distance(line) < 0.03
    assert made.coords[0] == line.coords[0]
    assert made.coords[-1] == line.coords[-1]
    middle = box(1.0, 0.1 + 0.62, 1.2, 2.1 - 0.62)
    kept = made.intersection(middle)
    assert_close(kept.bounds, (1.1, 0.72, 1.1, 1.48), abs=1e-12, why="0.6 m beyond a turn nothing moves")


@pytest.mark.invariant
def test_a_turn_is_not_bent_out_of_the_free_floor_or_further_than_it_may() -> None:
    """Where it may move by 1 mm, or its floor is 4 mm wide, a turn of 0.1 m becomes none of 0.127 m."""
    line = turns(0.1, (1.0, 90.0), (1.0, 0.0))
    held = relaxed(line, 0.127, 0.001, OPEN)
    assert held.hausdorff_distance(line) < 0.001
    narrow = line.buffer(0.002)
    kept = relaxed(line, 0.127, 0.03, narrow)
    assert narrow.buffer(1e-9).covers(kept)
    assert sharpest_m(held) < 0.12
    assert sharpest_m(kept) < 0.12


@pytest.mark.invariant
def test_ways_to_bend_end_with_the_first_that_is_wide_enough() -> None:
    points = _sampled(turns(0.05, (0.3, 90.0), (0.3, 0.0)), DRAWN_M)[1]
    ways = list(_bent(points, 0.15, 0.1))
    widest = [min(float(np.min(_radii_m(way[k::2]))) for k in (0, 1)) for way in ways]
    assert len(ways) > 1
    assert max(widest[:-1]) < 0.15 <= widest[-1]
    assert all(np.array_equal(way[[0, 1, -2, -1]], points[[0, 1, -2, -1]]) for way in ways), "its ends are held"
    assert not list(_bent(points, 0.15, 0.001))


def width_at(shape: Polygon, x: float) -> float:
    return float(shape.intersection(LineString([(x, -5.0), (x, 5.0)])).length)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("after", "length", "step", "within"),
    [(1.0, 6.0, 0.3, 0.6), (1.0, 13.0, 0.3, 0.8), (1.0, 2.0, 0.9, 0.12), (0.5, 1.0, 0.5, 0.06)],
)
def test_a_pair_of_leaders_opens_to_the_spacing(after: float, length: float, step: float, within: float) -> None:
    """As narrow as the gap until `after`, then wider over 0.12 of what is left, 0.8 m at most, by 3 s2 - 2 s3.

    The wide part begins and ends in half a circle, which is wider than a way that is short.
    """
    shape = widening(LineString([(0.0, 0.0), (length, 0.0)]), after, GAP, step)
    arc = after + within - 0.5 * step
    for x in (0.02, 0.9 * min(arc, after)):
        assert_close(width_at(shape, x), GAP, rel=1e-9, why="the leaders' gap")
    for x, part in ((after + 0.25 * within, 0.15625), (after + 0.5 * within, 0.5)):
        want = max(GAP + part * (step - GAP), math.sqrt(max(0.0, step**2 - 4.0 * (after + within - x) ** 2)))
        assert_close(width_at(shape, x), want, rel=0.0035, why="quarters of ten chords: 1 - cos 4.5 degrees and more")
    for x in (after + within + 0.01, length - 0.01):
        assert_close(width_at(shape, x), step, rel=1e-9, why="the spacing")
    assert_close(shape.bounds[2], length + 0.5 * step, rel=1e-9, why="half a spacing beyond its end")


@pytest.mark.analytic
@pytest.mark.parametrize("run", [0.0, 1.0, 2.0])
def test_a_single_ring_ends_two_spacings_and_its_way_inward_short(monkeypatch: pytest.MonkeyPatch, run: float) -> None:
    """A room as wide as 2.5 spacings more than its insets takes one ring, begun at the root, to the left about.

    Inset 0.02 + 0.5 of 0.3 m = 0.156; ring 3.688 x 0.75; it ends (2 + run) x 0.3 before its start. Four turns of
    0.127 + 0.15 m, and one whose straight is 0.156 m long and which takes 0.49 of that.
    """
    for name, only in (("RUNS", run), ("MARGINS", 0.02), ("STRETCHES", 0.0)):
        monkeypatch.setattr(tube_field, name, (only,))
    told = lay_field(box(0.0, 0.0, 4.0, 1.062), ((2.0, 0.0),), spacing_m=0.3, bend_m=0.127, gap_m=GAP)
    assert told is not None
    (line,) = told.lines
    short = (2.0 + run) * 0.3
    assert_close((line.coords[0], line.coords[-1]), ((2.0, 0.0), (2.0 - short, 0.156)), abs=1e-9, why=EXACT)
    whole = 0.156 + 2.0 * (3.688 + 0.75) - short - spared(4.0 * 0.277 + 0.49 * 0.156, 0.5 * math.pi)
    assert_close(line.length, whole, rel=1e-9, why=EXACT)
    assert told.spacing_m == 0.3


@pytest.mark.analytic
def test_what_is_bare_beside_one_tube() -> None:
    """4 x 4 m, a tube through its middle: all but 1.01 spacings on either side, and but the corners outside an arc
    of 0.127 m, drawn as a quarter of 24 chords: 4 - 12 sin 15 degrees of its square."""
    told = bare_of(box(0, 0, 4, 4), [LineString([(2, -1), (2, 5)])], 0.3, 0.127)
    corners = (4.0 - 12.0 * math.sin(math.radians(15.0))) * 0.127**2
    assert_close(told.area, 16.0 - 2.0 * 0.303 * 4.0 - corners, rel=1e-6, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("across", [False, True])
def test_no_step_leads_through_a_thin_wall(across: bool) -> None:
    """4 x 5 places: 15 + 16 steps less the three through a wall of 0.2 m that leaves the last column open.

    The way from one side of it to the other is the only one of seven steps: along, round its end, and back.
    """
    shape = box(-0.5, -0.5, 3.5, 4.5).difference(box(-0.5, 1.4, 2.5, 1.6))
    if across:
        shape = Polygon([(y, x) for x, y in shape.exterior.coords])
    told = Lattice((0.0, 0.0), 1.0, shape)
    flip = (lambda n: (n[1], n[0])) if across else (lambda n: n)
    assert told.nodes == {flip((i, j)) for i in range(4) for j in range(5)}
    pairs = {frozenset((n, m)) for n in told.nodes for m in told.steps(n)}
    shut = {frozenset((flip((i, 1)), flip((i, 2)))) for i in range(3)}
    every = {frozenset((n, m)) for n in told.nodes for m in told.nodes if math.dist(n, m) == 1.0}
    assert pairs == every - shut
    assert len(pairs) == 28
    assert len(told.edges) == 56
    way = [(0, 1), (1, 1), (2, 1), (3, 1), (3, 2), (2, 2), (1, 2), (0, 2)]
    for side in (1, -1):
        assert told.path({flip((0, 1))}, {flip((0, 2))}, side) == [flip(n) for n in way]


@pytest.mark.analytic
@pytest.mark.parametrize(("side", "row"), [(1, 2), (-1, 0)])
def test_a_long_way_hugs_the_wall_on_its_side(side: int, row: int) -> None:
    """Twenty steps in the middle of three rows cost 20 x 1.4 = 28; aside, a turn and twenty along the wall 24.

    Of five steps the straight way costs 7 and the one along the wall 9.
    """
    told = Lattice((0.0, 0.0), 1.0, box(-0.5, -0.5, 20.5, 2.5))
    path = told.path({(0, 1)}, {(20, j) for j in range(3)}, side)
    assert path == [(0, 1), *((i, row) for i in range(21))]
    assert told.path({(0, 1)}, {(5, j) for j in range(3)}, side) == [(i, 1) for i in range(6)]


@pytest.mark.analytic
@pytest.mark.parametrize(("i", "j"), [(0, 0), (3, -2), (-4, 5)])
def test_a_mouth_is_kept_open_towards_the_middle(i: int, j: int) -> None:
    """0.6 m of a way that goes 0.8 along and 0.6 up, at places 0.1 m apart: as far as (4.8, 3.6), rounded on the way.

    Nearer middles end it; one nearer than a place has none. The same from any root, and mirrored.
    """
    told = Lattice((0.7, 0.9), 0.1, box(-2, -2, 4, 4))
    x, y = told.at((i, j))
    want = {(0, 0), (1, 1), (2, 1), (2, 2), (3, 2), (4, 3), (5, 4)}
    for sx, sy in ((1, 1), (-1, 1), (1, -1)):
        middle = Point(x + sx * 1.6, y + sy * 1.2)
        got = told.mouth((i, j), box(middle.x - 0.5, middle.y - 0.4, middle.x + 0.5, middle.y + 0.4))
        assert got == {(i + sx * a, j + sy * b) for a, b in want}
    assert told.mouth((i, j), box(x + 0.22, y - 0.1, x + 0.42, y + 0.1)) == {(i + k, j) for k in range(4)}
    assert told.mouth((i, j), box(x - 0.1, y - 0.1, x + 0.2, y + 0.1)) == set()


@pytest.mark.invariant
def test_a_root_is_a_place_of_its_area_that_no_other_lane_holds() -> None:
    """A port in its own area, which another lane's mouth holds: the root is the next place of the area instead."""
    told = Lattice((0.0, 0.0), 1.0, box(-3.5, -3.5, 3.5, 3.5))
    area = box(-0.4, -3.4, 0.4, 0.4)
    goal = Goal("one", (area,), box(-4, -4, 4, 4))
    search = tube_lanes._Search(told, [goal])
    told.taken = {(0, 0)}
    made = search.grown([(0, 0)], goal, 1)
    assert made is not None
    lanes, used = made
    assert lanes.roots == ((0.0, -1.0),)
    assert lanes.lines == (((0.0, 0.0), (0.0, -1.0)),)
    assert {(0, 0), (0, -1)} <= used


@pytest.mark.invariant
def test_lanes_share_no_place_and_each_ends_in_its_area() -> None:
    """Three lanes side by side through one room to three areas, none of which lies in front of another."""
    told = Lattice((0.0, 0.0), 1.0, box(-0.5, -0.5, 12.5, 8.5))
    areas = {"a": box(8.6, 5.6, 12.4, 8.4), "b": box(8.6, 2.6, 12.4, 5.4), "c": box(8.6, -0.4, 12.4, 2.4)}
    goals = [Goal(name, (area,), box(-1, -1, 13, 9)) for name, area in areas.items()]
    lanes = lay_lanes(told, [(0, 3), (0, 4), (0, 5)], goals)
    assert set(lanes) == {"a", "b", "c"}
    places = [place for one in lanes.values() for line in one.lines for place in line]
    assert len(places) == len(set(places))
    assert {one.lines[0][0] for one in lanes.values()} == {(0.0, 3.0), (0.0, 4.0), (0.0, 5.0)}
    for name, one in lanes.items():
        assert one.roots == (one.lines[0][-1],)
        assert areas[name].contains(Point(one.roots[0]))


HALL = {"id": "hall", "outline": rectangle(0, 0, 2, 4), "ceiling": 2.5, "use": "kitchen-living"}
BED = {"id": "bed", "outline": rectangle(2, 1.5, 3.3, 2.8), "ceiling": 2.5, "use": "bedroom"}


def two(*, door: float | None = 0.8, **more: object) -> House:
    """A hall with a manifold and a bedroom of 1.3 x 1.3 m east of it, the door in the middle of what they share."""
    circuit = {"id": "c", "rooms": ["bed"], "manifold": "m", "spacing": "0.3 m", "depth": "5 cm"} | more
    doors = [] if door is None else [{"id": "d", "between": ["hall", "bed"], "width": door}]
    manifold = {"id": "m", "room": "hall", "position": [0.6, 0.5]}
    return house([HALL, BED], door=doors, manifold=[manifold], circuit=[circuit])


def laid(one: House) -> TubePlan:
    return lay_tubes(one, derive(one))


@pytest.mark.analytic
@pytest.mark.parametrize(("door", "through"), [(0.8, 0.72), (0.15, 0.07), (0.101, 0.021), (0.099, 0.0), (0.05, 0.0)])
def test_the_free_floor_of_a_doorway(door: float, through: float) -> None:
    """Rooms less 0.05 m of partition and 0.04 m along each wall; between them, 0.18 m long, the door less two jambs of
    0.04 m; a doorway of two and a half jambs or less lets nothing through."""
    one = two(door=door)
    told = walkable(one, derive(one), {"hall", "bed"})
    assert_close(told.area, 1.82 * 3.82 + 1.12 * 1.12 + 0.18 * through, rel=1e-9, why=EXACT)
    assert len(getattr(told, "geoms", [told])) == (1 if through else 2)
    assert_close(told.intersection(LineString([(2.0, 0.0), (2.0, 4.0)])).length, through, abs=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("tube", "depth", "lies"),
    [("1/2", "7.9 mm", False), ("1/2", "8 mm", True), ("1/2", "92 mm", True), ("1/2", "92.1 mm", False),
     ("20x2", "9.9 mm", False), ("20x2", "10.1 mm", True), ("20x2", "89.9 mm", True), ("20x2", "90.1 mm", False)],
)  # fmt: skip
def test_a_tube_lies_whole_in_its_slab(tube: str, depth: str, lies: bool) -> None:
    """Outer diameters 15.875 mm (ASTM F876) and 20 mm, a slab of 0.1 m: the axis is half of one from both faces.

    Behind a room without a door nothing is laid: what lies in the slab is told so.
    """
    why = laid(two(door=None, tube=tube, depth=depth)).not_routed["c"]
    assert ("no doorway leads to bed" in why) == lies
    assert ("does not lie in a slab of 0.1 m" in why) != lies


@pytest.mark.analytic
@pytest.mark.parametrize(("tube", "outer"), [("1/2", 0.015875), ("17x2", 0.017)])
def test_the_inner_tube_of_a_pair_turns_at_eight_diameters(tube: str, outer: float) -> None:
    """Eight outer diameters for the inner tube, half the gap more for the line between both (common practice: a bend of
    cross-linked tube is eight diameters wide). Up from the manifold, once to the right, through the door."""
    gap = max(3.0 * outer, 0.0508)
    assert_close(leader_gap_m(outer), gap, rel=1e-12, why=EXACT)
    plan = laid(two(tube=tube))
    assert_close(plan.gap_m, gap, rel=1e-12, why=EXACT)
    (run,) = plan.runs
    (leader,) = run.leaders
    points = np.array(leader.coords)
    radius = 8.0 * outer + 0.5 * gap
    along, up = points[-1] - points[0]
    assert_close(points[-2] - points[1], (radius, radius), abs=1e-9, why="a quarter turn between two straights")
    centre = points[1] + np.array([radius, 0.0])
    assert_close(np.hypot(*(points[1:-1] - centre).T), np.full(11, radius), rel=1e-9, why="ten chords of 9 degrees")
    assert_close(leader.length, along + up - spared(radius, 0.5 * math.pi), rel=1e-9, why=EXACT)
    assert_close(run.passes["bed"], 2.0 * (points[-1][0] - 2.0), rel=1e-9, why="there and back, beyond x = 2")
    assert_close(run.leader_m, 2.0 * leader.length, rel=1e-9, why="there and back")
    steps = (points[-1] - points[0]) / (2.0 * gap)
    assert_close(steps, np.round(steps), abs=1e-9, why="places lie two gaps apart")


@pytest.mark.analytic
def test_the_way_through_doors_is_that_between_their_middles() -> None:
    """Middles (1, 2) of the hall, (2, 2.15) of the door: sqrt(1 + 0.0225). The next door at (2.65,
    2.8) is 0.65 along and 0.65 up from there."""
    more = {"id": "store", "outline": rectangle(2, 2.8, 3.3, 4), "ceiling": 2.5, "use": "closet"}
    doors = [{"id": "d", "between": ["hall", "bed"]}, {"id": "e", "between": ["bed", "store"]}]
    one = house([HALL, BED, more], door=doors)
    told = door_distances(derive(one), {"hall", "bed", "store"}, "hall")
    assert_close((told["hall"].way_m, *told["hall"].door), (0.0, 1.0, 2.0), abs=1e-9, why=EXACT)
    first = math.hypot(1.0, 0.15)
    assert_close((told["bed"].way_m, *told["bed"].door), (first, 2.0, 2.15), abs=1e-9, why=EXACT)
    second = first + math.hypot(0.65, 0.65)
    assert_close((told["store"].way_m, *told["store"].door), (second, 2.65, 2.8), abs=1e-9, why=EXACT)
    assert (told["bed"].rooms, told["store"].rooms) == (("hall", "bed"), ("hall", "bed", "store"))


@pytest.mark.analytic
def test_ports_stand_along_the_nearest_wall() -> None:
    """The manifold 0.4 m off the long south wall and 1 m off the west one: three ports along x, its own the middle one;
    0.4 m off the west wall they stand along y."""
    room = box(0, 0, 5, 3)
    assert set(ports_of(Lattice((1.0, 0.4), 0.1, room), room, 3)) == {(-1, 0), (0, 0), (1, 0)}
    assert set(ports_of(Lattice((0.4, 1.0), 0.1, room), room, 3)) == {(0, -1), (0, 0), (0, 1)}
    assert set(ports_of(Lattice((0.05, 0.01), 0.1, room), room, 3)) == {(0, 0), (1, 0), (2, 0)}


@pytest.mark.analytic
@pytest.mark.parametrize("along", [(0.0, 1.0), (1.0, 0.0), (0.6, 0.8)])
def test_an_outline_is_opened_half_a_gap_on_either_side_of_its_start(along: tuple[float, float]) -> None:
    """A square of 2 m begun at the middle of a side: its outline less 2 x 0.05 m is left, whichever way it lies."""
    way, half = np.array(along), 0.05
    side = np.array([-way[1], way[0]])
    start = np.array([0.3, -0.2])
    corners = [start + side, start + side + 2.0 * way, start - side + 2.0 * way, start - side]
    for k in range(4):
        ring = LineString([*corners[k:], *corners[:k], corners[k]])
        told = opened_at(ring, start, start + 0.7 * way, half)
        assert_close(told.length, 8.0 - 2.0 * half, rel=1e-9, why=EXACT)
        ends = sorted([told.coords[0], told.coords[-1]])
        assert_close(ends, sorted([tuple(start + half * side), tuple(start - half * side)]), abs=1e-9, why=EXACT)


@pytest.mark.analytic
def test_lanes_turn_in_arcs_and_step_aside_slantwise() -> None:
    """A corner becomes an arc. A step aside of 0.1 m becomes a slant from 0.15 m before to 0.15 m after it,
    0.3 along and 0.1 aside, with two turns of atan(1/3); of 0.4 m it stays square. Of straights of 0.2 and 0.3 m the
    slant takes 0.45: 0.09 and 0.135 m.
    """
    corner = eased(((0.0, 0.0), (2.0, 0.0), (2.0, 2.0)), 0.15)
    assert_close(corner.length, 4.0 - spared(0.15, 0.5 * math.pi), rel=1e-9, why=EXACT)
    aside = eased(((0.0, 0.0), (1.0, 0.0), (1.0, 0.1), (2.0, 0.1)), 0.15)
    slant = 1.7 + math.hypot(0.3, 0.1) - 2.0 * spared(0.15, math.atan(1.0 / 3.0))
    assert_close(aside.length, slant, rel=1e-9, why=EXACT)
    assert_close(aside.interpolate(0.5, normalized=True).coords[0], (1.0, 0.05), abs=1e-9, why="half way, half aside")
    short = eased(((0.0, 0.0), (0.2, 0.0), (0.2, 0.1), (0.5, 0.1)), 0.15)
    slant = 0.11 + math.hypot(0.225, 0.1) + 0.165 - 2.0 * spared(0.15, math.atan(0.1 / 0.225))
    assert_close(short.length, slant, rel=1e-9, why=EXACT)
    square = eased(((0.0, 0.0), (1.0, 0.0), (1.0, 0.4), (2.0, 0.4)), 0.15)
    assert_close(square.length, 2.4 - 2.0 * spared(0.15, 0.5 * math.pi), rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_an_inner_corner_is_filled_and_an_outer_one_is_not() -> None:
    """What a circle of 0.5 m leaves of the inner corner of an L: 0.25 x (1 - pi/4) m2."""
    shape = box(0, 0, 4, 4).difference(box(2, 2, 4, 4))
    told = filled(shape, 0.5)
    assert_close(told.area - shape.area, 0.25 * (1.0 - 0.25 * math.pi), rel=0.05, why="arcs of eight chords")
    assert_close(told.bounds, shape.bounds, abs=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize("turned", [False, True])
def test_an_area_is_cut_evenly_with_a_spacing_between(turned: bool) -> None:
    """6 x 2 m in three, the door in the middle of a long side: cut at 2 and 4 m, half of 0.3 m off on either side."""
    area, door = (box(0, 0, 2, 6), (0.0, 3.0)) if turned else (box(0, 0, 6, 2), (3.0, 0.0))
    told = split_even(area, 3, door, 0.3)
    want = [(0.0, 1.85), (2.15, 3.85), (4.15, 6.0)]
    got = [piece.bounds[1::2] if turned else piece.bounds[0::2] for piece in told]
    assert_close(sorted(got), want, abs=1e-9, why="halved forty times")
    assert_close([p.area for p in told], [2.0 * (b - a) for a, b in want], abs=1e-9, why=EXACT)
    assert split_even(area, 1, door, 0.3) == [area]
