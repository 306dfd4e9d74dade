"""Who lives here, and when."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from inshell.house.model.base import Part, note
from inshell.house.quantities import Clock, Id, SetPoint, Share, TemperatureDifference


class Household(Part):
    """How many live here and how they hold the house."""

    bedrooms: int | None = Field(None, ge=0, le=20, description="as the rules count them (else rooms of that use)")
    occupants: int | None = Field(None, ge=0, le=60, description="known occupants (else bedrooms + 1)")
    heating_set_point_c: SetPoint = Field(21.111111111111, description="on the heating design day")
    cooling_set_point_c: SetPoint = Field(23.888888888889, description="on the cooling design day")
    comfort_heating_k: TemperatureDifference = Field(
        1.1111111111111, gt=0, description="how far a room may be from its set point while heating"
    )
    comfort_cooling_k: TemperatureDifference = Field(
        1.6666666666667, gt=0, description="how far a room may be from its set point while cooling"
    )
    humidity_most: Share = Field(0.60, description="relative humidity above which hours count")
    winter_humidity: Share = Field(0.40, description="indoor relative humidity on the design day")
    reheat_hours: float | None = Field(
        None, ge=1, le=4, description="hours to win back a set-back of 1 K (EN 12831); none if left out"
    )


class Prices(Part):
    """What things cost, in one currency; what has no price is compared by watts alone."""

    currency: str = note()
    dated: str = note()
    electricity_kwh: float | None = Field(None, ge=0, description="a kilowatt-hour")
    fuel_kwh: float | None = Field(None, ge=0, description="a kilowatt-hour of the water heater's fuel")
    floor_loop: float | None = Field(None, ge=0, description="a circuit of floor tube with its part of the plant")
    room_heater: float | None = Field(None, ge=0, description="an electric room heater, installed")
    transfer_fan: float | None = Field(None, ge=0, description="a transfer fan, installed")
    grille: float | None = Field(None, ge=0, description="a grille or a larger undercut")
    head: float | None = Field(None, ge=0, description="a further head on the outdoor unit, installed")
    shade: float | None = Field(None, ge=0, description="a shade, a window")
    dehumidifier: float | None = Field(None, ge=0, description="a dehumidifier, installed")


class Person(Part):
    """One person or several alike."""

    id: Id
    name: str = note()
    count: int = Field(1, ge=1, le=20, description="how many alike")
    age: int = Field(35, ge=0, le=110, description="years")
    sex: Literal["female", "male", "either"] = Field("either", description="for the rate of carbon dioxide")
    sleeps_in: Id = Field(description="room")
    asleep_from_h: Clock = Field(22.5, description="goes to sleep")
    asleep_to_h: Clock = Field(6.5, description="gets up")
    away_from_h: Clock | None = Field(None, description="leaves on working days")
    away_to_h: Clock | None = Field(None, description="comes back")
