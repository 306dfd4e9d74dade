"""Remedies tried one by one and the best two together; heads that might be chosen, each through its year."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import combinations

from inshell.climate.choose import HouseClimate
from inshell.design.cooling_load import CoolingLoad, greatest_total_w
from inshell.design.heads import map_of
from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.model.heat_devices import Head, HeadOption
from inshell.house.model.house import House
from inshell.network.routes import DoorsAre
from inshell.network.system import State
from inshell.study.outcome import Outcome, outcome_of
from inshell.study.remedies import Remedy, remedies_of, together

PAIRS_OF = 4
LARGE_SHARE, SMALL_COOLING = 0.5, 0.9


@dataclass(frozen=True)
class Tried:
    """A remedy with what it came to for the room it was tried for."""

    remedy: Remedy
    room: str
    outcome: Outcome
    offset_k: float
    outside_h: float
    damp_h: float
    mean_w: float | None
    keeps: bool

    @property
    def by_season_k(self) -> dict[str, float]:
        """Signed worst offset on each design day."""
        return {season: offsets[self.room] for season, offsets in self.outcome.offset_k.items()}


@dataclass(frozen=True)
class Case:
    """What versions of one house are compared with: where it stands, its room in question and the limit for that."""

    house: House
    geometry: Geometry
    climate: HouseClimate
    room: str
    main: str
    limit_k: float
    nominal: Outcome
    begun: State
    tested_flow_m3_s: float | None


def try_remedies(case: Case, progress: Callable[[float], None] | None = None) -> tuple[Tried, ...]:
    """Every remedy alone, then pairs of the best: those that need no open door first, the most effective first."""
    alone = remedies_of(case.house, case.room, case.main)
    tried = _each(case, alone, progress, 0.0, 0.6)
    best = [t.remedy.id for t in ranked(tried) if not t.remedy.opens_doors][:PAIRS_OF]
    if not any(t.keeps for t in tried if not t.remedy.opens_doors):
        pairs = [together(case.house, names, case.room, case.main) for names in combinations(best, 2)]
        tried += _each(case, [p for p in pairs if p is not None], progress, 0.6, 1.0)
    return tuple(ranked(tried))


def ranked(tried: list[Tried]) -> list[Tried]:
    """The greatest effect first: on the worst offset, then on the hours outside the band."""
    return sorted(tried, key=lambda t: (round(t.offset_k, 1), t.outside_h))


def cheapest(tried: Sequence[Tried]) -> Tried | None:
    """The least costly remedy that keeps the limit without an open door; by price where all have one, else by watts."""
    able = [t for t in tried if t.keeps and not t.remedy.opens_doors]
    if able and all(t.remedy.price is not None for t in able):
        return min(able, key=lambda t: t.remedy.price or 0.0)
    return min(able, key=lambda t: (len(t.remedy.findings), t.mean_w or 0.0, t.offset_k), default=None)


def _each(
    case: Case, remedies: Sequence[Remedy], progress: Callable[[float], None] | None, start: float, end: float
) -> list[Tried]:
    told = []
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        waiting = [pool.submit(_tried, case, remedy) for remedy in remedies]
        try:
            for k, future in enumerate(waiting):
                told.append(future.result())
                if progress:
                    progress(start + (end - start) * (k + 1) / len(waiting))
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return told


def _tried(case: Case, remedy: Remedy) -> Tried:
    doors: DoorsAre = "by-hours" if remedy.opens_doors else "shut"
    out = outcome_of(
        remedy.house, case.geometry, case.climate, begun=case.begun, main=case.main, band=case.house, doors=doors,
        tested_flow_m3_s=case.tested_flow_m3_s,
    )  # fmt: skip
    offset = out.worst_k(case.room)
    damp = max(out.damp_h.values())
    return Tried(
        remedy,
        case.room,
        out,
        offset,
        out.outside_h[case.room],
        damp,
        _mean_w(case, remedy, out),
        offset <= case.limit_k + 1e-9,
    )


def _mean_w(case: Case, remedy: Remedy, out: Outcome) -> float | None:
    """Mean electric power beyond the house as it is; None where data sheets give no power."""
    before, after = case.nominal.electric_kwh, out.electric_kwh
    if before is None or after is None:
        return None
    return remedy.watts + (after - before + out.drier_kwh - case.nominal.drier_kwh) / 8.76


@dataclass(frozen=True)
class Option:
    """Heads that might be chosen: what they cover at design, their year, and what is wrong with them."""

    name: str
    heads: tuple[str, ...]
    price: float | None
    heating_cover: float | None
    cooling_cover: float | None
    outcome: Outcome
    findings: tuple[Finding, ...]


def try_options(case: Case, heating_load_w: float, cooling: CoolingLoad | None) -> tuple[Option, ...]:
    """The heads as they are, then every group of options instead of them."""
    groups: dict[str, list[HeadOption]] = {}
    for option in case.house.head_option:
        groups.setdefault(option.group or option.id, []).append(option)
    options = []
    if case.house.head:
        options.append(_option(case, case.house, "as described", None, case.nominal, heating_load_w, cooling))
    for name, members in groups.items():
        heads = tuple(Head.model_construct(**{k: getattr(m, k) for k in Head.model_fields}) for m in members)
        house = case.house.model_copy(update={"head": heads})
        out = outcome_of(house, case.geometry, case.climate, begun=case.begun, tested_flow_m3_s=case.tested_flow_m3_s)
        prices = [m.price for m in members]
        price = None if any(p is None for p in prices) else float(sum(p or 0.0 for p in prices))
        options.append(_option(case, house, name, price, out, heating_load_w, cooling))
    return tuple(options)


def _option(
    case: Case, house: House, name: str, price: float | None, out: Outcome, heating_load_w: float,
    cooling: CoolingLoad | None,
) -> Option:  # fmt: skip
    design = case.climate.design
    load = {"heating": heating_load_w, "cooling": greatest_total_w(cooling) if cooling else None}
    at = {"heating": design.heating_c, "cooling": design.cooling_c}
    cover: dict[str, float | None] = {}
    found: list[Finding] = []
    for mode, outdoor in at.items():
        most, needed = capacity_w(house, mode, outdoor), load[mode]
        cover[mode] = most / needed if most is not None and needed and needed > 0.0 else None
        share = cover[mode]
        if share is not None and share < (SMALL_COOLING if mode == "cooling" else 1.0):
            values = {"option": name, "mode": mode, "capacity": (most, "power"), "load": (needed, "power")}
            found.append(Finding("head-too-small", "head_option", values))
    for year in out.heads:
        if year.hours > 24.0 and year.below_share > LARGE_SHARE:
            shown = {
                "option": name,
                "mode": year.mode,
                "share": round(100.0 * year.below_share),
                "starts": round(year.starts),
            }
            found.append(Finding("head-too-large", "head_option", shown))
    for head in house.head:
        warm = map_of(head, "heating")
        if warm is not None and warm.outdoor_c[0] > design.heating_c + 1.0:
            ends, asked = (float(warm.outdoor_c[0]), "temperature"), (design.heating_c, "temperature")
            found.append(Finding("head-unsuitable", "head_option", {"option": name, "coldest": ends, "design": asked}))
    for head in house.head:
        for mode in at:
            if not any(point.mode == mode for point in head.point):
                values = {"option": name, "head": head.id, "mode": mode}
                found.append(Finding("head-option-without-points", "head_option", values))
    ids = tuple(head.id for head in house.head)
    return Option(name, ids, price, cover["heating"], cover["cooling"], out, tuple(found))


def capacity_w(house: House, mode: str, outdoor_c: float | None) -> float | None:
    """What all heads and heaters can do at an outdoor temperature; None where a head has no points."""
    if outdoor_c is None:
        return None
    maps = [map_of(head, "heating" if mode == "heating" else "cooling") for head in house.head]
    if any(m is None for m in maps) or not maps:
        return None
    able = [
        (head.outdoor_unit, float(m.at("most_w", outdoor_c))) for head, m in zip(house.head, maps, strict=True) if m
    ]
    total = sum(most for _, most in able)
    for unit in house.outdoor_unit:
        mine = [most for name, most in able if name == unit.id]
        if len(mine) > 1 and unit.maximum_w is not None:
            total -= max(0.0, sum(mine) - float(unit.maximum_w))
    return total + (sum(h.power_w for h in house.heater) if mode == "heating" else 0.0)
