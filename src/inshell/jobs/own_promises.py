"""Promises that a house makes of its own."""

from __future__ import annotations

from dataclasses import replace

from inshell.design.cold_day import calculate_cold_day, heated_rooms
from inshell.design.comfort import COMFORT
from inshell.design.promise import Judged, verdict_of
from inshell.house.model.promises import KINDS, Promise
from inshell.jobs.answer import Answer
from inshell.jobs.origins import origin_of
from inshell.jobs.room_verdicts import judged_from
from inshell.jobs.runs import kept_document, kept_year, rooms_key
from inshell.units import show

NO_YEAR = "needs the year: run inshell simulate FILE --year"
NOT_SAMPLED = "the year as computed keeps it; how often, with what is not known: run inshell rooms FILE"
NO_FLOOR = "needs the tube plan: run inshell floor FILE, which judges it"
NO_ROOMS = "needs the rooms' proof: run inshell rooms FILE"


def judge_own(answer: Answer, promise: Promise) -> Judged:
    """A promise of the house file, judged by what this version can compute."""
    _, unit, sense = KINDS[promise.kind]
    base = Judged(
        id=f"promise/{promise.id}",
        title=promise.name or promise.kind.replace("-", " "),
        where=f"room.{promise.room}" if promise.room else "house",
        sense=sense,
        limit=promise.limit,
        unit=unit,
        verdict="unknown",
        basis="designed",
        source=promise.source or "the house file",
        condition=promise.condition,
        provenance=origin_of(answer.file, [("promise", promise.id, "limit")]),
    )
    if promise.kind in COMFORT and (proved := kept_verdict(answer, promise)) is not None:
        return proved
    return JUDGES.get(promise.kind, _own_year)(answer, promise, base)


def _own_load(answer: Answer, promise: Promise, base: Judged) -> Judged:
    value = answer.heating.total_w
    if value <= 0.0:
        return replace(base, value=value, why_unknown="the load is not above zero: check the set point and design cold")
    return replace(base, value=value, verdict=verdict_of(value, promise.limit, base.sense))


def _own_sound(answer: Answer, promise: Promise, base: Judged) -> Judged:
    value = _loudest(answer, promise)
    if value is None:
        return replace(base, why_unknown="not every rated sound is given")
    return replace(base, value=value, verdict=verdict_of(value, promise.limit, base.sense))


def _own_hours(answer: Answer, promise: Promise, base: Judged) -> Judged:
    return replace(base, why_unknown=NO_ROOMS)


def _own_floor(answer: Answer, promise: Promise, base: Judged) -> Judged:
    return replace(base, why_unknown=NO_FLOOR)


def kept_verdict(answer: Answer, promise: Promise) -> Judged | None:
    """What `inshell rooms` said of a comfort promise, if nothing that it rests on has changed since."""
    if answer.climate.year is None:
        return None
    tested = answer.test.result.flow_at_50_pa_m3_s if answer.test else None
    document = kept_document(rooms_key(answer.file, answer.climate, tested))
    return judged_from(answer.file, document, promise) if document else None


def _own_year(answer: Answer, promise: Promise, base: Judged) -> Judged:
    """A promise about air through the year, from the run that was kept: it can be broken by it, not kept."""
    tested = answer.test.result.flow_at_50_pa_m3_s if answer.test else None
    run = kept_year(answer.file, answer.climate, tested_m3_s=tested)
    series = {"carbon-dioxide": "carbon_dioxide_ppm", "relative-humidity": "humidity"}.get(promise.kind)
    if series is None:
        return replace(base, why_unknown="not computed by this version")
    if run is None:
        return replace(base, why_unknown=NO_YEAR)
    rooms = [promise.room] if promise.room else list(run.rooms)
    value = max(float(run.of(series, room).max()) for room in rooms)
    base = replace(base, value=value, condition=promise.condition or "highest hour of the year, doors by their hours")
    if value > promise.limit:
        return replace(base, verdict="broken", source=f"{base.source}; coupled rooms through the year")
    return replace(base, why_unknown=NOT_SAMPLED)


def _loudest(answer: Answer, promise: Promise) -> float | None:
    """The loudest of everything that moves air in the promise's rooms; None unless every rated sound is given."""
    house = answer.house
    near = [(f.sound_sone, {f.room}) for f in house.fan] + [(h.sound_sone, {h.room}) for h in house.hood]
    near += [(u.sound_sone, {u.room, *u.supply_rooms, *u.exhaust_rooms}) for u in house.ventilator]
    near += [(t.sound_sone, {t.from_room, t.to_room}) for t in house.transfer_fan]
    sounds = [sound for sound, rooms in near if promise.room is None or promise.room in rooms]
    known = [sound for sound in sounds if sound is not None]
    return max(known, default=None) if len(known) == len(sounds) else None


def _own_pressure(answer: Answer, promise: Promise, base: Judged) -> Judged:
    """One zone can break a pressure promise but never keep it."""
    moving = {device.id for device in answer.pressure.devices}
    balanced = {unit.id for unit in answer.house.ventilator} - moving
    wanted = set(promise.fans) - balanced
    states = [s for s in answer.pressure.states if not promise.fans or set(s.running) == wanted]
    if not states:
        why = f"no combination of {', '.join(sorted(wanted))}: not all of them move air through the shell"
        return replace(base, why_unknown=why)
    value = min(s.with_stack_pa if promise.stack else s.fans_alone_pa for s in states)
    said = promise.condition or ("with design-cold stack" if promise.stack else "fans alone")
    base = replace(base, value=value, condition=said)
    if value < promise.limit:
        return replace(base, verdict="broken")
    return replace(base, why_unknown="one zone keeps no pressure promise; rooms, wind and doors can pull it lower")


def _own_offset(answer: Answer, promise: Promise, base: Judged) -> Judged:
    """The coldest design day with doors shut can break a promise; the year and what is not known must keep it."""
    house, heated = answer.house, heated_rooms(answer.house)
    if not heated or promise.room is None:
        return replace(base, why_unknown="no heat source, or no room, is named")
    day = calculate_cold_day(house, answer.geometry, answer.climate, doors_open=False, heated=heated)
    value = abs(day.offset_k(promise.room))
    base = replace(base, value=value, condition=promise.condition or "doors shut, coldest design day")
    if value > promise.limit:
        return replace(base, verdict="broken", source=f"{base.source}; steady heating day, doors shut")
    makers = set(house.rooms_with_heat)
    alone = tuple(room for room in heated if room in makers)
    if not alone or alone == heated:
        return replace(base, why_unknown="the coldest day keeps it with doors shut; other days are not judged here")
    without = calculate_cold_day(house, answer.geometry, answer.climate, doors_open=False, heated=alone)
    off = show(abs(without.offset_k(promise.room)), "temperature_difference", house.units)
    why = f"heads and heaters alone leave it {off} off; what the floor adds is not judged: see inshell floor --year"
    return replace(base, value=None, why_unknown=why)


JUDGES = {
    "house-pressure": _own_pressure,
    "room-temperature-offset": _own_offset,
    "house-heating-load": _own_load,
    "hours-outside-band": _own_hours,
    "sound": _own_sound,
    "floor-surface-temperature": _own_floor,
}
