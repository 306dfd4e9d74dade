"""What moves air."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, model_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import (
    Area,
    Coordinate,
    Duration,
    Flow,
    Id,
    Length,
    Power,
    Pressure,
    RValue,
    Share,
    Temperature,
    custom,
    system_of,
)
from inshell.units import UnitError, parse_quantity


def _point(raw: Any, info: ValidationInfo) -> Any:
    if not isinstance(raw, list | tuple) or len(raw) != 2:
        raise custom(f"{raw!r}", 'a pair of flow and pressure, such as ["80 cfm", "25 Pa"]')
    try:
        return (
            parse_quantity(raw[0], "flow", system=system_of(info)),
            parse_quantity(raw[1], "pressure", system=system_of(info)),
        )
    except UnitError as error:
        raise custom(error.found, error.accepted) from None


CurvePoint = Annotated[
    tuple[float, float],
    BeforeValidator(_point),
    WithJsonSchema({"type": "array", "description": 'flow and pressure, such as ["80 cfm", "25 Pa"]'}),
]


def _position(raw: Any) -> Any:
    if isinstance(raw, list | tuple) and len(raw) == 2:
        return {"x": raw[0], "y": raw[1]}
    return raw


class PlanPoint(Part):
    """A place on the plan."""

    x_m: Coordinate
    y_m: Coordinate


Position = Annotated[PlanPoint, BeforeValidator(_position)]


class Duct(Part):
    """A duct run."""

    diameter_m: Length = Field(gt=0, description="inside diameter")
    length_m: Length = Field(description="stretched length")
    material: Literal["smooth", "flex"] = Field("smooth", description="rigid metal or plastic, or flexible")
    compression: Share = Field(0.04, description="how much shorter than stretched a flexible duct lies")
    elbows: int = Field(0, ge=0, le=20, description="number of elbows")
    cap_loss: float = Field(2.5, ge=0, le=50, description="loss coefficient of damper and cap together")
    filter_pa: Pressure = Field(0.0, ge=0, description="pressure that its filter takes at the rated flow when loaded")
    cold_length_m: Length = Field(0.0, description="how much of it runs through the cold: loft, roof, outdoors")
    insulation_r_m2k_w: RValue = Field(0.0, description="insulation around it")
    shared_with: Id | None = Field(None, description="another device that blows into the same run")

    @model_validator(mode="after")
    def _cold_within(self) -> Duct:
        if self.cold_length_m > self.length_m * 1.001:
            raise custom("cold_length longer than the run itself", "at most length")
        return self


class Fan(Part):
    """A fan between a room and outdoors."""

    id: Id
    name: str = note()
    room: Id
    kind: Literal["exhaust", "supply"] = Field("exhaust", description="which way it moves air")
    serves: tuple[Literal["whole-house", "bath", "kitchen", "laundry"], ...] = Field(
        (), description="the duties it is counted for"
    )
    rated_flow_m3_s: Flow = Field(description="flow at its rated pressure")
    rated_pressure_pa: Pressure = Field(25.0, ge=0, description="pressure of the rating")
    maximum_pressure_pa: Pressure = Field(125.0, gt=0, description="pressure at which it moves nothing")
    curve: tuple[CurvePoint, ...] = Field((), description="points of flow and pressure, instead of the default curve")
    base_flow_m3_s: Flow = Field(0.0, description="flow at which it always runs; 0 if it only runs on demand")
    hold_time_s: Duration = Field(1200.0, description="how long a boost lasts")
    sound_sone: float | None = Field(None, ge=0, le=30, description="rated sound in sones")
    remote: bool = Field(False, description="stands more than 4 ft (1.2 m) of duct away from the room")
    power_w: Power | None = Field(None, description="electric power at the rated flow")
    duct: Duct | None = Field(None, description="its run")
    height_m: Length = Field(2.3, description="of its grille above the floor")
    position: Position | None = Field(None, description="on the plan")
    cap: Position | None = Field(None, description="where its run ends outdoors, on the plan")

    @model_validator(mode="after")
    def _base_within_reach(self) -> Fan:
        most = max([self.rated_flow_m3_s, *(point[0] for point in self.curve)])
        if self.base_flow_m3_s > most * 1.001:
            raise custom(
                f"base_flow is {self.base_flow_m3_s / most:.1f} times the most that the fan is rated for"
                if most
                else "base_flow on a fan that is rated for no flow",
                "a base flow of at most rated_flow; a boost below the base would slow the fan down when it is called",
            )
        return self


class Hood(Part):
    """A kitchen hood that blows outdoors."""

    id: Id
    name: str = note()
    room: Id
    flow_m3_s: Flow = Field(description="on its highest setting")
    rated_pressure_pa: Pressure = Field(25.0, ge=0, description="pressure of the rating")
    maximum_pressure_pa: Pressure = Field(250.0, gt=0, description="pressure at which it moves nothing")
    makeup: Literal["none", "passive", "powered"] = Field("none", description="make-up air")
    sound_sone: float | None = Field(None, ge=0, le=30, description="rated sound in sones")
    duct: Duct | None = Field(None, description="its run")
    position: Position | None = Field(None, description="on the plan")
    cap: Position | None = Field(None, description="where its run ends outdoors, on the plan")


class Dryer(Part):
    """A clothes dryer."""

    id: Id
    name: str = note()
    room: Id
    vented: bool = Field(True, description="false for one that condenses")
    flow_m3_s: Flow = Field(0.059, description="what it blows outdoors, if it does; a usual one if left out")
    rated_pressure_pa: Pressure = Field(25.0, ge=0, description="pressure of the rating")
    maximum_pressure_pa: Pressure = Field(250.0, gt=0, description="pressure at which it moves nothing")
    fuel: Literal["electric", "gas"] = Field("electric", description="what heats it")
    serves: tuple[Literal["whole-house", "laundry"], ...] = Field(
        (), description="duties that somebody counts it for; it is never counted for the whole house"
    )
    position: Position | None = Field(None, description="on the plan")
    cap: Position | None = Field(None, description="where its run ends outdoors, on the plan")


class ColdDuct(Part):
    """The part of a recovery ventilator's two runs between its core and outdoors that lies in the room."""

    diameter_m: Length = Field(gt=0, description="inside diameter")
    length_m: Length = Field(description="of each of the two")
    insulation_r_m2k_w: RValue = Field(0.0, description="insulation around it, with a vapour barrier outside")


class Ventilator(Part):
    """A recovery ventilator, for one spot or the whole house."""

    id: Id
    name: str = note()
    room: Id = Field(description="where it hangs")
    supply_rooms: tuple[Id, ...] = Field(description="rooms that get its outdoor air")
    exhaust_rooms: tuple[Id, ...] = Field(description="rooms that it takes air from")
    ducted: bool = Field(False, description="its supply air comes by duct to each room")
    supply_flow_m3_s: Flow = Field(description="outdoor air in")
    exhaust_flow_m3_s: Flow = Field(description="indoor air out")
    maximum_pressure_pa: Pressure = Field(125.0, gt=0, description="pressure at which it moves nothing")
    recovery: Share = Field(description="sensible recovery")
    recovery_kind: Literal["SRE", "ASE", "ASRE"] = Field("SRE", description="which listed efficiency that is")
    exhaust_transfer: Share = Field(0.0, description="share of exhaust air that comes back in the supply (EATR)")
    supply_stops_below_c: Temperature | None = Field(None, description="outdoor temperature that stops the supply")
    defrost: Literal["none", "exhaust-only", "recirculate", "preheat"] = Field(
        "none", description="how it keeps its core free of ice: the supply rests, both streams rest, or a heater"
    )
    defrost_below_c: Temperature = Field(-5.0, description="outdoor temperature below which it defrosts")
    defrost_share: Share = Field(0.2, description="share of the time that it then defrosts")
    condensate: Literal["drain", "none", "not-said"] = Field("not-said", description="where water from its core goes")
    cold_duct: ColdDuct | None = Field(None, description="its runs between core and outdoors, where they lie indoors")
    sound_sone: float | None = Field(None, ge=0, le=30, description="rated sound in sones")
    power_w: Power | None = Field(None, description="electric power")
    position: Position | None = Field(None, description="on the plan")
    intake: Position | None = Field(None, description="where it takes outdoor air, on the plan")
    cap: Position | None = Field(None, description="where its exhaust ends outdoors, on the plan")
    combined_cap: bool = Field(False, description="intake and exhaust in one cap that is listed for it")


class TransferFan(Part):
    """A fan through a wall between two rooms. It brings no air from outdoors."""

    id: Id
    name: str = note()
    from_room: Id = Field(description="where the air is taken")
    to_room: Id = Field(description="where it goes")
    flow_m3_s: Flow = Field(description="what it moves at its rated pressure")
    rated_pressure_pa: Pressure = Field(0.0, ge=0, description="pressure of the rating")
    maximum_pressure_pa: Pressure = Field(30.0, gt=0, description="pressure at which it moves nothing")
    duct: Duct | None = Field(None, description="its run, if it is more than a sleeve")
    face_m2: Area = Field(0.0, description="free area of its grille, for the air's speed")
    height_m: Length = Field(2.1, description="above the floor")
    return_grille_m2: Area = Field(0.0, description="free area of a way back, beside the door's gaps")
    sound_sone: float | None = Field(None, ge=0, le=30, description="rated sound in sones")
    power_w: Power | None = Field(None, description="electric power")
    position: Position | None = Field(None, description="on the plan")

    @model_validator(mode="after")
    def _two_rooms(self) -> TransferFan:
        if self.from_room == self.to_room:
            raise custom(f"from and to the same room {self.from_room!r}", "two rooms")
        return self
