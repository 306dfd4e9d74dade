"""Quick answers about air: ducts, fans, carbon dioxide, exposure, run time."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from inshell.cli.run import run
from inshell.physics.ventilation import on_off_effectiveness, relative_exposure, zone_ppm
from tests.evidence import assert_close


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert run(["quick", *words, "--json"]) in (0, 1)
    return json.loads(capsys.readouterr().out)


@pytest.mark.published
@pytest.mark.parametrize(
    ("diameter", "flow", "pa_m"),
    [("3 in", 30, 2.2605), ("4 in", 50, 1.3986), ("4 in", 80, 3.2811), ("5 in", 80, 1.1026), ("6 in", 100, 0.6798),
     ("8 in", 200, 0.5877)],
)  # fmt: skip
def test_friction_of_ducts(diameter: str, flow: float, pa_m: float, capsys: pytest.CaptureFixture[str]) -> None:
    """Darcy-Weisbach with Colebrook, galvanised 0.09 mm (computed sheet)."""
    document = told(
        capsys, "duct", "--diameter", diameter, "--length", "1 m", "--fittings", "0", "--flow", f"{flow} cfm"
    )
    assert_close(document["pressure_pa"], pa_m, rel=2e-3, why="air's density and viscosity to four digits")


@pytest.mark.published
def test_a_fan_meets_its_duct_and_the_house(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Fan 100 (1 - (Q/110)^2) Pa, 4 in smooth, 15 ft, C 4: 72.92 cfm at 56.06 Pa; house at -11 Pa 68.74 (computed)."""
    flows = np.linspace(0.0, 110.0, 111)
    rows = [f"{q},{100.0 * (1.0 - (q / 110.0) ** 2)}" for q in flows]
    path = tmp_path / "fan.csv"
    path.write_text("\n".join(["flow_cfm,pressure_pa", *rows]), encoding="utf-8")
    words = ("fan", "--curve", str(path), "--diameter", "4 in", "--length", "15 ft", "--fittings", "4")
    free, sucked = told(capsys, *words), told(capsys, *words, "--house-pressure", "-11 Pa")
    cfm = 0.3048**3 / 60.0
    assert_close(free["flow_m3_s"] / cfm, 72.92, abs=0.03, why="four digits; points a cfm apart")
    assert_close(free["pressure_pa"], 56.06, abs=0.05, why="four digits")
    assert_close(sucked["flow_m3_s"] / cfm, 68.74, abs=0.03, why="four digits")
    path.write_text("flow_m3_h,pressure_pa\n0,60\n40,52\n80,70\n120,40\n160,0\n", encoding="utf-8")
    stalls = told(capsys, "fan", "--curve", str(path), "--diameter", "4 in", "--length", "1 m", "--fittings", "26")
    assert stalls["rising_branch"]
    for bad in ("nan", "elbow:-2,cap:3", "elbow:x"):
        assert (
            run(["quick", "duct", "--diameter", "4 in", "--length", "1 m", "--fittings", bad, "--flow", "80 cfm"]) == 2
        )
    path.write_text("litres,pa\n0,60\n", encoding="utf-8")
    assert run(["quick", *words]) == 2


@pytest.mark.published
@pytest.mark.parametrize(("flow", "ppm"), [(5, 1801), (7.5, 1341), (10, 1111), (15, 880)])
def test_two_sleepers(flow: float, ppm: float, capsys: pytest.CaptureFixture[str]) -> None:
    """A couple asleep at 22 °C, outdoors 420 ppm (Persily and de Jonge 2017, computed sheet)."""
    document = told(capsys, "co2", "--people", "adult-asleep:2", "--outdoor-flow", f"{flow} L/s")
    assert_close(document["steady_ppm"], ppm, abs=0.6, why="whole ppm")


@pytest.mark.published
@pytest.mark.parametrize(("hours", "ppm"), [(1, 1189.5), (2, 1554.3), (4, 1919.8), (8, 2113.2)])
def test_a_night_in_a_bedroom(hours: float, ppm: float) -> None:
    """30 m3, 4 L/s, two sleepers, from 600 ppm (computed sheet)."""
    got = zone_ppm(
        outdoor_flow_m3_s=0.004, source_m3_s=6.906e-6, volume_m3=30.0, start_ppm=600.0, after_s=hours * 3600.0
    )
    assert_close(got, ppm, abs=0.3, why="source to four digits")


@pytest.mark.published
def test_exposure_and_run_time() -> None:
    """ASHRAE 62.2 appendix C (from memory), hourly; on-off effectiveness (computed sheet)."""
    flows = np.array([0, 0, 0, 0, 100, 100, 100, 100, 50, 50]) / 3600.0
    want = [1.16667, 1.33333, 1.5, 1.66667, 1.33595, 1.09899, 0.92919, 0.80753, 0.83708, 0.86209]
    got = relative_exposure(required_m3_s=50.0 / 3600.0, volume_m3=300.0, flows_m3_s=flows)
    assert_close(got, want, abs=6e-6, why="five digits")
    sheet = {
        0.25: [0.9882, 0.9516, 0.7831], 0.50: [0.9948, 0.9791, 0.9155], 0.80: [0.9992, 0.9967, 0.9873],
    }  # fmt: skip
    for f, row in sheet.items():
        got_row = [on_off_effectiveness(on_fraction=f, changes=n) for n in (0.5, 1.0, 2.0)]
        assert_close(got_row, row, abs=6e-5, why="four digits")


@pytest.mark.analytic
def test_an_on_off_fan_leaves_the_mean_that_it_should() -> None:
    """The concentration itself, cycle after cycle by an integrator, at the flow that the effectiveness gives."""
    f, n, volume, needed = 0.4, 1.3, 200.0, 0.02
    cycle = n * volume / needed
    on = needed / (f * on_off_effectiveness(on_fraction=f, changes=n))
    now, mean = 1.0, 0.0
    for _ in range(60):
        mean = 0.0
        for flow, length in ((on, f * cycle), (0.0, (1.0 - f) * cycle)):
            run_part = solve_ivp(lambda _t, y, q=flow: [(needed - q * y[0]) / volume, y[0]], (0.0, length), [now, 0.0],
                                 rtol=1e-9, atol=1e-9)  # fmt: skip
            now, mean = float(run_part.y[0, -1]), mean + float(run_part.y[1, -1])
    assert_close(mean / cycle, 1.0, abs=1e-5, why="the integrator's tolerance")


@pytest.mark.published
def test_run_time_by_the_rules(capsys: pytest.CaptureFixture[str]) -> None:
    """IRC factors 4, 3, 2, 1.5, 1.3, 1 by share of each 4 h; the time average within 3 h (UMC App. E)."""
    for share, factor in ((0.25, 4.0), (0.33, 3.0), (0.5, 2.0), (0.66, 1.5), (0.75, 1.3), (1.0, 1.0)):
        words = ("intermittent", "--rule", "irc-2018-table", "--required", "50 m3/h", "--on-fraction", str(share))
        assert_close(
            told(capsys, *words, "--cycle", "4 h")["fan_flow_m3_s"] * 3600.0, 50.0 * factor, abs=1e-9, why="table"
        )
    short = told(capsys, "intermittent", "--rule", "ashrae-62.2-2019", "--required", "50 m3/h", "--on-fraction", "0.5",
                 "--cycle", "2 h")  # fmt: skip
    assert short["effectiveness"] == 1.0
    assert_close(short["fan_flow_m3_s"] * 3600.0, 100.0, abs=1e-9, why="twice in half the time")
    assert run(["quick", "intermittent", "--rule", "irc-2018-table", "--required", "50 m3/h", "--on-fraction", "0.2",
                "--cycle", "4 h"]) == 2  # fmt: skip
    assert run(["quick", "intermittent", "--rule", "ashrae-62.2-2019", "--required", "50 cfm", "--on-fraction", "0.5",
                "--cycle", "24 h", "--volume", "7600 ft3"]) == 2  # fmt: skip
