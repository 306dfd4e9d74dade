"""Windows, doors and the ways between rooms."""

from __future__ import annotations

import re
from typing import Literal

from pydantic import Field, model_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import Area, Clock, Id, Length, Share, custom

SPAN = r"([01]\d|2[0-4]):([0-5]\d)-([01]\d|2[0-4]):([0-5]\d)"
WALL = 'the wall: two corners such as "c1-c2", or a compass word of the plan where only one outer wall faces it'
AT = "from the wall's first corner (its left end seen from outside) to the near jamb; centred if left out"


class Overhang(Part):
    """A horizontal shade above a window."""

    depth_m: Length = Field(description="how far it reaches out")
    gap_m: Length = Field(0.0, description="from the head of the window up to it")
    side_m: Length = Field(0.0, description="how far it reaches past each jamb")


class Window(Part):
    """A window in an outer wall or a roof plane."""

    id: Id
    name: str = note()
    room: Id
    wall: str | None = Field(None, description=WALL)
    plane: Id | None = Field(None, description="roof plane, for a roof window")
    at_m: Length | None = Field(None, description=AT)
    sill_m: Length = Field(0.9, description="above the floor")
    width_m: Length = Field(gt=0, description="of the opening")
    height_m: Length = Field(gt=0, description="of the opening")
    glazing: Id
    openable_m2: Area = Field(0.0, description="free area when open")
    open_from_h: Clock | None = Field(None, description="hour from which it stands open every day, with open_to")
    open_to_h: Clock | None = Field(None, description="hour at which it is shut")
    overhang: Overhang | None = Field(None, description="shade above")
    fin_m: Length = Field(0.0, description="depth of fins at both jambs")
    shade: Share = Field(1.0, description="share of the sun that inner or outer shades let through")

    @model_validator(mode="after")
    def _host(self) -> Window:
        if (self.wall is None) == (self.plane is None):
            raise custom("wall and plane both given or both missing", "one of wall and plane")
        if (self.open_from_h is None) != (self.open_to_h is None):
            raise custom("one of open_from and open_to", "both hours or neither")
        if self.open_from_h is not None and self.openable_m2 <= 0.0:
            raise custom("open hours without an openable area", "openable, the free area when open")
        return self

    @property
    def area_m2(self) -> float:
        """Area of the opening."""
        return float(self.width_m * self.height_m)


class Door(Part):
    """A door to outdoors (or a buffer), or between two rooms."""

    id: Id
    name: str = note()
    room: Id | None = Field(None, description="room of an outer door")
    wall: str | None = Field(
        None, description=WALL + "; not used between two rooms: that door goes into the larger wall they share"
    )
    between: tuple[Id, Id] | None = Field(None, description="the two rooms of an inner door")
    at_m: Length | None = Field(None, description=AT)
    width_m: Length = Field(0.8128, gt=0, description="of the opening")
    height_m: Length = Field(2.032, gt=0, description="of the opening")
    type: Id | None = Field(None, description="kind of an outer door")
    undercut_m: Length = Field(0.0127, description="gap under the leaf when shut")
    jamb_gap_m: Length = Field(0.002, description="gap along jambs and head when shut")
    grille_m2: Area = Field(0.0, description="free area of a grille in it")
    open_hours: str = Field(
        "", description='when it stands open: "07:00-22:00", "always" or "never"; else unless someone sleeps behind it'
    )
    hinge: Literal["left", "right"] = Field("left", description="for the drawing, seen from outside")

    @model_validator(mode="after")
    def _host(self) -> Door:
        if (self.between is None) == (self.room is None):
            raise custom("room and between both given or both missing", "room and wall, or between")
        if self.room is not None and self.wall is None:
            raise custom("an outer door without a wall", "wall beside room")
        if self.open_hours not in ("", "always", "never") and not re.fullmatch(SPAN, self.open_hours):
            raise custom(f"open_hours {self.open_hours!r}", '"07:00-22:00", "always" or "never"')
        return self

    def is_open_at(self, hour: float) -> bool | None:
        """Whether it stands open by its own hours; None where it has none."""
        if not self.open_hours:
            return None
        if found := re.fullmatch(SPAN, self.open_hours):
            start, end = (int(found[k]) + int(found[k + 1]) / 60.0 for k in (1, 3))
            return start <= hour < end if start <= end else hour >= start or hour < end
        return self.open_hours == "always"

    @property
    def area_m2(self) -> float:
        """Area of the opening."""
        return float(self.width_m * self.height_m)


class Passage(Part):
    """An opening between two rooms that has no leaf: cased opening, stair, hatch, edge of a loft."""

    id: Id
    name: str = note()
    kind: Literal["cased-opening", "stair", "hatch", "loft-edge"]
    between: tuple[Id, Id]
    at_m: Length | None = Field(None, description=AT)
    width_m: Length | None = Field(None, description="of the opening; a loft edge is open all along")
    height_m: Length | None = Field(None, description="of the opening; to the ceiling if left out")
    area_m2: Area | None = Field(None, description="free area of a stair or hatch")


class Leak(Part):
    """A known hole or gap in the shell."""

    id: Id
    name: str = note()
    room: Id
    wall: str | None = Field(None, description="wall it is in; else the floor or the roof, by its height")
    height_m: Length = Field(0.0, description="above the floor")
    area_m2: Area = Field(description="open area")
    sealed: bool = Field(False, description="designed to be closed before the test")


class TransferOpening(Part):
    """A grille through a partition, or a jump duct from one room to another."""

    id: Id
    name: str = note()
    kind: Literal["grille", "jump-duct"] = "grille"
    between: tuple[Id, Id] = Field(description="the two rooms")
    free_area_m2: Area = Field(gt=0, description="free area, or area of the duct")
    height_m: Length = Field(2.2, description="above the floor")
    loss: float | None = Field(
        None, gt=0, le=50, description="loss coefficient on that area (grille 2.8, jump duct 5 if left out)"
    )
