"""Ids: given to what has none, never changed once written."""

from __future__ import annotations

import re
import unicodedata
from typing import Any

from inshell.house.model.tables import devices, rows_of

Addition = tuple[tuple[str | int, ...], str]

DEVICE_TABLES = devices()
TABLES = tuple(rows_of())


def slug(text: str) -> str:
    """A name as an id.

    >>> slug("Bed 2 (north)")
    'bed-2-north'
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")


def give_ids(raw: dict[str, Any]) -> tuple[dict[str, Any], list[Addition]]:
    """The content with an id for everything, and the ids that were added, each with its path.

    Only what has no id gets one, so nothing that was written before changes.
    """
    content = dict(raw)
    added: list[Addition] = []
    for table in TABLES:
        if isinstance(content.get(table), list):
            content[table] = _named(content[table], table, (table,), added)
    for table in ("room", "roof", "buffer"):
        for k, item in enumerate(_dicts(content.get(table))):
            if isinstance(item.get("outline"), list):
                item["outline"] = _corners(item["outline"], (table, k, "outline"), added)
    for k, item in enumerate(_dicts(content.get("roof"))):
        if isinstance(item.get("plane"), list):
            item["plane"] = _named(item["plane"], "plane", ("roof", k, "plane"), added)
    return content, added


def _dicts(items: Any) -> list[dict[str, Any]]:
    return items if isinstance(items, list) and all(isinstance(i, dict) for i in items) else []


def _named(items: list[Any], table: str, path: tuple[str | int, ...], added: list[Addition]) -> list[Any]:
    taken = {item["id"] for item in items if isinstance(item, dict) and isinstance(item.get("id"), str)}
    named = []
    for k, item in enumerate(items):
        if isinstance(item, dict) and "id" not in item:
            stem = slug(str(item.get("name", ""))) or table.replace("_", "-")
            new = _free(stem, taken, always_number=not item.get("name"))
            taken.add(new)
            added.append(((*path, k), new))
            item = {"id": new, **item}
        named.append(dict(item) if isinstance(item, dict) else item)
    return named


def _corners(corners: list[Any], path: tuple[str | int, ...], added: list[Addition]) -> list[Any]:
    taken = {c["id"] for c in corners if isinstance(c, dict) and isinstance(c.get("id"), str)}
    result = []
    for k, corner in enumerate(corners):
        if isinstance(corner, list) and len(corner) == 2:
            corner = {"x": corner[0], "y": corner[1]}
        if isinstance(corner, dict) and "id" not in corner:
            new = _free("c", taken, always_number=True, glue="")
            taken.add(new)
            added.append(((*path, k), new))
            corner = {"id": new, **corner}
        result.append(corner)
    return result


def _free(stem: str, taken: set[str], *, always_number: bool, glue: str = "-") -> str:
    if not always_number and stem not in taken:
        return stem
    number = 1 if always_number else 2
    while f"{stem}{glue}{number}" in taken:
        number += 1
    return f"{stem}{glue}{number}"
