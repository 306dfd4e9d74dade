"""Weather years, sun, shade: against published figures of the years and closed forms."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inshell.climate import cache
from inshell.climate.choose import climate_of
from inshell.climate.prepare import named_year, user_year
from inshell.climate.sun import incident
from inshell.climate.year import ClimateYear
from inshell.errors import InputRefused
from inshell.house.model.site import Site, WeatherFile
from inshell.physics.shading import horizon_altitude_deg, overhang_sunlit_fraction
from tests.evidence import assert_close
from tests.houses import house, rectangle

PRINTED = "half a unit of the last printed digit"
GREENSBORO = (14.422, -11.1, -9.4, 32.2, 33.3, 1566.2)
SAND_POINT = (4.421, -8.9, -8.0, 15.5, 16.6, 829.2)
MIAMI = (24.314, 8.9, 11.1, 31.7, 31.7, None)


@pytest.mark.published
@pytest.mark.parametrize(("name", "row"), [("greensboro", GREENSBORO), ("sand-point", SAND_POINT), ("miami", MIAMI)])
def test_typical_years(name: str, row: tuple[float | None, ...]) -> None:
    # the packaged years: mean, 99.6 / 99 % cold, 1 / 0.4 % hot, GHI kWh/m2 (computed from the files by another reader)
    year = named_year(name)
    got = [year.mean_c, *(year.percentile_c(p) for p in (0.4, 1.0, 99.0, 99.6))]
    assert_close(got, row[:5], abs=0.051, why="percentiles are printed to a tenth of a degree")
    if row[5] is not None:
        assert_close(year.ghi_w_m2.sum() / 1000, row[5], abs=0.06, why=PRINTED)


@pytest.mark.published
def test_places_of_the_years() -> None:
    for name, place in (
        ("greensboro", (36.1, -79.95, 273)),
        ("sand-point", (55.317, -160.517, 7)),
        ("miami", (25.8, -80.27, 2)),
    ):
        year = named_year(name)
        assert_close((year.latitude_deg, year.longitude_deg, year.elevation_m), place, abs=0.006, why=PRINTED)


@pytest.mark.published
@pytest.mark.parametrize(("azimuth", "total"), [(0, 444), (90, 901), (180, 1141), (270, 916)])
def test_facades_of_greensboro(azimuth: float, total: float) -> None:
    # vertical, Perez, albedo .2, kWh/m2 a year (+-2 %)
    got = incident(named_year("greensboro"), tilt_deg=90.0, azimuth_deg=azimuth).total_w_m2.sum() / 1000
    assert_close(got, total, rel=0.02, why="sun at mid-hour against other ways to split an hour")


@pytest.mark.published
def test_sun_position_of_the_reference_algorithm() -> None:
    # NREL/TP-560-34302: 2003-10-17 12:30:30 UTC-7, 39.742476 N 105.1786 W, 1830.14 m, 820 hPa, 11 °C, delta-T 67 s
    import pandas as pd
    import pvlib

    when = pd.DatetimeIndex(["2003-10-17 12:30:30-07:00"])
    sun = pvlib.solarposition.spa_python(when, 39.742476, -105.1786, 1830.14, 82000, 11, delta_t=67)
    assert_close(sun["apparent_zenith"].iloc[0], 50.1116, abs=1e-4, why=PRINTED)
    assert_close(sun["azimuth"].iloc[0], 194.3402, abs=1e-4, why=PRINTED)


@pytest.mark.published
def test_worked_hour_on_a_slope() -> None:
    # Duffie & Beckman 2.14.1–2.16.1 (inputs from memory): 40 N, 20 February, 9–10 solar, slope 60 south, I 1.04 MJ/m2,
    # albedo .6: isotropic 1.17, Reindl 1.28, Perez 1.37 MJ/m2 with Erbs' split of the hour and the mid-hour angle
    import pvlib

    declination = math.radians(23.45 * math.sin(math.radians(360 * (284 + 51) / 365)))
    hour, latitude = math.radians(-37.5), math.radians(40)
    cosine = math.sin(latitude) * math.sin(declination) + math.cos(latitude) * math.cos(declination) * math.cos(hour)
    zenith = math.degrees(math.acos(cosine))
    azimuth = 180 - math.degrees(
        math.acos(
            (cosine * math.sin(latitude) - math.sin(declination))
            / (math.sin(math.radians(zenith)) * math.cos(latitude))
        )
    )
    extra = 1367 * (1 + 0.033 * math.cos(math.radians(360 * 51 / 365)))
    split = pvlib.irradiance.erbs(1.04e6 / 3600, zenith, 51)
    mass = pvlib.atmosphere.get_relative_airmass(zenith)
    for model, expected in (("isotropic", 1.17), ("reindl", 1.28), ("perez", 1.37)):
        parts = pvlib.irradiance.get_total_irradiance(
            60,
            180,
            zenith,
            azimuth,
            split["dni"],
            1.04e6 / 3600,
            split["dhi"],
            dni_extra=extra,
            airmass=mass,
            albedo=0.6,
            model=model,
        )
        assert_close(
            parts["poa_global"] * 3600 / 1e6, expected, abs=0.03, why="the book carries two decimals through five steps"
        )


@pytest.mark.analytic
def test_prepared_sun_stands_where_the_mid_hour_puts_it() -> None:
    # 21 June, hour 12 to 13, 79.95 W on UTC-5: solar time 12:30 - 19.8 min - 1.8 min (equation of time) = 12:08.4
    year = named_year("greensboro")
    hour = 24 * 171 + 12
    angle, latitude, declination = math.radians(8.4 / 4), math.radians(36.1), math.radians(23.44)
    height = math.asin(
        math.sin(latitude) * math.sin(declination) + math.cos(latitude) * math.cos(declination) * math.cos(angle)
    )
    azimuth = math.atan2(
        math.sin(angle), math.cos(angle) * math.sin(latitude) - math.tan(declination) * math.cos(latitude)
    )
    assert_close(
        90 - year.sun_zenith_deg[hour], math.degrees(height), abs=0.05, why="declination to a hundredth, refraction"
    )
    assert_close(
        year.sun_azimuth_deg[hour], 180 + math.degrees(azimuth), abs=0.6, why="a tenth of a minute of solar time"
    )


@pytest.mark.invariant
def test_a_flat_surface_sees_the_global_irradiance() -> None:
    year = named_year("greensboro")
    flat = incident(year, tilt_deg=0.0, azimuth_deg=180.0).total_w_m2.sum()
    assert_close(flat, year.ghi_w_m2.sum(), rel=0.02, why="measured global against beam and diffuse of the file")


@pytest.mark.invariant
def test_a_skyline_takes_away_and_never_adds() -> None:
    year = named_year("greensboro")
    free = incident(year, tilt_deg=90.0, azimuth_deg=90.0).total_w_m2
    hill = incident(year, tilt_deg=90.0, azimuth_deg=90.0, skyline=((90.0, 25.0), (270.0, 0.0))).total_w_m2
    assert np.all(hill <= free + 1e-9)
    assert hill.sum() < 0.95 * free.sum()


def share(**kwargs: Any) -> float:
    base = {
        "window_azimuth_deg": 180.0,
        "width_m": 1.0,
        "height_m": 1.5,
        "overhang_m": 0.6,
        "gap_m": 0.1,
        "side_m": 50.0,
    }
    return float(overhang_sunlit_fraction(**(base | kwargs)))


@pytest.mark.analytic
def test_overhang_straight_on() -> None:
    # at 45 degrees an overhang of .6 m shades .6 m below it, .5 m of a 1.5 m window
    assert_close(share(altitude_deg=45.0, azimuth_deg=180.0), 1 - 0.5 / 1.5, abs=0.02, why="32 strips of the height")
    # profile angle: tan(30)/cos(60) = 1.1547 -> drop .6928
    assert_close(
        share(altitude_deg=30.0, azimuth_deg=240.0), 1 - 0.5928 / 1.5, abs=0.025, why="32 strips of the height"
    )
    assert share(altitude_deg=45.0, azimuth_deg=0.0) == 0.0
    assert share(altitude_deg=-5.0, azimuth_deg=180.0) == 0.0
    assert share(altitude_deg=45.0, azimuth_deg=180.0, overhang_m=0.0) == 1.0


@pytest.mark.analytic
@pytest.mark.parametrize(("altitude", "azimuth", "side"), [(50, 180, 0), (40, 215, 0), (60, 150, 0.3), (25, 235, 0.1)])
def test_overhang_against_rays_traced_one_by_one(altitude: float, azimuth: float, side: float) -> None:
    """Rays from a grid of points on the window to the sun, and whether each meets the overhang."""
    gamma, high = math.radians(azimuth - 180), math.radians(altitude)
    out, right, up = math.cos(high) * math.cos(gamma), math.cos(high) * math.sin(gamma), math.sin(high)
    lit = 0
    n = 160
    for i in range(n):
        for j in range(n):
            x, below = (i + 0.5) / n * 1.0, 0.1 + (j + 0.5) / n * 1.5
            reach = below / up
            hits = out * reach <= 0.6 and -side <= x + right * reach <= 1.0 + side
            lit += not hits
    got = share(altitude_deg=altitude, azimuth_deg=azimuth, side_m=side)
    assert_close(got, lit / n**2, abs=0.025, why="32 strips of the height, 160 x 160 rays")


@pytest.mark.analytic
def test_skyline_goes_round_the_compass() -> None:
    line = ((350.0, 10.0), (10.0, 20.0), (180.0, 0.0))
    got = horizon_altitude_deg(azimuth_deg=np.array([0.0, 350.0, 95.0]), horizon=line)
    assert_close(got, [15.0, 10.0, 10.0], abs=1e-9, why="linear between points, over north as well")


@pytest.mark.invariant
def test_a_prepared_year_comes_back_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    year = named_year("sand-point")
    monkeypatch.setenv("INSHELL_CACHE", str(tmp_path))
    assert cache.load("x") is None
    cache.store("x", year)
    back = cache.load("x")
    assert back is not None
    assert back.same_as(year)
    (tmp_path / "x.npz").write_bytes(b"broken")
    assert cache.load("x") is None


# ---------------------------------------------------------------------------------------- users' own files


def hourly(tmp_path: Path, *, rows: int = 8760, spoil: dict[int, str] | None = None, sun: bool = True) -> Path:
    hours = np.arange(rows)
    lines = ["time,t_out,ghi"]
    for h in hours:
        value = (spoil or {}).get(int(h), f"{50 + 30 * math.sin(2 * math.pi * h / 8760):.2f}")
        glow = max(0.0, 600 * math.sin(2 * math.pi * ((h % 24) - 6) / 24)) if sun else 0.0
        lines.append(f"{h},{value},{glow:.1f}")
    path = tmp_path / "year.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def spec(**more: Any) -> WeatherFile:
    raw = {
        "path": "year.csv",
        "columns": {"dry_bulb": {"column": "t_out", "unit": "°F"}, "ghi": {"column": "ghi", "unit": "W/m2"}},
        "utc_offset": -5,
    }
    return WeatherFile.model_validate(raw | more)


SITE = Site.model_validate({"latitude": 40, "longitude": -80, "elevation": 500})


@pytest.mark.analytic
def test_a_user_file_with_declared_units(tmp_path: Path) -> None:
    hourly(tmp_path)
    year = user_year(spec(), SITE, tmp_path)
    assert_close(year.mean_c, 10.0, abs=1e-3, why="a sine about 50 °F")
    assert_close(np.ptp(year.dry_bulb_c), 60 / 1.8, rel=1e-3, why="amplitude 30 °F")
    assert_close(year.pressure_pa[0], 95461, abs=2.0, why="standard atmosphere at 500 m")
    beam = year.dni_w_m2 * np.cos(np.radians(year.sun_zenith_deg)).clip(0)
    assert_close(
        (beam + year.dhi_w_m2).sum(), year.ghi_w_m2.sum(), rel=0.03, why="split hours near sunrise are cut off"
    )


@pytest.mark.invariant
def test_the_stamp_decides_which_row_is_the_first_hour(tmp_path: Path) -> None:
    columns = {"dry_bulb": {"column": "t", "unit": "°C"}, "hour": {"column": "h", "unit": "h"}}

    def first(hours: list[int], stamp: str) -> tuple[float, float]:
        rows = [f"{hours[0] + k if hours[0] else k % 24},{k / 1000:.3f}" for k in range(8760)]
        (tmp_path / "year.csv").write_text("h,t\n" + "\n".join(rows) + "\n", encoding="utf-8")
        year = user_year(spec(columns=columns, stamp=stamp), SITE, tmp_path)
        return float(year.dry_bulb_c[0]), float(year.dry_bulb_c[-1])

    assert first([1], "hour-ending") == (0.0, 8.759)
    assert first([0], "hour-beginning") == (0.0, 8.759)
    assert first([0], "hour-ending") == (0.001, 0.0)
    assert first([1], "hour-beginning") == (8.759, 8.758)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("rows", "spoil", "more", "word"),
    [
        (8000, None, {}, "gap of 760 hours"),
        (8760, {100: "", 101: "n/a"}, {}, "2 values are missing"),
        (8760, {100: "500"}, {}, "-90 to 65"),
        (8760, None, {"columns": {"dry_bulb": {"column": "temp", "unit": "°F"}}}, "no column 'temp'"),
        (8760, None, {"columns": {"dry_bulb": {"column": "t_out", "unit": "furlong"}}}, "no unit of temperature"),
        (8760, None, {"columns": {"warmth": {"column": "t_out", "unit": "°F"}}}, "no dry_bulb"),
        (8760, None, {"path": "gone.csv"}, "not there"),
        (8760, None, {"layout": "tmy3"}, "TMY3"),
    ],
)
def test_bad_weather_files(
    tmp_path: Path, rows: int, spoil: dict[int, str] | None, more: dict[str, Any], word: str
) -> None:
    hourly(tmp_path, rows=rows, spoil=spoil)
    with pytest.raises(InputRefused, match=word):
        user_year(spec(**more), SITE, tmp_path)


@pytest.mark.invariant
def test_design_conditions_say_where_they_come_from() -> None:
    room = [{"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 5)}]
    entered = climate_of(house(room), Path())
    assert (entered.design.heating_c, entered.design.heating_basis) == (-10.0, "entered")
    assert entered.year is None
    by_year = climate_of(house(room, climate={"year": "greensboro"}), Path())
    assert_close(by_year.design.heating_c, -9.4, abs=0.01, why="99 % of the packaged year")
    assert "percentile" in by_year.design.heating_basis
    assert "design-from-percentile" in [f.code for f in by_year.findings]
    with pytest.raises(InputRefused, match="neither a year"):
        climate_of(house(room, climate={}), Path())


@pytest.mark.invariant
def test_months_add_up_to_the_year() -> None:
    year: ClimateYear = named_year("greensboro")
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert_close(year.monthly_means("dry_bulb_c") @ days / 365, year.mean_c, rel=1e-12, why="weighted mean")


@pytest.mark.invariant
def test_an_extra_package_that_is_missing_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inshell.climate.prepare.find_spec", lambda _: None)
    with pytest.raises(InputRefused, match="pip install pvdeg"):
        named_year("golden")
