"""Heating design load, room by room (EN 12831-1)."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from inshell.climate.choose import HouseClimate
from inshell.design.envelope import Element, calculate_elements
from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.house import House
from inshell.network.construction import assembly_u
from inshell.physics.air import volumetric_heat_capacity_j_m3k
from inshell.physics.types import Floats
from inshell.sources import table


@dataclass(frozen=True)
class Loss:
    """One way for heat to leave a room on the design day; factor: its share of the design difference, 0 without one."""

    id: str
    kind: str
    area_m2: float
    u_w_m2k: float
    factor: float
    watts: float


@dataclass(frozen=True)
class RoomLoad:
    """Heating load of one room."""

    room: str
    set_point_c: float
    losses: tuple[Loss, ...]
    outdoor_air_m3_s: float
    air_w: float
    reheat_w: float
    heated: bool = True

    @property
    def transmission_w(self) -> float:
        """Conduction to outdoors, ground, buffers and rooms held at another temperature."""
        return sum(loss.watts for loss in self.losses)

    @property
    def total_w(self) -> float:
        """What a heater in this room would have to give; nothing in a room that is not heated: others carry it."""
        return self.transmission_w + self.air_w + self.reheat_w if self.heated else 0.0


@dataclass(frozen=True)
class AirPlan:
    """Outdoor air of the whole house on the design day, as actual flow at indoor density."""

    supply_m3_s: float
    exhaust_m3_s: float
    infiltration_m3_s: float
    total_m3_s: float

    @property
    def balanced_m3_s(self) -> float:
        """The part that is both blown in and out."""
        return min(self.supply_m3_s, self.exhaust_m3_s)

    @property
    def unbalanced_m3_s(self) -> float:
        """What is left over on one side."""
        return abs(self.supply_m3_s - self.exhaust_m3_s)


@dataclass(frozen=True)
class HeatingResult:
    """Heating load of the house."""

    outdoor_c: float
    rooms: tuple[RoomLoad, ...]
    air: AirPlan
    findings: tuple[Finding, ...]

    @property
    def total_w(self) -> float:
        """House load: what flows between heated rooms cancels, what they give to others does not."""
        return sum(room.total_w for room in self.rooms)

    def of(self, room: str) -> RoomLoad:
        """The load of one room."""
        return next(load for load in self.rooms if load.room == room)


def transmission_w(*, area_m2: float, u_w_m2k: float, factor: float, inside_c: float, outside_c: float) -> float:
    """Heat through one element: A U f (ti - te).

    >>> transmission_w(area_m2=10.0, u_w_m2k=0.2, factor=1.0, inside_c=20.0, outside_c=-10.0)
    60.0
    """
    return area_m2 * u_w_m2k * factor * (inside_c - outside_c)


def ground_factor(*, inside_c: float, outside_c: float, mean_annual_c: float) -> float:
    """Share of the design difference that the ground sees: 1.45 (ti - te_m)/(ti - te), EN 12831-1.

    >>> round(ground_factor(inside_c=20.0, outside_c=-12.0, mean_annual_c=9.0), 4)
    0.4984
    """
    difference = inside_c - outside_c
    if difference == 0.0:
        return 0.0
    return float(table("design")["ground"]["annual_factor"] * (inside_c - mean_annual_c) / difference)


def air_w(*, flow_m3_s: float, inside_c: float, outside_c: float, pressure_pa: float) -> float:
    """Heat that outdoor air takes: 0.34 Wh/m3K p/p0 q (ti - te).

    >>> round(air_w(flow_m3_s=50.0 / 3600.0, inside_c=20.0, outside_c=-12.0, pressure_pa=101325.0), 1)
    544.0
    """
    return float(volumetric_heat_capacity_j_m3k(pressure_pa=pressure_pa)) * flow_m3_s * (inside_c - outside_c)


def tightness_ach50(house: House, volume_m3: float, tested_flow_m3_s: float | None = None) -> tuple[float, bool]:
    """Air changes at 50 Pa for design, and whether it is only the default."""
    if tested_flow_m3_s is not None:
        return tested_flow_m3_s * 3600.0 / volume_m3, False
    if house.tightness.ach50 is not None:
        return house.tightness.ach50, False
    if house.tightness.flow_at_50_pa_m3_s is not None:
        return house.tightness.flow_at_50_pa_m3_s * 3600.0 / volume_m3, False
    return float(table("design")["tightness_default"]["ach50"]), True


def calculate_heating(
    house: House, geometry: Geometry, climate: HouseClimate, *, tested_flow_m3_s: float | None = None
) -> HeatingResult:
    """Heating design load by room and house, with outdoor air, altitude and an explicit reheat.

    Outdoor air is the balanced part with recovery plus the root of unbalanced squared and infiltration squared;
    rooms with a supply get it first, the rest enters by leakage area.
    """
    elements = calculate_elements(house, geometry)
    ach50, assumed = tightness_ach50(house, geometry.volume_m3, tested_flow_m3_s)
    supplies, air, findings = _air(house, climate, geometry.volume_m3 * ach50 / 3600.0)
    leak_area = _leak_areas(house, elements)
    spare = air.total_m3_s - sum(supply.flow for supply in supplies)
    outdoor, taken = {}, {}
    for room in house.room:
        leaked = spare * leak_area[room.id] / (sum(leak_area.values()) or 1.0)
        mine = [s for s in supplies if s.room == room.id]
        outdoor[room.id] = sum(s.flow for s in mine) + leaked
        taken[room.id] = sum(s.flow * (1.0 - s.recovery) for s in mine) + leaked
    inside = _temperatures_c(house, geometry, climate, elements, taken)
    rooms = [_room(house, geometry, climate, r.id, elements, inside, (outdoor[r.id], taken[r.id])) for r in house.room]
    if assumed:
        findings.append(Finding("tightness-assumed", "tightness", {"ach50": ach50}))
    if house.household.reheat_hours is None:
        findings.append(Finding("no-reheat", "household.reheat_hours", {}))
    findings.append(Finding("load-method", "heating", {}))
    return HeatingResult(climate.design.heating_c, tuple(rooms), air, tuple(findings))


@dataclass(frozen=True)
class _Supply:
    room: str
    flow: float
    recovery: float


def _air(house: House, climate: HouseClimate, flow_at_50: float) -> tuple[list[_Supply], AirPlan, list[Finding]]:
    findings: list[Finding] = []
    supplies: list[_Supply] = []
    exhaust = sum(fan.base_flow_m3_s for fan in house.fan if fan.kind == "exhaust")
    for fan in house.fan:
        if fan.kind == "supply" and fan.base_flow_m3_s > 0.0:
            supplies.append(_Supply(fan.room, fan.base_flow_m3_s, 0.0))
    for unit in house.ventilator:
        supply = unit.supply_flow_m3_s
        stop = unit.supply_stops_below_c
        if stop is not None and climate.design.heating_c < stop:
            findings.append(
                Finding(
                    "supply-stopped-in-cold",
                    f"ventilator.{unit.id}",
                    {"stop": (stop, "temperature"), "design": (climate.design.heating_c, "temperature")},
                )
            )
            supply = 0.0
        exhaust += unit.exhaust_flow_m3_s
        if supply > 0.0:
            recovered = unit.recovery * min(supply, unit.exhaust_flow_m3_s) / supply
            for room in unit.supply_rooms:
                supplies.append(_Supply(room, supply / len(unit.supply_rooms), recovered))
    total_supply = sum(s.flow for s in supplies)
    infiltration = flow_at_50 * float(table("design")["infiltration"][house.tightness.shielding])
    balanced = min(total_supply, exhaust)
    total = balanced + math.hypot(total_supply - exhaust, infiltration)
    return supplies, AirPlan(total_supply, exhaust, infiltration, total), findings


def _leak_areas(house: House, elements: list[Element]) -> dict[str, float]:
    areas = dict.fromkeys((room.id for room in house.room), 0.0)
    for element in elements:
        if element.other != GROUND:
            areas[element.room] += element.area_m2
    return areas


def buffer_c(house: House, outdoor_c: Floats) -> Floats:
    """Temperature of every space beside the house, a column each: between outdoors and a house held at its set points.

    Formula: Te + (1 - b)(Ti - Te), Ti the outdoor temperature kept within the set points of heating and cooling
    Source: EN 12831-1, temperature factor b (from memory); on hot days the same factor (common practice)
    """
    home = house.household
    outdoor = np.asarray(outdoor_c, dtype=float)[..., None]
    inside = np.clip(outdoor, float(home.heating_set_point_c), float(home.cooling_set_point_c))
    return np.asarray(outdoor + (1.0 - np.array([b.factor for b in house.buffer])) * (inside - outdoor))


def set_point_c(house: House, room_id: str) -> float:
    """The temperature that a room is held at on the heating design day."""
    own = house.room_named(room_id).heating_set_point_c
    return float(house.household.heating_set_point_c if own is None else own)


def _temperatures_c(
    house: House, geometry: Geometry, climate: HouseClimate, elements: list[Element], taken: dict[str, float]
) -> dict[str, float]:
    """Set points of heated rooms, and for the others the temperature at which their own losses balance what comes
    through their partitions: a linear system."""
    held = {room.id: set_point_c(house, room.id) for room in house.room if room.heated}
    cold = [room.id for room in house.room if not room.heated]
    if not cold:
        return held
    matrix, right = np.zeros((len(cold), len(cold))), np.zeros(len(cold))
    for k, room in enumerate(cold):
        for element in (e for e in elements if e.room == room):
            # the loss is linear in the room's temperature: two points give its line
            at0, at1 = (_outer_loss(house, climate, element, t).watts for t in (0.0, 1.0))
            matrix[k, k] += at1 - at0
            right[k] -= at0
        at0, at1 = (_air_w(climate, taken[room], t) for t in (0.0, 1.0))
        matrix[k, k] += at1 - at0
        right[k] -= at0
        for other, conductance in _partitions(house, geometry, room):
            matrix[k, k] += conductance
            if other in held:
                right[k] += conductance * held[other]
            else:
                matrix[k, cold.index(other)] -= conductance
    return held | dict(zip(cold, map(float, np.linalg.solve(matrix, right)), strict=True))


def _air_w(climate: HouseClimate, flow: float, inside: float) -> float:
    return air_w(flow_m3_s=flow, inside_c=inside, outside_c=climate.design.heating_c, pressure_pa=climate.pressure_pa)


def _partitions(house: House, geometry: Geometry, room_id: str) -> list[tuple[str, float]]:
    """(neighbour, conductance) of every partition and floor between a room and others."""
    rows = []
    for surface in geometry.surfaces:
        if surface.is_outer or room_id not in (surface.room, surface.other) or surface.assembly is None:
            continue
        other = surface.other if surface.room == room_id else surface.room
        u = assembly_u(house, surface.assembly, surface.kind, other).u_w_m2k
        rows.append((other, surface.net_m2 * u))
    return rows


def _room(
    house: House,
    geometry: Geometry,
    climate: HouseClimate,
    room_id: str,
    elements: list[Element],
    temperatures: dict[str, float],
    flows: tuple[float, float],
) -> RoomLoad:
    inside, outside = temperatures[room_id], climate.design.heating_c
    outdoor, taken = flows
    losses = [_outer_loss(house, climate, e, inside) for e in elements if e.room == room_id]
    losses += _between(house, geometry, room_id, outside, temperatures)
    reheat = 0.0
    if house.household.reheat_hours is not None:
        reheat = reheat_w_m2(hours=house.household.reheat_hours) * geometry.space(room_id).floor_m2
    return RoomLoad(
        room=room_id,
        set_point_c=inside,
        losses=tuple(losses),
        outdoor_air_m3_s=outdoor,
        air_w=_air_w(climate, taken, inside),
        reheat_w=reheat,
        heated=house.room_named(room_id).heated,
    )


def reheat_w_m2(*, hours: float) -> float:
    """Power per floor area that wins back a set-back of 1 K in some hours, linear between 1, 2 and 4 h.

    >>> reheat_w_m2(hours=2.0)
    6.0
    """
    row = table("design")["reheat"]
    points = list(zip(row["hours"], row["w_m2"], strict=True))
    for (h0, w0), (h1, w1) in itertools.pairwise(points):
        if h0 <= hours <= h1:
            return float(w0 + (w1 - w0) * (hours - h0) / (h1 - h0))
    raise ValueError("reheat is known for 1 to 4 hours")


def _outer_loss(house: House, climate: HouseClimate, element: Element, inside: float) -> Loss:
    outside = climate.design.heating_c
    buffers = {buffer.id: buffer.factor for buffer in house.buffer}
    factor = buffers.get(element.other, 1.0)
    if element.other == GROUND:
        factor = ground_factor(inside_c=inside, outside_c=outside, mean_annual_c=climate.design.mean_annual_c)
    u = element.u_w_m2k + element.bridge_w_m2k
    watts = transmission_w(area_m2=element.area_m2, u_w_m2k=u, factor=factor, inside_c=inside, outside_c=outside)
    return Loss(element.id, element.kind, element.area_m2, u, factor, watts)


def _between(
    house: House, geometry: Geometry, room_id: str, outside: float, temperatures: dict[str, float]
) -> list[Loss]:
    """Heat to rooms at another temperature."""
    inside = temperatures[room_id]
    losses = []
    for surface in geometry.surfaces:
        if surface.is_outer or room_id not in (surface.room, surface.other) or surface.assembly is None:
            continue
        other = surface.other if surface.room == room_id else surface.room
        difference = inside - temperatures[other]
        if abs(difference) < 1e-9:
            continue
        u = assembly_u(house, surface.assembly, surface.kind, other).u_w_m2k
        factor = difference / (inside - outside) if inside != outside else 0.0
        losses.append(Loss(surface.id, "room", surface.net_m2, u, factor, surface.net_m2 * u * difference))
    return losses
