"""Small houses for tests, as the content of a house file."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

from inshell.house.ids import give_ids
from inshell.house.model import House
from inshell.house.reading import HouseFile, parse_house

BASE: dict[str, Any] = {
    "format": 1,
    "units": "si",
    "site": {"latitude": 40, "longitude": -80},
    "climate": {"heating_design": "-10 °C", "mean_annual": "9 °C"},
    "enclosure": {
        "wall": "w",
        "roof": "w",
        "floor": "s",
        "partition": "p",
        "mid_floor": "p",
        "partition_thickness": "10 cm",
    },
    "assembly": [
        {"id": "w", "layers": [{"material": "eps", "thickness": "0.2 m"}]},
        {"id": "p", "layers": [{"material": "gypsum", "thickness": "0.1 m"}]},
    ],
    "slab": [{"id": "s", "under_r": 2.0}],
    "glazing": [{"id": "g", "u": 1.0, "shgc": 0.5}],
}


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def house(rooms: list[dict[str, Any]], **more: Any) -> House:
    """A house from its rooms and whatever else it has."""
    return House.model_validate(give_ids(content(rooms, **more))[0], context={"units": "si"})


def content(rooms: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    raw = copy.deepcopy(BASE) | {"room": copy.deepcopy(rooms)}
    return raw | copy.deepcopy(more)


def read(raw: dict[str, Any]) -> HouseFile:
    return parse_house(raw, "", Path("test.toml"))


def moved(rooms: list[dict[str, Any]], *, turn_deg: float, dx: float, dy: float) -> list[dict[str, Any]]:
    """The same rooms turned about the origin and shifted."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    result = copy.deepcopy(rooms)
    for room in result:
        room["outline"] = [[c * x - s * y + dx, s * x + c * y + dy] for x, y in room["outline"]]
    return result


GABLE = [
    {
        "id": "r",
        "plane": [
            {"id": "n", "falls": "north", "pitch": "6:12", "eave_height": 2.4},
            {"id": "s", "falls": "south", "pitch": "6:12", "eave_height": 2.4},
        ],
    }
]
