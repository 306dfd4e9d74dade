"""From a weather file to a ClimateYear. pvlib is imported only here and in `sun`, and only when it is needed."""

from __future__ import annotations

import csv
import io
import json
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from inshell.climate import cache
from inshell.climate.year import HOURS, ClimateYear
from inshell.errors import InputRefused, Problem, refuse
from inshell.house.model.site import Site, WeatherFile
from inshell.physics.air import pressure_at_altitude_pa
from inshell.physics.types import Floats
from inshell.sources import table
from inshell.units import UnitError, parse_quantity

COLUMN_KINDS = {
    "dry_bulb": "temperature",
    "dew_point": "temperature",
    "pressure": "pressure",
    "wind_speed": "speed",
    "wind_direction": "angle",
    "ghi": "flux",
    "dni": "flux",
    "dhi": "flux",
    "humidity": "share",
    "hour": "count",
}
RANGES = {
    "dry_bulb": (-90.0, 65.0),
    "ghi": (-20.0, 1500.0),
    "dni": (-20.0, 1500.0),
    "dhi": (-20.0, 1200.0),
    "humidity": (0.0, 1.05),
    "dew_point": (-95.0, 45.0),
    "wind_speed": (0.0, 90.0),
}


def named_year(name: str, where: str = "climate.year") -> ClimateYear:
    """A typical year by name, prepared once and then read from the cache."""
    rows = table("climates")
    if name not in rows:
        raise refuse(where, f"no typical year is called {name!r}", ", ".join(sorted(rows)))
    row = rows[name]
    path = package_file(row["package"], row["file"], where)
    return _prepared(path, row["layout"], row["title"], row["credit"])


def package_file(package: str, file: str, where: str) -> Path:
    """A data file of an installed package, found without importing the package."""
    spec = find_spec(package)
    folder = Path(spec.origin).parent if spec and spec.origin else None
    if folder is None or not (folder / file).exists():
        raise refuse(
            where,
            f"the package {package} or its file {Path(file).name} is not installed",
            "a year whose package is installed",
            f"Install it: pip install {package}",
        )
    return folder / file


def _prepared(path: Path, layout: str, title: str, credit: str) -> ClimateYear:
    key = cache.key(path.read_bytes(), f"{layout}|{title}|{credit}")
    year = cache.load(key)
    if year is None:
        year = _read_tmy(path, layout, title, credit, key)
        cache.store(key, year)
    return year


def _read_tmy(path: Path, layout: str, title: str, credit: str, key: str) -> ClimateYear:
    import pvlib

    if layout == "psm4":
        return _read_psm4(path, title, credit, key)
    try:
        if layout == "tmy2":
            frame, meta = pvlib.iotools.read_tmy2(str(path))
            columns = _tmy2_columns(frame)
            place = (meta["latitude"], meta["longitude"], meta["altitude"], meta["TZ"])
        else:
            frame, meta = pvlib.iotools.read_tmy3(str(path), coerce_year=1990, map_variables=True)
            columns = _tmy3_columns(frame)
            place = (meta["latitude"], meta["longitude"], meta["altitude"], meta["TZ"])
    except (KeyError, ValueError, IndexError, AttributeError) as error:
        raise refuse(str(path), f"cannot be read as {layout.upper()} ({error})", f"a {layout.upper()} file") from None
    return finished(columns, title=title, credit=credit, place=tuple(map(float, place)), source_hash=key)


def _read_psm4(path: Path, title: str, credit: str, key: str) -> ClimateYear:
    """A satellite-derived year: values at mid-hour stand for the hour; its place lies in a file beside it."""
    place_file = path.with_name(path.name.replace("psm4_", "meta_")).with_suffix(".json")
    place = json.loads(place_file.read_text(encoding="utf-8"))
    names = {
        "dry_bulb": "temp_air",
        "dew_point": "dew_point",
        "wind_speed": "wind_speed",
        "pressure": "pressure",
        "wind_direction": "wind_direction",
        "ghi": "ghi",
        "dni": "dni",
        "dhi": "dhi",
    }
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    columns = {key: np.array([float(row[name]) for row in rows]) for key, name in names.items()}
    columns["pressure"] = columns["pressure"] * 100.0
    where = tuple(float(place[name]) for name in ("latitude", "longitude", "altitude", "tz"))
    return finished(columns, title=title, credit=credit, place=where, source_hash=key)


def _tmy3_columns(frame: Any) -> dict[str, Floats]:
    names = {
        "dry_bulb": "temp_air",
        "dew_point": "temp_dew",
        "wind_speed": "wind_speed",
        "wind_direction": "wind_direction",
        "ghi": "ghi",
        "dni": "dni",
        "dhi": "dhi",
    }
    columns = {key: frame[name].to_numpy(dtype=float) for key, name in names.items()}
    return columns | {"pressure": frame["pressure"].to_numpy(dtype=float) * 100.0}


def _tmy2_columns(frame: Any) -> dict[str, Floats]:
    """pvlib hands temperatures and wind speed of this layout on in tenths."""
    return {
        "dry_bulb": frame["DryBulb"].to_numpy(dtype=float) / 10.0,
        "dew_point": frame["DewPoint"].to_numpy(dtype=float) / 10.0,
        "wind_speed": frame["Wspd"].to_numpy(dtype=float) / 10.0,
        "wind_direction": frame["Wdir"].to_numpy(dtype=float),
        "pressure": frame["Pressure"].to_numpy(dtype=float) * 100.0,
        "ghi": frame["GHI"].to_numpy(dtype=float),
        "dni": frame["DNI"].to_numpy(dtype=float),
        "dhi": frame["DHI"].to_numpy(dtype=float),
    }


def finished(
    columns: dict[str, Floats], *, title: str, credit: str, place: tuple[float, ...], source_hash: str
) -> ClimateYear:
    """A ClimateYear from its columns, with the sun's place at the middle of each hour."""
    latitude, longitude, elevation, offset = place
    zenith, azimuth, extra = sun_positions(latitude, longitude, elevation, offset)
    dew = np.minimum(columns["dew_point"], columns["dry_bulb"])
    return ClimateYear(
        title=title,
        credit=credit,
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation,
        utc_offset_h=offset,
        dry_bulb_c=columns["dry_bulb"],
        dew_point_c=dew,
        pressure_pa=columns["pressure"],
        wind_speed_m_s=columns["wind_speed"],
        wind_direction_deg=columns["wind_direction"],
        ghi_w_m2=np.maximum(columns["ghi"], 0.0),
        dni_w_m2=np.maximum(columns["dni"], 0.0),
        dhi_w_m2=np.maximum(columns["dhi"], 0.0),
        sun_zenith_deg=zenith,
        sun_azimuth_deg=azimuth,
        extraterrestrial_w_m2=extra,
        source_hash=source_hash,
    )


def sun_positions(
    latitude: float, longitude: float, elevation: float, offset_h: float
) -> tuple[Floats, Floats, Floats]:
    """Apparent zenith and azimuth at each mid-hour of a common year, and the extraterrestrial beam."""
    import pandas as pd
    import pvlib

    start = pd.Timestamp("1990-01-01 00:30") - pd.Timedelta(hours=offset_h)
    times = pd.date_range(start, periods=HOURS, freq="h", tz="UTC")
    position = pvlib.solarposition.get_solarposition(times, latitude, longitude, altitude=elevation)
    extra = pvlib.irradiance.get_extra_radiation(times)
    return (
        position["apparent_zenith"].to_numpy(dtype=float),
        position["azimuth"].to_numpy(dtype=float),
        extra.to_numpy(dtype=float),
    )


def user_year(spec: WeatherFile, site: Site, folder: Path) -> ClimateYear:
    """The year of a user's own file; raises InputRefused with what is wrong in it."""
    path = folder / spec.path
    if not path.is_file():
        raise refuse("climate.file.path", f"{spec.path} is not there", "a file beside the house file", "Check the path")
    if spec.layout == "tmy3":
        return _prepared(path, "tmy3", path.stem, f"the user's file {path.name}")
    data = path.read_bytes()
    key = cache.key(data, f"{spec.model_dump_json()}|{site.latitude_deg}|{site.longitude_deg}|{site.elevation_m}")
    year = cache.load(key)
    if year is None:
        columns = _read_columns(data, spec, site)
        place = (site.latitude_deg, site.longitude_deg, site.elevation_m, spec.utc_offset_h)
        year = finished(columns, title=path.stem, credit=f"the user's file {path.name}", place=place, source_hash=key)
        cache.store(key, year)
    return year


def _read_columns(data: bytes, spec: WeatherFile, site: Site) -> dict[str, Floats]:
    try:
        rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    except UnicodeDecodeError:
        raise refuse("climate.file.path", f"{spec.path} is not UTF-8", "text in UTF-8") from None
    rows = [row for row in rows if any((value or "").strip() for value in row.values())]
    problems = _column_problems(rows, spec)
    if problems:
        raise InputRefused(problems)
    columns: dict[str, Floats] = {}
    for name, column in spec.columns.items():
        columns[name], bad = _values(rows, name, column.column, column.unit)
        problems += bad
    if problems:
        raise InputRefused(problems)
    return _completed(_in_order(columns, spec.stamp), spec, site)


def _in_order(columns: dict[str, Floats], stamp: str) -> dict[str, Floats]:
    """Rows so that index 0 is the first hour of the year: a file of hour-ending stamps that begins at 0 starts with the
    last hour of the year before, one of hour-beginning stamps that begins at 1 has its first hour last."""
    hour = columns.pop("hour", None)
    first = None if hour is None else int(hour[0]) % 24
    shift = -1 if (stamp, first) == ("hour-ending", 0) else 1 if (stamp, first) == ("hour-beginning", 1) else 0
    return {name: np.roll(values, shift) for name, values in columns.items()}


def _column_problems(rows: list[dict[str, str]], spec: WeatherFile) -> list[Problem]:
    where = "climate.file"
    problems = []
    if len(rows) != HOURS:
        missing = HOURS - len(rows)
        found = f"{len(rows)} rows" + (f": a gap of {missing} hours" if missing > 0 else "")
        problems.append(
            Problem(
                where,
                found,
                f"{HOURS} hourly rows, 29 February left out",
                "Fill the gap from a neighbouring station and say so, or use another year",
            )
        )
    if "dry_bulb" not in spec.columns:
        problems.append(Problem(f"{where}.columns", "no dry_bulb", "at least dry_bulb"))
    headers = set(rows[0]) if rows else set()
    for name, column in spec.columns.items():
        if name not in COLUMN_KINDS:
            problems.append(Problem(f"{where}.columns.{name}", "unknown column", ", ".join(COLUMN_KINDS)))
        elif rows and column.column not in headers:
            problems.append(
                Problem(
                    f"{where}.columns.{name}",
                    f"the file has no column {column.column!r}",
                    ", ".join(sorted(h for h in headers if h)),
                )
            )
    return problems


def _values(rows: list[dict[str, str]], name: str, header: str, unit: str) -> tuple[Floats, list[Problem]]:
    where = f"climate.file.columns.{name}"
    try:
        scale, offset = _affine(name, unit)
    except UnitError as error:
        return np.zeros(0), [Problem(f"{where}.unit", error.found, error.accepted)]
    values = np.full(len(rows), np.nan)
    for k, row in enumerate(rows):
        try:
            values[k] = float(row[header]) * scale + offset
        except (TypeError, ValueError):
            continue
    low, high = RANGES.get(name, (-np.inf, np.inf))
    gaps = np.flatnonzero(~np.isfinite(values))
    absurd = np.flatnonzero((values < low) | (values > high))
    problems = []
    if len(gaps):
        problems.append(
            Problem(
                where,
                f"{len(gaps)} values are missing or no numbers, the first in row {gaps[0] + 2}",
                "a number in every hour",
                "Fill the gaps and say so, or use another year",
            )
        )
    if len(absurd):
        problems.append(
            Problem(
                where,
                f"{values[absurd[0]]:.4g} in row {absurd[0] + 2}",
                f"{low:g} to {high:g}",
                "Check the column and its unit",
            )
        )
    return values, problems


def _affine(name: str, unit: str) -> tuple[float, float]:
    kind = COLUMN_KINDS[name]
    if kind == "count":
        return 1.0, 0.0
    if kind == "share":
        if unit not in ("%", "1"):
            raise UnitError(repr(unit), '"%" or "1"')
        return (0.01 if unit == "%" else 1.0), 0.0
    zero, one = parse_quantity(f"0 {unit}", kind), parse_quantity(f"1 {unit}", kind)
    return one - zero, zero


def _completed(columns: dict[str, Floats], spec: WeatherFile, site: Site) -> dict[str, Floats]:
    """Columns that were not given, from those that were; stamps that begin or end an hour mean the same row here."""
    dry = columns["dry_bulb"]
    if "dew_point" not in columns:
        columns["dew_point"] = _dew_point(dry, columns.get("humidity", np.full(HOURS, 0.7)))
    columns.setdefault("pressure", np.full(HOURS, float(pressure_at_altitude_pa(elevation_m=site.elevation_m))))
    for name in ("wind_speed", "wind_direction"):
        columns.setdefault(name, np.zeros(HOURS))
    if "ghi" in columns and not {"dni", "dhi"} <= set(columns):
        columns |= _split(columns["ghi"], spec, site)
    for name in ("ghi", "dni", "dhi"):
        columns.setdefault(name, np.zeros(HOURS))
    return columns


def _dew_point(dry_c: Floats, humidity: Floats) -> Floats:
    from inshell.physics.air import saturation_pressure_pa

    vapour = np.clip(humidity, 0.01, 1.0) * saturation_pressure_pa(temperature_c=dry_c)
    ratio = np.log(vapour / 610.5)
    return np.asarray(np.where(ratio >= 0.0, 237.3 * ratio / (17.269 - ratio), 265.5 * ratio / (21.875 - ratio)))


def _split(ghi: Floats, spec: WeatherFile, site: Site) -> dict[str, Floats]:
    """Beam and diffuse from the global irradiance (Erbs et al. 1982)."""
    import pandas as pd
    import pvlib

    zenith, _, _ = sun_positions(site.latitude_deg, site.longitude_deg, site.elevation_m, spec.utc_offset_h)
    days = pd.Index(np.arange(HOURS) // 24 + 1)
    parts = pvlib.irradiance.erbs(ghi, zenith, days)
    return {name: np.nan_to_num(np.asarray(parts[name], dtype=float)) for name in ("dni", "dhi")}
