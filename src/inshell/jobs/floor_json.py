"""The document of `inshell floor --json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from inshell.design.floor_heat import FloorHeat
from inshell.design.floor_source import FloorSource
from inshell.design.floor_water import FloorWater
from inshell.design.tube_plan import TubeRun
from inshell.jobs.floor import Floor


def floor_json(told: Floor) -> dict[str, Any]:
    """The whole document."""
    base = told.answer
    return {
        "format": 1,
        "house": base.house.name,
        "house_hash": base.file.model_hash,
        "circuits": [_run(run) for run in told.plan.runs],
        "not_routed": told.plan.not_routed,
        "leader_gap_m": told.plan.gap_m,
        "tube_total_m": sum(run.length_m for run in told.plan.runs),
        "heat": _heat(told.heat) if told.heat else None,
        "water": _water(told.water) if told.water else None,
        "heater": _source(told.source) if told.source else None,
        "year": _year(told) if told.year else None,
        "ways": [asdict(way) for way in told.ways],
        "promises": [promise.as_json() for promise in told.promises],
        "findings": [finding.as_json(base.house.units) for finding in told.findings],
    }


def _run(run: TubeRun) -> dict[str, Any]:
    return {
        "id": run.id, "circuit": run.circuit, "rooms": list(run.areas), "length_m": run.length_m,
        "leader_m": run.leader_m, "leader_by_room_m": run.passes, "spacing_m": run.spacing_m,
        "area_by_room_m2": {room: area.area for room, area in run.areas.items()}, "bare_m2": run.bare_m2,
        "tightest_radius_m": run.tightest_m, "tube": [[round(x, 4), round(y, 4)] for x, y in run.tube.coords],
    }  # fmt: skip


def _heat(heat: FloorHeat) -> dict[str, Any]:
    return {
        "supply_c": heat.supply_c, "needed_supply_c": heat.needed_supply_c, "governing_room": heat.governs,
        "ground_c": heat.ground_c, "heat_w": heat.heat_w,
        "rooms": [
            asdict(room) | {"is_short": room.is_short, "is_cold": room.is_cold, "is_hot": room.is_hot}
            for room in heat.rooms
        ],
        "loops": [
            {"id": loop.run.id, "supply_c": loop.supply_c, "return_c": loop.return_c, "to_rooms_w": loop.to_rooms_w,
             "down_w": loop.down_w, "edge_w": loop.edge_w, "heat_w": loop.heat_w,
             "k_up_w_m2k": heat.builds[loop.run.id].cell.k_up_w_m2k,
             "k_down_w_m2k": heat.builds[loop.run.id].cell.k_down_w_m2k,
             "peak_to_mean": heat.builds[loop.run.id].cell.peak_to_mean}
            for loop in heat.loops
        ],
    }  # fmt: skip


def _water(water: FloorWater) -> dict[str, Any]:
    return {
        "loops": [asdict(loop) for loop in water.loops], "fluid": asdict(water.fluid), "flow_m3_s": water.flow_m3_s,
        "head_pa": water.head_pa, "exchanger_pa": water.exchanger_pa,
        "running_share": None if water.off_curve else water.running_share,
        "running_head_pa": None if water.off_curve else water.running_pa,
        "volume_m3": water.volume_m3, "expansion_tank_m3": water.tank_m3,
        "fill_gauge_pa": water.fill_pa, "return_c": water.return_c,
    }  # fmt: skip


def _source(source: FloorSource) -> dict[str, Any]:
    def finite(value: float) -> float | None:
        return value if value < 1e12 else None

    return {
        "id": source.heater.id, "kind": source.heater.kind, "least_w": source.least_w, "most_w": source.most_w,
        "supply_c": source.supply_c, "return_c": source.return_c,
        "efficiency": source.efficiency, "efficiency_from": source.efficiency_from,
        "part_loads": [
            {"share": p.share, "load_w": p.load_w, "run_s": finite(p.run_s), "rest_s": finite(p.rest_s),
             "starts_per_h": p.starts_per_h, "buffer_m3": p.buffer_m3}
            for p in source.part_loads
        ],
    }  # fmt: skip


def _year(told: Floor) -> dict[str, Any]:
    year = told.year
    assert year is not None
    return {
        "heat_kwh": year.heat_kwh, "down_kwh": year.down_kwh, "return_c": year.return_c, "starts": year.starts,
        "responds_h": year.responds_h, "imbalance_w": year.imbalance_w,
        "days_checked": [
            {"day": day + 1, "starts_by_rule": rule, "starts_by_minute": counted}
            for day, rule, counted in year.days_checked
        ],
        "heat_by_loop_kwh": dict(zip(year.loops, (year.loop_w.sum(axis=0) / 1000.0).tolist(), strict=True)),
        "rooms": [asdict(room) for room in year.rooms],
    }  # fmt: skip
