"""Warm floors: slab cell, output, tubes and water, hot water, heaters, and the quick answers about them."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st

from inshell.cli.run import run
from inshell.physics.floor import floor_flux_w_m2, panel_flux_w_m2, power_product_w_m2k, water_to_core_m2k_w
from inshell.physics.fluids import fluid_at
from inshell.physics.heater import air_to_water_cop, condensing_efficiency, cycling
from inshell.physics.hot_water import flow_exceeded, hot_flow_m3_s, mains_water_c, simultaneous
from inshell.physics.hydronic import buffer_volume_m3, expansion_tank_m3, fill_pressure_pa, pump_point, valve_drop_pa
from inshell.physics.slab_cell import cell_on_grid, slab_cell, tube_to_core_m2k_w
from inshell.physics.water_tube import circuit_return_c, friction_factor, mean_over_room_k, tube_flow
from inshell.sources import table
from tests.evidence import assert_close

IN = 0.0254
GPM = 6.30901964e-5
PSI = 6894.757
TUBES = {"3/8": (0.500, 0.070), "1/2": (0.625, 0.070), "3/4": (0.875, 0.097)}
# periodic multipole solution with images, boundary residuals below 1e-13, written apart from this project's code:
# tube, spacing, depth, slab [in], k, covering R, below R -> up, down, peak to mean
CELLS = (
    ("1/2", 6, 2, 4, 1.8, 0.0, 1.761, 6.469224, 0.4370244, 1.036157),
    ("1/2", 12, 2, 4, 1.8, 0.0, 1.761, 4.677588, 0.3159282, 1.235535),
    ("1/2", 3, 1, 2, 1.8, 0.0, 1.761, 8.433547, 0.5074749, 1.018859),
    ("1/2", 9, 2, 4, 1.8, 0.10, 1.761, 3.503894, 0.4324978, 1.064361),
    ("1/2", 9, 2, 4, 1.8, 0.35, 1.761, 1.839562, 0.4840912, 1.033181),
    ("1/2", 18, 3, 6, 1.8, 0.0, 0.5, 3.160779, 0.7864659, 1.370494),
    ("1/2", 18, 1, 4, 1.0, 0.0, 1.761, 2.747436, 0.1763817, 2.419911),
    ("1/2", 12, 3.5, 4, 1.8, 0.0, 1.761, 3.898942, 0.3133591, 1.134142),
    ("1/2", 12, 5.5, 6, 1.0, 0.10, 0.5, 1.692080, 1.094644, 1.057159),
    ("1/2", 12, 2, 4, 1.8, 0.0, 1e6, 4.807114, 5.809280e-7, 1.221245),
    ("3/8", 3, 1, 2, 1.0, 0.05, 1.761, 5.309145, 0.4988662, 1.023150),
    ("3/8", 12, 1, 2, 1.8, 0.0, 0.5, 3.994493, 0.8294865, 1.658723),
    ("3/8", 18, 2, 6, 1.8, 0.35, 3.5, 1.495194, 0.1979440, 1.139217),
    ("3/4", 3, 2, 4, 2.3, 0.0, 1.761, 8.070988, 0.5209455, 1.001600),
    ("3/4", 18, 3, 6, 1.0, 0.10, 0.5, 1.792412, 0.8357774, 1.387929),
    ("3/4", 9, 1, 2, 1.0, 0.35, 0.5, 1.570096, 1.398403, 1.241730),
    ("3/4", 18, 5.5, 6, 2.3, 0.0, 1e6, 3.310176, 5.090269e-7, 1.138475),
)


def cell_of(row: tuple) -> object:
    tube, spacing, depth, slab, k, cover, below = row[:7]
    outer, wall = TUBES[tube]
    return slab_cell(
        thickness_m=slab * IN, conductivity_w_mk=k, spacing_m=spacing * IN, depth_m=depth * IN, outer_m=outer * IN,
        wall_m=wall * IN, tube_w_mk=0.38, cover_r_m2k_w=cover, below_r_m2k_w=below,
    )  # fmt: skip


@pytest.mark.analytic
@pytest.mark.parametrize("row", CELLS)
def test_the_cell_against_an_independent_solution(row: tuple) -> None:
    cell = cell_of(row)
    got = [cell.k_up_w_m2k, cell.k_down_w_m2k, cell.peak_to_mean]
    assert_close(got, row[7:], rel=1.5e-3, why="two grids extrapolated; worst where the tube nearly touches a face")


@pytest.mark.analytic
def test_the_cell_converges_with_the_square_of_its_grid() -> None:
    for edges in ((0.1524, 0.0508, 0.0508), (0.0762, 0.0508, 0.0508), (0.2286, 0.0254, 0.0762)):
        told = [
            np.array(
                cell_on_grid(
                    edges_m=edges, radii_m=(0.0061595, 0.0079375), conductivity_w_mk=(0.38, 1.8),
                    faces_w_m2k=(10.8, 1 / 1.761), cells=16, fold=fold,
                )
            )
            for fold in (1, 2, 4)
        ]  # fmt: skip
        order = np.log2((told[0] - told[1]) / (told[1] - told[2]))
        assert np.all(order[:2] > 1.8), order


@pytest.mark.analytic
def test_a_star_of_resistances_gives_what_the_cell_gives() -> None:
    """Layers from the tubes' level to both sides and one resistance to the water add up to the cell's two flows."""
    for row in CELLS[:6]:
        cell = cell_of(row)
        _, _, depth, slab, k, cover, below = row[:7]
        up, down = depth * IN / k + cover + 1 / 10.8, (slab - depth) * IN / k + below
        core = float(
            tube_to_core_m2k_w(
                k_up_w_m2k=cell.k_up_w_m2k, k_down_w_m2k=cell.k_down_w_m2k, up_r_m2k_w=up, down_r_m2k_w=down
            )
        )
        level = (1 / core) / (1 / core + 1 / up + 1 / down)
        assert_close(level / up + level / down, cell.k_up_w_m2k + cell.k_down_w_m2k, rel=1e-9, why="by construction")
        assert_close(level / up, cell.k_up_w_m2k, rel=0.02, why="layers apart know no sideways flow in the slab")


@pytest.mark.invariant
@settings(max_examples=25, deadline=None)
@given(st.floats(0.08, 0.4), st.floats(0.0, 0.3), st.floats(0.3, 5.0))
def test_more_covering_and_more_spacing_give_less(spacing: float, cover: float, below: float) -> None:
    def up(spacing: float, cover: float) -> float:
        return slab_cell(
            thickness_m=0.1, conductivity_w_mk=1.8, spacing_m=spacing, depth_m=0.05, outer_m=0.016, wall_m=0.002,
            tube_w_mk=0.38, cover_r_m2k_w=cover, below_r_m2k_w=below, cells=12,
        ).k_up_w_m2k  # fmt: skip

    here = up(round(spacing, 3), round(cover, 3))
    assert up(round(1.1 * spacing, 3), round(cover, 3)) < here
    assert up(round(spacing, 3), round(cover + 0.05, 3)) < here


@pytest.mark.published
def test_power_product_and_resistances() -> None:
    """EN 1264-2 and ISO 11855-2 (computed sheet); a tube on the insulation against the cell inside their ranges."""
    product = {
        "spacing_m": 0.15,
        "outer_m": 0.016,
        "wall_m": 0.002,
        "tube_w_mk": 0.35,
        "cover_w_mk": 1.2,
        "covering_r_m2k_w": 0.10,
    }
    assert_close(power_product_w_m2k(cover_m=0.045, **product), 3.3682, abs=6e-5, why="four decimals")
    assert_close(power_product_w_m2k(cover_m=0.065, **product), 3.144, abs=6e-4, why="three decimals")
    cell = slab_cell(
        thickness_m=0.061, conductivity_w_mk=1.2, spacing_m=0.15, depth_m=0.053 - 1e-6, outer_m=0.016, wall_m=0.002,
        tube_w_mk=0.35, cover_r_m2k_w=0.10, below_r_m2k_w=1e3,
    )  # fmt: skip
    assert_close(cell.k_up_w_m2k, 3.3682, rel=0.07, why="the product lies within 6.5 % of two dimensions up to 0.15 m")
    told = water_to_core_m2k_w(
        spacing_m=0.15, outer_m=0.020, wall_m=0.0023, tube_w_mk=0.35, slab_w_mk=1.8, above_m=0.1, below_m=0.1,
        flow_kg_s=350 / 3600, area_m2=15.0, length_m=100.0,
    )  # fmt: skip
    assert_close(
        [told.flow, told.film, told.tube, told.spread], [0.01842, 0.00120, 0.01783, 0.01154], abs=6e-6, why="5 decimals"
    )
    thin = water_to_core_m2k_w(
        spacing_m=0.305, outer_m=0.016, wall_m=0.002, tube_w_mk=0.38, slab_w_mk=1.8, above_m=0.051, below_m=0.051,
        flow_kg_s=0.03, area_m2=20.0, length_m=70.0,
    )  # fmt: skip
    assert not thin.is_valid, "a 4 in slab leaves the method above about 6.5 in"
    for spacing, cover in ((0.5, 0.1), (0.15, 0.2)):
        with pytest.raises(ValueError, match="beyond"):
            power_product_w_m2k(**(product | {"spacing_m": spacing, "covering_r_m2k_w": cover, "cover_m": 0.045}))


@pytest.mark.published
def test_output_of_a_floor() -> None:
    got = floor_flux_w_m2(excess_k=np.array([1, 2, 3, 5, 7, 9, 15.0]))
    assert_close(got, [8.92, 19.12, 29.87, 52.39, 75.85, 100.01, 175.41], abs=0.006, why="EN 1264-2, two decimals")
    assert_close(panel_flux_w_m2(surface_c=29.0, air_c=20.0, around_c=20.0), [47.48, 37.88], abs=0.006, why="ASHRAE")


@pytest.mark.published
def test_friction_and_published_losses() -> None:
    """Churchill 1977; published psi a 100 ft of tube at 1 to 4 gpm, water of 100 °F, inner diameter OD - 2 walls."""
    got = friction_factor(reynolds=np.array([2000, 2300, 3000, 1e4]), relative_roughness=1.2e-4)
    assert_close(got, [0.03204, 0.03084, 0.04306, 0.03121], abs=6e-6, why="five decimals")
    water = fluid_at(temperature_c=(100 - 32) / 1.8)
    published = {
        "1/2": (1.70, 5.30, 11.0, 18.4), "5/8": (0.71, 2.12, 4.36, 7.36), "3/4": (0.34, 1.02, 2.10, 3.53),
    }  # fmt: skip
    for size, rows in published.items():
        tube = table("tubes")[size]
        for gpm, psi in enumerate(rows, start=1):
            flow = tube_flow(
                flow_m3_s=gpm * GPM, inner_m=tube["outer_m"] - 2 * tube["wall_m"], density_kg_m3=water.density_kg_m3,
                viscosity_pa_s=water.viscosity_pa_s,
            )  # fmt: skip
            assert_close(flow.head_pa_m * 30.48 / PSI, psi, rel=0.08, why="as asked of published tables")
    steps = np.linspace(1500, 5000, 400)
    smooth = friction_factor(reynolds=steps, relative_roughness=1e-4)
    assert np.max(np.abs(np.diff(smooth)) / smooth[:-1]) < 0.03, "no jump through transition"


@pytest.mark.published
def test_water_and_glycol_against_a_reference_library() -> None:
    for share in (0.0, 0.2, 0.3, 0.5):
        for celsius in (3.0, 22.0, 38.0, 57.5, 81.0):
            name = "Water" if share == 0.0 else f"INCOMP::MPG[{share}]"
            want = [PropsSI(key, "T", celsius + 273.15, "P", 2e5, name) for key in ("D", "C")]
            fluid = fluid_at(temperature_c=celsius, glycol=share)
            assert_close([fluid.density_kg_m3, fluid.heat_j_kgk], want, rel=1e-3, why="linear over 5 K")
            viscosity = PropsSI("V", "T", celsius + 273.15, "P", 2e5, name)
            assert_close(fluid.viscosity_pa_s, viscosity, rel=8e-3, why="logarithm linear over 5 K")
    between = fluid_at(temperature_c=40.0, glycol=0.35)
    want = PropsSI("V", "T", 313.15, "P", 2e5, "INCOMP::MPG[0.35]")
    assert_close(between.viscosity_pa_s, want, rel=0.02, why="between shares a tenth apart")
    for wrong in ({"glycol": 0.7}, {"temperature_c": 130.0}):
        with pytest.raises(ValueError, match="known are"):
            fluid_at(**({"temperature_c": 40.0} | wrong))


@pytest.mark.published
def test_water_in_circuits_and_vessels() -> None:
    """Handbook examples: mean excess, end of a circuit, valve, pump, tank, fill, buffer."""
    told = [float(mean_over_room_k(supply_c=s, return_c=r, room_c=20.0)) for s, r in ((35, 30), (40, 30), (45, 35))]
    assert_close(told, [12.332, 14.427, 19.576], abs=6e-4, why="three decimals")
    flow_w_k = GPM * 992.9 * 4179
    end = circuit_return_c(supply_c=43.333, around_c=21.111, length_m=30.48, output_w_mk=1.523, flow_w_k=flow_w_k)
    assert_close(end * 1.8 + 32, 103.5, abs=0.06, why="110 to 103.5 °F, one decimal")
    assert_close(valve_drop_pa(flow_m3_s=3 * GPM, cv=1.5), 4 * PSI, rel=1e-6, why="(Q/Cv)2")
    assert_close(
        pump_point(shutoff_pa=20.0, droop_pa_s2_m6=0.1, system_pa_s2_m6=0.3), [7.071, 15.0], abs=6e-4, why="3 decimals"
    )
    cold, hot = (fluid_at(temperature_c=(f - 32) / 1.8).density_kg_m3 for f in (50, 120))
    tank = {
        "system_m3": 15.0,
        "cold_density_kg_m3": cold,
        "hot_density_kg_m3": hot,
        "fill_pa": 26.696,
        "relief_pa": 39.696,
    }
    assert_close(expansion_tank_m3(**tank), 0.518, abs=2e-3, why="three decimals, densities interpolated")
    steel = expansion_tank_m3(**tank, metal_strain=6.5e-6 * 70)
    assert_close(steel, 0.455, abs=2e-3, why="steel, three decimals")
    assert_close(fill_pressure_pa(height_m=2.31 * 0.3048 * 8) / PSI, 12.0, abs=0.02, why="height/2.31 + 4 psi")
    volume = buffer_volume_m3(minimum_w=68000 * 0.29307, load_w=5000 * 0.29307, run_s=600, difference_k=20 / 1.8)
    assert_close(volume / 0.00378541, 63.0, rel=0.01, why="63 gal by 500 Btu/h per gpm and °F, which is water at 60 °F")


@pytest.mark.published
def test_hot_water() -> None:
    """Mixing 1.571 gpm; mains 45.34 °F on day 43, 67.66 on day 226; a binomial for equal taps."""
    got = hot_flow_m3_s(flow_m3_s=2.0, mixed_c=(105 - 32) / 1.8, cold_c=10.0, hot_c=(120 - 32) / 1.8)
    assert_close(got, 1.571, abs=6e-4, why="three decimals")
    days = mains_water_c(day=np.array([43, 226]), mean_air_c=18.5 / 1.8, monthly_swing_k=48 / 1.8) * 1.8 + 32
    assert_close(days, [45.34, 67.66], abs=6e-3, why="two decimals")
    totals = dict(simultaneous(fixtures=[(1.0, 0.1)] * 6))
    want = [math.comb(6, k) * 0.1**k * 0.9 ** (6 - k) for k in range(7)]
    assert_close([totals[float(k)] for k in range(7)], want, rel=1e-9, why="binomial distribution")
    assert_close(sum(totals.values()), 1.0, abs=1e-12, why="probabilities")
    assert flow_exceeded(totals=sorted(totals.items()), share=0.01) == 3.0, (
        "P(more than 3) is 0.0013, P(3 or more) 0.016"
    )


@pytest.mark.published
def test_heaters() -> None:
    """Combustion by return temperature, open fit of heat pumps, cycling of a mixed store."""
    back = (np.array([60, 80, 100, 120, 130, 160]) - 32) / 1.8
    assert_close(
        condensing_efficiency(return_c=back, losses=0.0),
        [0.979, 0.956, 0.916, 0.885, 0.883, 0.875],
        abs=1e-9,
        why="table",
    )
    got = air_to_water_cop(source_c=0.0, sink_c=np.array([30.0, 45.0]), field=0.95)
    assert_close(got, [3.522, 2.715], abs=6e-4, why="three decimals")
    load, least, store, band = 1500.0, 5000.0, 4e5, 6.0
    water, on, starts, ran = 0.0, True, 0, 0.0
    for _ in range(3600 * 48):
        water += ((least if on else 0.0) - load) / store
        ran += on
        if on and water >= band:
            on = False
        elif not on and water <= 0.0:
            on, starts = True, starts + 1
    cycle = cycling(load_w=load, minimum_w=least, store_j_k=store, band_k=band)
    assert_close(starts / 48.0, cycle.starts_per_h, rel=0.03, why="second by second over two days")
    assert_close(ran / (3600 * 48), load / least, rel=0.01, why="heat made is heat taken")


def said(words: list[str], capsys: pytest.CaptureFixture[str], code: int = 0) -> dict:
    assert run(["quick", *words, "--json"]) == code
    return json.loads(capsys.readouterr().out)


@pytest.mark.published
def test_quick_answers(capsys: pytest.CaptureFixture[str]) -> None:
    assert_close(
        said(["floor-output", "--floor", "25 °C", "--room", "20 °C"], capsys)["flux_w_m2"],
        52.39,
        abs=6e-3,
        why="EN 1264-2",
    )
    hot = said(["floor-output", "--floor", "30 °C", "--room", "20 °C", "--method", "panel"], capsys, 1)
    assert hot["is_within_limit"] is False
    cell = ["slab-cell", "--thickness", "4 in", "--conductivity", "1.8 W/mK", "--spacing", "12 in", "--tube", "1/2",
            "--depth", "2 in", "--cover-r", "0", "--below-r", "1.761 m2K/W"]  # fmt: skip
    told = said(cell, capsys)
    assert_close(
        [told["k_up_w_m2k"], told["k_down_w_m2k"], told["peak_to_mean"]],
        [4.678, 0.3159, 1.236],
        rel=5e-4,
        why="benchmark",
    )
    tube = ["tube", "--size", "1/2", "--length", "100 ft", "--flow", "2 gpm", "--temperature", "100 °F", "--fluid"]
    water = said([*tube, "water"], capsys)
    assert_close(water["head_pa"] / PSI, 5.30, rel=0.08, why="published table")
    glycol = said([*tube, "glycol 30 %"], capsys)
    assert glycol["head_pa"] > water["head_pa"]
    assert glycol["reynolds"] < water["reynolds"]
    for wrong in ("glycol 70 %", "oil"):
        assert run(["quick", *tube, wrong]) == 2
    out = said(["circuit-out", "--supply", "110 °F", "--room", "70 °F", "--length", "100 ft", "--flow", "1 gpm",
                "--output", "0.88 Btu/h.ft.F"], capsys)  # fmt: skip
    assert_close(out["return_c"] * 1.8 + 32, 103.5, abs=0.06, why="published, one decimal")
    buffer = said(
        ["buffer", "--minimum", "68000 Btu/h", "--load", "5000 Btu/h", "--minutes", "10", "--difference", "20 °F"],
        capsys,
    )
    assert_close(buffer["volume_m3"] / 0.00378541, 63.0, rel=0.01, why="published")
    mix = said(["mix", "--flow", "2 gpm", "--mixed", "105 °F", "--cold", "50 °F", "--hot", "120 °F"], capsys)
    assert_close(mix["hot_flow_m3_s"] / GPM, 1.571, abs=6e-4, why="three decimals")
    assert said(["mix", "--flow", "2 gpm", "--mixed", "130 °F", "--cold", "50 °F", "--hot", "140 °F"], capsys, 1)[
        "cautions"
    ]
    tank = said(
        [
            "expansion",
            "--volume",
            "15 gal",
            "--cold",
            "50 °F",
            "--hot",
            "120 °F",
            "--fill",
            "12 psi",
            "--relief",
            "25 psi",
        ],
        capsys,
    )
    assert_close(tank["tank_volume_m3"] / 0.00378541, 0.518, abs=2e-3, why="three decimals")
    for bad in (
        ["floor-output", "--floor", "15 °C", "--room", "20 °C"],
        [*cell[:8], "9/9", *cell[9:]],
        [*cell[:10], "5 in", *cell[11:]],
        ["mix", "--flow", "2 gpm", "--mixed", "130 °F", "--cold", "50 °F", "--hot", "40 °F"],
        [
            "expansion",
            "--volume",
            "15 gal",
            "--cold",
            "120 °F",
            "--hot",
            "50 °F",
            "--fill",
            "12 psi",
            "--relief",
            "8 psi",
        ],
    ):
        assert run(["quick", *bad]) == 2, bad
    capsys.readouterr()
