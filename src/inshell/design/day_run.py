"""A real day of the weather year, room by room: sun, people, carbon dioxide, doors open or shut.

The house runs through the days before it, so that walls and slab stand where that weather brings them. Each step solves
the air first and then the heat over the step; rooms with a heat source are held between their set points.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.climate.choose import HouseClimate
from inshell.climate.year import HOURS, ClimateYear
from inshell.design.cold_day import heated_rooms
from inshell.design.coupled import networks_of
from inshell.design.gains import people_at, sun_on_nodes
from inshell.design.heating import set_point_c
from inshell.errors import NotConverged
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.air import solve_air
from inshell.network.carried import heat_exchange, mass_flows_kg_s, tracer_step
from inshell.network.links import AirState
from inshell.network.rooms import HouseThermal
from inshell.network.routes import HouseRoutes, wind_pressures_pa
from inshell.network.thermal import StepResult, ThermalStepper
from inshell.physics.air import density_kg_m3
from inshell.physics.types import Floats
from inshell.physics.wind import wind_at_height_m_s

STEP_S = 600.0
RUN_IN_DAYS = 14
OUTDOOR_PPM = 420.0
AIR_KG_MOL, CARBON_DIOXIDE_KG_MOL = 0.0289645, 0.04401
SKY_BELOW_AIR_K = 11.0
UNLIMITED_W = 1e7
MOST_ROUNDS = 60
SETTLED_K = 0.02


@dataclass(frozen=True)
class DayRun:
    """Hourly means of one day: rows are hours, columns rooms in the order of the house."""

    day: int
    doors_open: bool
    rooms: tuple[str, ...]
    held: tuple[str, ...]
    outdoor_c: Floats
    room_c: Floats
    heat_w: Floats
    carbon_dioxide_ppm: Floats
    imbalance_w: float

    def of(self, series: str, room: str) -> Floats:
        """One room's hourly values of a series."""
        values: Floats = getattr(self, series)
        return values[:, self.rooms.index(room)]


def day_of(year: ClimateYear, name: str) -> int:
    """Day of the year (0 to 364) by name: coldest, hottest, or MM-DD; raises ValueError."""
    means = year.dry_bulb_c.reshape(365, 24).mean(axis=1)
    if name in ("coldest", "hottest"):
        return int(np.argmin(means) if name == "coldest" else np.argmax(means))
    month, _, date = name.partition("-")
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    if not (month.isdigit() and date.isdigit() and 1 <= int(month) <= 12 and 1 <= int(date) <= days[int(month) - 1]):
        raise ValueError(name)
    return sum(days[: int(month) - 1]) + int(date) - 1


def calculate_day(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    day: int,
    doors_open: bool,
    tested_flow_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> DayRun:
    """One day after its run-in; heat and cold are made only where a device makes them, as much as is needed."""
    if climate.year is None:
        raise ValueError("a day of the year needs a weather year")
    routes, thermal = networks_of(house, geometry, climate, doors_open=doors_open, tested_flow_m3_s=tested_flow_m3_s)
    hours = (24 * (day - RUN_IN_DAYS) + np.arange(24 * (RUN_IN_DAYS + 1), dtype=np.int64)) % HOURS
    sun = sun_on_nodes(house, geometry, thermal, climate.year, hours)
    run = _Run(house, geometry, climate, routes, thermal)
    return run.through(climate.year, hours, sun, doors_open=doors_open, progress=progress)


class _Run:
    """A house being stepped through hours of weather."""

    def __init__(
        self, house: House, geometry: Geometry, climate: HouseClimate, routes: HouseRoutes, thermal: HouseThermal
    ) -> None:
        self.house, self.climate, self.routes, self.thermal = house, climate, routes, thermal
        self.rooms = tuple(room.id for room in house.room)
        self.volume = np.array([geometry.space(room).volume_m3 for room in self.rooms])
        self.stepper = ThermalStepper(thermal.network, STEP_S)
        cooled = {head.room for head in house.head}
        heated = heated_rooms(house)
        self.held = tuple(room for room in self.rooms if room in heated)
        self.heat_at = np.array([set_point_c(house, r) if r in heated else np.nan for r in self.rooms])
        cool = float(house.household.cooling_set_point_c)
        self.cool_at = np.array([cool if r in cooled else np.nan for r in self.rooms])
        self.nodes = np.full(len(thermal.network.capacity_j_k), float(house.household.heating_set_point_c))
        self.level = np.full(len(self.rooms), _fraction(OUTDOOR_PPM))
        self.height_m = max(geometry.height_m, 2.0)
        self.wind = np.zeros(len(routes.network.links))
        self.pressure: Floats | None = None
        self.imbalance = 0.0

    def through(
        self,
        year: ClimateYear,
        hours: NDArray[np.int64],
        sun: Floats,
        *,
        doors_open: bool,
        progress: Callable[[float], None] | None,
    ) -> DayRun:
        """Step through the hours; the last 24 are the day that is told."""
        rows = []
        for k, hour in enumerate(hours):
            outdoor_c = float(year.dry_bulb_c[hour])
            self.wind = self._wind(float(year.wind_speed_m_s[hour]), float(year.wind_direction_deg[hour]), outdoor_c)
            rows.append(self._hour(outdoor_c, float(hour % 24), sun[k]))
            if progress and k % 12 == 0:
                progress(k / len(hours))
        room_c, heat, gas = (np.array(column)[-24:] for column in zip(*rows, strict=True))
        outdoor = year.dry_bulb_c[hours[-24:]]
        day = int(hours[-1]) // 24
        return DayRun(day, doors_open, self.rooms, self.held, outdoor, room_c, heat, gas, self.imbalance)

    def _hour(self, outdoor_c: float, hour: float, sun_w: Floats) -> tuple[Floats, Floats, Floats]:
        """Means over one hour: air temperatures, heat made, carbon dioxide in ppm."""
        people = people_at(self.house, hour + 0.5)
        source = sun_w.copy()
        source[: len(self.rooms)] += people.heat_w
        earth = self.climate.design.mean_annual_c
        boundary = np.array([outdoor_c, outdoor_c - SKY_BELOW_AIR_K, earth, *self._buffers(outdoor_c)])
        steps = round(3600.0 / STEP_S)
        sums = [np.zeros(len(self.rooms)) for _ in range(3)]
        for _ in range(steps):
            values = self._step(outdoor_c, boundary, source, people.carbon_dioxide_kg_s)
            sums = [total + value / steps for total, value in zip(sums, values, strict=True)]
        return sums[0], sums[1], sums[2]

    def _buffers(self, outdoor_c: float) -> list[float]:
        inside = float(self.house.household.heating_set_point_c)
        return [outdoor_c + (1.0 - b.factor) * (inside - outdoor_c) for b in self.house.buffer]

    def _step(
        self, outdoor_c: float, boundary: Floats, source_w: Floats, gas_kg_s: Floats
    ) -> tuple[Floats, Floats, Floats]:
        """Air and heat of one step, iterated until the flows belong to the temperatures at its middle."""
        count = len(self.rooms)
        guess = self.nodes[:count]
        for _ in range(MOST_ROUNDS):
            density, state, flows = self._air(guess, outdoor_c)
            matrix, carried = heat_exchange(self.routes, state, flows, outdoor_c)
            source = source_w.copy()
            source[:count] += carried
            given = {"boundary_c": boundary, "source_w": source, "exchange_w_k": matrix}
            free = self.stepper.step(self.nodes, **given)
            result = self.stepper.step(self.nodes, **given, **self._holders(free.after_c[:count]))
            moved = float(np.max(np.abs(result.middle_c[:count] - guess)))
            guess = 0.5 * (guess + result.middle_c[:count])
            if moved < SETTLED_K:
                break
        else:
            raise NotConverged("rooms and their air", iterations=MOST_ROUNDS, residual=moved)
        self._balance(result, boundary, source, matrix)
        self.nodes = result.after_c
        self.level = tracer_step(
            self.level,
            flows_kg_s=flows,
            mass_kg=self.volume * density[:count],
            source_kg_s=gas_kg_s,
            outdoor=_fraction(OUTDOOR_PPM),
            step_s=STEP_S,
        )
        return result.middle_c[:count], result.holder_w, self.level / _fraction(1.0)

    def _wind(self, station_m_s: float, from_deg: float, outdoor_c: float) -> Floats:
        """Wind pressure on every route in one hour, at the height of the house over its terrain."""
        terrain = self.house.site.terrain
        speed = wind_at_height_m_s(station_m_s=station_m_s, height_m=self.height_m, terrain=terrain)
        density = float(density_kg_m3(temperature_c=outdoor_c, pressure_pa=self.climate.pressure_pa))
        return wind_pressures_pa(self.routes, speed_m_s=float(speed), from_deg=from_deg, density_kg_m3=density)

    def _air(self, room_c: Floats, outdoor_c: float) -> tuple[Floats, AirState, Floats]:
        density = np.asarray(
            density_kg_m3(temperature_c=np.append(room_c, outdoor_c), pressure_pa=self.climate.pressure_pa)
        )
        state = solve_air(self.routes.network, density_kg_m3=density, start_pa=self.pressure, wind_pa=self.wind)
        self.pressure = state.pressure_pa
        return density, state, mass_flows_kg_s(self.routes, state, density)

    def _balance(self, result: StepResult, boundary: Floats, source: Floats, matrix: Floats) -> None:
        """Heat that came in less what left and what is stored: nothing, but for rounding."""
        stored = float(np.sum(self.stepper.capacity * (result.after_c - self.nodes))) / STEP_S
        lost = sum(g * (result.middle_c[i] - boundary[k]) for i, k, g in self.thermal.network.boundary_edges)
        lost += float(np.sum(matrix @ result.middle_c[: len(self.rooms)]))
        self.imbalance = max(
            self.imbalance, abs(stored + lost - float(np.sum(source)) - float(np.sum(result.holder_w)))
        )

    def _holders(self, free_c: Floats) -> dict[str, Floats]:
        """Heating where a room would end below its set point, cooling where it would end above its own."""
        cold = ~np.isnan(self.heat_at) & (free_c < np.nan_to_num(self.heat_at, nan=-1e9))
        hot = ~np.isnan(self.cool_at) & (free_c > np.nan_to_num(self.cool_at, nan=1e9)) & ~cold
        point = np.where(cold, self.heat_at, np.where(hot, self.cool_at, np.nan))
        return {
            "set_point_c": point,
            "most_w": np.where(cold, UNLIMITED_W, 0.0),
            "least_w": np.where(hot, -UNLIMITED_W, 0.0),
        }


def _fraction(ppm: float) -> float:
    """Parts per million by volume as a mass fraction."""
    return ppm * 1e-6 * CARBON_DIOXIDE_KG_MOL / AIR_KG_MOL
