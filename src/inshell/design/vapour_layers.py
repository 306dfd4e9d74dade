"""Layers of an assembly as vapour sees them, between the bounds of what is not known of each."""

from __future__ import annotations

from typing import Literal

from inshell.house.model.enclosure import Assembly, Layer, Material
from inshell.physics.vapour import VapourLayer
from inshell.sources import table

Bound = Literal["middle", "worse", "better"]
LEAST_SD_M = 1e-4
MOST_CONDENSED_KG_M2 = 1.0
TAKES_UP = {"osb": 0.03, "plywood": 0.03, "softwood": 0.05}


def mu_range(layer: Layer, own: dict[str, Material]) -> tuple[float, float]:
    """(least, greatest) vapour resistance factor of a layer's material; (1, 1) where none is known."""
    name = layer.material
    if name is None:
        return 1.0, 1.0
    if name in own:
        known = [mu for mu in (own[name].mu_dry, own[name].mu_wet) if mu is not None]
        values = (min(known, default=1.0), max(known, default=1.0))
    else:
        row = table("materials")[name]
        values = (row.get("mu_most", row["mu_dry"]), row.get("mu_least", row["mu_wet"]))
    return min(values), max(values)


def vapour_layers(
    layers: tuple[Layer, ...], resistances_m2k_w: list[float], materials: tuple[Material, ...], bound: Bound = "middle"
) -> tuple[VapourLayer, ...]:
    """Every layer's R and sd.

    Worse: skins in the outer half of the resistance as tight as they may be, in the inner half as open; better: the
    other way round; middle: the geometric mean. An sd that was entered is taken as it is.
    """
    own = {m.id: m for m in materials}
    total, before, told = sum(resistances_m2k_w), 0.0, []
    for layer, r in zip(layers, resistances_m2k_w, strict=True):
        outer = before + 0.5 * r <= 0.5 * total
        before += r
        low, high = mu_range(layer, own)
        mu = (low * high) ** 0.5
        if bound != "middle":
            mu = high if outer == (bound == "worse") else low
        sd = layer.sd_m if layer.sd_m is not None else mu * float(layer.thickness_m or 0.0)
        told.append(VapourLayer(r, max(float(sd), LEAST_SD_M)))
    return tuple(told)


def without_vapour(layers: tuple[Layer, ...], materials: tuple[Material, ...]) -> list[int]:
    """Numbers of layers of which nothing says how they let vapour through.

    Asked for is an sd, or a material whose vapour resistance factor is known, with its thickness.
    """
    blind = {m.id for m in materials if m.mu_dry is None and m.mu_wet is None}
    return [
        k
        for k, layer in enumerate(layers, start=1)
        if layer.sd_m is None and (layer.material is None or layer.material in blind or layer.thickness_m is None)
    ]


def is_uncertain(layers: tuple[Layer, ...], materials: tuple[Material, ...]) -> bool:
    """Whether some layer's vapour resistance is known only between bounds."""
    own = {m.id: m for m in materials}
    return any(layer.sd_m is None and mu_range(layer, own)[0] < mu_range(layer, own)[1] for layer in layers)


def covering_sd_m(assembly: Assembly, kind: str) -> tuple[float, float, float]:
    """(least, middle, most) equivalent air layer of what lies outside the described layers of a roof or wall."""
    low, middle, high = table("design")["covering"]["roof" if kind in ("roof", "ceiling") else "wall"][
        assembly.covering
    ]
    return float(low), float(middle), float(high)


def with_covering(
    layers: tuple[VapourLayer, ...], assembly: Assembly, kind: str, bound: Bound
) -> tuple[VapourLayer, ...]:
    """The same with its covering as the outermost layer: tight at the worse bound, open at the better one."""
    low, middle, high = covering_sd_m(assembly, kind)
    sd = {"worse": high, "better": low, "middle": middle}[bound]
    return (VapourLayer(0.0, max(sd, LEAST_SD_M)), *layers)


def most_bearable_kg_m2(layers: tuple[Layer, ...], materials: tuple[Material, ...]) -> float:
    """What may condense within a winter even where it dries again: 1 kg/m2, less where wood would take it up.

    Wood-based boards outside the middle bear 3 % of their mass, solid wood 5 % (DIN 4108-3, from memory).
    """
    own = {m.id: m for m in materials}
    half = 0.5 * sum(float(layer.thickness_m or 0.0) for layer in layers)
    least, before = MOST_CONDENSED_KG_M2, 0.0
    for layer in layers:
        thick = float(layer.thickness_m or 0.0)
        if layer.material in TAKES_UP and before < half and thick > 0.0 and layer.material not in own:
            mass = thick * float(layer.density_kg_m3 or table("materials")[layer.material]["density_kg_m3"])
            least = min(least, TAKES_UP[layer.material] * mass)
        before += thick
    return least


def outside_the_method(covering: str, kind: str) -> str:
    """Why the monthly method says nothing of an assembly under a covering; empty where it does."""
    if kind not in ("roof", "ceiling") or covering in ("vented", "shingles", "layers"):
        return ""
    if covering == "not-said":
        return "its covering is not said; under metal or a membrane without a vented space the method says nothing"
    return f"an unvented timber roof under {covering} lies outside the monthly method: it is not shown to be safe"
