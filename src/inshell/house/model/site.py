"""Where the house stands and which weather it gets."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from inshell.house.model.base import Part
from inshell.house.quantities import Angle, Direction, Elevation, Share, Temperature, TemperatureDifference, custom

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class SkylinePoint(Part):
    """One point of the skyline."""

    azimuth_deg: Direction = Field(description="true direction")
    altitude_deg: Angle = Field(description="height of the skyline there")


class Site(Part):
    """The place."""

    latitude_deg: float = Field(ge=-90, le=90, description="degrees north")
    longitude_deg: float = Field(ge=-180, le=180, description="degrees east (west is negative)")
    elevation_m: Elevation = Field(0.0, description="height above sea level")
    plan_north_deg: Direction = Field(0.0, description="true direction to which the plan's y axis (its top) points")
    terrain: Literal["open", "suburban", "urban"] = Field("suburban", description="shelter from wind")
    soil: Literal["clay", "sand", "rock"] = Field("clay", description="ground under the house")
    climate_zone: int | None = Field(None, ge=0, le=8, description="energy-code climate zone, for the tightness limits")
    ground_reflectance: Share = Field(0.2, description="share of sunlight that the ground reflects")
    skyline: tuple[SkylinePoint, ...] = Field((), description="hills and neighbours that hide the sun")
    authority: str = Field("", description="the code official's office; no calculation reads it")

    @property
    def horizon(self) -> tuple[tuple[float, float], ...]:
        """The skyline as (azimuth, altitude) [deg]."""
        return tuple((float(p.azimuth_deg), float(p.altitude_deg)) for p in self.skyline)


class Simulation(Part):
    """Choices of the coupled simulation, each by name."""

    convection: Literal["constant", "by-difference"] = Field(
        "constant",
        description="indoor convection: the standard's constants, or by temperature difference and direction",
    )
    sky: Literal["air-less-11", "dew-point"] = Field(
        "air-less-11", description="sky: 11 K below the air, or a clear sky by the dew point"
    )
    first_day: Weekday = Field("monday", description="day of the week on which the weather year begins")


class Column(Part):
    """One column of an hourly file."""

    column: str = Field(description="header of the column")
    unit: str = Field(description="its unit, such as °C, °F, Pa, hPa, W/m2, m/s, mph, deg, %")


class WeatherFile(Part):
    """An hourly file of the user's own, with what its columns mean."""

    path: str = Field(description="path from the house file's folder")
    layout: Literal["tmy3", "columns"] = Field("columns", description="a TMY3 file, or declared columns")
    columns: dict[str, Column] = Field(
        default_factory=dict,
        description="dry_bulb (required), dew_point or humidity, pressure, wind_speed, wind_direction, ghi, dni, dhi; "
        "and hour, to check the stamp",
    )
    stamp: Literal["hour-ending", "hour-beginning"] = Field(
        "hour-ending", description="whether a row's time ends or begins its hour"
    )
    utc_offset_h: float = Field(0.0, ge=-12, le=14, description="local standard time less UTC, hours")


class Climate(Part):
    """Weather year and design conditions."""

    year: str | None = Field(None, description="a typical year by name: greensboro, sand-point, miami, …")
    file: WeatherFile | None = Field(None, description="an hourly file instead of a named year")
    heating_design_c: Temperature | None = Field(None, description="design cold (else the year's 99 %)")
    cooling_design_c: Temperature | None = Field(None, description="design heat (else the year's 1 %)")
    cooling_wet_bulb_c: Temperature | None = Field(None, description="coincident wet bulb")
    daily_range_k: TemperatureDifference | None = Field(None, description="daily range on the cooling design day")
    mean_annual_c: Temperature | None = Field(None, description="yearly mean (else the year's)")
    design_source: str = Field("", description="where the design conditions come from")

    @model_validator(mode="after")
    def _one_year(self) -> Climate:
        if self.year and self.file:
            raise custom("both a named year and a file", "one of year and file")
        heat, cool = self.heating_design_c, self.cooling_design_c
        if heat is not None and cool is not None and heat >= cool:
            raise custom(
                f"heating_design of {heat:g} °C, cooling_design of {cool:g} °C", "design cold below design heat"
            )
        return self
