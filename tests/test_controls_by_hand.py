"""Rows of control step by step, weeks before a year, and limits of heads, grilles, floors, tests, corners, lanes."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from inshell.climate.choose import Design, HouseClimate
from inshell.climate.year import HOURS, SERIES, ClimateYear
from inshell.design import tube_lanes
from inshell.design.coupled import films_of
from inshell.design.dry_year import inside_points
from inshell.design.floor_heat import Build, _Day
from inshell.design.leak_places import Share
from inshell.design.room_findings import observe_rooms
from inshell.design.room_pressures import calculate_room_pressures
from inshell.design.tightness import Readings, reduce_test
from inshell.design.tube_lanes import Lattice
from inshell.house.geometry import derive
from inshell.network.compiled import run
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.reference import run_reference
from inshell.network.rooms import EDGE, thermal_of
from inshell.network.system import Control, Forcing, Sensor, Series, System, Target, first_state
from inshell.network.thermal import ThermalNetwork
from inshell.physics.ventilation import zone_ppm
from inshell.study import sampling
from inshell.study.trying import capacity_w
from tests.evidence import assert_close
from tests.houses import GABLE, house, rectangle

EXACT = "by hand, rounding only"
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]
DOOR = {"id": "d", "between": ["a", "b"], "width": 0.8, "height": 2.0}


# ------------------------------------------------------------------------------------------------ rows of control


def still_room(controls: tuple[Control, ...]) -> tuple[System, Forcing]:
    """An hour of one room with nothing to move it: 20 °C inside and out, a tight crack, all rows permitted."""
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(4e6)
    thermal.face(0, 0, 50.0)
    crack = Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=1e-6)
    system = System(
        thermal=thermal, air=AirNetwork(("room",), (crack,)), mass_kg=np.array([40.0]), buffer_kg=np.zeros(1),
        buffer_kg_s_pa=np.zeros(1), pressure_pa=101325.0, radiant=(0,), controls=controls,
    )  # fmt: skip
    one, none, held = np.ones((1, 1)), np.zeros((1, 1)), np.full((1, 1), np.nan)
    forcing = Forcing(
        outdoor_c=np.full(1, 20.0), outdoor_vapour=np.full(1, 0.005), boundary_c=20.0 * one, source_w=none,
        vapour_kg_s=none, gas_kg_s=none, wind_pa=none, route_share=one, heat_at_c=held, cool_at_c=held,
        most_w=1e7 * one, least_w=-1e7 * one, permit=np.ones((1, len(controls))),
    )  # fmt: skip
    return system, forcing


@pytest.mark.analytic
@pytest.mark.parametrize("stepped", [run_reference, run], ids=["readable", "compiled"])
def test_rows_keep_their_rest_their_run_and_what_they_run_on(stepped: Callable[..., Series]) -> None:
    """Six steps of 600 s at 20 °C. Wanted above 15 °C but off for only 600 of 1,500 s: off until 1,800 s are over, then
    on for four steps, with its 800 s of running on whole. Not wanted above 25 °C but on for only 600 of 1,500 s: on
    until 1,800, then off for four steps. 1,300 s left to run on: 1,300, 700, 100, nothing left in the fourth step."""
    given: dict[str, Any] = {"target": Target.NODE_W, "index": 0, "level_on": 0.0}
    rows = (
        Control("rest", Sensor.AIR_C, 0, True, 15.0, 14.0, min_off_s=1500.0, hold_s=800.0, **given),
        Control("run", Sensor.AIR_C, 0, True, 25.0, 24.0, min_on_s=1500.0, **given),
        Control("on", Sensor.AIR_C, 0, True, 25.0, 24.0, hold_s=2000.0, **given),
    )
    system, forcing = still_room(rows)
    state = first_state(system, air_c=20.0, humidity=0.4)
    state.on_s, state.hold_s = np.array([-600.0, 600.0, 600.0]), np.array([0.0, 0.0, 1300.0])
    told = stepped(system, forcing, state, step_s=600.0, slot_s=600.0)
    want = [[0, 1, 1], [0, 1, 1], [1, 0, 1], [1, 0, 0], [1, 0, 0], [1, 0, 0]]
    assert_close(told.control_on, want, abs=1e-12, why="a row is on or off")
    assert_close(told.state.on_s, [2400.0, -2400.0, -1800.0], rel=1e-12, why=EXACT)
    assert_close(told.state.hold_s, [800.0, 0.0, 0.0], abs=1e-9, why=EXACT)
    assert_close(state.on_s, [-600.0, 600.0, 600.0], rel=1e-12, why="the state that it begins from stays as it was")


# ------------------------------------------------------------------------------------------------ years and weather


@pytest.mark.analytic
def test_a_sampled_year_comes_after_its_own_last_four_weeks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hours 8,088 to 8,759 of each point, from the nominal state; then the whole year from where those ended."""
    calls: list[tuple[list[Any], list[Any], list[Any]]] = []

    def runs(systems: list[Any], forcings: list[Any], states: list[Any], **_: object) -> list[SimpleNamespace]:
        calls.append((systems, forcings, states))
        return [SimpleNamespace(state=(len(calls), float(f[0])), forcing=f) for f in forcings]

    class Hourly(np.ndarray[Any, Any]):
        def rows(self, first: int, last: int) -> np.ndarray[Any, Any]:
            return np.append(np.asarray(self[first:last]), math.inf)  # never empty

    def forcing(point: dict[str, float], days: np.ndarray[Any, Any]) -> Hourly:
        assert (len(days), days[0], days[23], days[24], days[-1]) == (HOURS, 0, 0, 1, 364)
        return (point["weather_k"] + np.arange(HOURS)).view(Hourly)

    monkeypatch.setattr(sampling, "run_variants", runs)
    year = SimpleNamespace(system=lambda point: ("house", point["weather_k"]), forcing=forcing)
    work = SimpleNamespace(year=year, ready=SimpleNamespace(year=(None, "nominal")))
    points = [{"weather_k": 0.25}, {"weather_k": -2.0}]
    told = sampling._Work._years(cast(Any, work), points)
    assert len(calls) == 2
    for (systems, forcings, _), first in zip(calls, (HOURS - 28 * 24, 0), strict=True):
        assert systems == [("house", 0.25), ("house", -2.0)]
        for point, hours in zip(points, forcings, strict=True):
            known = np.asarray(hours)[np.isfinite(hours)]
            assert len(known) == HOURS - first
            assert_close(known, point["weather_k"] + np.arange(first, HOURS), abs=1e-9, why=EXACT)
    assert calls[0][2] == ["nominal", "nominal"]
    assert calls[1][2] == [(1, 8088.25), (1, 8086.0)]
    assert [row.state for row in told] == [(2, 0.25), (2, -2.0)]


@pytest.mark.analytic
def test_pressures_of_rooms_say_their_weather_and_what_they_hold() -> None:
    """Design cold of -10 °C, and 3.5 °C of the one hour with wind; one fan, on or off. A door bears at both its sides:
    the force at its handle is half of pressure times 1.6 m2."""
    still = {name: np.zeros(HOURS) for name in SERIES} | {"dry_bulb_c": np.full(HOURS, 10.0)}
    still |= {"sun_zenith_deg": np.full(HOURS, 120.0), "extraterrestrial_w_m2": np.full(HOURS, 1400.0)}
    still |= {"pressure_pa": np.full(HOURS, 101325.0)}
    still["wind_speed_m_s"][4000], still["dry_bulb_c"][4000] = 9.0, 3.5
    design = Design(-10.0, "entered", 33.0, "entered", 10.0, "entered")
    climate = HouseClimate(ClimateYear("still", "none", 40.0, -80.0, 0.0, -5.0, **still), design, 101325.0, ())
    one = house(TWO, door=[DOOR], fan=[{"id": "out", "room": "b", "rated_flow": "60 cfm"}])
    cold, windy = calculate_room_pressures(one, derive(one), climate)
    assert (cold.weather, cold.outdoor_c) == ("design cold, still", -10.0)
    assert (windy.weather, windy.outdoor_c) == ("the windiest hour of the year", 3.5)
    for told in (cold, windy):
        assert (told.doors, told.rooms, told.not_varied) == ("shut", ("a", "b"), ())
        assert [set(names) for names in told.running] == [set(), {"out"}]
        assert [set(flows) for flows in told.flows_m3_s] == [set(), {"out"}]
        assert told.worst == 1
        assert told.pressure_pa[1, 1] < told.pressure_pa[1, 0] < told.pressure_pa[0, 0], "most where the fan is"
        force = 0.5 * 1.6 * float(np.abs(told.pressure_pa[:, 0] - told.pressure_pa[:, 1]).max())
        assert_close(told.door_n["d"], force, rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ heads and grilles


def point(mode: str, outdoor_c: float, most_w: float) -> dict[str, str]:
    return {"mode": mode, "outdoor": f"{outdoor_c} °C", "maximum": f"{most_w} W"}


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("unit_w", "heating_w", "cooling_w"), [(4000.0, 4700.0, 4000.0), (5000.0, 5200.0, 5000.0), (6000.0, 5200.0, 5300.0)]
)
def test_heads_of_one_outdoor_unit_give_no_more_than_it(unit_w: float, heating_w: float, cooling_w: float) -> None:
    """At 0 °C 3,000 W, half way from 2,000 to 4,000, and 1,500 W: 4,500; at 35 °C 3,500 and 1,800: 5,300 W. The unit
    limits them, not the 700 W of a heater, which does not cool."""
    given = (
        [point("heating", -10, 2000), point("heating", 10, 4000), point("cooling", 35, 3500)],
        [point("heating", 0, 1500), point("cooling", 35, 1800)],
    )
    heads = [{"id": f"h{k}", "room": "ab"[k], "outdoor_unit": "u", "point": rows} for k, rows in enumerate(given)]
    rest = {
        "outdoor_unit": [{"id": "u", "maximum": f"{unit_w} W"}],
        "heater": [{"id": "e", "room": "a", "power": "700 W"}],
    }
    one = house(TWO, head=heads, **rest)
    assert_close(capacity_w(one, "heating", 0.0), heating_w, rel=1e-12, why=EXACT)
    assert_close(capacity_w(one, "cooling", 35.0), cooling_w, rel=1e-12, why=EXACT)
    assert capacity_w(one, "cooling", None) is None
    idle = {"outdoor_unit": [*rest["outdoor_unit"], {"id": "v", "maximum": "9000 W"}], "heater": rest["heater"]}
    assert_close(capacity_w(house(TWO, head=heads, **idle), "heating", 0.0), heating_w, rel=1e-12, why="v serves none")
    apart = [heads[0], heads[1] | {"outdoor_unit": "v"}]
    assert_close(capacity_w(house(TWO, head=apart, **idle), "heating", 0.0), 5200.0, rel=1e-12, why="each its own")


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("face_m2", "speed"), [(0.025, None), (0.0198, None), (0.0195, 303), (0.015, 394), (0.005, 1181)]
)
def test_air_is_fast_at_a_grille_above_300_feet_a_minute(face_m2: float, speed: int | None) -> None:
    """0.03 m3/s: 1.2, 1.515, 1.538, 2 and 6 m/s; 300 ft/min (common practice) are 1.524 m/s and ask for 0.01969 m2."""
    fan = {"id": "t", "from_room": "a", "to_room": "b", "flow": "0.03 m3/s", "face": f"{face_m2} m2"}
    found = [f for f in observe_rooms(house(TWO, transfer_fan=[fan])) if f.code == "transfer-face-fast"]
    assert [f.values["speed"] for f in found] == ([] if speed is None else [speed])
    for finding in found:
        assert finding.where == "transfer_fan.t"
        assert_close(finding.values["area"][0], 0.03 / (300.0 * 0.3048 / 60.0), rel=1e-9, why=EXACT)


# ------------------------------------------------------------------------------------------------ heat of a floor


@pytest.mark.analytic
def test_a_loop_gives_up_and_down_by_its_field_and_its_strips() -> None:
    """Stars 0.1, 0.2, 1 m2K/W: 40 °C water, 20 °C room, 8 °C earth: (400 + 100 + 8)/16 = 31.75 °C, 58.75 W/m2 up and
    23.75 down. Strips 0.05, 0.25, 1, room of 18 °C over 6 °C: (800 + 72 + 6)/25 = 35.12 °C, 68.48 up and 29.12 down.
    7.5 m2 of field; of strips 6 m x 0.05 and 6/10 of 0.18 m along a bundle of 3 m: 0.624 m2."""
    cell = cast(Any, None)
    lies = {"areas": {"a": box(0.0, 0.0, 3.0, 2.5)}, "passes": {"b": 6.0}}
    loop, other = SimpleNamespace(id="one", **lies), SimpleNamespace(id="two", areas={}, passes={"b": 4.0})
    day = _Day.__new__(_Day)
    day.plan = cast(Any, SimpleNamespace(runs=(loop, other), gap_m=0.05))
    day.builds = {"one": Build(cell, 0.2, 0.1, 0.2, 1.0, 0.3)}
    day.strips = {"one": Build(cell, 0.05, 0.05, 0.25, 1.0, 0.3)}
    day.facts = cast(
        Any, {"a": SimpleNamespace(here_c=20.0, ground_c=8.0), "b": SimpleNamespace(here_c=18.0, ground_c=6.0)}
    )
    up, down = day._gives(cast(Any, loop), 40.0)
    assert_close(up, 7.5 * 58.75 + 0.624 * 68.48, rel=1e-12, why=EXACT)
    assert_close(down, 7.5 * 23.75 + 0.624 * 29.12, rel=1e-12, why=EXACT)
    through = 7.5 * (40.0 - 31.75) / 0.1 + 0.624 * (40.0 - 35.12) / 0.05
    assert_close(up + down, through, rel=1e-12, why="all that leaves the water goes up or down")


# ------------------------------------------------------------------------------------------------ shells and their air


@pytest.mark.analytic
def test_faces_lean_as_their_room_sees_them() -> None:
    """A floor is level from above and warms upwards (0, 1), a roof of 6 in 12 leans atan(1/2) = 26.57 degrees and takes
    heat from below (-1), walls and furnishings stand (90, 0); constants of convection make no such faces."""
    room: dict[str, Any] = {"id": "a", "outline": rectangle(0, 0, 6, 4), "ceiling": "roof"}
    for choice, some in (("by-difference", True), ("constant", False)):
        one = house([room], roof=GABLE, simulation={"convection": choice})
        geometry = derive(one)
        floors = [s.id for s in geometry.surfaces if s.kind == "floor"]
        thermal = thermal_of(one, geometry, strips=dict.fromkeys(floors, ((14.0, 0.2), (10.0, 0.4))))
        films = films_of(one, geometry, thermal)
        assert bool(films) is some
        kinds = {s.id: s.kind for s in geometry.surfaces}
        faces = {face.node: face.surface.removesuffix(EDGE) for face in thermal.faces}
        want = {"floor": (0.0, 1), "roof": (math.degrees(math.atan(0.5)), -1), "wall": (90.0, 0)}
        seen = set()
        for film in films:
            kind = kinds.get(faces[film.node], "wall")
            tilt, sense = want[kind]
            assert_close(film.tilt_deg, tilt, abs=1e-6, why=EXACT)
            assert film.sense == sense
            seen.add(kind)
        assert seen == (set(want) if some else set())


@pytest.mark.published
def test_corners_frames_and_glass_by_their_factors() -> None:
    """ISO 13788: 1 - Rsi U. Behind furniture 0.35 x 0.5 (from memory): 0.825; glass 0.13 x 1.4: 0.818; a frame 0.60
    (from memory). At 20 °C inside and -10 °C outdoors 14.75, 14.54 and 8 °C; at 10 °C outdoors none is below 16.

    Half of 2,339 Pa is wet below 9.3 °C and above 0.8 below 12.7 °C: frames in the 24 cold hours of 48."""
    window = {"id": "w", "room": "b", "wall": "south", "width": 1.0, "height": 1.0, "glazing": "g"}
    shell = [{"id": "w", "u": "0.5 W/m2K"}, {"id": "p", "layers": [{"material": "gypsum", "thickness": "0.1 m"}]}]
    one = house(TWO, window=[window], assembly=shell, glazing=[{"id": "g", "u": 1.4, "shgc": 0.5}])
    outdoor = np.repeat([-10.0, 10.0], 24)
    ready = SimpleNamespace(
        routes=SimpleNamespace(network=SimpleNamespace(rooms=("a", "b"))), thermal=SimpleNamespace(faces=()),
        forcing=SimpleNamespace(outdoor_c=outdoor),
    )  # fmt: skip
    series = SimpleNamespace(nodes_c=np.full((48, 3), 20.0), humidity=np.full((48, 2), 0.5))
    told = {(p.room, p.where): p for p in inside_points(one, derive(one), cast(Any, ready), cast(Any, series))}
    want = {("a", "corner of outer walls"): (0.825, 0), ("b", "corner of outer walls"): (0.825, 0),
            ("b", "glass"): (0.818, 0), ("b", "window frame"): (0.60, 24)}  # fmt: skip
    assert set(told) == set(want)
    for key, (factor, wet) in want.items():
        assert_close(told[key].factor, factor, rel=1e-12, why=EXACT)
        assert_close(told[key].coldest_c, -10.0 + 30.0 * factor, rel=1e-12, why=EXACT)
        assert (told[key].hours_wet, told[key].hours_damp) == (wet, wet)


@pytest.mark.analytic
def test_carbon_dioxide_rises_evenly_where_no_air_comes() -> None:
    """6e-6 m3/s into 30 m3: 0.2 ppm a second, 360 in half an hour, 720 in one, on top of 600."""
    given = {"source_m3_s": 6e-6, "volume_m3": 30.0, "start_ppm": 600.0, "after_s": np.array([0.0, 1800.0, 3600.0])}
    got = zone_ppm(outdoor_flow_m3_s=0.0, **given)
    assert_close(got, [600.0, 960.0, 1320.0], rel=1e-12, why=EXACT)
    little = zone_ppm(outdoor_flow_m3_s=1e-9, **given)
    assert_close(little, got, abs=1e-3, why="a flow of nothing is the limit of a small one")


@pytest.mark.analytic
def test_a_likely_size_lies_half_way_by_its_ratio() -> None:
    """4 and 9 cm2: 6 is 1.5 times the one and two thirds of the other."""
    share = Share(cast(Any, None), 4e-4, 1e-4, 9e-4)
    assert_close(share.half_way_m2, 6e-4, rel=1e-12, why=EXACT)


@pytest.mark.analytic
def test_two_directions_make_one_line_through_their_mean_at_50_pa() -> None:
    """0.010 p^0.6 and 0.008 p^0.7: at 50 Pa 0.1046 and 0.1237, mean 0.11414 m3/s; with the mean exponent of 0.65 the
    coefficient is half of 0.010 x 50^-0.05 and 0.008 x 50^0.05: 0.0089759. One direction keeps its own."""
    pressure = np.array([20.0, 30.0, 40.0, 50.0, 60.0])
    flows = (0.010 * pressure**0.6, 0.008 * pressure**0.7)
    both = reduce_test(
        Readings(
            np.r_[-pressure, pressure], np.r_[flows], direction=("depressurise",) * 5 + ("pressurise",) * 5
        ),
        volume_m3=250.0, method="as-entered",
    )  # fmt: skip
    assert_close(both.exponent, 0.65, rel=1e-9, why="points on two lines")
    assert_close(both.flow_at_50_pa_m3_s, 0.11414, rel=1e-4, why="five digits")
    assert_close(both.coefficient_m3_s_pan, 0.5 * (0.010 * 50.0**-0.05 + 0.008 * 50.0**0.05), rel=1e-9, why=EXACT)
    assert_close(both.coefficient_m3_s_pan, 0.0089759, rel=1e-4, why="five digits")
    alone = reduce_test(Readings(-pressure, flows[0]), volume_m3=250.0, method="as-entered")
    assert_close(alone.coefficient_m3_s_pan, 0.010, rel=1e-9, why="points on one line")


# ------------------------------------------------------------------------------------------------ lanes


class Ending(Lattice):
    """A lattice whose ways back to their starts must end, instead of going round for ever."""

    def _walked(self, came: dict[int, int], last: int) -> list[tuple[int, int]]:
        state, seen = last, {last}
        while state in came:
            state = came[state]
            assert state not in seen, "a way passes no place twice in one direction"
            seen.add(state)
        return super()._walked(came, last)


@pytest.mark.analytic
@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("turned", range(4))
def test_a_lane_comes_the_cheapest_way_from_the_nearer_start(
    side: int, turned: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A passage of nine places with a side way: straight along it eight steps, from the side way six and a turn of 3.

    Turned by quarters and on either side it stays the same way. Nothing is reached again that was as cheap before: no
    more steps are told than places have ways in and out, and no way where there is none."""

    def turn(i: int, j: int) -> tuple[int, int]:
        return ((i, j), (-j, i), (-i, -j), (j, -i))[turned]

    def about(node: tuple[int, int], half: float) -> Polygon:
        return box(node[0] - half, node[1] - half, node[0] + half, node[1] + half)

    passage, island = [turn(i, 0) for i in range(-5, 4)] + [turn(1, -1), turn(1, -2)], turn(0, 5)
    boxes = [*(about(node, 0.6) for node in passage), about(island, 0.4)]
    told = Ending((0.0, 0.0), 1.0, unary_union(boxes))
    assert len(told.nodes) == 12
    real, pushes = tube_lanes.heapq, []

    def push(heap: list[Any], item: object) -> None:
        pushes.append(item)
        assert len(pushes) <= 16 * 12, "each of four ways into a place leads on by four at most, once"
        real.heappush(heap, item)

    limited = SimpleNamespace(heappush=push, heappop=real.heappop, heapify=real.heapify)
    monkeypatch.setattr(tube_lanes, "heapq", limited)
    path = told.path({turn(3, 0), turn(1, -2)}, {turn(-5, 0)}, side)
    assert path == [turn(i, 0) for i in range(3, -6, -1)]
    pushes.clear()
    assert told.path({turn(3, 0)}, {island}, side) is None
