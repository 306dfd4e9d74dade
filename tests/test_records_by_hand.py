"""Records, tubes, walls, the sun and samples by hand: what a retest proves, how near two tubes may lie."""

from __future__ import annotations

import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon, box

from inshell.climate.prepare import sun_positions
from inshell.design.comfort import Rooms
from inshell.design.head_year import ModeYear
from inshell.design.tube_field import Field, widening
from inshell.design.tube_lanes import Lanes
from inshell.design.tube_plan import TubeRun, _Floor, _Part
from inshell.house.geometry import derive
from inshell.house.geometry.walls import Placed, overlapping
from inshell.records.measured import read_measured
from inshell.records.seal_list import SealRecord
from inshell.study.outcome import Outcome
from inshell.study.sampling import _Work
from tests.evidence import assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
SEALED = {"done": "2026-05-09", "who": "A. Builder", "photo": "p1.jpg", "retested": "2026-05-10", "how": "smoke"}
PLAN = [
    {"id": "hall", "outline": rectangle(0, 0, 2, 4), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "den", "outline": rectangle(-2, 0.5, 0, 2.5), "ceiling": 2.5, "use": "bedroom"},
]


# ------------------------------------------------------------------------------------------------ records


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("change", "proved"),
    [({}, True), ({"retested": "2026-05-09"}, True), ({"retested": "2026-12-01", "how": "Infrared"}, True),
     ({"retested": "2026-05-08"}, False), ({"retested": "2025-12-31"}, False), ({"retested": ""}, False),
     ({"done": ""}, False), ({"photo": "None"}, False), ({"photo": ""}, False), ({"how": "failed"}, False),
     ({"how": ""}, False), ({"how": "test", "photo": "No"}, False), ({"how": "test", "who": ""}, True)],
)  # fmt: skip
def test_a_seal_is_proved_by_a_photo_and_a_retest_on_its_day_or_later(change: dict[str, str], proved: bool) -> None:
    """What was tested before it was sealed says nothing of the seal (common practice); one fact missing, no proof."""
    assert SealRecord("s", 3, {}, SEALED | change, {}).is_proved is proved


@pytest.mark.invariant
def test_a_line_with_too_many_cells_is_named_with_their_count(tmp_path: Path) -> None:
    """A decimal comma in two lines of the file: seven columns, eight and ten cells; the line between them is read,
    a blank one counts as a line."""
    fans = [{"id": f, "room": "hall", "rated_flow": "30 L/s"} for f in ("in", "out")]
    path = tmp_path / "flows.csv"
    path.write_text(
        "id,what,value,date,person,method,instrument\n"
        "in,flow,24,5 L/s,2026-05-09,A. Tester,hood on grille,h1\n"
        "in,flow,24.5 L/s,2026-05-09,A. Tester,hood on grille,h1\n"
        "\nout,flow,24,5 L/s,2026-05-09,A. Tester,hood on grille,h1,2,5\n",
        encoding="utf-8",
    )
    told, problems = read_measured(path, house(PLAN, fan=fans))
    assert [(p.where, p.found) for p in problems] == [
        ("flows.csv (line 2)", "8 cells"),
        ("flows.csv (line 5)", "10 cells"),
    ]
    assert {p.accepted.split(",")[0] for p in problems} == {"7 cells"}
    (value,) = told.values()
    assert_close(value.value_m3_s, 0.0245, rel=1e-12, why="24.5 litres")
    assert (value.device, value.what, value.date, value.person) == ("in", "flow", "2026-05-09", "A. Tester")
    assert (value.method, value.instrument) == ("hood on grille", "h1")


# ------------------------------------------------------------------------------------------------ walls and the sun


def window(name: str, along: tuple[float, float], up: tuple[float, float], turn_deg: float, back: bool) -> Placed:
    """A window on a wall that begins at (3, -2) and runs in one direction of the plan, drawn forth or back."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    ends = [(3.0 + c * a, -2.0 + s * a) for a in (along[::-1] if back else along)]
    return Placed(name, "window", "wall", (along[1] - along[0]) * (up[1] - up[0]), ends[0], ends[1], *up)


@pytest.mark.invariant
@pytest.mark.parametrize("turn", [0.0, 27.0, 90.0, 143.0, 180.0, 225.0, 270.0, 333.0])
@pytest.mark.parametrize("back", [False, True])
def test_windows_that_share_a_square_centimetre_lie_over_one_another(turn: float, back: bool) -> None:
    """1 m high, 0.09 mm in common: 0.9 cm2, a rounding of drawn lengths (common practice); 0.11 mm: 1.1 cm2. Above one
    another 0.5 m in common, 0.18 and 0.22 mm. The same whichever way their wall runs and they are drawn."""
    shapes = {"wall": box(0.0, 0.0, 6.0, 3.0)}
    for over, told in ((0.00009, False), (0.00011, True)):
        one = window("one", (1.0, 2.0), (0.8, 1.8), turn, back)
        beside = window("two", (2.0 - over, 2.7), (0.8, 1.8), turn, False)
        above = window("two", (1.5, 2.7), (1.8 - 2.0 * over, 2.4), turn, False)
        for two in (beside, above):
            found = overlapping([one, two], shapes)
            assert [(p.where, p.found) for p in found] == [("window.one", "lies over window two on wall wall")] * told


def spencer(hour: np.ndarray, latitude: float, longitude: float) -> tuple[np.ndarray, np.ndarray]:
    """Direction to the sun (east, north, up), and the beam above the air over its mean, by hours of universal time."""
    b = 2.0 * np.pi * hour / 8760.0
    declination = (
        0.006918 - 0.399912 * np.cos(b) + 0.070257 * np.sin(b) - 0.006758 * np.cos(2 * b) + 0.000907 * np.sin(2 * b)
        - 0.002697 * np.cos(3 * b) + 0.00148 * np.sin(3 * b)
    )  # fmt: skip
    minutes = 229.18 * (
        0.000075 + 0.001868 * np.cos(b) - 0.032077 * np.sin(b) - 0.014615 * np.cos(2 * b) - 0.04089 * np.sin(2 * b)
    )
    turn, north = np.radians(15.0 * (hour - 12.0) + longitude + 0.25 * minutes), math.radians(latitude)
    across = np.cos(declination) * np.cos(turn)
    way = (
        -np.cos(declination) * np.sin(turn),
        np.sin(declination) * math.cos(north) - across * math.sin(north),
        np.sin(declination) * math.sin(north) + across * math.cos(north),
    )
    beam = 1.00011 + 0.034221 * np.cos(b) + 0.00128 * np.sin(b) + 0.000719 * np.cos(2 * b) + 0.000077 * np.sin(2 * b)
    return np.array(way), beam


@pytest.mark.published
@pytest.mark.parametrize(
    ("latitude", "longitude", "offset"), [(40.0, -80.0, -5.0), (-35.0, 149.0, 10.0), (28.0, 84.0, 5.75)]
)
def test_the_sun_of_a_year_by_the_clock_of_its_place(latitude: float, longitude: float, offset: float) -> None:
    """Spencer's series of 1971 for declination, equation of time and distance (as in Duffie & Beckman, from memory).

    Row k is the middle of the hour from k on by the clock of the place: k + 0.5 - offset of universal time.
    """
    zenith, azimuth, extra = sun_positions(latitude, longitude, 700.0, offset)
    want, beam = spencer(np.arange(8760) + 0.5 - offset, latitude, longitude)
    up, flat = np.cos(np.radians(zenith)), np.sin(np.radians(zenith))
    got = np.array([flat * np.sin(np.radians(azimuth)), flat * np.cos(np.radians(azimuth)), up])
    seen = want[2] > math.sin(math.radians(10.0))
    assert seen.sum() > 3000
    apart = np.degrees(np.arccos(np.clip((got * want).sum(axis=0)[seen], -1.0, 1.0)))
    assert_close(
        apart, np.zeros(seen.sum()), abs=0.35, why="series 0.2 degrees in time, 0.04 in height; refraction 0.1"
    )
    assert_close(extra, 1367.0 * beam, rel=2e-3, why="1366 or 1367 W/m2; steps by whole days")


# ------------------------------------------------------------------------------------------------ samples


@pytest.mark.analytic
def test_a_room_is_told_by_its_greatest_distance_from_the_main_room_with_its_sign() -> None:
    """Main room 20, 21, 23; one room 18, 22, 22: -2, 1, -1; another 20.5, 21.5, 26: 0.5, 0.5, 3. Each its worst."""
    rooms = SimpleNamespace(routes=SimpleNamespace(network=SimpleNamespace(rooms=("bed", "main", "den"))))
    work: Any = SimpleNamespace(ready=SimpleNamespace(year=(rooms, None), main="main"))
    air = np.array([[18.0, 20.0, 20.5], [22.0, 21.0, 21.5], [22.0, 23.0, 26.0]])
    assert_close(_Work._offset(work, Rooms(air)), [-2.0, 0.0, 3.0], abs=1e-12, why=EXACT)


def outcome(heads: tuple[float | None, ...], heater: float) -> Outcome:
    """A year of which the heads' electricity and the heaters' alone matter."""
    years = tuple(ModeYear("u", ("h",), "heating", 900.0, 1500.0, 0.0, 0.0, 0.0, 0.0, kwh) for kwh in heads)
    return Outcome({}, {}, {}, years, 0.0, 0.0, 55.0, heater)


@pytest.mark.analytic
def test_electricity_is_that_of_every_head_and_of_the_heaters() -> None:
    """310 + 470 + 85 kWh; where one head's data sheet says nothing, nothing is known of the sum."""
    assert_close(outcome((310.0, 470.0), 85.0).electric_kwh, 865.0, rel=1e-12, why=EXACT)
    assert outcome((310.0, None), 85.0).electric_kwh is None
    assert (outcome((), 85.0).electric_kwh, outcome((), 0.0).electric_kwh) == (85.0, None)


# ------------------------------------------------------------------------------------------------ floor tubes


@pytest.mark.analytic
@pytest.mark.parametrize(("length", "step"), [(0.2, 0.3), (0.45, 0.6)])
def test_a_line_too_short_to_widen_is_as_wide_as_the_spacing(length: float, step: float) -> None:
    """0.12 of it would be 24 of 300 mm or 54 of 600, less than a tenth: a strip with half a circle at either end."""
    shape = widening(LineString([(0.0, 0.0), (length, 0.0)]), 0.0, 0.0508, step)
    assert_close(shape.bounds, (-0.5 * step, -0.5 * step, length + 0.5 * step, 0.5 * step), abs=1e-9, why=EXACT)
    ends = 20.0 * math.sin(math.radians(9.0)) * (0.5 * step) ** 2
    assert_close(shape.area, length * step + ends, rel=1e-9, why="a circle of forty chords")
    led = widening(LineString([(-1.0, 0.0), (length, 0.0)]), 1.0, 0.0508, step)
    narrow = led.intersection(box(-1.0, -1.0, -0.5 * step, 1.0))
    assert_close(narrow.bounds, (-1.0, -0.0254, -0.5 * step, 0.0254), abs=1e-9, why="a leader keeps its gap")


def floor_of(wide: float) -> tuple[_Floor, Any]:
    """A hall with a den west of it and a bedroom 3 m deep and so wide east of it, on one circuit of 1/2 in tube."""
    bed = {"id": "bed", "outline": rectangle(2, 0.6, 2.0 + wide, 3.6), "ceiling": 2.5, "use": "bedroom"}
    doors = [{"id": f"d-{room}", "between": ["hall", room], "width": 0.8} for room in ("den", "bed")]
    manifold = {"id": "m", "room": "hall", "position": [0.6, 0.5]}
    circuit = {"id": "c", "rooms": ["bed", "den"], "manifold": "m", "spacing": "0.1 m", "depth": "5 cm"}
    floor = {"wall_clearance": "0.15 m"}
    one = house([*PLAN, bed], door=doors, manifold=[manifold], circuit=[circuit], floor=floor)
    return _Floor(one, derive(one), one.manifold[0], list(one.circuit), {}, []), one.circuit[0]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("limits", "loops"), [(0.999, 1), (1.001, 2), (1.999, 2), (2.001, 3), (4.999, 5), (5.001, 6), (7.5, 6)]
)
def test_a_circuit_begins_with_as_many_loops_as_its_length_asks(limits: float, loops: int) -> None:
    """300 ft a loop (CSA B214): floor over the spacing of 0.1 m, and there and back to the farther door.

    Clear of walls by 0.15 m, of the partition's middle by 0.2 m: the den is 1.65 x 1.7 m, the bedroom 2.7 m deep. From
    the hall's middle (1, 2) the den's door is at (0, 1.5), the bedroom's at (2, 2.1). Six loops are the most.
    """
    tube = limits * 300.0 * 0.3048 - 2.0 * math.hypot(1.0, 0.5) - 1.65 * 1.7 / 0.1
    floor, circuit = floor_of(0.35 + tube * 0.1 / 2.7)
    assert floor._count(circuit) == loops


def straight(name: str, y: float) -> TubeRun:
    return TubeRun(name, name, LineString([(0.0, y), (5.0, y)]), (), {}, {}, 0.2, 0.0, 1.0)


@pytest.mark.invariant
def test_tubes_of_two_circuits_keep_a_diameter_and_a_fifth_apart() -> None:
    """Tube of 17 mm, 51 mm between supply and return: axes 17 mm apart touch. 0.4 of the gap is 20.4 mm: 20 mm is too
    near, 21 mm is not. Tube in what stays free, without a way or without a field is told too."""
    runs: dict[str, TubeRun | str] = {
        "a": straight("a", 0.0), "near": straight("near", 0.020), "b": straight("b", 0.021),
        "c": straight("c", 0.042), "tub": straight("tub", 1.0), "small": "no field fits",
    }  # fmt: skip
    beside: dict[str, int] = {}

    def laid(part: _Part, _: Lanes, others: list[LineString]) -> TubeRun | str:
        beside[part.id] = len(others)
        return runs[part.id]

    floor: Any = SimpleNamespace(gap_m=0.051, keep_out=box(1.0, 0.9, 2.0, 1.1), _run=laid)
    lanes = {name: Lanes(name, (((0.0, 0.0), (1.0, k)), ((0.5, 0.5),)), ()) for k, name in enumerate(runs)}
    parts = [_Part(name, SimpleNamespace(), ()) for name in (*runs, "lost")]
    kept, lost = _Floor._runs(floor, parts, lanes)
    assert [run.id for run in kept] == ["a", "b", "c"]
    assert set(lost) == {"near", "tub", "small", "lost"}
    assert lost["near"].endswith("meet that of a")
    assert "must stay free" in lost["tub"]
    assert (lost["small"], beside) == ("no field fits", dict.fromkeys(runs, 5))
    assert "no way" in lost["lost"]


@pytest.mark.invariant
@pytest.mark.parametrize("turn", [False, True])
def test_tube_outside_its_field_stays_within_a_gap_of_its_leader(turn: bool) -> None:
    """A band four gaps wide from a manifold 1 m before its area. Lanes lie two gaps apart, so a tube further than one
    gap from its own may meet its neighbour; nearer than half a gap, supply and return are too near one another.

    Within its area it is as wide as its band; it ends half a gap on either side of its leader.
    """
    gap, way = 0.05, ((2.0, -1.0), (2.0, -0.3))
    area, band = box(0.0, 0.0, 4.0, 3.0), box(1.9, -1.0, 2.1, 2.0)
    if turn:
        area, band = (Polygon([(y, x) for x, y in shape.exterior.coords]) for shape in (area, band))
        way = ((-1.0, 2.0), (-0.3, 2.0))
    field = Field((), 0.2, band, 0.0, Polygon(), way)
    floor: Any = SimpleNamespace(gap_m=gap, free=Polygon())
    tube = _Floor._tube(floor, {"r": (area, field, way[-1])}, [LineString(way)], way, 0.1, Polygon())
    assert tube is not None
    points = np.array(tube.coords)[:, ::-1] if turn else np.array(tube.coords)
    tube = LineString(points)
    ends = sorted((points[0].tolist(), points[-1].tolist()))
    assert_close(ends, [(1.975, -1.0), (2.025, -1.0)], abs=1e-6, why=EXACT)
    for y in (-0.9, -0.6, -0.35, -0.2):
        here = tube.intersection(LineString([(0.0, y), (4.0, y)]))
        off = sorted(point.x - 2.0 for point in here.geoms)
        assert len(off) == 2
        assert_close(off[0], -off[1], abs=1e-9, why="either side alike")
        assert 0.5 * gap <= off[1] < gap, y
    inside = sorted(point.x for point in tube.intersection(LineString([(0.0, 1.0), (4.0, 1.0)])).geoms)
    assert_close(inside, (1.9, 2.1), abs=1e-9, why="its band")
