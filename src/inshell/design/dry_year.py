"""A house's moisture through its year: assemblies by month, cold inside points by hour, indoor humidity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate.year import MONTH_HOURS
from inshell.design.drivers import Prepared
from inshell.design.vapour_layers import (
    Bound,
    most_bearable_kg_m2,
    outside_the_method,
    vapour_layers,
    with_covering,
    without_vapour,
)
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND, OUTDOORS, Surface
from inshell.house.model.enclosure import Assembly
from inshell.house.model.house import House
from inshell.network.construction import assembly_u, layers_of
from inshell.network.system import Series
from inshell.physics.air import dew_point_c, saturation_pressure_pa
from inshell.physics.leak_moisture import highest_humidity, least_factor
from inshell.physics.mould import mould_index
from inshell.physics.types import Floats
from inshell.physics.vapour import RSE, RSI, MonthlyVapour, TwoSeasons, VapourLayer, monthly_vapour, two_seasons
from inshell.sources import table

GLASS_RSI_M2K_W = 0.13
DAY_H, WEEKS = 24, 52
DRYING_KG_DAY = 4.7  # of a new house in its first year (ASHRAE 160, from memory)
PA_M3_KG = 1.36e5  # vapour pressure that a kilogram in a cubic metre makes (ASHRAE 160, from memory)
SLAB_MARGIN_K = 2.0
MOST_AT_SURFACE, LEAST_DIFFERENCE_K = 0.8, 3.0


@dataclass(frozen=True)
class AssemblyYear:
    """One assembly behind its most humid room: both bounds of its skins by month, the block method, surface factors."""

    assembly: str
    kind: str
    room: str
    worse: MonthlyVapour
    better: MonthlyVapour
    block: TwoSeasons
    factor: float
    least_factor: float
    beyond: str
    bears_kg_m2: float

    @property
    def verdict(self) -> str:
        """What the monthly method says; nothing where it does not reach."""
        if self.beyond:
            return f"outside the method: {self.beyond}"
        if self.worse.dries and self.worse.most_kg_m2 > self.bears_kg_m2:
            return f"dries, but holds more than the {self.bears_kg_m2:.2f} kg/m2 that its boards bear"
        if self.worse.dries:
            return "dries within the year at both bounds of its skins; diffusion alone, no joint is cleared by it"
        if self.better.dries:
            return "dries only if its skins are open enough outside and tight enough inside"
        return "does NOT dry within the year at either bound"


@dataclass(frozen=True)
class InsidePoint:
    """A cold inside point: its temperature factor and where that is from, hours wet, the year's worst mould index."""

    where: str
    room: str
    factor: float
    source: str
    coldest_c: float
    hours_wet: int
    hours_damp: int
    mould: float


@dataclass(frozen=True)
class RoomHumidity:
    """One room's humidity by month as it is run, and as it may be in the first year while the house dries."""

    room: str
    mean: tuple[float, ...]
    highest: tuple[float, ...]
    first_year: tuple[float, ...]


@dataclass(frozen=True)
class Slab:
    """A floor on the ground in summer: hours in which its surface is not 2 K above the room's dew point."""

    room: str
    hours_close: int
    hours_wet: int


def by_month(values: Floats) -> Floats:
    """Monthly means of hourly values."""
    ends = np.cumsum(MONTH_HOURS)
    return np.array([values[e - n : e].mean(axis=0) for e, n in zip(ends, MONTH_HOURS, strict=True)])


def vapour_pa(series: Series, rooms: int) -> Floats:
    """Vapour pressure of every room hour by hour."""
    return np.asarray(series.humidity * saturation_pressure_pa(temperature_c=series.nodes_c[:, :rooms]))


def outdoor_vapour_pa(ready: Prepared) -> Floats:
    """Outdoor vapour pressure hour by hour."""
    share = ready.forcing.outdoor_vapour
    return np.asarray(share * ready.system.pressure_pa / (0.621945 + 0.378055 * share))


def assembly_years(house: House, geometry: Geometry, ready: Prepared, series: Series) -> tuple[AssemblyYear, ...]:
    """Every assembly that parts rooms from outdoors, behind the room with the most vapour of those that it bounds."""
    names = list(ready.routes.network.rooms)
    inside, temperature = by_month(vapour_pa(series, len(names))), by_month(series.nodes_c[:, : len(names)])
    outside_c, outside = by_month(ready.forcing.outdoor_c), by_month(outdoor_vapour_pa(ready))
    groups: dict[tuple[str, str], list[Surface]] = {}
    for s in geometry.surfaces:
        if s.other == OUTDOORS and s.assembly and s.kind in RSI and s.area_m2 > 0.0:
            groups.setdefault((s.assembly, s.kind), []).append(s)
    told = []
    for (name, kind), surfaces in sorted(groups.items()):
        assembly = next((a for a in house.assembly if a.id == name), None)
        if assembly is None or not assembly.layers or without_vapour(assembly.layers, house.material):
            continue
        k = max({names.index(s.room) for s in surfaces}, key=lambda j: (float(inside[:, j].mean()), -j))
        climate = _Months(outside_c, outside, temperature[:, k], inside[:, k])
        told.append(_assembly(house, assembly, kind, names[k], climate))
    return tuple(told)


def unjudged_assemblies(house: House, geometry: Geometry) -> dict[str, str]:
    """Assemblies of the shell that the monthly method is not run for, and why; the ground apart."""
    known = {a.id: a for a in house.assembly}
    told: dict[str, str] = {}
    for s in geometry.surfaces:
        assembly = known.get(s.assembly or "")
        if not s.is_outer or s.other == GROUND or s.area_m2 <= 0.0 or assembly is None:
            continue
        if not assembly.layers:
            told[assembly.id] = "its layers are not described"
        elif numbers := without_vapour(assembly.layers, house.material):
            blind = ", ".join(map(str, numbers))
            told[assembly.id] = f"no vapour resistance is known of layer {blind} (sd, or mu and a thickness)"
        elif s.other != OUTDOORS:
            told.setdefault(assembly.id, f"it faces {s.other}, whose air is not known")
    return told


@dataclass(frozen=True)
class _Months:
    """Both sides of an assembly by month."""

    outdoor_c: Floats
    outdoor_pa: Floats
    inside_c: Floats
    inside_pa: Floats


def _assembly(house: House, assembly: Assembly, kind: str, room: str, months: _Months) -> AssemblyYear:
    resistances = [layer.r_m2k_w for layer in layers_of(assembly, house.material)]

    def layers(bound: Bound) -> tuple[VapourLayer, ...]:
        own = vapour_layers(assembly.layers, resistances, house.material, bound)
        return with_covering(own, assembly, kind, bound)

    def run(bound: Bound) -> MonthlyVapour:
        return monthly_vapour(
            layers=layers(bound), outdoor_c=months.outdoor_c, outdoor_vapour_pa=months.outdoor_pa,
            inside_c=months.inside_c, inside_vapour_pa=months.inside_pa, rsi_m2k_w=RSI[kind], rse_m2k_w=RSE,
        )  # fmt: skip

    u = assembly_u(house, assembly.id, kind, OUTDOORS).u_w_m2k
    damp = months.inside_pa / saturation_pressure_pa(temperature_c=months.inside_c)
    needed = least_factor(
        outside_c=months.outdoor_c, inside_c=months.inside_c, humidity=damp, most_humidity=MOST_AT_SURFACE
    )
    cold = months.inside_c - months.outdoor_c > LEAST_DIFFERENCE_K
    return AssemblyYear(
        assembly.id, kind, room, run("worse"), run("better"), two_seasons(layers=layers("middle"), kind=kind),
        1.0 - u * float(table("design")["inside_points"]["plain_rsi"]), float(np.max(needed[cold], initial=0.0)),
        outside_the_method(assembly.covering, kind), most_bearable_kg_m2(assembly.layers, house.material),
    )  # fmt: skip


def glass_factor(u_w_m2k: float) -> float:
    """Temperature factor of the middle of a pane: 1 - Rsi U with 0.13 m2K/W inside (ISO 13788, glazing)."""
    return 1.0 - GLASS_RSI_M2K_W * u_w_m2k


def inside_points(house: House, geometry: Geometry, ready: Prepared, series: Series) -> tuple[InsidePoint, ...]:
    """Frames and glass of windows, corners of outer walls: the coldest of each kind in every room."""
    row, names = table("design")["inside_points"], list(ready.routes.network.rooms)
    surfaces = {s.id: s for s in geometry.surfaces}
    glazings = {g.id: g for g in house.glazing}
    found: dict[tuple[str, str], tuple[float, str, str]] = {}

    def add(room: str, where: str, factor: float, source: str, surface: str) -> None:
        if (room, where) not in found or factor < found[room, where][0]:
            found[room, where] = (max(factor, 0.0), source, surface)

    windows = {w.id: w for w in house.window}
    for placed in geometry.openings:
        host = surfaces[placed.surface]
        if placed.kind == "window" and host.other == OUTDOORS:
            glazing = glazings.get(windows[placed.id].glazing or "")
            add(host.room, "window frame", float(row["frame"]), "assumed", "resistant")
            if glazing is not None:
                add(host.room, "glass", glass_factor(float(glazing.u_w_m2k)), "1 - 0.13 U", "resistant")
    for s in geometry.surfaces:
        if s.kind == "wall" and s.other == OUTDOORS and s.assembly:
            u = assembly_u(house, s.assembly, "wall", OUTDOORS).u_w_m2k
            add(s.room, "corner of outer walls", 1.0 - u * float(row["corner_rsi"]), "1 - 0.35 U", "medium")
    told = [
        _point(room, where, factor, source, kind, ready, series, names.index(room))
        for (room, where), (factor, source, kind) in found.items()
    ]
    told += _slab_edges(geometry, ready, series)
    return tuple(sorted(told, key=lambda p: (-p.hours_wet, -p.mould, p.room, p.where)))


def _slab_edges(geometry: Geometry, ready: Prepared, series: Series) -> list[InsidePoint]:
    """The coldest strip of each room's floor on the ground, as the coupled year has it."""
    names = list(ready.routes.network.rooms)
    grounded = {s.id for s in geometry.surfaces if s.other == GROUND}
    outdoor = ready.forcing.outdoor_c
    coldest: dict[int, Floats] = {}
    for face in ready.thermal.faces:
        surface = series.nodes_c[:, face.node]
        if face.surface in grounded and (face.room not in coldest or surface.min() < coldest[face.room].min()):
            coldest[face.room] = surface
    told = []
    for k, surface in coldest.items():
        air = series.nodes_c[:, k]
        hour = int(surface.argmin())
        factor = float((surface[hour] - outdoor[hour]) / max(air[hour] - outdoor[hour], 1.0))
        told.append(_seen(names[k], "edge of the slab", factor, "coupled year", "medium", surface, series, k))
    return told


def _point(
    room: str, where: str, factor: float, source: str, kind: str, ready: Prepared, series: Series, k: int
) -> InsidePoint:  # fmt: skip
    air, outdoor = series.nodes_c[:, k], ready.forcing.outdoor_c
    surface = outdoor + factor * (air - outdoor)
    return _seen(room, where, factor, source, kind, surface, series, k)


def _seen(
    room: str, where: str, factor: float, source: str, kind: str, surface: Floats, series: Series, k: int
) -> InsidePoint:  # fmt: skip
    air = series.nodes_c[:, k]
    held = series.humidity[:, k] * saturation_pressure_pa(temperature_c=air)
    damp = np.asarray(held / saturation_pressure_pa(temperature_c=surface))
    mould = mould_index(temperature_c=surface, humidity=np.minimum(damp, 1.0), surface=kind)
    return InsidePoint(
        where, room, factor, source, float(surface.min()), int((damp >= 1.0).sum()),
        int((damp > MOST_AT_SURFACE).sum()), float(mould.max()),
    )  # fmt: skip


def weekly_limit(ready: Prepared, inside_c: float, factor: float) -> tuple[float, ...]:
    """The highest humidity that leaves a point dry in the coldest hour of each week."""
    week = 7 * DAY_H
    coldest = [float(ready.forcing.outdoor_c[week * w : week * (w + 1)].min()) for w in range(WEEKS)]
    told = highest_humidity(outside_c=np.array(coldest), inside_c=inside_c, factor=factor)
    return tuple(map(float, told))


def humidity_by_month(ready: Prepared, series: Series) -> tuple[RoomHumidity, ...]:
    """Every room as it is run; the first year adds what a new house dries, thinned by the air that then passes."""
    names = ready.routes.network.rooms
    air = series.nodes_c[:, : len(names)]
    volume = ready.system.mass_kg / 1.2
    passes = volume.sum() / np.maximum((series.age_s * volume).sum(axis=1) / volume.sum(), 1.0)
    more = PA_M3_KG * DRYING_KG_DAY / 86400.0 / np.maximum(passes, 1e-4)
    told = []
    ends = np.cumsum(MONTH_HOURS)
    for k, room in enumerate(names):
        damp = series.humidity[:, k]
        wetter = np.minimum(damp + more / saturation_pressure_pa(temperature_c=air[:, k]), 1.0)
        highest = [float(damp[e - n : e].max()) for e, n in zip(ends, MONTH_HOURS, strict=True)]
        told.append(
            RoomHumidity(room, tuple(map(float, by_month(damp))), tuple(highest), tuple(map(float, by_month(wetter))))
        )
    return tuple(told)


def cool_slabs(house: House, geometry: Geometry, ready: Prepared, series: Series) -> tuple[Slab, ...]:
    """Floors on the ground against the dew point of their rooms."""
    names = list(ready.routes.network.rooms)
    grounded = {s.id for s in geometry.surfaces if s.other == GROUND}
    told: dict[str, Slab] = {}
    for face in ready.thermal.faces:
        room = names[face.room]
        if face.surface not in grounded or room in told:
            continue
        air = series.nodes_c[:, face.room]
        dew = dew_point_c(vapour_pa=series.humidity[:, face.room] * saturation_pressure_pa(temperature_c=air))
        margin = series.nodes_c[:, face.node] - dew
        told[room] = Slab(room, int((margin < SLAB_MARGIN_K).sum()), int((margin < 0.0).sum()))
    return tuple(told.values())
