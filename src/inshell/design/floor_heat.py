"""A warm floor on the design day: what rooms ask of it, how warm water and surface must be, what it loses below."""

from __future__ import annotations

import math
from dataclasses import dataclass

from inshell.climate.choose import HouseClimate
from inshell.design.envelope import SlabResult, calculate_slab
from inshell.design.heating import HeatingResult, set_point_c
from inshell.design.tube_plan import TubePlan, TubeRun
from inshell.errors import NotConverged
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.enclosure import Slab
from inshell.house.model.heat_devices import Circuit
from inshell.house.model.house import House
from inshell.house.model.rooms import WET_USES
from inshell.physics.floor import floor_excess_k, floor_flux_w_m2
from inshell.physics.fluids import fluid_at
from inshell.physics.ground import RSI_FLOOR_M2K_W
from inshell.physics.slab_cell import SlabCell, slab_cell, tube_to_core_m2k_w
from inshell.physics.water_tube import mean_over_room_k
from inshell.sources import table

TUBE_W_MK, FILM_W_M2K = 0.38, 10.8
BESIDE_M = 0.18  # of floor that a bundle of leaders warms beside its strip, both sides (finite differences, 4 in slab)
WATER_MOST_C = 95.0  # a supply beyond it is told; its water is taken as at this
CLOSE = 0.05  # of what a room asks
LEAST_BELOW_M2K_W = 0.05
SUPPLY_HALVINGS, FIELD_OVER_K = 50, 0.05


@dataclass(frozen=True)
class Build:
    """A floor's build under one circuit: its cell, and the star of resistances that gives the same [m2K/W].

    `below` is from the tubes' level to the ground's temperature, edge included; `edge_share` is the edge's part of it.
    """

    cell: SlabCell
    spacing_m: float
    tube: float
    above: float
    below: float
    edge_share: float

    def up_w_m2(self, water_c: float, room_c: float, ground_c: float) -> float:
        """Heat to the room of each square metre."""
        return (self.core_c(water_c, room_c, ground_c) - room_c) / self.above

    def down_w_m2(self, water_c: float, room_c: float, ground_c: float) -> float:
        """Heat to the ground of each square metre."""
        return (self.core_c(water_c, room_c, ground_c) - ground_c) / self.below

    def core_c(self, water_c: float, room_c: float, ground_c: float) -> float:
        """Temperature at the level of the tubes."""
        parts = ((water_c, self.tube), (room_c, self.above), (ground_c, self.below))
        return sum(t / r for t, r in parts) / sum(1.0 / r for _, r in parts)

    def water_c(self, up_w_m2: float, room_c: float, ground_c: float) -> float:
        """Mean water temperature that gives the room a flux."""
        core = room_c + up_w_m2 * self.above
        return core + self.tube * (up_w_m2 + (core - ground_c) / self.below)


@dataclass(frozen=True)
class RoomFloor:
    """One room on the design day: what it asks of its floor, and what it gets with the supply as it is.

    `asks_w` is its load without what the ground takes under its field, which the slab gives itself; `leader_w` what
    passing leaders give it; `water_c` the mean water that it needs; `gives_w` and the temperatures of the surface are
    those of the supply as it is; `limit_w` is the most that the surface's limit allows.
    """

    room: str
    room_c: float
    asks_w: float
    area_m2: float
    water_c: float
    leader_w: float
    gives_w: float
    flux_w_m2: float
    surface_c: float
    hottest_c: float
    limit_c: float
    limit_w: float
    ground_loss_w: float

    @property
    def is_short(self) -> bool:
        """Whether the surface's limit does not let the floor give what the room asks."""
        return self.asks_w > self.limit_w + 1.0

    @property
    def is_cold(self) -> bool:
        """Whether it gets clearly less than it asks."""
        return self.gives_w < (1.0 - CLOSE) * self.asks_w - 1.0

    @property
    def is_hot(self) -> bool:
        """Whether the surface over a tube passes its limit."""
        return self.area_m2 > 0.0 and self.hottest_c > self.limit_c + 0.05


@dataclass(frozen=True)
class LoopHeat:
    """One loop on the design day: its water and where its heat goes [W]; what its leaders warm of each room [m2]."""

    run: TubeRun
    circuit: Circuit
    supply_c: float
    return_c: float
    flow_m3_s: float
    to_rooms_w: float
    down_w: float
    edge_w: float
    strip: Build
    leader_m2: dict[str, float]

    @property
    def heat_w(self) -> float:
        """All that its water gives."""
        return self.to_rooms_w + self.down_w + self.edge_w


@dataclass(frozen=True)
class FloorHeat:
    """The whole warm floor on the design day."""

    rooms: tuple[RoomFloor, ...]
    loops: tuple[LoopHeat, ...]
    builds: dict[str, Build]
    governs: str
    supply_c: float
    needed_supply_c: float
    ground_c: float

    @property
    def heat_w(self) -> float:
        """Heat of all loops."""
        return sum(loop.heat_w for loop in self.loops)


def slab_of(house: House, geometry: Geometry, room: str) -> Slab | None:
    """The slab that a room stands on."""
    names = {s.assembly for s in geometry.surfaces if s.room == room and s.other == GROUND}
    return next((slab for slab in house.slab if slab.id in names), None)


def build_of(slab: Slab, ground: SlabResult, circuit: Circuit, spacing_m: float) -> Build:
    """The cell of a slab with tubes, over the ground as ISO 13370 has it."""
    tube = table("tubes")[circuit.tube]
    radius = 0.5 * tube["outer_m"]
    depth = min(max(circuit.depth_m, radius), slab.thickness_m - radius)
    cover = max(circuit.covering_r_m2k_w, slab.covering_r_m2k_w)
    slab_r = slab.thickness_m / slab.conductivity_w_mk + slab.covering_r_m2k_w
    rest = 1.0 / ground.effective_u_w_m2k - RSI_FLOOR_M2K_W - slab_r
    below = max(rest, LEAST_BELOW_M2K_W)
    cell = slab_cell(
        thickness_m=slab.thickness_m, conductivity_w_mk=slab.conductivity_w_mk, spacing_m=spacing_m, depth_m=depth,
        outer_m=tube["outer_m"], wall_m=tube["wall_m"], tube_w_mk=TUBE_W_MK, cover_r_m2k_w=cover, below_r_m2k_w=below,
        film_w_m2k=FILM_W_M2K,
    )  # fmt: skip
    above = cover + 1.0 / FILM_W_M2K + depth / slab.conductivity_w_mk
    down = below + (slab.thickness_m - depth) / slab.conductivity_w_mk
    core = tube_to_core_m2k_w(
        k_up_w_m2k=cell.k_up_w_m2k, k_down_w_m2k=cell.k_down_w_m2k, up_r_m2k_w=above, down_r_m2k_w=down
    )
    edge = ground.effective_u_w_m2k - ground.u_w_m2k
    share = max(edge / ground.effective_u_w_m2k, 0.0) if ground.effective_u_w_m2k > 0.0 else 0.0
    return Build(cell, spacing_m, float(core), above, down, share)


def surface_limit_c(house: House, room: str) -> float:
    """The greatest surface temperature where people stay, by the room's use."""
    limits = table("floor")["limits"]
    return float(limits["bath_c"] if house.room_named(room).use in WET_USES else limits["occupied_c"])


def calculate_floor(
    house: House, geometry: Geometry, climate: HouseClimate, heating: HeatingResult, plan: TubePlan
) -> FloorHeat:
    """What the floor must do on the design day, and what it does; raises ValueError where nothing was laid."""
    if not plan.runs:
        raise ValueError("no circuit is laid")
    day = _Day(house, geometry, climate, heating, plan)
    governing, needed = _supply_needed(day, 0.5 * house.floor.drop_k)
    supply_c = float(house.floor.supply_c) if house.floor.supply_c is not None else needed
    loops = tuple(day.loop(run, supply_c, needed) for run in plan.runs)
    rooms = tuple(day.room(name, loops, needed) for name in day.names)
    return FloorHeat(rooms, loops, day.builds, governing, supply_c, needed, day.facts[governing].ground_c)


def _supply_needed(day: _Day, half_drop_k: float) -> tuple[str, float]:
    """The room that governs and its supply, by halving: the warmer the water, the more leaders give and the less a
    field still needs, so that one temperature alone needs itself."""
    low = min(facts.here_c for facts in day.facts.values())
    high = day.needed(low - half_drop_k)[1] + 1.0  # none needs more than where leaders give nothing
    for _ in range(SUPPLY_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if day.needed(middle - half_drop_k)[1] > middle else (low, middle)
    governing, needed = day.needed(high - half_drop_k)
    if abs(needed - high) > 0.01:
        raise NotConverged("supply of the warm floor", iterations=SUPPLY_HALVINGS, residual=needed - high)
    return governing, needed


@dataclass(frozen=True)
class _Facts:
    """A room: its set point, its load with what the ground takes of it, its floor, the ground as its load sees it."""

    here_c: float
    load_w: float
    below_w: float
    floor_m2: float
    ground_c: float


class _Day:
    """The design day of one tube plan."""

    def __init__(
        self, house: House, geometry: Geometry, climate: HouseClimate, heating: HeatingResult, plan: TubePlan
    ) -> None:
        self.house, self.plan = house, plan
        self.circuits = {c.id: c for c in house.circuit}
        grounds = {slab.id: calculate_slab(house, geometry, slab) for slab in house.slab}
        self.builds: dict[str, Build] = {}
        self.strips: dict[str, Build] = {}
        for run in plan.runs:
            slab = slab_of(house, geometry, next(iter(run.areas)))
            ground = grounds[slab.id] if slab else None
            if slab is None or ground is None:
                raise ValueError(f"{run.id} lies in no slab")
            self.builds[run.id] = build_of(slab, ground, self.circuits[run.circuit], run.spacing_m)
            self.strips[run.id] = build_of(slab, ground, self.circuits[run.circuit], plan.gap_m)
        named = {room for run in plan.runs for room in (*run.areas, *run.passes)}
        self.names = [r.id for r in house.room if r.id in named]
        self.facts = {name: self._facts(geometry, climate, heating, name) for name in self.names}

    def _facts(self, geometry: Geometry, climate: HouseClimate, heating: HeatingResult, name: str) -> _Facts:
        load, here = heating.of(name), set_point_c(self.house, name)
        floors = [s for s in geometry.surfaces if s.room == name and s.other == GROUND]
        below = sum(loss.watts for loss in load.losses if loss.id in {s.id for s in floors})
        area = sum(s.area_m2 for s in floors)
        ua = sum(loss.area_m2 * loss.u_w_m2k for loss in load.losses if loss.id in {s.id for s in floors})
        ground = here - below / ua if ua > 0.0 else climate.design.mean_annual_c
        return _Facts(here, load.total_w, below, area, ground)

    def field_m2(self, room: str) -> float:
        """The part of a room's floor that is laid with tube."""
        return sum(float(run.areas[room].area) for run in self.plan.runs if room in run.areas)

    def asks_w(self, room: str) -> float:
        """A room's load less what the ground takes under its field."""
        facts = self.facts[room]
        share = min(self.field_m2(room) / facts.floor_m2, 1.0) if facts.floor_m2 > 0.0 else 0.0
        return max(facts.load_w - share * facts.below_w, 0.0)

    def leader_m2(self, run: TubeRun, room: str) -> float:
        """Floor that a loop's leaders warm in a room: their strip, and its part of the margin along the bundle."""
        length = run.passes.get(room, 0.0)
        whole = sum(other.passes.get(room, 0.0) for other in self.plan.runs)
        bundle = 0.5 * max((other.passes.get(room, 0.0) for other in self.plan.runs), default=0.0)
        return length * self.plan.gap_m + (BESIDE_M * bundle * length / whole if whole > 0.0 else 0.0)

    def leader_w(self, room: str, mean_c: dict[str, float]) -> float:
        """What leaders give a room at the mean water of each loop."""
        facts = self.facts[room]
        return sum(
            self.leader_m2(run, room) * self.strips[run.id].up_w_m2(mean_c[run.id], facts.here_c, facts.ground_c)
            for run in self.plan.runs
        )

    def needed(self, mean_c: float) -> tuple[str, float]:
        """The room that needs the warmest water, and the supply that it needs."""
        means, drop, supply = dict.fromkeys(self.builds, mean_c), self.house.floor.drop_k, {}
        for room in (name for name in self.names if self.field_m2(name) > 0.0):
            here = self.facts[room].here_c
            over = max(self.water_c(room, self.leader_w(room, means)) - here, FIELD_OVER_K)
            supply[room] = here + drop / (1.0 - math.exp(-drop / over))
        governing = max(supply, key=lambda room: supply[room])
        return governing, supply[governing]

    def water_c(self, room: str, leader_w: float) -> float:
        """Mean water that a room's field needs beside its leaders."""
        facts = self.facts[room]
        run = next(run for run in self.plan.runs if room in run.areas)
        flux = max(self.asks_w(room) - leader_w, 0.0) / self.field_m2(room)
        return self.builds[run.id].water_c(flux, facts.here_c, facts.ground_c)

    def _gives(self, run: TubeRun, mean_c: float) -> tuple[float, float]:
        """(to rooms, down) of a loop at a mean water temperature."""
        up = down = 0.0
        for build, areas in (
            (self.builds[run.id], {room: float(area.area) for room, area in run.areas.items()}),
            (self.strips[run.id], {room: self.leader_m2(run, room) for room in run.passes}),
        ):
            for room, area in areas.items():
                facts = self.facts[room]
                up += area * build.up_w_m2(mean_c, facts.here_c, facts.ground_c)
                down += area * build.down_w_m2(mean_c, facts.here_c, facts.ground_c)
        return up, down

    def loop(self, run: TubeRun, supply_c: float, needed_c: float) -> LoopHeat:
        """A loop's water: with the flow of the file its return closes the balance; else the flow makes the mean that
        its rooms ask, between a half and twice the designed drop."""
        circuit, build = self.circuits[run.circuit], self.builds[run.id]
        here = sum(self.facts[room].here_c for room in run.areas) / len(run.areas)
        fluid = fluid_at(temperature_c=min(max(supply_c, 1.0), WATER_MOST_C), glycol=float(self.house.floor.glycol))

        def mean_at(back_c: float) -> float:
            return here + float(mean_over_room_k(supply_c=supply_c, return_c=back_c, room_c=here))

        if circuit.flow_m3_s is not None:
            carries = float(circuit.flow_m3_s) * fluid.heat_j_m3k
            low, high = here + 1e-3, supply_c - 1e-6
            for _ in range(80):
                back = 0.5 * (low + high)
                spare = carries * (supply_c - back) - sum(self._gives(run, mean_at(back)))
                low, high = (back, high) if spare > 0.0 else (low, back)
            up, down = self._gives(run, mean_at(back))
            flow = float(circuit.flow_m3_s)
        else:
            means = dict.fromkeys(self.builds, needed_c - 0.5 * self.house.floor.drop_k)
            asked = max(self.water_c(room, self.leader_w(room, means)) for room in run.areas)
            back = _return_c(supply_c, asked, here, self.house.floor.drop_k)
            up, down = self._gives(run, mean_at(back))
            flow = (up + down) / (fluid.heat_j_m3k * (supply_c - back))
        return LoopHeat(
            run, circuit, supply_c, back, flow, up, down * (1.0 - build.edge_share), down * build.edge_share,
            self.strips[run.id], {name: self.leader_m2(run, name) for name in run.passes},
        )  # fmt: skip

    def room(self, name: str, loops: tuple[LoopHeat, ...], needed_c: float) -> RoomFloor:
        """What a room gets from its loops as they run."""
        facts, area = self.facts[name], self.field_m2(name)
        means = {one.run.id: self._mean_c(one) for one in loops}
        leaders = self.leader_w(name, means)
        mine = [one for one in loops if name in one.run.areas]
        field = 0.0
        for one in mine:
            build, laid = self.builds[one.run.id], float(one.run.areas[name].area)
            field += laid * build.up_w_m2(means[one.run.id], facts.here_c, facts.ground_c)
        flux = field / area if area > 0.0 else 0.0
        peak = max((self.builds[one.run.id].cell.peak_to_mean for one in mine), default=1.0)
        excess = float(floor_excess_k(flux_w_m2=max(flux, 0.0)))
        limit = surface_limit_c(self.house, name)
        most = float(floor_flux_w_m2(excess_k=(limit - facts.here_c) / peak)) * area + leaders
        wished = dict.fromkeys(self.builds, needed_c - 0.5 * self.house.floor.drop_k)
        water = self.water_c(name, self.leader_w(name, wished)) if area > 0.0 else facts.here_c
        return RoomFloor(
            name, facts.here_c, self.asks_w(name), area, water, leaders, field + leaders, flux, facts.here_c + excess,
            facts.here_c + excess * peak, limit, most, facts.below_w,
        )  # fmt: skip

    def _mean_c(self, loop: LoopHeat) -> float:
        here = sum(self.facts[room].here_c for room in loop.run.areas) / len(loop.run.areas)
        return here + float(mean_over_room_k(supply_c=loop.supply_c, return_c=loop.return_c, room_c=here))


def _return_c(supply_c: float, mean_c: float, room_c: float, drop_k: float) -> float:
    """Return temperature whose logarithmic mean over the room is what is asked, by a half to twice the design drop."""
    low = max(supply_c - 2.0 * drop_k, room_c + 0.05)
    high = max(supply_c - 0.5 * drop_k, 0.5 * (low + supply_c))
    for _ in range(60):
        back = 0.5 * (low + high)
        middle = room_c + float(mean_over_room_k(supply_c=supply_c, return_c=back, room_c=room_c))
        low, high = (back, high) if middle < mean_c else (low, back)
    return 0.5 * (low + high)
