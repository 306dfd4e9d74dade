"""Layers of an assembly as vapour sees them, between the bounds of what is not known of each."""

from __future__ import annotations

from typing import Literal

from inshell.house.model.enclosure import Assembly, Layer, Material
from inshell.physics.vapour import VapourLayer
from inshell.sources import table

Bound = Literal["middle", "worse", "better"]
LEAST_SD_M = 1e-4


def mu_range(layer: Layer, own: dict[str, Material]) -> tuple[float, float]:
    """(least, greatest) vapour resistance factor of a layer's material; (1, 1) where none is named."""
    name = layer.material
    if name is None:
        return 1.0, 1.0
    if name in own:
        values = (own[name].mu_dry, own[name].mu_wet)
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


def without_vapour(layers: tuple[Layer, ...]) -> list[int]:
    """Numbers of layers of which nothing says how they let vapour through: neither a material nor an sd."""
    return [k for k, layer in enumerate(layers, start=1) if layer.sd_m is None and layer.material is None]


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


def outside_the_method(covering: str, kind: str) -> str:
    """Why the monthly method says nothing of an assembly under a covering; empty where it does."""
    tight = covering in ("metal", "membrane")
    if (
        kind not in ("roof", "ceiling")
        or covering in ("vented", "shingles", "layers")
        or (kind == "ceiling" and not tight)
    ):
        return ""
    if covering == "not-said":
        return "its covering is not said; under metal or a membrane without a vented space the method says nothing"
    return f"an unvented timber roof under {covering} lies outside the monthly method: it is not shown to be safe"
