"""Rooms through the year as the household lives, and through four weeks of it with doors open and shut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS, ClimateYear
from inshell.design.comfort import hours_outside
from inshell.design.drivers import prepare
from inshell.design.room_days import hourly_temperatures, main_room
from inshell.design.year_run import YearRun
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.routes import DoorsAre
from inshell.network.system import first_state
from inshell.physics.types import Floats

STEP_S, RUN_IN_DAYS, WEEK_H = 600.0, 14, 24 * 7
SWING_C = 15.0  # a week at about this is neither heated nor cooled by much (common practice)
SEASON_DAYS = {"coldest": (0, 365), "spring": (59, 151), "hottest": (0, 365), "autumn": (243, 334)}


@dataclass(frozen=True)
class RoomHours:
    """Hours of one room outside the comfort band and above the humidity limit, and its distance from the main room."""

    room: str
    cold_h: float
    warm_h: float
    cold_operative_h: float
    warm_operative_h: float
    damp_h: float
    offset_low_k: float
    offset_high_k: float

    @property
    def outside_h(self) -> float:
        """Hours outside the band, by air."""
        return self.cold_h + self.warm_h


@dataclass(frozen=True)
class Week:
    """Seven days of the year with doors in one state."""

    name: str
    first_day: int
    doors: DoorsAre
    mean_outdoor_c: float
    rooms: tuple[RoomHours, ...]


def room_hours(
    house: House, rooms: tuple[str, ...], main: str, air_c: Floats, operative_c: Floats, humidity: Floats
) -> tuple[RoomHours, ...]:
    """Hours of every room from hourly series; the distance from the main room is given between its 1st and 99th of a
    hundred hours."""
    cold, warm = hours_outside(house, air_c)
    cold_felt, warm_felt = hours_outside(house, operative_c)
    damp = (humidity > float(house.household.humidity_most)).sum(axis=0)
    low, high = np.percentile(air_c - air_c[:, [rooms.index(main)]], [1.0, 99.0], axis=0)
    columns = zip(rooms, cold, warm, cold_felt, warm_felt, damp, low, high, strict=True)
    return tuple(RoomHours(room, *map(float, values)) for room, *values in columns)


def hours_of_year(house: House, geometry: Geometry, year: YearRun) -> tuple[RoomHours, ...]:
    """The same of a year that was run, from slots of any length in an hour."""
    per, count = round(3600.0 / year.slot_s), len(year.rooms)
    hourly = [v.reshape(-1, per, count).mean(axis=1) for v in (year.room_c, year.operative_c, year.humidity)]
    return room_hours(house, year.rooms, main_room(house, geometry), *hourly)


def four_weeks(year: ClimateYear) -> dict[str, int]:
    """First days of the coldest and the hottest week, and of a spring and an autumn week nearest to 15 °C outdoors."""
    means = np.convolve(year.dry_bulb_c.reshape(365, 24).mean(axis=1), np.full(7, 1.0 / 7.0), mode="valid")
    score = {"coldest": means, "hottest": -means, "spring": np.abs(means - SWING_C), "autumn": np.abs(means - SWING_C)}
    first = {}
    for name, (start, end) in SEASON_DAYS.items():
        first[name] = start + int(np.argmin(score[name][start : min(end, len(means))]))
    return first


def calculate_weeks(
    house: House, geometry: Geometry, climate: HouseClimate, *, tested_flow_m3_s: float | None = None
) -> tuple[Week, ...]:
    """Four weeks with inner doors open, and the same with them shut, after two weeks each; heads and heaters alone."""
    if climate.year is None:
        raise ValueError("weeks of the year need a weather year")
    main, told = main_room(house, geometry), []
    for name, day in four_weeks(climate.year).items():
        hours = (24 * (day - RUN_IN_DAYS) + np.arange(24 * RUN_IN_DAYS + WEEK_H, dtype=np.int64)) % HOURS
        doors: DoorsAre
        for doors in ("open", "shut"):
            ready = prepare(
                house, geometry, climate, hours=hours, doors=doors, makers="heads", tested_flow_m3_s=tested_flow_m3_s
            )
            start = first_state(ready.system, air_c=float(house.household.heating_set_point_c))
            series = run(ready.system, ready.forcing, start, step_s=STEP_S)
            air, operative = (v[-WEEK_H:] for v in hourly_temperatures(ready, series))
            rows = room_hours(house, ready.routes.network.rooms, main, air, operative, series.humidity[-WEEK_H:])
            told.append(Week(name, day, doors, float(climate.year.dry_bulb_c[hours[-WEEK_H:]].mean()), rows))
    return tuple(told)
