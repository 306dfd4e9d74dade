"""A real day of the weather year, room by room: sun, people, moisture, carbon dioxide, doors open or shut.

The house runs through the days before it, so that walls and slab stand where that weather brings them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS, ClimateYear
from inshell.design.controls import has_relays
from inshell.design.drivers import Prepared, prepare
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.system import first_state
from inshell.physics.types import Floats

STEP_S = 60.0
RELAY_STEP_S = 10.0
RUN_IN_STEP_S = 600.0
RUN_IN_DAYS = 14


@dataclass(frozen=True)
class DayRun:
    """Hourly means of one day: rows are hours, columns rooms in the order of the house."""

    day: int
    doors_open: bool
    rooms: tuple[str, ...]
    held: tuple[str, ...]
    outdoor_c: Floats
    room_c: Floats
    heat_w: Floats
    humidity: Floats
    carbon_dioxide_ppm: Floats
    imbalance_w: float

    def of(self, series: str, room: str) -> Floats:
        """One room's hourly values of a series."""
        values: Floats = getattr(self, series)
        return values[:, self.rooms.index(room)]


def day_of(year: ClimateYear, name: str) -> int:
    """Day of the year (0 to 364) by name: coldest, hottest, or MM-DD; raises ValueError."""
    means = year.dry_bulb_c.reshape(365, 24).mean(axis=1)
    if name in ("coldest", "hottest"):
        return int(np.argmin(means) if name == "coldest" else np.argmax(means))
    month, _, date = name.partition("-")
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    if not (month.isdigit() and date.isdigit() and 1 <= int(month) <= 12 and 1 <= int(date) <= days[int(month) - 1]):
        raise ValueError(name)
    return sum(days[: int(month) - 1]) + int(date) - 1


def day_step_s(ready: Prepared, step_s: float) -> float:
    """The step of a design day: ten seconds at most where a relay switches by what it senses."""
    return min(step_s, RELAY_STEP_S) if has_relays(ready.system.controls) else step_s


def calculate_day(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    day: int,
    doors_open: bool,
    step_s: float = STEP_S,
    tested_flow_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> DayRun:
    """One day after its run-in; heat and cold are made only where a device makes them, as much as is needed."""
    hours = (24 * (day - RUN_IN_DAYS) + np.arange(24 * (RUN_IN_DAYS + 1), dtype=np.int64)) % HOURS
    ready = prepare(
        house, geometry, climate, hours=hours, doors="open" if doors_open else "shut", tested_flow_m3_s=tested_flow_m3_s
    )
    start = first_state(ready.system, air_c=float(house.household.heating_set_point_c))
    before = ready.forcing.rows(0, 24 * RUN_IN_DAYS)
    now = run(ready.system, before, start, step_s=RUN_IN_STEP_S, progress=progress).state
    series = run(ready.system, ready.forcing.rows(24 * RUN_IN_DAYS, len(hours)), now, step_s=day_step_s(ready, step_s))
    rooms = tuple(room.id for room in house.room)
    return DayRun(
        day=day,
        doors_open=doors_open,
        rooms=rooms,
        held=ready.held,
        outdoor_c=ready.forcing.outdoor_c[-24:],
        room_c=series.nodes_c[-24:, : len(rooms)],
        heat_w=series.holder_w,
        humidity=series.humidity,
        carbon_dioxide_ppm=series.carbon_dioxide_ppm,
        imbalance_w=series.balances.heat_w,
    )
