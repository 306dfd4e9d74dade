"""What is not known of a house, as numbers that vary a run: leak places, door habits, people, devices, weather."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inshell.design.drivers import Prepared
from inshell.design.heads import UNLIMITED_W, heaters_w
from inshell.house.model.house import House
from inshell.network.links import AirNetwork, Link
from inshell.network.system import Forcing, System
from inshell.physics.fan import FanCurve
from inshell.physics.types import Floats
from inshell.sources import table

WORDS = {
    "leakage": "how leaky the shell is",
    "leaks_in_bedrooms": "how much of that is in bedrooms",
    "leaks_high": "how much of that is high up",
    "doors_open_at_night": "bedroom doors open at night",
    "doors_shut_by_day": "bedroom doors shut by day",
    "people": "people and appliances",
    "capacity": "what heads really give",
    "transfer": "what transfer fans really move",
    "weather_k": "how warm the year is",
}
NIGHT_STEP, DAY_STEP, DOOR_STEP = (5.0**0.5 - 1.0) / 2.0, 2.0**0.5 - 1.0, 0.7548776662466927
"""Steps round a circle from day to day and from door to door: even over any weeks, and none tells of another."""


@dataclass(frozen=True)
class Unknown:
    """One quantity that is not known, and the range it is drawn from, evenly."""

    name: str
    low: float
    high: float

    @property
    def words(self) -> str:
        """What it is, for a sentence."""
        return WORDS[self.name]


def unknowns_of(house: House, *, tested: bool) -> tuple[Unknown, ...]:
    """The unknowns that this house has: no transfer fans, no question what they move."""
    ranges: dict[str, list[float]] = table("design")["unknowns"]["range"]
    bedrooms = {room.id for room in house.room if room.is_bedroom}
    doors = any(door.between and set(door.between) & bedrooms for door in house.door)
    has = dict.fromkeys(WORDS, True) | {
        "transfer": bool(house.transfer_fan), "capacity": bool(house.head),
        "leaks_in_bedrooms": bool(bedrooms), "doors_open_at_night": doors, "doors_shut_by_day": doors,
    }  # fmt: skip
    told = {name: ranges["leakage_tested" if name == "leakage" and tested else name] for name in WORDS if has[name]}
    return tuple(Unknown(name, *map(float, values)) for name, values in told.items())


def points_of(unknowns: tuple[Unknown, ...], count: int, seed: int = 1) -> Floats:
    """Scrambled Sobol points, one row a sample, one column an unknown, in the unknowns' own units."""
    from scipy.stats import qmc

    unit = qmc.Sobol(d=len(unknowns), scramble=True, rng=np.random.default_rng(seed)).random(count)
    low, high = np.array([[u.low, u.high] for u in unknowns]).T
    return np.asarray(low + unit * (high - low))


class Varied:
    """One prepared house, varied: what each point of the unknowns makes of its system and of what drives it."""

    def __init__(self, house: House, ready: Prepared) -> None:
        self.house, self.ready = house, ready
        self.bedrooms = [room.is_bedroom for room in house.room]
        links = ready.system.air.links
        self.leaks = [k for k, link in enumerate(links) if link.name.startswith("leak ")]
        self.heights = np.array([links[k].low_m for k in self.leaks])
        self.in_bedroom = np.array([self.bedrooms[links[k].a] for k in self.leaks], dtype=bool)
        self.sizes = np.array([links[k].coefficient_m3_s_pan for k in self.leaks])
        moved = {fan.id for fan in house.transfer_fan}
        self.transfers = [k for k, link in enumerate(links) if link.name in moved]
        doors = {door.id: door for door in house.door}
        beds = {room.id for room in house.room if room.is_bedroom}
        self.leaves = [
            k for k, name in ready.routes.leaves if ready.routes.by_hours and set(doors[name].between or ()) & beds
        ]

    def system(self, point: dict[str, float]) -> System:
        """Leaks in other places and of another size, transfer fans that move more or less."""
        links = list(self.ready.system.air.links)
        for k, size in zip(self.leaks, self._sizes(point), strict=True):
            links[k] = replace(links[k], coefficient_m3_s_pan=float(size))
        for k in self.transfers:
            links[k] = _weaker(links[k], point.get("transfer", 1.0))
        return replace(self.ready.system, air=AirNetwork(self.ready.system.air.rooms, tuple(links)))

    def _sizes(self, point: dict[str, float]) -> Floats:
        shape = np.where(self.in_bedroom, point.get("leaks_in_bedrooms", 1.0), 1.0)
        middle, reach = 0.5 * (self.heights.max() + self.heights.min()), 0.5 * np.ptp(self.heights)
        if reach > 0.0:
            shape = shape * (1.0 + point.get("leaks_high", 0.0) * (self.heights - middle) / reach)
        sizes = self.sizes * shape
        return np.asarray(sizes * (point.get("leakage", 1.0) * self.sizes.sum() / sizes.sum()))

    def forcing(self, point: dict[str, float], days: NDArray[np.int64] | None = None) -> Forcing:
        """Other people, weather, door habits and heads; `days` numbers the days of the rows, for door habits."""
        f = self.ready.forcing
        people, off = point.get("people", 1.0), point.get("weather_k", 0.0)
        boundary = f.boundary_c + off * self._follows()
        most, able, heaters = f.most_w, point.get("capacity", 1.0), heaters_w(self.house)
        return replace(
            f, gains_w=f.gains_w * people, boundary_c=boundary, outdoor_c=f.outdoor_c + off,
            vapour_kg_s=f.vapour_kg_s * people,
            gas_kg_s=f.gas_kg_s * people, most_w=np.where(most < UNLIMITED_W, heaters + (most - heaters) * able, most),
            coil_most_w=f.coil_most_w * able, coil_least_w=f.coil_least_w, route_share=self._doors(point, days),
        )  # fmt: skip

    def _follows(self) -> Floats:
        """How far each boundary follows outdoor air: buffers in part."""
        return np.array([1.0, 1.0, 1.0, *(b.factor for b in self.house.buffer)])

    def _doors(self, point: dict[str, float], days: NDArray[np.int64] | None) -> Floats:
        share = self.ready.forcing.route_share
        if days is None or not self.leaves:
            return share
        share = share.copy()
        for door, k in enumerate(self.leaves):
            nights, dates = (((days + 1) * step + door * DOOR_STEP) % 1.0 for step in (NIGHT_STEP, DAY_STEP))
            open_now = nights < point.get("doors_open_at_night", 0.0)
            shut_now = dates < point.get("doors_shut_by_day", 0.0)
            nominal = self.ready.forcing.route_share[:, k]
            share[:, k] = np.where(nominal > 0.5, np.where(shut_now, 0.0, nominal), np.where(open_now, 1.0, nominal))
        return share


def _weaker(link: Link, factor: float) -> Link:
    if link.curve is None:
        return link
    flows = tuple(factor * q for q in link.curve.flow_m3_s)
    return replace(link, curve=FanCurve(link.curve.pressure_pa, flows, assumed=link.curve.assumed))
