"""`inshell climate`: the weather of a house, its ground, its mains water, and the sun on its windows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from inshell.climate.choose import HouseClimate, climate_of
from inshell.climate.sun import incident
from inshell.climate.year import MONTH_HOURS, ClimateYear
from inshell.design.gains import overhang_share
from inshell.findings import Finding
from inshell.house.geometry.surfaces import OUTDOORS
from inshell.house.reading import HouseFile, read_house
from inshell.physics.air import density_kg_m3
from inshell.physics.ground import undisturbed_ground_c
from inshell.physics.hot_water import mains_water_c
from inshell.physics.types import Floats

MID_MONTH = np.cumsum(MONTH_HOURS) / 24.0 - MONTH_HOURS / 48.0
SOIL_DIFFUSIVITY_M2_DAY = 0.0432
GROUND_DEPTH_M = 1.0
Skyline = tuple[tuple[float, float], ...]
PERCENTS = (0.4, 1.0, 99.0, 99.6)


@dataclass(frozen=True)
class WindowSun:
    """Sun that reaches a window in a year, per area: unshaded, and with its overhang and the skyline."""

    window: str
    azimuth_deg: float
    tilt_deg: float
    free_kwh_m2: float
    shaded_kwh_m2: float


@dataclass(frozen=True)
class SiteClimate:
    """Everything about the weather that later results rest on."""

    file: HouseFile
    climate: HouseClimate
    outdoor_c: Floats | None
    ground_c: Floats | None
    mains_c: Floats | None
    windows: tuple[WindowSun, ...]

    @property
    def density_kg_m3(self) -> float:
        """Density of air at 20 °C at the site's altitude."""
        return float(density_kg_m3(temperature_c=20.0, pressure_pa=self.climate.pressure_pa))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the choice of climate gives cause to say."""
        return self.climate.findings

    def as_json(self) -> dict[str, Any]:
        """The document of `climate --json`."""
        design, year = self.climate.design, self.climate.year
        names = ("heating_c", "heating_basis", "cooling_c", "cooling_basis", "mean_annual_c", "mean_basis")
        return {
            "design": {name: getattr(design, name) for name in names},
            "year": year and {"title": year.title, "credit": year.credit, "elevation_m": year.elevation_m},
            "percentiles_c": year and {f"{p:g}": year.percentile_c(p) for p in PERCENTS},
            "pressure_pa": self.climate.pressure_pa,
            "density_kg_m3": self.density_kg_m3,
            "monthly_outdoor_c": _list(self.outdoor_c),
            "monthly_ground_1_m_c": _list(self.ground_c),
            "monthly_mains_c": _list(self.mains_c),
            "windows": [vars(w) for w in self.windows],
            "findings": [f.as_json(self.file.house.units) for f in self.findings],
        }


def _list(values: Floats | None) -> list[float] | None:
    return None if values is None else [float(v) for v in values]


def site_climate(path: Path) -> SiteClimate:
    """The climate of a house file."""
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    year = climate.year
    if year is None:
        return SiteClimate(file, climate, None, None, None, ())
    outdoor = year.monthly_means("dry_bulb_c")
    ground = undisturbed_ground_c(
        depth_m=GROUND_DEPTH_M,
        day=MID_MONTH,
        mean_c=climate.design.mean_annual_c,
        amplitude_k=0.5 * year.monthly_swing_k,
        coldest_day=year.coldest_day,
        diffusivity_m2_day=SOIL_DIFFUSIVITY_M2_DAY,
    )
    mains = mains_water_c(day=MID_MONTH, mean_air_c=climate.design.mean_annual_c, monthly_swing_k=year.monthly_swing_k)
    return SiteClimate(file, climate, outdoor, ground, mains, tuple(_window_suns(file, year)))


def _window_suns(file: HouseFile, year: ClimateYear) -> list[WindowSun]:
    house, surfaces = file.house, {s.id: s for s in file.geometry.surfaces}
    placed = {p.id: p for p in file.geometry.openings}
    skyline = house.site.horizon
    rows = []
    for window in house.window:
        host = surfaces[placed[window.id].surface]
        if host.other != OUTDOORS:
            continue  # into a garage or a porch: no sun is counted
        ways: tuple[tuple[Skyline, Floats | float], ...] = (((), 1.0), (skyline, overhang_share(window, host, year)))
        free, shaded = (
            incident(
                year,
                tilt_deg=host.tilt_deg,
                azimuth_deg=host.azimuth_deg,
                ground_reflectance=house.site.ground_reflectance,
                skyline=hills,
                beam_share=passed,
            ).total_w_m2
            for hills, passed in ways
        )
        totals = float(free.sum()) / 1000.0, float(shaded.sum()) / 1000.0
        rows.append(WindowSun(window.id, host.azimuth_deg, host.tilt_deg, *totals))
    return rows
