"""Every promise about air under some settings: three weeks for the search, the year and 64 leak placements after it.

Settings are judged on the coupled house; sound is an estimate by the fan laws beside each rating.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inshell.climate.year import HOURS
from inshell.design.breathing import RUN_IN_DAYS, STEP_S, WEEKS, WeekAir, calculate_week, night_hours
from inshell.design.drivers import prepare
from inshell.design.local_exhaust import calculate_local_exhaust
from inshell.design.makeup import opening_flow_50_m3_s
from inshell.design.room_pressures import RoomPressures, calculate_room_pressures
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.jobs.air_ranges import ranges_of
from inshell.jobs.answer import Answer, certain_flow_m3_s
from inshell.jobs.settings_answer import Kept
from inshell.network.compiled import run
from inshell.network.fans import base_curve
from inshell.network.system import first_state
from inshell.physics.fan import flow_at_m3_s
from inshell.physics.sound import sone_at_flow
from inshell.physics.types import Floats
from inshell.sources import table

NIGHT_KINDS = ("carbon-dioxide", "relative-humidity")
REACHED = 0.98
PLACEMENTS, WEEK_DAYS = 64, 7


class Judge:
    """One house with its weather and test; settings are changes to it."""

    def __init__(self, base: Answer) -> None:
        self.base = base
        self.flow50 = base.pressure.flow_at_50_pa_m3_s
        self.tested = base.test.result.flow_at_50_pa_m3_s if base.test else None

    def promises(self, house: House) -> list[Kept]:
        """Rules, local exhaust, nights of three weeks, pressures, what fans reach, and their sound."""
        flow = certain_flow_m3_s(house)
        told = [Kept(f"fresh air, {a.rule}", flow, float(a.fan_flow_m3_s), "m3/s", True) for a in self.base.fresh_air]
        for one in calculate_local_exhaust(house, self.base.geometry):
            value, limit = one.shown
            told.append(Kept(f"exhaust from {one.room}", float(value), float(limit), "m3/s", True))
        own = _night_promises(house)
        weeks = [self._week(house, week) for week in WEEKS] if own else []
        told += [_from_weeks(house, promise, weeks) for promise in own]
        still = self.still(house)
        told += self.pressures(house, [p for p in house.promise if p.kind == "house-pressure"], still)
        return told + _reached(house, still) + _sounds(house)

    def still(self, house: House, opening_m2: float = 0.0) -> RoomPressures:
        """Room pressures in still design cold; an opening comes on top of the leakage of the shell."""
        return calculate_room_pressures(
            house, self.base.geometry, self.base.climate,
            tested_flow_m3_s=self.flow50 + opening_flow_50_m3_s(opening_m2),
        )[0]  # fmt: skip

    def pressures(self, house: House, promises: list[Promise], still: RoomPressures) -> list[Kept]:
        """Pressure promises with their fans; one that names none with the worst of all combinations."""
        told = []
        for promise in promises:
            if not promise.fans:
                told.append(Kept(promise.name or promise.id, float(still.pressure_pa.min()), promise.limit, "Pa", True))
                continue
            wanted = {name for name in promise.fans if not (name.endswith(":base") and _has_no_base(house, name))}
            row = still.find(wanted)
            if row is not None:
                value = float(still.pressure_pa[row].min())
                told.append(Kept(promise.name or promise.id, value, promise.limit, "Pa", True))
        return told

    def over_the_year(self, house: House) -> tuple[Kept, ...]:
        """Promises about night air over every night of the year, doors shut, and their share of leak placements."""
        own = _night_promises(house)
        if not own:
            return ()
        ppm, humidity, rooms = self._year(house)
        told = []
        for promise in own:
            columns = [k for k, room in enumerate(rooms) if promise.room in (room, None)]
            values, unit = (ppm, "ppm") if promise.kind == "carbon-dioxide" else (humidity, "1")
            name = f"{promise.name or promise.id}, every night of the year"
            told.append(Kept(name, float(values[:, columns].max()), promise.limit, unit, False))
        return (*told, *self._placed(house))

    def _year(self, house: House) -> tuple[Floats, Floats, tuple[str, ...]]:
        """(highest carbon dioxide of each night [ppm], mean night humidity of each seven nights, rooms)."""
        hours = (np.arange(24 * RUN_IN_DAYS + HOURS, dtype=np.int64) - 24 * RUN_IN_DAYS) % HOURS
        ready = prepare(
            house, self.base.geometry, self.base.climate, hours=hours, doors="shut", tested_flow_m3_s=self.tested
        )
        series = run(ready.system, ready.forcing, first_state(ready.system, air_c=21.0), step_s=STEP_S)
        at_night = np.isin(hours[-HOURS:] % 24, night_hours(house))
        days = HOURS // 24
        ppm = series.carbon_dioxide_ppm[-HOURS:][at_night].reshape(days, -1, ready.system.rooms).max(axis=1)
        damp = series.humidity[-HOURS:][at_night].reshape(days, -1, ready.system.rooms).mean(axis=1)
        weekly = np.lib.stride_tricks.sliding_window_view(damp, WEEK_DAYS, axis=0).mean(axis=-1)
        return ppm, weekly, ready.routes.network.rooms

    def _placed(self, house: House) -> list[Kept]:
        """The share of leak placements in which carbon dioxide promises of sleepers' rooms hold in spring."""
        level = float(house.rules.level)
        changed = replace(self.base, file=replace(self.base.file, house=house))
        week = self._week(house, "spring")
        told = ranges_of(changed, (week,), 1.0, PLACEMENTS, self.tested)
        sleeps = {person.sleeps_in for person in house.person}
        return [
            Kept(f"carbon dioxide in {r.room}, share of leak placements", r.kept_share, level, "1", True)
            for r in told
            if r.kept_share is not None and r.room in sleeps
        ]

    def _week(self, house: House, week: str) -> WeekAir:
        return calculate_week(
            house, self.base.geometry, self.base.climate, week=week, doors="shut", required_m3_s=1.0,
            tested_flow_m3_s=self.tested,
        )  # fmt: skip


def _night_promises(house: House) -> list[Promise]:
    """Promises about night air; carbon dioxide only where somebody who is described sleeps."""
    sleeps = {person.sleeps_in for person in house.person}
    return [
        p
        for p in house.promise
        if p.kind in NIGHT_KINDS and (p.kind != "carbon-dioxide" or p.room in sleeps or (p.room is None and sleeps))
    ]


def _has_no_base(house: House, name: str) -> bool:
    return any(fan.id == name.removesuffix(":base") and fan.base_flow_m3_s <= 0.0 for fan in house.fan)


def _from_weeks(house: House, promise: Promise, weeks: list[WeekAir]) -> Kept:
    """A promise about night air from three weeks with doors shut: carbon dioxide at its highest, humidity as a mean."""
    rooms = [promise.room] if promise.room else [room.id for room in house.room]
    nights = [week.of(room) for week in weeks for room in rooms]
    if promise.kind == "carbon-dioxide":
        return Kept(promise.name or promise.id, max(n.ppm_most for n in nights), promise.limit, "ppm", False)
    return Kept(promise.name or promise.id, max(n.humidity for n in nights), promise.limit, "1", False)


def _reached(house: House, still: RoomPressures) -> list[Kept]:
    """Whether each base flow is reached on its run, with the house at the pressure of all that always runs."""
    always = {f"{fan.id}:base" for fan in house.fan if fan.base_flow_m3_s > 0.0} | {u.id for u in house.ventilator}
    row = still.find(always)
    told = []
    for fan in house.fan:
        if fan.base_flow_m3_s > 0.0 and row is not None:
            pressure = float(still.pressure_pa[row, still.rooms.index(fan.room)])
            against = max(-pressure if fan.kind == "exhaust" else pressure, 0.0)
            moved = float(flow_at_m3_s(curve=base_curve(fan), pressure_pa=against))
            told.append(Kept(f"{fan.id} reaches its base", moved, REACHED * fan.base_flow_m3_s, "m3/s", True))
    return told


def _sounds(house: House) -> list[Kept]:
    """Loudness of fans at their base, by the fan laws from their rating; remote ones and unknown ratings left out."""
    limit, told = float(table("fresh_air")["sound"]["continuous_sone"]), []
    for fan in house.fan:
        if fan.sound_sone is not None and fan.base_flow_m3_s > 0.0 and not fan.remote and fan.rated_flow_m3_s > 0.0:
            ratio = fan.base_flow_m3_s / fan.rated_flow_m3_s
            sone = float(sone_at_flow(rated_sone=fan.sound_sone, flow_ratio=ratio))
            told.append(Kept(f"sound of {fan.id} at its base", sone, limit, "sone", False))
    return told
