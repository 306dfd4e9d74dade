"""Steady and periodic conduction through layers."""

from __future__ import annotations

import cmath
import itertools
import math
from dataclasses import dataclass

DAY_S = 86400.0


@dataclass(frozen=True)
class Layer:
    """One homogeneous layer, or one layer bridged by framing over a share of its area."""

    thickness_m: float
    conductivity_w_mk: float
    density_kg_m3: float = 0.0
    specific_heat_j_kgk: float = 0.0
    framing_share: float = 0.0
    framing_conductivity_w_mk: float = 0.13
    resistance_m2k_w: float | None = None

    @property
    def r_m2k_w(self) -> float:
        """Resistance of the layer itself (between the framing)."""
        if self.resistance_m2k_w is not None:
            return self.resistance_m2k_w
        return self.thickness_m / self.conductivity_w_mk

    @property
    def framing_r_m2k_w(self) -> float:
        """Resistance of the framing that crosses the layer."""
        return self.thickness_m / self.framing_conductivity_w_mk if self.framing_share else self.r_m2k_w


def cells_within(*, layer: Layer, period_s: float) -> int:
    """Number of equal cells that are no thicker than a swing of a period reaches into the layer.

    Formula: ceil(d/delta), d/delta = sqrt(pi R C/T) with R the layer's resistance and C = rho c d its capacity
    Arguments: layer; period_s T [s]
    Returns: number of cells, at least 1
    Valid: layers with heat capacity; 1 where there is none
    Source: periodic penetration depth, ISO 13786

    >>> cells_within(layer=Layer(0.0125, 0.16, 640.0, 1150.0), period_s=3600.0)
    1
    """
    held = layer.density_kg_m3 * layer.specific_heat_j_kgk * layer.thickness_m
    return max(1, math.ceil(math.sqrt(math.pi * layer.r_m2k_w * held / period_s) - 1e-9))


@dataclass(frozen=True)
class BridgedU:
    """U-value of a bridged element with its two bounds."""

    u_w_m2k: float
    upper_r_m2k_w: float
    lower_r_m2k_w: float


def u_value(*, layers: list[Layer], rsi_m2k_w: float, rse_m2k_w: float) -> BridgedU:
    """U-value of layers, any of which may be crossed by framing.

    Formula: R = (R' + R'') / 2; 1/R' = sum over sections f_q / R_q (parallel paths); R'' = Rsi + sum R_j + Rse,
    1/R_j = sum_q f_q / R_qj (isothermal planes). Framing in several layers is taken as one aligned section
    with the largest share; a layer with a smaller share is bridged by that share of the section's rest.
    Arguments: layers, outside to inside or the reverse; rsi_m2k_w, rse_m2k_w [m2K/W] surface resistances
    Returns: u_w_m2k [W/m2K] and both limits [m2K/W]
    Valid: R'/R'' up to 1.5; no metal in the insulation
    Raises: ValueError if nothing resists
    Source: ISO 6946:2017, 6.7.2

    >>> stud = [Layer(0.0125, 0.25), Layer(0.14, 0.035, framing_share=0.15), Layer(0.009, 0.13),
    ...         Layer(0.025, 1.0, resistance_m2k_w=0.18), Layer(0.102, 0.77)]
    >>> round(u_value(layers=stud, rsi_m2k_w=0.13, rse_m2k_w=0.04).u_w_m2k, 4)
    0.282
    """
    films = rsi_m2k_w + rse_m2k_w
    upper = 1.0 / sum(
        share / (films + sum(_section_r(layer, low) for layer in layers)) for low, share in _sections(layers)
    )
    lower = films + sum(_plane_r(layer) for layer in layers)
    mean = 0.5 * (upper + lower)
    if mean <= 0.0:
        raise ValueError("the layers have no resistance")
    return BridgedU(u_w_m2k=1.0 / mean, upper_r_m2k_w=upper, lower_r_m2k_w=lower)


def _sections(layers: list[Layer]) -> list[tuple[float, float]]:
    """Sections side by side as (where the section starts on the scale of shares, its width)."""
    edges = sorted({0.0, 1.0, *(layer.framing_share for layer in layers)})
    return [(low, high - low) for low, high in itertools.pairwise(edges) if high > low]


def _section_r(layer: Layer, low: float) -> float:
    return layer.framing_r_m2k_w if low < layer.framing_share else layer.r_m2k_w


def _plane_r(layer: Layer) -> float:
    share = layer.framing_share
    if not share:
        return layer.r_m2k_w
    return 1.0 / (share / layer.framing_r_m2k_w + (1.0 - share) / layer.r_m2k_w)


@dataclass(frozen=True)
class Periodic:
    """Response of a wall to a daily sine."""

    transmittance_w_m2k: float
    decrement: float
    time_shift_h: float
    inside_admittance_w_m2k: float


def periodic_response(*, layers: list[Layer], rsi_m2k_w: float, rse_m2k_w: float, period_s: float = DAY_S) -> Periodic:
    """Periodic thermal transmittance, decrement factor, time shift and inside admittance.

    Formula: Z = Z_out ... Z_in with, per layer, delta = sqrt(lambda T/(pi rho c)), xi = d/delta,
    Z11 = Z22 = cosh((1+i) xi), Z12 = -delta/((1+i) lambda) sinh((1+i) xi), Z21 = -(1+i) lambda/delta sinh((1+i) xi);
    Y12 = -1/Z12, f = |Y12|/U, shift = -arg(Y12) T/2pi, Y11 = -Z11/Z12
    Arguments: layers from OUTSIDE to INSIDE; rsi_m2k_w, rse_m2k_w [m2K/W]; period_s [s]
    Returns: transmittance and admittance [W/m2K], decrement [-], time shift [h]
    Valid: homogeneous layers (framing is left out); massless layers count as resistances
    Source: ISO 13786:2017, clause 6 and annex C

    >>> slab = [Layer(0.2, 1.8, 2400, 1000)]
    >>> round(periodic_response(layers=slab, rsi_m2k_w=0.13, rse_m2k_w=0.04).decrement, 3)
    0.514
    """
    inner = [_layer_matrix(layer, period_s) for layer in layers]
    z11, z12 = 1.0 + 0.0j, -rse_m2k_w + 0.0j  # the first row of the product, which is all that is read
    for (b11, b12), (b21, b22) in [*inner, _resistance_matrix(rsi_m2k_w)]:
        z11, z12 = z11 * b11 + z12 * b21, z11 * b12 + z12 * b22
    y12 = -1.0 / z12
    u = 1.0 / (rsi_m2k_w + rse_m2k_w + sum(layer.r_m2k_w for layer in layers))
    shift = -cmath.phase(y12) * period_s / (2.0 * math.pi) / 3600.0
    return Periodic(
        transmittance_w_m2k=abs(y12),
        decrement=abs(y12) / u,
        time_shift_h=shift % (period_s / 3600.0),
        inside_admittance_w_m2k=abs(z11 / z12),
    )


_Matrix = tuple[tuple[complex, complex], tuple[complex, complex]]


def _resistance_matrix(r_m2k_w: float) -> _Matrix:
    return (1.0, -r_m2k_w), (0.0, 1.0)


def _layer_matrix(layer: Layer, period_s: float) -> _Matrix:
    heat = layer.density_kg_m3 * layer.specific_heat_j_kgk
    if heat <= 0.0 or layer.resistance_m2k_w is not None:
        return _resistance_matrix(layer.r_m2k_w)
    lam = layer.conductivity_w_mk
    delta = math.sqrt(lam * period_s / (math.pi * heat))
    argument = (1 + 1j) * layer.thickness_m / delta
    sinh, cosh = cmath.sinh(argument), cmath.cosh(argument)
    return (cosh, -delta / ((1 + 1j) * lam) * sinh), (-(1 + 1j) * lam / delta * sinh, cosh)
