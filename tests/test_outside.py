"""Four calculations against sources outside: openings for make-up air, what a room feels like, tube laid, a floor's year."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from shapely.geometry import LineString, box

from inshell.climate.choose import climate_of
from inshell.design.appliance_rooms import calculate_appliance_rooms
from inshell.design.comfort import Evidence, Rooms, hours_outside, value_of
from inshell.design.floor_heat import FloorHeat
from inshell.design.floor_year import _counted, supply_c
from inshell.design.makeup import greatest_share, least_area_m2, opening_flow_50_m3_s
from inshell.design.room_days import hourly_temperatures
from inshell.design.room_pressures import calculate_room_pressures
from inshell.design.tube_field import lay_field
from inshell.house.geometry import derive
from inshell.house.model.promises import Promise
from inshell.house.reading import read_house
from tests.evidence import CFM, DEMO, FT, assert_close
from tests.houses import house, rectangle

BTU_H = 1055.056 / 3600.0
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]


def opening_by_velocity_ft2(flow_cfm: float, pressure_pa: float) -> float:
    """Handbook formula V [ft/min] = 4005 sqrt(velocity pressure [in of water]), a sharp edge passing 0.6 of the area."""
    return flow_cfm / (0.6 * 4005.0 * (pressure_pa / 249.089) ** 0.5)


@pytest.mark.published
@pytest.mark.parametrize(("cfm", "pa"), [(200.0, 5.0), (150.0, 2.0), (300.0, 15.0)])
def test_a_make_up_opening_is_the_handbooks_hole(cfm: float, pa: float) -> None:
    """ASHRAE Fundamentals, duct design: V = 4005 sqrt(Pv), standard air; the coefficient 0.6 of a sharp edge."""
    wanted = opening_by_velocity_ft2(cfm, pa) * FT**2

    def keeps(area_m2: float) -> bool:
        return opening_flow_50_m3_s(area_m2) * (pa / 50.0) ** 0.5 >= cfm * CFM

    got = least_area_m2(keeps)
    assert got is not None
    assert_close(got, wanted, rel=0.003, abs=0.5 / 2**10, why="air of 1.2 or 1.204 kg/m3; ten halvings of 0.5 m2")
    assert least_area_m2(lambda area: area > 1.0) is None
    share = greatest_share(lambda part: part <= 0.4)
    assert share is not None
    assert_close(share, 0.4, abs=0.99 / 2**10, why="ten halvings")
    assert greatest_share(lambda _: False) is None


@pytest.mark.published
def test_the_opening_of_an_appliance_room_passes_what_the_hood_takes() -> None:
    """The same handbook formula for a whole house: a hood of 200 cfm, a shell that passes next to nothing, 5 Pa."""
    raw: dict[str, Any] = {
        "hood": [{"id": "hood", "room": "a", "flow": "200 cfm"}],
        "appliance": [{"id": "boiler", "kind": "boiler", "room": "a", "venting": "natural-draft"}],
    }  # fmt: skip
    demo = read_house(DEMO).house
    one = house(TWO[:1], **raw)
    one = one.model_copy(update={"climate": demo.climate, "site": demo.site})
    geometry, climate = derive(one), climate_of(one, None)
    still = calculate_room_pressures(one, geometry, climate, tested_flow_m3_s=0.5 * CFM)
    told = calculate_appliance_rooms(one, geometry, climate, still, flow_at_50_pa_m3_s=0.5 * CFM)[0]
    assert (told.limit_pa, told.within) == (5.0, False)
    assert told.opening_m2 is not None
    wanted = opening_by_velocity_ft2(200.0, 5.0) * FT**2
    assert_close(
        told.opening_m2, wanted, rel=0.08, why="cold air at the opening is denser; stack and wind at its height"
    )


def of_rooms(air_c: list[list[float]], radiant_c: list[list[float]]) -> tuple[Any, Any]:
    """A run of rooms whose nodes are their air and, after it, what their surfaces radiate; slots of half an hour."""
    count = len(air_c[0])
    ready = SimpleNamespace(system=SimpleNamespace(rooms=count, radiant=tuple(range(count, 2 * count))))
    return ready, SimpleNamespace(slot_s=1800.0, nodes_c=np.hstack([np.array(air_c), np.array(radiant_c)]))


@pytest.mark.published
def test_what_a_room_feels_like() -> None:
    """ISO 7726:1998 and ASHRAE 55 (from memory): in air slower than 0.2 m/s, the mean of air and mean radiant."""
    ready, series = of_rooms([[20.0, 24.0], [22.0, 24.0]], [[16.0, 28.0], [18.0, 26.0]])
    air, felt = hourly_temperatures(cast(Any, ready), cast(Any, series))
    assert_close(air, [[21.0, 24.0]], rel=1e-12, why="by hand")
    assert_close(felt, [[19.0, 25.5]], rel=1e-12, why="by hand: (21 + 17)/2 and (24 + 27)/2")


@pytest.mark.published
def test_hours_outside_a_band_are_counted() -> None:
    """EN 15251:2007, annex F, method A (from memory): the number of hours in which the room is outside its range."""
    one = house(TWO, household={"heating_set_point": "20 °C", "cooling_set_point": "25 °C"})
    one = one.model_copy(update={"household": one.household.model_copy(
        update={"comfort_heating_k": 1.5, "comfort_cooling_k": 2.0})})  # fmt: skip
    felt = np.array([[18.4, 18.6], [18.5, 27.1], [27.0, 27.2], [20.0, 18.0]])
    cold, warm = hours_outside(one, felt)
    assert (list(cold), list(warm)) == ([1.0, 1.0], [0.0, 2.0])
    asked = Promise.model_validate({"id": "p", "kind": "hours-outside-band", "limit": 2}, context={"units": "si"})
    year = Rooms(air_c=felt, operative_c=felt + 1.0)
    assert value_of(one, asked, Evidence(("a", "b"), "a", {}, year)) == 3.0
    mine = asked.model_copy(update={"room": "a"})
    assert value_of(one, mine, Evidence(("a", "b"), "a", {}, year)) == 1.0
    assert value_of(one, asked, Evidence(("a", "b"), "a", {}, None)) is None


@pytest.mark.analytic
def test_a_rooms_distance_is_the_worst_of_both_seasons() -> None:
    """By hand: 1.5 K behind in winter, 2.5 K ahead in summer; of the felt temperature half a kelvin more."""
    days = {
        ("heating", "shut"): Rooms(np.array([[20.0, 18.5], [20.0, 19.0]]), np.array([[20.0, 18.0], [20.0, 18.5]])),
        ("cooling", "shut"): Rooms(np.array([[25.0, 27.5], [25.0, 26.0]]), np.array([[25.0, 28.0], [25.0, 26.5]])),
    }
    raw = {"id": "p", "kind": "room-temperature-offset", "limit": "2 K", "room": "b", "doors": "shut"}
    asked = Promise.model_validate(raw, context={"units": "si"})
    known = Evidence(("a", "b"), "a", days)
    wanted = {("both", "air"): 2.5, ("heating", "air"): 1.5, ("cooling", "air"): 2.5, ("heating", "operative"): 2.0}
    for (season, what), value in wanted.items():
        given = asked.model_copy(update={"season": season, "temperature": what})
        assert value_of(house(TWO), given, known) == value, (season, what)
    assert value_of(house(TWO), asked, Evidence(("a", "b"), "a", {})) is None


@pytest.mark.published
@pytest.mark.parametrize(("spacing_in", "wide", "deep"), [(12.0, 6.0, 4.0), (9.0, 5.0, 4.0), (6.0, 4.0, 3.0)])
def test_tube_of_a_field_by_its_area(spacing_in: float, wide: float, deep: float) -> None:
    """Trade handbooks: length of tube in a field = area x 12 / spacing [ft, ft2, in]; leaders come on top."""
    spacing = spacing_in * 0.0254
    field = lay_field(box(0, 0, wide, deep), ((0.5 * wide, 0.0),), spacing_m=spacing, bend_m=0.1, gap_m=0.0508)
    assert field is not None
    tube = LineString(field.band.exterior.coords)
    wanted = wide * FT**-2 * deep * 12.0 / (field.spacing_m / 0.0254)
    assert_close(tube.length / FT, wanted, rel=0.02, why="what the ends of the lanes add or lack")
    assert abs(field.spacing_m / spacing - 1.0) <= 0.1


@pytest.mark.published
def test_water_of_a_floor_follows_the_cold() -> None:
    """Outdoor reset, trade handbooks: Ts = Ti + (Tsd - Ti)(Ti - To)/(Ti - Tod), a line; never less than what flows."""
    demo = read_house(DEMO).house
    demo = demo.model_copy(update={
        "floor": demo.floor.model_copy(update={"reset": True, "supply_most_c": 44.0}),
        "household": demo.household.model_copy(update={"heating_set_point_c": 20.0}),
    })  # fmt: skip
    heat = FloorHeat((), (), {}, "", supply_c=40.0, needed_supply_c=40.0, ground_c=10.0)
    outdoor = np.array([-30.0, -20.0, 0.0, 10.0, 20.0, 25.0])
    got = supply_c(demo, heat, outdoor, -20.0)
    assert_close(got, [44.0, 40.0, 30.0, 25.0, 24.0, 24.0], rel=1e-12, why="by hand")
    fixed = demo.model_copy(update={"floor": demo.floor.model_copy(update={"reset": False})})
    assert_close(supply_c(fixed, replace(heat, supply_c=41.0), outdoor, -20.0), [41.0] * 6, rel=1e-12, why="by hand")


@pytest.mark.published
def test_a_heater_with_63_gallons_runs_ten_minutes() -> None:
    """Trade handbooks' worked line: V = t (Qmin - Qload)/(500 dT): 10 min, 68,000 and 5,000 Btu/h, 20 °F: 63 gal."""
    store = 63 * 500 / 60 * 1055.056 / (5 / 9)  # 500 Btu/h a gpm and °F
    load, least, band = 5000 * BTU_H, 68000 * BTU_H, 20 * 5 / 9
    rests = store * band / load
    days = 20
    counted = _counted(np.full(days * 1440, load), least, store)
    assert_close(counted, days * 86400.0 / (600.0 + rests), rel=0.02, why="whole minutes; the first rest")
