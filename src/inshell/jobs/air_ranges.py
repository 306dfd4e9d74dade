"""What sleepers get wherever the leaks may be: by area, all in the main room, and placements drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.design.breathing import (
    STEP_S,
    Night,
    WeekAir,
    leaks_in_main_room,
    nights_of,
    quantiles,
    sleeping_rooms,
    week_ready,
)
from inshell.jobs.answer import Answer
from inshell.network.compiled import WIDE, run, run_variants
from inshell.network.system import first_state
from inshell.study.unknowns import Unknown, Varied, points_of

SAMPLED_WEEK = "spring"
PLACES = (Unknown("leaks_in_bedrooms", 0.0, 2.0), Unknown("leaks_high", -0.9, 0.9))


@dataclass(frozen=True)
class Range:
    """A sleeper's room behind its door in spring: by area, all leaks in the main room, and 5 to 95 % of placements.

    `kept_share` is the share of placements in which the room's carbon dioxide promise holds at night, None without
    a promise.
    """

    room: str
    outdoor_m3_s: tuple[float, float, float, float]
    ppm_at_5: tuple[float, float, float, float]
    limit_ppm: float | None
    kept_share: float | None


def ranges_of(
    base: Answer, weeks: tuple[WeekAir, ...], required: float, placements: int, tested: float | None
) -> tuple[Range, ...]:
    """What sleepers get in spring, doors shut, wherever the leaks may be."""
    house, geometry = base.house, base.geometry
    ready = week_ready(house, geometry, base.climate, week=SAMPLED_WEEK, doors="shut", tested_flow_m3_s=tested)
    start = first_state(ready.system, air_c=21.0)
    central = run(leaks_in_main_room(house, geometry, ready), ready.forcing, start, step_s=STEP_S)
    least = {night.room: night for night in nights_of(house, geometry, ready, central, required)}
    drawn: dict[str, list[Night]] = {room: [] for room in sleeping_rooms(house)}
    varied, names = Varied(house, ready), [u.name for u in PLACES]
    rows = [dict(zip(names, map(float, point), strict=True)) for point in points_of(PLACES, placements or 1)]
    for k in range(0, placements, WIDE):
        systems = [varied.system(row) for row in rows[k : k + WIDE]]
        for series in run_variants(systems, ready.forcing, [start] * len(systems), step_s=STEP_S):
            for night in nights_of(house, geometry, ready, series, required):
                if night.room in drawn:
                    drawn[night.room].append(night)
    nominal = next(w for w in weeks if w.week == SAMPLED_WEEK and w.doors == "shut" and w.case == "by area")
    return tuple(_range(base, room, nominal.of(room), least[room], nights) for room, nights in drawn.items())


def _range(base: Answer, room: str, one: Night, two: Night, nights: list[Night]) -> Range:
    drawn = nights or [one]
    air_low = quantiles(np.array([n.outdoor_m3_s for n in drawn]))
    ppm_low = quantiles(np.array([n.ppm_at_5 for n in drawn]))
    limits = [p.limit for p in base.house.promise if p.kind == "carbon-dioxide" and p.room in (room, None)]
    limit = min(limits, default=None)
    kept = None
    if limit is not None and nights:
        kept = float(np.mean([n.ppm_most <= limit for n in nights]))
    return Range(
        room, (one.outdoor_m3_s, two.outdoor_m3_s, *air_low), (one.ppm_at_5, two.ppm_at_5, *ppm_low), limit, kept
    )
