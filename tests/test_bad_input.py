"""Bad input: one report of everything wrong, each with its place; the file untouched; exit code 2."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from inshell.cli.run import run
from tests.evidence import DEMO

TEXT = DEMO.read_text(encoding="utf-8")


def refused(capsys: pytest.CaptureFixture[str], path: Path | str) -> list[dict[str, object]]:
    """The problems of a file, as JSON; asserts the exit code and that nothing else was printed."""
    before = Path(path).read_bytes() if Path(path).is_file() else b""
    assert run(["check", str(path), "--json"]) == 2
    out = capsys.readouterr().out
    if before:
        assert Path(path).read_bytes() == before
    problems = json.loads(out)["refused"]
    assert problems
    for problem in problems:
        assert problem["where"]
        assert problem["found"]
        assert problem["accepted"]
    return problems  # type: ignore[no-any-return]


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "demo.toml"
    path.write_text(text, encoding="utf-8")
    return path


CHANGES = [
    # (what is changed, into what, place, part of what is found or to be done)
    ('occupants = 3', 'occupents = 3', "household.occupents", "Did you mean 'occupants'"),
    ('width = "5 ft"', 'widht = "5 ft"', "window.w-south-1", "unknown key"),
    ('thickness = "4 in"', 'thickness = "4 cfm"', "slab.slab.thickness", "no unit of length"),
    ('ach50 = 0.8', 'ach50 = "0,8"', "tightness.ach50", "0,8"),
    ('rated_flow = "80 cfm"', 'rated_flow = "80"', None, None),  # a bare number in text takes the file's system
    ('rated_flow = "80 cfm"', 'rated_flow = "80 ft"', "fan.bath-fan.rated_flow", "no unit of flow"),
    ('rated_flow = "80 cfm"', 'rated_flow = "-80 cfm"', "fan.bath-fan.rated_flow", "0 to 5"),
    ('winter_humidity = "40 %"', 'winter_humidity = 40', "household.winter_humidity", "40 %"),
    ('winter_humidity = "40 %"', 'winter_humidity = nan', "household.winter_humidity", "nan"),
    ('glazing = "window"', 'glazing = "windw"', "window.w-south-1.glazing", "Did you mean 'window'"),
    ('year = "greensboro"', 'year = "atlantis"', "climate.year", "no typical year"),
    ('year = "greensboro"', 'file = { path = "gone.csv", columns = {} }', "climate.file.path", "not there"),
    ('width = "5 ft"', 'width = "25 ft"', "window.w-south-1", "does not lie within wall"),
    ('sill = "2 ft"', 'sill = "6 ft"', "window.w-south-1", "does not lie within wall"),
    ('between = ["living", "hall"]', 'between = ["living", "bath"]', "passage.p-hall.between", "share no wall"),
    ('{ id = "c3", x = "20 ft", y = "22 ft" }', '{ id = "c3", x = "10 ft", y = "-5 ft" }', "room.living.outline", "simple polygon"),
    ('{ id = "c2", x = "20 ft", y = "0 ft" }', '{ id = "c2", x = "23 ft", y = "0 ft" }', "room.living.outline", "overlaps"),
    ('x = "36 ft", y = "14 ft"', 'x = "36 ft", y = "14 Ft"', "room", "no unit of length"),
    ('pitch = "6:12"', 'pitch = "95°"', "roof.roof.plane.north.pitch", "75"),
    ('use = "bath"', 'use = "bathroom"', "room.bath.use", "bathroom"),
    ('fresh_air = ["ashrae-62.2-2010"', 'fresh_air = ["ashrae-62.2-1999"', "rules.fresh_air", "1999"),
    ('format = 1', 'format = 2', "format", "2"),
    ('sleeps_in = "bed-1"', 'sleeps_in = "bed-9"', "person.parents.sleeps_in", "no room"),
    ('asleep_from = "20:30"', 'asleep_from = "25:30"', "person.child.asleep_from", "time of day"),
]  # fmt: skip


@pytest.mark.invariant
@pytest.mark.parametrize(("old", "new", "where", "word"), CHANGES, ids=[c[1][:40] for c in CHANGES])
def test_each_mistake_is_named_in_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, where: str | None, word: str | None
) -> None:
    assert old in TEXT
    path = written(tmp_path, TEXT.replace(old, new, 1))
    if where is None:
        assert run(["check", str(path), "--json"]) in (0, 1)
        return
    problems = refused(capsys, path)
    hits = [p for p in problems if str(p["where"]).startswith(where)]
    assert hits, problems
    assert any(word in json.dumps(hit, ensure_ascii=False) for hit in hits), hits
    assert all(hit["line"] for hit in hits if where != "format"), hits


@pytest.mark.invariant
def test_all_mistakes_are_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = TEXT
    picked = [
        c
        for c in CHANGES
        if c[2] and c[0].split()[0] in ("occupants", "winter_humidity", "use", "sleeps_in", "asleep_from")
    ]
    text = text.replace("occupants = 3", "occupents = 3").replace('use = "bath"', 'use = "bathroom"')
    text = text.replace('asleep_from = "20:30"', 'asleep_from = "25:30"').replace(
        'glazing = "window"', 'glazing = "nope"', 1
    )
    text = text.replace('{ id = "c3", x = "36 ft", y = "8 ft" }', '{ id = "c3", x = "36 ft", y = "9 ft 6 in" }', 1)
    assert picked
    places = " ".join(str(p["where"]) for p in refused(capsys, written(tmp_path, text)))
    for where in ("household.occupents", "room.bath.use", "person.child.asleep_from", "window.w-south-1.glazing"):
        assert where in places


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b'format = 1\nname = "caf\xe9"\n', "UTF-8"),
        (b"format = 1\n[site\n", "TOML"),
        (b"", "missing"),
        (b"\x00\x01\x02", "TOML"),
        (b"a = 1\n" * 9_000_000, "MB"),
    ],
    ids=["not UTF-8", "broken TOML", "empty", "binary", "50 MB"],
)
def test_files_that_are_no_house(tmp_path: Path, capsys: pytest.CaptureFixture[str], data: bytes, word: str) -> None:
    path = tmp_path / "house.toml"
    path.write_bytes(data)
    assert word in json.dumps(refused(capsys, path))


@pytest.mark.invariant
def test_a_directory_and_a_missing_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "directory" in json.dumps(refused(capsys, tmp_path))
    assert "cannot be read" in json.dumps(refused(capsys, tmp_path / "nothing.toml"))


READINGS = "pressure_pa,flow_cfm\n60,1012\n50,894\n40,775\n30,639\n20,497\n"


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("text", "word"),
    [
        (READINGS.replace("894", "89,4"), "cells"),
        (READINGS.replace("894", "-894"), "above zero"),
        (READINGS.replace("894", "abc"), "abc"),
        (READINGS.replace("flow_cfm", "flow"), "unit"),
        (READINGS.replace("pressure_pa", "druck"), "pressure"),
        ("pressure_pa,flow_cfm\n50,100\n50,101\n50,99\n50,100\n50,100\n", "one-point"),
        ("pressure_pa,flow_cfm\n", "rows of pressure"),
        ("", "no readings"),
        ("# zero befor: -2 Pa\n" + READINGS, "zero_before"),
        ("# inside: 300 K K\n" + READINGS, "temperature"),
        ("# method: guess\n" + READINGS, "astm-e779"),
        ("pressure_pa,flow_cfm,direction\n60,1012,sideways\n", "sideways"),
        (READINGS.replace("894", "8.94e12"), "flows above zero"),
    ],
)  # fmt: skip
def test_bad_readings(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, word: str) -> None:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    assert run(["quick", "tightness", str(path), "--volume", "7616 ft3", "--json"]) == 2
    assert word in capsys.readouterr().out


@pytest.mark.invariant
@pytest.mark.parametrize(
    "arguments",
    [
        ["quick", "fresh-air", "--area", "1000", "--bedrooms", "2"],
        ["quick", "fresh-air", "--area", "-3 ft2", "--bedrooms", "2"],
        ["quick", "fresh-air", "--area", "1000 ft2", "--bedrooms", "2", "--rule", "mine"],
        ["quick", "fresh-air", "--area", "1000 ft2", "--bedrooms", "2", "--cfm50", "100", "--weather-factor", "0.6"],
        ["quick", "fresh-air", "--area", "1000 ft2", "--bedrooms", "two"],
        ["quick", "pressure", "--flow-at-50", "80 cfm", "--exhaust", "50 Pa"],
        ["quick", "pressure", "--flow-at-50", "0 cfm", "--exhaust", "50 cfm"],
        ["quick", "pressure", "--flow-at-50", "80 cfm", "--exhaust", "50 cfm", "--exponent", "2"],
        ["quick", "assembly", "nothing.toml"],
        ["quick", "nonsense"],
        ["nonsense"],
        ["check"],
    ],
)
def test_bad_commands_exit_2_with_one_json_document(capsys: pytest.CaptureFixture[str], arguments: list[str]) -> None:
    assert run([*arguments, "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["refused"]


@pytest.mark.invariant
def test_the_report_for_people_goes_to_standard_error(tmp_path: Path) -> None:
    path = written(tmp_path, TEXT.replace("occupants = 3", "occupents = 3"))
    done = subprocess.run(
        [sys.executable, "-m", "inshell", "check", str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert re.search(r"household\.occupents \(line \d+\)", done.stderr)
    assert "Did you mean 'occupants'?" in done.stderr
    assert "No file was changed" in done.stderr


@pytest.mark.invariant
def test_a_fault_of_the_program_exits_3(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def broken(path: Path) -> None:
        raise RuntimeError("boom")

    monkeypatch.setattr("inshell.jobs.check.check", broken)
    assert run(["check", str(DEMO), "--json"]) == 3
    assert json.loads(capsys.readouterr().out) == {"failed": "RuntimeError: boom"}
