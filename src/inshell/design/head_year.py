"""What heads did through a year: hours below their least, starts, electricity, hours at their most, water taken out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.design.heads import Map, Mode, map_of
from inshell.house.model.heat_devices import Head
from inshell.house.model.house import House
from inshell.physics.heat_pump import cycles_per_hour, run_share
from inshell.physics.types import Floats

VAPORISATION_J_KG = 2.5e6
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
        columns = [rooms.index(h.room) for h in heads]
        sensible = holder_w[:, columns].sum(axis=1)
        wet = removed_kg[:, columns].sum(axis=1) * VAPORISATION_J_KG / 3600.0
        loads = {"heating": np.maximum(sensible, 0.0), "cooling": np.maximum(-sensible, 0.0) + wet}
        for mode in ("heating", "cooling"):
            maps = [map_of(head, mode) for head in heads]
            if all(m is not None for m in maps):
                known = [m for m in maps if m is not None]
                told.append(_mode_year(house, unit, heads, mode, known, outdoor_c, loads[mode]))
    return tuple(told)


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
    )


def _electric_w(
    maps: list[Map], outdoor_c: Floats, load_w: Floats, least: Floats, most: Floats, running: Floats
) -> Floats | None:
    """Electric power: linear between the least and the most that the unit gives, the least times its run share below;
    None unless the data sheet has power at the most. Without power at the least, the same heat per electricity."""
    if any(np.isnan(m.power_w).any() for m in maps):
        return None
    at_most = np.asarray(sum(m.at("power_w", outdoor_c) for m in maps))
    if any(np.isnan(m.least_power_w).any() for m in maps):
        at_least = at_most * least / np.maximum(most, 1e-9)
    else:
        at_least = np.asarray(np.min([m.at("least_power_w", outdoor_c) for m in maps], axis=0))
    share = np.clip((load_w - least) / np.maximum(most - least, 1e-9), 0.0, 1.0)
    return np.asarray(np.where(load_w < least, running * at_least, at_least + share * (at_most - at_least)))
