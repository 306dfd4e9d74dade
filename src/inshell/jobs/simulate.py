"""`inshell simulate`: rooms together with their air, on the heating design day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from inshell.climate.choose import HouseClimate, climate_of
from inshell.design.cold_day import ColdDay, calculate_cold_day, heated_rooms
from inshell.design.cooling_day import calculate_cooling_day
from inshell.design.day_run import STEP_S, DayRun, calculate_day, day_of
from inshell.errors import refuse
from inshell.house.model.house import House
from inshell.house.reading import HouseFile, read_house

if TYPE_CHECKING:
    from inshell.jobs.answer import Answer


@dataclass(frozen=True)
class Case:
    """One way to run the house: which rooms make heat, inner doors open or shut."""

    name: str
    day: ColdDay

    def as_json(self) -> dict[str, Any]:
        """The case as `simulate --json` prints it."""
        day = self.day
        names = ("doors_open", "heated", "outdoor_c", "room_c", "operative_c", "heat_w", "pressure_pa", "imbalance_w")
        return {
            "name": self.name,
            **{name: getattr(day, name) for name in names},
            "offset_k": {room: day.offset_k(room) for room in day.room_c},
            "routes": [vars(route) for route in day.routes],
        }


@dataclass(frozen=True)
class Simulated:
    """The cases of one house."""

    file: HouseFile
    cases: tuple[Case, ...]

    def as_json(self) -> dict[str, Any]:
        """The document of `simulate --json`."""
        return {
            "format": 1,
            "house": self.file.house.name,
            "house_hash": self.file.model_hash,
            "day": "heating",
            "cases": [case.as_json() for case in self.cases],
        }


def sources_of(house: House) -> dict[str, tuple[str, ...]]:
    """Ways to heat the house: everything that makes heat, and its heads and heaters alone where a floor helps too."""
    everything = heated_rooms(house)
    if not everything:
        return {"every room held (no heat source is described)": tuple(room.id for room in house.room)}
    alone = set(house.rooms_with_heat)
    heads = tuple(room for room in everything if room in alone)
    ways = {"every heat source": everything}
    if heads and heads != everything:
        ways["heads and heaters alone"] = heads
    return ways


def simulate(path: Path) -> Simulated:
    """The heating design day with doors open and shut."""
    file = read_house(path)
    return Simulated(file, tuple(_cases(file)))


@dataclass(frozen=True)
class RealDay:
    """A day of the weather year, with inner doors open and with them shut."""

    file: HouseFile
    name: str
    runs: tuple[DayRun, ...]

    def as_json(self) -> dict[str, Any]:
        """The document of `simulate --json`: hourly means, rows are hours, columns rooms."""
        return {
            "format": 1,
            "house": self.file.house.name,
            "house_hash": self.file.model_hash,
            "day": self.name,
            "rooms": list(self.runs[0].rooms),
            "held": list(self.runs[0].held),
            "outdoor_c": self.runs[0].outdoor_c.tolist(),
            "cases": [
                {
                    "doors_open": run.doors_open,
                    "room_c": run.room_c.tolist(),
                    "heat_w": run.heat_w.tolist(),
                    "relative_humidity": run.humidity.tolist(),
                    "carbon_dioxide_ppm": run.carbon_dioxide_ppm.tolist(),
                    "imbalance_w": run.imbalance_w,
                }
                for run in self.runs
            ],
        }


def simulate_day(
    path: Path, *, day: str, step_s: float = STEP_S, progress: Callable[[float], None] | None = None
) -> RealDay:
    """The cooling design day, or a day of the year: coldest, hottest or MM-DD; raises InputRefused for what is none."""
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    if climate.year is None:
        raise refuse("--day", repr(day), "a house with a weather year", 'Name a year in [climate], or use "heating"')
    if day == "cooling":
        return _cooling_day(file, climate, step_s)
    try:
        number = day_of(climate.year, day)
    except ValueError:
        raise refuse("--day", repr(day), "heating, cooling, coldest, hottest, or a date such as 07-21") from None
    runs = []
    for k, doors_open in enumerate((True, False)):
        told = None if progress is None else _half(progress, k)
        runs.append(
            calculate_day(
                file.house, file.geometry, climate, day=number, doors_open=doors_open, step_s=step_s, progress=told
            )
        )
    return RealDay(file, day, tuple(runs))


def _cooling_day(file: HouseFile, climate: HouseClimate, step_s: float) -> RealDay:
    if climate.design.cooling_c is None:
        raise refuse("--day", "'cooling'", "a cooling design temperature", "Enter cooling_design in [climate]")
    runs = [
        calculate_cooling_day(file.house, file.geometry, climate, doors_open=doors_open, step_s=step_s)
        for doors_open in (True, False)
    ]
    return RealDay(file, "cooling", tuple(runs))


def _half(progress: Callable[[float], None], k: int) -> Callable[[float], None]:
    return lambda share: progress(0.5 * (k + share))


def simulated_answer(answer: Answer) -> tuple[Case, ...]:
    """The same for a report."""
    return tuple(_cases(answer.file))


def _cases(file: HouseFile) -> list[Case]:
    climate = climate_of(file.house, file.folder)
    cases = []
    for name, heated in sources_of(file.house).items():
        for doors_open in (True, False):
            result = calculate_cold_day(file.house, file.geometry, climate, doors_open=doors_open, heated=heated)
            cases.append(Case(f"{name}, doors {'open' if doors_open else 'shut'}", result))
    return cases
