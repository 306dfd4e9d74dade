"""`inshell air`: what each fan really moves, what each room breathes at night, and what must be measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from inshell.design.appliance_rooms import calculate_appliance_rooms
from inshell.design.breathing import WEEK_H, WEEKS, WeekAir, run_week, week_of
from inshell.design.cold_ducts import RecoveryAir, RunWater, calculate_recovery, calculate_run_water
from inshell.design.fan_runs import calculate_fan_runs
from inshell.design.room_pressures import calculate_room_pressures
from inshell.design.run_time import HouseTime, Side, calculate_house_time
from inshell.errors import refuse
from inshell.findings import by_severity
from inshell.jobs.air_answer import AirAnswer, Line
from inshell.jobs.air_built import built_air, expected_m3_s, pressures_alone, sheet_flows
from inshell.jobs.air_findings import findings_of
from inshell.jobs.air_ranges import SAMPLED_WEEK, ranges_of
from inshell.jobs.air_rules import rules_air
from inshell.jobs.answer import Answer, answer, whole_house_flows
from inshell.jobs.rooms import Progress
from inshell.network.routes import DoorsAre
from inshell.physics.wind import wind_at_height_m_s
from inshell.sources import table

PLACEMENTS = 64
LAST_WEEK = slice(-WEEK_H, None)


def air(path: Path, *, placements: int = PLACEMENTS, progress: Progress | None = None) -> AirAnswer:
    """The whole answer; raises InputRefused without a weather year."""
    if placements and (placements < 8 or placements & (placements - 1)):
        raise refuse("--placements", str(placements), "0, or a power of two from 8 on, such as 64")
    base = answer(path)
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    return air_of(base, placements=placements, progress=progress)


def air_of(base: Answer, *, placements: int = PLACEMENTS, progress: Progress | None = None) -> AirAnswer:
    """The same from a house whose static answer is there, with a weather year."""
    say = progress or (lambda _what, _share: None)
    house, geometry, climate = base.house, base.geometry, base.climate
    tested = base.test.result.flow_at_50_pa_m3_s if base.test else None
    needed = max(base.fresh_air, key=lambda rule: float(rule.required_flow_m3_s), default=None)
    required = needed.required_flow_m3_s if needed else 0.0
    weeks = _Weeks(base, required, tested)
    for k, week in enumerate(WEEKS):
        say("weeks", 0.2 * k)
        weeks.add(week, "shut")
        weeks.add(week, "open")
    weeks.add(SAMPLED_WEEK, "shut", powered=False)
    say("placements", 0.6)
    ranges = ranges_of(base, tuple(weeks.told), required, placements, tested)
    house_pa = pressures_alone(base)
    say("pressures", 0.8)
    pressures = calculate_room_pressures(house, geometry, climate, tested_flow_m3_s=tested)
    told = AirAnswer(
        answer=base,
        required_m3_s=required,
        rule=needed.rule if needed else "",
        rules=rules_air(base),
        runs=calculate_fan_runs(house, house_pa, _strongest_wind_m_s(base)),
        run_times=weeks.run_times,
        run_water=weeks.run_water,
        recovery=weeks.recovery,
        weeks=tuple(weeks.told),
        ranges=ranges,
        pressures=pressures,
        appliances=calculate_appliance_rooms(
            house, geometry, climate, pressures, flow_at_50_pa_m3_s=base.pressure.flow_at_50_pa_m3_s
        ),
        built=built_air(base, weeks.of(SAMPLED_WEEK), pressures, house_pa, required, tested),
        sheet=tuple(_sheet(base, expected_m3_s(base))),
        findings=(),
    )
    say("done", 1.0)
    return _with_findings(told)


def _with_findings(told: AirAnswer) -> AirAnswer:
    return replace(told, findings=tuple(by_severity(findings_of(told))))


class _Weeks:
    """Weeks that were run, with what is read from some of them beside the nights."""

    def __init__(self, base: Answer, required_m3_s: float, tested_m3_s: float | None) -> None:
        self.base, self.required, self.tested = base, required_m3_s, tested_m3_s
        self.told: list[WeekAir] = []
        self.run_water: tuple[RunWater, ...] = ()
        self.recovery: tuple[RecoveryAir, ...] = ()
        self.run_times = HouseTime((), 0.0)

    def add(self, week: str, doors: DoorsAre, *, powered: bool = True) -> None:
        """Run a week; water in ducts is read from the coldest, run times from the sampled one, doors shut."""
        house, geometry, climate = self.base.house, self.base.geometry, self.base.climate
        ready, series = run_week(
            house, geometry, climate, week=week, doors=doors, powered=powered, tested_flow_m3_s=self.tested
        )
        self.told.append(
            week_of(
                house, geometry, ready, series, week=week, doors=doors, required_m3_s=self.required, powered=powered
            )
        )
        if week == "coldest" and doors == "shut" and climate.year is not None:
            self.run_water = calculate_run_water(house, ready, series, LAST_WEEK)
            self.recovery = calculate_recovery(house, ready, series, LAST_WEEK, climate.year)
        if week == SAMPLED_WEEK and doors == "shut" and powered:
            supply, exhaust = whole_house_flows(house)
            side: Side = "supply" if supply > exhaust else "exhaust"
            self.run_times = calculate_house_time(house, geometry, ready, series, LAST_WEEK, side=side)

    def of(self, week: str) -> WeekAir:
        """A week with doors shut and power on."""
        return next(w for w in self.told if w.week == week and w.doors == "shut" and w.case == "by area")


def _strongest_wind_m_s(base: Answer) -> float:
    """The windiest hour of the year, at the height of the house over its terrain."""
    year = base.climate.year
    if year is None:
        return 0.0
    height = max(base.geometry.height_m, 2.0)
    told = wind_at_height_m_s(
        station_m_s=float(np.max(year.wind_speed_m_s)), height_m=height, terrain=base.house.site.terrain
    )
    return float(told)


def _sheet(base: Answer, expected: dict[tuple[str, str], float]) -> list[Line]:
    """Every flow that must be measured, with what is accepted and what the job folder says was."""
    return [_line(base, *flow, expected) for flow in sheet_flows(base)]


def _line(base: Answer, device: str, what: str, rated: float, expected: dict[tuple[str, str], float]) -> Line:
    share = float(table("fresh_air")["commissioning"]["tolerance"])
    design = expected.get((device, what), rated)
    accepted = design * (1.0 - share), design * (1.0 + share)
    measured = base.job.measured.get((device, what))
    if measured is None:
        return Line(device, what, design, *accepted, None, "", "", "", "")
    said = [str(getattr(measured, name, "") or "") for name in ("method", "instrument", "date", "person")]
    return Line(device, what, design, *accepted, measured.value_m3_s, *said)
