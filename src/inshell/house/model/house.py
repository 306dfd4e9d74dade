"""The whole house."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from inshell.house.model.air_devices import Dryer, Fan, Hood, TransferFan, Ventilator
from inshell.house.model.base import Part, note
from inshell.house.model.controls import ControlRow
from inshell.house.model.enclosure import Assembly, DoorType, Enclosure, Glazing, Material, Slab, Tightness, WallChoice
from inshell.house.model.heat_devices import (
    Appliance,
    Circuit,
    Dehumidifier,
    Fixture,
    FloorHeating,
    Head,
    HeadOption,
    Heater,
    KeepOut,
    Manifold,
    OutdoorUnit,
    WaterHeater,
)
from inshell.house.model.openings import Door, Leak, Passage, TransferOpening, Window
from inshell.house.model.people import Household, Person, Prices
from inshell.house.model.promises import Promise, Rules
from inshell.house.model.rooms import Buffer, Roof, Room, Storey
from inshell.house.model.site import Climate, Simulation, Site


class House(Part):
    """One house. Every table of the file is a field here."""

    format: Literal[1] = Field(description="version of this file format")
    units: Literal["us", "si"] = Field("si", description="what a bare number means")
    provenance: Literal["measured", "documented", "assumed"] = Field(
        "assumed", description="where values come from that do not say so themselves"
    )
    name: str = note()
    address: str = note()
    site: Site
    climate: Climate = Field(description="weather and design conditions")
    household: Household = Field(default_factory=Household, description="who lives here")
    simulation: Simulation = Field(default_factory=Simulation, description="how rooms are simulated")
    tightness: Tightness = Field(default_factory=Tightness, description="design tightness")
    enclosure: Enclosure = Field(description="assemblies by default")
    material: tuple[Material, ...] = Field((), description="materials of your own")
    assembly: tuple[Assembly, ...] = Field(min_length=1, description="walls, roofs, floors")
    slab: tuple[Slab, ...] = Field((), description="slabs on the ground")
    glazing: tuple[Glazing, ...] = Field((), description="kinds of window")
    door_type: tuple[DoorType, ...] = Field((), description="kinds of door")
    wall: tuple[WallChoice, ...] = Field((), description="walls with an assembly of their own")
    storey: tuple[Storey, ...] = Field((), description="levels; one at 0 if none is given")
    room: tuple[Room, ...] = Field(min_length=1, description="rooms")
    roof: tuple[Roof, ...] = Field((), description="roofs over rooms whose ceiling follows them")
    buffer: tuple[Buffer, ...] = Field((), description="garage, crawl space, house next door")
    window: tuple[Window, ...] = Field((), description="windows")
    door: tuple[Door, ...] = Field((), description="doors")
    passage: tuple[Passage, ...] = Field((), description="openings without a leaf")
    transfer_opening: tuple[TransferOpening, ...] = Field((), description="grilles and jump ducts between rooms")
    leak: tuple[Leak, ...] = Field((), description="known holes")
    person: tuple[Person, ...] = Field((), description="people and their hours")
    fan: tuple[Fan, ...] = Field((), description="fans to outdoors")
    hood: tuple[Hood, ...] = Field((), description="kitchen hoods")
    dryer: tuple[Dryer, ...] = Field((), description="clothes dryers")
    ventilator: tuple[Ventilator, ...] = Field((), description="recovery ventilators")
    transfer_fan: tuple[TransferFan, ...] = Field((), description="fans between rooms")
    head: tuple[Head, ...] = Field((), description="ductless heads")
    head_option: tuple[HeadOption, ...] = Field((), description="heads that might be chosen instead")
    dehumidifier: tuple[Dehumidifier, ...] = Field((), description="dehumidifiers")
    outdoor_unit: tuple[OutdoorUnit, ...] = Field((), description="outdoor units")
    heater: tuple[Heater, ...] = Field((), description="electric heaters")
    circuit: tuple[Circuit, ...] = Field((), description="floor circuits")
    manifold: tuple[Manifold, ...] = Field((), description="manifolds")
    keep_out: tuple[KeepOut, ...] = Field((), description="ground that stays free of floor tube")
    floor: FloorHeating = Field(default_factory=FloorHeating, description="how the warm floor is fed and run")
    fixture: tuple[Fixture, ...] = Field((), description="what draws hot water")
    water_heater: tuple[WaterHeater, ...] = Field((), description="water heaters")
    appliance: tuple[Appliance, ...] = Field((), description="other fuel-burning appliances")
    rules: Rules = Field(default_factory=Rules, description="rules that it is judged by")
    prices: Prices = Field(default_factory=Prices, description="what things cost, for comparing remedies")
    control: tuple[ControlRow, ...] = Field((), description="what devices, doors, windows and set points do, and when")
    promise: tuple[Promise, ...] = Field((), description="promises of its own")

    @property
    def bedrooms(self) -> int:
        """Bedrooms as the rules count them."""
        if self.household.bedrooms is not None:
            return self.household.bedrooms
        return sum(room.is_bedroom for room in self.room)

    @property
    def rooms_with_heat(self) -> frozenset[str]:
        """Rooms in which a device makes heat within its own limits: heads and heaters; warm floors are told apart."""
        return frozenset([head.room for head in self.head] + [heater.room for heater in self.heater])

    def room_named(self, room_id: str) -> Room:
        """The room with an id."""
        return next(room for room in self.room if room.id == room_id)

    def floor_height_m(self, room: Room) -> float:
        """Height of a room's floor above the datum."""
        if room.floor_height_m is not None:
            return float(room.floor_height_m)
        storeys = {storey.id: storey.floor_height_m for storey in self.storey}
        if room.storey is not None:
            return float(storeys[room.storey])
        return float(min(storeys.values(), default=0.0))
