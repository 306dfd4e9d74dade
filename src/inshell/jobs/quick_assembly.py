"""`inshell quick assembly`: U-value and daily response of layers, without a house file."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from inshell.house.model.base import Part, note
from inshell.house.model.enclosure import Assembly, Layer, Material, Panel
from inshell.house.quantities import Id, RValue
from inshell.jobs.layers_file import read_layers_file
from inshell.network.construction import film_resistances, layers_of
from inshell.physics.conduction import periodic_response, u_value


class AssemblyFile(Part):
    """The file of `inshell quick assembly`: layers from outside to inside, as in a house file."""

    format: Literal[1] = Field(1, description="version of this file format")
    units: Literal["us", "si"] = Field("si", description="what a bare number means")
    id: Id = Field("assembly", description="its id")
    name: str = note()
    kind: Literal["wall", "roof", "ceiling", "floor"] = Field("wall", description="which way heat flows")
    inside_film_m2k_w: RValue | None = Field(None, description="inside surface resistance, if not ISO 6946's")
    outside_film_m2k_w: RValue | None = Field(None, description="outside surface resistance, if not ISO 6946's")
    layers: tuple[Layer, ...] = Field(min_length=1, description="from outside to inside")
    material: tuple[Material, ...] = Field((), description="materials of your own")
    panel: Panel | None = Field(None, description="unused here; accepted so that a house's assembly can be pasted")


def quick_assembly(path: Path) -> dict[str, Any]:
    """U, R and the daily response of the layers in a file."""
    return _answer(read_layers_file(path, AssemblyFile))


def _answer(spec: AssemblyFile) -> dict[str, Any]:
    layers = layers_of(Assembly(id=spec.id, layers=spec.layers), spec.material)
    inside, outside = film_resistances(spec.kind, "outdoors")
    inside = spec.inside_film_m2k_w if spec.inside_film_m2k_w is not None else inside
    outside = spec.outside_film_m2k_w if spec.outside_film_m2k_w is not None else outside
    bridged = u_value(layers=layers, rsi_m2k_w=inside, rse_m2k_w=outside)
    daily = periodic_response(layers=layers, rsi_m2k_w=inside, rse_m2k_w=outside)
    return {
        "u_w_m2k": bridged.u_w_m2k,
        "r_ip": 5.678263 / bridged.u_w_m2k,
        "r_m2k_w": 1.0 / bridged.u_w_m2k,
        "upper_r_m2k_w": bridged.upper_r_m2k_w,
        "lower_r_m2k_w": bridged.lower_r_m2k_w,
        "inside_film_m2k_w": inside,
        "outside_film_m2k_w": outside,
        "periodic_transmittance_w_m2k": daily.transmittance_w_m2k,
        "decrement": daily.decrement,
        "time_shift_h": daily.time_shift_h,
        "inside_admittance_w_m2k": daily.inside_admittance_w_m2k,
        "source": "ISO 6946:2017 (mean of both limits); ISO 13786:2017 (24 h, framing left out)",
    }
