"""`inshell rooms`: is every room comfortable behind its door, why, how sure is that, and what would change it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from inshell.climate.choose import HouseClimate, climate_of
from inshell.design.cold_day import heated_rooms
from inshell.design.comfort import COMFORT, Evidence, Rooms, value_of
from inshell.design.cooling_load import CoolingLoad, calculate_cooling_load
from inshell.design.drivers import Prepared
from inshell.design.heating import HeatingResult, calculate_heating
from inshell.design.promise import Judged
from inshell.design.room_days import (
    DesignDay,
    Season,
    calculate_design_day,
    design_of,
    hours_without_power,
    main_room,
    settled_state,
)
from inshell.design.room_year import RoomHours, Week, calculate_weeks, hours_of_year
from inshell.design.year_run import YearRun, told, year_ready
from inshell.errors import refuse
from inshell.findings import Finding
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.house.reading import HouseFile, read_house
from inshell.jobs.room_findings import findings_of
from inshell.jobs.room_verdicts import judge_rooms
from inshell.network.compiled import run
from inshell.network.routes import DoorsAre
from inshell.network.system import State
from inshell.records.jobfolder import read_jobfolder
from inshell.study.outcome import Outcome, outcome_of
from inshell.study.regression import Weights, weights_of
from inshell.study.sampling import Ready, Sampled, sample
from inshell.study.trying import Case, Option, Tried, cheapest, try_options, try_remedies
from inshell.study.unknowns import unknowns_of

SAMPLES, MOST_SAMPLES = 256, 65536
STEP_S = 600.0
DEFAULT_LIMIT_K = 5.0 / 3.0  # 3 °F, where no promise says (common practice)
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class RoomsAnswer:
    """Everything that `inshell rooms` says of one house."""

    file: HouseFile
    climate: HouseClimate
    tested_m3_s: float | None
    main: str
    target: str
    limit_k: float
    heating: HeatingResult
    load: CoolingLoad | None
    days: tuple[DesignDay, ...]
    outage_h: dict[str, float | None]
    weeks: tuple[Week, ...]
    year: YearRun
    hours: tuple[RoomHours, ...]
    nominal: Outcome
    sampled: Sampled | None
    weights: dict[str, Weights | None]
    promises: tuple[Judged, ...]
    tried: tuple[Tried, ...]
    best: Tried | None
    options: tuple[Option, ...]
    findings: tuple[Finding, ...]

    @property
    def house(self) -> House:
        """The house as designed."""
        return self.file.house

    def day(self, season: str, doors: str) -> DesignDay | None:
        """One design day, if it was run."""
        return next((d for d in self.days if d.season == season and d.doors == doors), None)

    @property
    def broken(self) -> bool:
        """Whether a comfort promise is broken."""
        return any(promise.verdict == "broken" for promise in self.promises)


@dataclass(frozen=True)
class _Basis:
    file: HouseFile
    climate: HouseClimate
    tested_m3_s: float | None


def rooms(
    path: Path, *, room: str = "", samples: int = SAMPLES, remedies: bool = True, progress: Progress | None = None
) -> RoomsAnswer:
    """The whole answer; raises InputRefused without a weather year or for a room that is not there."""
    basis = _basis(path, room, samples)
    file, house, geometry, climate = basis.file, basis.file.house, basis.file.geometry, basis.climate
    say = progress or (lambda _what, _share: None)
    say("design days", 0.0)
    seasons: tuple[Season, ...] = ("heating", "cooling") if climate.design.cooling_c is not None else ("heating",)
    days = tuple(_day(basis, season, doors) for season in seasons for doors in _doors())
    outage = hours_without_power(house, geometry, climate, tested_flow_m3_s=basis.tested_m3_s)
    load = calculate_cooling_load(house, geometry, climate) if climate.design.cooling_c is not None else None
    weeks = calculate_weeks(house, geometry, climate, tested_flow_m3_s=basis.tested_m3_s)
    say("the year", 0.1)
    ready, begun = year_ready(house, geometry, climate, makers="heads", tested_flow_m3_s=basis.tested_m3_s)
    year = told(house, ready, run(ready.system, ready.forcing, begun, step_s=STEP_S))
    main = main_room(house, geometry)
    sampled, weights = None, {}
    own = tuple(p for p in house.promise if p.kind in COMFORT)
    if samples:
        many = Ready(house, main, (ready, begun), _days_ready(basis, seasons, own))
        unknowns = unknowns_of(house, tested=basis.tested_m3_s is not None)
        sampled = sample(many, unknowns, count=samples, promises=own, progress=lambda s: say("samples", 0.15 + 0.6 * s))
        names = tuple(u.name for u in unknowns)
        weights = {p.id: weights_of(names, sampled.points, sampled.values[:, k]) for k, p in enumerate(own)}
    heating = calculate_heating(house, geometry, climate)
    nominal = outcome_of(house, geometry, climate, begun=begun, main=main, tested_flow_m3_s=basis.tested_m3_s)
    promises = judge_rooms(file, own, _values(house, own, main, days, year), days, sampled, nominal.heads)
    target, limit = _target(house, own, promises, days, main, room)
    case = Case(house, geometry, climate, target, main, limit, nominal, begun, basis.tested_m3_s)
    tried: tuple[Tried, ...] = ()
    if remedies and target != main:
        tried = try_remedies(case, lambda s: say("remedies", 0.75 + 0.2 * s))
    options = try_options(case, heating.total_w, load)
    say("done", 1.0)
    answer = RoomsAnswer(
        file, climate, basis.tested_m3_s, main, target, limit, heating, load, days, outage, weeks, year,
        hours_of_year(house, geometry, year), nominal, sampled, weights, promises, tried, cheapest(tried), options, (),
    )  # fmt: skip
    return replace(answer, findings=tuple(findings_of(house, geometry, climate, days, nominal, options, tried)))


def _doors() -> tuple[DoorsAre, ...]:
    return ("shut", "open")


def _basis(path: Path, room: str, samples: int) -> _Basis:
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    if climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    if room and room not in {r.id for r in file.house.room}:
        raise refuse("--room", repr(room), ", ".join(r.id for r in file.house.room))
    if samples and (samples < 8 or samples & (samples - 1) or samples > MOST_SAMPLES):
        raise refuse("--samples", str(samples), f"0, or a power of two from 8 to {MOST_SAMPLES}, such as 256")
    test = read_jobfolder(file.folder, file.house, file.geometry.volume_m3).deciding_test(file.shell_hash)
    return _Basis(file, climate, test.result.flow_at_50_pa_m3_s if test else None)


def _day(basis: _Basis, season: Season, doors: DoorsAre) -> DesignDay:
    return calculate_design_day(
        basis.file.house, basis.file.geometry, basis.climate, season=season, doors=doors,
        tested_flow_m3_s=basis.tested_m3_s,
    )  # fmt: skip


def _days_ready(
    basis: _Basis, seasons: tuple[Season, ...], own: tuple[Promise, ...]
) -> dict[tuple[str, str], tuple[Prepared, State]]:
    """Design days to be sampled: doors shut, and open where a promise asks for it."""
    doors_asked: tuple[DoorsAre, ...] = ("shut", "open") if any(p.doors == "open" for p in own) else ("shut",)
    ready: dict[tuple[str, str], tuple[Prepared, State]] = {}
    for season in seasons:
        for doors in doors_asked:
            day = design_of(
                basis.file.house, basis.file.geometry, basis.climate, season=season, doors=doors,
                tested_flow_m3_s=basis.tested_m3_s,
            )  # fmt: skip
            ready[season, doors] = (day, settled_state(basis.file.house, day, season))
    return ready


def _values(
    house: House, own: tuple[Promise, ...], main: str, days: tuple[DesignDay, ...], year: YearRun
) -> dict[str, dict[str, float | None]]:
    """What every comfort promise comes to: in all, and by each season alone."""
    cases: dict[tuple[str, str], Rooms] = {
        (d.season, d.doors): Rooms(
            np.column_stack([r.air_c for r in d.rooms]), np.column_stack([r.operative_c for r in d.rooms])
        )
        for d in days
    }
    whole = Rooms(year.room_c, year.operative_c, year.humidity, year.carbon_dioxide_ppm)
    evidence = Evidence(year.rooms, main, cases, whole)
    told: dict[str, dict[str, float | None]] = {}
    for promise in own:
        told[promise.id] = {"both": value_of(house, promise, evidence)}
        if promise.kind == "room-temperature-offset" and promise.season == "both":
            for season in ("heating", "cooling"):
                told[promise.id][season] = value_of(house, promise.model_copy(update={"season": season}), evidence)
    return told


def _target(
    house: House,
    own: tuple[Promise, ...],
    judged: tuple[Judged, ...],
    days: tuple[DesignDay, ...],
    main: str,
    room: str,
) -> tuple[str, float]:
    """The room in question and its limit: as asked, else of an offset promise, else the bedroom that drifts most."""
    limits: dict[str, float] = {}
    for p in own:
        if p.kind == "room-temperature-offset" and p.room:
            limits[p.room] = min(p.limit, limits.get(p.room, p.limit))
    if room:
        return room, limits.get(room, DEFAULT_LIMIT_K)
    drift = {r.room: max(abs(d.of(r.room).offset_k) for d in days if d.doors == "shut") for r in days[0].rooms}
    promised = [j.where.removeprefix("room.") for j in judged if j.id.removeprefix("promise/") in _offsets(own)]
    among = [r for r in promised if r in drift and r != main]
    among = among or [r.id for r in house.room if r.is_bedroom and r.id != main]
    among = among or [r for r in drift if r != main and r not in heated_rooms(house, "heads")] or [main]
    worst = max(among, key=lambda name: drift[name])
    return worst, limits.get(worst, DEFAULT_LIMIT_K)


def _offsets(own: tuple[Promise, ...]) -> set[str]:
    return {p.id for p in own if p.kind == "room-temperature-offset"}
