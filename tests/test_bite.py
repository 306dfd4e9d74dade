"""The tests bite: the physics is broken on purpose, and a named test must fail.

Each row is a fault in the source and the test that must catch it. The source is copied, one line is changed, and only that
test is run on the copy.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

from tests.evidence import ROOT, sampled

FAULTS = [
    ("physics/conduction.py", "mean = 0.5 * (upper + lower)", "mean = upper", "test_conduction.py::test_stud_wall"),
    ("physics/conduction.py", "(z11, z12), _ = product", "_, (z12, z11) = product", "test_conduction.py::test_periodic_response_of_walls"),
    ("physics/ground.py", "0.457 * b", "0.547 * b", "test_ground.py::test_slab_u"),
    ("physics/ground.py", "2.0 * depth_m if kind", "1.0 * depth_m if kind", "test_ground.py::test_edge_insulation_saves"),
    ("physics/ground.py", "np.asarray(day) - coldest_day - lag", "np.asarray(day) - coldest_day + lag", "test_ground.py::test_undisturbed"),
    ("physics/air.py", "0.0065 * np.asarray(elevation_m) / 293.0", "0.0065 * np.asarray(elevation_m) / 288.0", "test_air.py::test_density_of_the_test_standard"),
    ("physics/air.py", "21.875", "21.785", "test_air.py::test_saturation_pressure"),
    ("physics/flow.py", "(outside_kg_m3 - inside_kg_m3)", "(inside_kg_m3 - outside_kg_m3)", "test_air.py::test_stack_per_metre"),
    ("physics/flow.py", "(np.abs(top) ** power - np.abs(bottom) ** power)", "(np.abs(top) ** power + np.abs(bottom) ** power)", "test_air.py::test_mean_leak_flow"),
    ("physics/pressurisation.py", "return inside / outside if direction", "return outside / inside if direction", "test_pressurisation.py::test_density_corrections"),
    ("physics/pressurisation.py", "stdtrit(count - 2", "stdtrit(count - 1", "test_pressurisation.py::test_ten_readings"),
    ("physics/pressurisation.py", "(1.0 - exponent)", "(2.0 - exponent)", "test_pressurisation.py::test_density_corrections"),
    ("physics/shading.py", "sideways - side_m", "sideways + side_m", "test_climate.py::test_overhang_against_rays"),
    ("design/tightness.py", "signs[actual] * (signed - zero_pa)", "signs[actual] * (signed + zero_pa)", "test_pressurisation.py::test_zero_readings"),
    ("design/tightness.py", "leak_air = outside if way", "leak_air = inside if way", "test_pressurisation.py::test_density_corrections"),
    ("design/tightness.py", "EQLA_DISCHARGE = 0.611", "EQLA_DISCHARGE = 0.61", "test_pressurisation.py::test_ten_readings"),
    ("design/fresh_air.py", "+ 0.5)", "+ 0.49)", "test_fresh_air.py::test_printed_table_cell"),
    ("design/fresh_air.py", "/ 7.3", "/ 7.5", "test_fresh_air.py::test_infiltration_credit"),
    ("design/fresh_air.py", "people = max(1, bedrooms) + 1", "people = bedrooms + 1", "test_fresh_air.py::test_no_bedroom"),
    ("sources/fresh_air.toml", "per_area = 0.15", "per_area = 0.1524", "test_fresh_air.py::test_si_form"),
    ("sources/fresh_air.toml", "[45, 60, 75, 90, 105]", "[45, 60, 75, 90, 100]", "test_fresh_air.py::test_irc_table"),
    ("sources/tightness.toml", '"3-8" = 3.0', '"3-8" = 5.0', "test_pressurisation.py::test_limits_by_zone"),
    ("sources/design.toml", "annual_factor = 1.45", "annual_factor = 1.54", "test_heating_and_pressure.py::test_room_of_the_standard"),
    ("design/heating.py", "math.hypot(total_supply - exhaust, infiltration)", "(abs(total_supply - exhaust) + infiltration)", "test_heating_and_pressure.py::test_demo_load"),
    ("design/heating.py", "unit.recovery * min(supply", "0.0 * min(supply", "test_heating_and_pressure.py::test_demo_load"),
    ("design/pressure.py", "against = self.sign * house_pressure_pa", "against = -self.sign * house_pressure_pa", "test_heating_and_pressure.py::test_a_tighter_shell"),
    ("house/geometry/planes.py", "return math.sqrt(1.0 + self.a**2 + self.b**2)", "return 1.0 + self.a**2 + self.b**2", "test_geometry.py::test_examples_by_hand"),
    ("house/geometry/surfaces.py", "+ house.site.plan_north_deg", "- house.site.plan_north_deg", "test_geometry.py::test_box_with_walls"),
    ("house/geometry/arrangement.py", "CAVITY_M = 0.7", "CAVITY_M = 0.07", "test_geometry.py::test_examples_by_hand"),
    ("records/jobfolder.py", "if not t.unfit", "if t.date", "test_claims.py::test_an_invalid_test_decides"),
    ("jobs/judging.py", "if load <= 0.0", "if load <= -1e9", "test_claims.py::test_no_capacity_is_kept"),
    ("jobs/own_promises.py", "if len(known) == len(sounds)", "if known", "test_claims.py::test_sound_counts"),
    ("design/local_exhaust.py", "self.continuous_m3_s - self.split_m3_s", "self.continuous_m3_s", "test_claims.py::test_a_share_of_a_total"),
    ("network/air.py", "pressure[c.a] - pressure[c.b] - (rho_a - rho_b)", "pressure[c.a] - pressure[c.b] + (rho_a - rho_b)", "test_air_network.py::test_stack_through"),
    ("network/carried.py", "matrix[link.b, recovery.exhaust_room] -= recovered", "matrix[link.b, recovery.exhaust_room] += recovered", "test_coupled.py::test_compiled_and_readable"),
    ("network/reference.py", "came - left - stored) / max(abs(came)", "came + left - stored) / max(abs(came)", "test_coupled.py::test_without_a_compiler"),
    ("network/reference.py", "right = right + take * state.buffer_rh * saturation", "right = right - take * state.buffer_rh * saturation", "test_coupled.py::test_compiled_and_readable"),
    ("network/thermal.py", "2.0 * middle - start_c, middle", "1.9 * middle - 0.9 * start_c, middle", "test_proofs.py::test_a_tube"),
    ("network/factor.py", "share[:, None, :] * matrix[below, j][None, :, :]", "share[:, None, :] * share[None, :, :]", "test_proofs.py::test_a_whole_house"),
    ("physics/skin.py", "acting.leak_vapour - at_skin", "at_skin - acting.leak_vapour", "test_proofs.py::test_a_leak_deposits"),
    ("physics/shading.py", "fin_m * np.abs(np.tan", "fin_m * np.abs(np.sin", "test_house_runs.py::test_fins_shade"),
    ("design/drivers.py", "mean - ratio * (mean - months)", "mean - ratio * (months - mean)", "test_year.py::test_the_ground_swings"),
    ("physics/duct.py", "pressure + duct_loss_pa", "pressure - duct_loss_pa", "test_duct.py::test_operating_point"),
    ("physics/duct.py", "np.exp(-0.126", "np.exp(0.126", "test_duct.py::test_flexible_duct"),
    ("physics/duct.py", "2.51 * root", "2.15 * root", "test_duct.py::test_friction"),
    ("physics/ground.py", "math.log(1.0 + math.pi * strip_m", "math.log(1.0 + 0.5 * math.pi * strip_m", "test_controls.py::test_the_edge_strip"),
    ("design/controls.py", '(row.days == "working")', '(row.days != "working")', "test_controls.py::test_hours_and_days"),
    ("design/controls.py", "on_at - band if above", "on_at + band if above", "test_controls.py::test_the_dead_band"),
    ("design/controls.py", "(row.priority, row.id)", "(-row.priority, row.id)", "test_controls.py::test_the_higher_priority"),
    ("physics/coil.py", "(h2 - at) / (h1 - at)", "(h1 - h2) / (h1 - at)", "test_heads.py::test_a_coil_at_its_rating"),
    ("physics/coil.py", "(DRY_J_KGK + VAPOUR_J_KGK * ratio))", "DRY_J_KGK)", "test_heads.py::test_a_coil_at_its_rating"),
    ("physics/coil.py", "np.asarray(rated_kg_s) / np.asarray(dry_air_kg_s)", "np.asarray(dry_air_kg_s) / np.asarray(rated_kg_s)", "test_heads.py::test_cycling_frost"),
    ("physics/coil.py", "* w * rise * p / (p - saturated)", "* w * rise * 0.5", "test_heads.py::test_the_dew_point_of_a_coil"),
    ("physics/heat_pump.py", "share / (1.0 - loss * (1.0 - share))", "share * (1.0 - loss * (1.0 - share))", "test_heads.py::test_cycling_frost"),
    ("physics/heat_pump.py", "0.90 * (low + 0.6", "0.90 * (low + 0.4", "test_heads.py::test_cycling_frost"),
    ("physics/air.py", "4.186 * wet", "2.326 * wet", "test_heads.py::test_wet_bulb"),
    ("physics/transfer.py", "top / (np.asarray(room_loss_w_k) + joined)", "top / joined", "test_rooms.py::test_a_transfer_fan"),
    ("network/holding.py", "touched * running * kept", "touched * kept", "test_heads.py::test_both_steps_agree"),
    ("network/holding.py", "+ follow * (cool[k] - there)", "- follow * (cool[k] - there)", "test_heads.py::test_both_steps_agree"),
    ("network/holding.py", "wetted[room] = contact[room] * there", "wetted[room] = contact[room] * share", "test_heads.py::test_both_steps_agree"),
    ("design/cooling_load.py", "driven[0] = glass_w", "driven[0] = 0.9 * glass_w", "test_rooms.py::test_the_parts_of_the_cooling_load"),
    ("design/cooling_load.py", "np.eye(nodes) - day", "np.eye(nodes) - 0.99 * day", "test_rooms.py::test_a_constant_drive"),
    ("design/room_balance.py", "conductance * (middles[:, node] - middles[:, face.node])", "conductance * (middles[:, face.node] - middles[:, node])", "test_rooms.py::test_every_room_balance"),
    ("design/heads.py", "np.clip(low, 0.0, values[0])", "values[0]", "test_rooms.py::test_capacity_between"),
    ("study/unknowns.py", "self.sizes.sum() / sizes.sum()", "1.0", "test_rooms.py::test_varied_houses"),
    ("study/regression.py", "points.std(axis=0)", "points.var(axis=0)", "test_rooms.py::test_regression_finds"),
    ("physics/duct_water.py", "(air - around) * (1.0 - u / film)", "(air - around) * (u / film)", "test_air_devices.py::test_water_in_a_duct_is_conserved"),
    ("physics/duct_water.py", "1.0 - np.exp(-u * per_part)", "1.0 - np.exp(-film * per_part)", "test_air_devices.py::test_air_cools_along"),
    ("physics/duct_water.py", "- u * (np.asarray(room_c) - np.asarray(air_c)) / outer", "- u * (np.asarray(room_c) - np.asarray(air_c)) / film", "test_air_devices.py::test_a_cold_run_sweats"),
    ("physics/air.py", "237.3 * level / (17.269 - level)", "237.3 * level / (17.269 + level)", "test_air_devices.py::test_dew_point"),
    ("physics/duct.py", "made - against_pa - duct_loss_pa", "made + against_pa - duct_loss_pa", "test_quick_air.py::test_a_fan_meets"),
    ("physics/duct.py", "+ duct.filter_pa_s_m3 * flow)", "+ duct.filter_pa_s_m3 * flow**2)", "test_air_devices.py::test_filter_and_wind"),
    ("design/run_time.py", "/ starts * 3600.0", "* 3600.0", "test_air_devices.py::test_run_time"),
    ("design/run_time.py", "float(flows_m3_s[on].min()) / factor", "float(flows_m3_s[on].min()) * factor", "test_air_devices.py::test_run_time"),
    ("design/run_time.py", "(begins - ratio) * (1.0 - np.exp(-rate)) / rate", "(begins - ratio) * np.exp(-rate)", "test_air_devices.py::test_run_time"),
    ("design/cold_ducts.py", "np.maximum(below - lift, 0.0)", "below", "test_air_devices.py::test_a_core_loses"),
    ("design/cold_ducts.py", "unit.exhaust_flow_m3_s / max(unit.supply_flow_m3_s, 1e-9)", "unit.supply_flow_m3_s / max(unit.exhaust_flow_m3_s, 1e-9)", "test_air_devices.py::test_a_core_loses"),
    ("design/controls.py", "(1.0 - unit.recovery) * each * lift", "unit.recovery * each * lift", "test_air_devices.py::test_frost_rests"),
    ("design/controls.py", '"recirculate": supply + exhaust', '"recirculate": supply', "test_air_devices.py::test_frost_rests"),
    ("design/in_place.py", "q * wanted / now", "q * now / wanted", "test_air_devices.py::test_as_built_devices"),
    ("design/makeup.py", "reach[two] < reach[one]", "reach[one] < reach[two]", "test_air_devices.py::test_an_appliance"),
    ("design/fresh_air.py", "required * (1.0 - less)", "required * less", "test_air_devices.py::test_a_balanced_ducted"),
    ("design/air_findings.py", "away < least - 1e-9", "away > least - 1e-9", "test_air_devices.py::test_what_is_named"),
    ("jobs/air_built.py", "self.measured_m3_s / self.design_m3_s - 1.0", "self.design_m3_s / self.measured_m3_s - 1.0", "test_air_devices.py::test_the_house_is_run_again"),
    ("physics/vapour.py", "if turn > 0.0:", "if turn < 0.0:", "test_moisture.py::test_a_panel_roof"),
    ("physics/vapour.py", "PERMEABILITY * (inward - outward)", "PERMEABILITY * (inward + outward)", "test_moisture.py::test_a_panel_roof"),
    ("physics/vapour.py", "now > DRY_KG_M2", "now > 1e9", "test_moisture.py::test_a_flat_roof"),
    ("physics/vapour.py", "1.0 - np.asarray(outdoor_c, dtype=float) / 20.0", "1.0 - np.asarray(outdoor_c, dtype=float) / 15.0", "test_moisture.py::test_indoor_supply"),
    ("physics/vapour.py", '"roof": 2000.0', '"roof": 1700.0', "test_moisture.py::test_the_block_method"),
    ("physics/mould.py", "13.9 * np.log(damp)", "13.5 * np.log(damp)", "test_moisture.py::test_mould_index"),
    ("physics/mould.py", "np.where(m < 1.0, kind.slow, kind.fast)", "kind.slow", "test_moisture.py::test_mould_index"),
    ("physics/mould.py", "np.where(out_h <= PAUSE_H, 0.0, SLOW_LOSS)", "SLOW_LOSS", "test_moisture.py::test_mould_declines"),
    ("physics/leak_moisture.py", "w**3", "w**2", "test_moisture.py::test_a_slit"),
    ("physics/leak_moisture.py", "share / (1.0 - share)", "share", "test_moisture.py::test_humidity_ratio"),
    ("physics/leak_moisture.py", "surface = outside + np.asarray(factor) * (inside - outside)", "surface = inside - np.asarray(factor) * (inside - outside)", "test_moisture.py::test_highest_humidity"),
    ("physics/skin.py", "takes[:, None] * points[None, :]", "takes[:, None] * points[None, :] ** 2", "test_dry.py::test_many_skins"),
    ("physics/soil.py", "4.0 * np.asarray(permeability_m2)", "2.0 * np.asarray(permeability_m2)", "test_dry.py::test_soil_openings"),
    ("physics/zones.py", "(house_pa - p2) ** exponent - ratio", "(house_pa - p2) ** exponent + ratio", "test_moisture.py::test_zones"),
    ("physics/zones.py", "np.hypot(by_first, by_second)", "max(by_first, by_second)", "test_moisture.py::test_zones"),
    ("design/leak_skins.py", "- (inner - outer) * GRAVITY_M_S2 * place.height_m - wind", "+ (inner - outer) * GRAVITY_M_S2 * place.height_m - wind", "test_dry.py::test_air_through_a_place"),
    ("design/leak_skins.py", "touches, outward = np.abs(unit) * catch, unit > 0.0", "touches, outward = np.abs(unit) * catch, unit < 0.0", "test_dry.py::test_reversing"),
    ("design/leak_places.py", "rest * p.best_m2 / max(best, 1e-12)", "rest * p.best_m2 / max(most, 1e-12)", "test_dry.py::test_leaks_in_place"),
("physics/slab_cell.py", "tops = (1.0 / (cover_r_m2k_w + 1.0 / film_w_m2k), 1.0 / below_r_m2k_w)", "tops = (1.0 / (cover_r_m2k_w + 2.0 / film_w_m2k), 1.0 / below_r_m2k_w)", "test_floor.py::test_the_cell_against"),
    ("physics/slab_cell.py", "dy = (xa[..., None] * across - xb[..., None] * along)", "dy = (xa[..., None] * across + xb[..., None] * along)", "test_floor.py::test_the_cell_against"),
    ("physics/slab_cell.py", "k = np.where(np.arange(rings - 1) < wall, conductivity[0], conductivity[1])", "k = np.where(np.arange(rings - 1) < wall, conductivity[1], conductivity[1])", "test_floor.py::test_the_cell_against"),
    ("physics/floor.py", "a_t ** (1.0 - spacing_m / 0.075)", "a_t ** (1.0 + spacing_m / 0.075)", "test_floor.py::test_power_product"),
    ("physics/floor.py", "spread=spacing_m * math.log(spacing_m / (math.pi * outer_m))", "spread=spacing_m * math.log(spacing_m / outer_m)", "test_floor.py::test_power_product"),
    ("physics/water_tube.py", "(37530.0 / re) ** 16", "(3753.0 / re) ** 16", "test_floor.py::test_friction"),
    ("physics/water_tube.py", "density_kg_m3 * velocity**2 / (2.0 * inner_m)", "density_kg_m3 * velocity**2 / inner_m", "test_floor.py::test_friction"),
    ("physics/water_tube.py", "np.exp(-np.asarray(output_w_mk) * np.asarray(length_m) / np.asarray(flow_w_k))", "np.exp(-np.asarray(output_w_mk) / np.asarray(length_m) / np.asarray(flow_w_k))", "test_floor.py::test_water_in_circuits"),
    ("physics/fluids.py", "float(np.exp(np.interp(glycol, rows[\"share\"], logs)))", "float(np.exp(np.interp(0.0, rows[\"share\"], logs)))", "test_floor.py::test_water_and_glycol"),
    ("physics/hydronic.py", "cold_density_kg_m3 / hot_density_kg_m3 - 1.0 - 3.0 * metal_strain", "cold_density_kg_m3 / hot_density_kg_m3 - 1.0 - metal_strain", "test_floor.py::test_water_in_circuits"),
    ("physics/hydronic.py", "run_s * (minimum_w - load_w)", "run_s * (minimum_w + load_w)", "test_floor.py::test_water_in_circuits"),
    ("physics/hot_water.py", "np.radians(0.986 * (np.asarray(day, dtype=float) - 15.0 - lag) - 90.0)", "np.radians(0.986 * (np.asarray(day, dtype=float) - 15.0 + lag) - 90.0)", "test_floor.py::test_hot_water"),
    ("physics/hot_water.py", "for more, part in ((0.0, 1.0 - share), (flow, share)):", "for more, part in ((0.0, share), (flow, 1.0 - share)):", "test_floor.py::test_hot_water"),
    ("physics/heater.py", "store_j_k * band_k / (minimum_w - load_w), store_j_k * band_k / load_w", "store_j_k * band_k / minimum_w, store_j_k * band_k / load_w", "test_floor.py::test_heaters"),
    ("physics/heater.py", "6.08 - 0.0941 * lift", "6.08 - 0.941 * lift", "test_floor.py::test_heaters"),
    ("network/reference.py", "source[tube.node] += given[k]", "source[tube.node] += 2.0 * given[k]", "test_floor_year.py::test_tubes_warm"),
    ("design/floor_year.py", "open_ = ready.forcing.outdoor_c < floor.lockout_above_c", "open_ = ready.forcing.outdoor_c > floor.lockout_above_c", "test_floor_year.py::test_a_floor_does_not"),
    ("design/tube_bends.py", "if least <= widest", "if True", "test_tube_plan.py::test_the_demo_house_is_laid"),
    ("records/seal_list.py", "bool(done and retested >= done and photo not in NOTHING and how in PROOFS)", "bool(done)", "test_seal.py::test_what_is_no_proof"),
    ("climate/prepare.py", "1990-01-01 00:30", "1990-01-01 01:30", "test_climate.py::test_prepared_sun"),
]  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("file", "right", "wrong", "test"), sampled(FAULTS, 6), ids=[f"{f[0]}: {f[2]}"[:70] for f in FAULTS]
)
def test_a_fault_is_caught(file: str, right: str, wrong: str, test: str, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "src", tmp_path / "src")
    target = tmp_path / "src" / "inshell" / file
    text = target.read_text(encoding="utf-8")
    assert right in text, "the fault's place has moved"
    target.write_text(text.replace(right, wrong), encoding="utf-8")
    assert caught(test, tmp_path)


KERNEL_FAULTS = [
    ("(2.0 / 3.0 * sign)", "(1.0 / 3.0 * sign)", "test_coupled.py::test_compiled_and_readable"),
    ("* low[k] + wind[k]", "* low[k] - wind[k]", "test_coupled.py::test_compiled_and_readable"),
    (
        "s->matrix[i] = reduced[i] + CP * flow[i];",
        "s->matrix[i] = reduced[i] + 1.01 * CP * flow[i];",
        "test_coupled.py::test_compiled_and_readable",
    ),
    (
        "AT(s->carried, s->b[k]) -= back * outdoor;",
        "AT(s->carried, s->b[k]) += back * outdoor;",
        "test_coupled.py::test_compiled_and_readable",
    ),
    ("* AT(load, child[k]);", "* 0.999 * AT(load, child[k]);", "test_proofs.py::test_a_tube"),
    (
        "(exponents[u] * (1.0 / term) - 1.0)",
        "(exponents[u] * (1.0 / term) - 1.01)",
        "test_coupled.py::test_powers_near",
    ),
    ("if (fresh || s->size[EXCHANGES])", "if (fresh)", "test_coupled.py::test_both_steps_agree_over_hours"),
    (
        "AT(newton, joint[k]) -= steep;",
        "AT(newton, joint[k]) -= 0.99999 * steep;",
        "test_coupled.py::test_the_compiled_step_needs",
    ),
    ("- (against - from) * rate", "- 0.9 * (against - from) * rate", "test_coupled.py::test_a_fan_settles"),
    ("POSITIVE(after - most);", "SPREAD(0.0);", "test_coupled.py::test_what_air_cannot_hold"),
    ("*on_s = running ? since + h : -h;", "*on_s = running ? since + h : h;", "test_coupled.py::test_a_thermostat"),
    ("contact * running * kept", "contact * kept", "test_heads.py::test_both_steps_agree"),
    (
        "s->system[i] += s->take[i] * s->per_share[i] + s->needed[i];",
        "s->system[i] += s->take[i] * s->per_share[i];",
        "test_heads.py::test_both_steps_agree",
    ),
    (
        "+ follow * (s->cool_at[i] - there)",
        "- follow * (s->cool_at[i] - there)",
        "test_heads.py::test_both_steps_agree",
    ),
    ("1.0 / 5040.0", "1.0 / 5000.0", "test_coupled.py::test_the_wide_powers"),
]


@pytest.mark.invariant
@pytest.mark.skipif(shutil.which("gcc") is None, reason="no compiler on this machine")
@pytest.mark.parametrize(("right", "wrong", "test"), sampled(KERNEL_FAULTS, 4), ids=[f[1][:60] for f in KERNEL_FAULTS])
def test_a_fault_in_the_compiled_step_is_caught(right: str, wrong: str, test: str, tmp_path: Path) -> None:
    """The same for the compiled step, rebuilt from its changed source."""
    shutil.copytree(ROOT / "src", tmp_path / "src")
    folder = tmp_path / "src" / "inshell" / "network"
    step = folder / "_step.h"
    text = step.read_text(encoding="utf-8")
    assert right in text, "the fault's place has moved"
    step.write_text(text.replace(right, wrong), encoding="utf-8")
    for old in folder.glob("_kernel*.so"):
        old.unlink()
    flags = [
        "-O1",
        "-std=gnu11",
        "-fno-math-errno",
        "-Wno-psabi",
        "-shared",
        "-fPIC",
        f"-I{sysconfig.get_paths()['include']}",
    ]
    subprocess.run(["gcc", *flags, str(folder / "_kernel.c"), "-o", str(folder / "_kernel.abi3.so"), "-lm"], check=True)
    assert caught(test, tmp_path)


def caught(test: str, tmp_path: Path) -> bool:
    """Whether a test fails, by an assertion, on the source below a folder."""
    name, _, key = test.partition("::")
    code = (
        "import sys, pytest\n"
        f"sys.path.insert(0, {str(tmp_path / 'src')!r})\n"
        f"sys.exit(pytest.main(['-q', '-x', '-p', 'no:cacheprovider', '-o', 'addopts=', {str(ROOT / 'tests' / name)!r}, '-k', {key!r}]))"
    )
    env = os.environ | {
        "PYTHONPATH": f"{tmp_path / 'src'}{os.pathsep}{ROOT}",
        "INSHELL_CACHE": str(tmp_path / "years"),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    env.pop("PYTEST_XDIST_WORKER", None)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, env=env, cwd=ROOT)
    asserted = "AssertionError" in done.stdout or "assert " in done.stdout
    return done.returncode == 1 and asserted
