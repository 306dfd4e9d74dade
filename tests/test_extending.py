"""What has to be touched to add a rule or a kind of device: a row and a test; a model, its field, what it does, a test."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import Field

from inshell import sources
from inshell.cli.run import run
from inshell.house.model.base import Part, note
from inshell.house.model.house import House
from inshell.house.model.tables import devices, roomed, rows_of
from inshell.house.quantities import Id, Power
from inshell.house.references import reference_problems
from tests.evidence import CFM, DEMO, FT, assert_close
from tests.houses import content, rectangle

EDITION = """
["ashrae-62.2-2099"]
family = "ashrae"
title = "An edition of the future"
clause = "4.1"
us = { per_area = 0.02, per_person = 7.5 }
si = { per_area = 0.10, per_person = 3.5 }
credit = "none"
source = "invented for this test"
"""


@pytest.fixture
def with_edition(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    kept = sources.text
    monkeypatch.setattr(sources, "text", lambda n: kept(n) + (EDITION if n == "fresh_air.toml" else ""))
    sources.table.cache_clear()
    yield
    monkeypatch.undo()
    sources.table.cache_clear()


@pytest.mark.invariant
@pytest.mark.usefixtures("with_edition")
def test_an_edition_of_a_rule_is_a_row(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two files: the table and a test. Quick answers, the house file, check and air know it by its row alone."""
    asked = ["quick", "fresh-air", "--area", "1000 ft2", "--bedrooms", "2", "--rule", "ashrae-62.2-2099", "--json"]
    assert run(asked) == 0
    told = json.loads(capsys.readouterr().out)
    assert_close(told["required_flow_m3_s"], (0.02 * 1000 + 7.5 * 3) * CFM, rel=1e-9, why="by hand")
    path = tmp_path / "h.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace('"ashrae-62.2-2019", ', '"ashrae-62.2-2099", '), "utf-8")
    run(["check", str(path), "--json"])
    checked = json.loads(capsys.readouterr().out)
    mine = next(p for p in checked["promises"] if p["id"].endswith("ashrae-62.2-2099"))
    area = (36 * 22 + 16 * 6) * FT**2
    assert_close(mine["limit"], (0.02 * area / FT**2 + 7.5 * 3) * CFM, rel=1e-6, why="by hand")
    wrong = path.read_text(encoding="utf-8").replace("ashrae-62.2-2099", "ashrae-62.2-2100")
    path.write_text(wrong, encoding="utf-8")
    assert run(["check", str(path), "--json"]) == 2
    assert "ashrae-62.2-2099" in capsys.readouterr().out, "what is accepted names it"


class TowelRail(Part):
    """A kind of device that the house does not know."""

    id: Id
    name: str = note()
    room: Id
    power_w: Power = Field(description="heat")
    position: tuple[float, float] | None = None


class LargerHouse(House):
    """A house with one more table."""

    towel_rail: tuple[TowelRail, ...] = Field((), description="towel rails")


@pytest.mark.invariant
def test_a_kind_of_device_is_a_model_and_a_field() -> None:
    """Of four files two are the model and its field; ids, references and numbers follow from them. The others are what
    it does, a row of control or a link, and its test."""
    assert "towel_rail" in rows_of(LargerHouse)
    assert "towel_rail" in roomed(LargerHouse)
    assert devices(LargerHouse)[-1] == "towel_rail"
    assert devices(House) == devices(LargerHouse)[:-1]
    raw = content([{"id": "a", "outline": rectangle(0, 0, 4, 3), "ceiling": 2.5}])
    for room in raw["room"]:
        room["outline"] = [{"id": f"c{k}", "x": x, "y": y} for k, (x, y) in enumerate(room["outline"], start=1)]
    raw["towel_rail"] = [
        {"id": "rail", "room": "nowhere", "power": "300 W"},
        {"id": "rail", "room": "a", "power": "1 W"},
    ]
    house = LargerHouse.model_validate(raw, context={"units": "si"})
    found = {p.where for p in reference_problems(house)}
    assert {"towel_rail.rail.room", "towel_rail.rail.id"} <= found
