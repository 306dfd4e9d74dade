"""Coefficient rows with their sources. Each table lives once, as data; documentation is generated from it."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The parsed rows of `sources/<name>.toml`.

    >>> table("materials")["osb"]["conductivity_w_mk"]
    0.12
    """
    return tomllib.loads(text(f"{name}.toml"))


def text(name: str) -> str:
    """The text of a data file in this folder."""
    return files(__name__).joinpath(name).read_text(encoding="utf-8")
