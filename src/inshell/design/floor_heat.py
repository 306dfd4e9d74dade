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
from inshell.physics.floor import floor_excess_k, floor_flux_w_m2
from inshell.physics.ground import RSI_FLOOR_M2K_W
from inshell.physics.slab_cell import SlabCell, slab_cell, tube_to_core_m2k_w
from inshell.physics.water_tube import mean_over_room_k
from inshell.sources import table

TUBE_W_MK, FILM_W_M2K = 0.38, 10.8
LEAST_BELOW_M2K_W = 0.05
BATHS = ("bath", "toilet")


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
    """One room on the design day.

    `asks_w` is its load without what its floor loses to the ground, which the slab gives itself; `leader_w` what
    passing leaders give it; `flux_w_m2` what its field must give; `limit_w` the most that the surface's limit allows.
    """

    room: str
    room_c: float
    asks_w: float
    area_m2: float
    flux_w_m2: float
    leader_w: float
    water_c: float
    surface_c: float
    hottest_c: float
    limit_c: float
    limit_w: float
    ground_loss_w: float

    @property
    def is_short(self) -> bool:
        """Whether the surface's limit does not let the floor give what the room asks."""
        return self.asks_w > self.limit_w + 1.0


@dataclass(frozen=True)
class LoopHeat:
    """One loop on the design day: its water and where its heat goes [W]."""

    run: TubeRun
    circuit: Circuit
    supply_c: float
    return_c: float
    to_rooms_w: float
    down_w: float
    edge_w: float

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
    return float(limits["bath_c"] if house.room_named(room).use in BATHS else limits["occupied_c"])


def calculate_floor(
    house: House, geometry: Geometry, climate: HouseClimate, heating: HeatingResult, plan: TubePlan
) -> FloorHeat:
    """What the floor must do on the design day; raises ValueError where nothing was laid."""
    if not plan.runs:
        raise ValueError("no circuit is laid")
    ground_c = climate.design.mean_annual_c
    circuits = {c.id: c for c in house.circuit}
    grounds = {slab.id: calculate_slab(house, geometry, slab) for slab in house.slab}
    builds: dict[str, Build] = {}
    strips: dict[str, Build] = {}
    for run in plan.runs:
        slab = slab_of(house, geometry, next(iter(run.areas)))
        ground = grounds[slab.id] if slab else None
        if slab is None or ground is None:
            continue
        builds[run.id] = build_of(slab, ground, circuits[run.circuit], run.spacing_m)
        strips[run.id] = build_of(slab, ground, circuits[run.circuit], plan.gap_m)
    supply: float | None = house.floor.supply_c
    warm = supply if supply is not None else 35.0
    for _ in range(60):
        rooms = _rooms(house, geometry, heating, plan, builds, strips, warm - 0.5 * house.floor.drop_k, ground_c)
        asking = [r for r in rooms if r.area_m2 > 0.0]
        governing = max(asking, key=lambda r: r.water_c)
        excess = governing.water_c - governing.room_c
        needed = governing.room_c + house.floor.drop_k / (1.0 - math.exp(-house.floor.drop_k / max(excess, 0.05)))
        if abs(needed - warm) < 0.01 or supply is not None:
            break
        warm += 0.7 * (needed - warm)
    else:
        raise NotConverged("supply of the warm floor", iterations=60, residual=needed - warm)
    supply_c = supply if supply is not None else needed
    loops = tuple(
        _loop(house, circuits[run.circuit], run, builds[run.id], strips[run.id], rooms, supply_c, ground_c)
        for run in plan.runs
        if run.id in builds
    )
    return FloorHeat(tuple(rooms), loops, builds, governing.room, supply_c, needed, ground_c)


def _rooms(
    house: House,
    geometry: Geometry,
    heating: HeatingResult,
    plan: TubePlan,
    builds: dict[str, Build],
    strips: dict[str, Build],
    mean_c: float,
    ground_c: float,
) -> list[RoomFloor]:
    told = []
    grounded = {s.id for s in geometry.surfaces if s.other == GROUND}
    named = {room for c in house.circuit for room in c.rooms} | {room for run in plan.runs for room in run.passes}
    for room in (r.id for r in house.room if r.id in named):
        load = heating.of(room)
        here_c = set_point_c(house, room)
        below = sum(loss.watts for loss in load.losses if loss.id in grounded)
        asks = max(load.total_w - below, 0.0)
        fields = [(run, builds[run.id]) for run in plan.runs if room in run.areas and run.id in builds]
        area = sum(run.areas[room].area for run, _ in fields)
        leaders = sum(
            run.passes[room] * plan.gap_m * strips[run.id].up_w_m2(mean_c, here_c, ground_c)
            for run in plan.runs
            if room in run.passes and run.id in strips
        )
        flux = max(asks - leaders, 0.0) / area if area > 0.0 else 0.0
        build = fields[0][1] if fields else next(iter(builds.values()))
        excess = float(floor_excess_k(flux_w_m2=flux))
        limit = surface_limit_c(house, room)
        most = float(floor_flux_w_m2(excess_k=(limit - here_c) / build.cell.peak_to_mean)) * area + leaders
        told.append(
            RoomFloor(
                room, here_c, asks, area, flux, leaders, build.water_c(flux, here_c, ground_c) if fields else here_c,
                here_c + excess, here_c + excess * build.cell.peak_to_mean, limit, most, below,
            )
        )  # fmt: skip
    return told


def _loop(
    house: House,
    circuit: Circuit,
    run: TubeRun,
    build: Build,
    strip: Build,
    rooms: list[RoomFloor],
    supply_c: float,
    ground_c: float,
) -> LoopHeat:
    """Water of one loop: its return by the mean that its rooms ask, at most twice the designed drop below supply."""
    mine = [r for r in rooms if r.room in run.areas]
    asked = sum(r.water_c * run.areas[r.room].area for r in mine) / sum(run.areas[r.room].area for r in mine)
    here = sum(r.room_c for r in mine) / len(mine)
    mean = min(max(asked, here + 0.2), supply_c)
    back = _return_c(supply_c, mean, here, 2.0 * house.floor.drop_k)
    middle = here + float(mean_over_room_k(supply_c=supply_c, return_c=back, room_c=here))
    up = down = 0.0
    for r in mine:
        area = float(run.areas[r.room].area)
        up += area * build.up_w_m2(middle, r.room_c, ground_c)
        down += area * build.down_w_m2(middle, r.room_c, ground_c)
    for room, length in run.passes.items():
        at = next(r.room_c for r in rooms if r.room == room)
        up += length * strip.spacing_m * strip.up_w_m2(middle, at, ground_c)
        down += length * strip.spacing_m * strip.down_w_m2(middle, at, ground_c)
    return LoopHeat(run, circuit, supply_c, back, up, down * (1.0 - build.edge_share), down * build.edge_share)


def _return_c(supply_c: float, mean_c: float, room_c: float, most_drop_k: float) -> float:
    """Return temperature whose logarithmic mean over the room is what is asked."""
    low, high = max(supply_c - most_drop_k, room_c + 0.05), supply_c - 1e-3
    for _ in range(60):
        back = 0.5 * (low + high)
        middle = room_c + float(mean_over_room_k(supply_c=supply_c, return_c=back, room_c=room_c))
        low, high = (back, high) if middle < mean_c else (low, back)
    return 0.5 * (low + high)
