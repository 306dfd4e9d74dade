"""The cooling design day, room by room: design heat with its daily swing, the sun of the month's clearest day, people.

The day is repeated until it comes back the same to 0.01 K. Each room with a head is held at its set point.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import MONTH_HOURS, ClimateYear
from inshell.design.cold_day import Makers
from inshell.design.day_run import DayRun, day_step_s
from inshell.design.drivers import Prepared, prepare, sky_c, vapour_share, with_heads
from inshell.design.heating import buffer_c
from inshell.design.year_run import run_in
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.routes import DoorsAre
from inshell.network.system import first_state
from inshell.physics.air import mass_fraction, vapour_from_wet_bulb_pa
from inshell.physics.types import Floats
from inshell.sources import table

STEP_S = 60.0


def hottest_month(year: ClimateYear) -> int:
    """Index of the month with the highest mean temperature."""
    return int(np.argmax(year.monthly_means("dry_bulb_c")))


def clearest_day(year: ClimateYear, month: int) -> int:
    """Day of the year (from 0) with the most sun on the level in a month."""
    last = int(MONTH_HOURS[: month + 1].sum()) // 24
    first = last - int(MONTH_HOURS[month]) // 24
    sums = year.ghi_w_m2.reshape(365, 24).sum(axis=1)
    return first + int(np.argmax(sums[first:last]))


def design_hours_c(year: ClimateYear, month: int, most_c: float, range_k: float | None = None) -> Floats:
    """Temperature in the 24 hours of a cooling design day: most_c less shares of a range (else the month's mean)."""
    last = int(MONTH_HOURS[: month + 1].sum()) // 24
    days = year.dry_bulb_c.reshape(365, 24)[last - int(MONTH_HOURS[month]) // 24 : last]
    swing = range_k if range_k is not None else float((days.max(axis=1) - days.min(axis=1)).mean())
    shares = np.array(table("design")["daily_swing"]["share"])
    return np.asarray(most_c - swing * shares)


def cooling_design(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors: DoorsAre,
    makers: Makers = "all",
    tested_flow_m3_s: float | None = None,
) -> Prepared:
    """The house through the 24 hours of the hottest month's design day.

    Raises ValueError without a weather year or a cooling design temperature.
    """
    if climate.year is None or climate.design.cooling_c is None:
        raise ValueError("a cooling design day needs a weather year and a cooling design temperature")
    month = hottest_month(climate.year)
    hours = 24 * clearest_day(climate.year, month) + np.arange(24, dtype=np.int64)
    ready = prepare(
        house, geometry, climate, hours=hours, doors=doors, makers=makers, tested_flow_m3_s=tested_flow_m3_s
    )
    outdoor = design_hours_c(climate.year, month, climate.design.cooling_c, house.climate.daily_range_k)
    boundary = ready.forcing.boundary_c.copy()
    dew = np.full(24, float(climate.year.monthly_means("dew_point_c")[month]))
    boundary[:, 0], boundary[:, 1], boundary[:, 3:] = outdoor, sky_c(house, outdoor, dew), buffer_c(house, outdoor)
    vapour = vapour_share(dew, climate.pressure_pa)
    if house.climate.cooling_wet_bulb_c is not None:
        pressure = vapour_from_wet_bulb_pa(
            dry_bulb_c=climate.design.cooling_c,
            wet_bulb_c=house.climate.cooling_wet_bulb_c,
            pressure_pa=climate.pressure_pa,
        )
        vapour = np.full(24, float(mass_fraction(vapour_pa=pressure, pressure_pa=climate.pressure_pa)))
    forcing = replace(ready.forcing, outdoor_c=outdoor, boundary_c=boundary, outdoor_vapour=vapour)
    system, forcing = with_heads(house, ready.system, forcing, hours, makers)
    return replace(ready, system=system, forcing=forcing)


def calculate_cooling_day(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors_open: bool,
    step_s: float = STEP_S,
    progress: Callable[[float], None] | None = None,
) -> DayRun:
    """The cooling design day, repeated until it comes back the same."""
    ready = cooling_design(house, geometry, climate, doors="open" if doors_open else "shut")
    outdoor = ready.forcing.outdoor_c
    start = first_state(ready.system, air_c=float(outdoor.mean()), humidity=0.5)
    settled = run_in(ready, start, first=0, last=24, step_s=600.0)
    series = run(ready.system, ready.forcing, settled, step_s=day_step_s(ready, step_s), progress=progress)
    rooms = tuple(room.id for room in house.room)
    cooled = tuple(room for room in rooms if room in {head.room for head in house.head})
    assert climate.year is not None
    return DayRun(
        clearest_day(climate.year, hottest_month(climate.year)), doors_open, rooms, cooled, outdoor,
        series.nodes_c[:, : len(rooms)], series.holder_w, series.humidity, series.carbon_dioxide_ppm,
        series.balances.heat_w,
    )  # fmt: skip
