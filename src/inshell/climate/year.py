"""One year of hourly weather, ready to use."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from inshell.physics.types import Floats

HOURS = 8760
MONTH_HOURS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
SERIES = (
    "dry_bulb_c",
    "dew_point_c",
    "pressure_pa",
    "wind_speed_m_s",
    "wind_direction_deg",
    "ghi_w_m2",
    "dni_w_m2",
    "dhi_w_m2",
    "sun_zenith_deg",
    "sun_azimuth_deg",
    "extraterrestrial_w_m2",
)


@dataclass(frozen=True)
class ClimateYear:
    """Hourly means over the hour that begins at each index, in local standard time; sun angles at mid-hour."""

    title: str
    credit: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float
    dry_bulb_c: Floats
    dew_point_c: Floats
    pressure_pa: Floats
    wind_speed_m_s: Floats
    wind_direction_deg: Floats
    ghi_w_m2: Floats
    dni_w_m2: Floats
    dhi_w_m2: Floats
    sun_zenith_deg: Floats
    sun_azimuth_deg: Floats
    extraterrestrial_w_m2: Floats
    source_hash: str = ""

    def monthly_means(self, series: str) -> Floats:
        """Mean of a series over each month, shape (12,)."""
        ends = np.cumsum(MONTH_HOURS)
        values: Floats = getattr(self, series)
        return np.array([values[end - n : end].mean() for end, n in zip(ends, MONTH_HOURS, strict=True)])

    @property
    def mean_c(self) -> float:
        """Yearly mean temperature."""
        return float(self.dry_bulb_c.mean())

    @property
    def monthly_swing_k(self) -> float:
        """Warmest less coldest monthly mean."""
        return float(np.ptp(self.monthly_means("dry_bulb_c")))

    @property
    def coldest_day(self) -> float:
        """Middle day of the coldest month, as the ground's surface feels it."""
        month = int(np.argmin(self.monthly_means("dry_bulb_c")))
        return float((np.cumsum(MONTH_HOURS)[month] - MONTH_HOURS[month] / 2) / 24.0)

    def percentile_c(self, percent: float) -> float:
        """Dry bulb that is not exceeded for a percentage of the year's hours."""
        return float(np.percentile(self.dry_bulb_c, percent))

    def same_as(self, other: ClimateYear) -> bool:
        """Whether every field is equal."""
        return all(np.array_equal(getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
