"""`inshell hot-water`: what taps draw, how many at once, what the heater can give by season, and the cautions."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from inshell.design.hot_water_use import WARMEST_TAP_C, HotWater, calculate_hot_water
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.house.model.heat_devices import WaterHeater
from inshell.jobs.answer import Answer, answer
from inshell.physics.fluids import fluid_at

BEYOND_SHARE, TANK_LASTS_S = 0.01, 900.0
OUTLET_MOST_C = 60.0


@dataclass(frozen=True)
class Told:
    """The whole answer; `floor_left_w` is what a shower leaves the floor, None where that is not asked or known."""

    answer: Answer
    water: HotWater
    floor_left_w: float | None
    findings: tuple[Finding, ...]


def hot_water(path: Path) -> Told:
    """Demand against what the heater gives, and what can hurt."""
    return hot_water_of(answer(path))


def hot_water_of(base: Answer) -> Told:
    """The same from a house whose static answer is there."""
    if not base.house.water_heater and not base.house.fixture:
        raise refuse(
            "water_heater", "no water heater and no taps", "one [[water_heater]], and a [[fixture]] for each tap"
        )
    water = calculate_hot_water(base.house, base.climate)
    left = _left_for_floor(base, water)
    return Told(base, water, left, tuple(by_severity(_findings(base, water, left))))


def _left_for_floor(base: Answer, water: HotWater) -> float | None:
    """What the heater has left for the floor while the largest shower runs in the coldest month."""
    heater, showers = water.heater, [d for d in water.draws if d.kind == "shower"]
    if heater is None or not heater.feeds_floor or water.most_w is None or not showers:
        return None
    coldest = min(water.seasons, key=lambda s: s.mains_c)
    heat = fluid_at(temperature_c=0.5 * (coldest.mains_c + water.hot_c)).heat_j_m3k
    used = heat * max(d.hot_m3_s for d in showers) * (water.hot_c - coldest.mains_c)
    return water.most_w - used


def _findings(base: Answer, water: HotWater, left_w: float | None) -> list[Finding]:
    found = [] if water.draws else [Finding("no-fixtures", "fixture", {})]
    heater = water.heater
    if heater is None:
        return found
    where = f"water_heater.{heater.id}"
    if water.most_w is None:
        found.append(Finding("heater-range-not-said", where, {"missing": "input_maximum"}))
    coldest = min(water.seasons, key=lambda s: s.mains_c)
    tanked = coldest.lasts_s is not None and coldest.lasts_s >= TANK_LASTS_S
    if coldest.beyond_share is not None and coldest.beyond_share > BEYOND_SHARE and not tanked:
        values: dict[str, Any] = {"share": f"{coldest.beyond_share:.1%}", "able": (coldest.able_m3_s, "water_flow")}
        found.append(Finding("taps-ask-more", where, values))
    if left_w is not None and left_w < base.heating.total_w:
        values = {
            "left": (max(left_w, 0.0), "power"), "needs": (base.heating.total_w, "power"),
            "minutes": round(heater.priority_most_s / 60.0),
        }  # fmt: skip
        found.append(Finding("shower-and-floor", where, values))
    return found + _slow_taps(heater, water) + _cautions(heater, water)


def _slow_taps(heater: WaterHeater, water: HotWater) -> list[Finding]:
    """Taps whose hot water alone does not start the heater."""
    least = heater.activation_m3_s
    if heater.kind != "tankless" or least is None:
        return []
    found = []
    for draw in (d for d in water.draws if d.hot_m3_s < least):
        values = {"taps": draw.id, "flow": (draw.hot_m3_s, "water_flow"), "least": (least, "water_flow")}
        found.append(Finding("activation-not-reached", f"fixture.{draw.id}", values))
    return found


def _cautions(heater: WaterHeater, water: HotWater) -> list[Finding]:
    """What scalds, stands, mixes with the floor's water, burns or asks much of the service."""
    found, where = [], f"water_heater.{heater.id}"
    hot = (water.hot_c, "temperature")
    if water.hot_c > WARMEST_TAP_C + 0.05:
        found.append(Finding("hot-water-scalds", where, {"hot": hot}))
        if heater.mixing_valve != "yes":
            found.append(Finding("mixing-valve-not-said", where, {"hot": hot}))
    if water.hot_c > OUTLET_MOST_C + 0.05:
        found.append(Finding("outlet-too-hot", where, {"hot": hot}))
    for draw in water.draws:
        if draw.mixed_c > WARMEST_TAP_C + 0.1:
            found.append(Finding("tap-scalds", f"fixture.{draw.id}", {"mixed": (draw.mixed_c, "temperature")}))
        if draw.mixed_c > water.hot_c + 0.1:
            asks = {"mixed": (draw.mixed_c, "temperature"), "hot": hot}
            found.append(Finding("tap-warmer-than-heater", f"fixture.{draw.id}", asks))
    found.append(Finding("water-stands", where, {}))
    if heater.feeds_floor and heater.separation != "exchanger":
        found.append(Finding("floor-through-taps", where, {"said": heater.separation.replace("-", " ")}))
    burns = heater.fuel in ("gas", "propane")
    found.append(Finding("heater-burns", where, {}) if burns else Finding("heater-electric", where, {}))
    return found


def hot_water_json(told: Told) -> dict[str, Any]:
    """The document of `inshell hot-water --json`."""
    water = told.water
    return {
        "format": 1,
        "house": told.answer.house.name,
        "house_hash": told.answer.file.model_hash,
        "heater": water.heater.id if water.heater else None,
        "hot_c": water.hot_c,
        "most_w": water.most_w,
        "taps": [asdict(draw) for draw in water.draws],
        "totals": [{"hot_m3_s": flow, "share_of_busiest_time": share} for flow, share in water.totals],
        "months": [asdict(season) for season in water.seasons],
        "left_for_floor_under_shower_w": told.floor_left_w,
        "findings": [finding.as_json(told.answer.house.units) for finding in told.findings],
    }
