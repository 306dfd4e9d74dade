"""`inshell report`: gather the facts of a house and write its page."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from inshell.design.cooling_day import calculate_cooling_day
from inshell.design.day_run import calculate_day, day_of
from inshell.design.envelope import calculate_elements, calculate_slab, f_factor_loss_w_k
from inshell.design.heating import tightness_ach50
from inshell.design.leak_places import leak_places
from inshell.design.year_run import room_years
from inshell.drawing.air_plan import draw_air
from inshell.drawing.plan import Drawing, draw_plans
from inshell.drawing.seal_plan import SealMark, draw_seals
from inshell.drawing.section import draw_sections
from inshell.drawing.tube_plan import PORTRAIT_MM
from inshell.errors import refuse
from inshell.house.geometry.gross import gross_of
from inshell.house.geometry.walls import compass
from inshell.house.ids import DEVICE_TABLES
from inshell.house.writing import must_be_new, write_text
from inshell.jobs.air import air_of
from inshell.jobs.air_rules import rules_air
from inshell.jobs.air_ways import air_ways, room_leaks
from inshell.jobs.answer import Answer, answer, whole_house_flows
from inshell.jobs.check import Checked, judged
from inshell.jobs.describe import Described
from inshell.jobs.dry import moisture_words
from inshell.jobs.floor import floor_of
from inshell.jobs.floor_sheet import sheet_facts
from inshell.jobs.hot_water import hot_water_of
from inshell.jobs.keep_dry import kept_dry
from inshell.jobs.keep_settings import kept_settings
from inshell.jobs.prove_rooms import kept_rooms
from inshell.jobs.runs import year_of
from inshell.jobs.seal_state import OPEN, PASSED, seal_state
from inshell.jobs.side_by_side import side_by_side
from inshell.jobs.simulate import simulated_answer
from inshell.network.compiled import is_compiled
from inshell.pack.figures import Figure
from inshell.pack.report import render_report

MADE_BY = 'name="generator" content="inshell report"'
ORDER = {"broken": 0, "unknown": 1, "kept": 2}


def _is_report(path: Path) -> bool:
    """Whether a file was written by this command, so that a new one may take its place."""
    try:
        with path.open("rb") as file:
            return MADE_BY.encode() in file.read(1000)
    except OSError:
        return False


def write_report(path: Path, output: Path) -> Checked:
    """Write the report of a house; returns what it says."""
    if output.suffix.lower() not in (".html", ".htm"):
        raise refuse("--output", f"{output}", "a name that ends in .html", "Nothing else is overwritten by a report")
    must_be_new(output, "--output", (".html", ".htm"), overwrite=_is_report(output))
    result = answer(path)
    if result.climate.year is not None and is_compiled():  # before anything is judged that reads it
        tested = result.test.result.flow_at_50_pa_m3_s if result.test else None
        year_of(result.file, result.climate, tested_m3_s=tested)
    checked = judged(result, path)
    write_text(output, render_report(facts_of(checked)), overwrite=True)
    return checked


def facts_of(checked: Checked) -> dict[str, Any]:
    """Everything that the page shows."""
    answer = checked.answer
    house, geometry, file = answer.house, answer.geometry, answer.file
    gross = gross_of(house, geometry)
    promises = sorted(checked.promises, key=lambda p: ORDER[p.verdict])
    return {
        "house": house,
        "geometry": geometry,
        "file": file,
        "answer": answer,
        "units": house.units,
        "gross": gross,
        "names": {room.id: room.name or room.id for room in house.room},
        "device_names": _device_names(answer),
        "counts": {verdict: checked.count(verdict) for verdict in ORDER}
        | {"kept_as_designed": sum(p.verdict == "kept" and p.basis == "designed" for p in checked.promises)},
        "promises": promises,
        "broken": [p for p in promises if p.verdict == "broken"],
        "cautions": [f for f in checked.findings if f.severity == "caution"],
        "findings": [f for f in checked.findings if f.severity != "caution"],
        "plans": [_shown(d) for d in draw_plans(house, geometry)],
        "sections": [_shown(d) for d in draw_sections(house, geometry)],
        "net_floor_m2": sum(space.net_floor_m2 for space in geometry.spaces),
        "joints": Described(file, gross).joints_m(),
        "elements": _pieces(checked),
        "seals": _seals(answer),
        "seal_plans": _seal_plans(answer),
        "hot_water": hot_water_of(answer) if house.fixture else None,
        "floor": sheet_facts(floor_of(answer), PORTRAIT_MM) if house.circuit and house.slab else None,
        "moisture_words": moisture_words,
        "rules": side_by_side(answer),
        "rule_words": rules_air(answer).words,
        **_simulated(checked),
        "slabs": _slabs(checked),
        "running": max(whole_house_flows(house)),
        "design_ach50": tightness_ach50(house, geometry.volume_m3)[0],
        "defaults": checked.defaults,
        "grouped_defaults": _grouped(checked),
    }


def _seals(answer: Answer) -> dict[str, int]:
    """How many rows of the job folder's seal list are passed, done and open; nothing without a list."""
    states = [seal_state(answer, record) for record in answer.job.seals.values()]
    told = Counter("passed" if s == PASSED else "open" if s == OPEN else "done" for s in states)
    return {state: told[state] for state in ("passed", "done", "open")} if told else {}


def _seal_plans(answer: Answer) -> list[dict[str, Any]]:
    """The plan with the numbers of the seal list's rows that are not proved."""
    house, geometry, kept = answer.house, answer.geometry, answer.job.seals
    places = {place.id: place for place in leak_places(house, geometry)} if kept else {}
    open_rows = [row for key, row in kept.items() if key in places and seal_state(answer, row) != PASSED]
    marks = [SealMark(row.number, places[row.id].room, places[row.id].plan) for row in open_rows]
    return [_shown(drawing) for drawing in draw_seals(house, geometry, marks)] if marks else []


def _device_names(answer: Answer) -> dict[str, str]:
    """Every device, and fans at their base, by what the file calls them."""
    house = answer.house
    named = {item.id: item.name or item.id for table in DEVICE_TABLES for item in getattr(house, table)}
    named |= {f"{fan.id}:base": f"{fan.name or fan.id}, base" for fan in house.fan}
    return named | {device.id: device.name for device in answer.pressure.devices}


def _simulated(checked: Checked) -> dict[str, Any]:
    """Days and the year, room by room, and the air of the last case of the heating day on the plan."""
    answer = checked.answer
    house, geometry, climate = answer.house, answer.geometry, answer.climate
    cases = simulated_answer(answer)
    worst, pressure = cases[-1], climate.pressure_pa
    ways = air_ways(house, geometry, worst.day, pressure_pa=pressure)
    leaks = room_leaks(house, worst.day, pressure_pa=pressure)
    facts: dict[str, Any] = {
        "cases": cases,
        "air_case": worst.name,
        "air_plans": [_shown(d) for d in draw_air(house, geometry, ways, leaks)],
        "days": {},
        "year_run": None,
        "room_years": [],
        "rooms": None,
        "air": None,
        "settings": None,
        "dry": None,
        "balanced": [],
    }
    if climate.year is None or not is_compiled():
        return facts
    coldest = day_of(climate.year, "coldest")
    facts["days"]["The coldest day of the year"] = tuple(
        calculate_day(house, geometry, climate, day=coldest, doors_open=doors) for doors in (True, False)
    )
    if climate.design.cooling_c is not None:
        facts["days"]["The cooling design day"] = tuple(
            calculate_cooling_day(house, geometry, climate, doors_open=doors) for doors in (True, False)
        )
    tested = answer.test.result.flow_at_50_pa_m3_s if answer.test else None
    facts["year_run"] = year_of(answer.file, climate, tested_m3_s=tested)
    facts["room_years"] = room_years(house, facts["year_run"])
    rooms = kept_rooms(answer.file, climate, tested_m3_s=tested)
    facts["rooms"] = rooms
    facts["air"] = air_of(answer)
    facts["dry"] = kept_dry(answer.file, climate, tested_m3_s=tested)
    facts["settings"] = kept_settings(answer.file, climate, tested_m3_s=tested)
    facts["balanced"] = [r["room"] for r in rooms["year"] if r["room"] != rooms["main_room"]] if rooms else []
    return facts


def _shown(drawing: Drawing) -> dict[str, Any]:
    facts = {name: getattr(drawing, name) for name in ("title", "scale", "legend")}
    return facts | {"svg_figure": Figure(drawing.svg)}


def _pieces(checked: Checked) -> list[dict[str, Any]]:
    """Every piece of the enclosure in words: what it is, of which room, where it faces."""
    house, geometry = checked.answer.house, checked.answer.geometry
    names = {room.id: room.name or room.id for room in house.room} | {b.id: b.name or b.id for b in house.buffer}
    surfaces = {s.id: s for s in geometry.surfaces}
    hosts = {o.id: surfaces[o.surface] for o in geometry.openings}
    rows = []
    for e in calculate_elements(house, geometry):
        surface = surfaces.get(e.id) or hosts[e.id]
        faces = f", {compass(surface.azimuth_deg)}" if surface.tilt_deg not in (0.0, 180.0) else ""
        rows.append(
            {
                "id": e.id,
                "title": f"{names[surface.room]}: {e.kind}{faces}",
                "beyond": names.get(e.other, e.other),
                "area_m2": e.area_m2,
                "u_w_m2k": e.u_w_m2k + e.bridge_w_m2k,
            }
        )
    return rows


def _slabs(checked: Checked) -> list[dict[str, Any]]:
    house, geometry = checked.answer.house, checked.answer.geometry
    rows = []
    for slab in house.slab:
        result = calculate_slab(house, geometry, slab)
        if result is not None:
            rows.append(
                {
                    "id": slab.name or slab.id,
                    "u_w_m2k": result.u_w_m2k,
                    "edge_psi_w_mk": result.edge_psi_w_mk,
                    "perimeter_m": result.perimeter_m,
                    "area_m2": result.area_m2,
                    "effective_u_w_m2k": result.effective_u_w_m2k,
                    "f_factor_loss_w_k": f_factor_loss_w_k(geometry, house, slab),
                }
            )
    return rows


def _grouped(checked: Checked) -> list[dict[str, Any]]:
    """Defaults by kind of thing and value, so that ten windows with one default are one line."""
    counted: Counter[tuple[str, str]] = Counter()
    for row in checked.defaults:
        parts = row["where"].split(".")
        what = f"{parts[0]}.{row['field']}"
        value = f"{row['value']:.4g}" if isinstance(row["value"], float) else str(row["value"])
        counted[what, value] += 1
    return [{"what": what, "value": value, "count": count} for (what, value), count in sorted(counted.items())]
