"""The house many times over, with what is not known drawn from its ranges: how often each promise holds."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from inshell.climate.year import HOURS
from inshell.design.comfort import SEASONS, Evidence, Rooms, hours_outside, value_of
from inshell.design.drivers import Prepared
from inshell.design.room_days import repeated
from inshell.design.year_run import RUN_IN_HOURS
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.network.compiled import WIDE, run_variants
from inshell.network.system import Series, State
from inshell.physics.types import Floats
from inshell.study.unknowns import Unknown, Varied, points_of

STEP_S = 900.0
MEANS = ("nodes_c", "humidity", "carbon_dioxide_ppm")  # that promises ask for
DAYS = 12  # a design day follows its own nominal state within this many repetitions


@dataclass(frozen=True)
class Ready:
    """What is varied: the year and the design days as prepared, each with the state it begins from."""

    house: House
    main: str
    year: tuple[Prepared, State]
    days: dict[tuple[str, str], tuple[Prepared, State]]


@dataclass(frozen=True)
class Sampled:
    """One row a sample. Offsets are signed, at the hour of their greatest size, by season and room, doors shut."""

    unknowns: tuple[Unknown, ...]
    points: Floats
    promises: tuple[str, ...]
    values: Floats
    rooms: tuple[str, ...]
    outside_h: Floats
    damp_h: Floats
    offset_k: dict[str, Floats]

    def share(self, promise: str, limit: float) -> float | None:
        """Share of samples in which a promise holds (at most its limit); None where it could not be computed."""
        column = self.values[:, self.promises.index(promise)]
        return None if np.isnan(column).any() else float(np.mean(column <= limit + 1e-9))


def sample(
    ready: Ready,
    unknowns: tuple[Unknown, ...],
    *,
    count: int,
    promises: tuple[Promise, ...],
    progress: Callable[[float], None] | None = None,
) -> Sampled:
    """`count` houses through their year and design days, as many side by side as the machine can, on all its cores."""
    names = [u.name for u in unknowns]
    points = points_of(unknowns, count)
    rows = [dict(zip(names, map(float, point), strict=True)) for point in points]
    groups = [rows[k : k + WIDE] for k in range(0, count, WIDE)]
    work = _Work(ready, promises)
    told: list[_Row] = []
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        waiting = [pool.submit(work.group, group) for group in groups]
        try:
            for k, future in enumerate(waiting):
                told += future.result()
                if progress:
                    progress((k + 1) / len(groups))
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return Sampled(
        unknowns=unknowns,
        points=points,
        promises=tuple(p.id for p in promises),
        values=np.array([row.values for row in told], dtype=float).reshape(count, len(promises)),
        rooms=ready.year[0].routes.network.rooms,
        outside_h=np.array([row.outside_h for row in told]),
        damp_h=np.array([row.damp_h for row in told]),
        offset_k={s: np.array([row.offset_k[s] for row in told]) for s in told[0].offset_k},
    )


@dataclass(frozen=True)
class _Row:
    values: list[float]
    outside_h: Floats
    damp_h: Floats
    offset_k: dict[str, Floats]


class _Work:
    """Runs groups of points; one object for all threads, nothing in it changes."""

    def __init__(self, ready: Ready, promises: tuple[Promise, ...]) -> None:
        self.ready, self.promises = ready, promises
        self.year = Varied(ready.house, ready.year[0])
        self.days = {key: Varied(ready.house, day) for key, (day, _) in ready.days.items()}

    def group(self, points: list[dict[str, float]]) -> list[_Row]:
        years = self._years(points)
        days = {key: self._days(key, points) for key in self.days}
        return [self._told(years[k], {key: day[k] for key, day in days.items()}) for k in range(len(points))]

    def _years(self, points: list[dict[str, float]]) -> list[Series]:
        number = np.arange(HOURS, dtype=np.int64) // 24
        systems = [self.year.system(point) for point in points]
        forcings = [self.year.forcing(point, number) for point in points]
        before = [f.rows(HOURS - RUN_IN_HOURS, HOURS) for f in forcings]
        begun = run_variants(systems, before, [self.ready.year[1]] * len(points), step_s=STEP_S, only=())
        return run_variants(systems, forcings, [s.state for s in begun], step_s=STEP_S, only=MEANS)

    def _days(self, key: tuple[str, str], points: list[dict[str, float]]) -> list[Rooms]:
        varied, (ready, start) = self.days[key], self.ready.days[key]
        systems = [varied.system(point) for point in points]
        forcings = [repeated(varied.forcing(point), DAYS) for point in points]
        told = run_variants(systems, forcings, [start] * len(points), step_s=STEP_S)
        count, radiant = ready.system.rooms, list(ready.system.radiant)
        rows = [series.nodes_c[-24:] for series in told]
        return [Rooms(n[:, :count], 0.5 * (n[:, :count] + n[:, radiant])) for n in rows]

    def _told(self, year: Series, days: dict[tuple[str, str], Rooms]) -> _Row:
        house, count = self.ready.house, self.ready.year[0].system.rooms
        air = year.nodes_c[:, :count]
        rooms = self.ready.year[0].routes.network.rooms
        evidence = Evidence(rooms, self.ready.main, days, Rooms(air, None, year.humidity, year.carbon_dioxide_ppm))
        values = [value_of(house, promise, evidence) for promise in self.promises]
        cold, warm = hours_outside(house, air)
        return _Row(
            values=[np.nan if v is None else v for v in values],
            outside_h=cold + warm,
            damp_h=(year.humidity > float(house.household.humidity_most)).sum(axis=0).astype(float),
            offset_k={s: self._offset(days[s, "shut"]) for s in SEASONS if (s, "shut") in days},
        )

    def _offset(self, day: Rooms) -> Floats:
        main = self.ready.year[0].routes.network.rooms.index(self.ready.main)
        drift = day.air_c - day.air_c[:, [main]]
        return np.asarray(np.take_along_axis(drift, np.abs(drift).argmax(axis=0)[None, :], axis=0)[0])
