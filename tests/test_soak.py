"""A sample of what `make soak` tries by the thousand: random houses through rooms and air, broken files."""

from __future__ import annotations

from pathlib import Path

import pytest
from proofs.random_houses import random_house
from proofs.soak import one_file, one_house

from inshell.climate.choose import climate_of
from inshell.design.cold_day import calculate_cold_day, heated_rooms
from inshell.house.ids import give_ids
from inshell.house.reading import parse_house

PLAIN = [263, 3398, 3654, 3942, 8042]
"""A dehumidifier whose cycle is longer than a day; rooms as warm as one another behind an open door in a shell of 0.09 air
changes, where rounding of the pressure is more flow than the balance may lack; convection by difference in steps of ten
minutes."""
HARD = [322, 339, 458, 3012]
"""Cold rooms over warm ones, joined by a hatch: rooms and their air go round each other; a room as warm as outdoors; a tube
deeper than its slab."""


@pytest.mark.invariant
@pytest.mark.parametrize("seed", [17 * k for k in range(17)] + list(range(1000, 1009)) + HARD)
def test_a_random_house_closes_its_balances(seed: int) -> None:
    """Every kind of device alone (every seventeenth seed), then any together, then those that once failed."""
    told = one_house(seed)
    assert not told or told.startswith("refused"), told


@pytest.mark.invariant
@pytest.mark.parametrize("seed", PLAIN)
def test_plain_houses_that_once_failed_close_their_balances(seed: int) -> None:
    assert one_house(seed, plain=True) == ""


@pytest.mark.invariant
def test_a_cold_day_that_once_went_round_settles() -> None:
    """Heat in one room of four, hatches and doors open, convection by difference: each of four sources of heat alone."""
    file = parse_house(give_ids(random_house(163))[0], "", Path("house.toml"))
    climate = climate_of(file.house, Path())
    for room in heated_rooms(file.house):
        day = calculate_cold_day(file.house, file.geometry, climate, doors_open=True, heated=(room,))
        assert abs(day.imbalance_w) < 1.0


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(24))
def test_a_broken_file_is_refused_in_one_report_or_computed(seed: int) -> None:
    assert one_file(seed) == ""
