"""Hour by hour through every joint at a cold skin: which way air goes, what it carries, how wet the board gets.

One skin node a metre of joint, a strip of declared width, with the leak's vapour at a catch, diffusion both ways,
sorption and the leak's own heat. What a test cannot say stays a range: the cases vary one assumption at a time, and all
of them together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point

from inshell.design.drivers import Prepared
from inshell.design.leak_places import Share
from inshell.design.skin_cases import (
    ACT,
    CASES,
    DECAY,
    MOST_YEARS,
    RISES_INDEX,
    RISES_KG_KG,
    START_KG_KG,
    YEARS,
    JointYear,
    SkinYear,
    passes,
    rules_most,
)
from inshell.design.vapour_layers import covering_sd_m, vapour_layers
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import Surface
from inshell.house.model.enclosure import Assembly
from inshell.house.model.house import House
from inshell.network.construction import layers_of
from inshell.network.system import Series
from inshell.physics.air import GRAVITY_M_S2, HEAT_CAPACITY_J_KGK, density_kg_m3, mass_fraction, saturation_pressure_pa
from inshell.physics.mould import mould_index
from inshell.physics.skin import skin_course
from inshell.physics.types import Floats
from inshell.physics.vapour import PERMEABILITY

BOARDS = ("osb", "plywood", "softwood")
TWO_SKINS = ("eave", "rake")  # where a wall meets a roof either may be wetted
SERIES = ("skin_c", "touches_kg_s", "vapour", "inside_pa", "outside_pa", "outward")
CONSTANTS = ("dry_kg", "inside_kg_s_pa", "outside_kg_s_pa")
MOST_INDOORS = 0.98
REFERENCE_PA, HOUR_S = 4.0, 3600.0
OUTER_W_M2K = 25.0
RIDGE_GRADIENT_K = 1.5  # air under a ridge above the room's mean (declared; common practice)


@dataclass(frozen=True)
class _Board:
    """The outermost wooden board of an assembly and what lies on both sides of it."""

    name: str
    dry_kg_m2: float
    inner_kg_s_pa_m2: float
    outer_kg_s_pa_m2: Floats
    inner_w_m2k: float


def board_of(house: House, assembly: Assembly, kind: str) -> _Board | None:
    """None where no board of wood lies outside the middle of the assembly; outside for each bound of the covering."""
    thermal = layers_of(assembly, house.material)
    if not thermal:
        return None
    vapour = vapour_layers(assembly.layers, [layer.r_m2k_w for layer in thermal], house.material)
    total, before = sum(layer.r_m2k_w for layer in thermal), 0.0
    for k, layer in enumerate(assembly.layers):
        if layer.material in BOARDS and layer.thickness_m and before < 0.5 * total:
            outer = sum(v.sd_m for v in vapour[:k]) + 0.5 * vapour[k].sd_m + np.array(covering_sd_m(assembly, kind))
            inner = sum(v.sd_m for v in vapour[k + 1 :]) + 0.5 * vapour[k].sd_m
            rest = sum(layer.r_m2k_w for layer in thermal[k + 1 :])
            mass = float(layer.thickness_m) * thermal[k].density_kg_m3
            return _Board(layer.material, mass, PERMEABILITY / inner, PERMEABILITY / outer, 1.0 / max(rest + 0.1, 0.05))
        before += thermal[k].r_m2k_w
    return None


@dataclass(frozen=True)
class Air:
    """Both sides of one place hour by hour."""

    drop_pa: Floats
    room_c: Floats
    room_vapour_pa: Floats
    outdoor_c: Floats
    outdoor_vapour_pa: Floats
    kg_m3: Floats


def air_at(ready: Prepared, series: Series, share: Share) -> Air:
    """Pressure from inside to outside at a place's height and wind, and the air on both sides."""
    place, names = share.place, ready.routes.network.rooms
    k, pressure = names.index(place.room), ready.system.pressure_pa
    room, outdoor = series.nodes_c[:, k], ready.forcing.outdoor_c
    inside_pa = series.humidity[:, k] * saturation_pressure_pa(temperature_c=room)
    share_out = ready.forcing.outdoor_vapour
    outside_pa = share_out * pressure / (0.621945 + 0.378055 * share_out)
    inner = density_kg_m3(temperature_c=room, pressure_pa=pressure, vapour_pa=inside_pa)
    outer = density_kg_m3(temperature_c=outdoor, pressure_pa=pressure, vapour_pa=outside_pa)
    wind = _wind(ready, place.surface)
    drop = series.pressure_pa[:, k] - (inner - outer) * GRAVITY_M_S2 * place.height_m - wind
    flows_out = np.where(drop > 0.0, inner, outer)
    return Air(np.asarray(drop), room, np.asarray(inside_pa), outdoor, np.asarray(outside_pa), np.asarray(flows_out))


def _wind(ready: Prepared, surface: str) -> Floats:
    """Wind pressure on the surface of a place; nothing where it faces no wind."""
    names = (f"leak {surface}", f"leak {surface} low", f"leak {surface} high")
    for k, link in enumerate(ready.system.air.links):
        if link.name in names:
            return np.asarray(ready.forcing.wind_pa[:, k])
    return np.zeros(ready.forcing.hours)


def mass_flow_kg_s(area_m2: float, air: Air, exponent: float) -> Floats:
    """Mass flow out (below zero: in) through an effective area at 4 Pa."""
    size = area_m2 * np.sqrt(2.0 * REFERENCE_PA / air.kg_m3) * (np.abs(air.drop_pa) / REFERENCE_PA) ** exponent
    return np.asarray(np.sign(air.drop_pa) * size * air.kg_m3)


@dataclass(frozen=True)
class _Strips:
    """All cases of one place, ready to be stepped: columns are cases, rows hours."""

    share: Share
    board: str
    outward: NDArray[np.bool_]
    facts: tuple[int, float, float, float]
    dry_kg: Floats
    skin_c: Floats
    touches_kg_s: Floats
    vapour: Floats
    inside_kg_s_pa: Floats
    inside_pa: Floats
    outside_kg_s_pa: Floats
    outside_pa: Floats


def calculate_joints(
    house: House, geometry: Geometry, ready: Prepared, series: Series, shares: tuple[Share, ...], exponent: float
) -> tuple[JointYear, ...]:
    """Every place at a cold skin through the year of a run in hourly slots, until it settles; the wettest first."""
    surfaces = {s.id: s for s in geometry.surfaces}
    told, strips = [], []
    for share in shares:
        surface = surfaces.get(share.place.surface)
        if not share.place.row["cold_skin"] or surface is None or share.place.size <= 0.0:
            continue
        for skin in (surface, *_roof_beside(share, geometry, surface)):
            one = _strips(house, ready, series, share, skin, exponent)
            if isinstance(one, JointYear):
                told.append(one)
            else:
                strips.append(one)
    worst: dict[str, JointYear] = {}
    for joint in sorted([*told, *_stepped(strips, ready.system.pressure_pa)], key=_wettest_first):
        worst.setdefault(joint.share.place.id, joint)
    return tuple(sorted(worst.values(), key=_wettest_first))


def _roof_beside(share: Share, geometry: Geometry, wall: Surface) -> list[Surface]:
    """The roof that an eave or a rake belongs to beside its wall: the nearest of its room."""
    if share.place.kind not in TWO_SKINS:
        return []
    at = Point(share.place.plan)
    above = [s for s in geometry.surfaces if s.room == share.place.room and s.kind in ("roof", "ceiling")]
    roofs = [s for s in above if s.is_outer]
    near = min(roofs, key=lambda s: (round(s.shape.distance(at), 3), s.id), default=None)
    return [near] if near is not None and near.id != wall.id else []


def _wettest_first(joint: JointYear) -> tuple[float, float, str]:
    """By the board at its wettest in the central case, then by what the air leaves there."""
    if not joint.cases:
        return 1.0, 0.0, joint.share.place.id
    middle = joint.of("central")
    return -middle.most_kg_kg, -middle.deposit_kg_m, joint.share.place.id


def _strips(
    house: House, ready: Prepared, series: Series, share: Share, surface: Surface, exponent: float
) -> _Strips | JointYear:
    """What acts on the strips of one place; a finished row where nothing of wood can be wetted."""
    air = air_at(ready, series, share)
    if share.place.kind == "ridge":
        air = replace(air, room_c=air.room_c + RIDGE_GRADIENT_K)
    flow = mass_flow_kg_s(share.best_m2 / share.place.size, air, exponent)
    out = flow > 0.0
    facts = (
        int(out.sum()), float(flow[out].sum() * HOUR_S), float(-flow[~out].sum() * HOUR_S), float(air.drop_pa.mean())
    )  # fmt: skip
    assembly = next((a for a in house.assembly if a.id == surface.assembly), None)
    board = board_of(house, assembly, surface.kind) if assembly else None
    node = next((skin.node for skin in ready.thermal.skins if skin.surface == surface.id), None)
    if board is None or node is None:
        return JointYear(share, "", *facts, (), "")
    return _acting(ready, share, air, board, series.nodes_c[:, node], exponent, facts)


def _acting(
    ready: Prepared, share: Share, air: Air, board: _Board, skin_c: Floats, exponent: float,
    facts: tuple[int, float, float, float],
) -> _Strips:  # fmt: skip
    width, catch, supply, colder, damper = (
        np.array([getattr(c, name) for c in CASES]) for name in ("width_m", "catch", "supply", "colder_k", "damper")
    )
    area = np.array([getattr(share, f"{case.leakage}_m2") for case in CASES])
    unit = mass_flow_kg_s(1.0, air, exponent)[:, None] * area / share.place.size
    touches, outward = np.abs(unit) * catch, unit > 0.0
    inside = air.outdoor_vapour_pa[:, None] * damper + supply * (air.room_vapour_pa - air.outdoor_vapour_pa)[:, None]
    inside = np.minimum(inside, MOST_INDOORS * saturation_pressure_pa(temperature_c=air.room_c)[:, None])
    dew = saturation_pressure_pa(temperature_c=air.outdoor_c)
    outside = np.minimum(air.outdoor_vapour_pa[:, None] * damper, np.maximum(dew, air.outdoor_vapour_pa)[:, None])
    carries = touches * HEAT_CAPACITY_J_KGK
    stays = width * (OUTER_W_M2K + board.inner_w_m2k)
    leak_c = np.where(outward, air.room_c[:, None], air.outdoor_c[:, None])
    vapour = mass_fraction(vapour_pa=np.where(outward, inside, outside), pressure_pa=ready.system.pressure_pa)
    return _Strips(
        share, board.name, outward, facts, board.dry_kg_m2 * width,
        (stays * (skin_c[:, None] - colder) + carries * leak_c) / (stays + carries), touches, np.asarray(vapour),
        board.inner_kg_s_pa_m2 * width, inside, board.outer_kg_s_pa_m2[[c.covering for c in CASES]] * width, outside,
    )  # fmt: skip


def _stepped(strips: list[_Strips], pressure_pa: float) -> list[JointYear]:
    """All strips of all places side by side, year after year until they settle; what is told is the last year."""
    if not strips:
        return []
    row = {name: np.hstack([getattr(s, name) for s in strips]) for name in SERIES}
    one = {name: np.concatenate([getattr(s, name) for s in strips]) for name in CONSTANTS}
    count = len(one["dry_kg"])
    now = _Now(np.full(count, START_KG_KG), np.zeros(count))
    told: list[SkinYear | None] = [None] * count
    runs = np.arange(count)
    for year in range(1, MOST_YEARS + 1):
        part = {name: values[:, runs] for name, values in row.items()} if len(runs) < count else row
        still = {name: values[runs] for name, values in one.items()}
        years = _one_year(part, still, now, runs, pressure_pa, year)
        for column, skin in zip(runs, years, strict=True):
            told[column] = skin
        if year >= YEARS:
            runs = np.array([c for c, skin in zip(runs, years, strict=True) if skin.rises and not passes(skin)], int)
        if not len(runs):
            break
    joints = []
    for k, s in enumerate(strips):
        mine = [skin for skin in told[k * len(CASES) : (k + 1) * len(CASES)] if skin is not None]
        joints.append(JointYear(s.share, s.board, *s.facts, tuple(mine), rules_most(tuple(mine))))
    return joints


@dataclass
class _Now:
    """Where every strip stands: moisture of its board, mould index."""

    moisture: Floats
    index: Floats


def _one_year(
    row: dict[str, Any], one: dict[str, Floats], now: _Now, runs: NDArray[np.int64], pressure_pa: float, year: int
) -> list[SkinYear]:
    """One year of some strips, from where they stand; they move on."""
    course = skin_course(
        start_kg_kg=now.moisture[runs], dry_kg=one["dry_kg"], skin_c=row["skin_c"], leak_kg_s=row["touches_kg_s"],
        leak_vapour=row["vapour"], inside_kg_s_pa=one["inside_kg_s_pa"], inside_pa=row["inside_pa"],
        outside_kg_s_pa=one["outside_kg_s_pa"], outside_pa=row["outside_pa"], pressure_pa=pressure_pa,
    )  # fmt: skip
    mould = mould_index(
        temperature_c=row["skin_c"], humidity=np.minimum(course.humidity, 1.0), surface="sensitive",
        start=now.index[runs],
    )  # fmt: skip
    at_skin = course.humidity * saturation_pressure_pa(temperature_c=row["skin_c"])
    drop = row["vapour"] - np.asarray(mass_fraction(vapour_pa=at_skin, pressure_pa=pressure_pa))
    wets = np.where(row["outward"], np.maximum(row["touches_kg_s"] * drop, 0.0), 0.0).sum(axis=0) * HOUR_S
    moisture = course.moisture_kg_kg
    gains, grows = moisture[-1] - now.moisture[runs], mould[-1] - now.index[runs]
    rises = (gains > RISES_KG_KG) | (grows > RISES_INDEX)
    now.moisture[runs], now.index[runs] = moisture[-1], mould[-1]
    return [
        SkinYear(
            CASES[column % len(CASES)].name, float(wets[c]), float(moisture[:, c].max()),
            int((moisture[:, c] > ACT).sum()), int((moisture[:, c] > DECAY).sum()), float(mould[:, c].max()),
            float(gains[c]), year, bool(rises[c]),
        )
        for c, column in enumerate(runs)
    ]  # fmt: skip
