"""Still more pieces by hand: gaps, streams, trapezoids, curves, floors, hours."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from inshell.cli.run import run as command
from inshell.climate.choose import climate_of
from inshell.design.cold_day import calculate_cold_day, heated_rooms
from inshell.design.cold_ducts import RecoveryAir
from inshell.design.drivers import prepare
from inshell.design.envelope import calculate_slab
from inshell.design.floor_heat import Build, build_of
from inshell.design.heads import contact_of
from inshell.design.heating import AirPlan
from inshell.design.observations import door_gap_m2
from inshell.design.pressure import devices_of
from inshell.design.room_year import RoomHours
from inshell.house.geometry import derive
from inshell.house.geometry.sides import Trapezoid
from inshell.house.model.house import House
from inshell.house.reading import read_house
from inshell.network.compiled import run
from inshell.network.fans import constant_curve, rated_curve
from inshell.network.system import first_state
from inshell.physics.air import density_kg_m3, vapour_from_adiabatic_wet_bulb_pa
from inshell.physics.buffering import penetration_depth_m
from inshell.physics.fan import curve_from_points, flow_at_m3_s
from inshell.physics.slab_cell import SlabCell
from tests.evidence import CFM, DEMO, assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
TWO = [
    {"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5, "use": "kitchen-living"},
    {"id": "b", "outline": rectangle(4, 0, 7, 3), "ceiling": 2.5, "use": "bedroom"},
]


def two(**more: object) -> House:
    return house(TWO, **more)


@pytest.mark.analytic
def test_a_shut_door_leaves_undercut_jambs_head_and_grille() -> None:
    """0.8 x 2.0 m, undercut 12 mm, gaps of 2 mm on three sides, grille 0.01 m2: 0.0096 + 0.002 x 4.8 + 0.01."""
    door = {"id": "d", "between": ["a", "b"], "width": 0.8, "height": 2.0, "undercut": "12 mm", "jamb_gap": "2 mm",
            "grille": "0.01 m2"}  # fmt: skip
    assert_close(door_gap_m2(two(door=[door]).door[0]), 0.0096 + 0.0096 + 0.01, rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_streams_of_ventilators_and_plans() -> None:
    unit = RecoveryAir("u", 0.02, 0.03, 0.02, "none", 0, 0.7, 100.0, 0.0, 0.0, 0, None)
    assert_close(unit.unbalance, 1.0 / 3.0, rel=1e-12, why=EXACT)
    assert RecoveryAir("u", 0.0, 0.0, 0.0, "none", 0, 0.7, 0.0, 0.0, 0.0, 0, None).unbalance == 0.0
    plan = AirPlan(0.02, 0.05, 0.01, 0.06)
    assert_close((plan.balanced_m3_s, plan.unbalanced_m3_s), (0.02, 0.03), rel=1e-12, why=EXACT)
    hours = RoomHours("a", 10.0, 5.0, 1.0, 2.0, 0.0, 0.0, 0.0)
    assert hours.outside_h == 15.0


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("low", "high", "area", "centre"),
    [
        ((0, 0), (2, 2), 6.0, 1.0), ((0, 0), (0, 3), 4.5, 1.0), ((1, 1), (1, 4), 4.5, 2.0), ((0, 3), (3, 3), 4.5, 2.0),
        ((0, 0), (1, 3), 6.0, 13.0 / 12.0),
    ],
)  # fmt: skip
def test_trapezoids_of_three_metres(low: tuple, high: tuple, area: float, centre: float) -> None:
    """Rectangle, triangles (a third up from their base), a trapezoid: (1 + 1 x 3 + 9)/3/4 = 13/12."""
    piece = Trapezoid(np.array([0.0, 0.0]), np.array([3.0, 0.0]), low, high, None, None, "")
    assert_close((piece.length_m, piece.area_m2), (3.0, area), rel=1e-12, why=EXACT)
    assert_close(piece.centre_z_m, centre, rel=1e-12, why=EXACT)


@pytest.mark.analytic
def test_a_house_is_as_high_as_it_is_wherever_its_floor_lies() -> None:
    for floor in (0.0, 3.0, -2.0):
        told = derive(house([TWO[0] | {"floor_height": floor}]))
        assert_close((told.height_m, told.lowest_m), (2.5, floor), abs=1e-9, why=EXACT)


@pytest.mark.analytic
def test_curves_of_fans_hold_and_fall() -> None:
    """Constant to its limit and nothing a tenth above; falling ones pass their rating; points in any order."""
    held = constant_curve(0.05, 100.0)
    got = [float(flow_at_m3_s(curve=held, pressure_pa=p)) for p in (0.0, 100.0, 105.0, 110.0)]
    assert_close(got, [0.05, 0.05, 0.025, 0.0], abs=1e-9, why=EXACT)
    rated = rated_curve(0.04, 25.0, 100.0)
    assert_close(float(flow_at_m3_s(curve=rated, pressure_pa=25.0)), 0.04, rel=1e-6, why="it passes its rating")
    assert float(flow_at_m3_s(curve=rated, pressure_pa=100.0)) < 1e-6
    points = curve_from_points(pressure_pa=[50.0, 0.0, 100.0], flow_m3_s=[0.03, 0.05, 0.0])
    assert_close(float(flow_at_m3_s(curve=points, pressure_pa=25.0)), 0.04, rel=1e-9, why="half way between two points")


@pytest.mark.analytic
def test_a_daily_swing_of_humidity_reaches_so_deep() -> None:
    """sqrt(1e-11 x 2000 x 86400 / (3.14159 x 55)) = sqrt(1.728e-3/172.788) = 3.1624 mm."""
    got = penetration_depth_m(
        permeability_kg_m_s_pa=1e-11, saturation_pa=2000.0, period_s=86400.0, moisture_capacity_kg_m3=55.0
    )
    assert_close(float(got), math.sqrt(1.728e-3 / (math.pi * 55.0)), rel=1e-12, why=EXACT)


@pytest.mark.analytic
def test_a_star_of_resistances_splits_what_the_water_gives() -> None:
    """Water 35, room 20, ground 10; 0.05 to the core, 0.2 above, 2.0 below: core = (700 + 100 + 5)/(20 + 5 + 0.5)."""
    build = Build(SlabCell(4.0, 0.4, 1.1), 0.3, 0.05, 0.2, 2.0, 0.0)
    core = 805.0 / 25.5
    assert_close(build.core_c(35.0, 20.0, 10.0), core, rel=1e-12, why=EXACT)
    up, down = build.up_w_m2(35.0, 20.0, 10.0), build.down_w_m2(35.0, 20.0, 10.0)
    assert_close(up, (core - 20.0) / 0.2, rel=1e-12, why=EXACT)
    assert_close(down, (core - 10.0) / 2.0, rel=1e-12, why=EXACT)
    assert_close(up + down, (35.0 - core) / 0.05, rel=1e-9, why="what the water gives goes up or down")
    assert_close(build.water_c(up, 20.0, 10.0), 35.0, rel=1e-9, why="and back")


@pytest.mark.analytic
def test_what_moves_air_through_the_shell() -> None:
    """Exhaust draws, supply presses, a vented dryer draws, an unvented one does not; a balanced unit does neither."""
    unit = {"id": "u", "room": "a", "supply_rooms": ["a"], "exhaust_rooms": ["b"], "supply_flow": "40 cfm",
            "exhaust_flow": "40 cfm", "recovery": 0.7}  # fmt: skip
    one = two(
        fan=[{"id": "out", "room": "a", "rated_flow": "60 cfm", "base_flow": "20 cfm"},
             {"id": "in", "room": "b", "kind": "supply", "rated_flow": "30 cfm"}],
        dryer=[{"id": "dry", "room": "a", "flow": "110 cfm"}], ventilator=[unit], hood=[{"id": "hood", "room": "a", "flow": "200 cfm"}],
    )  # fmt: skip
    told = {d.id: d for d in devices_of(one)[0]}
    assert set(told) == {"out", "out:base", "in", "dry", "hood"}
    flows = {name: device.net_flow_m3_s(0.0) / CFM for name, device in told.items()}
    assert flows["out"] < 0.0 < flows["in"]
    assert_close(flows["out:base"], -20.0, rel=1e-6, why="it holds its base flow")
    assert flows["dry"] <= -100.0
    lopsided = two(ventilator=[unit | {"exhaust_flow": "55 cfm"}])
    only = devices_of(lopsided)[0]
    assert_close(only[0].net_flow_m3_s(0.0) / CFM, -15.0, rel=1e-6, why="the larger stream less the smaller")
    closed = two(dryer=[{"id": "dry", "room": "a", "vented": False}])
    assert not devices_of(closed)[0]


@pytest.mark.invariant
def test_operative_lies_between_air_and_surfaces() -> None:
    """Half of air and half of what surrounds: beside cold walls a heated room feels a little colder than its air."""
    one = two(heater=[{"id": "h", "room": "a", "power": "3 kW"}])
    told = calculate_cold_day(one, derive(one), climate_of(one, Path()), doors_open=True, heated=heated_rooms(one))
    assert told.room_c["a"] - 4.0 < told.operative_c["a"] < told.room_c["a"]
    assert abs(told.operative_c["b"] - told.room_c["b"]) < 4.0


@pytest.mark.analytic
def test_a_floor_over_the_ground_by_its_resistances() -> None:
    """ISO 13370's U less film, slab and covering is what lies below: 1/U - 0.17 - 0.1/1.8 - 0.05, plus the slab below the
    tubes, 0.06/1.8; above, covering, film of 10.8 W/m2K and 0.04/1.8."""
    circuit = {"id": "c", "rooms": ["a"], "manifold": "m", "spacing": "0.2 m", "depth": "40 mm"}
    slab = {
        "id": "s",
        "thickness": "0.1 m",
        "conductivity": "1.8 W/mK",
        "under_r": 2.0,
        "covering_r": 0.05,
        "heated": True,
    }
    one = two(slab=[slab], circuit=[circuit], manifold=[{"id": "m", "room": "a"}])
    ground = calculate_slab(one, derive(one), one.slab[0])
    assert ground is not None
    build = build_of(one.slab[0], ground, one.circuit[0], 0.2)
    below = 1.0 / ground.effective_u_w_m2k - 0.17 - 0.1 / 1.8 - 0.05
    assert_close(build.below, below + 0.06 / 1.8, rel=1e-9, why=EXACT)
    assert_close(build.above, 0.05 + 1.0 / 10.8 + 0.04 / 1.8, rel=1e-9, why=EXACT)
    edge = (ground.effective_u_w_m2k - ground.u_w_m2k) / ground.effective_u_w_m2k
    assert_close(build.edge_share, max(edge, 0.0), abs=1e-12, why=EXACT)


@pytest.mark.analytic
def test_a_coil_touches_what_its_bypass_leaves() -> None:
    """Per rating: dry air of the greatest flow times one less the bypass; at another flow BF' = BF^(m/m')."""
    points = [{"mode": "cooling", "outdoor": "35 °C", "rated": "2600 W", "maximum": "3000 W", "power": "900 W"}]
    head = {"id": "h", "room": "a", "point": points, "air_flow": ["200 m3/h", "600 m3/h"], "sensible_share": 0.75}
    told = contact_of(two(head=[head]).head[0], 101325.0)
    dry, wet = (80.0 - 32.0) / 1.8, (67.0 - 32.0) / 1.8
    vapour = float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=dry, wet_bulb_c=wet, pressure_pa=101325.0))
    ratio = 0.621945 * vapour / (101325.0 - vapour)
    air = float(density_kg_m3(temperature_c=dry, vapour_pa=vapour)) / (1.0 + ratio) * 600.0 / 3600.0
    assert_close(told.high_kg_s, air * (1.0 - told.bypass), rel=1e-6, why="the same handbook air")
    assert_close(
        told.low_kg_s,
        air / 3.0 * (1.0 - told.bypass**3.0),
        rel=1e-6,
        why="a third of the flow, three times the exponent",
    )
    thin = contact_of(two(head=[head]).head[0], 0.8 * 101325.0)
    assert thin.high_kg_s < told.high_kg_s


@pytest.mark.invariant
def test_balances_are_told_and_not_silent() -> None:
    """Rounding alone leaves something over: a balance of exactly nothing would be one that nobody counts."""
    file = read_house(DEMO)
    climate = climate_of(file.house, file.folder)
    ready = prepare(file.house, file.geometry, climate, hours=np.arange(48), doors="open")
    told = run(ready.system, ready.forcing, first_state(ready.system, air_c=20.0), step_s=600.0).balances
    assert 0.0 < told.heat_w < 1e-5
    assert 0.0 < told.air_share <= 1e-10
    assert 0.0 < told.vapour_share < 1e-7
    assert 0.0 < told.gas_share < 1e-7


@pytest.mark.invariant
def test_a_heater_without_its_range_is_named_by_what_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Taps are counted all the same; what is not known is said by its key."""
    text = DEMO.read_text(encoding="utf-8").replace('input_maximum = "120000 Btu/h"\n', "")
    path = tmp_path / "h.toml"
    path.write_text(text, encoding="utf-8")
    assert command(["hot-water", str(path), "--json"]) == 0
    found = {f["code"]: f for f in json.loads(capsys.readouterr().out)["findings"]}
    assert "input_maximum" in found["heater-range-not-said"]["message"]
