"""Pieces of the calculations against sums written out by hand: what larger tests would let slip through."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from inshell.climate.choose import climate_of
from inshell.climate.prepare import named_year
from inshell.climate.sun import incident
from inshell.design.coupled import networks_of
from inshell.design.drivers import prepare
from inshell.design.envelope import f_factor_loss_w_k
from inshell.design.gains import window_gain_w
from inshell.design.heating import tightness_ach50
from inshell.design.pressure import shell_of
from inshell.house.geometry import derive
from inshell.house.model.house import House
from inshell.physics.air import pressure_at_altitude_pa
from inshell.physics.buffering import uptake_kg_m2_s_pa
from inshell.sources import table
from tests.evidence import assert_close
from tests.houses import house, rectangle

EXACT = "by hand, rounding only"
BOX = [{"id": "a", "outline": rectangle(0, 0, 6, 4), "ceiling": 2.5, "use": "kitchen-living"}]


def box(**more: object) -> House:
    """One room of 6 x 4 x 2.5 m."""
    return house(BOX, **more)


@pytest.mark.analytic
def test_heights_of_a_shell_begin_at_its_lowest_floor() -> None:
    """A box whose floor lies 3 m above the datum leaks from 0 to 2.5 m, as one at the datum does."""
    for floor in (0.0, 3.0, -1.5):
        raised = house([BOX[0] | {"floor_height": floor}])
        shell = shell_of(derive(raised), flow_at_50_pa_m3_s=0.05, exponent=0.65)
        assert_close((shell.low_m.min(), shell.high_m.max()), (0.0, 2.5), abs=1e-9, why=EXACT)
        assert_close(shell.weight.sum(), 1.0, rel=1e-12, why=EXACT)
        assert_close(shell.coefficient_m3_s_pan * 50.0**0.65, 0.05, rel=1e-12, why=EXACT)


@pytest.mark.published
def test_rooms_meet_their_surfaces_as_the_standard_has_it() -> None:
    """ISO 52016: 5.0 W/m2K up, 2.5 level, 0.7 down, times the area of walls, ceiling and floor."""
    one = box()
    climate = climate_of(one, Path())
    _, thermal = networks_of(one, derive(one), climate, doors="open")
    convection = {face.surface: face.convection_w_m2k for face in thermal.faces}
    by_kind = {s.id: s.kind for s in derive(one).surfaces}
    wanted = {"wall": 2.5, "ceiling": 5.0, "roof": 5.0, "floor": 0.7}
    for name, value in convection.items():
        kind = by_kind.get(name.removesuffix("/edge"))
        if kind in wanted:
            assert_close(value, wanted[kind], abs=1e-12, why="a constant of the standard")
    joins = {
        two: w
        for x, y, w in thermal.network.edges
        for one_, two in ((x, y), (y, x))
        if one_ == 0 and two in {f.node for f in thermal.faces}
    }
    for face in thermal.faces:
        assert_close(joins[face.node], face.area_m2 * face.convection_w_m2k, rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_air_of_a_room_is_lighter_on_a_mountain() -> None:
    """1.2 kg/m3 of 1006 J/kgK in 60 m3 at sea level; less by the ratio of the pressures at 3,000 m."""
    stored = {}
    for metres in (0, 3000):
        one = box(site={"latitude": 40, "longitude": -80, "elevation": f"{metres} m"})
        _, thermal = networks_of(one, derive(one), climate_of(one, Path()), doors="open")
        stored[metres] = thermal.network.capacity_j_k[0]
    assert_close(stored[0], 1.2 * 1006.0 * 60.0, rel=0.005, why="the third digit of the density of room air")
    ratio = float(pressure_at_altitude_pa(elevation_m=3000.0)) / 101325.0
    assert_close(stored[3000] / stored[0], ratio, rel=1e-9, why=EXACT)


@pytest.mark.analytic
def test_tightness_from_a_flow_an_air_change_or_nothing() -> None:
    flow = box(tightness={"flow_at_50_pa": "90 m3/h"})
    assert_close(tightness_ach50(flow, 60.0)[0], 1.5, rel=1e-9, why=EXACT)
    assert tightness_ach50(box(tightness={"ach50": 0.7}), 60.0) == (0.7, False)
    assert_close(tightness_ach50(flow, 60.0, tested_flow_m3_s=30.0 / 3600.0)[0], 0.5, rel=1e-9, why=EXACT)
    assert tightness_ach50(box(), 60.0) == (float(table("design")["tightness_default"]["ach50"]), True)


@pytest.mark.analytic
def test_vapour_meets_film_coating_and_half_the_layer_in_a_row() -> None:
    """1/2e-8 + 0.5/2e-10 + 0.01/(2 x 1e-11) = 5e7 + 2.5e9 + 5e8 = 3.05e9."""
    got = uptake_kg_m2_s_pa(
        depth_m=0.01, permeability_kg_m_s_pa=1e-11, coating_sd_m=0.5, film_kg_m2_s_pa=2e-8, air_kg_m_s_pa=2e-10
    )
    assert_close(1.0 / float(got), 3.05e9, rel=1e-12, why=EXACT)


F_ROWS = [
    ({"heated": False}, 0.73), ({"heated": True}, 0.84),
    ({"heated": False, "edge": {"kind": "vertical", "r": "R-10", "depth": "2 ft"}}, 0.54),
    ({"heated": False, "edge": {"kind": "vertical", "r": "R-10", "depth": "4 ft"}}, 0.48),
    ({"heated": False, "under_r": "R-10"}, 0.36), ({"heated": True, "under_r": "R-5"}, 0.74),
    ({"heated": True, "under_r": "R-10"}, 0.55), ({"heated": True, "under_r": "R-15"}, 0.44),
    ({"heated": True, "under_r": "R-20"}, 0.39), ({"heated": True, "under_r": "R-30"}, 0.32),
]  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize(("slab", "factor"), F_ROWS)
def test_slab_loss_by_factor(slab: dict, factor: float) -> None:
    """Washington Administrative Code 51-11C, F-factors [Btu/h.ft.F] (x 1.7307 W/mK), round a floor of 6 x 4 m."""
    one = house(BOX, slab=[{"id": "s", "under_r": 0.0} | slab])
    got = f_factor_loss_w_k(derive(one), one, one.slab[0])
    assert got is not None
    assert_close(got, factor * 1.7307 * 20.0, rel=1e-4, why="five digits of the conversion")


ANGLES = [0.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0]
SHGC = np.array([0.76, 0.74, 0.71, 0.64, 0.50, 0.26, 0.0])


@pytest.mark.published
def test_a_window_lets_in_what_its_glass_does_at_the_angle_of_the_sun() -> None:
    """ASHRAE SHGC of clear double glass .76 .74 .71 .64 .50 .26 at 0 40 50 60 70 80 degrees, diffuse .66 (from memory), over
    that at normal incidence, times SHGC, shade and area, on the sun that meets the wall."""
    one = house(
        BOX,
        window=[{"id": "w", "room": "a", "wall": "south", "width": 2.0, "height": 1.5, "glazing": "g", "shade": 0.8}],
    )
    geometry, year = derive(one), named_year("greensboro")
    placed = next(p for p in geometry.openings if p.id == "w")
    host = next(s for s in geometry.surfaces if s.id == placed.surface)
    sun = incident(year, tilt_deg=90.0, azimuth_deg=180.0)
    beam, rest = window_gain_w(one, "w", host, year, ())
    scale = 0.5 * 0.8 * 3.0
    assert_close(beam, scale * sun.beam_w_m2 * np.interp(sun.angle_deg, ANGLES, SHGC / 0.76), abs=1e-6, why=EXACT)
    assert_close(rest, scale * 0.66 / 0.76 * sun.diffuse_w_m2, rel=1e-3, abs=1e-6, why="three digits of the ratio")


@pytest.mark.analytic
def test_what_a_household_gives_off_in_an_hour() -> None:
    """136 + 2.2 A W of appliances in the kitchen and by area; a shower at its hour is water alone (handbook, from memory)."""
    one = box(person=[{"id": "p", "sleeps_in": "a", "count": 2, "away_from": "00:00", "away_to": "23:59"}])
    climate = climate_of(
        one.model_copy(update={"climate": one.climate.model_copy(update={"year": "greensboro"})}), Path()
    )
    rows = table("household")
    hours = np.arange(24)
    ready = prepare(one, derive(one), climate, hours=hours, doors="open")
    quiet = next(h for h in hours if h not in rows["hours"].values() and 8 < h < 20)
    assert_close(ready.forcing.gains_w[quiet, 0], 136.0 + 2.2 * 24.0, rel=1e-9, why=EXACT)
    shower = rows["hours"]["shower"]
    more = ready.forcing.vapour_kg_s[shower, 0] - ready.forcing.vapour_kg_s[quiet, 0]
    heat = ready.forcing.gains_w[shower, 0] - ready.forcing.gains_w[quiet, 0]
    assert more >= 2 * 0.24 / 3600.0 * (1 - 1e-9)
    assert abs(heat) < 400.0, "people at most, none of the water's heat"
    latent = ready.forcing.vapour_kg_s[quiet, 0] * 2.45e6
    assert_close(latent, 20.0 + 0.22 * 24.0, rel=0.03, why="heat of evaporation to two digits")
