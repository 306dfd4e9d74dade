"""The answer of `inshell rooms` in sentences."""

from __future__ import annotations

from inshell.design.room_balance import Part
from inshell.house.geometry.walls import compass
from inshell.jobs.rooms import RoomsAnswer
from inshell.study.trying import Tried
from inshell.units import System, show


def said(result: RoomsAnswer) -> list[str]:
    """What happens behind the shut door on the hottest and coldest day, how sure that is, the cheapest remedy."""
    units, room = result.house.units, result.target
    name = next(r.name or r.id for r in result.house.room if r.id == room)
    main = next(r.name or r.id for r in result.house.room if r.id == result.main)
    if room == result.main:
        return [f"{name} is the room that others are compared with; name another with --room."]
    lines = []
    floor_alone = not (result.house.head or result.house.heater) and bool(result.house.circuit)
    if floor_alone:
        lines.append(
            "Rooms with floor tubes were simply held: winter comfort is not known here; see inshell floor --year."
        )
    for season, word in (("heating", "coldest"), ("cooling", "hottest")):
        day = result.day(season, "shut")
        if day is None or (floor_alone and season == "heating"):
            continue
        mine = day.of(room)
        off, warm = show(abs(mine.offset_k), "temperature_difference", units), mine.offset_k > 0.0
        open_day = result.day(season, "open")
        opened = abs(open_day.of(room).offset_k) if open_day else 0.0
        how = f"{off} {'warmer' if warm else 'colder'} than" if abs(mine.offset_k) >= 0.05 else "as warm as"
        with_open = show(opened, "temperature_difference", units)
        lines.append(f"On the {word} design day, door shut, {name} is {how} {main} ({with_open} off with doors open).")
    return lines + _how_sure(result) + _cheapest(result, units) + _moisture(result)


def _how_sure(result: RoomsAnswer) -> list[str]:
    if result.sampled is None:
        return ["How sure: not sampled."]
    k = result.sampled.rooms.index(result.target)
    within = [abs(v[:, k]) <= result.limit_k + 1e-9 for v in result.sampled.offset_k.values()]
    both = sum(all(w[n] for w in within) for n in range(len(result.sampled.points)))
    count = len(result.sampled.points)
    limit = show(result.limit_k, "temperature_difference", result.house.units)
    return [f"How sure: within {limit} on both days in {both} of {count} houses drawn from what is not known."]


def _cheapest(result: RoomsAnswer, units: System) -> list[str]:
    if not result.tried:
        return []
    if result.nominal.worst_k(result.target) <= result.limit_k + 1e-9:
        limit = show(result.limit_k, "temperature_difference", units)
        return [f"As drawn it stays within {limit} on both days; no remedy is needed for that."]
    if result.best is not None:
        priced = all(t.remedy.price is not None for t in result.tried if t.keeps)
        damp, before = result.best.damp_h, max(result.nominal.damp_h.values())
        more = f" Damp hours then rise from {before:.0f} to {damp:.0f}." if damp > 1.2 * before + 24.0 else ""
        word = "Cheapest remedy that keeps it" if priced else "A remedy that keeps it (no prices given)"
        return [f"{word}: {remedy_words(result.best, units)}.{more}"]
    first = next((t for t in result.tried if not t.remedy.opens_doors), None)
    if first is None:
        return []
    left = show(first.offset_k, "temperature_difference", units)
    return [f"No remedy tried keeps it, alone or in pairs; nearest: {remedy_words(first, units)}, {left} off."]


def part_words(result: RoomsAnswer, part: Part) -> str:
    """A part of a room's balance as a person would call it."""
    names = {r.id: r.name or r.id for r in result.house.room} | {b.id: b.name or b.id for b in result.house.buffer}
    beyond = names.get(part.beyond, part.beyond)
    surfaces = {s.id: s for s in result.file.geometry.surfaces}
    if part.kind == "air":
        return f"air through {part.name}, from {beyond}"
    if part.kind in ("wall", "roof") and part.name in surfaces:
        return f"{part.kind}, {compass(surfaces[part.name].azimuth_deg)}"
    if part.kind in ("partition", "ceiling", "floor", "mid-floor"):
        return f"{part.kind.replace('-', ' ')} to {beyond}"
    return f"{part.kind} {part.name}" if part.kind in ("window", "door") else part.name


def _moisture(result: RoomsAnswer) -> list[str]:
    """Water that heads take out, and what a dehumidifier would have to take out beside them."""
    if not result.house.head:
        return []
    out = result.nominal.removed_l_day
    limit = f"{float(result.house.household.humidity_most):.0%}"
    damp = max(result.nominal.damp_h.values())
    drier = next((t for t in result.tried if t.remedy.id == "dehumidifier"), None)
    lines = [f"Moisture: heads take out {out:.1f} L a day in the wettest thirty; above {limit} in {damp:.0f} h a year."]
    if drier is None or damp < 1.0:
        return lines
    unit = drier.remedy.house.dehumidifier[0]
    need, left = drier.outcome.drier_l_day, drier.damp_h
    rating = "65 °F, 60 %" if unit.rating == "65F-60" else "80 °F, 60 %"
    size = f"A dehumidifier of {unit.removes_l_day:.0f} L a day (at {rating}) in the main room"
    return [*lines, f"{size} would take out {need:.1f} L a day then and leave {left:.0f} h."]


def remedy_words(tried: Tried, units: System) -> str:
    """A remedy in the words of the catalogue."""
    return "; with ".join(finding.message(units).removesuffix(".") for finding in tried.remedy.findings)
