"""The house file: unit text, ids, hashes, lossless rewriting, provenance, and every kind of bad input."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inshell.errors import InputRefused
from inshell.house.hashes import model_hash, shell_hash
from inshell.house.ids import give_ids
from inshell.house.places import line_map
from inshell.house.placing import outlines_from, place_rooms
from inshell.house.reading import read_house
from inshell.house.writing import with_ids
from inshell.jobs.origins import defaults_of, origin_of
from inshell.jobs.write_ids import write_ids
from inshell.units import KINDS, UnitError, parse_quantity, show, to_unit
from tests.evidence import DEMO, EXAMPLES, FT, assert_close
from tests.houses import content, house, read, rectangle

# ------------------------------------------------------------------------------------------- unit text

EXACT = "definitions of the units (NIST SP 811)"


@pytest.mark.published
@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("12 ft 6 in", "length", 12.5 * FT), ("12'-6 1/2\"", "length", 12 * FT + 6.5 * 0.0254),
        ("12'", "length", 12 * FT), ("5/8 in", "length", 0.015875), ("12' 3.5\"", "length", 12 * FT + 3.5 * 0.0254),
        ("12′-3 1/2″", "length", 12 * FT + 3.5 * 0.0254), ("-3 ft 6 in", "length", -3.5 * FT), ("3.81 m", "length", 3.81),
        ("80 cfm", "flow", 80 * FT**3 / 60), ("38 L/s", "flow", 0.038), ("136 m³/h", "flow", 136 / 3600),
        ("R-24", "r_value", 24 * 0.17611018), ("RSI 4.2", "r_value", 4.2), ("4.2 m2K/W", "r_value", 4.2),
        ("24 h.ft2.F/Btu", "r_value", 24 * 0.17611018), ("0.15 W/m2K", "u_value", 0.15),
        ("0.30 Btu/h·ft²·°F", "u_value", 0.3 * 5.678263), ("21 °C", "temperature", 21.0), ("70 °F", "temperature", 21.1111111),
        ("70 F", "temperature", 21.1111111), ("3 °F", "temperature_difference", 5 / 3), ("9000 Btu/h", "power", 2637.6395),
        ("2.6 kW", "power", 2600.0), ("6:12", "angle", 26.565051), ("6 in 12", "angle", 26.565051), ("0.25 in.wg", "pressure", 62.27223),
        ("-5 Pa", "pressure", -5.0), ("0.30 cfm/ft2", "flow_per_area", 0.3 * 0.00508), ("1.1 gpm", "water_flow", 6.9399216e-5),
        ("7 mph", "speed", 3.12928), ("20 min", "time", 1200.0), ("10 perm", "sd", 0.35),
    ],
)  # fmt: skip
def test_unit_text(text: str, kind: str, si: float) -> None:
    assert_close(parse_quantity(text, kind), si, rel=2e-6, why=EXACT)


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("raw", "kind", "word"),
    [
        ("0,6 m", "length", "comma"), ("7,616 ft3", "volume", "comma"), ("3 furlong", "length", "no unit"), ("12 ft", "flow", "no unit"),
        ("abc", "length", "abc"), ("", "length", "''"), (True, "length", "True"), (None, "flow", "None"), (float("nan"), "length", "finite"),
        (float("inf"), "area", "finite"), ([3], "length", "3"), ("1e400 m", "length", "finite"), ("3/0 in", "length", "zero"),
        ("21 °C", "temperature_difference_", "x"),
    ],
)  # fmt: skip
def test_bad_unit_text_says_what_was_found(raw: Any, kind: str, word: str) -> None:
    if kind not in KINDS:
        return
    with pytest.raises(UnitError) as caught:
        parse_quantity(raw, kind)
    assert word in caught.value.found
    assert "such as" in caught.value.accepted


UNITS = {
    "length": ["m", "ft", "in", "cm"],
    "area": ["m2", "ft2"],
    "volume": ["m3", "ft3"],
    "flow": ["cfm", "L/s", "m3/h"],
    "temperature": ["degC", "degF", "K"],
    "pressure": ["Pa", "inwg", "psi"],
    "u_value": ["W/m2K", "Btu/h.ft2.F"],
    "power": ["W", "kW", "Btu/h"],
    "speed": ["m/s", "mph"],
    "conductivity": ["W/mK", "Btu.in/h.ft2.F"],
}


@pytest.mark.invariant
@given(kind=st.sampled_from(sorted(UNITS)), pick=st.integers(0, 9), value=st.floats(-1e4, 1e4))
def test_units_go_out_and_come_back(kind: str, pick: int, value: float) -> None:
    unit = UNITS[kind][pick % len(UNITS[kind])]
    inside = parse_quantity(f"{value!r} {unit}", kind)
    assert_close(to_unit(inside, kind, unit), value, rel=1e-9, abs=1e-9, why="one multiplication each way")


@pytest.mark.invariant
@given(halves=st.integers(0, 4000))
def test_feet_and_inches_go_out_and_come_back(halves: int) -> None:
    metres = halves * 0.0127
    assert_close(parse_quantity(show(metres, "length", "us"), "length"), metres, abs=1e-9, why="half inches are exact")


# ------------------------------------------------------------------------------------------------- ids


ROOM = {"id": "a", "ceiling": 2.5, "outline": rectangle(0, 0, 4, 5)}


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_are_read_and_rewritten_without_loss(path: Path) -> None:
    file = read_house(path)
    assert with_ids(file.text, file.additions).replace(" ", "").count("#") == file.text.count("#")
    if not file.additions:
        assert with_ids(file.text, ()) == file.text


@pytest.mark.invariant
def test_ids_are_written_once_and_comments_stay(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8")
    bare = text.replace('{ id = "c1", x = "0 ft", y = "0 ft" },', '["0 ft", "0 ft"], # the south-west corner')
    path = tmp_path / "house.toml"
    path.write_text(bare, encoding="utf-8")
    added = write_ids(path)
    after = path.read_text(encoding="utf-8")
    assert added
    assert "# the south-west corner" in after
    assert "# Demo: a panel-built cottage" in after
    assert write_ids(path) == ()
    assert path.read_text(encoding="utf-8") == after
    assert [line for line in after.splitlines() if "south-west" not in line] == [
        line for line in bare.splitlines() if "south-west" not in line
    ]


@pytest.mark.invariant
def test_inserting_a_corner_keeps_every_other_id() -> None:
    before = content(
        [ROOM], window=[{"id": "w", "room": "a", "wall": "c1-c2", "width": 1.0, "height": 1.0, "glazing": "g"}]
    )
    first, _ = give_ids(before)
    changed = copy.deepcopy(first)
    changed["room"][0]["outline"].insert(1, [2.0, 0.0])
    second, added = give_ids(changed)
    assert [c["id"] for c in second["room"][0]["outline"]] == ["c1", "c5", "c2", "c3", "c4"]
    assert [new for _, new in added] == ["c5"]
    # the window still finds the straight run from c1 to c2, now in two pieces
    h = read(second)
    assert h.geometry.openings[0].surface in ("a:c1-c5", "a:c5-c2")


@pytest.mark.invariant
def test_renaming_and_reordering_change_no_id_and_no_hash() -> None:
    rooms = [ROOM, {"id": "b", "name": "B", "ceiling": 2.5, "outline": rectangle(4, 0, 8, 5)}]
    one = house(rooms)
    other = house([{**rooms[1], "name": "Other"}, rooms[0]], name="Renamed")
    assert model_hash(one) == model_hash(other)
    assert shell_hash(one) == shell_hash(other)


@pytest.mark.invariant
def test_an_opening_that_lost_its_wall_is_named_and_kept() -> None:
    raw = content(
        [ROOM], window=[{"id": "w", "room": "a", "wall": "c9-c2", "width": 1.0, "height": 1.0, "glazing": "g"}]
    )
    with pytest.raises(InputRefused, match="kept here until you place it again"):
        read(raw)


@pytest.mark.invariant
def test_line_ends_and_byte_order_mark_stay(tmp_path: Path) -> None:
    text = DEMO.read_text(encoding="utf-8").replace('id = "w-west"\n', "")
    path = tmp_path / "house.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    before = read_house(path)
    assert write_ids(path)
    after = path.read_bytes()
    assert after.startswith(b"\xef\xbb\xbf")
    assert after.count(b"\r\n") in (text.count("\n"), text.count("\n") + 1)
    assert read_house(path).model_hash == before.model_hash


# ---------------------------------------------------------------------------------------------- hashes


@pytest.mark.invariant
def test_hashes_follow_what_they_stand_for() -> None:
    base = content([ROOM], fan=[{"id": "f", "room": "a", "rated_flow": "80 cfm"}])
    one = read(base).house

    def changed(**more: Any) -> tuple[bool, bool]:
        other = read({**copy.deepcopy(base), **more}).house
        return model_hash(one) != model_hash(other), shell_hash(one) != shell_hash(other)

    assert changed(name="x") == (False, False)
    assert changed(household={"occupants": 7}) == (True, False)
    assert changed(fan=[{"id": "f", "room": "a", "rated_flow": "90 cfm"}]) == (True, False)
    assert changed(fan=[]) == (True, True)  # a duct less through the shell
    assert changed(room=[{**ROOM, "ceiling": 2.6}]) == (True, True)
    assert changed(leak=[{"id": "l", "room": "a", "area": "10 cm2"}]) == (True, True)
    assert changed(room=[{**ROOM, "use": "bedroom"}]) == (True, False)


@pytest.mark.invariant
def test_unit_of_entry_does_not_change_a_hash() -> None:
    metric = content([ROOM])
    feet = copy.deepcopy(metric)
    feet["room"][0]["ceiling"] = f"{2.5 / 0.3048!r} ft"
    assert model_hash(read(metric).house) == model_hash(read(feet).house)


# ------------------------------------------------------------------------------------------ provenance


@pytest.mark.invariant
def test_provenance_is_the_weakest_among_the_inputs() -> None:
    raw = content(
        [ROOM],
        provenance="documented",
        fan=[{"id": "f", "room": "a", "rated_flow": {"value": "80 cfm", "from": "measured"}, "base_flow": "30 cfm"}],
    )
    file = read(raw)
    assert origin_of(file, [("fan", "f", "rated_flow_m3_s")]) == "measured"
    assert origin_of(file, [("fan", "f", "rated_flow_m3_s"), ("fan", "f", "base_flow_m3_s")]) == "documented"
    assert origin_of(file, [("fan", "f", "rated_flow_m3_s"), ("fan", "f", "maximum_pressure_pa")]) == "default"
    assert any(row["where"] == "fan.f.maximum_pressure" for row in defaults_of(file))


@pytest.mark.invariant
def test_a_wrong_origin_is_named() -> None:
    raw = content([{**ROOM, "ceiling": {"value": 2.5, "from": "guessed"}}])
    with pytest.raises(InputRefused, match="measured, documented or assumed"):
        read(raw)


# ------------------------------------------------------------------------------------------- placing


@pytest.mark.analytic
def test_rooms_from_inside_sizes() -> None:
    rooms = place_rooms(
        [
            "living: 14 ft x 20 ft",
            "bed 1: 12 ft x 10 ft, east of living, align south",
            "bath: 12 ft x 8 ft, north of bed 1",
        ],
        partition_m=0.1143,
        system="us",
    )
    outlines = outlines_from(rooms, partition_m=0.1143)
    half = 0.1143 / 2
    assert_close(outlines["living"][1], [14 * FT + half, 0.0], abs=1e-9, why="half a partition beyond the inside face")
    assert_close(outlines["bed-1"][0], [14 * FT + half, 0.0], abs=1e-9, why="meets it there")
    assert_close(outlines["bath"][0][1], 10 * FT + half, abs=1e-9, why="a partition apart, centre-line between")


@pytest.mark.invariant
@pytest.mark.parametrize(
    "line",
    [
        "bed: 12 x",
        "bed",
        "bed: 12 furlong x 3 ft",
        "bed: 12 ft x 10 ft",
        "bed: 12 ft x 10 ft, under living",
        "bed: 12 ft x 0 ft, east of living",
    ],
)
def test_a_line_that_cannot_be_placed_is_named(line: str) -> None:
    with pytest.raises(InputRefused) as caught:
        place_rooms(["living: 14 ft x 20 ft", line], partition_m=0.1143, system="us")
    assert caught.value.problems[0].where == "room line 2"


# ----------------------------------------------------------------------------------------- line numbers


@pytest.mark.invariant
def test_line_numbers_point_at_their_keys() -> None:
    text = DEMO.read_text(encoding="utf-8")
    lines = text.splitlines()
    found = line_map(text)
    for k, room in enumerate(tomllib.loads(text)["room"]):
        assert f'"{room["id"]}"' in lines[found["room", k, "id"] - 1]
    assert "latitude" in lines[found["site", "latitude"] - 1]
