"""Leaks in place, skins at joints through the year, soil openings, and what `inshell dry` says."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inshell.cli.run import run as command
from inshell.climate.choose import climate_of
from inshell.design.dry_year import assembly_years, by_month, weekly_limit
from inshell.design.leak_places import LeakPlace, Share, leak_places, opening_flows_m3_s, shared_out
from inshell.design.leak_skins import air_at, board_of, calculate_joints, mass_flow_kg_s
from inshell.design.skin_cases import CASES, JointYear, SkinYear
from inshell.design.year_run import year_ready
from inshell.house.reading import read_house
from inshell.jobs.describe import Described
from inshell.jobs.dry import balanced_instead
from inshell.network.compiled import run
from inshell.physics.flow import hole_flow_m3_s
from inshell.physics.leak_moisture import highest_humidity
from inshell.physics.skin import AtSkin, skin_course, skin_step
from inshell.physics.soil import soil_inflow_m3_s
from tests.evidence import DEMO, EXAMPLES, assert_close


@pytest.fixture(scope="module")
def demo():
    file = read_house(DEMO)
    return file.house, file.geometry, climate_of(file.house, file.folder)


@pytest.fixture(scope="module")
def year(demo):
    house, geometry, climate = demo
    ready, begin = year_ready(house, geometry, climate)
    return ready, run(ready.system, ready.forcing, begin, step_s=600.0)


@pytest.mark.published
def test_soil_openings() -> None:
    """0.3 x 0.3 m, 3 Pa, k 1e-10 / 1e-9 / 1e-8 m2: 0.041 / 0.406 / 4.06 m3/h (computed sheet)."""
    got = soil_inflow_m3_s(area_m2=0.09, pressure_pa=3.0, permeability_m2=np.array([1e-10, 1e-9, 1e-8])) * 3600.0
    assert_close(got, [0.0406, 0.406, 4.06], rel=2e-3, why="three digits")


@pytest.mark.analytic
def test_many_skins_are_many_single_ones() -> None:
    """The vector solution against root finding, random weather and leaks, wet and dry."""
    rng = np.random.default_rng(3)
    hours, cases = 200, 5
    given = {
        "skin_c": rng.uniform(-12, 30, (hours, cases)), "leak_kg_s": rng.uniform(0, 4e-4, (hours, cases)),
        "leak_vapour": rng.uniform(0.001, 0.012, (hours, cases)), "inside_pa": rng.uniform(500, 1500, (hours, cases)),
        "outside_pa": rng.uniform(150, 1800, (hours, cases)),
    }  # fmt: skip
    inner, outer, dry = rng.uniform(0, 3e-12, cases), rng.uniform(0, 2e-10, cases), rng.uniform(0.5, 6.0, cases)
    told = skin_course(start_kg_kg=0.12, dry_kg=dry, inside_kg_s_pa=inner, outside_kg_s_pa=outer, **given)
    for k in range(cases):
        u = 0.12
        for h in range(hours):
            acting = AtSkin(
                skin_c=given["skin_c"][h, k], leak_kg_s=given["leak_kg_s"][h, k], leak_vapour=given["leak_vapour"][h, k],
                inside_kg_s_pa=inner[k], inside_pa=given["inside_pa"][h, k], outside_kg_s_pa=outer[k],
                outside_pa=given["outside_pa"][h, k],
            )  # fmt: skip
            u = skin_step(moisture_kg_kg=u, dry_kg=dry[k], step_s=3600.0, acting=acting)
            assert_close(told.moisture_kg_kg[h, k], u, abs=2e-6, why="w_skin is linearised round the last step, twice")


@pytest.mark.invariant
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_leaks_in_place_are_the_joints_of_the_drawing(path: Path) -> None:
    """Lengths add up to those of the drawing; each has its row; the shares add up to the test, within their ranges."""
    file = read_house(path)
    places = leak_places(file.house, file.geometry)
    assert len({p.id for p in places}) == len(places)
    drawn = Described(file, None).joints_m()  # type: ignore[arg-type]
    for kind in ("ridge", "eave", "rake", "sill", "corner", "hip", "valley"):
        mine = sum(p.size for p in places if p.kind == kind)
        assert_close(mine, drawn.get(kind, 0.0), rel=1e-9, abs=1e-9, why="the same lines")
    panels = sum(length for name, length in drawn.items() if name.startswith("panel joints"))
    assert_close(
        sum(p.size for p in places if p.kind.endswith("panel-joint")), panels, rel=1e-9, abs=1e-9, why="shared"
    )
    total = 0.004
    shares = shared_out(places, total)
    spread = [s for s in shares if s.place.open_m2 <= 0.0]
    known = sum(s.best_m2 for s in shares if s.place.open_m2 > 0.0 and not s.place.sealed)
    rest = total - known if known < total else total
    assert_close(sum(s.best_m2 for s in spread), rest, rel=1e-9, abs=1e-12, why="all of it")
    for s in spread:
        assert 0.0 <= s.least_m2 <= s.best_m2 + 1e-12 <= s.most_m2 + 2e-12 <= total + 3e-12, s.place.id
    again = leak_places(file.house.model_copy(update={"room": tuple(reversed(file.house.room))}), file.geometry)
    assert [p.id for p in again] == [p.id for p in places], "ids do not hang on the order of rooms"


@pytest.mark.invariant
def test_air_through_a_place_is_the_networks(demo, year) -> None:
    """At the height and size of one of the network's own leaks the flow is the network's, hour by hour."""
    house, geometry, _ = demo
    ready, series = year
    share = next(
        s for s in shared_out(leak_places(house, geometry), 0.004) if s.place.id == "panel-joint:living/roof.south"
    )
    k, link = next((k, x) for k, x in enumerate(ready.system.air.links) if x.name == "leak living/roof.south high")
    there = replace(share, place=replace(share.place, height_m=link.low_m))
    air = air_at(ready, series, there)
    area = link.coefficient_m3_s_pan * 4.0**0.65 / np.sqrt(8.0 / air.kg_m3)
    mine = np.array([mass_flow_kg_s(a, replace(air, drop_pa=air.drop_pa[[h]], kg_m3=air.kg_m3[[h]]), 0.65)[0]
                     for h, a in enumerate(area[:500])])  # fmt: skip
    network = (series.forward_kg_s[:, k] - series.back_kg_s[:, k])[:500]
    off = np.abs(mine - network)
    assert float(np.median(off)) < 0.005 * float(np.abs(network).mean()), "means of six steps, not the flow of a mean"


@pytest.mark.invariant
def test_reversing_the_pressure_dries_the_skin(demo, year) -> None:
    """Exhaust fans draw air in at the ridge; the same air balanced lets it out: more hours outward, a wetter board."""
    house, geometry, climate = demo
    ready, series = year
    shares = tuple(s for s in shared_out(leak_places(house, geometry), 0.004) if s.place.kind == "ridge")
    sucked = calculate_joints(house, geometry, ready, series, shares, 0.65)[0]
    even = balanced_instead(house, geometry)
    assert even is not None
    assert balanced_instead(even, geometry) is None
    still, begin = year_ready(even, geometry, climate)
    pushed = calculate_joints(
        even, geometry, still, run(still.system, still.forcing, begin, step_s=600.0), shares, 0.65
    )
    other = next(j for j in pushed if j.share.place.id == sucked.share.place.id)
    assert other.outward_h > 20 * max(sucked.outward_h, 1)
    assert other.of("central").deposit_kg_m > 10 * sucked.of("central").deposit_kg_m
    assert other.of("central").most_kg_kg > sucked.of("central").most_kg_kg
    for joint in (sucked, other):
        for case in joint.cases:
            assert joint.span("most_kg_kg")[0] <= case.most_kg_kg <= joint.span("most_kg_kg")[1]
        assert joint.of("catch 0.2").deposit_kg_m <= joint.of("catch 1").deposit_kg_m
        assert joint.of("least leakage").deposit_kg_m <= joint.of("most leakage").deposit_kg_m
    assert board_of(house, next(a for a in house.assembly if a.id == "partition"), "wall") is None, (
        "gypsum does not rot here"
    )


@pytest.mark.analytic
def test_a_year_by_month_and_by_week(demo, year) -> None:
    house, geometry, _ = demo
    ready, series = year
    assert_close(by_month(np.arange(8760.0))[[0, 11]], [371.5, 8387.5], abs=1e-9, why="means of 744 hours")
    weeks = weekly_limit(ready, 21.0, 0.6)
    day = ready.forcing.outdoor_c[: 7 * 24].min()
    assert_close(
        weeks[0], float(highest_humidity(outside_c=day, inside_c=21.0, factor=0.6)), rel=1e-12, why="its coldest hour"
    )
    told = {a.assembly: a for a in assembly_years(house, geometry, ready, series)}
    assert told["roof-panel"].beyond
    assert told["roof-panel"].verdict.startswith("outside the method")
    assert not told["wall-panel"].beyond
    covered = tuple(a.model_copy(update={"covering": "vented"}) if a.id == "roof-panel" else a for a in house.assembly)
    vented = house.model_copy(update={"assembly": covered})
    again = {a.assembly: a for a in assembly_years(vented, geometry, ready, series)}
    assert not again["roof-panel"].beyond
    assert again["roof-panel"].worse.most_kg_m2 <= told["roof-panel"].worse.most_kg_m2


@pytest.mark.invariant
def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["dry", str(DEMO), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [s["name"] for s in document["scenarios"]] == ["as designed", "balanced instead, the same air"]
    for scenario in document["scenarios"]:
        for joint in scenario["joints"]:
            assert "safe" not in joint["verdict"]
            assert len(joint["cases"]) in (0, 16)
    opening = document["scenarios"][0]["soil_openings"][0]
    assert opening["id"] == "hole:tub-opening"
    flow = opening["inflow_m3_s"]
    assert_close(flow["gravel"] / flow["silty"], 100.0, rel=1e-9, why="in proportion to the soil's permeability")
    codes = {f["code"] for f in document["findings"]}
    assert {"outside-vapour-method", "soil-opening-draws"} <= codes
    assert len(document["highest_humidity_by_week"]) == 52
    assert command(["dry", str(DEMO)]) == 0
    text = capsys.readouterr().out
    for words in (
        "By diffusion alone",
        "Through joints at cold skins, as designed",
        "Openings in the slab",
        "first year",
    ):
        assert words in text


@pytest.mark.invariant
def test_a_hole_in_an_inner_wall_leads_to_the_room_behind(tmp_path: Path) -> None:
    """Indoors it moves no outdoor air; in an outer wall it takes its part of the tested leakage."""
    from inshell.network.routes import routes_of

    path = tmp_path / "house.toml"
    holes = "".join(
        f'\n[[leak]]\nid = "{name}"\nroom = "bed-1"\nwall = "{wall}"\nheight = "1 m"\narea = "10 in2"\n'
        for name, wall in (("inner", "c4-c1"), ("outer", "c1-c2"))
    )
    path.write_text(DEMO.read_text(encoding="utf-8") + holes, encoding="utf-8")
    file = read_house(path)
    routes = routes_of(file.house, file.geometry, flow_at_50_pa_m3_s=0.0535, exponent=0.65, doors="shut")
    links = {link.name: link for link in routes.network.links}
    names = [*routes.network.rooms, "outdoors"]
    ends = {
        name: (names[links[f"known leak {name}"].a], names[links[f"known leak {name}"].b])
        for name in ("inner", "outer")
    }
    assert ends == {"inner": ("bed-1", "living"), "outer": ("bed-1", "outdoors")}
    at_50 = sum(
        x.coefficient_m3_s_pan * 50.0**x.exponent
        for x in links.values()
        if x.name.startswith(("leak ", "known leak outer"))
    )
    assert_close(at_50, 0.0535, rel=1e-9, why="the test is the sum of what leads outdoors")


@pytest.mark.invariant
def test_any_case_that_passes_decay_or_mould_is_told() -> None:
    """A verdict looks at every case that was run, and at mould as well as at moisture."""
    share = Share(LeakPlace("ridge:x", "ridge", "x", "", 1.0, 3.0, (0.0, 0.0), 1e-4, 1e-5, 2e-4), 1e-4, 1e-5, 2e-4)

    def joint(**wet: float) -> JointYear:
        years = [
            SkinYear(c.name, 0.1, wet.get("other", 0.1) if c.name == "catch 1" else wet.get("central", 0.1) if c.name == "central" else 0.1,
                     0, 0, wet.get("mould", 0.0) if c.name == "central" else 0.0, 0.0)
            for c in CASES
        ]  # fmt: skip
        return JointYear(share, "osb", 1, 1.0, 1.0, 1.0, tuple(years), "catch")

    assert joint().worst == "below decay and mould in all cases run"
    assert joint(other=0.3).worst == "may rot or mould"
    assert joint(central=0.3).worst == "rots or moulds in the central case"
    assert joint(mould=4.0).worst == "rots or moulds in the central case"
    assert joint(mould=4.0).is_bad
    assert joint(other=0.3).span("most_kg_kg") == (0.1, 0.3)
    rising = replace(joint(), cases=tuple(replace(c, rises=c.case == "catch 1") for c in joint().cases))
    assert rising.worst == "may rot or mould", "what has not settled is not cleared"
    assert joint(other=0.22).worst.endswith("above 20 % in some")


@pytest.mark.invariant
def test_an_opening_over_soil_passes_what_soil_lets_through(demo) -> None:
    """Twenty square inches in the slab are no free hole: disc sink, 0.1 to 11 cfm at 50 Pa (order of magnitude)."""
    house, geometry, _ = demo
    leak = house.leak[0].model_copy(update={"sealed": False})
    place = next(p for p in leak_places(house.model_copy(update={"leak": (leak,)}), geometry) if p.open_m2)
    best, least, most = opening_flows_m3_s(place, 50.0)
    sandy = float(soil_inflow_m3_s(area_m2=place.open_m2, pressure_pa=50.0, permeability_m2=1e-9))
    assert_close(best, sandy, rel=1e-9, why="sandy soil")
    assert least < best < most < 0.2 * float(hole_flow_m3_s(area_m2=place.open_m2, pressure_pa=50.0))
    share = next(s for s in shared_out((place,), 1.0) if s.place is place)
    assert share.least_m2 < share.best_m2 < share.most_m2


@pytest.mark.invariant
def test_an_eave_is_judged_by_the_worse_of_wall_and_roof(demo, year) -> None:
    """The roof's skin joins the wall's: no eave is told drier than by its wall alone."""
    house, geometry, _ = demo
    ready, series = year
    shares = tuple(s for s in shared_out(leak_places(house, geometry), 2e-3) if s.place.id == "eave:living:c1-c2")
    both = calculate_joints(house, geometry, ready, series, shares, 0.65)[0]
    walls = replace(geometry, surfaces=tuple(s for s in geometry.surfaces if s.kind not in ("roof", "ceiling")))
    alone = calculate_joints(house, walls, ready, series, shares, 0.65)[0]
    assert both.of("central").most_kg_kg >= alone.of("central").most_kg_kg - 1e-12


@pytest.mark.long
@pytest.mark.invariant
def test_what_is_not_known_makes_no_house_dry(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody described, a hole beyond the whole leakage, layers without vapour resistance: each is told, none clears."""
    text = DEMO.read_text(encoding="utf-8")
    people = text[
        text.index("[[person]]") : text.index(
            "# ---------------------------------------------------------------- devices"
        )
    ]
    hole = '\n[[leak]]\nid = "big"\nroom = "living"\nwall = "north"\nheight = "1 m"\narea = "100 cm2"\n'
    blank = text.replace(
        '{ material = "eps", thickness = "9 3/8 in", framing = { share = "3 %" } }',
        '{ r = "R-36", thickness = "9 3/8 in" }',
    )
    told = {}
    for name, content in {
        "plain": text,
        "nobody": text.replace(people, ""),
        "hole": text + hole,
        "blank": blank,
    }.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(content, encoding="utf-8")
        assert command(["dry", str(path), "--json"]) == 0
        told[name] = json.loads(capsys.readouterr().out)
    codes = {name: {f["code"] for f in document["findings"]} for name, document in told.items()}
    assert "people-assumed" in codes["nobody"]
    humid = {name: document["humidity"][0]["mean"][0] for name, document in told.items()}
    assert_close(humid["nobody"], humid["plain"], abs=0.06, why="as many people make as much water")
    assert "holes-beyond-leakage" in codes["hole"]
    spread = [p for p in told["hole"]["places"] if not p["id"].startswith("hole:")]
    assert all(p["best_m2"] > 0.0 for p in spread)
    assert "assembly-not-judged" in codes["blank"]
    assert "roof-panel" not in {a["id"] for a in told["blank"]["assemblies"]}
    assert not codes["plain"] & {"people-assumed", "holes-beyond-leakage", "assembly-not-judged"}
