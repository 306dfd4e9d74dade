"""A warm floor's room, rooms that follow, held walls, coverings, walls that cut a corner, fans at their base, fans
through a week, heads as described, heads on one outdoor unit: worked by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from shapely.geometry import LineString, box

from inshell.design.cooling_load import _Periodic
from inshell.design.floor_heat import Build, LoopHeat, _Day, _Facts
from inshell.design.head_year import ModeYear
from inshell.design.heads import heads_of
from inshell.design.room_days import Season, _settles_h
from inshell.design.run_time import ALL, HouseTime, Side, calculate_house_time
from inshell.design.tube_plan import TubePlan, TubeRun
from inshell.design.vapour_layers import covering_sd_m
from inshell.house.geometry import derive
from inshell.house.model.air_devices import Fan
from inshell.house.model.house import House
from inshell.network.fans import base_curve
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.routes import Facing, routes_of
from inshell.network.system import Forcing, System, first_state
from inshell.network.thermal import ThermalNetwork
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.slab_cell import SlabCell
from inshell.study.trying import Option, try_options
from tests.evidence import assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]


# ------------------------------------------------------------------------------------------------ a warm floor


def tubes(name: str, areas: dict[str, Any], passes: dict[str, float]) -> TubeRun:
    return TubeRun(name, name, LineString([(0.0, 0.0), (60.0, 0.0)]), (), passes, areas, 0.2, 0.0, 0.1)


def water_of(run: TubeRun, strip: Build, room_c: float, mean_c: float) -> LoopHeat:
    """A loop that cools to 1/e of its excess over the room: its logarithmic mean is (1 - 1/e) of that excess."""
    near = (mean_c - room_c) / (1.0 - 1.0 / math.e)
    return LoopHeat(run, cast(Any, None), room_c + near, room_c + near / math.e, 1e-4, 0.0, 0.0, 0.0, strip, run.passes)


def warm_floor() -> tuple[_Day, tuple[LoopHeat, ...]]:
    """Room `a` of 12 m2 with 10 m2 of field, through which 6 m of leaders pass to a loop of `b`."""
    field = Build(SlabCell(4.0, 0.4, 1.25), 0.2, 0.1, 0.2, 2.0, 0.0)
    strip = Build(SlabCell(4.0, 0.4, 1.1), 0.1, 0.12, 0.2, 2.0, 0.0)
    mine, other = tubes("c", {"a": box(0, 0, 5, 2)}, {}), tubes("k", {"b": box(6, 0, 9, 2)}, {"a": 6.0})
    day = object.__new__(_Day)
    day.house, day.plan = house(TWO, floor={"drop": "6 K"}), TubePlan((mine, other), {}, {}, {}, 0.1)
    day.builds, day.strips = {"c": field, "k": field}, {"c": strip, "k": strip}
    day.facts = {"a": _Facts(20.0, 900.0, 60.0, 12.0, 10.0), "b": _Facts(18.0, 300.0, 30.0, 9.0, 10.0)}
    return day, (water_of(mine, strip, 20.0, 32.9), water_of(other, strip, 18.0, 28.9))


@pytest.mark.analytic
def test_a_room_gets_its_field_and_the_leaders_that_pass() -> None:
    """Over 20 °C, above 0.2 and below 2 m2K/W to 10 °C. Field: water 32.9, core 28 (40 W/m2 up, 9 down, 4.9 K over
    0.1 m2K/W), 400 W. Leaders: 6 m x 0.1 m and 0.18 m x 3 m beside make 1.14 m2; water 28.9, core 25, 25 W/m2, 28.5 W.

    Asked: 900 - 60 x 10/12 = 850 W; at 40.2 - 3 the leaders would give 50 W/m2, so the field 79.3, core 35.86,
    12.93 down, water 35.86 + 9.223. Surface by EN 1264-2: 8.92 dt^1.1, at most 29 °C over the tube (1.25 of the mean):
    782 W and the leaders.
    """
    day, loops = warm_floor()
    got = day.room("a", loops, 40.2)
    assert_close((got.room_c, got.area_m2, got.ground_loss_w), (20.0, 10.0, 60.0), rel=1e-12, why=EXACT)
    assert_close((got.flux_w_m2, got.leader_w, got.gives_w), (40.0, 28.5, 428.5), rel=1e-9, why=EXACT)
    assert_close((got.asks_w, got.water_c), (850.0, 45.083), rel=1e-9, why=EXACT)
    excess = (40.0 / 8.92) ** (1.0 / 1.1)
    assert_close((got.surface_c, got.hottest_c), (20.0 + excess, 20.0 + 1.25 * excess), rel=1e-9, why=EXACT)
    assert_close((got.limit_c, got.limit_w), (29.0, 10.0 * 8.92 * (9.0 / 1.25) ** 1.1 + 28.5), rel=1e-9, why=EXACT)
    assert (got.is_short, got.is_cold, got.is_hot) == (True, True, False)


@pytest.mark.invariant
def test_what_rooms_get_is_what_loops_give() -> None:
    """The sum over rooms is the sum over loops, whatever passes through whichever room."""
    day, loops = warm_floor()
    rooms = sum(day.room(name, loops, 40.2).gives_w for name in ("a", "b"))
    given = sum(day._gives(one.run, mean)[0] for one, mean in zip(loops, (32.9, 28.9), strict=True))
    assert_close(rooms, given, rel=1e-9, why="nothing is lost between them")


# ------------------------------------------------------------------------------------------------ rooms that follow


def still_rooms(hours_of: tuple[float, ...], ua_w_k: float) -> System:
    """Rooms apart from one another, each a mass that follows the outdoors with a time constant."""
    thermal = ThermalNetwork(rooms=len(hours_of), boundaries=1)
    for k, hours in enumerate(hours_of):
        thermal.node(hours * 3600.0 * ua_w_k)
        thermal.face(k, 0, ua_w_k)
    count, names = len(hours_of), tuple(f"r{k}" for k in range(len(hours_of)))
    links = tuple(Link(f"c{k}", LinkKind.CRACK, k, count, coefficient_m3_s_pan=1e-6) for k in range(count))
    return System(
        thermal=thermal, air=AirNetwork(names, links), mass_kg=np.full(count, 40.0), buffer_kg=np.zeros(count),
        buffer_kg_s_pa=np.zeros(count), pressure_pa=101325.0, radiant=tuple(range(count)),
    )  # fmt: skip


def still_day(system: System, outdoor_c: float, source_w: np.ndarray) -> Forcing:
    rooms, links = system.rooms, len(system.air.links)
    nothing, unheld = np.zeros((24, rooms)), np.full((24, rooms), np.nan)
    return Forcing(
        outdoor_c=np.full(24, outdoor_c), outdoor_vapour=np.full(24, 0.002), boundary_c=np.full((24, 1), outdoor_c),
        source_w=np.tile(source_w, (24, 1)), vapour_kg_s=nothing, gas_kg_s=nothing, wind_pa=np.zeros((24, links)),
        route_share=np.ones((24, links)), heat_at_c=unheld, cool_at_c=unheld, most_w=nothing + 1e7,
        least_w=nothing - 1e7, permit=np.zeros((24, 0)),
    )  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("season", ["heating", "cooling"])
@pytest.mark.parametrize("slot_s", [200.0, 600.0])
def test_a_room_follows_after_so_much_of_its_time_constant(season: Season, slot_s: float) -> None:
    """3 exp(-t/T) = 0.5 K at t = T ln 6: 5 h follow after 8.96 h, 12 h after 21.50 h, 60 h (107.5 h) not within 96 h;
    a room of 53 h after 94.96 h. Each about its own goal, outdoors and what its source adds."""
    constants, outdoor, sources = (5.0, 12.0, 60.0, 53.0), 10.0, np.array([0.0, 60.0, 20.0, 100.0])
    system = still_rooms(constants, 20.0)
    goal = outdoor + sources / 20.0
    settled = first_state(system, air_c=outdoor)
    settled.nodes_c = goal.copy()
    ready: Any = SimpleNamespace(system=system, forcing=still_day(system, outdoor, sources))
    series: Any = SimpleNamespace(slot_s=slot_s, nodes_c=np.tile(goal, (round(24 * 3600.0 / slot_s), 1)))
    told = _settles_h(ready, settled, series, season)
    assert told[2] is None
    got = [h for h in (told[0], told[1], told[3]) if h is not None]
    want = [h * math.log(6.0) for h in (5.0, 12.0, 53.0)]
    assert_close(got, want, abs=1.0 / 6.0, why="told by the step of 10 min")


# ------------------------------------------------------------------------------------------------ held walls


@pytest.mark.analytic
def test_walls_round_a_held_room_stand_where_steady_heat_puts_them() -> None:
    """Held room, 4 W/K, skin, 10 W/K, mass, 5 W/K, skin, 20 W/K, outdoors; two days' weather, two parts.

    60 W at the outer skin: 60/(20 + 1/0.55) = 2.75 K there, 5 W to the room, 1.75 K in the mass, 1.25 K inside. 12 W
    at the inner skin: 1.75 K and 7 W to the room, 1.25 K in the mass, 0.25 K outside. The second day double and triple.
    """
    network = ThermalNetwork(rooms=1, boundaries=1)
    for capacity in (4e4, 0.0, 6e5, 0.0):
        network.node(capacity)
    for one, two, conductance in ((0, 1, 4.0), (1, 2, 10.0), (2, 3, 5.0)):
        network.join(one, two, conductance)
    network.face(3, 0, 20.0)
    system = System(
        thermal=network, air=AirNetwork(("r",), ()), mass_kg=np.array([40.0]), buffer_kg=np.zeros(1),
        buffer_kg_s_pa=np.zeros(1), pressure_pa=101325.0, radiant=(1,),
    )  # fmt: skip
    driven = np.zeros((2, 48, 3))
    driven[0, :24, 2], driven[0, 24:, 2], driven[1, :24, 0], driven[1, 24:, 0] = 60.0, 120.0, 12.0, 36.0
    states, loads = _Periodic(cast(Any, SimpleNamespace(system=system)), 25.0).solved(driven)
    outer, inner = np.array([0.0, 1.25, 1.75, 2.75]), np.array([0.0, 1.75, 1.25, 0.25])
    assert_close(states[0].nodes_c, 25.0 + outer + inner, abs=1e-9, why=EXACT)
    assert_close(states[1].nodes_c, 25.0 + 2.0 * outer + 3.0 * inner, abs=1e-9, why=EXACT)
    assert_close(loads[0][:, 0], np.repeat([5.0, 10.0], 24), rel=1e-9, why=EXACT)
    assert_close(loads[1][:, 0], np.repeat([7.0, 21.0], 24), rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ coverings


@pytest.mark.invariant
@pytest.mark.parametrize("covering", ["not-said", "vented", "shingles", "metal", "membrane"])
@pytest.mark.parametrize(("kind", "like"), [("roof", "ceiling"), ("wall", "door")])
def test_a_covering_is_between_its_open_and_its_tight_bound(kind: str, like: str, covering: str) -> None:
    """Least, middle, most rise; they part wherever the covering is not tight as such (a metal roof is)."""
    one = house(TWO, assembly=[{"id": "w", "covering": covering, "layers": [{"material": "eps", "thickness": "0.2 m"}]},
                               {"id": "p", "layers": [{"material": "gypsum", "thickness": "0.1 m"}]}])  # fmt: skip
    least, middle, most = covering_sd_m(one.assembly[0], kind)
    assert 0.0 < least <= middle <= most
    assert (least < most) is not (kind == "roof" and covering == "metal")
    assert covering_sd_m(one.assembly[0], like) == (least, middle, most)


# ------------------------------------------------------------------------------------------------ a cut corner


def facing_of(outline: list[list[float]], azimuth_deg: float) -> Facing:
    """What the wind sees of the leaks of a wall of one room that looks to an azimuth."""
    one = house([{"id": "r", "outline": outline, "ceiling": 2.5}])
    told = routes_of(one, derive(one), flow_at_50_pa_m3_s=0.05, exponent=0.65, doors="open").facings
    near = [f for f in told if f.azimuth_deg is not None and abs(f.azimuth_deg - azimuth_deg) < 0.01]
    assert len({f.side_ratio for f in near}) == 1
    return near[0]


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("cut", "ratio"), [(((6.0, 2.7), (5.0, 4.0)), 4.0 / 6.0), (((6.0, 3.0), (4.7, 4.0)), 6.0 / 4.0)]
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_wall_across_a_corner_counts_with_the_side_it_lies_nearer_to(
    cut: tuple[tuple[float, float], tuple[float, float]], ratio: float, turned: bool
) -> None:
    """A plan of 6 x 4 m with one corner cut 1.3 to 1: the steeper cut (52.4° from the long side) belongs to the short
    sides, 4/6 of the others; the flatter one (37.6°) to the long ones, 6/4 (Swami and Chandra's ratio of sides)."""
    outline = [[0.0, 0.0], [6.0, 0.0], *(list(p) for p in cut), [0.0, 4.0]]
    along = (cut[1][0] - cut[0][0], cut[1][1] - cut[0][1])
    normal = (along[1], -along[0])
    if turned:
        outline, normal = [[4.0 - y, x] for x, y in outline], (-normal[1], normal[0])
    azimuth = math.degrees(math.atan2(*normal)) % 360.0
    assert_close(facing_of(outline, azimuth).side_ratio, ratio, rel=1e-9, why=EXACT)
    for straight, wanted in ((180.0, 6.0 / 4.0), (270.0, 4.0 / 6.0)):
        want = 1.0 / wanted if turned else wanted
        assert_close(facing_of(outline, straight).side_ratio, want, rel=1e-9, why=EXACT)


@pytest.mark.invariant
@pytest.mark.parametrize("turn_deg", [0.0, 10.0, 30.0, 90.0, 135.0, 270.0])
def test_a_wall_half_way_between_two_sides_belongs_to_neither_however_the_plan_is_turned(turn_deg: float) -> None:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    plan = [[0.0, 0.0], [6.0, 0.0], [6.0, 3.0], [5.0, 4.0], [0.0, 4.0]]
    turned = [[c * x - s * y, s * x + c * y] for x, y in plan]
    assert_close(facing_of(turned, (45.0 - turn_deg) % 360.0).side_ratio, 1.0, rel=1e-9, why=EXACT)
    assert_close(facing_of(turned, (180.0 - turn_deg) % 360.0).side_ratio, 1.5, rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ fans


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("base", "at_pa", "flow_m3_s"),
    [
        (0.01, (0.0, 50.0, 100.0, 101.0), (0.01, 0.01, 0.01, 0.0)),
        (0.03, (0.0, 60.0, 80.0, 101.0), (0.03, 0.03, 0.026, 0.0)),
        (0.05, (0.0, 50.0, 100.0), (0.05, 0.035, 0.02)),
        (0.06, (0.0, 50.0, 100.0), (0.05, 0.035, 0.02)),
    ],
)
def test_a_fan_holds_its_base_until_its_curve_limits_it(
    base: float, at_pa: tuple[float, ...], flow_m3_s: tuple[float, ...]
) -> None:
    """Points 0.05 m3/s at nothing and 0.02 at 100 Pa, where it ends: the lesser of the base and 0.05 - 0.0003 p."""
    raw = {"id": "f", "room": "a", "rated_flow": "0.08 m3/s", "base_flow": f"{base} m3/s",
           "curve": [["0.05 m3/s", "0 Pa"], ["0.02 m3/s", "100 Pa"]]}  # fmt: skip
    curve = base_curve(Fan.model_validate(raw, context={"units": "si"}))
    assert_close(flow_at_m3_s(curve=curve, pressure_pa=np.array(at_pa)), flow_m3_s, abs=1e-12, why=EXACT)


ROUTES = {"u from a": 0.011, "u to b": 0.013, "w from a": 0.002, "w from b": 0.003, "w to a": 0.006, "out": 0.017,
          "out boost": 0.005, "in": 0.019, "bath": 0.023, "d": 0.4}  # fmt: skip


def house_week(side: Side) -> HouseTime:
    """A week of steady flows [m3/s] between two other weeks; air 1,000 s old in 30 m3 and 2,000 s in 22.5 m3."""
    unit = {"recovery": 0.7, "room": "a"}
    one = house(
        TWO,
        fan=[{"id": "out", "room": "a", "rated_flow": "0.1 m3/s", "serves": ["whole-house"]},
             {"id": "in", "room": "b", "kind": "supply", "rated_flow": "0.1 m3/s", "serves": ["whole-house"]},
             {"id": "bath", "room": "a", "rated_flow": "0.1 m3/s", "serves": ["bath"]}],
        ventilator=[unit | {"id": "u", "supply_rooms": ["b"], "exhaust_rooms": ["a"], "supply_flow": "0.013 m3/s",
                            "exhaust_flow": "0.011 m3/s"},
                    unit | {"id": "w", "supply_rooms": ["a"], "exhaust_rooms": ["a", "b"], "supply_flow": "0.006 m3/s",
                            "exhaust_flow": "0.005 m3/s"}],
    )  # fmt: skip
    rows = slice(168, 336)
    flow, age = np.full((504, len(ROUTES)), 9.0), np.full((504, 2), 50.0)
    flow[rows], age[rows] = 101325.0 / (287.055 * 293.15) * np.array(list(ROUTES.values())), (1000.0, 2000.0)
    links = [SimpleNamespace(name=name) for name in ROUTES]
    ready: Any = SimpleNamespace(
        routes=SimpleNamespace(network=SimpleNamespace(rooms=("a", "b"))),
        system=SimpleNamespace(air=SimpleNamespace(links=links), pressure_pa=101325.0),
    )
    series: Any = SimpleNamespace(forward_kg_s=flow, age_s=age)
    return calculate_house_time(one, derive(one), ready, series, rows, side=side)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("side", "flows"),
    [
        ("exhaust", {"out": 0.022, "u": 0.011, "w": 0.005, ALL: 0.038}),
        ("supply", {"in": 0.019, "u": 0.013, "w": 0.006, ALL: 0.038}),
    ],
)
def test_the_side_that_counts_is_added_up(side: Side, flows: dict[str, float]) -> None:
    """Whole-house fans with their boost and what recovery ventilators move on that side; steady flows are worth
    themselves by every count. 52.5 m3 over (30 x 1,000 + 22.5 x 2,000)/52.5 s = 0.03675 m3/s."""
    told = house_week(side)
    assert {fan.device for fan in told.fans} == set(flows)
    for fan in told.fans:
        got = (fan.base_m3_s, fan.mean_m3_s, fan.by_average_m3_s, fan.by_window_m3_s or 0.0, fan.effective_m3_s)
        assert_close(got, (flows[fan.device],) * 5, rel=1e-4, why="five digits of the gas constant of dry air")
        assert (fan.on_fraction, fan.longest_off_h) == (1.0, 0.0)
    assert_close(told.by_age_m3_s, 0.03675, rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ heads


def head(name: str, room: str, *, least_w: float = 800.0, **more: Any) -> dict[str, Any]:
    points = [{"mode": "heating", "outdoor": "5 °C", "minimum": "1 kW", "maximum": "3 kW"},
              {"mode": "cooling", "outdoor": "35 °C", "minimum": f"{least_w} W", "maximum": "3 kW"}]  # fmt: skip
    return {"id": name, "room": room, "air_flow": ["200 m3/h", "600 m3/h"], "point": points} | more


def cycling(unit: str, hours: float, below_h: float, starts: float) -> ModeYear:
    return ModeYear(unit, (unit,), "heating", hours, 900.0, below_h, starts, 0.0, 0.0, 300.0)


def described(heating_load_w: float, design_c: float, *years: ModeYear) -> Option:
    """The one head of a house, through a year that was run."""
    one: House = house(TWO, head=[head("h", "a")])
    climate = SimpleNamespace(design=SimpleNamespace(heating_c=design_c, cooling_c=None))
    case: Any = SimpleNamespace(house=one, climate=climate, nominal=SimpleNamespace(heads=years))
    (option,) = try_options(case, heating_load_w, None)
    return option


@pytest.mark.analytic
def test_heads_as_described_are_told_in_per_cent() -> None:
    """3 kW on 4 kW: three quarters. 150 of 200 h below the least: 75 %, 12.6 starts are 13. Not half of the hours, nor
    a single day, nor the one that is below less often."""
    many = [cycling("h", 200.0, 150.0, 12.6), cycling("k", 200.0, 100.0, 5.0), cycling("m", 24.0, 20.0, 5.0)]
    told = described(4000.0, 5.0, *many)
    assert (told.name, told.heads, told.price, told.cooling_cover) == ("as described", ("h",), None, None)
    assert_close(told.heating_cover or 0.0, 0.75, rel=1e-12, why=EXACT)
    found = {finding.code: finding.values for finding in told.findings}
    assert sorted(finding.code for finding in told.findings) == ["head-too-large", "head-too-small"]
    assert found["head-too-large"] == {"option": "as described", "mode": "heating", "share": 75, "starts": 13}
    assert found["head-too-small"]["capacity"] == (3000.0, "power")
    assert found["head-too-small"]["load"] == (4000.0, "power")


@pytest.mark.analytic
@pytest.mark.parametrize(("design_c", "codes"), [(4.5, []), (3.5, ["head-unsuitable"])])
def test_heads_told_to_5_c_suit_a_design_within_one_kelvin(design_c: float, codes: list[str]) -> None:
    told = described(2000.0, design_c)
    assert_close(told.heating_cover or 0.0, 1.5, rel=1e-12, why="beyond its points no more than the last")
    assert [finding.code for finding in told.findings] == codes


@pytest.mark.analytic
@pytest.mark.parametrize(("minimum", "want"), [("1 kW", (500.0, 900.0, 300.0)), ("2.4 kW", (1200.0, 1200.0, 300.0)),
                                               (None, (200.0, 900.0, 300.0))])  # fmt: skip
def test_heads_on_one_outdoor_unit_share_its_least(minimum: str | None, want: tuple[float, ...]) -> None:
    """Two of 200 and 900 W on a unit: each half of its least, if that is more than its own; a third stands alone."""
    rooms = [*TWO, {"id": "c", "outline": rectangle(7, 0, 10, 3), "ceiling": 2.5}]
    heads = [head("h", "a", least_w=200.0, outdoor_unit="o"), head("k", "b", least_w=900.0, outdoor_unit="o"),
             head("m", "c", least_w=300.0, outdoor_unit="q")]  # fmt: skip
    units = [{"id": "o", "maximum": "9 kW"} | ({"minimum": minimum} if minimum else {}), {"id": "q"}]
    told = heads_of(
        house(rooms, head=heads, outdoor_unit=units), np.array([35.0, 35.0]), 101325.0, unlimited=frozenset()
    )
    assert [coil.room for coil in told.coils] == [0, 1, 2]
    assert_close(told.coil_least_w, [want, want], rel=1e-12, why=EXACT)
    assert_close(told.coil_most_w, np.full((2, 3), 3000.0), rel=1e-12, why=EXACT)
