"""Friction, flexible duct, and the operating point of a fan on its duct."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from inshell.house.reading import read_house
from inshell.network.fans import base_curve, full_curve
from inshell.physics.duct import (
    AIR_KG_M3,
    VISCOSITY_PA_S,
    DuctLoss,
    curve_on_duct,
    duct_loss_pa,
    flex_factor,
    friction_factor,
)
from inshell.physics.fan import FanCurve, flow_at_m3_s
from tests.evidence import ROOT, assert_close

CFM, INCH, FOOT = 0.3048**3 / 60.0, 0.0254, 0.3048

FRICTION = [(3, 30, 2.2605), (4, 50, 1.3986), (4, 80, 3.2811), (5, 80, 1.1026), (6, 100, 0.6798), (8, 200, 0.5877)]


@pytest.mark.published
@pytest.mark.parametrize(("inches", "cfm", "pa_m"), FRICTION)
def test_friction_of_galvanised_duct(inches: int, cfm: int, pa_m: float) -> None:
    """Darcy-Weisbach with Colebrook, 0.09 mm, air 1.2041 kg/m3 (ASHRAE Fundamentals' method; values derived apart)."""
    duct = DuctLoss(inches * INCH, 1.0, 1.0, 0.0)
    got = duct_loss_pa(duct=duct, flow_m3_s=cfm * CFM)
    assert_close(got, pa_m, rel=2e-3, why="the last digit of the value and its viscosity's")


@pytest.mark.published
@pytest.mark.parametrize(("reynolds", "rough"), [(5e3, 1e-3), (2e4, 9e-4), (1e5, 1e-4), (1e6, 5e-3)])
def test_friction_factor_solves_colebrook(reynolds: float, rough: float) -> None:
    """Colebrook 1939, rooted by scipy."""
    f = brentq(
        lambda f: 1 / np.sqrt(f) + 2 * np.log10(rough / 3.7 + 2.51 / (reynolds * np.sqrt(f))), 1e-3, 0.2, xtol=1e-14
    )
    assert_close(friction_factor(reynolds=reynolds, relative_roughness=rough), f, rel=1e-8, why="eight rounds")


@pytest.mark.analytic
def test_slow_air_follows_poiseuille() -> None:
    """32 mu v / D^2 per metre below Re 2000 (Hagen-Poiseuille)."""
    d, v = 0.1, 0.2
    assert AIR_KG_M3 * v * d / VISCOSITY_PA_S < 2000
    got = duct_loss_pa(duct=DuctLoss(d, 1.0, 1.0, 0.0), flow_m3_s=v * np.pi * d**2 / 4)
    assert_close(got, 32 * VISCOSITY_PA_S * v / d**2, rel=1e-9, why="closed form")


@pytest.mark.published
@pytest.mark.parametrize(("house_pa", "cfm"), [(0.0, 72.92), (11.0, 68.74)])
def test_operating_point_of_a_fan_on_its_duct(house_pa: float, cfm: float) -> None:
    """Fan 100 (1 - (Q/110)^2) Pa in cfm, 4 in smooth, 15 ft, C 4: 72.92 cfm; 68.74 with the house at -11 Pa (derived apart)."""
    share = np.linspace(0.0, 1.0, 400)
    curve = FanCurve(tuple(100.0 * share), tuple(110.0 * CFM * np.sqrt(1.0 - share)))
    both = curve_on_duct(curve=curve, duct=DuctLoss(4 * INCH, 15 * FOOT, 1.0, 4.0), points=201)
    assert_close(flow_at_m3_s(curve=both, pressure_pa=house_pa) / CFM, cfm, rel=2e-3, why="points of the curves")


@pytest.mark.published
def test_flexible_duct_of_the_reference() -> None:
    """1 + 0.58 K exp(-0.126 D): 4 in at 4 % by hand 1 + 2.32 x 0.6041 = 2.4016."""
    assert_close(flex_factor(diameter_m=4 * INCH, compression=0.04), 2.4016, rel=1e-4, why="four digits by hand")


LENGTHS = [
    (4, 80, "smooth", 31),
    (5, 100, "smooth", 91),
    (5, 100, "flex", 42),
    (6, 150, "smooth", 112),
    (6, 150, "flex", 55),
]


@pytest.mark.published
@pytest.mark.parametrize(("inches", "cfm", "material", "feet"), LENGTHS)
def test_rule_lengths_take_about_a_quarter_inch_of_water(inches: int, cfm: int, material: str, feet: int) -> None:
    """IRC M1506.2: the longest duct for a fan rated at 0.25 in of water takes about that much; its end loss is implied."""
    end = {("smooth", 4): 2.5, ("smooth", 5): 1.9, ("smooth", 6): 1.5, ("flex", 5): 3.2, ("flex", 6): 2.5}[
        material, inches
    ]
    scale = 1.7 if material == "flex" else 1.0
    got = duct_loss_pa(duct=DuctLoss(inches * INCH, feet * FOOT, scale, end), flow_m3_s=cfm * CFM)
    assert_close(got, 62.3, rel=0.06, why="a table of whole feet, one pair of end loss and factor per diameter")


@pytest.mark.invariant
def test_a_longer_duct_never_moves_more_and_a_base_never_passes_full_speed() -> None:
    """Order of the same fan on no duct, a short one, a long flexible one; base limited by the curve."""
    house = read_house(ROOT / "examples" / "demo-cottage" / "demo-cottage.toml").house
    fan = next(f for f in house.fan if f.duct)
    bare = fan.model_copy(update={"duct": None})
    longer = fan.model_copy(update={"duct": fan.duct.model_copy(update={"length_m": 12.0, "material": "flex"})})
    flows = [full_curve(f).flow_m3_s[0] for f in (bare, fan, longer)]
    assert flows == sorted(flows, reverse=True)
    for one in (bare, fan, longer):
        base, full = base_curve(one), full_curve(one)
        at = np.linspace(0.0, full.maximum_pressure_pa, 50)
        assert (flow_at_m3_s(curve=base, pressure_pa=at) <= flow_at_m3_s(curve=full, pressure_pa=at) + 1e-12).all()
        assert max(base.flow_m3_s) <= one.base_flow_m3_s + 1e-12
