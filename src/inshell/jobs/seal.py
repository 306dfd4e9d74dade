"""`inshell seal`: every joint and opening as a row: its rank and why, what it takes off the test, who mends it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from inshell.design.leak_places import LeakPlace, Share, opening_flows_m3_s
from inshell.design.tightness import limit_of
from inshell.errors import refuse
from inshell.findings import Finding, by_severity
from inshell.house.model.house import House
from inshell.house.writing import write_text
from inshell.jobs.answer import Answer, answer
from inshell.jobs.dry import AS_DESIGNED, BALANCED, Dry, dry_of, latest_test, leakage_of, test_findings
from inshell.jobs.judging import why_not
from inshell.jobs.rooms import Progress
from inshell.jobs.seal_state import ORPHANED, WORSE_SHARE, flow_at_50_pa_m3_s, has_photo, seal_state
from inshell.physics.flow import hole_flow_m3_s
from inshell.records.seal_list import NAME, OURS, THEIRS, SealRecord, written
from inshell.sources import table
from inshell.units import show

SHORT = {AS_DESIGNED: "as designed", BALANCED: "if balanced"}
FOUR_INCH_M2 = 3.141592653589793 / 4.0 * 0.1016**2
ENOUGH_SHARE = 0.7  # of the least drop, what a repair is credited with at most before it must be measured


@dataclass(frozen=True)
class SealRow:
    """One row: its rank with reasons, what sealing it should take off the flow at 50 Pa (best, least, most) [m3/s]."""

    record: SealRecord
    place: LeakPlace | None
    priority: int
    reasons: tuple[str, ...]
    drop_m3_s: tuple[float, float, float]
    state: str
    """passed, done, open, in doubt or orphaned"""

    @property
    def number(self) -> int:
        """Its number on the plan, which stays."""
        return self.record.number


@dataclass(frozen=True)
class Between:
    """Two tests in turn, and the repairs between them: what they should have taken off, and what went."""

    first: str
    second: str
    measured_m3_s: float
    predicted_m3_s: tuple[float, float, float]
    rows: tuple[int, ...]


@dataclass(frozen=True)
class Forecast:
    """From the latest test (else the design) to the final one [m3/s at 50 Pa]; limits are those of the chosen rules."""

    basis: str
    now_m3_s: float
    final_m3_s: tuple[float, float, float]
    to_come: tuple[str, ...]
    one_hole_m3_s: float
    limits_m3_s: dict[str, float | None]
    no_limit: dict[str, str]
    is_tested: bool

    def verdict(self, rule: str) -> str:
        """Where the forecast's range lies beside a rule's limit; only the final test decides."""
        limit, (_, least, most) = self.limits_m3_s[rule], self.final_m3_s
        if limit is None:
            return f"not known: {self.no_limit[rule]}"
        if not self.is_tested:
            return "not known: no test is recorded"
        if most <= limit:
            return "the whole range is within it"
        return "the whole range is above it" if least > limit else "not known: the range crosses it"


@dataclass(frozen=True)
class Seal:
    """Everything that `inshell seal` says."""

    answer: Answer
    dry: Dry
    rows: tuple[SealRow, ...]
    between: tuple[Between, ...]
    forecast: Forecast
    findings: tuple[Finding, ...]


def seal(path: Path, *, write: bool = False, progress: Progress | None = None) -> Seal:
    """The whole list; with `write` the job folder's seal.csv is brought up to date, people's columns carried over."""
    base = answer(path)
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    kept = base.job.seals
    wet = dry_of(base, progress=progress)
    rows = _rows(wet, kept)
    told = Seal(base, wet, rows, tuple(_between(base, rows)), _forecast(base, rows, wet.leakage_m2), ())
    told = Seal(base, wet, rows, told.between, told.forecast, tuple(by_severity(_findings(told))))
    if write:
        write_text(base.file.folder / NAME, written([(row.record, row.state) for row in rows]), overwrite=True)
    return told


def _rows(wet: Dry, kept: dict[str, SealRecord]) -> tuple[SealRow, ...]:
    """Ranked by priority and by what each takes off; numbers stay, new rows get the next ones in that order."""
    ranked = []
    for share in wet.shares:
        rank, reasons = _rank(wet, share)
        ranked.append((rank, -_drop(wet, share)[0], share.place.id, share, reasons))
    ranked.sort(key=lambda item: item[:3])
    free = max((record.number for record in kept.values()), default=0)
    rows = []
    for rank, _, _, share, reasons in ranked:
        old = kept.get(share.place.id)
        free += old is None
        record = _record(wet.answer, share, rank, _drop(wet, share), old.number if old else free, old)
        rows.append(SealRow(record, share.place, rank, reasons, _drop(wet, share), seal_state(wet.answer, record)))
    lost = [record for key, record in kept.items() if key not in {s.place.id for s in wet.shares}]
    rows += [SealRow(r, None, 9, ("its place is no longer in the house",), (0.0, 0.0, 0.0), ORPHANED) for r in lost]
    return tuple(rows)


def _drop(wet: Dry, share: Share) -> tuple[float, float, float]:
    """Flow at 50 Pa that sealing takes off: a place's part of the tested flow; a measured hole by its own area.

    A hole that is marked as sealed was shut in the test: it takes nothing off.
    """
    if share.place.open_m2 > 0.0:
        if share.place.sealed:
            return 0.0, 0.0, 0.0
        whole = leakage_of(wet.answer)[0]
        flow, low, high = (min(q, whole) for q in opening_flows_m3_s(share.place, 50.0))
        return flow, low, high
    flow50 = leakage_of(wet.answer)[0]
    best, least, most = (flow50 * a / wet.leakage_m2 for a in (share.best_m2, share.least_m2, share.most_m2))
    return best, least, most


def _rank(wet: Dry, share: Share) -> tuple[int, tuple[str, ...]]:
    """1 rots or lets soil gas in and is buried; 2 hidden; 3 draught: with the reasons."""
    place, reasons = share.place, []
    if place.open_m2 > 0.0:
        shut = ", shut in the test" if place.sealed else ""
        flow = show(opening_flows_m3_s(place, 50.0)[0], "flow", wet.answer.house.units)
        reasons.append(f"about {flow} at 50 Pa while open{shut}")
    if place.kind == "soil-opening":
        return 1, ("lets soil gas in", "buried", *reasons)
    if not _reaches_outdoors(wet.answer.house, place):
        return 3, ("an inner wall: moves no outdoor air",)
    rot, buried = _rot(wet, place)
    hidden = bool(place.row["hidden"])
    reasons += [rot] if rot else []
    reasons += ["hidden by drywall"] if hidden else []
    heat = wet.heat_kwh.get(place.id, 0.0)
    if heat >= 1.0:
        reasons.append(f"about {heat:.0f} kWh a year")
    if hidden and buried and int(place.row["priority"]) == 1:
        return 1, tuple(reasons)
    return (2, tuple(reasons)) if hidden else (3, tuple(reasons) or ("draught",))


def _rot(wet: Dry, place: LeakPlace) -> tuple[str, bool]:
    """What is said of a place's board, and whether it may rot as far as is known; what is not judged may."""
    mine = [(SHORT[s.name], j) for s in wet.scenarios for j in s.joints if j.share.place.id == place.id]
    rots = [name for name, joint in mine if joint.is_bad]
    may = [name for name, joint in mine if joint.may_be_bad]
    if mine and not any(joint.cases for _, joint in mine):
        return "not judged: its board is not known", True
    if rots:
        return f"rots or moulds ({', '.join(rots)})", True
    return (f"may rot or mould ({', '.join(may)})", True) if may else ("", False)


def _reaches_outdoors(house: House, place: LeakPlace) -> bool:
    """A measured hole in a wall that no weather touches moves no outdoor air."""
    leak = next((x for x in house.leak if f"hole:{x.id}" == place.id), None)
    return leak is None or leak.wall is None or bool(place.surface)


def _record(
    base: Answer, share: Share, rank: int, drop: tuple[float, float, float], number: int, old: SealRecord | None
) -> SealRecord:
    units, place, row = base.house.units, share.place, share.place.row
    size = {"m": show(place.size, "length", units), "m2": show(place.size, "area", units)}.get(row["per"], "")
    ours = dict.fromkeys(OURS, "") | {
        "id": place.id, "number": str(number), "priority": str(rank), "place": words_of(place), "room": place.room,
        "size": size, "drop_at_50_pa": " / ".join(show(q, "flow", units) for q in drop), "trade": row["trade"],
        "task": row["seal"], "never": row["never"],
    }  # fmt: skip
    theirs = old.theirs if old else dict.fromkeys(THEIRS, "")
    return SealRecord(place.id, number, ours, theirs, old.extra if old else {})


def words_of(place: LeakPlace) -> str:
    """A place in plain words.

    >>> words_of(LeakPlace("sill:bed:c1-c2", "sill", "bed", "bed:c1-c2", 3.0, 0.0, (0.0, 0.0), 0.0, 0.0, 0.0))
    'sill, bed c1-c2'
    """
    kind, _, host = place.id.partition(":")
    return f"{kind.replace('-', ' ')}, {host.replace(':', ' ').replace('/', ' ')}"


def _between(base: Answer, rows: tuple[SealRow, ...]) -> list[Between]:
    """Each test against the one before it, by the days on which rows say that they were done."""
    tests = sorted((t for t in base.job.tests if t.date), key=lambda t: (t.date, t.id))
    told = []
    for one, two in pairwise(tests):
        mine = [r for r in rows if one.date < r.record.theirs.get("done", "") <= two.date]
        sums = tuple(sum(r.drop_m3_s[k] for r in mine) for k in range(3))
        went = flow_at_50_pa_m3_s(one) - flow_at_50_pa_m3_s(two)
        told.append(Between(one.id, two.id, went, (sums[0], sums[1], sums[2]), tuple(r.number for r in mine)))
    return told


def _forecast(base: Answer, rows: tuple[SealRow, ...], area_m2: float) -> Forecast:
    """What is left once every row that is hidden and open is sealed, and what is still to be cut is sealed too.

    Without a test nothing is taken off: the designed tightness is that of the finished house.
    """
    latest = latest_test(base)
    now, _, basis = leakage_of(base)
    seen = latest.date if latest else ""
    open_rows = [r for r in rows if latest and r.priority <= 2 and r.place is not None and not _in_test(r, seen)]
    best, least, most = (sum(r.drop_m3_s[k] for r in open_rows) for k in range(3))
    said = latest.file.said.get("not_yet_cut", "") if latest else ""
    parts = [part.strip() for part in said.replace(";", ",").split(",")]
    to_come = tuple(part for part in parts if part and part != "none")
    sleeve = [1e-4 * a for a in table("leak_places")["sleeve"]["cm2"]]
    adds = [len(to_come) * a / max(area_m2, 1e-9) * now for a in sleeve]
    low = max(now - min(most, now), 0.0) + adds[1]
    final = (max(now - ENOUGH_SHARE * best, 0.0) + adds[0], low, now - ENOUGH_SHARE * least + adds[2])
    hole = float(hole_flow_m3_s(area_m2=FOUR_INCH_M2, pressure_pa=50.0))
    limits, no_limit = _limits(base)
    return Forecast(basis, now, final, to_come, hole, limits, no_limit, latest is not None)


def _in_test(row: SealRow, tested: str) -> bool:
    """Whether a repair was done by the day of the test, so that the test has already seen it."""
    done = row.record.theirs.get("done", "")
    return bool(done and tested and done <= tested)


def _limits(base: Answer) -> tuple[dict[str, float | None], dict[str, str]]:
    """The flow at 50 Pa that each chosen tightness rule allows this house; why a rule has none for it."""
    told: dict[str, float | None] = {}
    why = {}
    for rule in base.house.rules.tightness:
        row = table("tightness").get(rule)
        if row is None:
            continue
        limit = limit_of(rule, base.house.site.climate_zone)
        why[rule] = why_not(base, rule, limit)
        if limit is None or why[rule]:
            told[rule] = None
        elif row["metric"] == "ach50":
            told[rule] = limit * base.geometry.volume_m3 / 3600.0
        else:
            told[rule] = limit * 0.3048**3 / 60.0 / 0.3048**2 * base.geometry.enclosure_m2
    return told, why


def _findings(told: Seal) -> list[Finding]:
    found = []
    for pair in told.between:
        if pair.measured_m3_s >= 0.0 and pair.predicted_m3_s[1] > pair.measured_m3_s + 1e-6:
            values = {
                "first": pair.first, "second": pair.second, "least": (pair.predicted_m3_s[1], "flow"),
                "went": (pair.measured_m3_s, "flow"),
            }  # fmt: skip
            found.append(Finding("repairs-exceed-measured", "tests", values))
    lost = [r for r in told.rows if r.record.is_proved and not has_photo(told.answer, r.record.theirs["photo"])]
    if lost:
        found.append(Finding("photo-not-found", "seal.csv", {"numbers": ", ".join(str(r.number) for r in lost)}))
    for row in told.rows:
        if row.state == ORPHANED:
            found.append(Finding("seal-orphaned", row.record.id, {"number": row.number}))
    newest = latest_test(told.answer)
    latest = newest.date if newest else ""
    worse = [p for p in told.between if p.measured_m3_s < -WORSE_SHARE * told.forecast.now_m3_s]
    if worse:
        values = {"first": worse[-1].first, "second": worse[-1].second, "more": (-worse[-1].measured_m3_s, "flow")}
        found.append(Finding("test-got-worse", "tests", values))
    later = [r for r in told.rows if latest and r.record.theirs.get("done", "") > latest]
    if later:
        numbers = ", ".join(str(r.number) for r in later)
        found.append(Finding("sealed-after-test", "tests", {"date": latest, "numbers": numbers}))
    return found + _of_forecast(told)


def _of_forecast(told: Seal) -> list[Finding]:
    """What the latest test could not see, and rules that the forecast does not reach."""
    found, newest = [], latest_test(told.answer)
    taped = newest.file.said.get("temporary_seals", "").strip() if newest else ""
    if newest and taped and taped.lower() not in ("none", "no"):
        found.append(Finding("taped-in-test", "tests", {"test": newest.id, "what": taped}))
    _, least, most = told.forecast.final_m3_s
    for rule, limit in told.forecast.limits_m3_s.items():
        if told.forecast.is_tested and limit is not None and most > limit:
            values = {"rule": rule, "least": (least, "flow"), "most": (most, "flow"), "limit": (limit, "flow")}
            found.append(Finding("final-may-fail", "rules.tightness", values))
    return found + test_findings(told.answer)
