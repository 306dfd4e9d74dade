"""What a comfort promise comes to: from design days and a year to one number each, whoever ran them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from inshell.design.heating import set_point_c
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.physics.types import Floats

COMFORT = ("room-temperature-offset", "hours-outside-band", "relative-humidity", "carbon-dioxide")
SEASONS = ("heating", "cooling")


@dataclass(frozen=True)
class Rooms:
    """Series of rooms: rows are hours (or days' hours), columns rooms. Operative temperature may be unknown."""

    air_c: Floats
    operative_c: Floats | None = None
    humidity: Floats | None = None
    carbon_dioxide_ppm: Floats | None = None

    def felt(self, what: str) -> Floats | None:
        """Air or operative temperature."""
        return self.air_c if what == "air" else self.operative_c


@dataclass(frozen=True)
class Evidence:
    """What was run of a house: design days by (season, doors), and the year by the household's hours."""

    rooms: tuple[str, ...]
    main: str
    days: Mapping[tuple[str, str], Rooms]
    year: Rooms | None = None


def band_c(house: House) -> tuple[Floats, float]:
    """(coldest by room, warmest) that the house's comfort band allows."""
    heat = np.array([set_point_c(house, room.id) for room in house.room])
    warm = float(house.household.cooling_set_point_c + house.household.comfort_cooling_k)
    return heat - float(house.household.comfort_heating_k), warm


def hours_outside(house: House, felt_c: Floats, slot_h: float = 1.0) -> tuple[Floats, Floats]:
    """(hours too cold, hours too warm) of each room."""
    cold, warm = band_c(house)
    return (felt_c < cold).sum(axis=0) * slot_h, (felt_c > warm).sum(axis=0) * slot_h


def value_of(house: House, promise: Promise, evidence: Evidence) -> float | None:
    """The number that a comfort promise is judged by; None where what was run does not say."""
    if promise.kind == "room-temperature-offset":
        return _offset(promise, evidence)
    if evidence.year is None:
        return None
    columns = [evidence.rooms.index(promise.room)] if promise.room else list(range(len(evidence.rooms)))
    if promise.kind == "hours-outside-band":
        felt = evidence.year.felt(promise.temperature)
        if felt is None:
            return None
        cold, warm = hours_outside(house, felt)
        return float((cold + warm)[columns].max())
    series = evidence.year.humidity if promise.kind == "relative-humidity" else evidence.year.carbon_dioxide_ppm
    return None if series is None else float(series[:, columns].max())


def _offset(promise: Promise, evidence: Evidence) -> float | None:
    """Greatest distance of the promise's room from the main room."""
    if promise.room is None:
        return None
    if promise.doors == "by-hours":
        cases = [evidence.year]
    else:
        seasons = SEASONS if promise.season == "both" else (promise.season,)
        cases = [evidence.days.get((season, promise.doors)) for season in seasons]
    room, main = evidence.rooms.index(promise.room), evidence.rooms.index(evidence.main)
    worst = 0.0
    for case in cases:
        felt = case.felt(promise.temperature) if case else None
        if felt is None:
            return None
        worst = max(worst, float(np.abs(felt[:, room] - felt[:, main]).max()))
    return worst
