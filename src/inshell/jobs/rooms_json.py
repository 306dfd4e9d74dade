"""The document of `inshell rooms --json`; every key carries its unit."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from inshell.design.comfort import COMFORT
from inshell.design.cooling_load import LATENT, MONTHS, PARTS, CoolingLoad, Peak
from inshell.design.head_year import ModeYear
from inshell.design.room_days import DesignDay
from inshell.jobs.rooms import RoomsAnswer
from inshell.jobs.rooms_words import part_words, said
from inshell.study.trying import Option, Tried


def rooms_json(result: RoomsAnswer) -> dict[str, Any]:
    """Everything that the command shows, and the hourly series behind it."""
    units = result.house.units
    return {
        "format": 1,
        "house": result.house.name,
        "house_hash": result.file.model_hash,
        "main_room": result.main,
        "room": result.target,
        "limit_k": result.limit_k,
        "summary": said(result),
        "cooling_load": _load(result.load) if result.load else None,
        "design_days": [_day(result, day) for day in result.days],
        "hours_to_10_c_without_power": result.outage_h,
        "weeks": [
            {"name": w.name, "first_day": w.first_day, "doors": w.doors, "mean_outdoor_c": w.mean_outdoor_c,
             "rooms": [asdict(r) for r in w.rooms]}
            for w in result.weeks
        ],
        "year": [asdict(row) for row in result.hours],
        "level": float(result.house.rules.level),
        "asked": [p.model_dump(mode="json") for p in result.house.promise if p.kind in COMFORT],
        "promises": [_promise(result, p.as_json()) for p in result.promises],
        "unknowns": _unknowns(result),
        "remedies": [_tried(t, units) for t in result.tried],
        "cheapest_remedy": result.best.remedy.id if result.best else None,
        "heads": [_option(option) for option in result.options],
        "findings": [finding.as_json(units) for finding in result.findings],
    }  # fmt: skip


def _peak(peak: Peak) -> dict[str, Any]:
    return {
        "where": peak.where, "month": peak.month + 1, "hour": peak.hour, "sensible_w": peak.sensible_w,
        "latent_w": peak.latent_w, "parts_w": peak.parts_w,
    }  # fmt: skip


def _load(load: CoolingLoad) -> dict[str, Any]:
    return {
        "rooms": list(load.rooms), "months": list(MONTHS), "parts": list(PARTS), "latent_parts": list(LATENT),
        "outdoor_c": load.outdoor_c.tolist(), "sensible_w": load.sensible_w.tolist(),
        "latent_w": load.latent_w.tolist(),
        "closing_w": load.closing_w, "house_peak": _peak(load.peak()),
        "room_peaks": [_peak(load.peak(room)) for room in load.rooms],
    }  # fmt: skip


def _day(result: RoomsAnswer, day: DesignDay) -> dict[str, Any]:
    return {
        "season": day.season, "doors": day.doors, "main_room": day.main, "outdoor_c": day.outdoor_c.tolist(),
        "made_w": day.made_w.tolist(), "removed_kg": day.removed_kg, "transfer_fan_m3_s": day.moved_m3_s,
        "imbalance_w": day.imbalance_w,
        "rooms": [
            {
                "room": r.room, "air_c": r.air_c.tolist(), "operative_c": r.operative_c.tolist(),
                "relative_humidity": r.humidity.tolist(), "offset_k": r.offset_k,
                "operative_offset_k": r.operative_offset_k, "worst_hour": r.worst_hour, "settles_h": r.settles_h,
                "pressure_pa": r.pressure_pa, "outdoor_air_m3_s": r.outdoor_m3_s,
                "balance": {
                    "parts": [asdict(part) | {"words": part_words(result, part)} for part in r.balance.parts],
                    "stored_w": r.balance.stored_w,
                    "left_w": r.balance.left_w,
                },
            }
            for r in day.rooms
        ],
    }  # fmt: skip


def _promise(result: RoomsAnswer, row: dict[str, Any]) -> dict[str, Any]:
    weights = result.weights.get(row["id"].removeprefix("promise/"))
    matters = None
    if weights:
        matters = {
            "explained": weights.explained,
            "unknowns": [asdict(w) | {"resolved": w.resolved} for w in weights.rows],
        }
    return row | {"what_matters": matters}


def _unknowns(result: RoomsAnswer) -> dict[str, Any] | None:
    s = result.sampled
    if s is None:
        return None
    level = [5.0, 50.0, 95.0]
    return {
        "samples": len(s.points),
        "ranges": [asdict(u) | {"words": u.words} for u in s.unknowns],
        "rooms": list(s.rooms),
        "percentiles": level,
        "outside_band_h": np.percentile(s.outside_h, level, axis=0).tolist(),
        "damp_h": np.percentile(s.damp_h, level, axis=0).tolist(),
        "offset_k": {season: np.percentile(v, level, axis=0).tolist() for season, v in s.offset_k.items()},
    }


def _tried(tried: Tried, units: Any) -> dict[str, Any]:
    return {
        "id": tried.remedy.id, "what": [finding.message(units).removesuffix(".") for finding in tried.remedy.findings],
        "then": [finding.action(units) for finding in tried.remedy.findings], "offset_k": tried.offset_k,
        "offset_by_season_k": tried.by_season_k, "within": tried.keeps, "outside_band_h": tried.outside_h,
        "damp_h": tried.damp_h, "electric_w": tried.mean_w, "price": tried.remedy.price,
        "opens_doors": tried.remedy.opens_doors, "dehumidifier_l_day": tried.outcome.drier_l_day,
    }  # fmt: skip


def _mode(year: ModeYear) -> dict[str, Any]:
    known = year.least_known
    cycling = {"below_least_share": year.below_share if known else None, "starts": year.starts if known else None}
    return asdict(year) | cycling | {"seasonal_ratio": year.seasonal_ratio}


def _option(option: Option) -> dict[str, Any]:
    return {
        "name": option.name, "heads": list(option.heads), "price": option.price,
        "heating_cover": option.heating_cover, "cooling_cover": option.cooling_cover,
        "modes": [_mode(year) for year in option.outcome.heads], "damp_h": option.outcome.damp_h,
        "outside_band_h": option.outcome.outside_h, "removed_l_day": option.outcome.removed_l_day,
        "findings": [finding.as_json() for finding in option.findings],
    }  # fmt: skip
