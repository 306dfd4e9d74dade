"""Cooling load by room: every month's design day, every room held at its set point, split into what makes it.

With the rooms' air held, heat through and in walls is linear: each part alone is driven through the same network, in
the same steps, to its periodic state, which is solved for, not waited for. The coupled step then runs the day from
there: its air flows give the load of outdoor air, and its holders must say the same sum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.climate.year import MONTH_HOURS, ClimateYear
from inshell.design.cooling_day import clearest_day, design_hours_c, hottest_month
from inshell.design.drivers import Prepared, prepare, sky_c, vapour_share
from inshell.design.gains import people_at, sun_through_windows
from inshell.design.heads import UNLIMITED_W
from inshell.design.heating import buffer_c
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, OUTDOORS
from inshell.house.model.house import House
from inshell.network.carried import heat_exchange, mass_flows_kg_s
from inshell.network.compiled import run
from inshell.network.system import Forcing, Series, State, Target, first_state
from inshell.network.thermal import ThermalStepper
from inshell.physics.air import VAPORISATION_J_KG, density_kg_m3, mass_fraction, saturation_pressure_pa
from inshell.physics.types import Floats

STEP_S = 600.0
HUMIDITY = 0.5
STRUCTURE = ("sun through glass", "glass", "walls and doors", "roof", "floor", "neighbours")
PARTS = (*STRUCTURE, "people", "appliances", "outdoor air")
LATENT = ("people", "appliances, cooking and showers", "outdoor air")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip


@dataclass(frozen=True)
class Peak:
    """The greatest sensible load of a room or of the house, what it is made of, and the latent load then."""

    where: str
    month: int
    hour: int
    sensible_w: float
    latent_w: float
    parts_w: dict[str, float]

    @property
    def when(self) -> str:
        """The hour in words."""
        return f"{MONTHS[self.month]}, {self.hour}:00 to {self.hour + 1}:00"


@dataclass(frozen=True)
class CoolingLoad:
    """Sensible and latent load: months, hours, rooms, parts. Positive is heat or water to be taken out."""

    rooms: tuple[str, ...]
    outdoor_c: Floats
    sensible_w: Floats
    latent_w: Floats
    closing_w: float

    def peak(self, room: str | None = None) -> Peak:
        """The greatest sensible load of a room, or of the whole house: one hour for all its rooms."""
        columns = [self.rooms.index(room)] if room else list(range(len(self.rooms)))
        sensible, latent = (v[:, :, columns].sum(axis=2) for v in (self.sensible_w, self.latent_w))
        month, hour = np.unravel_index(int(np.argmax(sensible.sum(axis=2))), sensible.shape[:2])
        parts = dict(zip(PARTS, map(float, sensible[month, hour]), strict=True))
        total, water = float(sensible[month, hour].sum()), float(latent[month, hour].sum())
        return Peak(room or "house", int(month), int(hour), total, water, parts)


def greatest_total_w(load: CoolingLoad) -> float:
    """The greatest sensible and latent load of the whole house together, in one hour."""
    return float((load.sensible_w.sum(axis=(2, 3)) + load.latent_w.sum(axis=(2, 3))).max())


def calculate_cooling_load(house: House, geometry: Geometry, climate: HouseClimate) -> CoolingLoad:
    """Twelve design days, everyone at home.

    Raises ValueError without a weather year or a cooling design temperature.
    """
    if climate.year is None or climate.design.cooling_c is None:
        raise ValueError("a cooling load needs a weather year and a cooling design temperature")
    house = _all_at_home(house)
    days = [24 * clearest_day(climate.year, month) + np.arange(24, dtype=np.int64) for month in range(12)]
    hours = np.concatenate(days)
    ready = _held(house, prepare(house, geometry, climate, hours=hours, doors="open"))
    ready = _design_weather(house, climate, climate.year, ready)
    set_point = float(house.household.cooling_set_point_c)
    periodic = _Periodic(ready, set_point)
    glass = sun_through_windows(house, geometry, ready.thermal, climate.year, hours)
    driven = _driven(geometry, ready, glass, set_point)
    starts, structure = periodic.solved(driven)
    people = np.array([people_at(house, h + 0.5).heat_w for h in range(24)])[hours % 24]
    count = len(house.room)
    inside = ready.forcing.gains_w
    air, water, holder = _air(ready, starts, set_point)
    sensible = np.stack([*structure, people, inside - people, air], axis=-1)
    vapour = np.array([people_at(house, h + 0.5).vapour_kg_s for h in range(24)])[hours % 24]
    given = ready.forcing.vapour_kg_s
    latent = VAPORISATION_J_KG * np.stack([vapour, given - vapour, water], axis=-1)
    closing = float(np.abs(sensible.sum(axis=-1) + holder).max())
    shape = (12, 24, count)
    return CoolingLoad(
        tuple(room.id for room in house.room),
        ready.forcing.outdoor_c.reshape(12, 24),
        sensible.reshape(*shape, len(PARTS)),
        latent.reshape(*shape, len(LATENT)),
        closing,
    )


def _all_at_home(house: House) -> House:
    """A hot day may fall on a free one: whoever leaves on working days is counted in."""
    people = tuple(p.model_copy(update={"away_from_h": None, "away_to_h": None}) for p in house.person)
    return house.model_copy(update={"person": people})


def month_design_c(year: ClimateYear, month: int, hottest_c: float) -> float:
    """Design temperature of a month: the hottest month's, less by how much its 98th percentile of hours is lower."""
    last = np.cumsum(MONTH_HOURS)
    warm = [np.percentile(year.dry_bulb_c[last[m] - MONTH_HOURS[m] : last[m]], 98.0) for m in range(12)]
    return float(hottest_c + warm[month] - warm[hottest_month(year)])


def _held(house: House, ready: Prepared) -> Prepared:
    """Every room held at the cooling set point, up and down, whatever it takes; no coil, no dehumidifier."""
    point = np.full_like(ready.forcing.heat_at_c, float(house.household.cooling_set_point_c))
    without = np.zeros((len(point), 0))
    moves_air = np.array([row.target is Target.ROUTE_SHARE for row in ready.system.controls], dtype=bool)
    forcing = replace(
        ready.forcing, heat_at_c=point, cool_at_c=point, most_w=UNLIMITED_W * np.ones_like(point),
        least_w=-UNLIMITED_W * np.ones_like(point), coil_most_w=without, coil_least_w=without,
        permit=ready.forcing.permit * moves_air,
    )  # fmt: skip
    return replace(ready, forcing=forcing, system=replace(ready.system, coils=(), senses=()))


def _design_weather(house: House, climate: HouseClimate, year: ClimateYear, ready: Prepared) -> Prepared:
    """Each month's design temperature with its daily swing and its mean dew point; sun, wind and ground of the year."""
    assert climate.design.cooling_c is not None
    dews = year.monthly_means("dew_point_c")
    outdoor = np.concatenate(
        [
            design_hours_c(year, m, month_design_c(year, m, climate.design.cooling_c), house.climate.daily_range_k)
            for m in range(12)
        ]
    )
    dew = np.minimum(np.repeat(dews, 24), outdoor)
    boundary = ready.forcing.boundary_c.copy()
    boundary[:, 0], boundary[:, 1], boundary[:, 3:] = outdoor, sky_c(house, outdoor, dew), buffer_c(house, outdoor)
    vapour = vapour_share(dew, climate.pressure_pa)
    forcing = replace(ready.forcing, outdoor_c=outdoor, boundary_c=boundary, outdoor_vapour=vapour)
    return replace(ready, forcing=forcing)


class _Periodic:
    """Walls and slabs round rooms that are held, driven day by day until they repeat themselves."""

    def __init__(self, ready: Prepared, set_point_c: float) -> None:
        self.ready, self.set_point_c = ready, set_point_c
        self.stepper = ThermalStepper(ready.system.thermal, STEP_S)
        rooms = ready.system.rooms
        self.store = self.stepper.store[rooms:]
        self.massive = (self.store > 0.0)[:, None]

    def _step(self, start: Floats, load: Floats) -> tuple[Floats, Floats]:
        middle = self.stepper.inverse @ (self.store[:, None] * start + load)
        return middle, np.where(self.massive, 2.0 * middle - start, middle)

    def solved(self, driven: Floats) -> tuple[list[State], list[Floats]]:
        """From what drives each part (parts, hours, inner nodes) [W], excess over the set point: the state at each
        month's midnight and each part's load on each room's air, hourly means (hours, rooms)."""
        steps = round(3600.0 / STEP_S)
        parts, hours, nodes = driven.shape
        months = hours // 24
        load = driven.reshape(parts, months, 24, nodes).transpose(2, 3, 0, 1).reshape(24, nodes, parts * months)
        once = 2.0 * self.stepper.inverse * self.store
        once = np.where(self.massive, once - np.eye(nodes), 0.5 * once)
        day = np.linalg.matrix_power(once, 24 * steps)
        end = self._day(np.zeros((nodes, parts * months)), load, steps)[0]
        start = np.linalg.solve(np.eye(nodes) - day, end)
        _, told = self._day(start, load, steps)
        told = told.reshape(24, -1, parts, months).transpose(2, 3, 0, 1).reshape(parts, hours, -1)
        return self._states(start.reshape(nodes, parts, months).sum(axis=1)), list(told)

    def _day(self, start: Floats, load: Floats, steps: int) -> tuple[Floats, Floats]:
        told = []
        for hour in range(24):
            mean = np.zeros_like(start)
            for _ in range(steps):
                middle, start = self._step(start, load[hour])
                mean += middle / steps
            told.append(-self.stepper.to_rooms @ mean)
        return start, np.array(told)

    def _states(self, inner: Floats) -> list[State]:
        begin = first_state(self.ready.system, air_c=self.set_point_c, humidity=HUMIDITY)
        states = []
        for month in range(inner.shape[1]):
            nodes = begin.nodes_c.copy()
            nodes[self.ready.system.rooms :] += inner[:, month]
            states.append(replace(begin.copy(), nodes_c=nodes))
        return states


def _driven(geometry: Geometry, ready: Prepared, glass_w: Floats, set_point_c: float) -> Floats:
    """What drives each part of the structure: boundaries' excess over the set point, sun on skins and through glass."""
    network, rooms = ready.system.thermal, ready.system.rooms
    kind_of = _kinds(geometry, ready)
    driven = np.zeros((len(STRUCTURE), len(glass_w), len(network.capacity_j_k)))
    driven[0] = glass_w
    skins = ready.forcing.source_w - glass_w
    for node in range(rooms, len(network.capacity_j_k)):
        if np.any(skins[:, node]):
            driven[kind_of[node], :, node] += skins[:, node]
    for node, boundary, conductance in network.boundary_edges:
        excess = ready.forcing.boundary_c[:, boundary] - set_point_c
        driven[kind_of[node], :, node] += conductance * excess
    return driven[:, :, rooms:]


def _kinds(geometry: Geometry, ready: Prepared) -> dict[int, int]:
    """For the outer end of every outer surface and opening the part that it belongs to."""
    surfaces = {s.id: s for s in geometry.surfaces}
    kind = {s.id: s.kind for s in geometry.surfaces} | {p.id: p.kind for p in geometry.openings}
    hosts = {p.id: surfaces[p.surface].other for p in geometry.openings}
    found = {}
    for face in ready.thermal.faces:
        name = face.surface.removesuffix("/edge")
        other = hosts.get(name, face.other)
        if name not in kind or not (other in (OUTDOORS, GROUND) or other in ready.thermal.buffers):
            continue
        part = {"window": 1, "roof": 3, "ceiling": 3, "floor": 4}.get(kind[name], 2)
        found[_outer_end(ready, face.node)] = 5 if other in ready.thermal.buffers else part
    return found


def _outer_end(ready: Prepared, node: int) -> int:
    """The far end of the chain that begins at a face."""
    network, rooms = ready.system.thermal, ready.system.rooms
    stop = set(range(rooms)) | set(ready.thermal.radiant)
    joined: dict[int, list[int]] = {}
    for one, two, _ in network.edges:
        if one not in stop and two not in stop:
            joined.setdefault(one, []).append(two)
            joined.setdefault(two, []).append(one)
    before = node
    while True:
        ahead = [n for n in joined.get(node, []) if n != before]
        if not ahead:
            return node
        before, node = node, ahead[0]


def _air(ready: Prepared, starts: list[State], set_point_c: float) -> tuple[Floats, Floats, Floats]:
    """(sensible load of outdoor air [W], water that it brings [kg/s], what holders gave [W]), hours by rooms."""
    share = float(
        mass_fraction(
            vapour_pa=HUMIDITY * saturation_pressure_pa(temperature_c=set_point_c), pressure_pa=ready.system.pressure_pa
        )
    )
    rows = []
    for month, start in enumerate(starts):
        forcing = ready.forcing.rows(24 * month, 24 * (month + 1))
        series = run(ready.system, forcing, start, step_s=STEP_S)
        rows.append(_air_of(ready, forcing, series, set_point_c, share))
    air, water, holder = zip(*rows, strict=True)
    return np.concatenate(air), np.concatenate(water), np.concatenate(holder)


@dataclass(frozen=True)
class _Moved:
    forward_kg_s: Floats
    back_kg_s: Floats


def _air_of(
    ready: Prepared, forcing: Forcing, series: Series, set_point_c: float, share: float
) -> tuple[Floats, Floats, Floats]:
    count, system = ready.system.rooms, ready.system
    room = np.full(count, set_point_c)
    air, water = np.zeros((24, count)), np.zeros((24, count))
    for hour in range(24):
        outdoor = float(forcing.outdoor_c[hour])
        density = density_kg_m3(temperature_c=np.append(room, outdoor), pressure_pa=system.pressure_pa)
        moved = _Moved(series.forward_kg_s[hour], series.back_kg_s[hour])
        flows = mass_flows_kg_s(system.air, system.exchanges, moved, np.asarray(density))
        matrix, source = heat_exchange(system.air, system.recoveries, moved, flows, outdoor)
        air[hour] = source - matrix @ room
        water[hour] = flows[:count, count] * (float(forcing.outdoor_vapour[hour]) - share)
    return air, water, series.holder_w
