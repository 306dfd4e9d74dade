"""The coupled heating day: balances, limits with a closed form, and the field's findings in kind."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from inshell.cli.run import run
from inshell.climate.choose import climate_of
from inshell.design.cold_day import ColdDay, calculate_cold_day, heated_rooms
from inshell.design.envelope import calculate_elements
from inshell.house.model import House
from inshell.house.reading import read_house
from inshell.jobs.simulate import sources_of
from inshell.network.routes import routes_of
from tests.evidence import DEMO, EXAMPLES, assert_close
from tests.houses import house, rectangle


def day(h: House, *, doors_open: bool, heated: tuple[str, ...]) -> ColdDay:
    from inshell.house.geometry import derive

    return calculate_cold_day(h, derive(h), climate_of(h, Path()), doors_open=doors_open, heated=heated)


def two_rooms(**more: object) -> House:
    """A main room and a bedroom beside it, on a floor over air; nearly airtight."""
    rooms = [
        {"id": "main", "ceiling": 2.5, "outline": rectangle(0, 0, 6, 5)},
        {"id": "bed", "ceiling": 2.5, "outline": rectangle(6, 0, 9, 5)},
    ]
    base = {
        "enclosure": {
            "wall": "w",
            "roof": "w",
            "floor": "w",
            "partition": "p",
            "partition_thickness": "10 cm",
            "thermal_bridge": 0.0,
        },
        "tightness": {"ach50": 1e-6},
        "heater": [{"id": "h", "room": "main", "power": "3 kW"}],
        "household": {"heating_set_point": "20 °C"},
    }
    return house(rooms, **(base | more))


@pytest.mark.analytic
def test_without_air_the_bedroom_follows_its_conductances() -> None:
    """UA to outdoors and through the partition, films of the room included: a balance of two conductances."""
    h = two_rooms()
    result = day(h, doors_open=False, heated=("main",))
    from inshell.house.geometry import derive

    g = derive(h)
    outer = sum(e.ua_w_k for e in calculate_elements(h, g) if e.room == "bed")
    partition = next(s for s in g.surfaces if s.kind == "partition")
    inner = partition.area_m2 / (0.1 / 0.16 + 2 * 0.13)
    want = (inner * 20.0 + outer * -10.0) / (inner + outer)
    assert_close(
        result.room_c["bed"],
        want,
        abs=0.8,
        why="the main room's surfaces are cooler than its air, which the two conductances leave out",
    )


@pytest.mark.analytic
def test_transfer_fan_warms_as_the_steady_formula_says() -> None:
    """T = (UA_o T_o + (cp m + UA_i) T_m)/(UA_o + UA_i + cp m): the gain of a fan against no fan, same conductances."""
    plain = day(two_rooms(), doors_open=False, heated=("main",))
    fan = {"id": "t", "from_room": "main", "to_room": "bed", "flow": "60 m3/h", "return_grille": "0.05 m2"}
    door = {"id": "d", "between": ["main", "bed"], "width": "0.8 m", "height": "2 m", "grille": "0.05 m2"}
    blown = day(two_rooms(transfer_fan=[fan], door=[door]), doors_open=False, heated=("main",))
    moved = sum(r.flow_kg_s for r in blown.routes if r.from_room == "main" and r.to_room == "bed") * 1006.0
    # total conductance of the bedroom seen from its air, from the run without a fan and a known heat source
    cold = plain.room_c["bed"]
    share = (20.0 - cold) / 30.0  # UA_o / (UA_o + UA_i)
    outer = 3.0 * 5.0 * 2 + 2.5 * (3 + 5 + 3)
    ua_o = outer * 0.1737
    total = ua_o / share
    want = (ua_o * -10.0 + (total - ua_o + moved) * 20.0) / (total + moved)
    assert_close(blown.room_c["bed"], want, abs=0.6, why="surfaces stay cooler than air; films join them")
    assert blown.room_c["bed"] > cold + 1.0


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_balances_close_and_shut_doors_never_help(path: Path) -> None:
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    for heated in sources_of(file.house).values():
        both = [
            calculate_cold_day(file.house, file.geometry, climate, doors_open=o, heated=heated) for o in (True, False)
        ]
        for result in both:
            assert_close(result.imbalance_w, 0.0, abs=0.05, why="rooms settle to a thousandth of a kelvin")
            assert all(result.outdoor_c <= t <= 40.0 for t in result.room_c.values())
        spread = [max(r.room_c.values()) - min(r.room_c.values()) for r in both]
        assert spread[0] <= spread[1] + 0.3, "open doors level out"


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_all_rooms_held_agrees_with_the_load_of_the_standard(path: Path) -> None:
    """Two methods, one house: films and the ground are treated differently, so only within a sixth."""
    from inshell.design.heating import calculate_heating

    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    load = calculate_heating(file.house, file.geometry, climate)
    steady = load.total_w - sum(room.reheat_w for room in load.rooms)
    rooms = tuple(room.id for room in file.house.room)
    result = calculate_cold_day(file.house, file.geometry, climate, doors_open=True, heated=rooms)
    assert_close(sum(result.heat_w.values()), steady, rel=0.17, why="1.45 on the ground, air by n50 e, films")


@pytest.mark.published
def test_field_findings_in_kind() -> None:
    """Plausibility, not proof: a superinsulated house at -20 °F had bedrooms 10 °F colder shut and 3.3 open."""
    file = read_house(DEMO)
    climate = climate_of(file.house, file.folder)
    heads = sources_of(file.house)["heads and heaters alone"]
    opened, shut = (
        calculate_cold_day(file.house, file.geometry, climate, doors_open=o, heated=heads) for o in (True, False)
    )
    for room in ("bed-1", "bed-2"):
        assert 1.0 < -opened.offset_k(room) < -shut.offset_k(room) < 8.0


@pytest.mark.invariant
def test_leaks_add_up_to_the_test() -> None:
    for path in EXAMPLES:
        file = read_house(path)
        routes = routes_of(file.house, file.geometry, flow_at_50_pa_m3_s=0.05, exponent=0.65, doors="open")
        total = sum(k.coefficient_m3_s_pan for k in routes.network.links if k.name.startswith("leak"))
        assert_close(total * 50**0.65, 0.05, rel=1e-9, why="shares of one coefficient")


@pytest.mark.invariant
def test_command_and_what_it_refuses(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["simulate", str(DEMO), "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["cases"][0]["name"] == "every heat source, doors open"
    assert np.isfinite([t for c in result["cases"] for t in c["room_c"].values()]).all()
    assert run(["simulate", str(DEMO)]) == 0
    assert "against living" in capsys.readouterr().out
    assert run(["simulate", str(DEMO), "--day", "lukewarm", "--json"]) == 2
    assert heated_rooms(read_house(DEMO).house) == ("living", "bed-1", "bed-2", "hall", "bath")
