"""More pieces by hand: exhaust of baths and kitchens, halvings, verdicts, rooms beside colder rooms, what is not known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from inshell.climate.choose import climate_of
from inshell.climate.prepare import named_year
from inshell.design.drivers import prepare
from inshell.design.envelope import calculate_slab
from inshell.design.floor_heat import RoomFloor
from inshell.design.gains import overhang_share
from inshell.design.heating import calculate_heating
from inshell.design.local_exhaust import LocalExhaust, calculate_local_exhaust
from inshell.design.makeup import greatest_share, least_area_m2, least_sets
from inshell.design.promise import holds
from inshell.design.tightness import judge, limit_of
from inshell.house.geometry import derive
from inshell.house.model.house import House
from inshell.network.system import fraction_of_ppm
from inshell.physics.shading import fins_sunlit_fraction
from inshell.study.unknowns import Unknown, Varied, points_of
from tests.evidence import CFM, FT, assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
PAIR = [
    {"id": "bath", "outline": rectangle(0, 0, 2, 3), "ceiling": 2.5, "use": "bath"},
    {"id": "kitchen", "outline": rectangle(2, 0, 6, 3), "ceiling": 2.5, "use": "kitchen-living"},
]


def pair(**more: object) -> House:
    return house(PAIR, **more)


def exhaust(one: House, rule: str) -> dict[str, LocalExhaust]:
    return {e.room: e for e in calculate_local_exhaust(one, derive(one), rule)}


@pytest.mark.published
def test_what_baths_and_kitchens_must_move() -> None:
    """Bath 50 cfm on demand or 20 continuous; kitchen 100 on demand or 5 air changes (ASHRAE 62.2) / 25 cfm continuous
    (IRC M1505.4.4); exhaust that is no hood 300 cfm (62.2-2013 and later, from memory)."""
    told = {rule: exhaust(pair(), rule) for rule in ("ashrae-62.2", "irc")}
    for rule in told:
        bath = told[rule]["bath"]
        assert_close((bath.demand_limit_m3_s / CFM, bath.continuous_limit_m3_s / CFM), (50, 20), rel=1e-9, why=EXACT)
        assert_close(told[rule]["kitchen"].demand_limit_m3_s / CFM, 100, rel=1e-9, why=EXACT)
    volume = derive(pair()).space("kitchen").net_volume_m3
    assert_close(told["ashrae-62.2"]["kitchen"].continuous_limit_m3_s, 5 * volume / 3600, rel=1e-9, why=EXACT)
    assert_close(told["irc"]["kitchen"].continuous_limit_m3_s / CFM, 25, rel=1e-9, why=EXACT)
    fan = {"id": "f", "room": "kitchen", "rated_flow": "200 cfm", "serves": ["kitchen"]}
    by_fan = exhaust(pair(fan=[fan]), "ashrae-62.2")["kitchen"]
    assert_close(by_fan.demand_limit_m3_s / CFM, 300, rel=1e-9, why=EXACT)
    assert not by_fan.met


@pytest.mark.analytic
def test_exhaust_counts_what_serves_the_room() -> None:
    """A fan of 80 cfm at 22 always, a unit that draws 30 from two rooms: 22 + 15 continuous of which 15 is a split, 80."""
    unit = {
        "id": "u", "room": "kitchen", "supply_rooms": ["kitchen"], "exhaust_rooms": ["bath", "kitchen"],
        "supply_flow": "30 cfm", "exhaust_flow": "30 cfm", "recovery": 0.7,
    }  # fmt: skip
    fan = {"id": "f", "room": "bath", "rated_flow": "80 cfm", "base_flow": "22 cfm", "serves": ["bath"]}
    bath = exhaust(pair(fan=[fan], ventilator=[unit]), "irc")["bath"]
    got = [v / CFM for v in (bath.continuous_m3_s, bath.demand_m3_s, bath.split_m3_s)]
    assert_close(got, [37.0, 80.0, 15.0], rel=1e-9, why=EXACT)
    assert_close(bath.without_split().continuous_m3_s / CFM, 22.0, rel=1e-9, why=EXACT)
    assert bath.met
    off = exhaust(
        pair(fan=[fan], control=[{"id": "k", "target": "f", "does": "off", "from": "22:00", "to": "06:00"}]), "irc"
    )
    assert_close(off["bath"].continuous_m3_s, 0.0, abs=1e-12, why="it is not always on")


@pytest.mark.analytic
def test_the_way_that_is_shown_is_the_nearer_one() -> None:
    def shown(continuous: float, demand: float) -> tuple[float, float]:
        return LocalExhaust("r", continuous, demand, 20.0, 50.0, "", ()).shown

    assert shown(20.0, 0.0) == (20.0, 20.0)
    assert shown(10.0, 40.0) == (40.0, 50.0), "0.8 of it is nearer than 0.5"
    assert shown(18.0, 40.0) == (18.0, 20.0), "0.9 of it is nearer than 0.8"
    assert LocalExhaust("r", 0.0, 50.0, 20.0, 50.0, "", ()).met
    assert not LocalExhaust("r", 19.0, 49.0, 20.0, 50.0, "", ()).met


@pytest.mark.analytic
def test_halving_finds_what_just_keeps() -> None:
    """What keeps from 0.013 m2 on; what keeps up to a share of 0.62."""
    assert_close(least_area_m2(lambda a: a >= 0.013, 0.1), 0.013, abs=1e-3, why="so many halvings of 0.1")
    assert least_area_m2(lambda a: a >= 0.013, 0.01) is None
    assert_close(greatest_share(lambda s: s <= 0.62), 0.62, abs=1e-2, why="so many halvings of one")
    assert greatest_share(lambda s: s < 0.005) is None
    sets = least_sets([("a", "b"), ("a",), ("b", "c"), ("a", "c"), ("d:base", "b"), ("d", "b")])
    assert sets == (("a",), ("b", "c"), ("d:base", "b"))


@pytest.mark.analytic
def test_carbon_dioxide_by_volume_and_by_mass() -> None:
    """420 ppm of 44.01 g/mol in air of 28.9645 g/mol: 420e-6 x 1.519446 = 6.381674e-4."""
    assert_close(fraction_of_ppm(420.0), 6.381674e-4, rel=1e-6, why="molar masses to six digits")


@pytest.mark.analytic
def test_a_verdict_forgives_rounding_and_no_more() -> None:
    for sense, sign in (("at_most", 1.0), ("at_least", -1.0)):
        assert holds(100.0 + sign * 1e-8, 100.0, sense)  # type: ignore[arg-type]
        assert not holds(100.0 + sign * 1e-5, 100.0, sense)  # type: ignore[arg-type]
        assert holds(100.0 - sign * 1.0, 100.0, sense)  # type: ignore[arg-type]
        assert holds(0.0, 0.0, sense)  # type: ignore[arg-type]


@pytest.mark.analytic
def test_a_room_loses_to_a_colder_neighbour_by_the_difference() -> None:
    """20 and 15 degrees inside, -10 outside: 5/30 of what goes outdoors, by the U of the partition and its net area."""
    rooms = [PAIR[0] | {"heating_set_point": "20 °C"}, PAIR[1] | {"heating_set_point": "15 °C"}]
    one = house(rooms)
    told = calculate_heating(one, derive(one), climate_of(one, Path()))
    loss = next(x for x in told.of("bath").losses if x.kind == "room")
    assert_close(loss.factor, 5.0 / 30.0, rel=1e-9, why=EXACT)
    assert_close(loss.watts, loss.area_m2 * loss.u_w_m2k * 5.0, rel=1e-9, why=EXACT)
    back = next(x for x in told.of("kitchen").losses if x.id == loss.id)
    assert_close(back.watts, -loss.watts, rel=1e-9, why="what one loses the other gains")
    mild = house(rooms, climate={"heating_design": "20 °C", "mean_annual": "9 °C"})
    still = calculate_heating(mild, derive(mild), climate_of(mild, Path()))
    same = next(x for x in still.of("bath").losses if x.kind == "room")
    assert (same.factor, same.watts) == (0.0, loss.watts), "as warm as outdoors: no share, the same heat"


@pytest.mark.invariant
def test_a_covering_counts_as_what_lies_under_the_slab() -> None:
    """ISO 13370 knows one resistance of the floor: its parts may change places."""
    shown = []
    for under, cover in ((2.0, 0.0), (1.7, 0.3)):
        one = house(PAIR, slab=[{"id": "s", "under_r": under, "covering_r": cover}])
        told = calculate_slab(one, derive(one), one.slab[0])
        assert told is not None
        shown.append(told.u_w_m2k)
    assert_close(shown[1], shown[0], rel=1e-12, why=EXACT)


@pytest.mark.analytic
def test_the_coldest_month_has_a_middle_day() -> None:
    """January ends on day 31, February on 59: middles 15.5 and 45."""
    for name in ("greensboro", "sand-point", "miami"):
        year = named_year(name)
        month = int(np.argmin(year.monthly_means("dry_bulb_c")))
        middles = np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) - 0.5 * np.array(
            [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
        )
        assert_close(year.coldest_day, middles[month], abs=1e-9, why=EXACT)


@pytest.mark.analytic
def test_what_is_not_known_multiplies_what_it_names() -> None:
    """Twice the people give twice the heat, vapour and gas; weather 2 K warmer is 2 K warmer; leakage scales all leaks."""
    one = house(
        PAIR, person=[{"id": "p", "sleeps_in": "bath"}], climate={"year": "greensboro", "heating_design": "-10 °C"}
    )
    ready = prepare(one, derive(one), climate_of(one, Path()), hours=np.arange(48), doors="shut")
    varied = Varied(one, ready)
    more = varied.forcing({"people": 2.0, "weather_k": 2.0})
    for name, factor in (("gains_w", 2.0), ("vapour_kg_s", 2.0), ("gas_kg_s", 2.0)):
        assert_close(getattr(more, name), factor * getattr(ready.forcing, name), rel=1e-12, abs=1e-15, why=EXACT)
    assert_close(more.outdoor_c - ready.forcing.outdoor_c, np.full(48, 2.0), abs=1e-9, why=EXACT)
    leaks = [k for k, link in enumerate(ready.system.air.links) if link.name.startswith("leak ")]
    for point, factor in (({"leakage": 1.5}, 1.5), ({"leaks_high": 0.7}, 1.0), ({"leaks_in_bedrooms": 2.0}, 1.0)):
        sizes = [varied.system(point).air.links[k].coefficient_m3_s_pan for k in leaks]
        before = [ready.system.air.links[k].coefficient_m3_s_pan for k in leaks]
        assert_close(sum(sizes), factor * sum(before), rel=1e-9, why="places move, the tested sum stays")
    high = [varied.system({"leaks_high": 0.7}).air.links[k] for k in leaks]
    ratio = [
        a.coefficient_m3_s_pan / ready.system.air.links[k].coefficient_m3_s_pan
        for a, k in zip(high, leaks, strict=True)
    ]
    order = np.argsort([a.low_m for a in high])
    assert np.all(np.diff(np.array(ratio)[order]) >= -1e-9), "the higher, the more"
    points = points_of((Unknown("x", 1.0, 4.0), Unknown("y", -1.0, 1.0)), 64)
    assert_close(points.mean(axis=0), (2.5, 0.0), abs=0.05, why="Sobol points are even")
    assert points[:, 0].min() >= 1.0
    assert points[:, 0].max() <= 4.0


@pytest.mark.analytic
def test_flags_of_a_warm_floor_by_their_margins() -> None:
    def room(**changed: float) -> RoomFloor:
        facts = {
            "room_c": 20.0, "asks_w": 500.0, "area_m2": 10.0, "water_c": 30.0, "leader_w": 0.0, "gives_w": 500.0,
            "flux_w_m2": 50.0, "surface_c": 24.0, "hottest_c": 26.0, "limit_c": 29.0, "limit_w": 900.0,
            "ground_loss_w": 0.0,
        } | changed  # fmt: skip
        return RoomFloor("r", **facts)

    assert not room(limit_w=499.5).is_short, "half a watt is nothing"
    assert room(limit_w=498.5).is_short
    assert not room(gives_w=475.0).is_cold, "five per cent less is near enough"
    assert room(gives_w=473.5).is_cold
    assert not room(hottest_c=29.04).is_hot
    assert room(hottest_c=29.06).is_hot
    assert not room(hottest_c=40.0, area_m2=0.0).is_hot


@pytest.mark.analytic
def test_fins_shade_by_the_height_of_the_sun_over_the_horizon() -> None:
    window = {"id": "w", "room": "kitchen", "wall": "south", "width": 1.0, "height": 1.0, "glazing": "g", "fin": 0.4}
    one = house(PAIR, window=[window])
    geometry, year = derive(one), named_year("greensboro")
    host = next(s for s in geometry.surfaces if s.id == next(p.surface for p in geometry.openings))
    wanted = fins_sunlit_fraction(
        altitude_deg=90.0 - year.sun_zenith_deg, azimuth_deg=year.sun_azimuth_deg, window_azimuth_deg=180.0,
        width_m=1.0, fin_m=0.4,
    )  # fmt: skip
    assert_close(overhang_share(one.window[0], host, year), wanted, abs=1e-9, why="the same sun")
    assert 0.2 < float(np.mean(wanted[year.sun_zenith_deg < 60.0])) < 1.0


@pytest.mark.published
def test_limits_by_zone_and_a_limit_inside_the_interval() -> None:
    """IECC 2021 prescriptive: 5.0 in zones 0 to 2, 3.0 in 3 to 8; unknown without a zone; 0.30 cfm/ft2 for small houses."""
    assert [limit_of("iecc-2021-prescriptive", z) for z in (0, 2, 3, 8)] == [5.0, 5.0, 3.0, 3.0]
    assert limit_of("iecc-2021-prescriptive", None) is None
    given = {"volume_m3": 100.0, "enclosure_m2": 200.0, "limit": 3.0}
    for low, high, close in ((290.0, 310.0, True), (280.0, 295.0, False), (305.0, 320.0, False)):
        middle = 0.5 * (low + high)
        told = judge(
            "iecc-2021-prescriptive",
            flow_at_50_pa_m3_s=middle / 3600,
            flow_range_m3_s=(low / 3600, high / 3600),
            **given,
        )
        assert_close(told.value, middle / 100.0, rel=1e-9, why=EXACT)
        assert told.too_close is close
        assert told.met is (middle <= 300.0)
    area = judge(
        "iecc-2021-small-enclosure", flow_at_50_pa_m3_s=60 * CFM, flow_range_m3_s=None, volume_m3=100.0,
        enclosure_m2=200 * FT**2, limit=0.3,
    )  # fmt: skip
    assert_close(area.value, 0.3, rel=1e-6, why="60 cfm on 200 ft2")
