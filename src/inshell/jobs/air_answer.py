"""What `inshell air` answers, as one value."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.design.appliance_rooms import ApplianceRoom
from inshell.design.breathing import WeekAir
from inshell.design.cold_ducts import RecoveryAir, RunWater
from inshell.design.fan_runs import FanRun
from inshell.design.room_pressures import RoomPressures
from inshell.design.run_time import HouseTime
from inshell.findings import Finding
from inshell.jobs.air_built import BuiltAir
from inshell.jobs.air_ranges import Range
from inshell.jobs.air_rules import RulesAir
from inshell.jobs.answer import Answer


@dataclass(frozen=True)
class Line:
    """A line of the commissioning sheet: design with what is accepted; what was not measured stays blank."""

    device: str
    setting: str
    design_m3_s: float
    least_m3_s: float
    most_m3_s: float
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
    rules: RulesAir
    runs: tuple[FanRun, ...]
    run_times: HouseTime
    run_water: tuple[RunWater, ...]
    recovery: tuple[RecoveryAir, ...]
    weeks: tuple[WeekAir, ...]
    ranges: tuple[Range, ...]
    pressures: tuple[RoomPressures, ...]
    appliances: tuple[ApplianceRoom, ...]
    built: BuiltAir | None
    sheet: tuple[Line, ...]
    findings: tuple[Finding, ...]

    @property
    def broken(self) -> bool:
        """Whether a chosen rule is not met, or a promise of a sleeper's room holds in too few placements."""
        level = float(self.answer.house.rules.level)
        return (
            any(r.chosen and r.met is False for r in self.rules.whole_house)
            or any(r.chosen and not r.met for r in self.rules.rooms)
            or any(r.kept_share is not None and r.kept_share < level for r in self.ranges)
        )
