"""Commands as a person and as a program meet them."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from inshell.cli.run import run
from inshell.design.fresh_air import rules as fresh_air_rules
from inshell.design.tightness import rule_names
from inshell.house.reading import read_house
from tests.evidence import CFM, DEMO, EXAMPLES, FT, assert_close, sampled

CHECK_KEYS = {"format", "house", "house_hash", "promises", "findings", "defaults", "rules", "heating"}
PROMISE_KEYS = {
    "id",
    "title",
    "where",
    "condition",
    "sense",
    "value",
    "limit",
    "unit",
    "verdict",
    "margin",
    "interval",
    "share",
    "basis",
    "source",
    "provenance",
    "why_unknown",
}
FINDING_KEYS = {"code", "severity", "where", "values", "message", "action", "source"}


def document(capsys: pytest.CaptureFixture[str], *arguments: str, code: int | tuple[int, ...] = 0) -> dict[str, Any]:
    got = run([*arguments, "--json"])
    assert got in ((code,) if isinstance(code, int) else code)
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_check_prints_the_promised_document(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    result = document(capsys, "check", str(path), code=(0, 1))
    assert set(result) >= CHECK_KEYS
    for promise in result["promises"]:
        assert set(promise) == PROMISE_KEYS
        assert promise["sense"] in ("at_most", "at_least", "within", "is")
        assert promise["basis"] in ("designed", "built", "measured")
        assert promise["verdict"] in ("kept", "broken", "unknown")
        assert bool(promise["why_unknown"]) == (promise["verdict"] == "unknown"), promise
        if promise["verdict"] != "unknown":
            assert (promise["margin"] >= -1e-9) == (promise["verdict"] == "kept"), promise
    for finding in result["findings"]:
        assert set(finding) == FINDING_KEYS
        assert finding["severity"] in ("error", "warning", "caution", "note")
        assert "{" not in finding["message"]


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_exit_code_says_whether_a_promise_is_broken(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = run(["check", str(path), "--json"])
    broken = any(p["verdict"] == "broken" for p in json.loads(capsys.readouterr().out)["promises"])
    assert code == (1 if broken else 0)


@pytest.mark.invariant
@pytest.mark.parametrize("path", sampled(EXAMPLES, 3), ids=lambda p: p.stem)
def test_text_of_every_command_for_every_example(
    path: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert run(["check", str(path), "--full"]) in (0, 1)
    assert "Promises" in capsys.readouterr().out
    assert run(["describe", str(path)]) == 0
    assert "Surfaces" in capsys.readouterr().out
    target = tmp_path / "r.html"
    said = run(["report", str(path), "-o", str(target)])
    assert str(target) in capsys.readouterr().out
    assert run(["check", str(path), "--json"]) == said, "a report says by its exit code what check says after it"
    assert target.stat().st_size > 20_000


@pytest.mark.invariant
def test_nothing_as_built_is_known_until_it_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(DEMO.parent, tmp_path / "job")
    path = tmp_path / "job" / DEMO.name
    measured = {
        p["id"]: p for p in document(capsys, "check", str(path), code=1)["promises"] if p["basis"] == "measured"
    }
    assert measured
    assert {p["verdict"] for p in measured.values()} == {"unknown"}
    (path.parent / "measured.csv").write_text(
        "id,what,value,date,person,method,instrument\nbath-fan,base_flow,30 cfm,2026-05-02,tester,flow hood,fh-1\n"
        "bath-fan,flow,61 cfm,2026-05-02,tester,flow hood,fh-1\nspot-hrv,supply_flow,,,,,\n"
        "spot-hrv,exhaust_flow,12 cfm,2026-05-02,tester,flow hood,\n",
        encoding="utf-8",
    )
    result = document(capsys, "check", str(path), code=1)
    by_id = {p["id"]: p for p in result["promises"]}
    assert by_id["fresh-air/ashrae-62.2-2019/measured"]["verdict"] == "broken"
    assert_close(by_id["fresh-air/ashrae-62.2-2019/measured"]["value"] / CFM, 42.0, abs=1e-6, why="30 + 12 cfm")
    assert by_id["fresh-air/ashrae-62.2-2019"]["verdict"] == "kept"  # the design is not overwritten
    codes = {f["code"] for f in result["findings"]}
    assert "measured-equals-rated" in codes


FINAL = """pressure_pa,flow_cfm
-60.2,118
-55.0,111
-50.1,105
-44.9,98
-40.2,91
-35.0,83
-30.1,75
-25.0,67
-20.1,58
-15.1,48
"""


@pytest.mark.invariant
def test_only_a_final_compliance_test_of_the_present_shell_decides(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(DEMO.parent, tmp_path / "job")
    path, readings = tmp_path / "job" / DEMO.name, tmp_path / "final.csv"
    readings.write_text(
        "# inside: 68 F\n# outside: 60 F\n# zero before: -0.5 Pa\n# method: astm-e779\n" + FINAL, encoding="utf-8"
    )

    def tightness() -> str:
        found = document(capsys, "check", str(path), code=(0, 1))["promises"]
        return next(p["verdict"] for p in found if p["id"] == "tightness/owner-1-0")

    assert tightness() == "unknown"
    arguments = [
        "record-test",
        str(path),
        str(readings),
        "--stage",
        "final",
        "--date",
        "2026-06-01",
        "--person",
        "tester",
    ]
    document(capsys, *arguments, "--purpose", "diagnostic")
    assert tightness() == "unknown"
    assert "exists" in json.dumps(document(capsys, *arguments, "--purpose", "compliance", code=2))
    document(capsys, *arguments, "--purpose", "compliance", "--overwrite")
    assert tightness() == "kept"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('name = "Living and kitchen"', 'name = "Great room"'), encoding="utf-8")
    assert tightness() == "kept"
    path.write_text(text + '\n[[leak]]\nid = "new-hole"\nroom = "bath"\narea = "4 in2"\n', encoding="utf-8")
    assert tightness() == "unknown"
    codes = [f["code"] for f in document(capsys, "check", str(path), code=1)["findings"]]
    assert "test-describes-earlier-house" in codes


@pytest.mark.invariant
def test_record_test_asks_for_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(DEMO.parent, tmp_path / "job")
    readings = tmp_path / "final.csv"
    readings.write_text(FINAL, encoding="utf-8")
    refused = document(capsys, "record-test", str(tmp_path / "job" / DEMO.name), str(readings), code=2)["refused"]
    assert [p["where"] for p in refused] == ["--stage", "--purpose", "--date", "--person"]
    assert len(list((tmp_path / "job" / "tests").iterdir())) == 1


@pytest.mark.invariant
def test_rules_stand_side_by_side(capsys: pytest.CaptureFixture[str]) -> None:
    rules = document(capsys, "check", str(DEMO), code=1)["rules"]
    assert [row["rule"] for row in rules["fresh_air"]] == list(fresh_air_rules())
    assert {row["rule"] for row in rules["local_exhaust"]} == {"ashrae-62.2", "irc"}
    assert {row["rule"] for row in rules["tightness"]} == set(rule_names())


@pytest.mark.analytic
def test_climate_of_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    result = document(capsys, "climate", str(DEMO))
    assert_close(
        result["density_kg_m3"],
        101325 * (1 - 0.0065 * 895 * FT / 288.15) ** 5.2559 / (287.055 * 293.15),
        rel=1e-9,
        why="standard atmosphere",
    )
    assert (
        len(result["monthly_outdoor_c"]) == len(result["monthly_ground_1_m_c"]) == len(result["monthly_mains_c"]) == 12
    )
    # the ground at 1 m swings less than the air and lags it
    swing = [max(v) - min(v) for v in (result["monthly_outdoor_c"], result["monthly_ground_1_m_c"])]
    assert swing[1] < swing[0]
    for window in result["windows"]:
        assert 0 < window["shaded_kwh_m2"] <= window["free_kwh_m2"] + 1e-6
    south = next(w for w in result["windows"] if w["window"] == "w-south-1")
    assert_close(south["free_kwh_m2"], 1125, rel=0.03, why="a little less than the 1141 kWh/m2 of due south")
    assert document(capsys, "climate", str(DEMO.parents[1] / "mountain-shed/mountain-shed.toml"))["year"] is None


# ------------------------------------------------------------------------------------------------ quick


@pytest.mark.published
def test_quick_fresh_air(capsys: pytest.CaptureFixture[str]) -> None:
    result = document(
        capsys,
        "quick",
        "fresh-air",
        "--area",
        "1000 ft2",
        "--bedrooms",
        "2",
        "--rule",
        "ashrae-62.2-2019",
        "--cfm50",
        "120",
        "--height",
        "9 ft",
        "--weather-factor",
        "0.6",
        "--unbalanced",
        "--new",
    )
    assert_close(result["required_flow_m3_s"] / CFM, 52.5, abs=1e-6, why="ASHRAE 62.2-2019 formula")
    assert_close(result["fan_flow_m3_s"] / CFM, 52.210, abs=6e-4, why="worked credit, unbalanced")
    assert result["form"] == "IP"
    metric = document(capsys, "quick", "fresh-air", "--area", "92.903 m2", "--bedrooms", "2")
    assert metric["form"] == "SI"
    assert_close(metric["required_flow_m3_s"] * 1000, 24.44, abs=6e-3, why="SI form of the rule (from memory)")


@pytest.mark.published
def test_quick_tightness(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "b.csv"
    pairs = [
        (60.1, 1012),
        (55.2, 958),
        (49.8, 894),
        (45.3, 846),
        (39.9, 775),
        (35.1, 716),
        (29.7, 639),
        (25.2, 576),
        (20.3, 497),
        (15.0, 410),
    ]
    path.write_text("pressure_pa,flow_m3_h\n" + "".join(f"{p},{q * 1.699010796}\n" for p, q in pairs), encoding="utf-8")
    result = document(capsys, "quick", "tightness", str(path), "--volume", "16000 ft3", "--method", "as-entered")
    assert_close(result["exponent"], 0.652526, abs=6e-7, why="set B")
    assert_close(result["flow_at_50_pa_m3_s"] / CFM, 898.69, abs=6e-3, why="set B")
    assert_close(result["flow_at_50_pa_low_m3_s"] / CFM, 896.26, abs=6e-3, why="set B")
    assert_close(result["flow_at_50_pa_high_m3_s"] / CFM, 901.13, abs=6e-3, why="set B")
    assert_close(result["ach50"], 3.370, abs=6e-4, why="set B")
    assert_close(result["ela4_m2"] / 0.0254**2, 49.075, abs=1e-3, why="set B")
    assert_close(result["eqla10_m2"] / 0.0254**2, 92.367, abs=1e-3, why="set B")
    assert result["exponent_ci95"][0] < result["exponent"] < result["exponent_ci95"][1]
    assert {"coefficient_m3_s_pan", "r2"} <= set(result)
    run(
        [
            "quick",
            "tightness",
            str(path),
            "--volume",
            "16000 ft3",
            "--rule",
            "iecc-2012",
            "--zone",
            "4",
            "--envelope-area",
            "5000 ft2",
        ]
    )
    assert "NOT met" in capsys.readouterr().out


@pytest.mark.published
def test_quick_pressure(capsys: pytest.CaptureFixture[str]) -> None:
    result = document(
        capsys, "quick", "pressure", "--flow-at-50", "80 cfm", "--exponent", "0.65", "--exhaust", "100 cfm"
    )
    assert_close(result["house_pressure_pa"], -70.5, abs=0.06, why="computed from P = (Q/C)^(1/n), printed to a tenth")


@pytest.mark.published
def test_quick_assembly(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "wall.toml"
    path.write_text(
        'kind = "wall"\nlayers = [\n'
        '  { conductivity = "1.0 W/mK", density = "1200 kg/m3", specific_heat = "1500 J/kgK", thickness = "5 mm" },\n'
        '  { conductivity = "0.04 W/mK", density = "30 kg/m3", specific_heat = "1400 J/kgK", thickness = "100 mm" },\n'
        '  { conductivity = "1.8 W/mK", density = "2400 kg/m3", specific_heat = "1000 J/kgK", thickness = "200 mm" },\n]\n',
        encoding="utf-8",
    )
    result = document(capsys, "quick", "assembly", str(path))
    assert_close(result["u_w_m2k"], 0.3589, abs=6e-5, why="ISO 13786 worked wall")
    assert_close(result["periodic_transmittance_w_m2k"], 0.0606, abs=6e-5, why="ISO 13786 worked wall")
    assert_close(result["decrement"], 0.1687, abs=6e-5, why="ISO 13786 worked wall")
    assert_close(result["time_shift_h"], 8.11, abs=6e-3, why="ISO 13786 worked wall")
    assert_close(result["r_ip"], 5.678263 / 0.3589, rel=3e-4, why="films included")


@pytest.mark.invariant
def test_quick_assembly_names_mistakes(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "wall.toml"
    path.write_text(
        'layers = [\n  { material = "osb" },\n  { material = "wood", thickness = "1 in" },\n]\nlayerz = 1\n',
        encoding="utf-8",
    )
    text = json.dumps(document(capsys, "quick", "assembly", str(path), code=2))
    assert "layers[1]" in text
    assert "layerz" in text


@pytest.mark.published
def test_verify_holds_throughout(capsys: pytest.CaptureFixture[str]) -> None:
    checks = document(capsys, "verify")["checks"]
    assert len(checks) >= 100
    assert {c["kind"] for c in checks} <= {"published", "analytic", "invariant"}
    for check in checks:
        assert set(check) == {"name", "kind", "source", "expected", "got", "tolerance", "unit", "holds"}
        assert check["holds"], check
    names = [c["name"] for c in checks]
    assert len(names) == len(set(names))
    assert run(["verify", "--only", "Brown and Solvason"]) == 0
    assert "5 checks, 5 hold" in capsys.readouterr().out


# -------------------------------------------------------------------------------------------------- new


LINES = [
    "living: 18 ft x 20 ft",
    "bed 1: 12 ft x 10 ft, east of living, align south",
    "bath: 12 ft x 9 ft 7 1/2 in, north of bed 1",
]


@pytest.mark.invariant
def test_new_writes_a_house_that_can_be_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine" / "mine.toml"
    arguments = [arg for line in LINES for arg in ("--room", line)]
    document(capsys, "new", str(path), *arguments)
    result = document(capsys, "check", str(path), code=(0, 1))
    assert result["house"] == "mine"
    file = read_house(path)
    # inside 18 x 20, 12 x 10, 12 x 9' 7 1/2", and half of each partition
    net = 18 * 20 + 12 * 10 + 12 * (9 + 7.5 / 12)
    assert_close(
        sum(s.net_floor_m2 for s in file.geometry.spaces) / FT**2, net, rel=2e-3, why="partition corners counted once"
    )
    assert file.additions == ()
    assert "exists" in json.dumps(document(capsys, "new", str(path), *arguments, code=2))


@pytest.mark.invariant
def test_new_in_metric_from_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rooms = tmp_path / "rooms.txt"
    rooms.write_text("# two rooms\nmain: 5 m x 4 m\nwet: 2 m x 4 m, west of main\n", encoding="utf-8")
    path = tmp_path / "m.toml"
    document(capsys, "new", str(path), "--rooms", str(rooms), "--units", "si")
    assert tomllib.loads(path.read_text(encoding="utf-8"))["units"] == "si"
    assert_close(read_house(path).geometry.floor_m2, 5 * 4 + 2 * 4 + 0.115 * 4, rel=1e-4, why="a partition between")


# ------------------------------------------------------------------------------------------- the rest


@pytest.mark.invariant
def test_schema_years_ids_and_version(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    schema = document(capsys, "schema")
    assert "room" in schema["properties"]
    assert {y["name"] for y in document(capsys, "years")["years"]} >= {"greensboro", "sand-point", "miami"}
    copy = tmp_path / DEMO.name
    shutil.copy(DEMO, copy)
    assert document(capsys, "ids", str(copy)) == {"added": []}
    assert re.match(r"\d+\.\d+", document(capsys, "version")["version"])


@pytest.mark.invariant
def test_help_of_every_command_names_every_option() -> None:
    for command in ([], ["new"], ["describe"], ["check"], ["report"], ["ids"], ["record-test"], ["schema"], ["years"], ["climate"],
            ["simulate"],
            ["verify"], ["version"],
                    ["quick"], ["quick", "fresh-air"], ["quick", "tightness"], ["quick", "pressure"], ["quick", "assembly"]):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "inshell", *command, "--help"], capture_output=True, text=True, check=True
        )
        assert "Usage" in done.stdout


@pytest.mark.invariant
def test_a_quick_answer_and_a_cache_hit_import_nothing_slow(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom inshell.cli.run import run\n"
        f"run(['check', {str(DEMO)!r}, '--json'])\n"
        "print('SLOW', [m for m in ('pvlib', 'pandas', 'matplotlib', 'CoolProp') if m in sys.modules])"
    )
    for _ in range(2):
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.rstrip().endswith("SLOW []")
