"""Heads as the coupled step needs them: what they can give and take in every hour, and how their coils wet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from inshell.house.model.heat_devices import Head, HeadPoint
from inshell.house.model.house import House
from inshell.network.system import Coil
from inshell.physics.air import MOLAR_RATIO, STANDARD_PRESSURE_PA, density_kg_m3, vapour_from_adiabatic_wet_bulb_pa
from inshell.physics.coil import bypass_at_flow, coil_at_rating
from inshell.physics.heat_pump import FROST_C, FROST_RANGE_C, frosted_w
from inshell.physics.types import Array, Floats

Mode = Literal["heating", "cooling"]
RATED_INDOOR_C = (80.0 - 32.0) / 1.8, (67.0 - 32.0) / 1.8  # dry and wet bulb of the cooling rating
RATED_OUTDOOR_C = (95.0 - 32.0) / 1.8
AIR_PER_COOLING_M3_J = 0.054e-3  # flow per watt of rated cooling where a data sheet gives none (common practice)
NEAR_C = 0.6


@dataclass(frozen=True)
class Map:
    """Capacity of one mode against outdoor temperature, points rising; least and power may be unknown (NaN)."""

    outdoor_c: Floats
    most_w: Floats
    least_w: Floats
    power_w: Floats
    least_power_w: Floats

    def at(self, series: str, outdoor_c: Array) -> Floats:
        """Linear between the points. Beyond them: the last value where more is to be had, the last slope where less is,
        never below nothing; `beyond` says where."""
        x, values = np.asarray(outdoor_c, dtype=float), getattr(self, series)
        inside = np.interp(x, self.outdoor_c, values)
        if len(values) < 2:
            return np.asarray(inside)
        low = values[0] + (x - self.outdoor_c[0]) * _slope(self.outdoor_c[:2], values[:2])
        high = values[-1] + (x - self.outdoor_c[-1]) * _slope(self.outdoor_c[-2:], values[-2:])
        inside = np.where(x < self.outdoor_c[0], np.clip(low, 0.0, values[0]), inside)
        return np.asarray(np.where(x > self.outdoor_c[-1], np.clip(high, 0.0, values[-1]), inside))

    def beyond(self, outdoor_c: Array, mode: Mode) -> NDArray[np.bool_]:
        """Where it is colder (heating) or hotter (cooling) than any point of the data sheet."""
        x = np.asarray(outdoor_c, dtype=float)
        past = x < self.outdoor_c[0] - NEAR_C if mode == "heating" else x > self.outdoor_c[-1] + NEAR_C
        return np.asarray(past)


def _slope(x: Floats, y: Floats) -> float:
    return float((y[1] - y[0]) / (x[1] - x[0]))


def map_of(head: Head, mode: Mode) -> Map | None:
    """What a head can do in a mode, line length counted; None without points. Frost at 35 °F where it is left out."""
    points = sorted((p for p in head.point if p.mode == mode), key=lambda p: p.outdoor_c)
    if not points:
        return None

    def column(name: str) -> Floats:
        return np.array([np.nan if getattr(p, name) is None else float(getattr(p, name)) for p in points])

    rows = {
        "outdoor_c": column("outdoor_c"),
        "most_w": column("maximum_w") * head.line_factor,
        "least_w": column("minimum_w") * head.line_factor,
        "power_w": column("power_w"),
        "least_power_w": column("minimum_power_w"),
    }
    rows["least_w"] = np.where(np.isnan(rows["least_w"]), 0.0, rows["least_w"])
    if mode == "heating":
        rows = _frosted(rows)
    return Map(**rows)


def _frosted(rows: dict[str, Floats]) -> dict[str, Floats]:
    """A point at 35 °F where the data sheet jumps from 17 to 47 °F: outdoor coils frost there."""
    x = rows["outdoor_c"]
    cold, mild = FROST_RANGE_C
    at = [int(np.argmin(np.abs(x - t))) for t in (cold, mild)]
    if abs(x[at[0]] - cold) > NEAR_C or abs(x[at[1]] - mild) > NEAR_C or at[1] - at[0] != 1:
        return rows
    most = float(frosted_w(at_17_w=rows["most_w"][at[0]], at_47_w=rows["most_w"][at[1]]))
    whole = float(np.interp(FROST_C, x, rows["most_w"]))
    told = {name: np.insert(v, at[1], np.interp(FROST_C, x, v)) for name, v in rows.items()}
    told["outdoor_c"][at[1]], told["most_w"][at[1]] = FROST_C, most
    told["least_w"][at[1]] *= most / whole
    return told


def rated_cooling(head: Head) -> HeadPoint | None:
    """The cooling point nearest to 95 °F outdoors."""
    points = [p for p in head.point if p.mode == "cooling"]
    return min(points, key=lambda p: abs(p.outdoor_c - RATED_OUTDOOR_C), default=None)


@dataclass(frozen=True)
class Contact:
    """Dry air that a head's coil touches, m (1 - BF), at its lowest and highest air flow; its rated bypass."""

    low_kg_s: float
    high_kg_s: float
    bypass: float
    assumed_flow: bool


def contact_of(head: Head, pressure_pa: float = STANDARD_PRESSURE_PA) -> Contact | None:
    """The coil from its rating; None without cooling points. Raises ValueError where the rating is no coil's."""
    rated = rated_cooling(head)
    if rated is None:
        return None
    total = float(rated.rated_w or rated.maximum_w)
    flows = sorted(head.air_flow_m3_s) or [AIR_PER_COOLING_M3_J * total]
    dry, wet = RATED_INDOOR_C
    vapour = float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=dry, wet_bulb_c=wet, pressure_pa=STANDARD_PRESSURE_PA))
    ratio = MOLAR_RATIO * vapour / (STANDARD_PRESSURE_PA - vapour)
    per_m3 = float(density_kg_m3(temperature_c=dry, vapour_pa=vapour)) / (1.0 + ratio)
    point = coil_at_rating(
        entering_c=dry, ratio=ratio, dry_air_kg_s=flows[-1] * per_m3, total_w=total, sensible_share=head.sensible_share
    )
    bypass = max(point.bypass, 0.02)
    scale = pressure_pa / STANDARD_PRESSURE_PA
    low, high = (
        q * per_m3 * scale
        * (1.0 - float(bypass_at_flow(bypass=bypass, rated_kg_s=flows[-1], dry_air_kg_s=q * scale)))
        for q in (flows[0], flows[-1])
    )  # fmt: skip
    return Contact(low, high, bypass, not head.air_flow_m3_s)


@dataclass(frozen=True)
class RoomHeads:
    """What heads and heaters can do in the rooms, hour by hour: rows are hours, columns rooms (or coils)."""

    most_w: Floats
    least_w: Floats
    coils: tuple[Coil, ...]
    coil_most_w: Floats
    coil_least_w: Floats
    senses: tuple[int, ...]
    reads_high_k: Floats


UNLIMITED_W = 1e7


def heads_of(
    house: House, outdoor_c: Floats, pressure_pa: float, *, unlimited: frozenset[str], room_weight: Floats | None = None
) -> RoomHeads:
    """Limits of every room's holder. Rooms in `unlimited` (a warm floor helps, or all is asked) have none in heating;
    so have heads without points: what they can give is unknown, which a finding says. Heads on one outdoor unit part
    its most by `room_weight` (the volume of their rooms), none getting more than its own."""
    index = {room.id: k for k, room in enumerate(house.room)}
    hours, rooms = len(outdoor_c), len(index)
    most, least = np.zeros((hours, rooms)), np.zeros((hours, rooms))
    weight = np.ones(rooms) if room_weight is None else room_weight
    able = {mode: _able_w(house, mode, outdoor_c, weight) for mode in ("heating", "cooling")}
    coils: list[Coil] = []
    coil_most: list[Floats] = []
    coil_least: list[Floats] = []
    senses = list(range(rooms))
    high = np.zeros(rooms)
    for head in house.head:
        k = index[head.room]
        warm, cold = map_of(head, "heating"), map_of(head, "cooling")
        most[:, k] += UNLIMITED_W if warm is None else able["heating"][head.id]
        if head.thermostat_room is not None:
            senses[k] = index[head.thermostat_room]
        high[k] = head.thermostat_reads_high_k
        coil = _coil(head, k, pressure_pa)
        twin = next((n for n, c in enumerate(coils) if c.room == k), None)
        if cold is not None and coil is not None and twin is not None:
            one = coils[twin]
            both = (min(one.low_kg_s, coil.low_kg_s), one.high_kg_s + coil.high_kg_s)
            coils[twin] = Coil(k, *both, one.fan_always or coil.fan_always)
            coil_most[twin] = coil_most[twin] + able["cooling"][head.id]
            coil_least[twin] = np.minimum(coil_least[twin], _least(house, head, cold, outdoor_c))
            continue
        if cold is None or coil is None:
            least[:, k] -= UNLIMITED_W if cold is None else able["cooling"][head.id]
            continue
        coils.append(coil)
        coil_most.append(able["cooling"][head.id])
        coil_least.append(np.minimum(_least(house, head, cold, outdoor_c), coil_most[-1]))
    most += heaters_w(house)
    for room in unlimited:
        most[:, index[room]] = UNLIMITED_W
    coil_columns = [np.column_stack(c) if c else np.zeros((hours, 0)) for c in (coil_most, coil_least)]
    return RoomHeads(most, least, tuple(coils), coil_columns[0], coil_columns[1], tuple(senses), high)


def heaters_w(house: House) -> Floats:
    """What electric heaters give at most in each room [W]."""
    return np.array([sum(h.power_w for h in house.heater if h.room == room.id) for room in house.room], dtype=float)


def _coil(head: Head, room: int, pressure_pa: float) -> Coil | None:
    try:
        contact = contact_of(head, pressure_pa)
    except ValueError:
        return None
    return None if contact is None else Coil(room, contact.low_kg_s, contact.high_kg_s, head.fan_always)


def _least(house: House, head: Head, cold: Map, outdoor_c: Floats) -> Floats:
    """Least cooling while running: the head's own, or its part of its outdoor unit's least."""
    own = cold.at("least_w", outdoor_c)
    unit = next((u for u in house.outdoor_unit if u.id == head.outdoor_unit), None)
    if unit is None or unit.minimum_w is None:
        return own
    return np.asarray(np.maximum(own, unit.minimum_w / sum(h.outdoor_unit == unit.id for h in house.head)))


def _able_w(house: House, mode: Mode, outdoor_c: Floats, room_weight: Floats) -> dict[str, Floats]:
    """What each head can do in every hour: its own most, or its part of its outdoor unit's where all ask at once."""
    rooms = [room.id for room in house.room]
    maps = {head.id: map_of(head, mode) for head in house.head}
    able = {name: m.at("most_w", outdoor_c) for name, m in maps.items() if m is not None}
    for unit in house.outdoor_unit:
        mine = [h for h in house.head if h.outdoor_unit == unit.id and h.id in able]
        if unit.maximum_w is not None and len(mine) > 1:
            weights = np.array([room_weight[rooms.index(h.room)] for h in mine])
            parts = parted_w(float(unit.maximum_w), np.array([able[h.id] for h in mine]), weights)
            able |= dict(zip((h.id for h in mine), parts, strict=True))
    return able


def parted_w(whole_w: float, own_w: Floats, weights: Floats) -> Floats:
    """A whole parted by weights among heads (rows) in every hour (columns), none getting more than its own; what one
    leaves goes to the others."""
    given, open_ = np.zeros_like(own_w), np.ones_like(own_w, dtype=bool)
    for _ in range(len(own_w)):
        left = whole_w - given.sum(axis=0)
        shares = np.where(open_, weights[:, None], 0.0)
        total = np.maximum(shares.sum(axis=0), 1e-12)
        given = np.minimum(given + shares / total * np.maximum(left, 0.0), own_w)
        open_ = given < own_w - 1e-9
    return given
