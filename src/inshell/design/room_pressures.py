"""Pressure of every room for every combination of devices, doors shut: still in design cold, and in the worst wind.

All combinations are rows of one run: every room is held at its set point, each row runs its own fans and no others.
Screening only: no verdict on combustion from a computed pressure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.drivers import WINTER_DEW_K, Prepared, prepare, vapour_share
from inshell.design.pressure import supply_at_m3_s
from inshell.house.geometry import Geometry
from inshell.house.model.house import House
from inshell.network.compiled import run
from inshell.network.links import LinkKind
from inshell.network.routes import DoorsAre
from inshell.network.system import first_state
from inshell.physics.air import density_kg_m3
from inshell.physics.types import Floats

MOST_STATES, STEP_S = 1024, 900.0
Setting = tuple[str, tuple[int, ...]]


@dataclass(frozen=True)
class RoomPressures:
    """Rows are combinations: what runs, the pressure of every room, the flow that each device still delivers."""

    weather: str
    outdoor_c: float
    doors: DoorsAre
    rooms: tuple[str, ...]
    running: tuple[tuple[str, ...], ...]
    pressure_pa: Floats
    flows_m3_s: tuple[dict[str, float], ...]
    door_n: dict[str, float]
    not_varied: tuple[str, ...] = ()

    @property
    def worst(self) -> int:
        """The combination with the deepest pressure in any room."""
        return int(np.argmin(self.pressure_pa.min(axis=1)))

    def of(self, running: set[str]) -> int:
        """The row of one combination."""
        return next(k for k, names in enumerate(self.running) if set(names) == running)

    def find(self, running: set[str]) -> int | None:
        """The row of one combination, None where no such one can be."""
        return next((k for k, names in enumerate(self.running) if set(names) == running), None)


def calculate_room_pressures(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    *,
    doors: DoorsAre = "shut",
    tested_flow_m3_s: float | None = None,
) -> tuple[RoomPressures, ...]:
    """Every combination in still design cold, and in the windiest hour of the year at its own temperature."""
    if climate.year is None:
        raise ValueError("room pressures need a weather year")
    windy = int(np.argmax(climate.year.wind_speed_m_s))
    told = []
    for weather, hour in (("design cold, still", 0), ("the windiest hour of the year", windy)):
        ready = prepare(
            house, geometry, climate, hours=np.array([hour], dtype=np.int64), doors=doors,
            tested_flow_m3_s=tested_flow_m3_s,
        )  # fmt: skip
        still = weather.endswith("still")
        outdoor = climate.design.heating_c if still else float(climate.year.dry_bulb_c[windy])
        told.append(_map(house, geometry, climate, ready, weather, outdoor, doors, still))
    return tuple(told)


def _settings(house: House, ready: Prepared, outdoor_c: float) -> list[list[Setting | None]]:
    """For each device its settings and off.

    A ventilator whose supply rests in that cold only exhausts.
    """
    index = {link.name: k for k, link in enumerate(ready.system.air.links)}
    choices: list[list[Setting | None]] = []
    for fan in house.fan:
        base = [(f"{fan.id}:base", (index[fan.id],))] if fan.id in index else []
        full = [(fan.id, (index[f"{fan.id} boost"],))] if f"{fan.id} boost" in index else []
        choices.append([None, *base, *full])
    for kind in (house.hood, house.dryer):
        choices += [[None, (device.id, (index[device.id],))] for device in kind if device.id in index]
    for unit in house.ventilator:
        ways = [f"{unit.id} from ", *([f"{unit.id} to "] if supply_at_m3_s(unit, outdoor_c) > 0.0 else [])]
        mine = tuple(k for name, k in index.items() if name.startswith(tuple(ways)))
        choices.append([None, (unit.id, mine)])
    choices += [[None, (fan.id, (index[fan.id],))] for fan in house.transfer_fan]
    return choices


def _combinations(
    house: House, choices: list[list[Setting | None]]
) -> tuple[list[tuple[Setting, ...]], tuple[str, ...]]:
    """Every combination; past MOST_STATES the last devices are varied only in those that are asked for by name.

    Those are nothing, each setting alone, what always runs, and what pressure promises name. Second: the devices that
    are not varied otherwise.
    """
    varied, left, count = [], [], 1
    for choice in choices:
        if count * len(choice) > MOST_STATES:
            left.append(next(s[0].partition(":")[0] for s in choice if s is not None))
            continue
        count *= len(choice)
        varied.append(choice)
    told = {frozenset(s[0] for s in p if s): tuple(s for s in p if s) for p in product(*varied)}
    if left:
        every = {s[0]: s for choice in choices for s in choice if s is not None}
        asked = [{name} for name in every] + [
            set(promise.fans) & set(every) for promise in house.promise if promise.fans
        ]
        asked += [always_running(house) & set(every), set(every) - {f"{fan.id}:base" for fan in house.fan}]
        for names in asked:
            told.setdefault(frozenset(names), tuple(every[name] for name in sorted(names)))
    ordered = [one for one in told.values() if _allowed(house, {name for name, _ in one})]
    return ordered, tuple(left)


def always_running(house: House) -> set[str]:
    """Settings that always run."""
    bases = {f"{fan.id}:base" for fan in house.fan if fan.base_flow_m3_s > 0.0}
    return bases | {unit.id for unit in house.ventilator} | {fan.id for fan in house.transfer_fan}


def _allowed(house: House, running: set[str]) -> bool:
    """Whether interlocks let these settings stand together: rows of control that act while another device runs."""
    on = {name.partition(":")[0] for name in running}
    for row in house.control:
        if row.while_runs in on and row.from_h is None and row.sense is None and not row.occupied:
            if row.does == "off" and row.target in on:
                return False
            if row.does == "full" and row.target not in running and not _has_one_setting(house, row.target, on):
                return False
    return True


def _has_one_setting(house: House, target: str, on: set[str]) -> bool:
    """Whether a device that is on has no setting beyond the one it stands in."""
    return target in on and not any(fan.id == target and fan.base_flow_m3_s > 0.0 for fan in house.fan)


def _map(
    house: House, geometry: Geometry, climate: HouseClimate, ready: Prepared, weather: str, outdoor_c: float,
    doors: DoorsAre, still: bool,
) -> RoomPressures:  # fmt: skip
    combinations, left = _combinations(house, _settings(house, ready, outdoor_c))
    count, links = len(combinations), ready.system.air.links
    moving = np.array([link.kind is LinkKind.FAN for link in links])
    share = np.tile(np.where(moving, 0.0, 1.0), (count, 1))
    share[:, [k for k, _ in ready.routes.windows]] = 0.0
    for row, settings in enumerate(combinations):
        for _, mine in settings:
            share[row, list(mine)] = 1.0
    f, rooms = ready.forcing, ready.system.rooms
    point = np.full((count, rooms), float(house.household.heating_set_point_c))
    dew = outdoor_c - WINTER_DEW_K
    boundary = np.tile(f.boundary_c, (count, 1))
    boundary[:, 0] = boundary[:, 1] = outdoor_c
    forcing = replace(
        f, outdoor_c=np.full(count, outdoor_c), boundary_c=boundary, source_w=np.tile(0.0 * f.source_w, (count, 1)),
        outdoor_vapour=np.full(count, float(vapour_share(np.array([dew]), climate.pressure_pa)[0])),
        gains_w=np.zeros((count, rooms)), vapour_kg_s=np.zeros((count, rooms)), gas_kg_s=np.zeros((count, rooms)),
        wind_pa=np.tile(0.0 * f.wind_pa if still else f.wind_pa, (count, 1)), route_share=share,
        heat_at_c=point,
        cool_at_c=point, most_w=np.full_like(point, 1e9), least_w=np.full_like(point, -1e9),
        permit=np.zeros((count, 0)),
        coil_most_w=np.zeros((count, 0)), coil_least_w=np.zeros((count, 0)),
    )  # fmt: skip
    system = replace(ready.system, controls=(), coils=(), senses=(), films=())
    series = run(system, forcing, first_state(system, air_c=float(point[0, 0])), step_s=STEP_S)
    kg_m3 = float(density_kg_m3(temperature_c=20.0, pressure_pa=climate.pressure_pa))
    flows = tuple(
        {name: float(series.forward_kg_s[row, list(mine)].sum()) / kg_m3 for name, mine in settings}
        for row, settings in enumerate(combinations)
    )
    running = tuple(tuple(name for name, _ in settings) for settings in combinations)
    names = ready.routes.network.rooms
    forces = _door_forces(house, names, series.pressure_pa)
    return RoomPressures(weather, outdoor_c, doors, names, running, series.pressure_pa, flows, forces, left)


def _door_forces(house: House, names: tuple[str, ...], pressure_pa: Floats) -> dict[str, float]:
    """Greatest force at the handle of each inner door [N]: half the pressure times its area."""
    told = {}
    for door in house.door:
        if door.between:
            one, two = (names.index(room) for room in door.between)
            told[door.id] = float(np.abs(pressure_pa[:, one] - pressure_pa[:, two]).max() * door.area_m2 / 2.0)
    return told
