"""Choices and what follows from them by hand: hours of sleep, set points, ways to warm a house, clearance between tubes of two
manifolds, coverings between their bounds, the edge of a slab, and strips of skin at a leak."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, Literal, cast

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon, box

from inshell.design import floor_ways, vapour_layers
from inshell.design.breathing import night_hours
from inshell.design.leak_skins import Air, _acting, _Board, _Strips
from inshell.design.skin_cases import CASES
from inshell.design.slab_strips import slab_strips
from inshell.design.tube_plan import _Floor
from inshell.design.tube_shapes import opened_at
from inshell.design.year_run import _wanders
from inshell.house.geometry import derive
from inshell.physics.vapour import VapourLayer
from inshell.study.remedies import remedies_of
from tests.evidence import assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
ROOM: dict[str, Any] = {"id": "a", "outline": rectangle(0, 0, 10, 8), "ceiling": 2.5}


# ------------------------------------------------------------------------------------------------ nights


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("spans", "hours"),
    [
        ([], {22, 23, 0, 1, 2, 3, 4, 5}),
        ([("22:30", "6:30")], {22, 23, 0, 1, 2, 3, 4, 5}),
        ([("21:45", "5:15")], {22, 23, 0, 1, 2, 3, 4}),
        ([("21:15", "4:45")], {21, 22, 23, 0, 1, 2, 3, 4}),
        ([("13:30", "15:30"), ("23:45", "2:00")], {13, 14, 0, 1}),
    ],
)
def test_an_hour_is_slept_if_its_middle_is(spans: list[tuple[str, str]], hours: set[int]) -> None:
    """The hour from 22 to 23 has its middle at 22:30: who sleeps from 22:30 on sleeps in it, who gets up at 6:30 does
    not in the one from 6 to 7. Where nobody is described it is 22 to 6; of several people any will do."""
    person = [
        {"id": f"p-{k}", "sleeps_in": "a", "asleep_from": start, "asleep_to": end}
        for k, (start, end) in enumerate(spans)
    ]
    assert night_hours(house([ROOM], person=person)) == sorted(hours)


# ------------------------------------------------------------------------------------------------ set points


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("cooling", "own", "rows", "heat_c", "cool_c"),
    [
        ("25 °C", None, [], 21.0, 24.0),
        ("22 °C", None, [], 20.8, 21.2),
        ("25 °C", "24 °C", [], 20.4, 24.6),
        ("25 °C", None, [("heat-to", "23.5 °C")], 20.6, 24.4),
        ("25 °C", None, [("cool-to", "21 °C")], 20.4, 24.6),
        ("20.4 °C", None, [], None, None),
    ],
)
def test_set_points_move_no_further_than_they_lie_apart(
    cooling: str, own: str | None, rows: list[tuple[str, str]], heat_c: float | None, cool_c: float | None
) -> None:
    """A kelvin both ways, or 0.4 of what is left between the warmest heating and the coolest cooling told anywhere (2, 1,
    1.5, 1 K); under a fifth of a kelvin there is no such remedy (0.16 K)."""
    room = ROOM | ({"heating_set_point": own} if own else {})
    control = [
        {"id": f"k{k}", "target": "a", "does": does, "set_point": point, "from": "01:00", "to": "02:00"}
        for k, (does, point) in enumerate(rows)
    ]
    points = {"heating_set_point": "20 °C", "cooling_set_point": cooling}
    one = house([room], head=[{"id": "h", "room": "a"}], household=points, control=control)
    made = {remedy.id: remedy for remedy in remedies_of(one, "a", "a")}
    assert ("set-points" in made) is (heat_c is not None)
    if heat_c is not None:
        moved = made["set-points"].house.household
        assert_close((moved.heating_set_point_c, moved.cooling_set_point_c), (heat_c, cool_c), rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ ways to warm a house


@pytest.mark.analytic
def test_ways_to_warm_a_house_cost_what_their_heat_and_their_pieces_cost(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two loops give 1,500 W for an hour and 1,000 W for another: 2.5 kWh, of gas 2.5/0.8 at 0.10, 1,875 W at most; two
    loops at 700. Resistance, what it takes out being no heat: 1,200 and 850 W, 2.05 kWh at 0.30; two circuits warm
    three rooms, one heater each at 150. The floor's year does not tell of room c: it is not asked how cold it gets."""
    rooms = [ROOM | {"id": name, "outline": rectangle(5 * k, 0, 5 * k + 5, 4)} for k, name in enumerate("abc")]
    rooms[1]["heating_set_point"] = "18 °C"
    circuit = {"manifold": "m", "spacing": "0.2 m"}
    one = house(
        rooms, household={"heating_set_point": "20 °C"}, manifold=[{"id": "m", "room": "a", "position": [1, 1]}],
        circuit=[{"id": "one", "rooms": ["a", "b"]} | circuit, {"id": "two", "rooms": ["b", "c"]} | circuit],
        prices={"electricity_kwh": 0.3, "fuel_kwh": 0.1, "floor_loop": 700.0, "room_heater": 150.0},
    )  # fmt: skip
    asked = []

    def year_run(*_: object, makers: str, **__: object) -> SimpleNamespace:
        asked.append(makers)
        watts = np.array([[900.0, -50.0, 300.0], [400.0, 200.0, 250.0]])
        air = np.array([[18.9, 17.5, 10.0], [18.8, 16.9, 10.0]])
        return SimpleNamespace(heat_w=watts, rooms=("a", "b", "c"), room_c=air)

    monkeypatch.setattr(floor_ways, "calculate_year", year_run)
    heat = SimpleNamespace(loops=tuple(SimpleNamespace(run=SimpleNamespace(areas={name: None})) for name in "ab"))
    year = SimpleNamespace(
        rooms=(SimpleNamespace(room="a", hours_cold=3), SimpleNamespace(room="b", hours_cold=7)),
        loop_w=np.array([[1000.0, 500.0], [700.0, 300.0]]),
    )
    source = SimpleNamespace(heater=SimpleNamespace(kind="tankless", fuel="gas"), efficiency=0.8)
    nothing = cast(Any, None)
    tubes, plain = floor_ways.calculate_ways(
        one, nothing, nothing, cast(Any, heat), nothing, cast(Any, source), cast(Any, year)
    )
    assert asked == ["all"]
    assert (tubes.coldest_room, tubes.hours_cold, tubes.electric_kwh) == ("b", 7, None)
    got = (tubes.heat_kwh, tubes.fuel_kwh, tubes.peak_input_w, tubes.running, tubes.first)
    assert_close(got, (2.5, 3.125, 1875.0, 0.3125, 1400.0), rel=1e-12, why=EXACT)
    assert (plain.coldest_room, plain.hours_cold, plain.fuel_kwh) == ("a", 2, None)
    got = (plain.heat_kwh, plain.electric_kwh, plain.peak_input_w, plain.running, plain.first)
    assert_close(got, (2.05, 2.05, 1200.0, 0.615, 450.0), rel=1e-12, why=EXACT)


# ------------------------------------------------------------------------------------------------ tubes


@pytest.mark.analytic
@pytest.mark.parametrize("first", range(4))
def test_the_smallest_outline_loses_its_end_at_the_manifold_and_keeps_its_way_round(first: int) -> None:
    """A stub as long as it is wide, 0.06 m: its end at the manifold is one side, 0.06 m; the three others are left,
    whichever corner the outline is told from."""
    corners = [(0.03, 0.0), (0.03, 0.06), (-0.03, 0.06), (-0.03, 0.0)]
    ring = LineString([*corners[first:], *corners[:first], corners[first]])
    told = opened_at(ring, np.array([0.0, 0.0]), np.array([0.0, 0.5]), 0.03)
    assert_close(told.length, 0.18, rel=1e-9, why=EXACT)
    assert_close(sorted([told.coords[0], told.coords[-1]]), [(-0.03, 0.0), (0.03, 0.0)], abs=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize(("tube", "gap_m"), [("1/2", 0.0508), ("3/4", 0.066675)])
def test_tube_keeps_two_gaps_off_the_loops_of_another_manifold(tube: str, gap_m: float) -> None:
    """A loop round 2 x 1 m lies there already. Twice the gap (three outer diameters, 2 in at least) round it is taken:
    2 x 1 m, its outline of 6 m times that, and a circle of it at the corners."""
    one = house(
        [ROOM], manifold=[{"id": "m", "room": "a", "position": [1.0, 1.0]}], floor={"wall_clearance": "0.15 m"},
        circuit=[{"id": "c", "rooms": ["a"], "manifold": "m", "spacing": "0.2 m", "tube": tube}],
    )  # fmt: skip
    lies: Any = SimpleNamespace(tube=LineString(box(4.0, 3.0, 6.0, 4.0).exterior.coords))
    bare, floor = (
        _Floor(one, derive(one), one.manifold[0], list(one.circuit), {}, runs) for runs in ([], cast(Any, [lies]))
    )
    off = 2.0 * gap_m
    want = 2.0 + 6.0 * off + math.pi * off**2
    assert_close(bare.heated["a"].area, 9.7 * 7.7, rel=1e-12, why="0.15 m off every wall")
    for less, whole in ((floor.heated["a"], bare.heated["a"]), (floor.free, bare.free)):
        assert_close(whole.area - less.area, want, abs=2e-4, why="corners in chords: 1/600 of their circle")
        hole = Polygon(cast(Polygon, less).interiors[0])
        bounds = (4.0 - off, 3.0 - off, 6.0 + off, 4.0 + off)
        assert_close(hole.bounds, bounds, abs=1e-9, why="two gaps to every side")


# ------------------------------------------------------------------------------------------------ vapour


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("kind", "least", "middle", "most"),
    [("wall", 0.2, 0.7, 3.0), ("roof", 1.5, 11.0, 40.0), ("ceiling", 1.5, 11.0, 40.0)],
)
def test_a_covering_is_tight_at_the_worse_bound_and_open_at_the_better(
    monkeypatch: pytest.MonkeyPatch, kind: str, least: float, middle: float, most: float
) -> None:
    """What keeps water in from outside is worse the tighter it is. It lies outermost and holds no heat; what it covers
    stays as it is. One without any resistance counts as 0.1 mm of air."""
    rows = {"wall": {"x": [0.2, 0.7, 3.0], "thin": [0.0, 0.0, 0.0]}, "roof": {"x": [1.5, 11.0, 40.0]}}
    monkeypatch.setattr(vapour_layers, "table", lambda _: {"covering": rows})
    below = (VapourLayer(0.1, 2.5), VapourLayer(4.0, 0.3))
    assembly: Any = SimpleNamespace(covering="x")
    bounds: tuple[tuple[Literal["worse", "middle", "better"], float], ...]
    bounds = (("worse", most), ("middle", middle), ("better", least))
    for bound, sd_m in bounds:
        told = vapour_layers.with_covering(below, assembly, kind, bound)
        assert told == (VapourLayer(0.0, sd_m), *below)
    thin: Any = SimpleNamespace(covering="thin")
    assert vapour_layers.with_covering(below, thin, "wall", "worse")[0] == VapourLayer(0.0, 1e-4)


# ------------------------------------------------------------------------------------------------ the edge of a slab


@pytest.mark.analytic
@pytest.mark.parametrize(("across", "bound"), [((10.0, 8.0), False), ((40.0, 40.0), True)])
def test_the_edge_of_a_slab_loses_by_its_arcs_but_no_more_than_its_floor_lets_through(
    across: tuple[float, float], bound: bool
) -> None:
    """ISO 13370 (from memory) on sand of 2 W/mK: R 0.05 of concrete, 1.6 below, 0.04 above, surfaces 0.17 and 0.04,
    1.9 m2K/W in all; dt = 0.2 + 2 x 1.9 = 4 m. U = 2 x 2/(pi B' + 4) ln(pi B'/4 + 1), B' = A over half of P.

    The metre along the wall loses by the mean of 1/(4 + pi x) over 0 to 1, the rest by that over 1 to B'; together they
    lose A U. On the large slab that would be more than 1/1.9 for the edge, which no floor of 1.9 m2K/W lets through.
    """
    x, y = across
    slab = {"id": "s", "thickness": "0.09 m", "conductivity": 1.8, "under_r": 1.6, "covering_r": 0.04}
    one = house(
        [ROOM | {"outline": rectangle(0, 0, x, y)}],
        slab=[slab],
        site={"latitude": 40, "longitude": -80, "soil": "sand"},
    )
    (strip,) = slab_strips(one, derive(one)).values()
    area, reach = x * y, x * y / (x + y)
    behind = (x - 2.0) * (y - 2.0)
    u = 4.0 / (math.pi * reach + 4.0) * math.log(math.pi * reach / 4.0 + 1.0)
    near = math.log((4.0 + math.pi) / 4.0)
    far = math.log((4.0 + math.pi * reach) / (4.0 + math.pi)) / (reach - 1.0)
    by_arcs = u * area * near / (near * (area - behind) + far * behind)
    assert (by_arcs > 1.0 / 1.9) is bound
    edge = min(by_arcs, 1.0 / 1.9)
    assert_close((strip.edge_m2, strip.behind_m2), (area - behind, behind), rel=1e-9, why=EXACT)
    assert_close(strip.edge_u_w_m2k, edge, rel=1e-9, why=EXACT)
    assert_close(strip.behind_u_w_m2k, (u * area - edge * (area - behind)) / behind, rel=1e-9, why="the rest of A U")


# ------------------------------------------------------------------------------------------------ skins at leaks


def strips() -> _Strips:
    """Two metres of a joint at which air of 20 °C goes out under 16 Pa, then air of 4 °C comes in under 4 Pa."""
    drop, kg_m3, vapour = np.array([16.0, -4.0]), np.full(2, 1.28), np.full(2, 400.0)
    air = Air(drop, np.full(2, 20.0), np.full(2, 900.0), np.array([-6.0, 4.0]), vapour, kg_m3)
    share: Any = SimpleNamespace(
        place=SimpleNamespace(size=2.0), best_m2=0.004, least_m2=0.001, most_m2=0.009, half_way_m2=0.006
    )
    board = _Board("osb", 10.0, 2e-10, np.array([3e-10, 4e-10, 7e-10]), 3.0)
    ready: Any = SimpleNamespace(system=SimpleNamespace(pressure_pa=1e5))
    return _acting(ready, share, air, board, np.array([5.0, 2.5]), 0.5, (1, 2.0, 3.0, 4.0))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("case", "width", "touches", "colder"),
    [
        ("central", 0.3, 0.0064, 0.0),
        ("strip 0.1 m", 0.1, 0.0064, 0.0),
        ("strip 1 m", 1.0, 0.0064, 0.0),
        ("catch 0.2", 0.3, 0.00256, 0.0),
        ("catch 1", 0.3, 0.0128, 0.0),
        ("least leakage", 0.3, 0.0016, 0.0),
        ("most leakage", 0.3, 0.0144, 0.0),
        ("leakage half way", 0.3, 0.0096, 0.0),
        ("wet year", 0.3, 0.0064, 1.0),
        ("all harsh, most leakage", 0.1, 0.0288, 1.0),
    ],
)
def test_a_skin_at_a_leak_lies_between_its_own_temperature_and_the_air_that_passes(
    case: str, width: float, touches: float, colder: float
) -> None:
    """A metre of strip is held by 25 W/m2K outside and 3 inside, and by the air that touches it, 1006 J/kgK.

    Air of 1.28 kg/m3 through 1 m2 at 4 Pa: sqrt(8/1.28) x 1.28 = 3.2 kg/s, at 16 Pa (exponent 0.5) 6.4; 20 cm2 a metre
    pass 0.0128 kg/s, half of it at the skin; back comes half as much, of the air outdoors.
    """
    told, k = strips(), [c.name for c in CASES].index(case)
    stays = width * 28.0
    want = [
        (stays * (skin - colder) + 1006.0 * kg_s * air) / (stays + 1006.0 * kg_s)
        for skin, kg_s, air in ((5.0, touches, 20.0), (2.5, 0.5 * touches, 4.0))
    ]
    assert_close(told.touches_kg_s[:, k], [touches, 0.5 * touches], rel=1e-12, why=EXACT)
    assert_close(told.skin_c[:, k], want, rel=1e-12, why=EXACT)
    assert_close((told.dry_kg[k], told.inside_kg_s_pa[k]), (10.0 * width, 2e-10 * width), rel=1e-12, why=EXACT)
    assert told.outward[:, k].tolist() == [True, False]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("case", "inside", "outside", "board"),
    [
        ("central", 900.0, (400.0, 400.0), 4e-10 * 0.3),
        ("wet household", 1150.0, (400.0, 400.0), 4e-10 * 0.3),
        ("wet year", 920.0, (400.0, 420.0), 4e-10 * 0.3),
        ("open covering", 900.0, (400.0, 400.0), 3e-10 * 0.3),
        ("tight covering", 900.0, (400.0, 400.0), 7e-10 * 0.3),
        ("all harsh, best leakage", 1170.0, (400.0, 420.0), 7e-10 * 0.1),
    ],
)
def test_vapour_on_both_sides_of_a_skin(case: str, inside: float, outside: tuple[float, float], board: float) -> None:
    """Indoors 500 Pa above 400 outdoors, half as much again in a wet household; in a wet year 5 % more outdoors, but
    no more than air of -6 °C holds (368 Pa) or the year itself has. What leaks out carries the one, what leaks in the
    other: 0.621945 p/(1e5 - 0.378055 p) of its mass."""
    told, k = strips(), [c.name for c in CASES].index(case)
    assert_close(told.inside_pa[:, k], (inside, inside), rel=1e-12, why=EXACT)
    assert_close(told.outside_pa[:, k], outside, rel=1e-12, why=EXACT)
    want = [0.621945 * p / (1e5 - 0.378055 * p) for p in (inside, outside[1])]
    assert_close(told.vapour[:, k], want, rel=1e-9, why=EXACT)
    assert_close(told.outside_kg_s_pa[k], board, rel=1e-12, why=EXACT)


# ------------------------------------------------------------------------------------------------ a house that hunts


@pytest.mark.analytic
def test_a_house_that_never_rests_must_wander_about_one_mean() -> None:
    """A hundred repetitions that scatter by 2 K have one mean in both halves; a rise of 6 K among them shows (halves 3 K
    apart, three sigma of means of fifty 3 x 2.6 x 0.2 = 1.6 K); ten too few show nothing; a step of 0.3 K that nothing
    scatters shows as well (0.05 + 3 x 0.15 x 0.2 = 0.14 K)."""
    dice = np.random.default_rng(3)
    scatter = dice.normal(20.0, 2.0, (100, 5))
    rise = np.linspace(0.0, 4.0, 100)[:, None]
    assert _wanders(scatter)
    assert not _wanders(scatter + 1.5 * rise)
    assert not _wanders(scatter[10:])
    assert not _wanders(np.repeat([[20.0], [20.3]], 50, axis=0))
    assert _wanders(np.full((100, 3), 20.0))
