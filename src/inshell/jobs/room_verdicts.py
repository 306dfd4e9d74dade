"""Comfort promises judged by what was run: the nominal house first, then how often it holds."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from inshell.design.head_year import ModeYear
from inshell.design.promise import Judged, verdict_of
from inshell.design.room_days import DesignDay
from inshell.house.model.house import House
from inshell.house.model.promises import KINDS, Promise
from inshell.house.reading import HouseFile
from inshell.jobs.origins import origin_of
from inshell.units import show

if TYPE_CHECKING:
    from inshell.study.sampling import Sampled

NOT_SAMPLED = "the house as drawn keeps it; run with --samples to see how often it holds"
NOT_TOLD = "the house as drawn keeps it; sampled years tell air temperature alone, not operative"
LEAST_SAMPLES, BEYOND_SHARE = 64, 0.05
CONDITION = {
    "room-temperature-offset": "against {main}, design days, doors {doors}, {temperature} temperature, heads alone",
    "hours-outside-band": "hours of the year, {temperature} temperature, heads and heaters alone",
    "relative-humidity": "highest hour of the year, doors by their hours",
    "carbon-dioxide": "highest hour of the year, doors by their hours",
}


def judge_rooms(
    file: HouseFile,
    own: tuple[Promise, ...],
    values: dict[str, dict[str, float | None]],
    days: tuple[DesignDay, ...],
    sampled: Sampled | None,
    heads: tuple[ModeYear, ...],
) -> tuple[Judged, ...]:
    """A verdict for each comfort promise, in the order of the house file."""
    told = []
    for promise in own:
        judged = _judged(file, promise, values[promise.id], sampled, days[0].main)
        why = _rests_on_nothing(file.house, promise, days[0].main, heads)
        told.append(replace(judged, verdict="unknown", why_unknown=why) if why and judged.verdict == "kept" else judged)
    return tuple(told)


def _rests_on_nothing(house: House, promise: Promise, main: str, heads: tuple[ModeYear, ...]) -> str:
    """Why a promise that looks kept proves nothing: capacities that nobody gave, or a room compared with itself."""
    if promise.kind == "carbon-dioxide":
        return ""
    if promise.kind == "room-temperature-offset" and promise.room == main:
        return f"{main} is the room that others are compared with"
    if not (house.head or house.heater or house.circuit):
        return "nothing that heats or cools is described: no room is held"
    for head in house.head:
        for mode in ("heating", "cooling"):
            asked = promise.kind != "room-temperature-offset" or promise.season in (mode, "both")
            if asked and not any(point.mode == mode for point in head.point):
                return f"{head.id} has no {mode} points: what it can give is unknown"
    for year in heads:
        if year.hours and year.beyond_points_h > BEYOND_SHARE * year.hours:
            past = f"{year.beyond_points_h:.0f} of {year.hours:.0f} h"
            return f"{year.unit} works {past} in {year.mode} beyond its data sheet"
    return ""


def judged_from(file: HouseFile, document: dict[str, Any], promise: Promise) -> Judged | None:
    """The verdict of a kept document, if it is about this very promise, level and enough samples to decide."""
    level = float(file.house.rules.level)
    for row, asked in zip(document["promises"], document["asked"], strict=True):
        if asked == promise.model_dump(mode="json") and document["level"] == level:
            fields = {key: row[key] for key in Judged.__dataclass_fields__}
            fields["interval"] = tuple(row["interval"]) if row["interval"] else None
            return Judged(**fields)
    return None


def _judged(
    file: HouseFile, promise: Promise, told: dict[str, float | None], sampled: Sampled | None, main: str
) -> Judged:
    _, unit, sense = KINDS[promise.kind]
    value, level = told["both"], float(file.house.rules.level)
    share = sampled.share(promise.id, promise.limit) if sampled else None
    said = CONDITION[promise.kind].format(doors=promise.doors, temperature=promise.temperature, main=main)
    if promise.kind == "room-temperature-offset" and promise.doors == "by-hours":
        said = f"against {main}, every hour of the year, doors by their hours, heads alone"
    base = Judged(
        id=f"promise/{promise.id}", title=promise.name or promise.kind.replace("-", " "),
        where=f"room.{promise.room}" if promise.room else "house", sense=sense, limit=promise.limit, unit=unit,
        verdict="unknown", basis="designed", source=f"{promise.source or 'the house file'}; rooms simulated",
        value=value, condition=promise.condition or said, share=share,
        provenance=origin_of(file, [("promise", promise.id, "limit")]),
    )  # fmt: skip
    if value is None:
        return replace(base, why_unknown="what it needs was not run: is there a cooling design temperature?")
    if verdict_of(value, promise.limit, sense) == "broken":
        if _floor_may_help(file, promise, told):
            off = show(value, "temperature_difference", file.house.units)
            why = f"heads and heaters alone leave it {off} off in design cold; the warm floor's part is not in this"
            return replace(base, value=None, why_unknown=why)
        return replace(base, verdict="broken")
    if share is None or sampled is None or len(sampled.points) < LEAST_SAMPLES:
        return replace(base, why_unknown=_too_little(sampled, share))
    if share < level:
        return replace(base, why_unknown=f"holds in {share:.0%} of the sampled houses, {level:.0%} are asked")
    return replace(base, verdict="kept")


def _too_little(sampled: Sampled | None, share: float | None) -> str:
    if sampled is None:
        return NOT_SAMPLED
    if share is None:
        return NOT_TOLD
    return f"{len(sampled.points)} houses were drawn; {LEAST_SAMPLES} at least decide"


def _floor_may_help(file: HouseFile, promise: Promise, told: dict[str, float | None]) -> bool:
    """Whether only the heating day breaks an offset promise of a house with a warm floor: no floor cools."""
    cooling = told.get("cooling")
    warmed = any(promise.room in circuit.rooms for circuit in file.house.circuit)
    return bool(warmed and promise.kind == "room-temperature-offset" and promise.season != "cooling"
                and (promise.season == "heating" or (cooling is not None and cooling <= promise.limit)))  # fmt: skip
