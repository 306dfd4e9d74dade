"""A floor that gives heat to the room above."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from inshell.physics.types import Array, Floats
from inshell.sources import table


def floor_flux_w_m2(*, excess_k: Array) -> Array:
    """Heat from a floor to the room.

    Formula: q = 8.92 (tF - ti)^1.1
    Arguments: excess_k [K] mean floor surface over room temperature, >= 0
    Returns: flux [W/m2]
    Valid: heated floors, 0 to 15 K
    Source: EN 1264-2

    >>> round(float(floor_flux_w_m2(excess_k=5.0)), 2)
    52.39
    """
    return 8.92 * np.maximum(np.asarray(excess_k, dtype=float), 0.0) ** 1.1


def floor_excess_k(*, flux_w_m2: Array) -> Array:
    """How much warmer than the room a floor must be to give a flux: the inverse of `floor_flux_w_m2`.

    Formula: tF - ti = (q / 8.92)^(1/1.1)
    Arguments: flux_w_m2 [W/m2], >= 0
    Returns: excess [K]
    Valid: 0 to 175 W/m2
    Source: EN 1264-2

    >>> round(float(floor_excess_k(flux_w_m2=100.01)), 2)
    9.0
    """
    return (np.maximum(np.asarray(flux_w_m2, dtype=float), 0.0) / 8.92) ** (1.0 / 1.1)


def panel_flux_w_m2(*, surface_c: Array, air_c: Array, around_c: Array) -> tuple[Floats, Floats]:
    """Heat from a floor by radiation and by convection, the panel form.

    Formula: q_r = 5e-8 (Ts^4 - Tu^4), q_c = 2.13 (ts - ta)^1.31
    Arguments: surface_c floor, air_c, around_c mean of the unheated surfaces by area [°C]
    Returns: (radiation, convection) [W/m2]
    Valid: heated floors, surface warmer than air
    Source: ASHRAE panel heating (from memory)

    >>> [round(float(q), 2) for q in panel_flux_w_m2(surface_c=29.0, air_c=20.0, around_c=20.0)]
    [47.48, 37.88]
    """
    surface, around = np.asarray(surface_c, dtype=float) + 273.15, np.asarray(around_c, dtype=float) + 273.15
    rises = np.maximum(np.asarray(surface_c, dtype=float) - air_c, 0.0)
    return np.asarray(5e-8 * (surface**4 - around**4)), np.asarray(2.13 * rises**1.31)


def practice_flux_w_m2(*, excess_k: Array) -> Floats:
    """Heat from a floor as the US trade counts it.

    Formula: q = 2 Btu/h.ft2 for each °F of floor over room
    Arguments: excess_k [K]
    Returns: flux [W/m2]
    Valid: floors up to about 29.4 °C (85 °F)
    Source: common practice

    >>> round(float(practice_flux_w_m2(excess_k=5.0)), 1)
    56.8
    """
    return np.asarray(11.3565 * np.maximum(np.asarray(excess_k, dtype=float), 0.0))


def power_product_w_m2k(
    *,
    spacing_m: float,
    outer_m: float,
    wall_m: float,
    tube_w_mk: float,
    cover_m: float,
    cover_w_mk: float,
    covering_r_m2k_w: float,
) -> float:
    """Heat from a floor per kelvin of logarithmic mean water over room, tube on the insulation under a screed.

    Formula: K = B aB aT^mT aU^mU aD^mD; aB = (1/a + s0/l0) / (1/a + s0/lE + R), mT = 1 - T/0.075,
        mU = 100 (0.045 - su), mD = 250 (D - 0.020);
        1/B = 1/6.7 + (1.1/pi) Pi T {ln[d/(d - 2s)]/(2 lR) - ln[d/(d - 2 s0)]/(2 lR0)}
    Arguments: spacing_m T; outer_m d, wall_m s of the tube [m], tube_w_mk; cover_m su and cover_w_mk of the screed
        above the tube; covering_r_m2k_w R of what lies on it
    Returns: K [W/m2K]
    Errors: ValueError outside spacing 0.05 to 0.375 m or covering 0 to 0.15 m2K/W
    Valid: tube on the insulation; reads up to 15 % low for a tube in mid-slab at 0.3 m
    Source: EN 1264-2 / ISO 11855-2 (from memory)

    >>> round(power_product_w_m2k(spacing_m=0.15, outer_m=0.016, wall_m=0.002, tube_w_mk=0.35, cover_m=0.045,
    ...                           cover_w_mk=1.2, covering_r_m2k_w=0.10), 4)
    3.3682
    """
    rows = table("floor")["power_product"]
    spacings, coverings = rows["spacing_m"], rows["covering_r"]
    if not (spacings[0] <= spacing_m <= spacings[-1] and coverings[0] <= covering_r_m2k_w <= coverings[-1]):
        raise ValueError(f"spacing {spacing_m:g} m, covering {covering_r_m2k_w:g} m2K/W: beyond the tabulated range")
    by_covering = [float(np.interp(covering_r_m2k_w, coverings, line)) for line in rows["a_u"]]
    a_u = float(np.interp(spacing_m, spacings, by_covering))
    a_d = float(np.interp(spacing_m, spacings, [np.interp(covering_r_m2k_w, coverings, line) for line in rows["a_d"]]))
    a_t = float(np.interp(covering_r_m2k_w, coverings, rows["a_t"]))
    a_b = (rows["alpha_r"] + rows["cover0_m"] / rows["cover0_w_mk"]) / (
        rows["alpha_r"] + rows["cover0_m"] / cover_w_mk + covering_r_m2k_w
    )
    powers = a_b * a_t ** (1.0 - spacing_m / 0.075) * a_u ** (100.0 * (0.045 - cover_m))
    powers *= a_d ** (250.0 * (outer_m - 0.020))
    tube = math.log(outer_m / (outer_m - 2.0 * wall_m)) / (2.0 * tube_w_mk)
    tube -= math.log(outer_m / (outer_m - 2.0 * rows["tube0_wall_m"])) / (2.0 * rows["tube0_w_mk"])
    return float(powers / (1.0 / rows["b0"] + 1.1 / math.pi * powers * spacing_m * tube))


@dataclass(frozen=True)
class WaterToCore:
    """Resistances between the supply and the level of the tubes [m2K/W], and whether the method reaches."""

    flow: float
    film: float
    tube: float
    spread: float
    is_valid: bool

    @property
    def total(self) -> float:
        """All four."""
        return self.flow + self.film + self.tube + self.spread


def water_to_core_m2k_w(
    *,
    spacing_m: float,
    outer_m: float,
    wall_m: float,
    tube_w_mk: float,
    slab_w_mk: float,
    above_m: float,
    below_m: float,
    flow_kg_s: float,
    area_m2: float,
    length_m: float,
    heat_j_kgk: float = 4187.0,
) -> WaterToCore:
    """Resistances between water supply and the level of tubes inside a slab.

    Formula: with m in kg/s of each m2: Rz = 1/(2 m c), Rw = T^0.13/(8 pi) [(d - 2s)/(m L)]^0.87,
        Rr = T ln[d/(d - 2s)]/(2 pi lr), Rx = T ln[T/(pi d)]/(2 pi lb)
    Arguments: spacing_m T; outer_m d, wall_m s [m], tube_w_mk lr of the tube; slab_w_mk lb; above_m, below_m of slab
        from the tubes' axis [m]; flow_kg_s, area_m2, length_m of the circuit; heat_j_kgk of the fluid
    Returns: the four resistances [m2K/W], and whether above/T and below/T exceed 0.3 and d/T is below 0.2
    Valid: as `is_valid` says; a 4 in slab leaves it above about 6.5 in of spacing: solve the cell there
    Source: ISO 11855-2 (from memory)

    >>> r = water_to_core_m2k_w(spacing_m=0.15, outer_m=0.020, wall_m=0.0023, tube_w_mk=0.35, slab_w_mk=1.8,
    ...                         above_m=0.1, below_m=0.1, flow_kg_s=350 / 3600, area_m2=15.0, length_m=100.0)
    >>> round(r.flow, 5), round(r.film, 5), round(r.tube, 5), round(r.spread, 5), r.is_valid
    (0.01842, 0.0012, 0.01783, 0.01154, True)
    """
    per_area = flow_kg_s / area_m2
    inner = outer_m - 2.0 * wall_m
    return WaterToCore(
        flow=1.0 / (2.0 * per_area * heat_j_kgk),
        film=spacing_m**0.13 / (8.0 * math.pi) * (inner / (per_area * length_m)) ** 0.87,
        tube=spacing_m * math.log(outer_m / inner) / (2.0 * math.pi * tube_w_mk),
        spread=spacing_m * math.log(spacing_m / (math.pi * outer_m)) / (2.0 * math.pi * slab_w_mk),
        is_valid=min(above_m, below_m) / spacing_m > 0.3 and outer_m / spacing_m < 0.2,
    )
