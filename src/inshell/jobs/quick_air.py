"""Quick answers about air: a duct, a fan on its duct, carbon dioxide, exposure, a fan that runs part of the time."""

from __future__ import annotations

import csv
import io
import math
import re
from pathlib import Path
from typing import Any

import numpy as np

from inshell.design.fresh_air import intermittent_factor, rule_row, rules
from inshell.errors import InputRefused, Problem
from inshell.house.reading import read_text
from inshell.jobs.quick_values import Asked
from inshell.physics.duct import ELBOW_LOSS, ENTRY_LOSS, DuctLoss, duct_loss_pa, flex_factor, operating_points_m3_s
from inshell.physics.people import MET, basal_rate_mj_day, carbon_dioxide_l_s
from inshell.physics.types import Floats
from inshell.physics.ventilation import on_off_effectiveness, relative_exposure, zone_ppm
from inshell.sources import table
from inshell.units import UnitError, parse_quantity

FITTINGS = {"mitred": 1.2, "entry": ENTRY_LOSS, "exit": 1.0, "cap": 2.5, "damper": 0.5}
AGES = {"adult": 35, "senior": 65, "teen": 13, "child": 8, "infant": 3}
STATES = {"asleep": "asleep", "awake": "sitting", "cooking": "kitchen"}
ROOM_C, OUTDOOR_PPM = 22.0, 420.0
COLUMN_UNITS = {"pa": "Pa", "l_s": "L/s", "m3_h": "m3/h", "m3_s": "m3/s"}


def _loss(asked: Asked, diameter: str, length: str, fittings: str, material: str, compression: float) -> DuctLoss:
    d = asked.quantity("--diameter", diameter, "length", low=0.03, high=1.0)
    run = asked.quantity("--length", length, "length", low=0.0, high=200.0)
    if material not in ELBOW_LOSS:
        asked.problems.append(Problem("--material", repr(material), "smooth or flex"))
        material = "smooth"
    if not 0.0 <= compression <= 0.3:
        asked.problems.append(Problem("--compression", f"{compression:g}", "0 to 0.3 of the stretched length"))
    loss = _fittings(asked, fittings, material)
    scale = flex_factor(diameter_m=d, compression=compression) if material == "flex" else 1.0
    return DuctLoss(d, run, scale, loss)


def _fittings(asked: Asked, text: str, material: str) -> float:
    """A sum of loss coefficients: a number, or words with their count such as elbow:2,cap:1."""
    known = FITTINGS | {"elbow": ELBOW_LOSS[material]}
    total = 0.0
    for part in filter(None, (p.strip() for p in text.split(","))):
        word, _, count = part.partition(":")
        try:
            number = float(part) if word not in known else known[word] * float(count or 1)
            if not 0.0 <= number < 1e3:
                raise ValueError(part)
            total += number
        except ValueError:
            accepted = f"a sum of loss coefficients, or {', '.join(sorted(known))} with a count, such as elbow:2"
            asked.problems.append(Problem("--fittings", repr(part), accepted))
    if total < 0.0:
        asked.problems.append(Problem("--fittings", f"{total:g}", "a sum of 0 or more"))
    return total


def quick_duct(
    *, diameter: str, length: str, fittings: str, flow: str, material: str, compression: float
) -> dict[str, Any]:
    """Pressure that a run takes at a flow."""
    asked = Asked()
    duct = _loss(asked, diameter, length, fittings, material, compression)
    moved = asked.quantity("--flow", flow, "flow", low=0.0, high=5.0)
    if asked.problems:
        raise InputRefused(asked.problems)
    return {
        "pressure_pa": float(duct_loss_pa(duct=duct, flow_m3_s=moved)),
        "velocity_m_s": 4.0 * moved / (math.pi * duct.diameter_m**2), "loss_coefficient": duct.loss_coefficient,
        "friction_factor_scale": duct.friction_factor_scale,
        "note": ("flexible: galvanised friction times its factor" if material == "flex" else "galvanised roughness")
        + ", air at 20 °C; entry and exit count only if they are named in --fittings",
    }  # fmt: skip


def quick_fan(
    *, curve: Path, diameter: str, length: str, fittings: str, house_pressure: str | None, material: str,
    compression: float,
) -> dict[str, Any]:  # fmt: skip
    """Where a fan's curve meets its duct and the house's pressure; every crossing is named."""
    asked = Asked()
    duct = _loss(asked, diameter, length, fittings, material, compression)
    house = asked.optional("--house-pressure", house_pressure, "pressure", low=-300.0, high=300.0, bare="si") or 0.0
    points = _curve(asked, curve)
    if asked.problems:
        raise InputRefused(asked.problems)
    flow, pressure = points[:, 0], points[:, 1]

    crossings = operating_points_m3_s(flow_m3_s=flow, pressure_pa=pressure, duct=duct, against_pa=-house)
    if not crossings:
        starts = float(pressure[0]) + house - float(duct_loss_pa(duct=duct, flow_m3_s=float(flow[0])))
        where = "moves nothing: the house holds it shut" if starts < 0.0 else "passes the last point of its curve"
        raise InputRefused([Problem("--curve", f"the fan {where}", "a curve that meets its duct between its points")])
    best = max(crossings)
    stands = float(pressure[0]) + house < 0.0 and float(flow[0]) <= 0.0
    several = len(crossings) > 1 or stands
    note = "one operating point"
    if several:
        note = "more than one crossing: the fan may settle at any that falls"
    if stands:
        note = "from rest it may not start: its pressure at no flow is less than the house's; " + note
    elif bool(np.any(np.diff(pressure) > 0.0)) and not several:
        note = "the curve rises elsewhere; one operating point here"
    return {
        "flow_m3_s": best, "pressure_pa": float(np.interp(best, flow, pressure)),
        "duct_pressure_pa": float(duct_loss_pa(duct=duct, flow_m3_s=best)), "crossings_m3_s": sorted(crossings),
        "rising_branch": several or bool(np.any(np.diff(pressure) > 0.0)), "may_not_start": stands, "note": note,
    }  # fmt: skip


def _curve(asked: Asked, path: Path) -> Floats:
    """Points of a CSV headed by flow and pressure with their units, sorted by flow."""
    empty = np.zeros((2, 2))
    text = read_text(path, what="--curve")
    rows = [row for row in csv.reader(io.StringIO(text)) if row and not row[0].lstrip().startswith("#")]
    head = [cell.strip() for cell in rows[0]] if rows else []
    units = [re.fullmatch(r"(flow|pressure)_(\w+)", cell) for cell in head]
    names = [u[1] for u in units if u]
    if sorted(names) != ["flow", "pressure"] or len(head) != 2:
        asked.problems.append(Problem(f"{path}", f"header {','.join(head)!r}", "flow_cfm,pressure_pa or other units"))
        return empty
    unit_of = {u[1]: COLUMN_UNITS.get(u[2].lower(), u[2]) for u in units if u}
    points = []
    for number, row in enumerate(rows[1:], start=2):
        try:
            cells = dict(zip(names, (float(c) for c in row), strict=True))
            points.append([parse_quantity(f"{cells[k]} {unit_of[k]}", k, system="si") for k in ("flow", "pressure")])
        except (ValueError, UnitError):
            asked.problems.append(Problem(f"{path}, row {number}", ",".join(row), "two numbers, flow and pressure"))
    if len(points) < 2 and not asked.problems:
        asked.problems.append(Problem(f"{path}", f"{len(points)} points", "at least two"))
    return np.array(sorted(points)) if len(points) > 1 else empty


def quick_co2(
    *, people: str, outdoor_flow: str, volume: str | None, hours: float, start: float | None
) -> dict[str, Any]:
    """Steady carbon dioxide of people in one zone, and its course where a volume is given."""
    asked = Asked()
    source = _people_l_s(asked, people) * 1e-3
    flow = asked.quantity("--outdoor-flow", outdoor_flow, "flow", low=0.0, high=5.0)
    space = asked.optional("--volume", volume, "volume", low=1.0, high=1e5)
    if not 0.0 < hours <= 72.0:
        asked.problems.append(Problem("--hours", f"{hours:g}", "above 0, at most 72"))
    if start is not None and not 300.0 <= start <= 20000.0:
        asked.problems.append(Problem("--start", f"{start:g}", "300 to 20000 ppm"))
    if asked.problems:
        raise InputRefused(asked.problems)
    series = []
    if space is not None:
        after = np.arange(0.0, hours + 0.25, 0.5)
        told = zone_ppm(
            outdoor_flow_m3_s=flow, source_m3_s=source, volume_m3=space, start_ppm=start or OUTDOOR_PPM,
            after_s=after * 3600.0,
        )  # fmt: skip
        series = [{"hour": float(h), "ppm": float(c)} for h, c in zip(after, told, strict=True)]
    return {
        "steady_ppm": OUTDOOR_PPM + 1e6 * source / flow if flow > 0.0 else None,
        "source_m3_s": source, "outdoor_ppm": OUTDOOR_PPM, "series": series,
        "note": f"one well-mixed zone at {ROOM_C:.0f} °C; doors, leaks and other rooms are left out",
    }  # fmt: skip


def _people_l_s(asked: Asked, text: str) -> float:
    """Carbon dioxide of people such as adult-asleep:2,child-asleep [L/s]."""
    total = 0.0
    for part in filter(None, (p.strip() for p in text.split(","))):
        found = re.fullmatch(r"([a-z]+)-([a-z]+)(?::(\d+))?", part)
        if not found or found[1] not in AGES or found[2] not in STATES:
            accepted = f"{', '.join(AGES)} with {', '.join(STATES)} and a count, such as adult-asleep:2"
            asked.problems.append(Problem("--people", repr(part), accepted))
            continue
        basal = basal_rate_mj_day(age=AGES[found[1]], sex="either")
        each = carbon_dioxide_l_s(basal_mj_day=basal, met=MET[STATES[found[2]]], room_c=ROOM_C)
        total += float(each) * int(found[3] or 1)
    if total <= 0.0 and not asked.problems:
        asked.problems.append(Problem("--people", repr(text), "at least one person, such as adult-asleep:2"))
    return total


def quick_exposure(*, required: str, volume: str, flows: str) -> dict[str, Any]:
    """Relative exposure hour by hour under hourly flows in the unit of the required one."""
    asked = Asked()
    needed = asked.quantity("--required", required, "flow", low=1e-6, high=5.0)
    space = asked.quantity("--volume", volume, "volume", low=1.0, high=1e5)
    unit = re.sub(r"^[-+\d.eE\s]+", "", required)
    moved = []
    for k, part in enumerate(filter(None, re.split(r"[,\s]+", flows)), start=1):
        try:
            moved.append(max(parse_quantity(f"{float(part)} {unit}", "flow", system="si"), 0.0))
        except (ValueError, UnitError):
            asked.problems.append(
                Problem("--flows", f"number {k}: {part!r}", f"hourly flows in {unit}, such as 0,50,50")
            )
    if not moved and not asked.problems:
        asked.problems.append(Problem("--flows", repr(flows), f"hourly flows in {unit}, such as 0,50,50"))
    if asked.problems:
        raise InputRefused(asked.problems)
    told = relative_exposure(required_m3_s=needed, volume_m3=space, flows_m3_s=np.array(moved))
    return {
        "relative_exposure": told.tolist(), "mean": float(told.mean()), "highest": float(told.max()),
        "meets": bool(told.mean() <= 1.0 and told.max() <= 5.0),
        "note": "mean at most 1 and never above 5 (ASHRAE 62.2, appendix C, from memory); starts at 1",
    }  # fmt: skip


def quick_intermittent(
    *, rule: str, required: str, on_fraction: float, cycle: str, volume: str | None
) -> dict[str, Any]:
    """Flow that a fan needs while it runs, by the rule's own way of counting."""
    asked = Asked()
    needed = asked.quantity("--required", required, "flow", low=1e-6, high=5.0)
    length = asked.quantity("--cycle", cycle, "time", low=60.0, high=7 * 86400.0)
    space = asked.optional("--volume", volume, "volume", low=1.0, high=1e5)
    family = rule_row(rule)["family"] if rule in rules() else ""
    if not family:
        asked.problems.append(Problem("--rule", repr(rule), ", ".join(rules())))
    least = 0.25 if family == "irc" else 0.01
    if not least <= on_fraction <= 1.0:
        said = "0.25 to 1: it must run at least a quarter of every 4 h" if family == "irc" else "above 0, at most 1"
        asked.problems.append(Problem("--on-fraction", f"{on_fraction:g}", said))
    if family == "irc" and length > 4 * 3600.0 + 1e-6:
        asked.problems.append(Problem("--cycle", cycle, "at most 4 h: the rule counts every 4 h by itself"))
    hours = table("fresh_air")["run_time"]["average_within_h"]
    stands = length * (1.0 - on_fraction)
    if family == "ashrae" and stands > hours * 3600.0 and space is None:
        asked.problems.append(
            Problem("--volume", "missing", "the volume, where the fan stands for more than 3 h at a time")
        )
    if asked.problems:
        raise InputRefused(asked.problems)
    if family == "irc":
        factor = intermittent_factor(share=on_fraction)
        source = table("fresh_air")["run_time"]["irc_source"]
        return _told(needed, factor * needed, 1.0 / (factor * on_fraction), source)
    if stands <= hours * 3600.0 or space is None:
        return _told(needed, needed / on_fraction, 1.0, table("fresh_air")["run_time"]["source"])
    try:
        worth = on_off_effectiveness(on_fraction=on_fraction, changes=needed * length / space)
    except ValueError as error:
        problem = Problem("--cycle", f"{cycle} at {on_fraction:g}: {error}", "a shorter cycle or a larger share")
        raise InputRefused([problem]) from None
    return _told(
        needed, needed / (worth * on_fraction), worth, "mean concentration of a steady source, well-mixed zone"
    )


def _told(needed: float, fan: float, worth: float, source: str) -> dict[str, Any]:
    return {"effectiveness": worth, "fan_flow_m3_s": fan, "required_m3_s": needed, "source": source}
