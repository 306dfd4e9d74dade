"""Pieces of heat, sun, floors and passages worked by hand, with every term unlike the others."""

from __future__ import annotations

import math
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box

from inshell.climate.choose import climate_of
from inshell.climate.sun import incident
from inshell.climate.year import HOURS, MONTH_HOURS
from inshell.design.cold_day import _Case
from inshell.design.cooling_load import greatest_total_w
from inshell.design.dry_year import humidity_by_month
from inshell.design.fan_runs import _mends
from inshell.design.floor_heat import LoopHeat, _supply_needed
from inshell.design.heating import AirPlan
from inshell.design.leak_places import soil_areas_m2
from inshell.design.observations import _floors, heating_capacity_w
from inshell.design.pressure import supply_at_m3_s
from inshell.design.promise import Judged
from inshell.design.tube_field import _home
from inshell.design.tube_plan import _Floor, keep_out_area, lay_tubes
from inshell.house.geometry import derive
from inshell.house.geometry.gross import edge_area_m2
from inshell.house.geometry.planes import Plane
from inshell.house.model.air_devices import Fan, Ventilator
from inshell.house.model.heat_devices import Head, KeepOut
from inshell.house.reading import read_house
from inshell.network.routes import routes_of
from inshell.physics.floor import WaterToCore, water_to_core_m2k_w
from inshell.physics.heater import air_to_water_cop
from inshell.study.regression import weights_of
from tests.evidence import DEMO, assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"


@pytest.mark.analytic
def test_outdoor_air_is_the_last_and_the_densest() -> None:
    """Ideal gas of 28.966 g/mol at 1 bar: 1e5/(287.05 T), rooms first, then outdoors."""
    case = SimpleNamespace(outdoor_c=-20.0, climate=SimpleNamespace(pressure_pa=1e5))
    got = _Case._densities(cast(Any, case), np.array([21.0, 16.0]))
    wanted = [1e5 / (287.05 * (t + 273.15)) for t in (21.0, 16.0, -20.0)]
    assert_close(got, wanted, rel=1e-4, why="five digits of the gas constant")


@pytest.mark.analytic
@pytest.mark.parametrize("tilt_deg", [30.0, 90.0])
def test_the_ground_adds_what_it_reflects_to_the_sky(tilt_deg: float) -> None:
    """A level ground that reflects evenly adds rho GHI (1 - cos tilt)/2; a bare sky of an overcast hour adds the rest."""
    year = climate_of(read_house(DEMO).house, DEMO.parent).year
    assert year is not None
    black, bright = (incident(year, tilt_deg=tilt_deg, azimuth_deg=180.0, ground_reflectance=r) for r in (0.0, 0.6))
    more = 0.6 * year.ghi_w_m2 * (1.0 - math.cos(math.radians(tilt_deg))) / 2.0
    assert_close(bright.diffuse_w_m2 - black.diffuse_w_m2, more, abs=1e-6, why=EXACT)
    assert_close(bright.beam_w_m2, black.beam_w_m2, abs=1e-9, why="the ground is no beam")
    level = incident(year, tilt_deg=0.0, azimuth_deg=180.0, ground_reflectance=0.6)
    dull = (year.dni_w_m2 < 1.0) & (year.ghi_w_m2 > 20.0) & (year.sun_zenith_deg < 80.0)
    assert dull.sum() > 100
    assert_close(level.diffuse_w_m2[dull], year.dhi_w_m2[dull], rel=0.02, why="level: the whole sky and no ground")


@pytest.mark.analytic
def test_a_band_may_lie_on_the_straight_way_from_its_root_to_its_area() -> None:
    home = _home(box(1.0, 0.0, 3.0, 2.0), ((0.0, 0.5), (0.5, 0.5)), 0.1)
    for x, y, inside in (
        (0.98, 0.42, True),
        (0.75, 0.6, True),
        (0.98, 0.8, False),
        (0.75, 0.75, False),
        (2, 1.9, True),
    ):
        assert home.contains(Point(x, y)) is inside, (x, y)


@pytest.mark.analytic
def test_a_head_gives_what_its_line_leaves() -> None:
    """2,000 W at -10 °C and 4,000 W at 10 °C: 3,000 W half way, 0.95 of it behind a long line; nothing beyond."""
    points = [{"mode": "heating", "outdoor": f"{t} °C", "maximum": f"{q} W"} for t, q in ((-10, 2000), (10, 4000))]
    head = Head.model_validate({"id": "h", "room": "a", "point": points, "line_factor": 0.95}, context={"units": "si"})
    assert heating_capacity_w(head, 0.0) == pytest.approx(2850.0, rel=1e-12)
    assert heating_capacity_w(head, -10.5) is None
    assert heating_capacity_w(head, 10.5) is None


@pytest.mark.analytic
def test_a_hatch_exchanges_as_a_round_hole_of_its_area() -> None:
    """0.785398 m2 is a circle of one metre."""
    rooms = [{"id": "low", "outline": rectangle(0, 0, 5, 4), "ceiling": 2.5},
             {"id": "up", "outline": rectangle(0, 0, 5, 4), "ceiling": 2.5, "floor_height": 2.7}]  # fmt: skip
    hatch = {"id": "p", "kind": "hatch", "between": ["low", "up"], "area": f"{math.pi / 4.0} m2"}
    one = house(rooms, passage=[hatch])
    told = routes_of(one, derive(one), flow_at_50_pa_m3_s=0.05, exponent=0.65, doors="open").exchanges
    assert [(e.above, e.below) for e in told] == [(1, 0)]
    assert_close(told[0].diameter_m, 1.0, rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_water_meets_four_resistances_within_the_reach_of_the_method() -> None:
    """ISO 11855-2 (from memory): valid above 0.3 of the spacing on either side and below a fifth of it in diameter."""
    assert WaterToCore(0.001, 0.02, 0.3, 4.0, True).total == pytest.approx(4.321, rel=1e-12)
    given = {"wall_m": 0.002, "tube_w_mk": 0.35, "slab_w_mk": 1.8, "flow_kg_s": 0.05, "area_m2": 15.0, "length_m": 90.0}
    for spacing, outer, above, below, valid in (
        (0.11, 0.02, 0.1, 0.1, True), (0.095, 0.02, 0.1, 0.1, False), (0.2, 0.02, 0.07, 0.07, True),
        (0.2, 0.02, 0.05, 0.09, False), (0.2, 0.02, 0.09, 0.05, False),
    ):  # fmt: skip
        told = water_to_core_m2k_w(spacing_m=spacing, outer_m=outer, above_m=above, below_m=below, **given)
        assert told.is_valid is valid, (spacing, outer, above, below)


@pytest.mark.analytic
def test_a_loop_gives_to_rooms_to_earth_and_to_the_edge() -> None:
    loop = LoopHeat(cast(Any, None), cast(Any, None), 40.0, 33.0, 1e-4, 800.0, 90.0, 7.0, cast(Any, None), {})
    assert loop.heat_w == pytest.approx(897.0, rel=1e-12)


@pytest.mark.analytic
def test_the_greatest_load_is_of_one_hour_and_both_kinds() -> None:
    """Months, hours, rooms, parts: 5 + 1 in one hour, 4 + 3 in another; not 5 + 3."""
    sensible, latent = np.zeros((12, 24, 2, 3)), np.zeros((12, 24, 2, 3))
    sensible[6, 15, 0, 0], sensible[6, 15, 1, 2], latent[6, 15, 0, 1] = 2.0, 3.0, 1.0
    sensible[7, 18, 1, 1], latent[7, 18, 0, 0], latent[7, 18, 1, 2] = 4.0, 1.0, 2.0
    assert greatest_total_w(cast(Any, SimpleNamespace(sensible_w=sensible, latent_w=latent))) == 7.0


@pytest.mark.analytic
def test_a_raised_plane_is_higher_everywhere() -> None:
    plane = Plane(0.5, -0.25, 3.0, "p")
    up = plane.raised(0.4)
    assert up.z((2.0, 4.0)) - plane.z((2.0, 4.0)) == pytest.approx(0.4, rel=1e-12)
    assert up.name == "p"


@pytest.mark.published
def test_a_heat_pump_by_its_lift_alone() -> None:
    """Open fit COP = 6.08 - 0.0941 d + 0.0005 d2 over tested machines: 30 K from 7 °C to 37 °C is as good as from 0 to 30."""
    for source in (-15.0, 0.0, 7.0):
        got = air_to_water_cop(source_c=source, sink_c=source + np.array([30.0, 45.0, 10.0]), field=1.0)
        assert_close(got, [3.707, 2.858, 6.08 - 0.0941 * 15.0 + 0.0005 * 225.0], rel=2e-4, why="four digits")


@pytest.mark.published
def test_a_new_house_is_wetter_by_what_it_dries() -> None:
    """ASHRAE 160 (from memory): 4.7 kg a day more, which make 1.36e5 Pa m3/kg x 5.44e-5 kg/s / passing air.

    60 m3 renewed each 1,200 s: 0.05 m3/s: 148 Pa; at 20 °C (2,339 Pa) 0.063 of relative humidity on top of 0.40.
    """
    hours = HOURS
    ready = SimpleNamespace(routes=SimpleNamespace(network=SimpleNamespace(rooms=("a", "b"))),
                            system=SimpleNamespace(mass_kg=np.array([48.0, 24.0])))  # fmt: skip
    series = SimpleNamespace(
        nodes_c=np.full((hours, 3), 20.0), humidity=np.full((hours, 2), 0.40), age_s=np.full((hours, 2), 1200.0)
    )
    series.humidity[: MONTH_HOURS[0], 1] = 0.99
    told = humidity_by_month(cast(Any, ready), cast(Any, series))
    more = 1.36e5 * 4.7 / 86400.0 / (60.0 / 1200.0) / 2339.2
    assert_close(told[0].first_year, np.full(12, 0.40 + more), abs=1e-4, why="saturation to five digits")
    assert_close(told[0].mean, np.full(12, 0.40), rel=1e-12, why=EXACT)
    assert (told[1].first_year[0], told[1].highest[:2]) == (1.0, (0.99, 0.40)), "no air is wetter than wet"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("defrost", "below", "stops", "outdoor", "supplies"),
    [
        ("exhaust-only", -5, None, -6.0, False), ("exhaust-only", -5, None, -4.0, True),
        ("recirculate", -5, None, -6.0, True), ("recirculate", -5, -12, -13.0, False),
        ("recirculate", -5, -12, -11.0, True), ("exhaust-only", -15, -12, -13.0, False),
    ],
)  # fmt: skip
def test_a_ventilator_supplies_unless_frost_stops_it(
    defrost: str, below: float, stops: float | None, outdoor: float, supplies: bool
) -> None:
    more = {} if stops is None else {"supply_stops_below": f"{stops} °C"}
    unit = Ventilator.model_validate(
        {"id": "v", "room": "a", "recovery": 0.7, "supply_rooms": ["a"], "exhaust_rooms": ["b"], "supply_flow": "30 L/s", "exhaust_flow": "32 L/s",
         "defrost": defrost, "defrost_below": f"{below} °C", **more}, context={"units": "si"},
    )  # fmt: skip
    assert supply_at_m3_s(unit, outdoor) == pytest.approx(0.03 if supplies else 0.0)


@pytest.mark.analytic
def test_weights_ask_for_two_samples_an_unknown_and_two_more() -> None:
    """Three unknowns: eight samples; a plane through them is found whole: coefficients b s_x / s_y."""
    dice = np.random.default_rng(1)
    points = dice.random((8, 3))
    values = 4.0 + points @ [3.0, -2.0, 0.5]
    told = weights_of(("one", "two", "three"), points, values)
    assert told is not None
    wanted = np.array([3.0, -2.0, 0.5]) * points.std(axis=0) / values.std()
    assert_close([w.coefficient for w in told.rows], wanted, rel=1e-9, why="greatest first, as it happens")
    assert_close(told.explained, 1.0, rel=1e-9, why="it is a plane")
    assert weights_of(("one", "two", "three"), points[:7], values[:7]) is None
    assert weights_of(("one", "two", "three"), points, np.full(8, 4.0)) is None


@pytest.mark.published
@pytest.mark.parametrize(("load_w", "code"), [(1250.0, "floor-too-warm"), (1150.0, ""), (290.0, "floor-hardly-warm")])
def test_a_floor_that_carries_a_room_by_its_surface(load_w: float, code: str) -> None:
    """EN 1264-2: q = 8.92 (tF - ti)^1.1: 9 K give 100.0 W/m2, 4 K 41.0. 12 m2: 1,200 W are 100; 50 W go to the ground."""
    room = {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5}
    circuit = {"id": "c", "rooms": ["a"], "manifold": "m", "spacing": "0.2 m", "depth": "5 cm"}
    one = house([room], manifold=[{"id": "m", "room": "a", "position": [1, 1]}], circuit=[circuit])
    loads = SimpleNamespace(of=lambda _: SimpleNamespace(
        total_w=load_w + 50.0, losses=[SimpleNamespace(kind="floor", watts=50.0), SimpleNamespace(kind="wall", watts=9.0)]
    ))  # fmt: skip
    told = _floors(one, derive(one), cast(Any, loads))
    assert [f.code for f in told] == ([code] if code else [])
    if told:
        assert_close(told[0].values["flux"][0], load_w / 12.0, rel=1e-9, why=EXACT)


@pytest.mark.published
@pytest.mark.parametrize("open_m2", [0.09, 0.0004])
def test_an_opening_over_soil_as_an_area(open_m2: float) -> None:
    """A disc sink passes 4 k r dP / mu: 0.041, 0.406 and 4.06 m3/h at 3 Pa, 0.3 m square (computed sheet); at 4 Pa a
    third more; as an effective area Q sqrt(rho/8), never more than six tenths of the bare hole."""
    r = math.sqrt(open_m2 / math.pi)
    sandy, silty, gravel = (4.0 * k * r * 4.0 / 1.8e-5 * math.sqrt(1.2041 / 8.0) for k in (1e-9, 1e-10, 1e-8))
    wanted = np.minimum([sandy, silty, gravel], 0.6 * open_m2)
    assert_close(soil_areas_m2(open_m2), wanted, rel=0.02, why="viscosity to two digits")


@pytest.mark.invariant
@pytest.mark.parametrize(("spacing", "again"), [("0.25 m", False), ("0.2 m", True)])
def test_a_loop_is_laid_again_only_where_it_bends_too_tightly(
    spacing: str, again: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half-inch tube bends at eight diameters, 0.127 m (trade practice): three quarters of it are enough."""
    rooms = [{"id": "hall", "outline": rectangle(0, 0, 2, 4), "ceiling": 2.5},
             {"id": "bed", "outline": rectangle(2, 0, 5, 4), "ceiling": 2.5}]  # fmt: skip
    one = house(
        rooms, door=[{"id": "d", "between": ["hall", "bed"], "width": 0.8, "height": 2.0}],
        manifold=[{"id": "m", "room": "hall", "position": [0.6, 0.5]}],
        circuit=[{"id": "c", "rooms": ["bed"], "manifold": "m", "spacing": spacing, "depth": "5 cm"}],
    )  # fmt: skip
    laid: list[float] = []
    once = _Floor._laid_once

    def counted(self: _Floor, *given: Any) -> Any:
        made = once(self, *given)
        laid.append(made.tightest_m)
        return made

    monkeypatch.setattr(_Floor, "_laid_once", counted)
    told = lay_tubes(one, derive(one)).runs[0]
    assert (len(laid) > 1) is again
    assert (laid[0] < 0.75 * 0.127) is again
    assert told.tightest_m >= 0.75 * 0.127
    assert len(told.leaders) == 1
    assert_close(told.leader_m, 2.0 * told.leaders[0].length, rel=0.05, why="supply and return, wholly inside rooms")


@pytest.mark.analytic
@pytest.mark.parametrize("leaders", [0.0, 0.5, 5.0, 40.0])
def test_the_supply_of_a_floor_needs_itself_however_much_its_leaders_give(leaders: float) -> None:
    """Needed x over 20 °C = 50 - s (x - 4): x = (50 + 4 s)/(1 + s); with 40 a fixed-point iteration runs away."""
    day = SimpleNamespace(
        facts={"a": SimpleNamespace(here_c=20.0)},
        needed=lambda mean_c: ("a", 20.0 + max(0.0, 50.0 - leaders * max(mean_c - 20.0, 0.0))),
    )
    room, supply = _supply_needed(cast(Any, day), 4.0)
    assert room == "a"
    assert_close(supply, 20.0 + (50.0 + 4.0 * leaders) / (1.0 + leaders), abs=1e-6, why="fifty halvings")


@pytest.mark.analytic
@pytest.mark.parametrize(("turn_deg", "one", "two"), [(90.0, 0.2, 0.3), (60.0, 0.2, 0.3), (130.0, 0.25, 0.1)])
def test_a_corner_between_two_thick_walls(turn_deg: float, one: float, two: float) -> None:
    """The patch between the inner corner, the ends of both faces' normals and where the outer faces meet: shoelace."""
    phi = math.radians(turn_deg)
    n1, n2 = np.array([0.0, -1.0]), np.array([math.sin(phi), -math.cos(phi)])
    outer = np.linalg.solve(np.array([n1, n2]), [one, two])
    patch = Polygon([(0.0, 0.0), one * n1, outer, two * n2])
    signed = 0.5 * sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(patch.exterior.coords))
    assert_close(edge_area_m2(one, two, turn_deg=turn_deg), signed, rel=1e-9, why=EXACT)
    assert_close(edge_area_m2(one, two, turn_deg=-turn_deg), -signed, rel=1e-9, why="the other way it is counted twice")


@pytest.mark.analytic
def test_margins_are_positive_on_the_good_side() -> None:
    def judged(sense: str, value: float | None) -> Judged:
        return Judged("p", "p", "house", cast(Any, sense), 20.0, "K", "kept", "designed", "", value=value)

    assert (judged("at_most", 15.0).margin, judged("at_most", 26.0).margin) == (5.0, -6.0)
    assert (judged("at_least", 15.0).margin, judged("at_least", 26.0).margin) == (-5.0, 6.0)
    assert judged("at_most", None).margin is None
    assert (AirPlan(0.05, 0.02, 0.0, 0.05).balanced_m3_s, AirPlan(0.02, 0.05, 0.0, 0.05).balanced_m3_s) == (0.02, 0.02)


@pytest.mark.analytic
def test_ground_that_stays_free_of_tube() -> None:
    """A box of 0.6 x 0.4 m round (2, 3); a disc of 0.5 m as thirty-two chords."""
    box_ = KeepOut.model_validate({"id": "k", "kind": "cabinet", "position": [2, 3], "width": 0.6, "depth": 0.4},
                                  context={"units": "si"})  # fmt: skip
    assert_close(keep_out_area(box_).bounds, (1.7, 2.8, 2.3, 3.2), abs=1e-12, why=EXACT)
    disc = KeepOut.model_validate(
        {"id": "k", "kind": "anchor", "position": [2, 3], "radius": 0.5}, context={"units": "si"}
    )
    assert_close(keep_out_area(disc).area, 16.0 * 0.25 * math.sin(math.pi / 16.0), rel=1e-9, why=EXACT)


@pytest.mark.analytic
@pytest.mark.parametrize(("loss", "offered"), [(2.5, True), (1.7, True), (1.5, False)])
def test_an_open_cap_is_offered_where_the_cap_is_not_open(loss: float, offered: bool) -> None:
    raw = {"id": "f", "room": "a", "rated_flow": "40 L/s", "duct": {"diameter": "100 mm", "length": "8 m", "elbows": 2,
           "material": "smooth", "cap_loss": loss}}  # fmt: skip
    fan = Fan.model_validate(raw, context={"units": "si"})
    assert fan.duct is not None
    told = _mends(fan, fan.duct, 20.0, 0.001)
    assert any("open cap" in m.what for m in told) is offered
    assert [m.flow_m3_s for m in told] == sorted((m.flow_m3_s for m in told), reverse=True)
