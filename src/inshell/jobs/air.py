"""`inshell air`: what each fan really moves, what each room breathes at night, and what must be measured."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from inshell.design.breathing import (
    WEEKS,
    WeekAir,
    calculate_week,
    leaks_in_main_room,
    nights_of,
    quantiles,
    sleeping_rooms,
    week_ready,
)
from inshell.design.fan_runs import FanRun, calculate_fan_runs
from inshell.design.room_pressures import RoomPressures, calculate_room_pressures
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.house.as_built import MEASURABLE
from inshell.house.geometry.surfaces import GROUND
from inshell.jobs.answer import Answer, answer
from inshell.jobs.rooms import Progress
from inshell.network.compiled import WIDE, run, run_variants
from inshell.network.system import first_state
from inshell.study.unknowns import Unknown, Varied, points_of

PLACEMENTS, STEP_S = 64, 600.0
SAMPLED_WEEK = "spring"
STUFFY_PPM = 1150.0
SOIL_GAS_PA, DOOR_N = 5.0, 67.0  # 67 N: 15 lbf at the handle (common practice)
PLACES = (Unknown("leaks_in_bedrooms", 0.0, 2.0), Unknown("leaks_high", -0.9, 0.9))


@dataclass(frozen=True)
class Range:
    """A sleeper's room behind its door in spring: by area, all leaks in the main room, and 5 to 95 % of placements."""

    room: str
    outdoor_m3_s: tuple[float, float, float, float]
    ppm_at_5: tuple[float, float, float, float]


@dataclass(frozen=True)
class Line:
    """A line of the commissioning sheet; what was not measured stays blank."""

    device: str
    setting: str
    design_m3_s: float
    measured_m3_s: float | None
    method: str
    instrument: str
    date: str
    person: str


@dataclass(frozen=True)
class AirAnswer:
    """Everything that `inshell air` says."""

    answer: Answer
    required_m3_s: float
    rule: str
    runs: tuple[FanRun, ...]
    weeks: tuple[WeekAir, ...]
    ranges: tuple[Range, ...]
    pressures: tuple[RoomPressures, ...]
    sheet: tuple[Line, ...]
    findings: tuple[Finding, ...]

    def as_json(self) -> dict[str, Any]:
        """The document of `air --json`."""
        units = self.answer.house.units
        return {
            "format": 1,
            "house": self.answer.house.name,
            "house_hash": self.answer.file.model_hash,
            "rule": self.rule,
            "required_flow_m3_s": self.required_m3_s,
            "fans": [asdict(run) | {"most": run.most} for run in self.runs],
            "weeks": [asdict(week) for week in self.weeks],
            "ranges": [
                {"room": r.room, "cases": ["by area", "all in the main room", "5 %", "95 %"],
                 "outdoor_air_m3_s": list(r.outdoor_m3_s), "carbon_dioxide_at_5_ppm": list(r.ppm_at_5)}
                for r in self.ranges
            ],
            "pressures": [
                {"weather": p.weather, "outdoor_c": p.outdoor_c, "doors": p.doors, "rooms": list(p.rooms),
                 "running": [list(names) for names in p.running], "pressure_pa": p.pressure_pa.tolist(),
                 "flow_m3_s": list(p.flows_m3_s), "door_force_n": p.door_n}
                for p in self.pressures
            ],
            "sheet": [asdict(line) for line in self.sheet],
            "findings": [finding.as_json(units) for finding in self.findings],
        }  # fmt: skip


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
    tested = base.test.result.flow_at_50_pa_m3_s if base.test else None
    needed = max(base.fresh_air, key=lambda rule: float(rule.required_flow_m3_s), default=None)
    required = needed.required_flow_m3_s if needed else 0.0
    weeks = []
    for k, (week, doors) in enumerate((w, d) for w in WEEKS for d in ("shut", "open")):
        say("weeks", 0.1 * k)
        weeks.append(_week(base, week, doors, required, tested))
    weeks.append(_week(base, SAMPLED_WEEK, "shut", required, tested, powered=False))
    say("placements", 0.7)
    ranges = _ranges(base, weeks, required, placements, tested)
    runs = calculate_fan_runs(base.house, _pressures(base))
    pressures = calculate_room_pressures(base.house, base.geometry, base.climate, tested_flow_m3_s=tested)
    findings = _findings(base, runs, weeks, ranges) + _pressure_findings(base, pressures)
    say("done", 1.0)
    return AirAnswer(
        base, required, needed.rule if needed else "", runs, tuple(weeks), ranges, pressures, tuple(_sheet(base)),
        tuple(by_severity(findings)),
    )  # fmt: skip


def _week(
    base: Answer, week: str, doors: Any, required: float, tested: float | None, *, powered: bool = True
) -> WeekAir:
    return calculate_week(
        base.house, base.geometry, base.climate, week=week, doors=doors, required_m3_s=required, powered=powered,
        tested_flow_m3_s=tested,
    )  # fmt: skip


def _pressures(base: Answer) -> dict[str, float]:
    """House pressure with each device running alone, with the design-cold stack."""
    return {state.running[0]: state.with_stack_pa for state in base.pressure.states if len(state.running) == 1}


def _ranges(
    base: Answer, weeks: list[WeekAir], required: float, placements: int, tested: float | None
) -> tuple[Range, ...]:
    """What sleepers get in spring, doors shut, wherever the leaks may be."""
    house, geometry = base.house, base.geometry
    ready = week_ready(house, geometry, base.climate, week=SAMPLED_WEEK, doors="shut", tested_flow_m3_s=tested)
    start = first_state(ready.system, air_c=21.0)
    central = run(leaks_in_main_room(house, geometry, ready), ready.forcing, start, step_s=STEP_S)
    least = {night.room: night for night in nights_of(house, geometry, ready, central, required)}
    drawn: dict[str, list[tuple[float, float]]] = {room: [] for room in sleeping_rooms(house)}
    if placements:
        varied, names = Varied(house, ready), [u.name for u in PLACES]
        rows = [dict(zip(names, map(float, point), strict=True)) for point in points_of(PLACES, placements)]
        for k in range(0, placements, WIDE):
            systems = [varied.system(row) for row in rows[k : k + WIDE]]
            told = run_variants(systems, ready.forcing, [start] * len(systems), step_s=STEP_S)
            for series in told:
                for night in nights_of(house, geometry, ready, series, required):
                    if night.room in drawn:
                        drawn[night.room].append((night.outdoor_m3_s, night.ppm_at_5))
    nominal = next(w for w in weeks if w.week == SAMPLED_WEEK and w.doors == "shut" and w.case == "by area")
    found = []
    for room, pairs in drawn.items():
        one, two = nominal.of(room), least[room]
        cases = np.array(pairs) if pairs else np.array([[one.outdoor_m3_s, one.ppm_at_5]])
        air_low, ppm_low = quantiles(cases[:, 0]), quantiles(cases[:, 1])
        found.append(
            Range(room, (one.outdoor_m3_s, two.outdoor_m3_s, *air_low), (one.ppm_at_5, two.ppm_at_5, *ppm_low))
        )
    return tuple(found)


def _findings(base: Answer, runs: tuple[FanRun, ...], weeks: list[WeekAir], ranges: tuple[Range, ...]) -> list[Finding]:
    found = []
    for one in runs:
        where = f"{'fan' if any(f.id == one.device for f in base.house.fan) else 'hood'}.{one.device}"
        if not one.table.allowed:
            longest = (one.table.longest_m or 0.0, "length")
            found.append(Finding("duct-not-in-table", where, {"device": one.device, "longest": longest}))
        if one.in_house_m3_s < 0.8 * one.rated_m3_s:
            best = one.mends[0].what if one.mends else "nothing that was tried"
            moved, rated = (one.in_house_m3_s, "flow"), (one.rated_m3_s, "flow")
            values = {"device": one.device, "moved": moved, "rated": rated, "most": one.most, "best": best}
            found.append(Finding("fan-starved", where, values))
    for one_range in ranges:
        most = max(one_range.ppm_at_5)
        if most > STUFFY_PPM:
            low = (min(one_range.outdoor_m3_s), "flow")
            told = {"room": one_range.room, "most": round(most), "low": low, "limit": round(STUFFY_PPM)}
            found.append(Finding("sleepers-stuffy", f"room.{one_range.room}", told))
    return found


def _pressure_findings(base: Answer, pressures: tuple[RoomPressures, ...]) -> list[Finding]:
    """Rooms on the ground that fans always suck at, and doors that pressure holds shut."""
    found = []
    still = pressures[0]
    always = {f"{fan.id}:base" for fan in base.house.fan if fan.base_flow_m3_s > 0.0}
    always |= {unit.id for unit in base.house.ventilator} | {fan.id for fan in base.house.transfer_fan}
    grounded = {s.room for s in base.geometry.surfaces if s.other == GROUND}
    row = still.pressure_pa[still.of(always)]
    for k, room in enumerate(still.rooms):
        if room in grounded and float(row[k]) < -SOIL_GAS_PA:
            values = {"room": room, "pressure": (float(row[k]), "pressure")}
            found.append(Finding("room-sucks-at-soil", f"room.{room}", values))
    for door in sorted({name for p in pressures for name in p.door_n}):
        force = max(p.door_n.get(door, 0.0) for p in pressures)
        if force > DOOR_N:
            found.append(Finding("door-held-by-pressure", f"door.{door}", {"door": door, "force": round(force)}))
    return found


def _sheet(base: Answer) -> list[Line]:
    """Every flow that must be measured, with what the job folder says was."""
    return [
        _line(base, item.id, what, float(getattr(item, field)))
        for kind, fields in MEASURABLE.items()
        for item in getattr(base.house, kind)
        for what, field in fields.items()
        if getattr(item, field) > 0.0
    ]


def _line(base: Answer, device: str, what: str, design: float) -> Line:
    measured = base.job.measured.get((device, what))
    if measured is None:
        return Line(device, what, design, None, "", "", "", "")
    said = [str(getattr(measured, name, "") or "") for name in ("method", "instrument", "date", "person")]
    return Line(device, what, design, measured.value_m3_s, *said)
