"""One version of a house in a few numbers: design days behind shut doors and the year, heads and heaters alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS
from inshell.design.comfort import hours_outside
from inshell.design.drivers import Prepared, prepare
from inshell.design.head_year import ModeYear, head_years, heater_kwh
from inshell.design.room_days import Season, design_of, hourly_temperatures, main_room, repeated, settled_state
from inshell.design.year_run import RUN_IN_HOURS
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import Kernel, run
from inshell.network.routes import DoorsAre
from inshell.network.system import Series, State, Target, first_state
from inshell.physics.types import Floats

STEP_S = 900.0


@dataclass(frozen=True)
class Outcome:
    """Worst signed offset of every room on each design day, hours outside the band and damp, the heads' year."""

    offset_k: Mapping[str, dict[str, float]]
    outside_h: dict[str, float]
    damp_h: dict[str, float]
    heads: tuple[ModeYear, ...]
    removed_l_day: float
    drier_l_day: float
    drier_kwh: float
    heater_kwh: float

    def worst_k(self, room: str) -> float:
        """The greatest distance of a room from the main room on any design day."""
        return max((abs(offsets[room]) for offsets in self.offset_k.values()), default=float("nan"))

    @property
    def electric_kwh(self) -> float | None:
        """Electricity of heads and heaters through the year; None where a data sheet does not say or
        nothing electric is there."""
        parts = [mode.electric_kwh for mode in self.heads]
        known = [part for part in parts if part is not None]
        is_told = len(known) == len(parts) and (known or self.heater_kwh > 0.0)
        return sum(known) + self.heater_kwh if is_told else None


def outcome_of(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    begun: State | None = None,
    main: str | None = None,
    band: House | None = None,
    doors: DoorsAre = "shut",
    tested_flow_m3_s: float | None = None,
) -> Outcome:
    """Everything again for one version. `begun` is where a house with the same walls stands when the year begins;
    `band` the house whose comfort band hours are counted against (its own)."""
    main = main or main_room(house, geometry)
    offsets: dict[str, dict[str, float]] = {}
    season: Season
    for season in ("heating", "cooling"):
        if season == "cooling" and climate.design.cooling_c is None:
            continue
        offsets[season] = _offsets(house, geometry, climate, season, doors, main, tested_flow_m3_s)
    return _year(house, geometry, climate, offsets, begun, band or house, tested_flow_m3_s)


def _offsets(
    house: House, geometry: Geometry, climate: HouseClimate, season: Season, doors: DoorsAre, main: str,
    tested_flow_m3_s: float | None,
) -> dict[str, float]:  # fmt: skip
    ready = design_of(house, geometry, climate, season=season, doors=doors, tested_flow_m3_s=tested_flow_m3_s)
    state = settled_state(house, ready, season)
    air, _ = hourly_temperatures(ready, run(ready.system, ready.forcing, state, step_s=STEP_S, slot_s=STEP_S))
    names = ready.routes.network.rooms
    drift = air - air[:, [names.index(main)]]
    return {name: float(drift[int(np.argmax(np.abs(drift[:, k]))), k]) for k, name in enumerate(names)}


def _year(
    house: House, geometry: Geometry, climate: HouseClimate, offsets: Mapping[str, dict[str, float]],
    begun: State | None, band: House, tested_flow_m3_s: float | None,
) -> Outcome:  # fmt: skip
    ready = prepare(
        house, geometry, climate, hours=np.arange(HOURS, dtype=np.int64), doors="by-hours", makers="heads",
        tested_flow_m3_s=tested_flow_m3_s,
    )  # fmt: skip
    start = first_state(ready.system, air_c=float(house.household.heating_set_point_c))
    before, kernel = ready.forcing.rows(HOURS - RUN_IN_HOURS, HOURS), Kernel(ready.system, STEP_S)
    if begun is not None and len(begun.nodes_c) == len(start.nodes_c):
        start = replace(
            start, nodes_c=begun.nodes_c.copy(), vapour=begun.vapour.copy(), buffer_rh=begun.buffer_rh.copy()
        )
    else:
        before = repeated(before, 4)
    start = run(ready.system, before, start, step_s=STEP_S, kernel=kernel).state
    series = run(ready.system, ready.forcing, start, step_s=STEP_S, kernel=kernel)
    names, count = ready.routes.network.rooms, ready.system.rooms
    cold, warm = hours_outside(band, series.nodes_c[:, :count])
    damp = (series.humidity > float(house.household.humidity_most)).sum(axis=0)
    heads = head_years(house, names, ready.forcing.outdoor_c, series.holder_w, series.removed_kg)
    litres, watts = _driers(house, ready, series)
    return Outcome(
        offset_k=offsets,
        outside_h=_named(names, cold + warm),
        damp_h=_named(names, damp),
        heads=heads,
        removed_l_day=_wettest_month_l_day(series.removed_kg.sum(axis=1)),
        drier_l_day=_wettest_month_l_day(litres),
        drier_kwh=float(watts.sum()) / 1000.0,
        heater_kwh=heater_kwh(house, names, ready.forcing.outdoor_c, series.holder_w),
    )


def _driers(house: House, ready: Prepared, series: Series) -> tuple[Floats, Floats]:
    """(litres, mean watts) of all dehumidifiers in every hour."""
    units = {unit.id: unit for unit in house.dehumidifier}
    litres, watts = np.zeros(len(series.control_on)), np.zeros(len(series.control_on))
    for k, row in enumerate(ready.system.controls):
        if row.name in units and row.target is Target.VAPOUR_KG_S:
            on = series.control_on[:, k]
            litres += on * units[row.name].removes_l_day / 24.0
            watts += on * units[row.name].power_w
    return litres, watts


def _named(names: tuple[str, ...], values: Floats) -> dict[str, float]:
    return dict(zip(names, map(float, values), strict=True))


def _wettest_month_l_day(removed_kg: Floats) -> float:
    """Water that heads take out a day, mean of the wettest thirty days."""
    days = removed_kg.reshape(365, 24).sum(axis=1)
    return float(np.convolve(days, np.full(30, 1.0 / 30.0), mode="valid").max())
