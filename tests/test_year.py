"""The year, the cooling day, series in a columnar file, and runs that are kept."""

from __future__ import annotations

import json
import shutil
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inshell.cli.run import run
from inshell.climate.choose import climate_of
from inshell.climate.prepare import named_year
from inshell.design.cooling_day import calculate_cooling_day, clearest_day, design_hours_c, hottest_month
from inshell.design.drivers import earth_c, prepare
from inshell.design.year_run import YearRun, calculate_year, room_years, run_in
from inshell.errors import InputRefused
from inshell.house.reading import HouseFile, read_house
from inshell.jobs.runs import keep_year, kept_year, run_key, stored_year
from inshell.jobs.series_file import columns_of, write_series
from inshell.jobs.steps import StepsAsked
from inshell.network.compiled import is_compiled
from inshell.network.system import first_state
from inshell.physics.air import saturation_pressure_pa, vapour_from_wet_bulb_pa
from tests.evidence import DEMO, ROOT, assert_close

pytestmark = pytest.mark.skipif(not is_compiled(), reason="a year takes the compiled step")
CABIN = ROOT / "examples" / "ridge-cabin" / "ridge-cabin.toml"


@pytest.fixture(scope="module")
def file() -> HouseFile:
    return read_house(DEMO)


@pytest.fixture(scope="module")
def year(file: HouseFile) -> YearRun:
    return calculate_year(file.house, file.geometry, climate_of(file.house, file.folder))


@pytest.mark.invariant
def test_held_rooms_stay_between_their_set_points(file: HouseFile, year: YearRun) -> None:
    living = year.of("room_c", "living")
    heat, cool = file.house.household.heating_set_point_c, file.house.household.cooling_set_point_c
    assert_close(living.min(), heat, abs=1e-3, why="as much heat as it needs")
    most = np.sort(living)[-20:]
    assert most[0] < cool + 1e-3 < cool + 0.5 > most[-1], "but for some hours in which the head is at its most"


@pytest.mark.invariant
def test_energy_of_the_year_agrees_with_degree_hours(file: HouseFile, year: YearRun) -> None:
    """Heat made lies below loss coefficient x degree-hours and above it less all gains (a bound, not an estimate)."""
    steady = 8041 * 0.29307107 / ((70 - 18) / 1.8)  # W/K from the design load, 21.11 to -7.78 °C
    kelvin_hours = np.maximum(file.house.household.heating_set_point_c - year.outdoor_c, 0.0).sum()
    heat = np.maximum(year.heat_w, 0.0).sum() / 1000.0
    assert 0.25 * steady * kelvin_hours / 1000.0 < heat < steady * kelvin_hours / 1000.0


@pytest.mark.invariant
def test_more_carbon_dioxide_where_people_sleep_behind_a_door(file: HouseFile, year: YearRun) -> None:
    rows = {r.room: r for r in room_years(file.house, year)}
    assert rows["bed-1"].carbon_dioxide_night_ppm > rows["living"].carbon_dioxide_night_ppm + 100.0
    assert min(r.carbon_dioxide_night_ppm for r in rows.values()) > 420.0


@pytest.mark.analytic
def test_mean_age_of_air_is_volume_over_flow(year: YearRun, file: HouseFile) -> None:
    """Outdoor air by all routes over a still night balances volume / age to first order: 1.4 to 3 h for 52 to 90 cfm."""
    volume = sum(file.geometry.space(r).volume_m3 for r in year.rooms)
    night = slice(24 * 30, 24 * 31)
    into = np.zeros(24)
    for k, (_, one, two) in enumerate(year.routes):
        into += year.forward_kg_s[night, k] * (one == "outdoors") + year.back_kg_s[night, k] * (two == "outdoors")
    nominal = volume * 1.2 / into.mean()
    weights = np.array([file.geometry.space(r).volume_m3 for r in year.rooms])
    mean_age = float((year.age_s[night] @ weights).mean() / weights.sum())
    assert_close(mean_age, nominal, rel=0.15, why="mean age of a well-mixed house is volume over flow; rooms differ")


@pytest.mark.invariant
def test_the_run_in_has_settled(file: HouseFile) -> None:
    climate = climate_of(file.house, file.folder)
    ready = prepare(file.house, file.geometry, climate, hours=np.arange(8760), doors="by-hours")
    once = run_in(ready, first_state(ready.system, air_c=21.0), first=8088, last=8760, step_s=600.0)
    other = run_in(ready, first_state(ready.system, air_c=15.0), first=8088, last=8760, step_s=600.0)
    gap = np.abs(once.nodes_c - other.nodes_c).max()
    assert_close(gap, 0.0, abs=0.05, why="each is settled to 0.01 K a month; soil goes on slowly")


@pytest.mark.published
def test_the_cooling_day_follows_the_profile() -> None:
    """Greensboro's July: peak as entered, lowest at hour 5 (share 1.0 of the range; ASHRAE profile, from memory)."""
    weather = named_year("greensboro")
    month = hottest_month(weather)
    hours = design_hours_c(weather, month, 33.3)
    assert month == 6
    assert_close(hours.max(), 33.3, abs=1e-12, why="share 0")
    assert int(hours.argmin()) == 4
    assert 8.0 < hours.max() - hours.min() < 14.0
    day = clearest_day(weather, month)
    assert 181 <= day < 212


@pytest.mark.analytic
def test_the_ground_swings_about_the_yearly_mean(file: HouseFile) -> None:
    weather = named_year("greensboro")
    ground = earth_c(file.house, file.geometry, weather, np.arange(8760))
    assert_close(ground.mean(), weather.mean_c, abs=0.15, why="the swing is a share of monthly means about the mean")
    months = weather.monthly_means("dry_bulb_c")
    assert ground.max() - ground.min() < months.max() - months.min()
    assert ground.argmax() // 24 in range(182, 213)


@pytest.mark.invariant
def test_a_run_is_read_back_as_it_was_kept(
    file: HouseFile, year: YearRun, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("INSHELL_CACHE", str(tmp_path))
    climate = climate_of(file.house, file.folder)
    assert kept_year(file, climate) is None
    keep_year(
        run_key(file, climate, scenario="year, doors by hours, slots of 3600 s", step_s=600.0, tested_m3_s=None), year
    )
    back = kept_year(file, climate)
    assert back is not None
    for f in fields(YearRun):
        one, two = getattr(year, f.name), getattr(back, f.name)
        assert np.array_equal(one, two, equal_nan=True) if isinstance(one, np.ndarray) else one == two, f.name
    assert kept_year(file, climate, tested_m3_s=0.05) is None, "another leakage is another run"
    (tmp_path / f"run-{'0' * 64}.npz").write_bytes(b"half written")
    assert stored_year("0" * 64) is None


@pytest.mark.invariant
def test_the_series_file_holds_every_column_with_its_unit(year: YearRun, tmp_path: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    path = tmp_path / "y.parquet"
    write_series(path, year, {"house": "demo"})
    table = parquet.read_table(path)
    assert table.num_rows == 8760
    assert table.schema.metadata[b"house"] == b"demo"
    assert table.column_names == [name for name, *_ in columns_of(year)]
    for column in table.schema:
        assert column.metadata[b"unit"]
        assert column.metadata[b"meaning"]
    assert_close(table["bed-1.air_c"].to_numpy().max(), year.of("room_c", "bed-1").max(), abs=0, why="the same numbers")
    with pytest.raises(InputRefused):
        write_series(tmp_path / "y.csv", year, {})
    with pytest.raises(InputRefused):
        write_series(tmp_path / "nowhere" / "y.parquet", year, {})


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("options", "place"),
    [
        ({"step": "30 min"}, "--step"),
        ({"step": "7 min"}, "--step"),
        ({"step": "10"}, "--step"),
        ({"every": "2 h"}, "--every"),
        ({"step": "10 min", "every": "4 min"}, "--every"),
        ({"year": False, "output": Path("x.parquet")}, "--output"),
        ({"day": "coldest"}, "--day"),
    ],
)
def test_steps_that_do_not_fit_are_refused(options: dict[str, Any], place: str) -> None:
    given = {"step": "", "every": "1 h", "year": True, "day": "heating", "output": None} | options
    with pytest.raises(InputRefused) as refused:
        StepsAsked.of(**given)
    assert place in {p.where for p in refused.value.problems}


@pytest.mark.invariant
def test_the_command_and_the_promise_that_reads_its_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("INSHELL_CACHE", str(tmp_path / "cache"))
    shutil.copytree(DEMO.parent, tmp_path / "job")
    path = tmp_path / "job" / DEMO.name

    def promise() -> dict[str, Any]:
        run(["check", str(path), "--json"])
        rows = json.loads(capsys.readouterr().out)["promises"]
        return next(p for p in rows if p["id"].startswith("promise/") and p["unit"] == "ppm")

    assert "simulate FILE --year" in promise()["why_unknown"]
    assert run(["simulate", str(path), "--year", "--json", "-o", str(tmp_path / "y.parquet")]) == 0
    document = json.loads(capsys.readouterr().out)
    assert {r["room"] for r in document["rooms"]} >= {"living", "bed-1"}
    assert document["balances"]["gas_share"] < 2e-8
    assert (tmp_path / "y.parquet").exists()
    after = promise()
    assert after["verdict"] == "unknown"
    assert "inshell rooms FILE" in after["why_unknown"]
    assert after["value"] > 900.0
    text = path.read_text(encoding="utf-8")
    assert text.count("limit = 1200") == 1
    path.write_text(text.replace("limit = 1200", "limit = 800"), encoding="utf-8")
    assert promise()["verdict"] == "broken", "a promise is no part of what a run reads"
    assert run(["simulate", str(CABIN), "--day", "cooling", "--json"]) == 0
    capsys.readouterr()
    assert run(["simulate", str(path), "--day", "cooling", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["cases"]) == 2


@pytest.mark.published
def test_humidity_from_a_wet_bulb() -> None:
    """30 °C with a wet bulb of 20 °C is 39 to 40 % humid at sea level (psychrometric tables, from memory)."""
    vapour = float(vapour_from_wet_bulb_pa(dry_bulb_c=30.0, wet_bulb_c=20.0, pressure_pa=101325.0))
    assert_close(
        vapour / float(saturation_pressure_pa(temperature_c=30.0)), 0.395, abs=0.006, why="tables in whole percents"
    )


@pytest.mark.invariant
def test_the_cooling_day_reads_wet_bulb_and_sky(file: HouseFile) -> None:
    """A drier wet bulb dries the rooms; a clear sky cools the roof and the rooms that nothing holds."""
    climate = climate_of(file.house, file.folder)

    def day(**other: Any) -> Any:
        house = file.house.model_copy(update=other)
        return calculate_cooling_day(house, file.geometry, climate, doors_open=False, step_s=600.0)

    plain = day()
    dry = day(climate=file.house.climate.model_copy(update={"cooling_wet_bulb_c": 16.0}))
    clear = day(simulation=file.house.simulation.model_copy(update={"sky": "dew-point"}))
    assert dry.humidity.mean() < plain.humidity.mean() - 0.05
    assert np.abs(clear.room_c - plain.room_c).max() > 1e-3
