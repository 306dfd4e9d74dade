"""Checks by hand of calculations that take objects: each with arguments that make every one of its terms count."""

from __future__ import annotations

from inshell.design.fresh_air import CFM_M3_S, calculate_fresh_air
from inshell.physics.duct import DuctLoss, duct_loss_pa
from inshell.physics.skin import AtSkin, skin_uptake_kg_s
from inshell.physics.slab_cell import SlabCell, slab_cell

SLAB = {
    "thickness_m": 0.10, "conductivity_w_mk": 1.8, "spacing_m": 0.25, "outer_m": 0.016, "wall_m": 0.002,
    "tube_w_mk": 0.4,
}  # fmt: skip


def filtered_duct() -> dict[str, float]:
    """A filter of 400 Pa s/m3 on a run that takes nothing else but 1.5 velocity heads."""
    run = DuctLoss(0.125, 1e-9, 1.0, 1.5, filter_pa_s_m3=400.0)
    return {"with a filter": float(duct_loss_pa(duct=run, flow_m3_s=0.04))}


def skin_by_hand() -> dict[str, float]:
    """Half of a leak touches a skin at 5 °C and 80 %; vapour comes from inside and leaves for outdoors."""
    acting = AtSkin(
        skin_c=5.0, leak_kg_s=1e-3, leak_vapour=0.006, catch=0.5, inside_kg_s_pa=1e-9, inside_pa=900.0,
        outside_kg_s_pa=2e-9, outside_pa=400.0,
    )  # fmt: skip
    return {"uptake": float(skin_uptake_kg_s(moisture_kg_kg=0.11, acting=acting)) * 1e6}


def balanced_rule() -> dict[str, float]:
    """1,000 ft2 and two bedrooms: 10 + 3 x 7.5 cfm, less 30 %."""
    told = calculate_fresh_air(
        rule="irc-2021-equation", area_m2=1000 * 0.3048**2, bedrooms=2, leakage=None, balanced=True, supplied=True
    )
    return {"fans": told.fan_flow_m3_s / CFM_M3_S}


def turned_slab() -> dict[str, float]:
    """A tube that touches the top, and the same slab turned over: up becomes down. One that sticks out is refused."""

    def cell(depth_m: float) -> SlabCell:
        return slab_cell(depth_m=depth_m, cover_r_m2k_w=0.1, below_r_m2k_w=0.1 + 1.0 / 10.8, **SLAB)

    above, below = cell(0.5 * SLAB["outer_m"]), cell(SLAB["thickness_m"] - 0.5 * SLAB["outer_m"])
    try:
        cell(SLAB["thickness_m"] - 0.4 * SLAB["outer_m"])
        refused = 0.0
    except ValueError:
        refused = 1.0
    return {
        "up as down": above.k_up_w_m2k - below.k_down_w_m2k, "down as up": above.k_down_w_m2k - below.k_up_w_m2k,
        "sticks out: refused": refused,
    }  # fmt: skip
