"""`inshell simulate`: rooms together with their air, on the heating design day."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inshell.climate.choose import climate_of
from inshell.design.cold_day import ColdDay, calculate_cold_day, heated_rooms
from inshell.errors import refuse
from inshell.house.model.house import House
from inshell.house.reading import HouseFile, read_house
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
    alone = {head.room for head in house.head} | {heater.room for heater in house.heater}
    heads = tuple(room for room in everything if room in alone)
    ways = {"every heat source": everything}
    if heads and heads != everything:
        ways["heads and heaters alone"] = heads
    return ways


def simulate(path: Path, *, day: str = "heating") -> Simulated:
    """The heating design day with doors open and shut; raises InputRefused for another day."""
    if day != "heating":
        raise refuse("--day", repr(day), "heating, the one day that this version computes")
    file = read_house(path)
    return Simulated(file, tuple(_cases(file)))


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
