"""A whole weather year, room by room: temperature, humidity, carbon dioxide, air and heat, doors by their hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS
from inshell.design.cold_day import Makers
from inshell.design.controls import has_relays
from inshell.design.drivers import Prepared, prepare
from inshell.design.heating import set_point_c
from inshell.errors import NotConverged
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import Kernel, run
from inshell.network.system import Balances, Series, State, first_state
from inshell.physics.types import Floats

STEP_S = 600.0
RUN_IN_HOURS = 24 * 28
MOST_RUN_INS = 400
SETTLED_K, RELAY_SETTLED_K = 0.01, 0.05
MANY, WANDERS = 10, 50  # repetitions that are taken together
BAND_K = 1.0
DAMP = 0.70
NIGHT = (0, 1, 2, 3, 4, 5)


@dataclass(frozen=True)
class YearRun:
    """Means over the slots of a year: rows are slots, columns rooms in the order of the house (or routes)."""

    rooms: tuple[str, ...]
    held: tuple[str, ...]
    routes: tuple[tuple[str, str, str], ...]
    slot_s: float
    outdoor_c: Floats
    room_c: Floats
    radiant_c: Floats
    heat_w: Floats
    humidity: Floats
    carbon_dioxide_ppm: Floats
    age_s: Floats
    pressure_pa: Floats
    forward_kg_s: Floats
    back_kg_s: Floats
    condensed_kg: Floats
    removed_kg: Floats
    surfaces: tuple[tuple[str, str], ...]
    surface_c: Floats
    balances: Balances

    @property
    def operative_c(self) -> Floats:
        """Mean of air and radiant temperature."""
        return 0.5 * (self.room_c + self.radiant_c)

    def of(self, series: str, room: str) -> Floats:
        """One room's values of a series."""
        values: Floats = getattr(self, series)
        return values[:, self.rooms.index(room)]

    def hours_where(self, condition: NDArray[np.bool_]) -> Floats:
        """Hours in which a condition holds, for each room."""
        return np.asarray(condition.sum(axis=0) * self.slot_s / 3600.0)


@dataclass(frozen=True)
class RoomYear:
    """One room's year in a few numbers."""

    room: str
    coldest_c: float
    warmest_c: float
    hours_cold: float
    hours_hot: float
    humidity_most: float
    hours_damp: float
    carbon_dioxide_most_ppm: float
    carbon_dioxide_night_ppm: float
    heat_kwh: float
    cool_kwh: float


def calculate_year(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    step_s: float = STEP_S,
    slot_s: float = 3600.0,
    makers: Makers = "all",
    tested_flow_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> YearRun:
    """The year after a run-in that repeats its last four weeks until no node moves by 0.01 K from one to the next."""
    ready, begin = year_ready(house, geometry, climate, step_s=step_s, makers=makers, tested_flow_m3_s=tested_flow_m3_s)
    series = run(ready.system, ready.forcing, begin, step_s=step_s, slot_s=slot_s, progress=progress)
    return told(house, ready, series)


def year_ready(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    step_s: float = STEP_S,
    makers: Makers = "all",
    tested_flow_m3_s: float | None = None,
) -> tuple[Prepared, State]:
    """A house ready to run its year, doors by their hours, and where it stands when the year begins."""
    ready = prepare(
        house,
        geometry,
        climate,
        hours=np.arange(HOURS, dtype=np.int64),
        doors="by-hours",
        makers=makers,
        tested_flow_m3_s=tested_flow_m3_s,
    )
    start = first_state(ready.system, air_c=float(house.household.heating_set_point_c))
    return ready, run_in(ready, start, first=HOURS - RUN_IN_HOURS, last=HOURS, step_s=step_s)


def run_in(ready: Prepared, start: State, *, first: int, last: int, step_s: float) -> State:
    """The state after some hours, repeated until it comes back the same; raises NotConverged.

    Where relays switch by what they sense, or a thermostat hangs in another room, no two repetitions end at the same
    point of a cycle: there the means of all nodes over the hours must come back, to RELAY_SETTLED_K, if not from one
    repetition to the next then from ten to the next ten: a relay's cycle may be longer than the hours. A house whose
    thermostat chases another room for ever must at last wander about one mean: fifty and the next fifty differ by no
    more than the wandering itself explains.
    """
    now, kernel = start, Kernel(ready.system, step_s)
    hunts = any(other != room for room, other in enumerate(ready.system.sensed))
    cycles = hunts or has_relays(ready.system.controls)
    stands = [now.nodes_c]
    for _ in range(MOST_RUN_INS):
        series = run(ready.system, ready.forcing.rows(first, last), now, step_s=step_s, kernel=kernel)
        now = series.state
        stands.append(series.nodes_c.mean(axis=0) if cycles else now.nodes_c)
        moved = float(np.max(np.abs(stands[-1] - stands[-2])))
        if moved < (RELAY_SETTLED_K if cycles else SETTLED_K):
            return now
        if cycles and len(stands) > 2 * MANY:
            late, early = np.mean(stands[-MANY:], axis=0), np.mean(stands[-2 * MANY : -MANY], axis=0)
            if float(np.max(np.abs(late - early))) < RELAY_SETTLED_K or _wanders(np.array(stands[-2 * WANDERS :])):
                return now
    raise NotConverged("run-in", iterations=MOST_RUN_INS, residual=moved)


def _wanders(stands: Floats) -> bool:
    """Whether two halves of many repetitions have one mean, as far as how they scatter lets one say (three sigma)."""
    if len(stands) < 2 * WANDERS:
        return False
    off = np.abs(stands[:WANDERS].mean(axis=0) - stands[WANDERS:].mean(axis=0))
    return bool((off < RELAY_SETTLED_K + 3.0 * stands.std(axis=0) * np.sqrt(2.0 / WANDERS)).all())


def told(house: House, ready: Prepared, series: Series) -> YearRun:
    """What a run through all hours of the forcing says of the rooms."""
    count, per_hour = ready.system.rooms, round(3600.0 / series.slot_s)
    names = [*(room.id for room in house.room), "outdoors"]
    return YearRun(
        rooms=tuple(names[:-1]),
        held=ready.held,
        routes=tuple((link.name, names[link.a], names[link.b]) for link in ready.system.air.links),
        slot_s=series.slot_s,
        outdoor_c=np.repeat(ready.forcing.outdoor_c, per_hour),
        room_c=series.nodes_c[:, :count],
        radiant_c=series.nodes_c[:, list(ready.system.radiant)],
        heat_w=series.holder_w,
        humidity=series.humidity,
        carbon_dioxide_ppm=series.carbon_dioxide_ppm,
        age_s=series.age_s,
        pressure_pa=series.pressure_pa,
        forward_kg_s=series.forward_kg_s,
        back_kg_s=series.back_kg_s,
        condensed_kg=series.condensed_kg,
        removed_kg=series.removed_kg,
        surfaces=tuple((face.surface, names[face.room]) for face in ready.thermal.faces),
        surface_c=series.nodes_c[:, [face.node for face in ready.thermal.faces]],
        balances=series.balances,
    )


def room_years(house: House, year: YearRun) -> list[RoomYear]:
    """Each room's extremes, hours outside 1 K round its set points, hours above 70 % humidity, and energy."""
    cool = float(house.household.cooling_set_point_c)
    heat = np.array([set_point_c(house, room) for room in year.rooms])
    cold, hot = year.hours_where(year.room_c < heat - BAND_K), year.hours_where(year.room_c > cool + BAND_K)
    damp = year.hours_where(year.humidity > DAMP)
    clock = (np.arange(len(year.room_c)) * year.slot_s / 3600.0).astype(int) % 24
    night = np.isin(clock, NIGHT)
    kwh = year.slot_s / 3.6e6
    return [
        RoomYear(
            room=room,
            coldest_c=float(year.room_c[:, k].min()),
            warmest_c=float(year.room_c[:, k].max()),
            hours_cold=float(cold[k]),
            hours_hot=float(hot[k]),
            humidity_most=float(year.humidity[:, k].max()),
            hours_damp=float(damp[k]),
            carbon_dioxide_most_ppm=float(year.carbon_dioxide_ppm[:, k].max()),
            carbon_dioxide_night_ppm=float(year.carbon_dioxide_ppm[night, k].mean()),
            heat_kwh=float(np.maximum(year.heat_w[:, k], 0.0).sum() * kwh),
            cool_kwh=float(np.maximum(-year.heat_w[:, k], 0.0).sum() * kwh),
        )
        for k, room in enumerate(year.rooms)
    ]
