"""`inshell dry`: where a house gets wet, by diffusion, through joints and on cold points, and what rules the answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from inshell.design.drivers import Prepared
from inshell.design.dry_year import (
    AssemblyYear,
    InsidePoint,
    RoomHumidity,
    Slab,
    assembly_years,
    by_month,
    cool_slabs,
    glass_factor,
    humidity_by_month,
    inside_points,
    unjudged_assemblies,
    weekly_limit,
)
from inshell.design.leak_places import LeakPlace, Share, leak_places, shared_out
from inshell.design.leak_skins import air_at, calculate_joints, mass_flow_kg_s
from inshell.design.room_days import main_room
from inshell.design.skin_cases import JointYear
from inshell.design.year_run import STEP_S, year_ready
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import Ventilator
from inshell.house.model.house import House
from inshell.house.model.people import Person
from inshell.jobs.answer import Answer, answer, is_balanced
from inshell.jobs.record_findings import folder_findings
from inshell.jobs.rooms import Progress
from inshell.network.compiled import run
from inshell.network.system import Series
from inshell.physics.air import HEAT_CAPACITY_J_KGK
from inshell.physics.flow import coefficient_m3_s_pan, leakage_area_m2
from inshell.physics.soil import PERMEABILITIES_M2, soil_inflow_m3_s
from inshell.records.jobfolder import TestRecord
from inshell.sources import table

REFERENCE_PA, AIR_KG_M3, LB_FT = 4.0, 1.2041, 0.67197
AS_DESIGNED, BALANCED = "as designed", "balanced instead, the same air"
MOST_NAMED = 5
EVEN_M3_S = 1e-4
ABSURD_PA, SATURATED = 25.0, 0.88  # 1000/650 - 1000/1500: pores of a board of 650 kg/m3
EARTH = 2  # column of the boundaries


@dataclass(frozen=True)
class SoilOpening:
    """An opening in the slab: what it draws out of silty, sandy and gravelly soil while it is open, over the year."""

    place: LeakPlace
    hours_inward: int
    mean_pa: float
    inflow_m3_s: tuple[float, float, float]
    soil_c: tuple[float, float]
    """coldest and warmest of the soil that it comes out of, by month"""


@dataclass(frozen=True)
class Scenario:
    """A year of one way to run the house: joints at cold skins, the wettest first; soil openings."""

    name: str
    joints: tuple[JointYear, ...]
    soil: tuple[SoilOpening, ...]


@dataclass(frozen=True)
class Dry:
    """Everything that `inshell dry` says."""

    answer: Answer
    leakage_m2: float
    basis: str
    shares: tuple[Share, ...]
    scenarios: tuple[Scenario, ...]
    assemblies: tuple[AssemblyYear, ...]
    points: tuple[InsidePoint, ...]
    weekly_limit: tuple[float, ...]
    humidity: tuple[RoomHumidity, ...]
    slabs: tuple[Slab, ...]
    heat_kwh: dict[str, float]
    unjudged: dict[str, str]
    people_assumed: int
    findings: tuple[Finding, ...]


def dry(path: Path, *, progress: Progress | None = None) -> Dry:
    """The whole answer; raises InputRefused without a weather year."""
    base = answer(path)
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    return dry_of(base, progress=progress)


def dry_of(base: Answer, *, progress: Progress | None = None) -> Dry:
    """The same from a house whose static answer is there, with a weather year."""
    say = progress or (lambda _what, _share: None)
    peopled = lived_in(base.house)
    if peopled is not None:
        base = replace(base, file=replace(base.file, house=peopled))
    house, geometry = base.house, base.geometry
    shares, area, basis = shares_of(base)
    say("the year", 0.0)
    ready, series = _year(base)
    say("joints", 0.2)
    exponent = leakage_of(base)[1]
    scenarios = [_scenario(base, AS_DESIGNED, ready, series, shares, exponent)]
    even = balanced_instead(house, geometry)
    if even is not None:
        say("balanced", 0.6)
        scenarios.append(_scenario(base, BALANCED, *_year(base, even), shares, exponent))
    say("surfaces", 0.95)
    told = Dry(
        base, area, basis, shares, tuple(scenarios), assembly_years(house, geometry, ready, series),
        inside_points(house, geometry, ready, series),
        weekly_limit(ready, float(house.household.heating_set_point_c), _coldest_factor(house)),
        humidity_by_month(ready, series), cool_slabs(house, geometry, ready, series),
        _heat_kwh(ready, series, shares, exponent),
        unjudged_assemblies(house, geometry), sum(p.count for p in peopled.person) if peopled else 0, (),
    )  # fmt: skip
    say("done", 1.0)
    return replace(told, findings=tuple(by_severity(_findings(told))))


def _coldest_factor(house: House) -> float:
    """Temperature factor of the coldest point of any window: its frame, or its glass."""
    frame = float(table("design")["inside_points"]["frame"])
    return max(min([frame, *(glass_factor(float(g.u_w_m2k)) for g in house.glazing)]), 0.0)


def shares_of(base: Answer) -> tuple[tuple[Share, ...], float, str]:
    """Leaks in place with their shares, the effective area that they share [m2], and what that is from."""
    flow50, exponent, basis = leakage_of(base)
    coefficient = coefficient_m3_s_pan(flow_m3_s=flow50, pressure_pa=50.0, exponent=exponent)
    area = float(
        leakage_area_m2(
            coefficient_m3_s_pan=coefficient, exponent=exponent, pressure_pa=REFERENCE_PA, discharge=1.0,
            density_kg_m3=AIR_KG_M3,
        )
    )  # fmt: skip
    return shared_out(leak_places(base.house, base.geometry), area), area, basis


def latest_test(base: Answer) -> TestRecord | None:
    """The latest test, diagnostic or not; of one day the last by name."""
    return max((t for t in base.job.tests if t.date), key=lambda t: (t.date, t.id), default=None)


def leakage_of(base: Answer) -> tuple[float, float, str]:
    """(flow at 50 Pa [m3/s], exponent, what they are from): the latest test, diagnostic or not, else the design."""
    latest = latest_test(base)
    if latest is not None:
        said = f"the test {latest.id} of {latest.date}" + ("" if latest.is_compliance else ", diagnostic")
        return float(latest.result.flow_at_50_pa_m3_s), float(latest.result.exponent), said
    said = "the designed tightness: no test is recorded"
    return float(base.pressure.flow_at_50_pa_m3_s), float(base.house.tightness.exponent), said


def test_findings(base: Answer) -> list[Finding]:
    """What is wrong with the test that the leakage is from; an unfit test is used, and named."""
    latest = latest_test(base)
    where = f"tests/{latest.id}" if latest else ""
    mine = [f for f in folder_findings(base) if f.where == where and f.severity != "note"]
    if latest and latest.shell and base.file.shell_hash[: len(latest.shell)] != latest.shell:
        mine.append(Finding("test-of-earlier-shell", where, {"test": latest.id}))
    return [f for f in mine if f.code != "test-describes-earlier-house"]


def lived_in(house: House) -> House | None:
    """The same with people where none are described, as many as it says (else bedrooms and one); None if they are."""
    if house.person:
        return None
    count = max(house.bedrooms + 1 if house.household.occupants is None else house.household.occupants, 1)
    room = next((r.id for r in house.room if r.is_bedroom), house.room[0].id)
    person = Person.model_validate({"id": "assumed", "count": min(count, 20), "sleeps_in": room})
    return house.model_copy(update={"person": (person,)})


def _year(base: Answer, house: House | None = None) -> tuple[Prepared, Series]:
    ready, begin = year_ready(house or base.house, base.geometry, base.climate, tested_flow_m3_s=leakage_of(base)[0])
    return ready, run(ready.system, ready.forcing, begin, step_s=STEP_S)


def balanced_instead(house: House, geometry: Geometry) -> House | None:
    """The same air without its pull: what always exhausts or supplies becomes balanced; None where it already is.

    For each fan a ventilator without recovery that moves its base flow in the main room and out of the fan's, or the
    other way round; recovery ventilators take their larger stream both ways.
    """
    pulls = any(fan.base_flow_m3_s > 0.0 for fan in house.fan)
    uneven = any(abs(u.supply_flow_m3_s - u.exhaust_flow_m3_s) > EVEN_M3_S for u in house.ventilator)
    if is_balanced(house) or not (pulls or uneven):
        return None
    main = main_room(house, geometry, "all")
    units = []
    for unit in house.ventilator:
        flow = max(unit.supply_flow_m3_s, unit.exhaust_flow_m3_s)
        units.append(unit.model_copy(update={"supply_flow_m3_s": flow, "exhaust_flow_m3_s": flow}))
    for fan in house.fan:
        if fan.base_flow_m3_s > 0.0:
            into, out = (main, fan.room) if fan.kind == "exhaust" else (fan.room, main)
            flow_text = f"{fan.base_flow_m3_s} m3/s"
            units.append(
                Ventilator.model_validate(
                    {"id": f"{fan.id}-balanced", "room": fan.room, "supply_rooms": (into,), "exhaust_rooms": (out,),
                     "supply_flow": flow_text, "exhaust_flow": flow_text, "recovery": 0.0}
                )
            )  # fmt: skip
    fans = tuple(fan.model_copy(update={"base_flow_m3_s": 0.0}) for fan in house.fan)
    return house.model_copy(update={"ventilator": tuple(units), "fan": fans})


def _scenario(
    base: Answer, name: str, ready: Prepared, series: Series, shares: tuple[Share, ...], exponent: float
) -> Scenario:
    joints = calculate_joints(base.house, base.geometry, ready, series, shares, exponent)
    soil = tuple(_soil(ready, series, s) for s in shares if s.place.kind == "soil-opening")
    return Scenario(name, joints, soil)


def _heat_kwh(ready: Prepared, series: Series, shares: tuple[Share, ...], exponent: float) -> dict[str, float]:
    """What warming the air that comes in through each place takes in a year."""
    told = {}
    for share in shares:
        if not share.place.sealed and share.place.kind != "soil-opening":
            air = air_at(ready, series, share)
            flow = mass_flow_kg_s(share.best_m2, air, exponent)
            watts = np.where(flow < 0.0, -flow, 0.0) * HEAT_CAPACITY_J_KGK * np.maximum(air.room_c - air.outdoor_c, 0.0)
            told[share.place.id] = float(watts.sum() / 1000.0)
    return told


def _soil(ready: Prepared, series: Series, share: Share) -> SoilOpening:
    drop = air_at(ready, series, share).drop_pa
    draws = float(np.maximum(-drop, 0.0).mean())
    flows = [
        float(soil_inflow_m3_s(area_m2=share.place.open_m2, pressure_pa=draws, permeability_m2=k))
        for k in PERMEABILITIES_M2
    ]
    soil = by_month(ready.forcing.boundary_c[:, EARTH])
    between = float(soil.min()), float(soil.max())
    return SoilOpening(share.place, int((drop < 0.0).sum()), draws, (flows[0], flows[1], flows[2]), between)


def _findings(told: Dry) -> list[Finding]:
    """What follows from it, each with its consequence."""
    found = [f for scenario in told.scenarios for f in _joint_findings(told, scenario)]
    found += [f for one in told.assemblies for f in _assembly_findings(one)]
    found += _assumed(told)
    blind = [j.share.place.id for j in told.scenarios[0].joints if not j.cases]
    if blind:
        shown = {"count": len(blind), "places": ", ".join(blind[:MOST_NAMED])}
        found.append(Finding("joints-not-judged", "shell", shown))
    for point in told.points:
        if point.hours_wet > 0:
            wet: dict[str, Any] = {"where": point.where, "hours": point.hours_wet}
            wet["coldest"] = (point.coldest_c, "temperature")
            found.append(Finding("cold-point-wet", f"room.{point.room}", wet))
    close = [slab for slab in told.slabs if slab.hours_close]
    if close:
        worst = max(close, key=lambda s: s.hours_close)
        rooms = ", ".join(slab.room for slab in close)
        values = {"rooms": rooms, "close": worst.hours_close, "wet": worst.hours_wet}
        found.append(Finding("slab-near-dew", "slab", values))
    for opening in told.scenarios[0].soil:
        low, _, high = opening.inflow_m3_s
        drawn = {"low": (low, "flow"), "high": (high, "flow"), "pressure": (opening.mean_pa, "pressure")}
        drawn |= {"coldest": (opening.soil_c[0], "temperature"), "warmest": (opening.soil_c[1], "temperature")}
        found.append(Finding("soil-opening-draws", opening.place.id, drawn))
    return found


def _assumed(told: Dry) -> list[Finding]:
    """What the answer rests on beside the file: people, holes beyond the tested leakage, absurd pressures, gaps."""
    found = []
    if told.people_assumed:
        found.append(Finding("people-assumed", "person", {"count": told.people_assumed}))
    holes = sum(s.best_m2 for s in told.shares if s.place.open_m2 > 0.0 and not s.place.sealed)
    if holes >= told.leakage_m2:
        values = {"holes": f"{holes * 1e4:.0f} cm²", "whole": f"{told.leakage_m2 * 1e4:.0f} cm²", "from": told.basis}
        found.append(Finding("holes-beyond-leakage", "leak", values))
    for scenario in told.scenarios:
        worst = max((abs(j.mean_pa) for j in scenario.joints), default=0.0)
        if worst > ABSURD_PA:
            found.append(
                Finding("joints-under-pressure", "fans", {"scenario": scenario.name, "pressure": (worst, "pressure")})
            )
    found += test_findings(told.answer)
    found += [Finding("assembly-not-judged", f"assembly.{name}", {"why": why}) for name, why in told.unjudged.items()]
    return found


def moisture_words(kg_kg: float) -> str:
    """A board's moisture as a person reads it; beyond what its pores hold it is saturated.

    >>> moisture_words(0.261), moisture_words(1.2)
    ('26%', 'saturated')
    """
    return "saturated" if kg_kg >= SATURATED else f"{kg_kg:.0%}"


def _joint_findings(told: Dry, scenario: Scenario) -> list[Finding]:
    """The few joints that decide, in one finding a way of running the house."""
    rots = [j for j in scenario.joints if j.is_bad]
    may = [j for j in scenario.joints if j.may_be_bad]
    if not rots and may:
        first = may[0]
        values = {
            "scenario": scenario.name, "count": len(may), "rules": first.rules,
            "places": ", ".join(j.share.place.id for j in may[:MOST_NAMED]),
        }  # fmt: skip
        return [Finding("joints-may-rot", "shell", values)]
    if not rots:
        return []
    first = rots[0]
    middle = first.of("central")
    values = {
        "scenario": scenario.name, "count": len(rots), "first": first.share.place.id,
        "most": moisture_words(middle.most_kg_kg), "mould": f"{middle.mould:.1f}", "rules": first.rules,
        "deposit": f"{middle.deposit_kg_m:.2f} kg/m ({middle.deposit_kg_m * LB_FT:.2f} lb/ft)",
        "places": ", ".join(j.share.place.id for j in rots[:MOST_NAMED]),
    }  # fmt: skip
    return [Finding("joints-rot", "shell", values)]


def _assembly_findings(one: AssemblyYear) -> list[Finding]:
    found, where = [], f"assembly.{one.assembly}"
    if one.beyond:
        found.append(Finding("outside-vapour-method", where, {"why": one.beyond}))
    elif not one.worse.dries or one.worse.most_kg_m2 > one.bears_kg_m2:
        found.append(Finding("assembly-stays-wet", where, {"verdict": one.verdict}))
    if one.least_factor >= 1.0:
        found.append(Finding("room-too-damp", where, {"room": one.room}))
    elif one.factor < one.least_factor:
        values = {"factor": round(one.factor, 2), "least": round(one.least_factor, 2)}
        found.append(Finding("surface-too-cold", where, values))
    return found
