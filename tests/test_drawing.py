"""Plans and sections: what stands on a level, clear sizes, neighbours, marks, one section for each fall."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from inshell.climate.choose import climate_of
from inshell.design.cold_day import calculate_cold_day, heated_rooms
from inshell.drawing.air_plan import draw_air
from inshell.drawing.labels import numbers_of
from inshell.drawing.plan import Drawing, draw_plans
from inshell.drawing.section import draw_sections
from inshell.house.reading import read_house
from inshell.jobs.air_ways import air_ways, room_leaks
from inshell.physics.air import density_kg_m3
from tests.evidence import DEMO, EXAMPLES, assert_close


def plans_of(path: Path) -> list[Drawing]:
    file = read_house(path)
    return draw_plans(file.house, file.geometry)


def example(name: str) -> Path:
    return next(path for path in EXAMPLES if path.stem == name)


def edited(tmp_path: Path, source: Path, *pairs: tuple[str, str]) -> Path:
    text = source.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    target = tmp_path / source.name
    target.write_text(text, encoding="utf-8")
    return target


@pytest.mark.invariant
def test_a_loft_edge_does_not_cut_the_wall_below() -> None:
    """The edge of the loft stands over a wall of the ground floor: only the upper plan shows it, and as a dashed line."""
    ground, upper = plans_of(DEMO)
    doors_and_windows = len(read_house(DEMO).geometry.openings)
    edges = sum(p.kind == "loft-edge" for p in read_house(DEMO).house.passage)
    assert edges == 1
    assert ground.svg.count('class="gap"') + upper.svg.count('class="gap"') == doors_and_windows - edges
    assert upper.svg.count('class="dash"') >= 2


@pytest.mark.analytic
def test_room_sizes_are_clear_and_add_up_with_partitions() -> None:
    """36 ft inside = 19'-9 3/4" + 15'-9 3/4" + 4 1/2": two half partitions are taken from the two rooms."""
    svg = plans_of(DEMO)[0].svg
    assert "19'-9 3/4\" × 22'-0\"" in svg
    assert "15'-9 3/4\" × 7'-9 3/4\"" in svg
    assert 19 * 12 + 9.75 + 15 * 12 + 9.75 + 4.5 == 36 * 12


@pytest.mark.invariant
def test_a_device_without_a_place_is_listed_and_not_drawn(tmp_path: Path) -> None:
    house = edited(tmp_path, DEMO, ('position = ["10 ft", "21 ft"]\n', ""))
    plan = plans_of(house)[0]
    (entry,) = [name for _, name in plan.legend if name.startswith("Range hood")]
    assert entry == "Range hood (in Living and kitchen, place not given)"
    assert plan.svg.count('class="mark"') == plans_of(DEMO)[0].svg.count('class="mark"') - 1


@pytest.mark.invariant
def test_neighbours_known_by_walls_are_drawn() -> None:
    for plan in plans_of(example("row-house")):
        assert plan.svg.count(">House next door<") == 2
    assert ">Garage<" in plans_of(example("row-house"))[0].svg


@pytest.mark.invariant
def test_a_stair_says_where_it_leads() -> None:
    assert "stair up to Landing" in plans_of(example("row-house"))[0].svg


@pytest.mark.invariant
def test_labels_keep_clear_of_marks() -> None:
    """No room name lies within a mark's radius and half a line of any mark."""
    for path in EXAMPLES:
        for plan in plans_of(path):
            marks = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', plan.svg)]
            names = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="name"', plan.svg)
            for x, y in names:
                assert all(abs(float(x) - a) > 2.6 or abs(float(y) - 1.0 - b) > 2.6 for a, b in marks), plan.title


@pytest.mark.invariant
def test_roofs_that_fall_two_ways_have_two_sections(tmp_path: Path) -> None:
    file = read_house(DEMO)
    assert len(draw_sections(file.house, file.geometry)) == 1
    text = DEMO.read_text(encoding="utf-8")
    found = re.search(r'\{ id = "north", falls = "north", (.*?)\}', text)
    assert found
    hip = f'{found[0]},\n  {{ id = "east", falls = "east", pitch = "6:12", eave_height = "8 ft" }}'
    house = read_house(edited(tmp_path, DEMO, (found[0], hip)))
    sections = draw_sections(house.house, house.geometry)
    assert sections[0].title == "Section along the fall of the roof"
    assert len(sections) == 2
    assert "102° and 282°" in sections[1].title or "12° and 192°" in sections[1].title  # plan north is 12°


@pytest.mark.invariant
def test_every_device_is_numbered_once() -> None:
    for path in EXAMPLES:
        file = read_house(path)
        listed = [number for plan in draw_plans(file.house, file.geometry) for number, _ in plan.legend]
        assert sorted(listed) == [number for number, *_ in numbers_of(file.house)]


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_air_on_the_plan_balances(path: Path) -> None:
    """In every room the arrows and the leaks add up: what comes in leaves (mass; volumes differ by temperature)."""
    file = read_house(path)
    climate = climate_of(file.house, file.folder)
    heated = heated_rooms(file.house) or tuple(room.id for room in file.house.room)
    day = calculate_cold_day(file.house, file.geometry, climate, doors_open=False, heated=heated)
    ways = air_ways(file.house, file.geometry, day, pressure_pa=climate.pressure_pa)
    leaks = room_leaks(file.house, day, pressure_pa=climate.pressure_pa)

    def mass(volume: float, room: str | None) -> float:
        warm = day.outdoor_c if room is None else day.room_c[room]
        return volume * float(density_kg_m3(temperature_c=warm, pressure_pa=climate.pressure_pa))

    for room in day.room_c:
        net = sum(mass(k.in_m3_s, None) - mass(k.out_m3_s, room) for k in leaks if k.room == room)
        through = 1e-6
        for way in ways:
            there, back = mass(way.there_m3_s, way.from_room), mass(way.back_m3_s, way.to_room)
            through += there + back
            net += (there - back) * ((way.to_room == room) - (way.from_room == room))
        assert_close(net / through, 0.0, abs=1e-4, why="routes below 1e-7 kg/s are not told; stairs exchange evenly")
    plans = draw_air(file.house, file.geometry, ways, leaks)
    figures = sum(plan.svg.count('class="air-tip"') for plan in plans)
    assert figures >= len(ways)
    assert all(room.name in "".join(p.svg for p in plans) for room in file.house.room if room.name)
