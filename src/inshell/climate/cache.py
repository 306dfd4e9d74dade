"""Prepared years on disk, by the hash of their source and of the code that prepared them."""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
import zipfile
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np

from inshell.climate.year import SERIES, ClimateYear
from inshell.physics.types import Floats

VERSION = "1"


def folder() -> Path:
    """Where prepared years lie: INSHELL_CACHE, or the user's cache folder."""
    base = os.environ.get("INSHELL_CACHE")
    if base:
        return Path(base)
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "inshell"


def key(data: bytes, recipe: str) -> str:
    """Hash of a source and of how it is read."""
    return hashlib.sha256(b"\0".join([VERSION.encode(), recipe.encode(), data])).hexdigest()


def load(name: str) -> ClimateYear | None:
    """A prepared year, or None if there is none or it cannot be read."""
    path = folder() / f"{name}.npz"
    try:
        with np.load(path, allow_pickle=False) as stored:
            values = {field.name: stored[field.name] for field in fields(ClimateYear)}
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, EOFError):
        return None
    plain = {k: v if k in SERIES else v.item() for k, v in values.items()}
    return ClimateYear(**plain)


def store(name: str, year: ClimateYear) -> None:
    """Keep a prepared year; a folder that cannot be written to is no reason to fail."""
    _write(name, {f.name: np.asarray(getattr(year, f.name)) for f in fields(year)})


def load_arrays(name: str, count: int) -> list[Floats] | None:
    """Arrays that were kept, or None if they are not there or cannot be read."""
    try:
        with np.load(folder() / f"{name}.npz", allow_pickle=False) as stored:
            return [stored[f"a{k}"] for k in range(count)]
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, EOFError):
        return None


def store_arrays(name: str, arrays: list[Floats]) -> None:
    """Keep arrays in their order; a folder that cannot be written to is no reason to fail."""
    _write(name, {f"a{k}": values for k, values in enumerate(arrays)})


def _write(name: str, arrays: dict[str, Any]) -> None:
    """Write beside and rename."""
    with contextlib.suppress(OSError):
        folder().mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=folder(), suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, **arrays)
            os.replace(part, folder() / f"{name}.npz")
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
