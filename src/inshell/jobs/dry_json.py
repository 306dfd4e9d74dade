"""The document of `inshell dry --json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from inshell.design.dry_year import AssemblyYear
from inshell.design.skin_cases import JointYear
from inshell.jobs.dry import Dry, Scenario, SoilOpening
from inshell.jobs.quick_vapour import planes_json

RANGED = ("deposit_kg_m", "most_kg_kg", "mould")


def dry_json(told: Dry) -> dict[str, Any]:
    """The whole document."""
    base = told.answer
    return {
        "format": 1,
        "house": base.house.name,
        "house_hash": base.file.model_hash,
        "leakage_area_m2": told.leakage_m2,
        "leakage_from": told.basis,
        "people_assumed": told.people_assumed,
        "assemblies_not_judged": told.unjudged,
        "places": [
            {"id": s.place.id, "kind": s.place.kind, "room": s.place.room, "size": s.place.size,
             "per": s.place.row["per"], "height_m": s.place.height_m, "best_m2": s.best_m2, "least_m2": s.least_m2,
             "most_m2": s.most_m2, "sealed": s.place.sealed, "source": s.place.row["source"]}
            for s in told.shares
        ],
        "scenarios": [_scenario(s) for s in told.scenarios],
        "assemblies": [_assembly(a) for a in told.assemblies],
        "inside_points": [asdict(p) for p in told.points],
        "highest_humidity_by_week": list(told.weekly_limit),
        "humidity": [
            {"room": h.room, "mean": list(h.mean), "highest": list(h.highest), "first_year": list(h.first_year)}
            for h in told.humidity
        ],
        "slabs": [asdict(s) for s in told.slabs],
        "findings": [finding.as_json(base.house.units) for finding in told.findings],
    }  # fmt: skip


def _scenario(s: Scenario) -> dict[str, Any]:
    return {"name": s.name, "joints": [_joint(j) for j in s.joints], "soil_openings": [_soil(o) for o in s.soil]}


def _joint(j: JointYear) -> dict[str, Any]:
    return {
        "id": j.share.place.id, "board": j.board, "outward_hours": j.outward_h, "outward_kg_m": j.outward_kg_m,
        "inward_kg_m": j.inward_kg_m, "mean_pressure_pa": j.mean_pa, "cases": [asdict(c) for c in j.cases],
        "range": {name: list(j.span(name)) for name in RANGED} if j.cases else {}, "rules": j.rules,
        "verdict": j.worst if j.cases else "no wooden board outside: not judged",
    }  # fmt: skip


def _soil(o: SoilOpening) -> dict[str, Any]:
    return {
        "id": o.place.id, "open_m2": o.place.open_m2, "inward_hours": o.hours_inward, "mean_suction_pa": o.mean_pa,
        "soil_c": list(o.soil_c), "inflow_m3_s": dict(zip(("silty", "sandy", "gravel"), o.inflow_m3_s, strict=True)),
    }  # fmt: skip


def _assembly(a: AssemblyYear) -> dict[str, Any]:
    return {
        "id": a.assembly, "kind": a.kind, "room": a.room, "verdict": a.verdict, "outside_the_method": a.beyond,
        "worse": {"dries": a.worse.dries, "most_kg_m2": a.worse.most_kg_m2, "planes": planes_json(a.worse)},
        "better": {"dries": a.better.dries, "most_kg_m2": a.better.most_kg_m2, "planes": planes_json(a.better)},
        "two_seasons": {"condensed_kg_m2": float(a.block.condensed_kg_m2.sum()),
                        "dried_kg_m2": float(a.block.dried_kg_m2.sum()), "holds": a.block.holds},
        "temperature_factor": a.factor, "least_factor": a.least_factor,
    }  # fmt: skip
