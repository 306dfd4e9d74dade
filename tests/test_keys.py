"""What is kept is asked for by everything that its numbers depend on: change one thing and the key is another."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inshell.climate import cache
from inshell.climate.choose import climate_of
from inshell.house.reading import parse_house, read_house
from inshell.jobs import runs
from tests.evidence import DEMO


@pytest.mark.invariant
def test_a_run_is_kept_by_all_that_it_depends_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Model, weather, design conditions, scenario, step, tested leakage and code each make another key."""
    import tomllib

    file = read_house(DEMO)
    climate = climate_of(file.house, file.folder)
    plain = {"scenario": "heads", "step_s": 600.0, "tested_m3_s": None}
    base = runs.run_key(file, climate, **plain)
    assert base == runs.run_key(file, climate, **plain)
    text = DEMO.read_text(encoding="utf-8").replace('undercut = "1/2 in"', 'undercut = "3/4 in"')
    other_house = parse_house(tomllib.loads(text), text, DEMO)
    assert climate.year is not None
    other_year = replace(climate, year=replace(climate.year, source_hash="another"))
    other_design = replace(climate, design=replace(climate.design, heating_c=climate.design.heating_c - 1.0))
    keys = [
        base, runs.run_key(other_house, climate, **plain), runs.run_key(file, other_year, **plain),
        runs.run_key(file, other_design, **plain), runs.run_key(file, climate, **plain | {"scenario": "all"}),
        runs.run_key(file, climate, **plain | {"step_s": 300.0}), runs.run_key(file, climate, **plain | {"tested_m3_s": 0.05}),
    ]  # fmt: skip
    monkeypatch.setattr(runs, "code_version", lambda: "another")
    keys.append(runs.run_key(file, climate, **plain))
    assert len(set(keys)) == len(keys) == 8


@pytest.mark.invariant
def test_words_and_prices_change_no_key() -> None:
    """A name is no number: the run stays."""
    import tomllib

    file = read_house(DEMO)
    climate = climate_of(file.house, file.folder)
    text = DEMO.read_text(encoding="utf-8").replace('name = "Bath fan"', 'name = "Fan over the tub"')
    renamed = parse_house(tomllib.loads(text), text, DEMO)
    plain = {"scenario": "heads", "step_s": 600.0, "tested_m3_s": None}
    assert runs.run_key(renamed, climate, **plain) == runs.run_key(file, climate, **plain)


@pytest.mark.invariant
def test_a_prepared_year_is_kept_by_its_bytes_and_its_recipe(monkeypatch: pytest.MonkeyPatch) -> None:
    keys = [cache.key(b"one", "a"), cache.key(b"two", "a"), cache.key(b"one", "b")]
    monkeypatch.setattr(cache, "VERSION", "another")
    keys.append(cache.key(b"one", "a"))
    assert len(set(keys)) == 4
