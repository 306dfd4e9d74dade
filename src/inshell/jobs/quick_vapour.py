"""`inshell quick vapour`: condensation inside layers month by month, without a house file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from inshell.design.vapour_layers import (
    is_uncertain,
    most_bearable_kg_m2,
    outside_the_method,
    vapour_layers,
    without_vapour,
)
from inshell.errors import InputRefused, Problem
from inshell.house.model.base import Part, note
from inshell.house.model.enclosure import Assembly, Layer, Material
from inshell.house.quantities import Pressure, RValue, Share, Temperature, custom
from inshell.jobs.layers_file import read_layers_file
from inshell.network.construction import layers_of
from inshell.physics.air import saturation_pressure_pa
from inshell.physics.vapour import RSE, RSI, MonthlyVapour, VapourLayer, indoor_vapour_pa, monthly_vapour, two_seasons

CLASS_PA = {1: 270.0, 2: 540.0, 3: 810.0, 4: 1080.0, 5: 1360.0}
Twelve = Annotated[tuple[Temperature, ...], Field(min_length=12, max_length=12)]
TwelveShares = Annotated[tuple[Share, ...], Field(min_length=12, max_length=12)]


class VapourFile(Part):
    """The file of `inshell quick vapour`: layers from outside to inside, twelve months, what is inside."""

    format: Literal[1] = Field(1, description="version of this file format")
    units: Literal["us", "si"] = Field("si", description="what a bare number means")
    name: str = note()
    kind: Literal["wall", "roof", "floor"] = Field("wall", description="which way heat flows")
    layers: tuple[Layer, ...] = Field(min_length=1, description="from outside to inside")
    material: tuple[Material, ...] = Field((), description="materials of your own")
    outdoor_c: Twelve = Field(description="mean outdoor temperature of each month, January first")
    outdoor_humidity: TwelveShares = Field(description="mean outdoor humidity of each month")
    inside_c: Temperature = Field(20.0, description="indoor temperature")
    humidity: Share | None = Field(None, description="indoor humidity all year")
    excess_pa: Pressure | None = Field(None, gt=0, description="indoor vapour above outdoor at 0 °C and below")
    humidity_class: int | None = Field(None, ge=1, le=5, description="1 (dry store) to 5 (wet), instead of excess")
    inside_film_m2k_w: RValue | None = Field(None, description="inside surface resistance")
    outside_film_m2k_w: RValue | None = Field(None, description="outside surface resistance")
    covering: Literal["not-said", "layers", "vented", "shingles", "metal", "membrane"] = Field(
        "not-said", description="what keeps rain off a roof; layers: it is among them and is neither metal nor membrane"
    )

    @model_validator(mode="after")
    def _one_way(self) -> VapourFile:
        given = [name for name in ("humidity", "excess_pa", "humidity_class") if getattr(self, name) is not None]
        if len(given) != 1:
            raise custom(
                f"{' and '.join(given) or 'nothing'} about indoor vapour", "humidity, excess or humidity_class"
            )
        return self


def quick_vapour(path: Path) -> dict[str, Any]:
    """Monthly series of every plane, both bounds of uncertain skins, the block method beside it."""
    spec = read_layers_file(path, VapourFile)
    if numbers := without_vapour(spec.layers, spec.material):
        accepted = "sd, or a material with mu and a thickness: an unknown vapour resistance proves nothing"
        raise InputRefused([Problem(f"layers[{k}].sd", "nothing about vapour", accepted) for k in numbers])
    thermal = layers_of(Assembly(id="layers", layers=spec.layers), spec.material)
    resistances = [layer.r_m2k_w for layer in thermal]
    bounds: tuple[Any, ...] = ("worse", "better") if is_uncertain(spec.layers, spec.material) else ("middle",)
    cases = {}
    for bound in bounds:
        layers = vapour_layers(spec.layers, resistances, spec.material, bound)
        cases[bound] = _case(spec, layers)
    outside = outside_the_method(spec.covering, spec.kind)
    bears = most_bearable_kg_m2(spec.layers, spec.material)
    return {
        "name": spec.name,
        "bounds": cases,
        "passes": None if outside else all(case["dries"] and case["most_kg_m2"] <= bears for case in cases.values()),
        "bears_kg_m2": bears,
        "outside_the_method": outside,
        "note": "diffusion alone: never let a pass here clear a joint that air can pass",
        "source": "ISO 13788:2012, clause 6; DIN 4108-3 (from memory) as second opinion",
    }


def _case(spec: VapourFile, layers: tuple[VapourLayer, ...]) -> dict[str, Any]:
    outdoor = np.array(spec.outdoor_c)
    outside_pa = np.array(spec.outdoor_humidity) * saturation_pressure_pa(temperature_c=outdoor)
    if spec.humidity is not None:
        inside_pa = np.full(12, spec.humidity * float(saturation_pressure_pa(temperature_c=spec.inside_c)))
    else:
        excess = float(spec.excess_pa or CLASS_PA[spec.humidity_class or 3])
        inside_pa = indoor_vapour_pa(outdoor_vapour_pa=outside_pa, outdoor_c=outdoor, excess_pa=excess)
    told = monthly_vapour(
        layers=layers, outdoor_c=outdoor, outdoor_vapour_pa=outside_pa, inside_c=np.full(12, spec.inside_c),
        inside_vapour_pa=inside_pa,
        rsi_m2k_w=RSI[spec.kind] if spec.inside_film_m2k_w is None else float(spec.inside_film_m2k_w),
        rse_m2k_w=RSE if spec.outside_film_m2k_w is None else float(spec.outside_film_m2k_w),
    )  # fmt: skip
    block = two_seasons(layers=layers, kind=spec.kind)
    return {
        "planes": planes_json(told),
        "first_month": None if told.first_month is None else told.first_month + 1,
        "most_kg_m2": told.most_kg_m2,
        "dries": told.dries,
        "two_seasons": {
            "condensed_kg_m2": float(block.condensed_kg_m2.sum()), "dried_kg_m2": float(block.dried_kg_m2.sum()),
            "holds": block.holds,
        },
    }  # fmt: skip


def planes_json(told: MonthlyVapour) -> list[dict[str, Any]]:
    """Planes that ever hold water, with their months from January on."""
    return [
        {
            "between_layers": None if plane is None else [plane, plane + 1],
            "depth_sd_m": float(told.depth_sd_m[k]),
            "condensed_kg_m2": told.taken_kg_m2[:, k].tolist(),
            "held_kg_m2": told.held_kg_m2[:, k].tolist(),
        }
        for k, plane in enumerate(told.plane)
        if told.held_kg_m2[:, k].any()
    ]
