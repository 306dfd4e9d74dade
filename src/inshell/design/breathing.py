"""Air that reaches people: what each room breathes at night, door shut and open, and how far that depends on the leaks.

Three weeks of the year (coldest, spring, hottest), each after two weeks; nights are the hours in which somebody sleeps.
Where outdoor air comes through leaks whose places are not known it is a range: by area, all in the main room, drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS
from inshell.design.drivers import Prepared, prepare
from inshell.design.gains import within
from inshell.design.room_balance import thing_of
from inshell.design.room_days import main_room
from inshell.design.room_year import four_weeks
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.links import AirNetwork, LinkKind
from inshell.network.routes import DoorsAre
from inshell.network.system import Series, System, first_state
from inshell.physics.air import density_kg_m3
from inshell.physics.types import Floats

STEP_S, RUN_IN_DAYS, WEEK_H = 600.0, 14, 168
WEEKS = ("coldest", "spring", "hottest")
LEAST_SHARE, ROOM_C = 0.005, 20.0


@dataclass(frozen=True)
class Night:
    """One room through the nights of a week: outdoor air that reaches it, age, carbon dioxide, humidity, by route."""

    room: str
    outdoor_m3_s: float
    age_h: float
    ppm_mean: float
    ppm_most: float
    ppm_at_5: float
    humidity: float
    relative_exposure: float
    routes: dict[str, float]


@dataclass(frozen=True)
class WeekAir:
    """A week with doors in one state."""

    week: str
    doors: DoorsAre
    case: str
    rooms: tuple[Night, ...]

    def of(self, room: str) -> Night:
        """One room."""
        return next(night for night in self.rooms if night.room == room)


def site_kg_m3(pressure_pa: float) -> float:
    """Density by which flows are told as volumes: dry air of 20 °C at the house's altitude [kg/m3]."""
    return float(density_kg_m3(temperature_c=ROOM_C, pressure_pa=pressure_pa))


def sleeping_rooms(house: House) -> tuple[str, ...]:
    """Rooms in which somebody sleeps; bedrooms where nobody is described."""
    named = {person.sleeps_in for person in house.person} or {room.id for room in house.room if room.is_bedroom}
    return tuple(room.id for room in house.room if room.id in named)


def night_hours(house: House) -> list[int]:
    """Hours of the day in which somebody sleeps; 22 to 6 where nobody is described."""
    spans = [(p.asleep_from_h, p.asleep_to_h) for p in house.person] or [(22.0, 6.0)]
    return [h for h in range(24) if any(within(h + 0.5, *span) for span in spans)]


def week_ready(
    house: House, geometry: Geometry, climate: HouseClimate, *, week: str, doors: DoorsAre,
    tested_flow_m3_s: float | None = None,
) -> Prepared:  # fmt: skip
    """Three weeks of the year of which the last is the one in question."""
    if climate.year is None:
        raise ValueError("weeks of the year need a weather year")
    day = four_weeks(climate.year)[week]
    hours = (24 * (day - RUN_IN_DAYS) + np.arange(24 * RUN_IN_DAYS + WEEK_H, dtype=np.int64)) % HOURS
    return prepare(house, geometry, climate, hours=hours, doors=doors, tested_flow_m3_s=tested_flow_m3_s)


def run_week(
    house: House, geometry: Geometry, climate: HouseClimate, *, week: str, doors: DoorsAre, powered: bool = True,
    tested_flow_m3_s: float | None = None,
) -> tuple[Prepared, Series]:  # fmt: skip
    """One week as drawn; `powered` False: all fans stand for its seven days, heat and people going on."""
    ready = week_ready(house, geometry, climate, week=week, doors=doors, tested_flow_m3_s=tested_flow_m3_s)
    if not powered:
        ready = _without_power(ready)
    return ready, run(ready.system, ready.forcing, first_state(ready.system, air_c=21.0), step_s=STEP_S)


def calculate_week(
    house: House, geometry: Geometry, climate: HouseClimate, *, week: str, doors: DoorsAre, required_m3_s: float,
    powered: bool = True, tested_flow_m3_s: float | None = None,
) -> WeekAir:  # fmt: skip
    """The nights of such a week."""
    ready, series = run_week(
        house, geometry, climate, week=week, doors=doors, powered=powered, tested_flow_m3_s=tested_flow_m3_s
    )
    return week_of(house, geometry, ready, series, week=week, doors=doors, required_m3_s=required_m3_s, powered=powered)


def week_of(
    house: House, geometry: Geometry, ready: Prepared, series: Series, *, week: str, doors: DoorsAre,
    required_m3_s: float, powered: bool = True,
) -> WeekAir:  # fmt: skip
    """The nights of a week that was run."""
    case = "by area" if powered else "power out"
    return WeekAir(week, doors, case, nights_of(house, geometry, ready, series, required_m3_s))


def _without_power(ready: Prepared) -> Prepared:
    fans = np.array([link.kind is LinkKind.FAN for link in ready.system.air.links])
    share, permit = ready.forcing.route_share.copy(), ready.forcing.permit.copy()
    share[-WEEK_H:, fans] = 0.0
    permit[-WEEK_H:] = 0.0
    return replace(ready, forcing=replace(ready.forcing, route_share=share, permit=permit))


def nights_of(
    house: House, geometry: Geometry, ready: Prepared, series: Series, required_m3_s: float
) -> tuple[Night, ...]:
    """Every room's nights from the last week of a run in hourly slots."""
    rows = [len(series.nodes_c) - WEEK_H + h for h in range(WEEK_H) if h % 24 in set(night_hours(house))]
    five = [len(series.nodes_c) - WEEK_H + h for h in range(WEEK_H) if h % 24 == 5]
    names = [*ready.routes.network.rooms, "outdoors"]
    volume = sum(geometry.space(room).volume_m3 for room in names[:-1])
    routes = _routes(ready, series, rows)
    told = []
    for k, room in enumerate(names[:-1]):
        ppm = series.carbon_dioxide_ppm[:, k]
        age = float(series.age_s[rows, k].mean())
        mine = routes[k]
        total = sum(mine.values())
        shares = {name: flow / total for name, flow in mine.items() if total > 0.0 and flow > LEAST_SHARE * total}
        outdoor = sum(flow for name, flow in mine.items() if name.endswith("from outdoors")) / site_kg_m3(
            ready.system.pressure_pa
        )
        told.append(
            Night(
                room, outdoor, age / 3600.0, float(ppm[rows].mean()), float(ppm[rows].max()), float(ppm[five].mean()),
                float(series.humidity[rows, k].mean()), age * required_m3_s / volume, shares,
            )
        )  # fmt: skip
    return tuple(told)


def _routes(ready: Prepared, series: Series, rows: list[int]) -> list[dict[str, float]]:
    """Mean mass flow into every room by thing and by where it comes from [kg/s]."""
    names = [*ready.routes.network.rooms, "outdoors"]
    found: list[dict[str, float]] = [{} for _ in names]
    for k, link in enumerate(ready.system.air.links):
        ways = ((link.a, link.b, series.forward_kg_s), (link.b, link.a, series.back_kg_s))
        for came, to, flow in ways:
            key = f"{thing_of(link.name)} from {names[came]}"
            found[to][key] = found[to].get(key, 0.0) + float(flow[rows, k].mean())
    return found


def leaks_in_main_room(house: House, geometry: Geometry, ready: Prepared) -> System:
    """The same system with all spread leakage in the main room: the least that other rooms can get."""
    main = ready.routes.network.rooms.index(main_room(house, geometry, "all"))
    links = list(ready.system.air.links)
    spread = [k for k, link in enumerate(links) if link.name.startswith("leak ")]
    total = sum(links[k].coefficient_m3_s_pan for k in spread)
    there = sum(links[k].coefficient_m3_s_pan for k in spread if links[k].a == main)
    if there <= 0.0:
        return ready.system
    for k in spread:
        factor = total / there if links[k].a == main else 1e-6
        links[k] = replace(links[k], coefficient_m3_s_pan=links[k].coefficient_m3_s_pan * factor)
    return replace(ready.system, air=AirNetwork(ready.system.air.rooms, tuple(links)))


def quantiles(values: Floats) -> tuple[float, float]:
    """The 5th and 95th of a hundred."""
    low, high = np.percentile(values, [5.0, 95.0])
    return float(low), float(high)
