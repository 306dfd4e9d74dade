"""`inshell settings`: the smallest base flows and hold times that keep every promise about air, by search.

Base flows of whole-house fans rise together notch by notch. What every notch breaks is beyond any setting; the rest
must be kept. Then each setting is lowered alone as far as it goes: one notch down breaks a named promise, or nothing
binds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from inshell.design.breathing import WEEKS, WeekAir, calculate_week, sleeping_rooms
from inshell.design.fresh_air import CFM_M3_S
from inshell.design.heating import tightness_ach50
from inshell.design.local_exhaust import calculate_local_exhaust
from inshell.design.makeup import greatest_share, least_area_m2, opening_flow_50_m3_s, with_opening
from inshell.design.room_days import main_room
from inshell.design.room_pressures import calculate_room_pressures
from inshell.errors import refuse
from inshell.house.model.air_devices import Fan, Ventilator
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.jobs.answer import Answer, answer, whole_house_flows

NOTCH_M3_S, HOLD_NOTCHES_S = 5.0 * CFM_M3_S, (0.0, 600.0, 1200.0, 1800.0, 2700.0, 3600.0)
MOST_NOTCHES, VENTILATOR_REACH = 40, 1.5  # a ventilator's setting may go half as high again as it is described


@dataclass(frozen=True)
class Kept:
    """One promise under some settings."""

    name: str
    value: float
    limit: float
    unit: str
    at_least: bool

    @property
    def holds(self) -> bool:
        """Whether it is kept."""
        return self.value >= self.limit - 1e-9 if self.at_least else self.value <= self.limit + 1e-9


@dataclass(frozen=True)
class Tried:
    """The whole-house fans at one base flow each, and every promise."""

    base_m3_s: dict[str, float]
    hold_s: dict[str, float]
    promises: tuple[Kept, ...]

    @property
    def broken(self) -> tuple[str, ...]:
        """Names of the promises that are not kept."""
        return tuple(p.name for p in self.promises if not p.holds)


@dataclass(frozen=True)
class Setting:
    """A setting that was found and what breaks one notch below it (nothing: it does not bind)."""

    device: str
    what: str
    value: float
    unit: str
    breaks: tuple[str, ...]


@dataclass(frozen=True)
class Settings:
    """The answer: settings, or why none will do and the least change that would."""

    house: House
    found: Tried | None
    settings: tuple[Setting, ...]
    tried: tuple[Tried, ...]
    beyond: tuple[str, ...]
    conflict: tuple[str, ...]
    change: str

    def as_json(self) -> dict[str, Any]:
        """The document of `settings --json`."""
        return {
            "format": 1,
            "house": self.house.name,
            "found": self.found is not None,
            "settings": [_setting(s) for s in self.settings],
            "promises": [_kept(p) for p in self.found.promises] if self.found else [],
            "tried": [
                {"base_flow_m3_s": t.base_m3_s, "hold_time_s": t.hold_s, "broken": list(t.broken),
                 "promises": [_kept(p) for p in t.promises]}
                for t in self.tried
            ],
            "beyond_any_setting": list(self.beyond),
            "conflict": list(self.conflict),
            "least_change": self.change,
        }  # fmt: skip


def _setting(s: Setting) -> dict[str, Any]:
    key = "value_m3_s" if s.unit == "m3/s" else "value_s"
    return {"device": s.device, "what": s.what, key: s.value, "one_notch_down_breaks": list(s.breaks)}


def _kept(p: Kept) -> dict[str, Any]:
    return asdict(p) | {"holds": p.holds}


def find_settings(path: Path, *, progress: Callable[[str, float], None] | None = None) -> Settings:
    """The search; raises InputRefused without a weather year or a whole-house fan to set."""
    base = answer(path)
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    fans = [fan.id for fan in base.house.fan if "whole-house" in fan.serves] or [u.id for u in base.house.ventilator]
    if not fans:
        accepted = 'a fan with serves = ["whole-house"], or a ventilator'
        raise refuse("fan", "nothing airs the whole house", accepted, "Describe it in [[fan]] or [[ventilator]]")
    search = _Search(base, progress or (lambda _w, _s: None))
    found = search.rise(fans)
    beyond = search.beyond
    change = search.least_change(fans) if found is None or beyond else ""
    if found is None:
        return Settings(base.house, None, (), tuple(search.told), beyond, search.conflict(), change)
    found, settings = search.lower(found, fans)
    return Settings(base.house, found, tuple(settings), tuple(search.told), beyond, (), change)


class _Search:
    """Everything tried for one house."""

    def __init__(self, base: Answer, say: Callable[[str, float], None]) -> None:
        self.base, self.say = base, say
        self.told: list[Tried] = []
        self.seen: dict[str, Tried] = {}
        self.beyond: tuple[str, ...] = ()

    def rise(self, fans: list[str]) -> Tried | None:
        """Every notch of all whole-house fans together; the first that breaks nothing but what every notch breaks."""
        rated = {fan.id: float(fan.rated_flow_m3_s) for fan in self.base.house.fan}
        for unit in self.base.house.ventilator:
            rated[unit.id] = VENTILATOR_REACH * max(float(unit.supply_flow_m3_s), float(unit.exhaust_flow_m3_s))
        holds = {fan.id: float(fan.hold_time_s) for fan in self.base.house.fan}
        steps = []
        for notch in range(MOST_NOTCHES):
            flows = {name: min(notch * NOTCH_M3_S, rated[name]) for name in fans}
            steps.append(self.at(flows, holds))
            if all(flow >= rated[name] - 1e-9 for name, flow in flows.items()):
                break
        self.beyond = tuple(sorted(set.intersection(*(set(one.broken) for one in steps))))
        return next((one for one in steps if not self.breaks(one)), None)

    def breaks(self, one: Tried) -> tuple[str, ...]:
        """What these settings break that other settings would not."""
        return tuple(name for name in one.broken if name not in self.beyond)

    def lower(self, found: Tried, fans: list[str]) -> tuple[Tried, list[Setting]]:
        """Each setting down alone as far as it goes; what breaks one notch below."""
        settings = []
        for name in fans:
            while True:
                less = found.base_m3_s | {name: max(0.0, found.base_m3_s[name] - NOTCH_M3_S)}
                below = self.at(less, found.hold_s)
                if self.breaks(below) or less == found.base_m3_s:
                    break
                found = below
            breaks = () if less == found.base_m3_s else self.breaks(below)
            settings.append(Setting(name, "base flow", found.base_m3_s[name], "m3/s", breaks))
        for name in sorted(found.hold_s):
            lower = [h for h in HOLD_NOTCHES_S if h < found.hold_s[name] - 1e-9]
            stops: tuple[str, ...] = ()
            for hold in reversed(lower):
                below = self.at(found.base_m3_s, found.hold_s | {name: hold})
                if self.breaks(below):
                    stops = self.breaks(below)
                    break
                found = below
            settings.append(Setting(name, "hold time", found.hold_s[name], "s", stops))
        return found, settings

    def at(self, base_m3_s: dict[str, float], hold_s: dict[str, float]) -> Tried:
        """The house with these settings, judged."""
        key = repr((sorted(base_m3_s.items()), sorted(hold_s.items())))
        if key not in self.seen:
            house = self._house(base_m3_s, hold_s)
            self.seen[key] = Tried(dict(base_m3_s), dict(hold_s), tuple(self._judged(house)))
            self.told.append(self.seen[key])
            self.say("settings", min(0.95, len(self.told) / MOST_NOTCHES))
        return self.seen[key]

    def _house(self, base_m3_s: dict[str, float], hold_s: dict[str, float]) -> House:
        def changed(fan: Fan) -> Fan:
            flow = base_m3_s.get(fan.id, fan.base_flow_m3_s)
            return fan.model_copy(update={"base_flow_m3_s": flow, "hold_time_s": hold_s.get(fan.id, fan.hold_time_s)})

        def aired(unit: Ventilator) -> Ventilator:
            flow = base_m3_s.get(unit.id)
            if flow is None:
                return unit
            return unit.model_copy(update={"supply_flow_m3_s": flow, "exhaust_flow_m3_s": flow})

        house = self.base.house
        update = {"fan": tuple(map(changed, house.fan)), "ventilator": tuple(map(aired, house.ventilator))}
        return house.model_copy(update=update)

    def _judged(self, house: House) -> list[Kept]:
        base = self.base
        flow = max(whole_house_flows(house))
        told = [Kept(f"fresh air, {a.rule}", flow, float(a.fan_flow_m3_s), "m3/s", True) for a in base.fresh_air]
        for one in calculate_local_exhaust(house, base.geometry):
            value, limit = one.shown
            told.append(Kept(f"exhaust from {one.room}", float(value), float(limit), "m3/s", True))
        own = [p for p in house.promise if p.kind in ("carbon-dioxide", "relative-humidity")]
        weeks = [self._week(house, week) for week in WEEKS] if own else []
        for promise in own:
            told.append(_from_weeks(house, promise, weeks))
        pressures = [p for p in house.promise if p.kind == "house-pressure" and p.fans]
        if pressures:
            told += self._pressures(house, pressures)
        return told

    def _week(self, house: House, week: str) -> WeekAir:
        tested = self.base.test.result.flow_at_50_pa_m3_s if self.base.test else None
        return calculate_week(
            house, self.base.geometry, self.base.climate, week=week, doors="shut", required_m3_s=1.0,
            tested_flow_m3_s=tested,
        )  # fmt: skip

    def _pressures(self, house: House, promises: list[Promise], opening_m2: float = 0.0) -> list[Kept]:
        """Pressure promises in still design cold; an opening comes on top of the leakage of the shell."""
        base = self.base
        ach50, _ = tightness_ach50(house, base.geometry.volume_m3)
        flow50 = base.test.result.flow_at_50_pa_m3_s if base.test else ach50 * base.geometry.volume_m3 / 3600.0
        more = opening_flow_50_m3_s(opening_m2)
        still = calculate_room_pressures(
            house, base.geometry, base.climate, tested_flow_m3_s=flow50 + more if opening_m2 else flow50
        )[0]
        told = []
        for promise in promises:
            wanted = {name for name in promise.fans if not (name.endswith(":base") and _has_no_base(house, name))}
            try:
                value = float(still.pressure_pa[still.of(wanted)].min())
            except StopIteration:
                continue
            told.append(Kept(promise.name or promise.id, value, promise.limit, "Pa", True))
        return told

    def conflict(self) -> tuple[str, ...]:
        """Promises that some notch keeps only where it breaks others."""
        return tuple(sorted({name for t in self.told for name in self.breaks(t)}))

    def least_change(self, fans: list[str]) -> str:
        """The least change of equipment that would keep what no setting keeps: for each promise, in a sentence."""
        said = [self._opening(p) for p in self.base.house.promise if (p.name or p.id) in self.beyond and p.fans]
        others = [
            name for name in self.beyond if name not in {p.name or p.id for p in self.base.house.promise if p.fans}
        ]
        if others or not self.beyond:
            said.append(self._balanced(fans))
        if any("opening" in text for text in said):
            said.append("Make-up air is for licensed trades; its intake stays clear of vents, garage and exhausts.")
        return " ".join(said)

    def _opening(self, promise: Promise) -> str:
        """A make-up opening that would hold a pressure promise, found by halving, and the hood's flow that would."""
        name = promise.name or promise.id
        room = next((h.room for h in self.base.house.hood), self.base.house.room[0].id)

        def keeps(house: House, opening_m2: float = 0.0) -> bool:
            return all(p.holds for p in self._pressures(house, [promise], opening_m2))

        area = least_area_m2(lambda m2: keeps(with_opening(self.base.house, room, m2), m2))
        hoods = {hood.id for hood in self.base.house.hood} & set(promise.fans)
        flow = greatest_share(lambda share: keeps(self._with_hoods(hoods, share))) if hoods else None
        found = []
        if area is not None:
            found.append(
                f"a make-up opening of {area * 1e4:.0f} cm² ({area / 0.0254**2:.0f} in²) free area in its room"
            )
        if flow:
            cfm = flow * sum(h.flow_m3_s for h in self.base.house.hood if h.id in hoods) / CFM_M3_S
            found.append(f"a hood of at most {cfm:.0f} cfm ({cfm * CFM_M3_S * 1000:.0f} L/s)")
        return f"{name}: {' or '.join(found)}." if found else f"{name}: neither an opening nor a smaller hood keeps it."

    def _with_hoods(self, hoods: set[str], share: float) -> House:
        house = self.base.house
        changed = tuple(
            h.model_copy(update={"flow_m3_s": share * h.flow_m3_s}) if h.id in hoods else h for h in house.hood
        )
        return house.model_copy(update={"hood": changed})

    def _balanced(self, fans: list[str]) -> str:
        """Whether a balanced recovery ventilator of the flow that the rules ask would do what no setting does."""
        rules = [float(a.fan_flow_m3_s) for a in self.base.fresh_air]
        flow = f"{max(rules, default=0.0)} m3/s"
        house, sleepers = self.base.house, sleeping_rooms(self.base.house)
        main = main_room(house, self.base.geometry, "all")
        unit = Ventilator.model_validate(
            {"id": "new-ventilator", "room": main, "supply_rooms": sleepers, "exhaust_rooms": (main,), "recovery": 0.7,
             "supply_flow": flow, "exhaust_flow": flow, "ducted": True}
        )  # fmt: skip
        still = tuple(fan.model_copy(update={"base_flow_m3_s": 0.0}) if fan.id in fans else fan for fan in house.fan)
        changed = house.model_copy(update={"ventilator": (unit,), "fan": still})
        broken = [p.name for p in self._judged(changed) if not p.holds]
        litres = 1000.0 * float(unit.supply_flow_m3_s)
        said = f"A balanced ventilator of {litres / CFM_M3_S / 1000:.0f} cfm ({litres:.0f} L/s) to the sleeping rooms"
        return f"{said} would keep them all." if not broken else f"{said} would still break: {', '.join(broken)}."


def _has_no_base(house: House, name: str) -> bool:
    return any(fan.id == name.removesuffix(":base") and fan.base_flow_m3_s <= 0.0 for fan in house.fan)


def _from_weeks(house: House, promise: Promise, weeks: list[WeekAir]) -> Kept:
    """A promise about night air from three weeks with doors shut: carbon dioxide at its highest, humidity as a mean."""
    rooms = [promise.room] if promise.room else [room.id for room in house.room]
    nights = [week.of(room) for week in weeks for room in rooms]
    if promise.kind == "carbon-dioxide":
        return Kept(promise.name or promise.id, max(n.ppm_most for n in nights), promise.limit, "ppm", False)
    return Kept(promise.name or promise.id, max(n.humidity for n in nights), promise.limit, "1", False)
