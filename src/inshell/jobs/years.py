"""`inshell years`: typical years by name."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Any

from inshell.sources import table


def list_years() -> list[dict[str, Any]]:
    """Every named year, its credit and whether its package is installed."""
    return [
        {
            "name": name,
            "title": row["title"],
            "package": row["package"],
            "credit": row["credit"],
            "installed": find_spec(row["package"]) is not None,
        }
        for name, row in table("climates").items()
    ]
