"""Tables of a house and what their rows have, read from the model: a new kind of thing stands in no second list."""

from __future__ import annotations

from typing import get_args

from inshell.house.model.base import Part
from inshell.house.model.house import House

FIRST = (
    "fan", "ventilator", "transfer_fan", "hood", "dryer", "head", "heater", "dehumidifier", "outdoor_unit", "manifold",
    "water_heater", "appliance",
)  # fmt: skip
"""Devices in the order of their numbers on the plan; what is not named here follows in the order of the house."""
NO_DEVICES = ("keep_out", "head_option")  # ground that stays free; heads that are not there yet


def rows_of(model: type[Part] = House) -> dict[str, type[Part]]:
    """Tables whose rows have an id -> what a row is, in the order of the house."""
    told = {}
    for name, field in model.model_fields.items():
        row = next((a for a in get_args(field.annotation) if isinstance(a, type) and issubclass(a, Part)), None)
        if row is not None and "id" in row.model_fields:
            told[name] = row
    return told


def roomed(model: type[Part] = House) -> tuple[str, ...]:
    """Tables whose rows stand in a room or name one."""
    return tuple(name for name, row in rows_of(model).items() if "room" in row.model_fields)


def devices(model: type[Part] = House) -> tuple[str, ...]:
    """Tables of what has a number on the plan, in the order of the numbers."""
    placed = [n for n, row in rows_of(model).items() if "position" in row.model_fields and n not in NO_DEVICES]
    return tuple(sorted(placed, key=lambda n: FIRST.index(n) if n in FIRST else len(FIRST)))
