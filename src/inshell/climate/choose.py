"""The climate of a house: its year, its design conditions, and where each came from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from inshell.climate.prepare import named_year, user_year
from inshell.climate.year import ClimateYear
from inshell.errors import refuse
from inshell.findings import Finding
from inshell.house.model.house import House
from inshell.physics.air import pressure_at_altitude_pa

Basis = Literal["entered", "percentile of the typical year", "mean of the typical year", "not known"]


@dataclass(frozen=True)
class Design:
    """Design conditions; None where nothing says them."""

    heating_c: float
    heating_basis: Basis
    cooling_c: float | None
    cooling_basis: Basis
    mean_annual_c: float
    mean_basis: Basis


@dataclass(frozen=True)
class HouseClimate:
    """Everything about the weather of one house."""

    year: ClimateYear | None
    design: Design
    pressure_pa: float
    findings: tuple[Finding, ...]


FAR_M = 150_000.0
EARTH_M = 6_371_000.0


def _distance_m(house: House, year: ClimateYear) -> float:
    """Great-circle distance between the house and the station, by the haversine formula."""
    lat1, lat2 = math.radians(house.site.latitude_deg), math.radians(year.latitude_deg)
    across = math.radians(year.longitude_deg - house.site.longitude_deg)
    half = math.sin((lat2 - lat1) / 2.0) ** 2 + math.cos(lat1) * math.cos(lat2) * math.sin(across / 2.0) ** 2
    return 2.0 * EARTH_M * math.asin(math.sqrt(half))


def climate_of(house: House, folder: Path) -> HouseClimate:
    """The climate that a house asks for; raises InputRefused if its weather cannot be read."""
    spec = house.climate
    year = named_year(spec.year) if spec.year else user_year(spec.file, house.site, folder) if spec.file else None
    if year is None and spec.heating_design_c is None:
        raise refuse(
            "climate",
            "neither a year nor a heating_design temperature",
            "one of the two",
            'Add year = "greensboro" or heating_design = "5 °F" with its source',
        )
    findings = []
    if year is not None and abs(year.elevation_m - house.site.elevation_m) > 300.0:
        findings.append(
            Finding(
                "year-from-other-altitude",
                "climate",
                {
                    "year": year.title,
                    "station": (year.elevation_m, "length"),
                    "site": (house.site.elevation_m, "length"),
                },
            )
        )
    if year is not None and spec.year and (away := _distance_m(house, year)) > FAR_M:
        findings.append(
            Finding("year-from-far-away", "climate.year", {"year": year.title, "distance_km": round(away / 1000.0)})
        )
    if year is not None and float(year.ghi_w_m2.sum()) <= 0.0:
        findings.append(Finding("year-without-sun", "climate", {"year": year.title}))
    design = _design(house, year)
    if "percentile" in design.heating_basis:
        findings.append(
            Finding("design-from-percentile", "climate", {"temperature": (design.heating_c, "temperature")})
        )
    return HouseClimate(
        year=year,
        design=design,
        findings=tuple(findings),
        pressure_pa=float(pressure_at_altitude_pa(elevation_m=house.site.elevation_m)),
    )


def _design(house: House, year: ClimateYear | None) -> Design:
    spec = house.climate
    heating = spec.heating_design_c
    cooling = spec.cooling_design_c
    mean = spec.mean_annual_c
    if year is not None:
        return Design(
            heating_c=heating if heating is not None else year.percentile_c(1.0),
            heating_basis="entered" if heating is not None else "percentile of the typical year",
            cooling_c=cooling if cooling is not None else year.percentile_c(99.0),
            cooling_basis="entered" if cooling is not None else "percentile of the typical year",
            mean_annual_c=mean if mean is not None else year.mean_c,
            mean_basis="entered" if mean is not None else "mean of the typical year",
        )
    if heating is None:
        raise refuse("climate.heating_design", "missing", "a design temperature")
    return Design(
        heating_c=heating,
        heating_basis="entered",
        cooling_c=cooling,
        cooling_basis="entered" if cooling is not None else "not known",
        mean_annual_c=mean if mean is not None else 10.0,
        mean_basis="entered" if mean is not None else "not known",
    )
