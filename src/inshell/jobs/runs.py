"""Runs kept for reuse: by what the house, its weather, the scenario and the code were."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import asdict, fields
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from inshell.climate import cache as climate_cache
from inshell.climate.choose import HouseClimate
from inshell.design.year_run import STEP_S, YearRun, calculate_year
from inshell.house.reading import HouseFile
from inshell.network.system import Balances

PACKAGES = ("physics", "climate", "house", "network", "design", "study", "sources")


@cache
def code_version() -> str:
    """Hash of everything that a run's numbers depend on, the compiled step's source with it."""
    digest = hashlib.sha256()
    root = Path(str(files("inshell")))
    for package in PACKAGES:
        for path in sorted((root / package).rglob("*")):
            if path.suffix in (".py", ".c", ".toml", ".txt"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def run_key(file: HouseFile, climate: HouseClimate, *, scenario: str, step_s: float, tested_m3_s: float | None) -> str:
    """Hash of model, weather, design conditions, scenario, step, tested leakage and code."""
    year = climate.year.source_hash if climate.year else ""
    said = [file.model_hash, year, asdict(climate.design), scenario, step_s, tested_m3_s, code_version()]
    return hashlib.sha256(json.dumps(said, default=str).encode()).hexdigest()


def _path(key: str) -> Path:
    return climate_cache.folder() / f"run-{key}.npz"


def stored_year(key: str) -> YearRun | None:
    """A run that was kept, or None."""
    try:
        with np.load(_path(key), allow_pickle=False) as stored:
            plain = json.loads(str(stored["plain"]))
            arrays = {f.name: stored[f.name] for f in fields(YearRun) if f.name in stored}
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, EOFError):
        return None
    return YearRun(
        rooms=tuple(plain["rooms"]),
        held=tuple(plain["held"]),
        routes=tuple(tuple(row) for row in plain["routes"]),
        surfaces=tuple(tuple(row) for row in plain["surfaces"]),
        slot_s=plain["slot_s"],
        balances=Balances(**plain["balances"]),
        **arrays,
    )


def keep_year(key: str, run: YearRun) -> None:
    """Keep a run, written beside and renamed; a folder that cannot be written to is no reason to fail."""
    arrays: dict[str, Any] = {
        f.name: getattr(run, f.name) for f in fields(run) if isinstance(getattr(run, f.name), np.ndarray)
    }
    plain = {name: getattr(run, name) for name in ("rooms", "held", "routes", "surfaces", "slot_s")}
    plain["balances"] = asdict(run.balances)
    with contextlib.suppress(OSError):
        climate_cache.folder().mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=climate_cache.folder(), suffix=".part")
        try:
            with os.fdopen(handle, "wb") as out:
                np.savez(out, plain=np.array(json.dumps(plain)), **arrays)
            os.replace(part, _path(key))
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise


ROOMS = "rooms, doors shut and open, samples, remedies"


def rooms_key(file: HouseFile, climate: HouseClimate, tested_m3_s: float | None) -> str:
    """The key of what `inshell rooms` said of a house; its promises and limits are compared apart."""
    return run_key(file, climate, scenario=ROOMS, step_s=STEP_S, tested_m3_s=tested_m3_s)


def keep_document(key: str, document: dict[str, Any]) -> None:
    """Keep plain data, written beside and renamed; a folder that cannot be written to is no reason to fail."""
    path = climate_cache.folder() / f"run-{key}.json"
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                json.dump(document, out)
            os.replace(part, path)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise


def kept_document(key: str) -> dict[str, Any] | None:
    """Plain data that was kept, or None."""
    try:
        document: dict[str, Any] = json.loads((climate_cache.folder() / f"run-{key}.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return document


def year_of(
    file: HouseFile,
    climate: HouseClimate,
    *,
    step_s: float = STEP_S,
    slot_s: float = 3600.0,
    tested_m3_s: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> YearRun:
    """The house's year: read back if it was kept and nothing has changed, else run and kept."""
    scenario = f"year, doors by hours, slots of {slot_s:g} s"
    key = run_key(file, climate, scenario=scenario, step_s=step_s, tested_m3_s=tested_m3_s)
    run = stored_year(key)
    if run is None:
        run = calculate_year(
            file.house,
            file.geometry,
            climate,
            step_s=step_s,
            slot_s=slot_s,
            tested_flow_m3_s=tested_m3_s,
            progress=progress,
        )
        keep_year(key, run)
    return run


def kept_year(file: HouseFile, climate: HouseClimate, *, tested_m3_s: float | None = None) -> YearRun | None:
    """The house's year if it was run before and nothing has changed since."""
    if climate.year is None:
        return None
    scenario = "year, doors by hours, slots of 3600 s"
    return stored_year(run_key(file, climate, scenario=scenario, step_s=STEP_S, tested_m3_s=tested_m3_s))
