"""From results to promises kept, broken or unknown."""

from __future__ import annotations

from dataclasses import replace

from inshell.design.fresh_air import CFM_M3_S, rule_row
from inshell.design.local_exhaust import LocalExhaust
from inshell.design.observations import heating_capacity_w
from inshell.design.promise import Judged, Verdict, verdict_of
from inshell.design.tightness import judge, limit_of
from inshell.findings import Finding
from inshell.house.as_built import MEASURABLE
from inshell.house.model.air_devices import Fan, Hood, Ventilator
from inshell.house.model.house import House
from inshell.jobs.answer import Answer, certain_flow_m3_s, switched, whole_house_flows
from inshell.jobs.origins import drawing_fields, load_fields, origin_of
from inshell.jobs.own_promises import judge_own
from inshell.jobs.record_findings import folder_findings, measured_findings
from inshell.sources import table

NOT_MEASURED = "not measured: fill in measured.csv with date, person and method"


def judge_all(answer: Answer) -> tuple[list[Judged], list[Finding]]:
    """Every promise of a house: those of the chosen rules and its own."""
    findings: list[Finding] = []
    promises = _fresh_air(answer, findings) + _exhaust(answer, findings) + _sound(answer)
    promises += [_capacity(answer), *_tightness(answer, findings)]
    promises += [judge_own(answer, promise) for promise in answer.house.promise]
    return promises, findings + measured_findings(answer) + folder_findings(answer)


SIDES = ("supply", "exhaust")


def _counted_side(house: House) -> str:
    """The side that the design counts on: the larger; the other proves nothing of it."""
    supply, exhaust = whole_house_flows(house)
    return "supply" if supply > exhaust else "exhaust"


def _air_fields(house: House, *sides: str) -> list[tuple[str, str, str]]:
    """Fields that make the whole-house flow of the named sides (else of both)."""
    sides = sides or SIDES
    fields = [("fan", f.id, "base_flow_m3_s") for f in house.fan if "whole-house" in f.serves and f.kind in sides]
    return fields + [("ventilator", unit.id, f"{side}_flow_m3_s") for unit in house.ventilator for side in sides]


def _fresh_air(answer: Answer, findings: list[Finding]) -> list[Judged]:
    house, promises = answer.house, []
    flow = max(whole_house_flows(house))
    for air in answer.fresh_air:
        row = rule_row(air.rule)
        base = Judged(
            id=f"fresh-air/{air.rule}",
            title=f"Fresh air of the whole house, {row['title']}",
            where="house",
            sense="at_least",
            limit=air.fan_flow_m3_s,
            unit="m3/s",
            verdict="unknown",
            basis="designed",
            source=row["source"],
            condition=row["clause"],
            provenance=origin_of(answer.file, drawing_fields(answer.file) + _air_fields(house)),
        )
        promises.append(_always(house, base, flow))
        promises.append(_as_built(answer, replace(base, id=f"{base.id}/measured", basis="measured")))
    if len({round(a.fan_flow_m3_s, 9) for a in answer.fresh_air}) > 1:
        flows = [a.fan_flow_m3_s for a in answer.fresh_air]
        findings.append(
            Finding("rules-disagree", "rules.fresh_air", {"low": (min(flows), "flow"), "high": (max(flows), "flow")})
        )
    return promises


def _always(house: House, base: Judged, flow: float) -> Judged:
    """The designed verdict; where rows of control decide what runs: kept by what they leave alone, else unknown."""
    off, more = switched(house)
    limit = base.limit or 0.0
    certain = certain_flow_m3_s(house)
    if not (off or more) or certain >= limit - 1e-9:
        return replace(base, value=min(flow, certain) if off else flow, verdict=verdict_of(certain, limit, "at_least"))
    names = ", ".join(sorted(off | more))
    return replace(base, why_unknown=f"rows of control switch {names}: inshell air says what their run time is worth")


def _as_built(answer: Answer, base: Judged) -> Judged:
    side = _counted_side(answer.house)
    needed = {(item, field) for _, item, field in _air_fields(answer.house, side)}
    missing = sorted({item for item, field in needed if not _is_measured(answer, item, field)})
    if missing or not needed or base.limit is None:
        return replace(base, why_unknown=NOT_MEASURED + (f" ({', '.join(missing)})" if missing else ""))
    value = whole_house_flows(answer.built)[SIDES.index(side)]
    return replace(base, value=value, verdict=verdict_of(value, base.limit, "at_least"), provenance="measured")


def _is_measured(answer: Answer, device: str, field: str) -> bool:
    """Whether this very quantity of a device was measured: a base flow says nothing of a boost."""
    found = [
        answer.job.measured.get((device, what))
        for fields in MEASURABLE.values()
        for what, name in fields.items()
        if field == name
    ]
    return any(value is not None and value.is_documented for value in found)


def _exhaust(answer: Answer, findings: list[Finding]) -> list[Judged]:
    promises = []
    for designed, built in zip(answer.local_exhaust, answer.measured_exhaust, strict=True):
        where = f"room.{designed.room}"
        if not designed.devices:
            findings.append(Finding("bath-without-exhaust", where, {}))
        promises.append(_one_exhaust(answer, designed, where, measured=False))
        promises.append(_one_exhaust(answer, built, where, measured=True))
    return promises


def _one_exhaust(answer: Answer, result: LocalExhaust, where: str, *, measured: bool) -> Judged:
    if measured and result.without_split().met:
        result = result.without_split()
    value, limit = result.shown
    way = "running always" if result.by_continuous or limit == result.continuous_limit_m3_s else "on demand"
    room = answer.house.room_named(result.room)
    tables = {i.id: t for t in ("fan", "hood", "ventilator") for i in getattr(answer.house, t)}
    fields = [
        (tables[d], d, {"fan": "rated_flow_m3_s", "hood": "flow_m3_s"}.get(tables[d], "exhaust_flow_m3_s"))
        for d in result.devices
    ]
    base = Judged(
        id=f"exhaust/{result.room}" + ("/measured" if measured else ""),
        title=f"Exhaust from {room.name or room.id}",
        where=where,
        sense="at_least",
        limit=limit,
        unit="m3/s",
        verdict="unknown",
        source=result.source,
        basis="measured" if measured else "designed",
        condition=way,
        provenance="measured" if measured else origin_of(answer.file, fields),
    )
    if measured and (why := _why_unmeasured(answer, result, fields)):
        return replace(base, why_unknown=why, provenance="assumed")
    return replace(base, value=value, verdict="kept" if result.met else "broken")


def _why_unmeasured(answer: Answer, result: LocalExhaust, fields: list[tuple[str, str, str]]) -> str:
    """Why a room's exhaust as built is not known; empty if the flows that decide were measured in that room."""
    always = {"fan": "base_flow_m3_s"}
    shared = [u.id for u in answer.house.ventilator if u.id in result.devices and len(u.exhaust_rooms) > 1]
    fields = [field for field in fields if result.split_m3_s or field[1] not in shared]
    decides = [(d, always.get(kind, name) if result.by_continuous else name) for kind, d, name in fields]
    missing = sorted(d for d, name in decides if not _is_measured(answer, d, name))
    if not fields or missing:
        return NOT_MEASURED + (f" ({', '.join(missing)})" if missing else "")
    return f"{', '.join(shared)}: its total is measured, not what it takes from this room" if result.split_m3_s else ""


def _sound(answer: Answer) -> list[Judged]:
    """Every device near a room that moves air outdoors, but for remote fans and hoods above 400 cfm."""
    row, house = table("fresh_air")["sound"], answer.house
    fans = [("fan", f, f.base_flow_m3_s > 0.0) for f in house.fan if f.serves and not f.remote]
    hoods = [("hood", h, False) for h in house.hood if h.flow_m3_s <= row["free_above_cfm"] * CFM_M3_S]
    units = [("ventilator", u, True) for u in house.ventilator]
    devices: list[tuple[str, Fan | Hood | Ventilator, bool]] = [*fans, *hoods, *units]
    promises = []
    for kind, device, always in devices:
        limit, sound = row["continuous_sone"] if always else row["demand_sone"], device.sound_sone
        promises.append(
            Judged(
                id=f"sound/{device.id}",
                title=f"Sound of {device.name or device.id}",
                where=f"{kind}.{device.id}",
                sense="at_most",
                limit=limit,
                unit="sone",
                value=sound,
                basis="designed",
                source=row["source"],
                condition="running always" if always else "on demand",
                verdict="unknown" if sound is None else verdict_of(sound, limit, "at_most"),
                provenance=origin_of(answer.file, [(kind, device.id, "sound_sone")]),
                why_unknown="its rated sound is not given" if sound is None else "",
            )
        )
    return promises


def _capacity(answer: Answer) -> Judged:
    """Heat that the heads and heaters can give at design cold, against the house's load."""
    house, load = answer.house, answer.heating.total_w
    head_w = [heating_capacity_w(head, answer.climate.design.heating_c) for head in house.head]
    unknown = [head.id for head, watts in zip(house.head, head_w, strict=True) if watts is None]
    known = sum(w for w in head_w if w is not None) + sum(h.power_w for h in house.heater)
    units = {u.id: u.maximum_w for u in house.outdoor_unit}
    for unit, most in units.items():
        mine = sum(w or 0.0 for h, w in zip(house.head, head_w, strict=True) if h.outdoor_unit == unit)
        if most is not None and mine > most:
            known += most - mine
    base = Judged(
        id="heating-capacity",
        title="Heat for the design day",
        where="house",
        sense="at_least",
        limit=load,
        unit="W",
        verdict="unknown",
        basis="designed",
        source="EN 12831-1:2017; data sheets of the devices",
        condition="design cold, whole house",
        provenance=origin_of(answer.file, load_fields(answer.file)),
    )
    if not (house.head or house.heater or house.circuit):
        return replace(base, why_unknown="no device that makes heat is described")
    if load <= 0.0:
        return replace(base, why_unknown="the load is not above zero: check the set point and the design cold")
    if known >= load or not (unknown or house.circuit):
        return replace(base, value=known, verdict=verdict_of(known, load, "at_least"))
    why = (
        f"no capacity at design cold is known of {', '.join(unknown)}"
        if unknown
        else "what the floor circuits give is not part of this check: run inshell floor"
    )
    return replace(base, value=known or None, why_unknown=why)


def _tightness(answer: Answer, findings: list[Finding]) -> list[Judged]:
    promises = []
    for rule in answer.house.rules.tightness:
        if rule not in table("tightness"):
            findings.append(
                Finding(
                    "unknown-tightness-rule", "rules.tightness", {"rule": rule, "known": ", ".join(table("tightness"))}
                )
            )
        else:
            promises.append(_one_tightness(answer, rule, findings))
    return promises


def _one_tightness(answer: Answer, rule: str, findings: list[Finding]) -> Judged:
    row = table("tightness")[rule]
    limit = limit_of(rule, answer.house.site.climate_zone)
    why = _why_not(answer, rule, limit, findings)
    base = Judged(
        id=f"tightness/{rule}",
        title=f"Tightness, {row['title']}",
        where="shell",
        sense="at_most",
        limit=limit,
        unit="1/h" if row["metric"] == "ach50" else "cfm/ft2",
        verdict="unknown",
        basis="measured",
        source=row["source"],
        condition=row["clause"],
        why_unknown=why,
    )
    if why or answer.test is None or limit is None:
        return base
    result, geometry = answer.test.result, answer.geometry
    verdict = judge(
        rule,
        flow_at_50_pa_m3_s=result.flow_at_50_pa_m3_s,
        limit=limit,
        flow_range_m3_s=result.flow_at_50_pa_range_m3_s,
        volume_m3=geometry.volume_m3,
        enclosure_m2=geometry.enclosure_m2,
    )
    if verdict.too_close and verdict.interval:
        low, high = verdict.interval
        findings.append(Finding("too-close-to-call", base.id, {"limit": limit, "low": low, "high": high}))
    word: Verdict = "kept" if verdict.met else "broken"
    return replace(base, value=verdict.value, interval=verdict.interval, provenance="measured", verdict=word)


def why_not(answer: Answer, rule: str, limit: float | None) -> str:
    """Why a tightness rule has no limit for this house; empty if it has."""
    if limit is None:
        return "the rule's limit depends on the climate zone"
    alone = table("tightness")[rule].get("only_small_or_attached") and not _small_or_attached(answer)
    return "the rule is not for this house" if alone else ""


def _why_not(answer: Answer, rule: str, limit: float | None, findings: list[Finding]) -> str:
    """Why a tightness rule cannot be judged; empty if it can."""
    zone = answer.house.site.climate_zone
    if limit is None:
        code = "zone-unknown" if zone is None else "zone-without-limit"
        findings.append(Finding(code, "site.climate_zone", {"rule": rule} | ({} if zone is None else {"zone": zone})))
        return "the rule's limit depends on the climate zone"
    if table("tightness")[rule].get("only_small_or_attached") and not _small_or_attached(answer):
        area = (answer.geometry.floor_m2, "area")
        findings.append(Finding("rule-not-for-this-house", "rules.tightness", {"rule": rule, "area": area}))
        return "the rule is not for this house"
    if answer.test is None:
        return answer.job.why_undecided(answer.file.shell_hash)
    return ""


def _small_or_attached(answer: Answer) -> bool:
    attached = any(buffer.kind == "house-next-door" for buffer in answer.house.buffer)
    return attached or answer.geometry.floor_m2 <= 1500.0 * 0.3048**2
