"""Controls as rows: what a device, a door, a window or a set point does while a condition holds."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from inshell.house.model.base import Part, note
from inshell.house.quantities import Clock, Duration, Id, SetPoint, Share, Temperature, TemperatureDifference, custom

SENSES = (
    "humidity_above", "carbon_dioxide_above_ppm", "air_above_c", "air_below_c", "outdoor_above_c", "outdoor_below_c",
)  # fmt: skip
SET_POINTS = ("heat-to", "cool-to")


class ControlRow(Part):
    """One row of control. While its hours and its sensor say so, its target does what it says; else what it would.

    Of several rows that hold at once the one of highest `priority` prevails.
    """

    id: Id
    name: str = note()
    target: Id = Field(description="fan, hood, ventilator, transfer fan, door, window; a room for its set point")
    does: Literal["full", "base", "off", "open", "shut", "heat-to", "cool-to"] = Field(description="what it does")
    set_point_c: SetPoint | None = Field(None, description="with heat-to or cool-to")
    from_h: Clock | None = Field(None, description="hour from which it may act, with to")
    to_h: Clock | None = Field(None, description="hour at which it ends")
    days: Literal["every", "working", "free"] = Field("every", description="which days; Saturday and Sunday are free")
    room: Id | None = Field(None, description="where it senses (else where its device stands)")
    occupied: bool = Field(False, description="acts while somebody is in that room, by the household's hours")
    while_runs: Id | None = Field(None, description="acts while this other fan, hood, dryer or ventilator runs")
    humidity_above: Share | None = Field(None, description="acts above this relative humidity")
    carbon_dioxide_above_ppm: float | None = Field(None, ge=400, le=10000, description="acts above this, ppm")
    air_above_c: Temperature | None = Field(None, description="acts above this room temperature")
    air_below_c: Temperature | None = Field(None, description="acts below this room temperature")
    outdoor_above_c: Temperature | None = Field(None, description="acts above this outdoor temperature")
    outdoor_below_c: Temperature | None = Field(None, description="acts below this outdoor temperature")
    dead_band_share: Share = Field(0.05, description="of humidity, before it lets go")
    dead_band_ppm: float = Field(100.0, ge=0, le=2000, alias="dead_band_ppm", description="of carbon dioxide, ppm")
    dead_band_k: TemperatureDifference = Field(0.5, description="of temperature")
    hold_time_s: Duration = Field(0.0, description="how long it acts on after its cause has gone")
    least_on_s: Duration = Field(0.0, description="how long it acts at least")
    least_off_s: Duration = Field(0.0, description="how long it rests at least")
    priority: int = Field(0, ge=0, le=99, description="the highest prevails; equal ones in the order of their ids")

    @model_validator(mode="after")
    def _one_row(self) -> ControlRow:
        given = [name for name in SENSES if getattr(self, name) is not None]
        if self.while_runs is not None and self.while_runs == self.target:
            raise custom(f"{self.while_runs} while it runs itself", "another device")
        if len(given) > 1:
            raise custom(f"{' and '.join(given)} in one row", "one sensor a row; write a row for each")
        if (self.from_h is None) != (self.to_h is None):
            raise custom("one of from and to", "both hours or neither")
        if self.from_h is not None and self.from_h == self.to_h:
            raise custom(f"from and to both at {self.from_h:g} h, which covers no hour", "two different hours")
        if (self.does in SET_POINTS) != (self.set_point_c is not None):
            raise custom(
                f"{self.does} {'without' if self.does in SET_POINTS else 'with'} a set point",
                "set_point with heat-to or cool-to",
            )
        if self.does in SET_POINTS and given:
            raise custom(f"a set point that follows {given[0]}", "set points that go by hours and days")
        return self

    @property
    def sense(self) -> str | None:
        """Name of the sensor's limit, if it has one."""
        return next((name for name in SENSES if getattr(self, name) is not None), None)
