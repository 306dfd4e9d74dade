"""Rooms, storeys, roofs and what lies beside the house."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import (
    Coordinate,
    CornerId,
    Direction,
    Height,
    Id,
    Length,
    Pitch,
    SetPoint,
    custom,
    system_of,
)
from inshell.units import UnitError, parse_quantity

WET_USES = ("bath", "toilet")
Use = Literal[
    "living",
    "kitchen",
    "kitchen-living",
    "bedroom",
    "bath",
    "toilet",
    "hall",
    "utility",
    "laundry",
    "closet",
    "office",
    "stair",
    "loft",
    "shaft",
    "other",
]


class Corner(Part):
    """A corner of an outline."""

    id: CornerId
    x_m: Coordinate = Field(description="along the plan, to the right")
    y_m: Coordinate = Field(description="up the plan")


class Storey(Part):
    """A level that rooms stand on."""

    id: Id
    name: str = note()
    floor_height_m: Coordinate = Field(0.0, description="finished floor above the house's datum")


class Room(Part):
    """A room: an outline, a floor and a ceiling.

    Outlines meet on the centre-line of partitions and lie on the inner face of outer walls.
    """

    id: Id
    name: str = note()
    use: Use = Field("other", description="what it is for; rules ask")
    storey: Id | None = Field(None, description="storey it stands on (else the only one)")
    outline: tuple[Corner, ...] = Field(description="corners in order, as x and y pairs or tables with an id")
    floor_height_m: Coordinate | None = Field(None, description="own floor height, for a loft or a step")
    ceiling: float | Literal["roof"] = Field(description='height of a flat ceiling above the floor, or "roof"')
    collar_m: Length | None = Field(None, gt=0, description="flat part under a roof ceiling, above the floor")
    wall: Id | None = Field(None, description="assembly of its outer walls, if not the house's")
    roof: Id | None = Field(None, description="assembly of its roof, if not the house's")
    floor: Id | None = Field(None, description="slab or assembly of its lowest floor, if not the house's")
    heating_set_point_c: SetPoint | None = Field(None, description="if not the household's")
    heated: bool = Field(True, description="held at its set point on the design day")

    @field_validator("ceiling", mode="before")
    @classmethod
    def _ceiling(cls, raw: Any, info: ValidationInfo) -> Any:
        if raw == "roof":
            return raw
        try:
            height = parse_quantity(raw, "length", system=system_of(info))
        except UnitError as error:
            raise custom(error.found, 'a height such as "8 ft", or "roof"') from None
        if not 0.3 <= height <= 30.0:
            raise custom(f"{raw!r} is {height:.3g} m", "0.3 to 30 m")
        return height

    @property
    def is_bedroom(self) -> bool:
        """Whether rules count it as a bedroom."""
        return self.use == "bedroom"


class RoofPlane(Part):
    """One plane of a roof, by its inner face."""

    id: Id
    falls_deg: Direction = Field(description="direction of the plan towards which it falls")
    pitch_deg: Pitch = Field(description="slope, as a pitch or an angle, never a bare number")
    eave_height_m: Height | None = Field(
        None, description="height of its inner face at the lowest inner wall face it covers, above the datum"
    )
    at: Corner | None = Field(None, description="a plan point on the plane, with height, instead of eave_height")
    height_m: Height | None = Field(None, description="height of the plane at that point")
    assembly: Id | None = Field(None, description="if not the house's")

    @field_validator("at", mode="before")
    @classmethod
    def _pair(cls, raw: Any) -> Any:
        if isinstance(raw, list) and len(raw) == 2:
            return {"id": "at", "x": raw[0], "y": raw[1]}
        return {"id": "at", **raw} if isinstance(raw, dict) else raw


class Roof(Part):
    """Planes that meet: within one roof the lowest governs, where two roofs overlap the higher."""

    id: Id
    name: str = note()
    outline: tuple[Corner, ...] = Field((), description="part of the plan it covers (else all of it)")
    plane: tuple[RoofPlane, ...] = Field(min_length=1, description="its planes")


class Buffer(Part):
    """A space beside, above or below that is not held at temperature."""

    id: Id
    name: str = note()
    kind: Literal["garage", "crawl-space", "basement", "attic", "house-next-door", "porch", "other"]
    outline: tuple[Corner, ...] = Field((), description="its plan (else: walls or beneath)")
    floor_height_m: Coordinate = Field(0.0, description="its floor above the datum")
    height_m: Length = Field(2.4, gt=0, description="its height")
    beneath: bool = Field(False, description="lies under the whole lowest floor")
    above: bool = Field(False, description="lies over every flat top ceiling")
    walls: tuple[str, ...] = Field((), description='outer walls that face it, such as "living:c1-c2" or "living:west"')
    temperature_factor: float | None = Field(
        None, ge=0, le=1, description="share of the indoor-outdoor difference that it sees (EN 12831 b); else by kind"
    )

    @property
    def factor(self) -> float:
        """Share of the indoor-outdoor difference across the boundary to this space."""
        by_kind = {
            "garage": 0.8,
            "crawl-space": 0.8,
            "basement": 0.5,
            "attic": 0.9,
            "house-next-door": 0.0,
            "porch": 0.8,
            "other": 0.8,
        }
        return by_kind[self.kind] if self.temperature_factor is None else self.temperature_factor
