"""`inshell simulate --year`: the weather year, room by room, as the household lives in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inshell.climate.choose import climate_of
from inshell.design.year_run import STEP_S, RoomYear, YearRun, room_years
from inshell.errors import refuse
from inshell.house.reading import HouseFile, read_house
from inshell.jobs.runs import year_of
from inshell.jobs.series_file import write_series
from inshell.records.jobfolder import read_jobfolder


@dataclass(frozen=True)
class SimulatedYear:
    """A year with each room in a few numbers."""

    file: HouseFile
    run: YearRun
    rooms: tuple[RoomYear, ...]
    written: Path | None

    def as_json(self) -> dict[str, Any]:
        """The document of `simulate --year --json`: the summary; hourly series go to --output."""
        return {
            "format": 1,
            "house": self.file.house.name,
            "house_hash": self.file.model_hash,
            "year": True,
            "rooms": [vars(room) for room in self.rooms],
            "held": list(self.run.held),
            "balances": vars(self.run.balances),
            "written": str(self.written) if self.written else None,
        }


def simulate_year(
    path: Path,
    *,
    step_s: float = STEP_S,
    slot_s: float = 3600.0,
    output: Path | None = None,
    progress: Callable[[float], None] | None = None,
) -> SimulatedYear:
    """The year, run or read back; raises InputRefused without a weather year."""
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    if climate.year is None:
        raise refuse("--year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    test = read_jobfolder(file.folder, file.house, file.geometry.volume_m3).deciding_test(file.shell_hash)
    tested = test.result.flow_at_50_pa_m3_s if test else None
    run = year_of(file, climate, step_s=step_s, slot_s=slot_s, tested_m3_s=tested, progress=progress)
    if output is not None:
        facts = {"house": file.house.name, "model_hash": file.model_hash, "weather": climate.year.title}
        write_series(output, run, facts | {"weather_credit": climate.year.credit, "slot_s": f"{run.slot_s:g}"})
    return SimulatedYear(file, run, tuple(room_years(file.house, run)), output)
