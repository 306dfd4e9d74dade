"""The heating design day, room by room: constant design cold, no sun, no people, heat only where it is made.

Air and heat are solved together: flows follow densities, temperatures follow flows, until no room moves by 0.01 K.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.coupled import films_of, networks_of
from inshell.design.heads import UNLIMITED_W
from inshell.design.heating import buffer_c, set_point_c
from inshell.errors import NotConverged
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.air import solve_air
from inshell.network.carried import heat_exchange, mass_flows_kg_s
from inshell.network.links import AirState
from inshell.network.reference import beyond_constant_w, relaxed
from inshell.network.rooms import HouseThermal
from inshell.network.routes import DoorsAre, HouseRoutes
from inshell.network.system import Film
from inshell.network.thermal import ThermalStepper
from inshell.physics.air import HEAT_CAPACITY_J_KGK, density_kg_m3
from inshell.physics.types import Floats

STEADY_STEP_S = 1e12
TOLERANCE_K = 0.01
MOST_ROUNDS = 200
WATTS_PER_K = 100.0  # of a room: how far convection by difference may still be off


@dataclass(frozen=True)
class Route:
    """Air that moves on one route, and the heat that it brings to its second end."""

    name: str
    from_room: str
    to_room: str
    flow_kg_s: float
    heat_w: float


@dataclass(frozen=True)
class ColdDay:
    """Temperatures, heat made in each room, pressures and air routes on the heating design day."""

    doors_open: bool
    heated: tuple[str, ...]
    outdoor_c: float
    room_c: dict[str, float]
    operative_c: dict[str, float]
    heat_w: dict[str, float]
    pressure_pa: dict[str, float]
    routes: tuple[Route, ...]
    imbalance_w: float

    @property
    def warmest_heated(self) -> str:
        """The heated room that others are compared with: the one that gives most heat."""
        return max(self.heated, key=lambda room: self.heat_w[room])

    def offset_k(self, room: str) -> float:
        """How much warmer a room is than the main heated room."""
        return self.room_c[room] - self.room_c[self.warmest_heated]


Makers = Literal["all", "heads"]


def heated_rooms(house: House, makers: Makers = "all") -> tuple[str, ...]:
    """Rooms where heat is made: a head, a heater or a floor circuit; `heads`: without the circuits, where heads are."""
    named = set(house.rooms_with_heat)
    if makers == "all" or not named:
        named |= warmed_by_floor(house)
    return tuple(room.id for room in house.room if room.id in named)


def warmed_by_floor(house: House) -> set[str]:
    """Rooms with warm-water tubes in their floor."""
    return {room for circuit in house.circuit for room in circuit.rooms}


def calculate_cold_day(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors_open: bool,
    heated: tuple[str, ...],
    tested_flow_m3_s: float | None = None,
) -> ColdDay:
    """The steady state of the design day with heat only in some rooms, as much as each needs."""
    doors: DoorsAre = "open" if doors_open else "shut"
    routes, thermal = networks_of(house, geometry, climate, doors=doors, tested_flow_m3_s=tested_flow_m3_s)
    case = _Case(house, climate, routes, thermal, heated, films_of(house, geometry, thermal))
    return case.solved(doors_open)


class _Case:
    """One house in one state, iterated to its steady state."""

    def __init__(
        self,
        house: House,
        climate: HouseClimate,
        routes: HouseRoutes,
        thermal: HouseThermal,
        heated: tuple[str, ...],
        films: tuple[Film, ...],
    ) -> None:
        self.house, self.climate, self.routes, self.thermal, self.heated = house, climate, routes, thermal, heated
        self.rooms, self.films = [room.id for room in house.room], films
        self.outdoor_c = climate.design.heating_c
        self.stepper = ThermalStepper(thermal.network, STEADY_STEP_S)
        points = [set_point_c(house, room) if room in heated else np.nan for room in self.rooms]
        self.set_point = np.array(points)
        stopped = {
            f"{unit.id} to {room}"
            for unit in house.ventilator
            if unit.supply_stops_below_c is not None and self.outdoor_c < unit.supply_stops_below_c
            for room in unit.supply_rooms
        }
        self.share = np.array([0.0 if link.name in stopped else 1.0 for link in routes.network.links])
        beside = buffer_c(house, np.array(self.outdoor_c))
        self.boundary = np.array([self.outdoor_c, self.outdoor_c, climate.design.mean_annual_c, *beside])

    def solved(self, doors_open: bool) -> ColdDay:
        count = len(self.rooms)
        nodes = np.full(len(self.thermal.network.capacity_j_k), float(self.house.household.heating_set_point_c))
        start = np.where(np.isnan(self.set_point), nodes[:count], self.set_point)
        nodes[:count] = start
        air_pa: Floats | None = None
        beyond, last, weight, before = np.zeros(len(nodes)), np.zeros(count + len(nodes)), 1.0, np.inf
        for _ in range(MOST_ROUNDS):
            state = self._air(nodes[:count], air_pa)
            air_pa = state.pressure_pa
            flows = mass_flows_kg_s(self.routes.network, self.routes.exchanges, state, self._densities(nodes[:count]))
            matrix, source = heat_exchange(self.routes.network, self.routes.recoveries, state, flows, self.outdoor_c)
            begin = nodes.copy()
            begin[:count] = start
            result = self.stepper.step(
                begin,
                boundary_c=self.boundary,
                source_w=beyond + np.concatenate([source, np.zeros(len(nodes) - count)]),
                exchange_w_k=matrix,
                set_point_c=self.set_point,
                most_w=np.full(count, UNLIMITED_W),
                least_w=np.zeros(count),
            )
            follows = beyond_constant_w(self.films, result.middle_c)
            off = np.concatenate([result.middle_c[:count] - nodes[:count], (follows - beyond) / WATTS_PER_K])
            moved = float(np.max(np.abs(off[:count])) + np.max(np.abs(off[count:])))
            if moved < TOLERANCE_K * 0.1:
                return self._told(doors_open, state, result.middle_c, result.holder_w, matrix, source)
            if moved > 0.7 * before:
                weight = relaxed(weight, last, off)
            nodes = nodes + weight * (result.middle_c - nodes)
            beyond, last, before = beyond + weight * (follows - beyond), off, moved
        raise NotConverged("heating design day", iterations=MOST_ROUNDS, residual=moved)

    def _densities(self, room_c: Floats) -> Floats:
        temperatures = np.append(room_c, self.outdoor_c)
        return np.asarray(density_kg_m3(temperature_c=temperatures, pressure_pa=self.climate.pressure_pa))

    def _air(self, room_c: Floats, start_pa: Floats | None) -> AirState:
        densities = self._densities(room_c)
        return solve_air(self.routes.network, density_kg_m3=densities, start_pa=start_pa, share=self.share)

    def _told(
        self, doors_open: bool, state: AirState, nodes: Floats, given: Floats, matrix: Floats, source: Floats
    ) -> ColdDay:
        count = len(self.rooms)
        air = nodes[:count]
        lost = sum(g * (nodes[i] - self.boundary[k]) for i, k, g in self.thermal.network.boundary_edges)
        lost += float(np.sum(matrix @ air - source))
        return ColdDay(
            doors_open=doors_open,
            heated=self.heated,
            outdoor_c=self.outdoor_c,
            room_c=dict(zip(self.rooms, map(float, air), strict=True)),
            operative_c={room: 0.5 * (float(air[k]) + self._radiant(k, nodes)) for k, room in enumerate(self.rooms)},
            heat_w=dict(zip(self.rooms, map(float, given), strict=True)),
            pressure_pa=dict(zip(self.rooms, map(float, state.pressure_pa), strict=True)),
            routes=tuple(self._routes(state, air)),
            imbalance_w=float(np.sum(given)) - lost,
        )

    def _radiant(self, room: int, nodes: Floats) -> float:
        mine = [face for face in self.thermal.faces if face.room == room]
        return float(sum(f.area_m2 * nodes[f.node] for f in mine) / sum(f.area_m2 for f in mine))

    def _routes(self, state: AirState, air: Floats) -> list[Route]:
        names, warm = [*self.rooms, "outdoors"], np.append(air, self.outdoor_c)
        recovered = {
            (r.link, self.routes.network.links[r.link].b): r.share * (float(air[r.exhaust_room]) - self.outdoor_c)
            for r in self.routes.recoveries
        }
        rows = []
        for k, link in enumerate(self.routes.network.links):
            for a, b, flow in ((link.a, link.b, state.forward_kg_s[k]), (link.b, link.a, state.back_kg_s[k])):
                if flow > 1e-7:
                    enters = float(warm[a]) + recovered.get((k, b), 0.0)
                    heat = float(flow) * HEAT_CAPACITY_J_KGK * (enters - float(warm[b]))
                    rows.append(Route(link.name, names[a], names[b], float(flow), heat))
        return rows
