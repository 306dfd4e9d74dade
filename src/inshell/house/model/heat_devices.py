"""What heats, cools and burns."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from inshell.house.model.air_devices import Position
from inshell.house.model.base import Part, note
from inshell.house.quantities import (
    Duration,
    Flow,
    Id,
    Length,
    Liquid,
    Power,
    RValue,
    Share,
    Temperature,
    TemperatureDifference,
    WaterFlow,
    custom,
)
from inshell.house.quantities import Head as PumpHead


class HeadPoint(Part):
    """One line of a head's data sheet."""

    mode: Literal["heating", "cooling"]
    outdoor_c: Temperature = Field(description="outdoor temperature of the point")
    minimum_w: Power | None = Field(None, description="least capacity while running")
    rated_w: Power | None = Field(None, description="capacity at the rating speed")
    maximum_w: Power = Field(description="greatest capacity")
    power_w: Power | None = Field(None, description="electric power at the greatest capacity")
    minimum_power_w: Power | None = Field(None, description="electric power at the least capacity")

    @model_validator(mode="after")
    def _in_order(self) -> HeadPoint:
        known = [w for w in (self.minimum_w, self.rated_w, self.maximum_w) if w is not None]
        if known != sorted(known):
            raise custom("minimum, rated and maximum that do not rise", "minimum at most rated at most maximum")
        return self


class Head(Part):
    """An indoor unit of a ductless heat pump."""

    id: Id
    name: str = note()
    room: Id
    outdoor_unit: Id | None = Field(None, description="outdoor unit that it hangs on")
    nameplate_w: Power | None = Field(None, description="size by its name; never used as capacity in the cold")
    point: tuple[HeadPoint, ...] = Field((), description="data-sheet points")
    air_flow_m3_s: tuple[Flow, ...] = Field((), description="air flow at each speed, lowest first")
    line_length_m: Length = Field(0.0, description="refrigerant line")
    line_factor: Share = Field(1.0, description="capacity left at that line length, by the maker")
    height_m: Length = Field(2.1, description="above the floor")
    sensible_share: Share = Field(0.75, description="sensible share of the rated cooling, air at 80 °F, wet bulb 67 °F")
    thermostat_room: Id | None = Field(None, description="room whose air its thermostat senses, if another")
    thermostat_reads_high_k: TemperatureDifference = Field(
        0.0, description="how much warmer it reads, as near a ceiling"
    )
    fan_always: bool = Field(False, description="its fan goes on while the compressor stands")
    condensate: Literal["gravity", "pump", "not-said"] = Field("not-said", description="where its water goes")
    refrigerant: Literal["not-flammable", "mildly-flammable", "not-said"] = Field("not-said", description="its class")
    position: Position | None = Field(None, description="on the plan")

    @model_validator(mode="after")
    def _points_in_order(self) -> Head:
        """Each outdoor temperature once; no more heat the colder, no more cooling the hotter it is outdoors."""
        for mode, sign in (("heating", 1.0), ("cooling", -1.0)):
            points = sorted((p.outdoor_c, p.maximum_w) for p in self.point if p.mode == mode)
            for (one, first), (two, second) in pairwise(points):
                if two - one < 0.05:
                    raise custom(f"two {mode} points at one outdoor temperature", "each outdoor temperature once")
                if sign * (second - first) < -0.02 * max(first, second):
                    worse = "colder" if mode == "heating" else "hotter"
                    raise custom(
                        f"{mode} points out of order: more capacity the {worse} it is outdoors",
                        f"{mode} points whose maximum does not rise as it gets {worse}",
                    )
        return self


class HeadOption(Head):
    """A head that might be installed instead; those of one group would be installed together."""

    group: Id | None = Field(None, description="heads that would be installed together; by default it stands alone")
    price: float | None = Field(None, ge=0, description="installed, in the currency of prices")


class Dehumidifier(Part):
    """A dehumidifier."""

    id: Id
    name: str = note()
    room: Id
    removes_l_day: float = Field(gt=0, le=200, description="water at its rating, litres a day")
    rating: Literal["65F-60", "80F-60"] = Field("65F-60", description="air at which that was measured: 60 % humidity")
    power_w: Power = Field(description="electric power while it runs")
    on_above: Share = Field(0.55, description="relative humidity above which it runs")
    dead_band_share: Share = Field(0.05, description="of humidity, before it stops")
    position: Position | None = Field(None, description="on the plan")


class OutdoorUnit(Part):
    """The outdoor unit of one head or several."""

    id: Id
    name: str = note()
    minimum_w: Power | None = Field(None, description="least total output")
    maximum_w: Power | None = Field(None, description="greatest total output")
    position: Position | None = Field(None, description="on the plan")


class Heater(Part):
    """An electric resistance heater."""

    id: Id
    name: str = note()
    room: Id
    power_w: Power = Field(description="heat")
    position: Position | None = Field(None, description="on the plan")


class Circuit(Part):
    """A circuit of warm-water tube in a slab."""

    id: Id
    name: str = note()
    rooms: tuple[Id, ...] = Field(min_length=1, description="rooms it warms")
    manifold: Id
    tube: Literal["3/8", "1/2", "5/8", "3/4", "16x2", "17x2", "20x2"] = Field("1/2", description="nominal size")
    spacing_m: Length = Field(ge=0.05, le=0.61, description="between tubes")
    depth_m: Length = Field(0.05, gt=0, description="of the tube's axis below the top of the slab")
    covering_r_m2k_w: RValue = Field(0.0, description="floor covering")
    flow_m3_s: WaterFlow | None = Field(None, gt=0, description="design flow")


class KeepOut(Part):
    """Ground that must stay free of floor tube: a rectangle round its middle, or a circle."""

    id: Id
    name: str = note()
    kind: Literal["cabinet", "tub", "shower", "toilet", "anchor", "joint", "other"] = Field(description="what it is")
    position: Position = Field(description="its middle, on the plan")
    width_m: Length | None = Field(None, gt=0, description="along x")
    depth_m: Length | None = Field(None, gt=0, description="along y")
    radius_m: Length | None = Field(None, gt=0, description="of a circle, instead of width and depth")

    @model_validator(mode="after")
    def _has_a_shape(self) -> KeepOut:
        sides = self.width_m is not None and self.depth_m is not None
        if sides == (self.radius_m is not None):
            raise custom("no one shape", "width and depth, or radius")
        return self


class PumpPoint(Part):
    """One point of a pump's curve."""

    flow_m3_s: WaterFlow = Field(ge=0, description="flow")
    head_pa: PumpHead = Field(ge=0, description="head that it makes there")


class FloorHeating(Part):
    """How the warm floor is fed and run."""

    wall_clearance_m: Length = Field(0.1524, gt=0, description="between walls or fixtures and the nearest tube")
    glycol: Share = Field(0.0, le=0.6, description="propylene glycol in the floor's water, by mass")
    drop_k: TemperatureDifference = Field(5.6, gt=0, description="between supply and return on the design day")
    supply_c: Temperature | None = Field(
        None, description="supply on the design day; by default what the governing room needs"
    )
    supply_most_c: Temperature = Field(60.0, description="at which the high limit of the floor switches off")
    sensor: Literal["air", "slab"] = Field("air", description="what its thermostat senses")
    slab_set_point_c: Temperature | None = Field(None, description="set point of a slab sensor")
    dead_band_k: TemperatureDifference = Field(1.0, gt=0, description="between on and off")
    reset: bool = Field(True, description="supply temperature by outdoor reset")
    lockout_above_c: Temperature | None = Field(None, description="outdoor temperature above which it stays off")
    setback_k: TemperatureDifference = Field(0.0, ge=0, description="lower set point at night")
    pump: tuple[PumpPoint, ...] = Field((), description="curve of its pump, highest head first")
    exchanger_cv: float | None = Field(None, gt=0, description="of its exchanger, floor side: gpm at 1 psi")
    exchanger_effectiveness: Share = Field(0.8, ge=0.2, description="of its exchanger")
    double_wall: Literal["yes", "no", "not-said"] = Field("not-said", description="whether its exchanger has two walls")
    maker_approves: Literal["yes", "no", "not-said"] = Field(
        "not-said", description="whether the heater's maker allows it to warm floors"
    )
    buffer_m3: Liquid = Field(0.0, ge=0, description="buffer tank")


class Manifold(Part):
    """Where circuits begin and end."""

    id: Id
    name: str = note()
    room: Id
    position: Position | None = Field(None, description="on the plan")


class HeatPumpPoint(Part):
    """One point of an air-to-water heat pump's map."""

    outdoor_c: Temperature = Field(description="outdoor temperature")
    water_c: Temperature = Field(description="of the water that leaves it")
    heat_w: Power = Field(description="heat")
    power_w: Power = Field(gt=0, description="electric power")


class Fixture(Part):
    """A tap, shower or machine that draws hot water."""

    id: Id
    name: str = note()
    kind: Literal["shower", "tub", "lavatory", "kitchen", "washer", "dishwasher"] = Field(description="what it is")
    room: Id
    flow_m3_s: WaterFlow | None = Field(None, gt=0, description="at the tap; by default the usual one")
    mixed_c: Temperature | None = Field(None, description="at the tap; by default the usual one")
    use: Share | None = Field(None, description="share of the busiest hour that it runs; by default the usual one")


class WaterHeater(Part):
    """What makes hot water, and perhaps the floor's water."""

    id: Id
    name: str = note()
    room: Id | None = Field(None, description="room it stands in; none if outdoors")
    kind: Literal["tankless", "tank", "heat-pump-tank", "air-to-water"]
    fuel: Literal["gas", "propane", "electric"]
    venting: Literal["sealed", "power-vented", "natural-draft", "none"] = Field("none", description="flue")
    input_minimum_w: Power | None = Field(None, description="least fire")
    input_maximum_w: Power | None = Field(None, description="greatest fire or element")
    efficiency: Share = Field(0.9, description="heat to water per input")
    set_point_c: Temperature = Field(48.9, ge=25.0, le=95.0, description="outlet temperature")
    feeds_floor: bool = Field(False, description="also warms the floor")
    activation_m3_s: WaterFlow | None = Field(None, description="least flow that starts it")
    stored_m3: Liquid = Field(0.0, description="hot water that it stores")
    priority_most_s: Duration = Field(2700.0, description="how long the taps may hold the floor back")
    mixing_valve: Literal["yes", "no", "not-said"] = Field("not-said", description="tempered to the taps by a valve")
    map: tuple[HeatPumpPoint, ...] = Field((), description="air-to-water: heat and power by both temperatures")
    separation: Literal["exchanger", "none", "not-said"] = Field(
        "not-said", description="between floor water and the taps"
    )
    position: Position | None = Field(None, description="on the plan")
    vent: Position | None = Field(None, description="where its flue ends outdoors, on the plan")


class Appliance(Part):
    """A fuel-burning appliance inside the shell, for the cautions and the pressure screening."""

    id: Id
    name: str = note()
    room: Id
    kind: Literal["furnace", "boiler", "fireplace", "wood-stove", "range", "other"]
    venting: Literal["sealed", "induced", "natural-draft", "none"]
    position: Position | None = Field(None, description="on the plan")
    vent: Position | None = Field(None, description="where its flue ends outdoors, on the plan")
