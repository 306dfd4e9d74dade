"""Vapour through layers month by month, with condensation at planes: a hull under saturation; two seasons as blocks."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from inshell.physics.air import saturation_pressure_pa
from inshell.physics.types import Array, Floats

PERMEABILITY = 2e-10  # of still air, kg/(m s Pa); Nordic tables imply 1.8e-10
DAY_S = 86400.0
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=float)
LARGEST_R = 0.25
RSE = 0.04
RSI = {"wall": 0.13, "roof": 0.10, "ceiling": 0.10, "floor": 0.17}
DRY_KG_M2 = 1e-12
SEASON_DAYS, SEASON_PA, WET_PA = 90.0, 1200.0, {"wall": 1700.0, "roof": 2000.0, "ceiling": 2000.0, "floor": 1700.0}
WINTER_OUT_C, WINTER_OUT_RH, WINTER_IN_C, WINTER_IN_RH, SEASON_RSI = -5.0, 0.80, 20.0, 0.50, 0.25


@dataclass(frozen=True)
class VapourLayer:
    """A layer for heat and vapour: R [m2.K/W] and sd [m]; layers go from outside to inside."""

    resistance_m2k_w: float
    sd_m: float


@dataclass(frozen=True)
class MonthlyVapour:
    """Twelve months (rows, January first) of planes from outside to inside.

    `plane` says which boundary of the described layers a plane is (1: between the first and the second), None inside a
    layer that was split; `taken_kg_m2` is what condensed in the month (below zero: dried), `held_kg_m2` what it held
    at the end of it. `first_month` (0 to 11) is the first that condenses, None if none does.
    """

    plane: tuple[int | None, ...]
    depth_sd_m: Floats
    taken_kg_m2: Floats
    held_kg_m2: Floats
    first_month: int | None

    @property
    def most_kg_m2(self) -> float:
        """The most that all planes hold together at the end of a month."""
        return float(self.held_kg_m2.sum(axis=1).max()) if self.held_kg_m2.size else 0.0

    @property
    def dries(self) -> bool:
        """Whether everything is dry again before the year is over."""
        if self.first_month is None:
            return True
        return bool(self.held_kg_m2[(self.first_month - 1) % 12].sum() <= DRY_KG_M2)


def indoor_vapour_pa(*, outdoor_vapour_pa: Array, outdoor_c: Array, excess_pa: float) -> Floats:
    """Indoor vapour pressure from a supply that fades with warm weather.

    Formula: pi = pe + dp f, f = 1 at Te <= 0, 1 - Te/20 between, 0 at 20 °C and above
    Arguments: outdoor_vapour_pa pe [Pa]; outdoor_c Te [degC]; excess_pa dp at 0 °C and below [Pa]
    Returns: pi [Pa]
    Valid: monthly means; classes 1 to 5: 270, 540, 810, 1080, more than 1080 Pa
    Source: ISO 13788:2012, annex A (from memory)

    >>> float(indoor_vapour_pa(outdoor_vapour_pa=600.0, outdoor_c=10.0, excess_pa=810.0))
    1005.0
    """
    fades = np.clip(1.0 - np.asarray(outdoor_c, dtype=float) / 20.0, 0.0, 1.0)
    return np.asarray(np.asarray(outdoor_vapour_pa, dtype=float) + excess_pa * fades)


def lower_hull(*, depth: Floats, height: Floats) -> list[int]:
    """Points of the greatest convex line that lies nowhere above the points and meets the first and the last.

    Formula: monotone chain
    Arguments: depth, rising; height, shape (k,)
    Returns: indices of its corners
    Valid: at least two points
    Source: Andrew 1979

    >>> lower_hull(depth=np.array([0.0, 1.0, 2.0]), height=np.array([0.0, -1.0, 0.0]))
    [0, 1, 2]
    """
    kept: list[int] = []
    for k in range(len(depth)):
        while len(kept) > 1:
            i, j = kept[-2], kept[-1]
            turn = (depth[j] - depth[i]) * (height[k] - height[i]) - (height[j] - height[i]) * (depth[k] - depth[i])
            if turn > 0.0:
                break
            kept.pop()
        kept.append(k)
    return kept


def split_layers(*, layers: tuple[VapourLayer, ...]) -> tuple[list[VapourLayer], list[int | None]]:
    """Layers in parts of at most 0.25 m2K/W, and for each plane between parts the boundary it is.

    Formula: ceil(R/0.25) equal parts of each layer
    Arguments: layers from outside to inside
    Returns: parts; for each plane between two of them the number of the layer that ends there, None inside a layer
    Valid: any layers
    Source: ISO 13788:2012, 6.4 (thick layers are divided)

    >>> split_layers(layers=(VapourLayer(0.4, 1.0), VapourLayer(0.1, 2.0)))[1]
    [None, 1]
    """
    parts: list[VapourLayer] = []
    planes: list[int | None] = []
    for number, layer in enumerate(layers, start=1):
        count = max(1, int(np.ceil(layer.resistance_m2k_w / LARGEST_R - 1e-9)))
        parts += [VapourLayer(layer.resistance_m2k_w / count, layer.sd_m / count)] * count
        planes += [None] * (count - 1) + [number]
    return parts, planes[:-1]


@dataclass(frozen=True)
class _Section:
    """Parts of layers with what stays the same: depth of planes, share of the temperature drop outside them."""

    depth: Floats
    outer_share: Floats

    @classmethod
    def of(cls, parts: list[VapourLayer], rsi: float, rse: float) -> _Section:
        r = np.cumsum([rse, *(p.resistance_m2k_w for p in parts)])
        return cls(np.cumsum([p.sd_m for p in parts]), r[:-1] / (r[-1] + rsi))

    def saturation_pa(self, inside_c: float, outside_c: float) -> Floats:
        """At the planes between parts."""
        return np.asarray(
            saturation_pressure_pa(temperature_c=outside_c + self.outer_share[1:] * (inside_c - outside_c))
        )

    def flows_kg_m2_s(self, saturation: Floats, wet: NDArray[np.bool_], out_pa: float, in_pa: float) -> Floats:
        """What each plane takes up: wet ones stay saturated, dry ones may begin to condense."""
        s = np.concatenate([[0.0], self.depth])
        height = np.concatenate([[out_pa], saturation, [in_pa]])
        pins = [0, *(np.flatnonzero(wet) + 1), len(s) - 1]
        corners: list[int] = []
        for one, two in pairwise(pins):
            corners += [one + k for k in lower_hull(depth=s[one : two + 1], height=height[one : two + 1])][:-1]
        corners.append(len(s) - 1)
        taken = np.zeros(len(saturation))
        for before, here, after in zip(corners[:-2], corners[1:-1], corners[2:], strict=True):
            inward = (height[after] - height[here]) / max(s[after] - s[here], 1e-9)
            outward = (height[here] - height[before]) / max(s[here] - s[before], 1e-9)
            taken[here - 1] = PERMEABILITY * (inward - outward)
        return taken


def monthly_vapour(
    *, layers: tuple[VapourLayer, ...], outdoor_c: Floats, outdoor_vapour_pa: Floats, inside_c: Floats,
    inside_vapour_pa: Floats, rsi_m2k_w: float, rse_m2k_w: float = RSE,
) -> MonthlyVapour:  # fmt: skip
    """Condensation and drying at every plane through a year that begins with the first month that condenses.

    Formula: p(s) is the lower convex hull of (0, pe), (s_i, psat_i), (S, pi), pinned at psat where water stands; at its
        corners g = d0 [(p_in - p_i)/ds_in - (p_i - p_out)/ds_out]; layers split so that no part has R above 0.25
    Arguments: layers from outside to inside; twelve monthly means: outdoor_c [degC], outdoor_vapour_pa [Pa], inside_c
        [degC], inside_vapour_pa [Pa]; films rsi_m2k_w, rse_m2k_w [m2.K/W]
    Returns: MonthlyVapour
    Errors: ValueError for fewer than one layer or months other than twelve
    Valid: diffusion alone; air through joints carries far more. Not for metal-clad or membrane unvented timber roofs
    Source: ISO 13788:2012, clause 6 (several planes, wet planes stay saturated)

    >>> out = np.full(12, 5.0)
    >>> dry = monthly_vapour(layers=(VapourLayer(2.0, 1.0),), outdoor_c=out, outdoor_vapour_pa=np.full(12, 500.0),
    ...                      inside_c=np.full(12, 20.0), inside_vapour_pa=np.full(12, 700.0), rsi_m2k_w=0.13)
    >>> dry.first_month is None
    True
    """
    if not layers or len(outdoor_c) != 12:
        raise ValueError("at least one layer and twelve months are needed")
    parts, planes = split_layers(layers=layers)
    section = _Section.of(parts, rsi_m2k_w, rse_m2k_w)
    count = len(planes)
    saturated = [section.saturation_pa(float(i), float(o)) for i, o in zip(inside_c, outdoor_c, strict=True)]

    def taken(month: int, wet: NDArray[np.bool_]) -> Floats:
        flow = section.flows_kg_m2_s(
            saturated[month], wet, float(outdoor_vapour_pa[month]), float(inside_vapour_pa[month])
        )
        return np.asarray(flow * DAYS[month] * DAY_S)

    dry = np.zeros(count, dtype=bool)
    wets = [bool((taken(month, dry) > DRY_KG_M2).any()) for month in range(12)]
    told, held = np.zeros((12, count)), np.zeros((12, count))
    first = next((m for m in range(12) if wets[m] and not wets[m - 1]), 0 if any(wets) else None)
    if first is not None:
        now = np.zeros(count)
        for month in ((first + k) % 12 for k in range(12)):
            more = taken(month, now > DRY_KG_M2)
            after = np.maximum(now + more, 0.0)
            told[month], held[month], now = more, after, after
    return MonthlyVapour(tuple(planes), section.depth[:-1], told, held, first)


@dataclass(frozen=True)
class TwoSeasons:
    """The block method: what condenses in 90 cold days, what 90 warm days can dry, at its planes [kg/m2]."""

    plane: tuple[int | None, ...]
    condensed_kg_m2: Floats
    dried_kg_m2: Floats

    @property
    def holds(self) -> bool:
        """Whether all that condenses can dry."""
        return bool(self.condensed_kg_m2.sum() <= self.dried_kg_m2.sum() + DRY_KG_M2)


def two_seasons(*, layers: tuple[VapourLayer, ...], kind: str) -> TwoSeasons:
    """A cold and a warm season as two blocks: a second opinion beside the monthly method.

    Formula: 90 d at -5 °C 80 % and 20 °C 50 %: hull as above with Rse 0.04, Rsi 0.25; then 90 d with 1200 Pa on both
        sides and 1700 Pa (wall) or 2000 Pa (roof) at the planes that are wet
    Arguments: layers from outside to inside; kind: wall, roof, ceiling or floor
    Returns: TwoSeasons
    Valid: as the monthly method; a climate of central Europe
    Source: DIN 4108-3 (from memory)

    >>> two_seasons(layers=(VapourLayer(2.0, 1.0),), kind="wall").holds
    True
    """
    parts, planes = split_layers(layers=layers)
    section = _Section.of(parts, SEASON_RSI, RSE)
    saturated = section.saturation_pa(WINTER_IN_C, WINTER_OUT_C)
    outside = WINTER_OUT_RH * float(saturation_pressure_pa(temperature_c=WINTER_OUT_C))
    inside = WINTER_IN_RH * float(saturation_pressure_pa(temperature_c=WINTER_IN_C))
    none = np.zeros(len(planes), dtype=bool)
    condensed = np.maximum(section.flows_kg_m2_s(saturated, none, outside, inside), 0.0) * SEASON_DAYS * DAY_S
    wet = condensed > DRY_KG_M2
    level = np.full(len(planes), WET_PA[kind])
    leaves = section.flows_kg_m2_s(np.where(wet, level, 1e9), wet, SEASON_PA, SEASON_PA)
    return TwoSeasons(tuple(planes), condensed, np.where(wet, -leaves, 0.0) * SEASON_DAYS * DAY_S)
