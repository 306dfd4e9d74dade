"""The tube plan for the crew: a printable page, an SVG or a DXF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inshell.drawing.tube_plan import DO_NOT_DRILL, LANDSCAPE_MM, draw_tubes, tubes_dxf
from inshell.errors import refuse
from inshell.house.writing import must_be_new, write_text
from inshell.jobs.floor import Floor
from inshell.pack.figures import Figure
from inshell.pack.floor_sheet import render_floor_sheet
from inshell.sources import table

SPARE = 1.05  # of tube to order beside what is drawn (common practice)


def check_plan(output: Path, *, overwrite: bool) -> None:
    """Refuse a place that the plan could not be written to, before anything is laid."""
    must_be_new(output, "--plan", (".html", ".htm", ".svg", ".dxf"), overwrite=overwrite)


def write_plan(told: Floor, output: Path, *, overwrite: bool) -> None:
    """By its ending: .html the crew's sheet, .svg the drawing of the lowest level with tubes, .dxf all of it."""
    house, geometry, plan = told.answer.house, told.answer.geometry, told.plan
    ending = output.suffix.lower()
    if not plan.runs:
        why = "; ".join(f"{name}: {reason}" for name, reason in plan.not_routed.items())
        raise refuse("--plan", f"no circuit could be laid ({why})", "a house with a circuit that can be")
    if ending == ".dxf":
        write_text(output, tubes_dxf(house, geometry, plan), overwrite=overwrite)
    elif ending == ".svg":
        write_text(output, draw_tubes(house, geometry, plan)[0].svg, overwrite=overwrite)
    else:
        write_text(output, render_floor_sheet(sheet_facts(told)), overwrite=overwrite)


def sheet_facts(told: Floor, paper_mm: tuple[float, float] = LANDSCAPE_MM) -> dict[str, Any]:
    """What the crew's sheet shows."""
    house = told.answer.house
    drawings = draw_tubes(house, told.answer.geometry, told.plan, paper_mm)
    circuits = {c.id: c for c in house.circuit}
    water = {loop.id: loop for loop in told.water.loops} if told.water else {}
    sizes: dict[str, float] = {}
    for run in told.plan.runs:
        size = circuits[run.circuit].tube
        sizes[size] = sizes.get(size, 0.0) + run.length_m
    rows = table("tubes")
    return {
        "house": house,
        "units": house.units,
        "plans": [{"title": d.title, "scale": d.scale, "figure": Figure(d.svg)} for d in drawings],
        "runs": [
            {"number": k, "run": run, "tube": circuits[run.circuit].tube, "depth_m": circuits[run.circuit].depth_m,
             "water": water.get(run.id), "rooms": ", ".join(house.room_named(r).name or r for r in run.areas),
             "leads": ", ".join(house.room_named(r).name or r for r in run.passes if r not in run.areas)}
            for k, run in enumerate(told.plan.runs, start=1)
        ],
        "bill": [
            {"size": size, "length_m": length, "order_m": SPARE * length,
             "longest_m": rows[size]["longest_m"], "water_m3": length * rows[size]["volume_m3_m"]}
            for size, length in sizes.items()
        ],
        "keep_outs": list(house.keep_out),
        "not_routed": told.plan.not_routed,
        "heat": told.heat,
        "water": told.water,
        "source": told.source,
        "findings": [f.as_json(house.units) for f in told.findings],
        "label": DO_NOT_DRILL,
        "shell": told.answer.file.shell_hash[:16],
    }  # fmt: skip
