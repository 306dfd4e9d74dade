"""Series of a run as a table in an open columnar format, the unit of each column in its metadata."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from inshell.design.year_run import YearRun
from inshell.errors import refuse
from inshell.physics.types import Floats

ROOM_SERIES = (
    ("room_c", "air_c", "°C", "air temperature"),
    ("operative_c", "operative_c", "°C", "operative temperature"),
    ("heat_w", "heat_w", "W", "heat (cold negative) given to hold the set point"),
    ("humidity", "relative_humidity", "1", "relative humidity"),
    ("carbon_dioxide_ppm", "carbon_dioxide_ppm", "ppm", "carbon dioxide by volume"),
    ("age_s", "age_of_air_s", "s", "mean age of the air"),
    ("pressure_pa", "pressure_pa", "Pa", "pressure at the datum height, indoor minus outdoor"),
    ("condensed_kg", "condensed_kg", "kg", "water that the air could not hold, in the slot"),
)


def columns_of(run: YearRun) -> list[tuple[str, Floats, str, str]]:
    """(name, values, unit, meaning) of every column: time, outdoors, rooms, routes both ways."""
    hours = np.linspace(0.0, len(run.outdoor_c) * run.slot_s / 3600.0, len(run.outdoor_c), endpoint=False)
    rows: list[tuple[str, Floats, str, str]] = [
        ("time_h", hours, "h", "start of the slot since the year began, standard time"),
        ("outdoor_c", run.outdoor_c, "°C", "outdoor temperature"),
    ]
    for k, room in enumerate(run.rooms):
        rows += [(f"{room}.{name}", getattr(run, field)[:, k], unit, said) for field, name, unit, said in ROOM_SERIES]
    for k, (surface, room) in enumerate(run.surfaces):
        rows.append((f"surface.{surface}@{room}.c", run.surface_c[:, k], "°C", f"inner face of {surface} in {room}"))
    for k, (route, one, two) in enumerate(run.routes):
        rows.append((f"route.{route}.forward_kg_s", run.forward_kg_s[:, k], "kg/s", f"air from {one} to {two}"))
        rows.append((f"route.{route}.back_kg_s", run.back_kg_s[:, k], "kg/s", f"air from {two} to {one}"))
    return rows


def write_series(path: Path, run: YearRun, facts: dict[str, str]) -> None:
    """Write beside and rename; raises InputRefused for a name or a folder that cannot be."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    if path.suffix != ".parquet" or path.is_dir():
        raise refuse("--output", str(path), "a file name that ends in .parquet")
    if not path.parent.is_dir():
        raise refuse("--output", f"the folder {path.parent} does not exist", "a folder that exists", "Make it first")
    arrays: list[Any] = []
    schema: list[Any] = []
    for name, values, unit, said in columns_of(run):
        arrays.append(pa.array(values))
        schema.append(pa.field(name, pa.float64(), metadata={"unit": unit, "meaning": said}))
    table = pa.Table.from_arrays(arrays, schema=pa.schema(schema, metadata=facts))
    try:
        handle, part = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise refuse(str(path), f"cannot be written: {error.strerror}", "a folder that can be written to") from None
    os.close(handle)
    try:
        pq.write_table(table, part, compression="zstd")
        os.chmod(part, 0o644)
        os.replace(part, path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise
