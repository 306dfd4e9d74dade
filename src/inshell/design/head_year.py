"""What heads did through a year: hours below their least, starts, electricity, hours at their most, water taken out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.design.heads import Map, Mode, map_of
from inshell.house.model.heat_devices import Head
from inshell.house.model.house import House
from inshell.physics.air import VAPORISATION_J_KG
from inshell.physics.heat_pump import cycles_per_hour, run_share
from inshell.physics.types import Floats

WORKS_W = 5.0
AT_MOST = 0.98


@dataclass(frozen=True)
class ModeYear:
    """One mode of one outdoor unit (or of one head that has none): hourly loads against what it can do."""

    unit: str
    heads: tuple[str, ...]
    mode: Mode
    hours: float
    delivered_kwh: float
    below_least_h: float
    starts: float
    at_most_h: float
    beyond_points_h: float
    electric_kwh: float | None
    least_known: bool = True

    @property
    def below_share(self) -> float:
        """Share of its hours in which the load is below its least: it cycles."""
        return self.below_least_h / self.hours if self.hours else 0.0

    @property
    def seasonal_ratio(self) -> float | None:
        """Heat or cold delivered per electricity, over the year."""
        return self.delivered_kwh / self.electric_kwh if self.electric_kwh else None


def head_years(
    house: House, rooms: tuple[str, ...], outdoor_c: Floats, holder_w: Floats, removed_kg: Floats
) -> tuple[ModeYear, ...]:
    """Both modes of every outdoor unit, from hourly means: `holder_w` of each room, `removed_kg` of water an hour."""
    units: dict[str, list[Head]] = {}
    for head in house.head:
        units.setdefault(head.outdoor_unit or head.id, []).append(head)
    told = []
    for unit, heads in units.items():
        parts = [_loads_w(house, head, rooms, outdoor_c, holder_w, removed_kg) for head in heads]
        loads = {mode: np.asarray(sum(part[mode] for part in parts)) for mode in ("heating", "cooling")}
        for mode in ("heating", "cooling"):
            maps = [map_of(head, mode) for head in heads]
            if all(m is not None for m in maps):
                known = [m for m in maps if m is not None]
                told.append(_mode_year(house, unit, heads, mode, known, outdoor_c, loads[mode]))
    return tuple(told)


def _loads_w(
    house: House, head: Head, rooms: tuple[str, ...], outdoor_c: Floats, holder_w: Floats, removed_kg: Floats
) -> dict[str, Floats]:
    """What a head gives: its part of its room, by capacity among the heads there; what a heater adds is not its own."""
    k, beside = rooms.index(head.room), [h for h in house.head if h.room == head.room]
    wet = removed_kg[:, k] * VAPORISATION_J_KG / 3600.0
    whole = {"heating": np.maximum(holder_w[:, k], 0.0), "cooling": np.maximum(-holder_w[:, k], 0.0) + wet}
    mode: Mode
    told: dict[str, Floats] = {}
    for mode in ("heating", "cooling"):
        able = {h.id: m.at("most_w", outdoor_c) for h in beside if (m := map_of(h, mode)) is not None}
        if head.id not in able:
            told[mode] = whole[mode] / len(beside)
            continue
        total = np.maximum(np.asarray(sum(able.values())), 1e-9)
        heated = any(heater.room == head.room for heater in house.heater)
        given = np.minimum(whole[mode], total) if heated and mode == "heating" else whole[mode]
        told[mode] = given * able[head.id] / total
    return told


def heater_kwh(house: House, rooms: tuple[str, ...], outdoor_c: Floats, holder_w: Floats) -> float:
    """Heat of resistance heaters through the year: what heads in their rooms cannot give."""
    total = 0.0
    for room in sorted({heater.room for heater in house.heater}):
        maps = [map_of(h, "heating") for h in house.head if h.room == room]
        able = np.asarray(sum((m.at("most_w", outdoor_c) for m in maps if m is not None), np.zeros(len(outdoor_c))))
        total += float(np.maximum(np.maximum(holder_w[:, rooms.index(room)], 0.0) - able, 0.0).sum()) / 1000.0
    return total


def _mode_year(
    house: House, unit: str, heads: list[Head], mode: Mode, maps: list[Map], outdoor_c: Floats, load_w: Floats
) -> ModeYear:
    most = sum(m.at("most_w", outdoor_c) for m in maps)
    least = np.min([m.at("least_w", outdoor_c) for m in maps], axis=0)
    common = next((u for u in house.outdoor_unit if u.id == unit), None)
    if common is not None and common.minimum_w is not None:
        least = np.maximum(least, common.minimum_w)
    if common is not None and common.maximum_w is not None and len(heads) > 1:
        most = np.minimum(most, common.maximum_w)
    works = load_w > WORKS_W
    below = works & (load_w < least)
    running = np.where(works, run_share(load_share=load_w / np.maximum(least, 1e-9)), 0.0)
    starts = np.where(below, cycles_per_hour(run=running), 0.0)
    beyond = works & np.any([m.beyond(outdoor_c, mode) for m in maps], axis=0)
    electric = _electric_w(maps, outdoor_c, load_w, np.asarray(least), np.asarray(most), running)
    return ModeYear(
        unit=unit,
        heads=tuple(head.id for head in heads),
        mode=mode,
        hours=float(works.sum()),
        delivered_kwh=float(load_w.sum()) / 1000.0,
        below_least_h=float(below.sum()),
        starts=float(starts.sum()),
        at_most_h=float((works & (load_w >= AT_MOST * most)).sum()),
        beyond_points_h=float(beyond.sum()),
        electric_kwh=None if electric is None else float(electric[works].sum()) / 1000.0,
        least_known=all(p.minimum_w is not None for head in heads for p in head.point if p.mode == mode),
    )


def _electric_w(
    maps: list[Map], outdoor_c: Floats, load_w: Floats, least: Floats, most: Floats, running: Floats
) -> Floats | None:
    """Electric power: linear between the least and the most that the unit gives, the least times its run share below;
    None unless the data sheet has power at the most. Without power at the least, the same heat per electricity."""
    if any(np.isnan(m.power_w).any() for m in maps):
        return None
    own = np.maximum(np.asarray(sum(m.at("most_w", outdoor_c) for m in maps)), 1e-9)
    at_most = np.asarray(sum(m.at("power_w", outdoor_c) for m in maps)) * np.minimum(1.0, most / own)
    if any(np.isnan(m.least_power_w).any() for m in maps):
        at_least = at_most * least / np.maximum(most, 1e-9)
    else:
        own_least = np.maximum(np.min([m.at("least_w", outdoor_c) for m in maps], axis=0), 1e-9)
        at_least = np.min([m.at("least_power_w", outdoor_c) for m in maps], axis=0) * np.maximum(1.0, least / own_least)
    share = np.clip((load_w - least) / np.maximum(most - least, 1e-9), 0.0, 1.0)
    return np.asarray(np.where(load_w < least, running * at_least, at_least + share * (at_most - at_least)))
