"""Design heating load and house pressure against worked values, and properties on the example houses."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inshell.climate.choose import climate_of
from inshell.design.envelope import calculate_elements
from inshell.design.heating import air_w, calculate_heating, ground_factor, reheat_w_m2, transmission_w
from inshell.design.pressure import Device, Shell, calculate_pressures, house_pressure_pa, solve_pressure
from inshell.house.geometry import derive
from inshell.house.reading import read_house
from inshell.physics.fan import FanCurve, default_curve
from inshell.physics.flow import coefficient_m3_s_pan
from tests.evidence import CFM, EXAMPLES, FT, assert_close
from tests.houses import house, rectangle

PRINTED = "half a unit of the last printed digit"


@pytest.mark.published
def test_room_of_the_standard_adds_up() -> None:
    # EN 12831-1 (from memory), worked room: 20 m2 x 2.5 m, wall 12 m2 .15, window 3 m2 .8, dU .02 on both, floor .12,
    # .5 /h with 80 % recovered + .05 /h, 20/-12, te_m 9 -> 263.9 W
    temperatures = {"inside_c": 20.0, "outside_c": -12.0}
    total = transmission_w(area_m2=12.0, u_w_m2k=0.17, factor=1.0, **temperatures)
    total += transmission_w(area_m2=3.0, u_w_m2k=0.82, factor=1.0, **temperatures)
    total += transmission_w(
        area_m2=20.0, u_w_m2k=0.12, factor=ground_factor(mean_annual_c=9.0, **temperatures), **temperatures
    )
    for changes in (0.5 * 0.2, 0.05):
        total += air_w(flow_m3_s=changes * 50.0 / 3600.0, pressure_pa=101325.0, **temperatures)
    assert_close(total, 263.9, abs=0.06, why=PRINTED)


@pytest.mark.published
def test_reheat_rows() -> None:
    # EN 12831-1 (from memory): 1 / 2 / 4 h after a drop of 1 K
    assert [reheat_w_m2(hours=h) for h in (1, 2, 4)] == [11.0, 6.0, 2.0]
    with pytest.raises(ValueError, match="1 to 4"):
        reheat_w_m2(hours=0.5)


def panel_u(*, foam_in: float, lumber: float, inside_film: float) -> float:
    """ISO 6946 mean of both limits for two skins, foam with lumber and board, written out again."""
    foam = foam_in * 0.0254
    rest = inside_film + 0.04 + 2 * (7 / 16 * 0.0254) / 0.12 + 0.0127 / 0.16
    r_foam, r_wood = foam / 0.036, foam / 0.12
    upper = 1.0 / (lumber / (rest + r_wood) + (1 - lumber) / (rest + r_foam))
    lower = rest + 1.0 / (lumber / r_wood + (1 - lumber) / r_foam)
    return 2.0 / (upper + lower)


@pytest.mark.analytic
def test_demo_load_by_hand() -> None:
    """The demo cottage's whole load, added up on paper (docs/examples.md)."""
    file = read_house(Path("examples/demo-cottage/demo-cottage.toml"))
    result = calculate_heating(file.house, file.geometry, climate_of(file.house, file.folder))
    k_ip, t = 5.678263, (70 - 18) / 1.8
    ft2 = FT**2
    wall_u = panel_u(foam_in=5.625, lumber=0.05, inside_film=0.13) + 0.02
    roof_u = panel_u(foam_in=9.375, lumber=0.03, inside_film=0.10) + 0.02
    glass, door = 0.27 * k_ip + 0.02, 0.17 * k_ip + 0.02
    walls = 116 * 8 + 2 * 60.5 - 107.0 - 20.0  # ft2: four walls and two gables less windows and door
    losses = (walls * wall_u + 885.45 * roof_u + 107.0 * glass + 20.0 * door) * ft2 * t
    mean, inside = file_mean(file), (70 - 32) / 1.8
    losses += 792 * ft2 * 0.26859 * 1.45 * (inside - mean)
    flow = 22 * 0.3 + (30**2 + (8514 * 0.8 * 0.03 / 60) ** 2) ** 0.5  # cfm: 70 % recovered, root of squares
    losses += 0.34 * 3600 * (1 - 0.0065 * 895 * FT / 288.15) ** 5.2559 * flow * CFM * t
    assert_close(
        result.total_w, losses, rel=2e-3, why="roof area to a tenth of a square foot; the slab's U to five digits"
    )


def file_mean(file: object) -> float:
    year = climate_of(file.house, file.folder).year  # type: ignore[attr-defined]
    assert year is not None
    return float(year.mean_c)


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_air_is_shared_out_whole_and_house_is_the_sum_of_rooms(path: Path) -> None:
    file = read_house(path)
    result = calculate_heating(file.house, file.geometry, climate_of(file.house, file.folder))
    shared = sum(room.outdoor_air_m3_s for room in result.rooms)
    assert_close(shared, result.air.total_m3_s, rel=1e-9, why="rounding")
    between = sum(loss.watts for room in result.rooms for loss in room.losses if loss.kind == "room")
    assert_close(between, 0.0, abs=1e-6, why="heat between rooms leaves one and enters the other")
    assert_close(sum(room.total_w for room in result.rooms), result.total_w, rel=1e-9, why="rounding")


@pytest.mark.analytic
def test_a_room_that_is_not_heated_finds_its_own_temperature() -> None:
    """Two conductances: through the partition at 20 °C, through its outer surfaces at -10 °C; others carry its loss."""
    rooms = [
        {"id": "main", "ceiling": 2.5, "outline": rectangle(0, 0, 6, 5)},
        {"id": "porch", "ceiling": 2.5, "heated": False, "outline": rectangle(6, 0, 9, 5)},
    ]
    enclosure = {
        "wall": "w",
        "roof": "w",
        "floor": "w",
        "partition": "p",
        "partition_thickness": "10 cm",
        "thermal_bridge": 0.0,
    }
    h = house(rooms, enclosure=enclosure, tightness={"ach50": 1e-9}, household={"heating_set_point": "20 °C"})
    g = derive(h)
    result = calculate_heating(h, g, climate_of(h, Path()))
    own = {room: sum(e.ua_w_k for e in calculate_elements(h, g) if e.room == room) for room in ("main", "porch")}
    between = 5 * 2.5 / (0.1 / 0.16 + 2 * 0.13)
    porch = (between * 20.0 + own["porch"] * -10.0) / (between + own["porch"])
    assert_close(result.of("porch").set_point_c, porch, abs=1e-6, why="the same two conductances")
    assert result.of("porch").total_w == 0.0
    assert_close(
        result.total_w,
        own["main"] * 30.0 + own["porch"] * (porch + 10.0),
        abs=1e-3,
        why="its loss is carried by the main room",
    )


@pytest.mark.invariant
def test_a_wall_names_what_it_faces_in_any_order() -> None:
    room = [{"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 5)}]
    for wall in ("a:c1-c2", "a:c2-c1", "a:south"):
        g = derive(house(room, buffer=[{"id": "n", "kind": "house-next-door", "walls": [wall]}]))
        assert [s.id for s in g.surfaces if s.other == "n"] == ["a:c1-c2"]


@pytest.mark.invariant
def test_colder_means_more_and_higher_means_less_air_heat() -> None:
    file = read_house(Path("examples/micro-house/micro-house.toml"))
    climate = climate_of(file.house, file.folder)
    colder = replace(climate, design=replace(climate.design, heating_c=climate.design.heating_c - 10.0))
    thinner = replace(climate, pressure_pa=0.8 * climate.pressure_pa)
    base, cold, thin = (calculate_heating(file.house, file.geometry, c) for c in (climate, colder, thinner))
    assert cold.total_w > base.total_w
    air = [sum(room.air_w for room in result.rooms) for result in (base, thin)]
    assert_close(air[1], 0.8 * air[0], rel=1e-9, why="outdoor air scales with density")


@pytest.mark.published
@pytest.mark.parametrize(
    ("ach50", "pressures"), [(0.6, (5.9, 24.3, 70.5)), (1.0, (2.7, 11.1, 32.1)), (3.0, (0.5, 2.0, 5.9))]
)
def test_house_pressure_of_constant_exhaust(ach50: float, pressures: tuple[float, ...]) -> None:
    # V 8,000 ft3, n .65: 20, 50, 100 cfm; computed from P = (Q/C)^(1/n)
    got = [
        -house_pressure_pa(flow_at_50_pa_m3_s=ach50 * 8000 / 60 * CFM, exponent=0.65, exhaust_m3_s=q * CFM)
        for q in (20, 50, 100)
    ]
    assert_close(got, pressures, abs=0.06, why=PRINTED)


def shell(cfm50: float, height_m: float = 5.0) -> Shell:
    c = float(coefficient_m3_s_pan(flow_m3_s=cfm50 * CFM, pressure_pa=50.0, exponent=0.65))
    return Shell(c, 0.65, np.array([0.0]), np.array([height_m]), np.array([1.0]))


def constant(cfm: float, sign: float = -1.0) -> Device:
    return Device("fan", "fan", sign, FanCurve((0.0, 1e5), (cfm * CFM, cfm * CFM)))


@pytest.mark.published
def test_fan_alone_and_under_stack() -> None:
    # 20 cfm on 133 cfm50 is -2.7 Pa alone and -6.4 Pa at the floor under 5 m of stack at 20/-10 °C
    gradient = (1.3414 - 1.2041) * 9.80665
    assert_close(solve_pressure(shell(133), [constant(20)], 0.0), -2.7, abs=0.06, why=PRINTED)
    assert_close(solve_pressure(shell(133), [constant(20)], gradient), -6.4, abs=0.06, why=PRINTED)


@pytest.mark.published
def test_field_report_in_kind() -> None:
    # a 91 cfm50 house is pulled to about -50 Pa by its dryer alone: 91 cfm by definition of cfm50
    assert_close(solve_pressure(shell(91), [constant(91)], 0.0), -50.0, abs=1e-6, why="definition of flow at 50 Pa")


@pytest.mark.analytic
def test_stack_alone_has_its_neutral_plane_at_mid_height() -> None:
    got = solve_pressure(shell(133), [], 1.2)
    assert_close(got, -1.2 * 2.5, abs=1e-6, why="uniform leakage is symmetric about the middle")


@pytest.mark.invariant
def test_supply_mirrors_exhaust() -> None:
    out, into = (solve_pressure(shell(133), [constant(40, sign)], 0.0) for sign in (-1.0, 1.0))
    assert_close(out, -into, rel=1e-8, why="tolerance of the root")


@pytest.mark.invariant
def test_a_tighter_shell_never_lessens_the_suction() -> None:
    curve = default_curve(rated_flow_m3_s=80 * CFM, rated_pressure_pa=25.0, maximum_pressure_pa=125.0)
    fan = Device("fan", "fan", -1.0, curve)
    pressures = [solve_pressure(shell(q), [fan], 0.0) for q in (20, 50, 100, 300, 1000)]
    assert pressures == sorted(pressures)
    assert min(pressures) > -125.0


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_combination_is_there_once(path: Path) -> None:
    file = read_house(path)
    result = calculate_pressures(
        file.house,
        file.geometry,
        flow_at_50_pa_m3_s=0.05,
        exponent=0.65,
        inside_c=21.0,
        outside_c=-10.0,
        pressure_pa=101325.0,
    )
    assert len({state.running for state in result.states}) == len(result.states)
    idle = result.of(set())
    assert_close(idle.fans_alone_pa, 0.0, abs=1e-6, why="nothing runs")
    assert idle.with_stack_pa < 0.0
