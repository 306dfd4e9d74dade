"""Where the inputs of a result come from, and which values are defaults."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from inshell.house.ids import TABLES
from inshell.house.model.base import file_key
from inshell.house.provenance import Origin, weakest
from inshell.house.reading import HouseFile

QUIET = {"name", "id", "hinge", "position", "address", "authority", "design_source", "provenance"}


def origin_of(file: HouseFile, fields: list[tuple[str, str, str]]) -> Origin:
    """The weakest origin among fields, each named as (table, id, field); "" for a table that stands once."""
    return weakest([_one(file, *field) for field in fields])


def _one(file: HouseFile, table: str, item_id: str, field: str) -> Origin:
    part: Any = getattr(file.house, table)
    path: tuple[str | int, ...] = (table,)
    if item_id:
        index = next(k for k, item in enumerate(part) if item.id == item_id)
        part, path = part[index], (table, index)
    if field not in part.model_fields_set:
        return "default"
    said = [s.origin for p, s in file.said.items() if p[: len(path) + 1] == (*path, file_key(field))]
    return weakest([*said]) if said else file.house.provenance


def drawing_fields(file: HouseFile) -> list[tuple[str, str, str]]:
    """The fields that areas and volumes rest on."""
    return [("room", room.id, name) for room in file.house.room for name in ("outline", "ceiling")]


def load_fields(file: HouseFile) -> list[tuple[str, str, str]]:
    """The fields that a heating load rests on."""
    house = file.house
    fields = [
        *drawing_fields(file),
        ("climate", "", "heating_design_c"),
        ("household", "", "heating_set_point_c"),
        ("tightness", "", "ach50" if house.tightness.flow_at_50_pa_m3_s is None else "flow_at_50_pa_m3_s"),
        ("enclosure", "", "thermal_bridge_w_m2k"),
    ]
    fields += [("assembly", a.id, "layers" if a.layers else "u_w_m2k") for a in house.assembly]
    return fields + [("glazing", g.id, "u_w_m2k") for g in house.glazing]


def defaults_of(file: HouseFile) -> list[dict[str, Any]]:
    """Every value that the file does not say and a calculation may read."""
    house = file.house
    found: list[dict[str, Any]] = []
    for name in ("site", "climate", "household", "tightness", "enclosure", "rules"):
        found += _unsaid(name, getattr(house, name))
    for table in TABLES:
        for item in getattr(house, table):
            found += _unsaid(f"{table}.{item.id}", item)
    return found


def _unsaid(where: str, part: BaseModel) -> list[dict[str, Any]]:
    rows = []
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if name in part.model_fields_set or name in QUIET or value is None or value in ("", ()):
            continue
        rows.append({"where": f"{where}.{field.alias or file_key(name)}", "field": name, "value": value})
    return rows
