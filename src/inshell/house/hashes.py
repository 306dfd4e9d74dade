"""Three hashes: of the file's bytes, of what a run reads, and of the shell."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from inshell.house.model.house import House

UNREAD = {
    "name", "address", "authority", "design_source", "source", "hinge", "position", "cap", "intake", "vent",
    "combined_cap",
}  # fmt: skip
SHELL_TABLES = (
    "storey",
    "room",
    "roof",
    "buffer",
    "window",
    "door",
    "leak",
    "enclosure",
    "wall",
    "assembly",
    "slab",
    "material",
)
HOLES = ("fan", "hood", "dryer", "ventilator", "head", "water_heater", "appliance")
ROOM_FACTS = ("id", "storey", "outline", "floor_height_m", "ceiling", "collar_m", "wall", "roof", "floor")
DOOR_FACTS = ("id", "room", "wall", "at_m", "width_m", "height_m")


def sha256(data: bytes) -> str:
    """Hash of bytes."""
    return hashlib.sha256(data).hexdigest()


APART = {"units", "provenance", "promise", "rules", "prices", "head_option"}


def model_hash(house: House) -> str:
    """Hash of the canonical content that a run reads: no names, comments, rules, promises, order or units of entry."""
    return sha256(json.dumps(canonical(house.model_dump(exclude=APART))).encode())


def shell_hash(house: House) -> str:
    """Hash of volumes, enclosure, openings and what passes the shell: what a tightness result hangs on."""
    dump = house.model_dump()
    shell: dict[str, Any] = {table: dump[table] for table in SHELL_TABLES}
    shell["room"] = [{key: room[key] for key in ROOM_FACTS} for room in dump["room"]]
    shell["door"] = [{key: door[key] for key in DOOR_FACTS} for door in dump["door"] if door["room"]]
    shell["holes"] = [
        f"{table}.{item['id']}"
        for table in HOLES
        for item in dump[table]
        if not (table == "dryer" and not item["vented"])
    ]
    shell["assembly"] = [{"id": a["id"], "panel": a["panel"], "thickness": a["thickness_m"]} for a in dump["assembly"]]
    shell.pop("material")
    return sha256(json.dumps(canonical(shell)).encode())


def canonical(value: Any) -> Any:
    """Plain data in one order: keys sorted, tables by id, floats to ten digits, unread words left out."""
    if isinstance(value, dict):
        return {key: canonical(value[key]) for key in sorted(value) if key not in UNREAD}
    if isinstance(value, list | tuple):
        items = [canonical(item) for item in value]
        if items and all(isinstance(i, dict) and "id" in i and "x_m" not in i for i in items):
            return sorted(items, key=lambda item: str(item["id"]))
        return sorted(items) if items and all(isinstance(i, str) for i in items) else items
    if isinstance(value, float):
        return float(f"{value:.10g}")
    return value
