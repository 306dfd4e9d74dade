"""The document of `inshell air --json`."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from inshell.jobs.air_answer import AirAnswer

CASES = ["by area", "all in the main room", "5 %", "95 %"]


def air_json(told: AirAnswer) -> dict[str, Any]:
    """The whole document."""
    return {
        "format": 1,
        "house": told.answer.house.name,
        "house_hash": told.answer.file.model_hash,
        "rule": told.rule,
        "required_flow_m3_s": told.required_m3_s,
        "balanced": told.rules.balanced,
        "rules": [asdict(row) | {"met": row.met} for row in told.rules.whole_house],
        "local_exhaust": [asdict(row) for row in told.rules.rooms],
        "rules_in_words": list(told.rules.words),
        "fans": [asdict(run) | {"most": run.most} for run in told.runs],
        "run_times": [asdict(t) | {"effectiveness": t.effectiveness} for t in told.run_times.fans],
        "house_effective_m3_s": told.run_times.by_age_m3_s,
        "run_water": [asdict(water) for water in told.run_water],
        "recovery": [asdict(unit) | {"unbalance": unit.unbalance} for unit in told.recovery],
        "weeks": [asdict(week) for week in told.weeks],
        "ranges": [
            {"room": r.room, "cases": CASES, "outdoor_air_m3_s": list(r.outdoor_m3_s),
             "carbon_dioxide_at_5_ppm": list(r.ppm_at_5), "limit_ppm": r.limit_ppm, "kept_share": r.kept_share}
            for r in told.ranges
        ],
        "pressures": [
            {"weather": p.weather, "outdoor_c": p.outdoor_c, "doors": p.doors, "rooms": list(p.rooms),
             "running": [list(names) for names in p.running], "pressure_pa": p.pressure_pa.tolist(),
             "flow_m3_s": list(p.flows_m3_s), "door_force_n": p.door_n}
            for p in told.pressures
        ],
        "appliances": [
            {key: value for key, value in asdict(a).items() if key != "together"}
            | {"together": [list(names) for names in a.together], "within_screening_limit": a.within}
            for a in told.appliances
        ],
        "as_built": _built(told),
        "sheet": [asdict(line) for line in told.sheet],
        "findings": [finding.as_json(told.answer.house.units) for finding in told.findings],
    }  # fmt: skip


def _built(told: AirAnswer) -> dict[str, Any] | None:
    """Designed beside built."""
    built = told.built
    if built is None:
        return None
    pair = ("designed", "built")
    return {
        "week": built.week,
        "flows": [asdict(one) | {"off_share": one.off_share} for one in built.flows],
        "whole_house_m3_s": dict(zip(pair, built.whole_house_m3_s, strict=True)),
        "deepest_pa": dict(zip(pair, built.deepest_pa, strict=True)),
        "rooms": [
            {"room": r.room, "outdoor_m3_s": dict(zip(pair, r.outdoor_m3_s, strict=True)),
             "highest_ppm": dict(zip(pair, r.ppm_most, strict=True)),
             "relative_exposure": dict(zip(pair, r.exposure, strict=True))}
            for r in built.rooms
        ],
        "not_measured": list(built.missing),
    }  # fmt: skip
