"""What the shell is made of."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import (
    Conductivity,
    Density,
    Flow,
    Id,
    Length,
    RValue,
    Share,
    SpecificHeat,
    Thickness,
    UValue,
    VapourThickness,
    custom,
)


class Material(Part):
    """A material of your own, beside the built-in list."""

    id: Id
    name: str = note()
    conductivity_w_mk: Conductivity = Field(description="thermal conductivity")
    density_kg_m3: Density = Field(description="density")
    specific_heat_j_kgk: SpecificHeat = Field(description="specific heat")
    mu_dry: float | None = Field(None, ge=1, description="vapour resistance factor, dry side")
    mu_wet: float | None = Field(None, ge=1, description="vapour resistance factor, wet side")


class Framing(Part):
    """Lumber that crosses a layer."""

    share: Share = Field(description="share of the area")
    material: Id = Field("softwood", description="its material")


class Layer(Part):
    """One layer, from outside to inside: a material with a thickness, or a resistance alone."""

    material: Id | None = Field(None, description="built-in or own material")
    thickness_m: Thickness | None = Field(None, description="thickness")
    r_m2k_w: RValue | None = Field(None, description="resistance of the layer, where it is known better so")
    conductivity_w_mk: Conductivity | None = Field(None, description="instead of a material")
    density_kg_m3: Density | None = Field(None, description="instead of a material's")
    specific_heat_j_kgk: SpecificHeat | None = Field(None, description="instead of a material's")
    framing: Framing | None = Field(None, description="lumber that crosses the layer")
    sd_m: VapourThickness | None = Field(None, description="equivalent air layer thickness for vapour")

    @model_validator(mode="after")
    def _enough(self) -> Layer:
        known = self.material is not None or self.conductivity_w_mk is not None
        if self.r_m2k_w is None and not (known and self.thickness_m is not None):
            raise custom("neither a material with a thickness nor an r", "material and thickness, or r")
        if self.framing and self.thickness_m is None:
            raise custom("framing in a layer without thickness", "a thickness beside the framing")
        return self


class Panel(Part):
    """Size of the factory panels of an assembly, for the length of their joints."""

    width_m: Length = Field(gt=0, description="panel width")
    length_m: Length = Field(7.3152, gt=0, description="longest panel")


class Assembly(Part):
    """A wall, roof, floor, ceiling or partition."""

    id: Id
    name: str = note()
    layers: tuple[Layer, ...] = Field((), description="from outside to inside")
    u_w_m2k: UValue | None = Field(None, description="U-value with films, where it is known instead of the layers")
    covering: Literal["not-said", "vented", "shingles", "metal", "membrane"] = Field(
        "not-said", description="what keeps rain off its outside, beyond its layers: how far it lets vapour out"
    )
    thickness_m: Length | None = Field(None, description="total thickness (else the sum of the layers)")
    panel: Panel | None = Field(None, description="factory panels, for the length of joints")
    fire_rated: bool = Field(False, description="a rated separation: no transfer opening may pass it")

    @model_validator(mode="after")
    def _layers_or_u(self) -> Assembly:
        if bool(self.layers) == (self.u_w_m2k is not None):
            raise custom("layers and u both given or both missing", "either layers or u")
        return self

    @property
    def total_thickness_m(self) -> float:
        """Thickness, outside to inside."""
        if self.thickness_m is not None:
            return float(self.thickness_m)
        return float(sum(layer.thickness_m or 0.0 for layer in self.layers))


class EdgeInsulation(Part):
    """Insulation along the edge of a slab."""

    kind: Literal["vertical", "horizontal"] = Field(description="down the edge, or flat below it")
    r_m2k_w: RValue = Field(description="resistance")
    depth_m: Length = Field(description="depth or width")
    thickness_m: Length = Field(0.05, description="thickness")


class Slab(Part):
    """A slab on the ground."""

    id: Id
    name: str = note()
    thickness_m: Length = Field(0.1, gt=0, description="concrete")
    conductivity_w_mk: Conductivity = Field(1.8, description="of the concrete")
    under_r_m2k_w: RValue = Field(0.0, description="insulation under the whole slab")
    edge: EdgeInsulation | None = Field(None, description="insulation along the edge")
    covering_r_m2k_w: RValue = Field(0.0, description="floor covering")
    heated: bool = Field(False, description="holds warm-water tubes")


class Glazing(Part):
    """A kind of window."""

    id: Id
    name: str = note()
    u_w_m2k: UValue = Field(description="whole window, frame included")
    shgc: Share = Field(description="solar heat gain coefficient of the whole window")
    frame_share: Share = Field(0.2, description="share of the opening that is frame")


class DoorType(Part):
    """A kind of door."""

    id: Id
    name: str = note()
    u_w_m2k: UValue = Field(description="whole door")
    glazing_share: Share = Field(0.0, description="share that is glass")


class Enclosure(Part):
    """Which assembly each surface has unless a room or a wall says otherwise."""

    wall: Id = Field(description="outer walls")
    roof: Id = Field(description="sloped or flat roof over a room")
    floor: Id = Field(description="lowest floor: a slab, or an assembly over air or a buffer")
    ceiling: Id | None = Field(None, description="flat ceilings under a cold space (else the roof)")
    partition: Id | None = Field(None, description="walls between rooms")
    mid_floor: Id | None = Field(None, description="floors between rooms")
    buffer_wall: Id | None = Field(None, description="walls to a buffer (else the outer wall)")
    partition_thickness_m: Length = Field(0.1143, gt=0, le=0.6, description="thickness of partitions")
    thermal_bridge_w_m2k: float = Field(0.02, ge=0, le=1, description="added to walls, roofs and windows, W/m2K")
    air_barrier: Literal["inner-face", "outer-face"] = Field("inner-face", description="where the air barrier lies")


class Tightness(Part):
    """How tight the house is designed to be. What was measured lies in the job folder."""

    ach50: float | None = Field(None, gt=0, le=60, description="air changes at 50 Pa (n50) of the air-barrier volume")
    flow_at_50_pa_m3_s: Flow | None = Field(None, gt=0, description="flow at 50 Pa, instead of ach50")
    exponent: float = Field(0.65, ge=0.5, le=1.0, description="pressure exponent n")
    shielding: Literal["open", "moderate", "sheltered"] = Field("moderate", description="exposure for infiltration")

    @model_validator(mode="after")
    def _one(self) -> Tightness:
        if self.ach50 is not None and self.flow_at_50_pa_m3_s is not None:
            raise custom("both ach50 and flow_at_50_pa", "one of ach50 and flow_at_50_pa")
        return self


class WallChoice(Part):
    """Another assembly for one wall of a room."""

    room: Id
    wall: str = Field(description='the wall: two corners such as "c1-c2", or a compass word of the plan')
    assembly: Id
