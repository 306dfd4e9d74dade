"""The standard's whole-zone cases, written out so that anyone who has the Denver year can run them.

ANSI/ASHRAE 140, cases 600, 900, 600FF and 900FF. No package carries that year, and no other climate stands for it: set
INSHELL_DENVER to the path of the Denver TMY3 file (station 725650) and run this file. Without it only what holds anywhere is
checked, on another year, and no figure is compared.

The box: 8 x 6 x 2.7 m, two south windows of 3 x 2 m (U 3.0, SHGC 0.789, the older edition's), 0.5 air changes of outdoor air,
200 W, held between 20 and 27 °C. Ranges are those of the reference sheet (2020 edition for the totals, whose glazing differs:
a result may lie beyond them by what the glazing explains, which is why the older pair is named beside each verdict).
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inshell.climate.choose import Design, HouseClimate
from inshell.climate.prepare import _prepared, named_year
from inshell.climate.year import ClimateYear
from inshell.design.drivers import Prepared, prepare
from inshell.design.year_run import run_in
from inshell.house.geometry import derive
from inshell.network.compiled import is_compiled, run
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.system import first_state
from inshell.physics.air import pressure_at_altitude_pa
from inshell.physics.fan import FanCurve
from tests.evidence import assert_close
from tests.houses import house, rectangle

DENVER = os.environ.get("INSHELL_DENVER", "")
needs_denver = pytest.mark.skipif(
    not DENVER, reason="needs the Denver TMY3 year, which no package carries: set INSHELL_DENVER to its path"
)
pytestmark = pytest.mark.skipif(not is_compiled(), reason="a year takes the compiled step")

# thickness m, conductivity W/mK, density kg/m3, heat J/kgK; outside to inside
LIGHT_WALL = [(0.009, 0.14, 530, 900), (0.066, 0.04, 12, 840), (0.012, 0.16, 950, 840)]
HEAVY_WALL = [(0.009, 0.14, 530, 900), (0.0615, 0.04, 10, 1400), (0.100, 0.51, 1400, 1000)]
ROOF = [(0.019, 0.14, 530, 900), (0.1118, 0.04, 12, 840), (0.010, 0.16, 950, 840)]
LIGHT_FLOOR = [(1.003, 0.04, 1, 1), (0.025, 0.14, 650, 1200)]
HEAVY_FLOOR = [(1.007, 0.04, 1, 1), (0.080, 1.13, 1400, 1000)]
GROUND_C = 10.0


def assembly(name: str, layers: list[tuple[float, float, float, float]]) -> dict[str, object]:
    rows: list[dict[str, str]] = []
    for thickness, k, density, heat in layers:
        if density == 1:  # the standard's insulation without mass
            rows.append({"thickness": f"{thickness} m", "r": f"{thickness / k} m2K/W"})
        else:
            sizes = {"thickness": f"{thickness} m", "conductivity": f"{k} W/m.K"}
            rows.append(
                {"material": "gypsum", **sizes, "density": f"{density} kg/m3", "specific_heat": f"{heat} J/kg.K"}
            )
    return {"id": name, "layers": rows}


def box(*, heavy: bool, year: ClimateYear, held: bool) -> Prepared:
    """The zone of a case with constant outdoor air instead of leaks, constant gains, and ground at 10 °C below."""
    windows = [
        {
            "id": f"w{k}",
            "room": "zone",
            "wall": "south",
            "at": at,
            "sill": 0.2,
            "width": 3.0,
            "height": 2.0,
            "glazing": "g",
        }
        for k, at in ((1, 0.5), (2, 4.5))
    ]
    h = house(
        [{"id": "zone", "outline": rectangle(0, 0, 8, 6), "ceiling": 2.7}],
        assembly=[assembly("wall", HEAVY_WALL if heavy else LIGHT_WALL), assembly("roof", ROOF), assembly("floor", HEAVY_FLOOR if heavy else LIGHT_FLOOR)],
        slab=[],
        enclosure={"wall": "wall", "roof": "roof", "floor": "floor", "partition": "wall", "thermal_bridge": 0.0},
        glazing=[{"id": "g", "u": 3.0, "shgc": 0.789}],
        window=windows,
        buffer=[{"id": "below", "kind": "crawl-space", "beneath": True}],
        site={"latitude": year.latitude_deg, "longitude": year.longitude_deg, "elevation": year.elevation_m, "terrain": "open"},
        climate={"heating_design": "-10 °C", "year": "greensboro"},
    )  # fmt: skip
    g = derive(h)
    pressure = float(pressure_at_altitude_pa(elevation_m=year.elevation_m))
    climate = HouseClimate(year, Design(-10.0, "entered", None, "none", year.mean_c, "year"), pressure, ())  # type: ignore[arg-type]
    ready = prepare(h, g, climate, hours=np.arange(8760), doors="open")
    flow = 0.5 * g.volume_m3 / 3600.0
    curve = FanCurve((0.0, 1e6), (flow, flow))
    links = (
        Link("in", LinkKind.FAN, 1, 0, curve=curve),
        Link("out", LinkKind.FAN, 0, 1, curve=curve),
        Link("trace", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=1e-3),
    )
    system = replace(ready.system, air=AirNetwork(("zone",), links), exchanges=(), recoveries=(), controls=())
    f = ready.forcing
    boundary = f.boundary_c.copy()
    boundary[:, 3] = GROUND_C
    source = f.source_w.copy()
    source[:, 0] += 0.4 * 200.0
    source[:, ready.thermal.radiant[0]] += 0.6 * 200.0
    full = np.ones((8760, 1))
    forcing = replace(
        f, boundary_c=boundary, source_w=source, wind_pa=np.zeros((8760, 3)), route_share=np.ones((8760, 3)),
        heat_at_c=(20.0 if held else np.nan) * full, cool_at_c=(27.0 if held else np.nan) * full, permit=np.ones((8760, 0)),
        most_w=1e7 * full, least_w=-1e7 * full,
    )  # fmt: skip
    return replace(ready, system=system, forcing=forcing)


def told(ready: Prepared) -> tuple[float, float, float, float]:
    """(heating MWh, cooling MWh, warmest °C, coldest °C) of the year, in steps of five minutes."""
    begin = run_in(ready, first_state(ready.system, air_c=20.0), first=8088, last=8760, step_s=600.0)
    series = run(ready.system, ready.forcing, begin, step_s=300.0)
    heat, air = series.holder_w[:, 0], series.nodes_c[:, 0]
    return (
        float(np.maximum(heat, 0.0).sum() / 1e6),
        float(np.maximum(-heat, 0.0).sum() / 1e6),
        float(air.max()),
        float(air.min()),
    )


def denver() -> ClimateYear:
    return _prepared(Path(DENVER), "tmy3", "Denver", "TMY3, as given by the user")


@needs_denver
@pytest.mark.published
@pytest.mark.parametrize(
    ("heavy", "heating", "cooling"), [(False, (3.993, 4.504), (5.432, 6.162)), (True, (1.379, 1.814), (2.267, 2.714))]
)
def test_cases_600_and_900(heavy: bool, heating: tuple[float, float], cooling: tuple[float, float]) -> None:
    heat, cold, _, _ = told(box(heavy=heavy, year=denver(), held=True))
    assert heating[0] <= heat <= heating[1], f"{heat:.3f} MWh of heating against {heating}"
    assert cooling[0] <= cold <= cooling[1], f"{cold:.3f} MWh of cooling against {cooling}"


@needs_denver
@pytest.mark.published
@pytest.mark.parametrize(
    ("heavy", "warmest", "coldest"), [(False, (62.4, 68.4), (-13.8, -9.9)), (True, (43.3, 46.0), (0.6, 2.2))]
)
def test_cases_600ff_and_900ff(heavy: bool, warmest: tuple[float, float], coldest: tuple[float, float]) -> None:
    _, _, most, least = told(box(heavy=heavy, year=denver(), held=False))
    assert warmest[0] <= most <= warmest[1], f"warmest {most:.1f} °C against {warmest}"
    assert coldest[0] <= least <= coldest[1], f"coldest {least:.1f} °C against {coldest}"


@pytest.mark.invariant
def test_the_box_behaves_as_any_box_must() -> None:
    """On another year no figure is compared: mass narrows the swing and saves energy, and the box is what is written."""
    year = named_year("greensboro")
    light, heavy = (box(heavy=h, year=year, held=True) for h in (False, True))
    assert_close(
        float(light.system.mass_kg[0]) / 1.2 * 101325.0 / light.system.pressure_pa, 129.6, abs=0.2, why="8 x 6 x 2.7 m"
    )
    flow = light.system.air.links[0].curve
    assert flow
    assert_close(flow.flow_m3_s[0] * 3600.0 / 129.6, 0.5, abs=1e-3, why="half an air change")
    (h1, c1, _, _), (h2, c2, _, _) = told(light), told(heavy)
    assert h2 < h1
    assert c2 < c1
    (_, _, w1, l1), (_, _, w2, l2) = (told(box(heavy=h, year=year, held=False)) for h in (False, True))
    assert w2 < w1 - 5.0
    assert l2 > l1 + 3.0
