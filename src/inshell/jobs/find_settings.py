"""`inshell settings`: the smallest base flows and hold times that keep every promise about air, by search.

Base flows of whole-house fans rise together notch by notch. What every notch breaks is beyond any setting; the rest
must be kept. Then each setting is lowered alone as far as it goes: one notch down breaks a named promise, or nothing
binds. What was found is run over the whole year and 64 leak placements; where that breaks a promise the flows rise on.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from inshell.design.breathing import sleeping_rooms
from inshell.design.fresh_air import CFM_M3_S
from inshell.design.local_exhaust import calculate_local_exhaust
from inshell.design.makeup import greatest_share, least_area_m2, with_opening
from inshell.design.room_days import main_room
from inshell.errors import refuse
from inshell.house.model.air_devices import Fan, Ventilator
from inshell.house.model.house import House
from inshell.house.model.promises import Promise
from inshell.jobs.answer import Answer, answer
from inshell.jobs.settings_answer import Kept, Setting, Settings, Tried
from inshell.jobs.settings_judge import Judge

NOTCH_M3_S, HOLD_NOTCHES_S = 5.0 * CFM_M3_S, (0.0, 600.0, 1200.0, 1800.0, 2700.0, 3600.0)
MOST_NOTCHES = 40
Say = Callable[[str, float], None]


def find_settings(path: Path, *, progress: Say | None = None) -> Settings:
    """The search; raises InputRefused without a weather year or a whole-house fan to set."""
    return settings_of(answer(path), progress=progress)


def settings_of(base: Answer, *, progress: Say | None = None) -> Settings:
    """The same from a house whose static answer is there."""
    if base.climate.year is None:
        raise refuse("climate.year", "no weather year", "a house with a weather year", "Name a year in [climate]")
    fans = [fan.id for fan in base.house.fan if "whole-house" in fan.serves] or [u.id for u in base.house.ventilator]
    if not fans:
        accepted = 'a fan with serves = ["whole-house"], or a ventilator'
        raise refuse("fan", "nothing airs the whole house", accepted, "Describe it in [[fan]] or [[ventilator]]")
    search = _Search(base, progress or (lambda _w, _s: None), fans)
    found = search.rise()
    change = search.least_change() if found is None or search.beyond else ""
    if found is None:
        return Settings(base.house, None, (), tuple(search.told), search.beyond, search.conflict(), change)
    found, settings = search.lower(found)
    found, settings, year = search.proved(found, settings)
    return Settings(base.house, found, tuple(settings), tuple(search.told), search.beyond, (), change, year)


class _Search:
    """Everything tried for one house."""

    def __init__(self, base: Answer, say: Say, fans: list[str]) -> None:
        self.base, self.say, self.fans, self.judge = base, say, fans, Judge(base)
        self.told: list[Tried] = []
        self.seen: dict[str, Tried] = {}
        self.beyond: tuple[str, ...] = ()
        self.most = {fan.id: float(fan.rated_flow_m3_s) for fan in base.house.fan}
        for unit in base.house.ventilator:
            self.most[unit.id] = max(float(unit.supply_flow_m3_s), float(unit.exhaust_flow_m3_s))

    def rise(self) -> Tried | None:
        """Every notch of all whole-house fans together; the first that breaks nothing but what every notch breaks."""
        holds = {fan.id: float(fan.hold_time_s) for fan in self.base.house.fan}
        steps = []
        for flows in self._notches():
            steps.append(self.at(flows, holds))
        self.beyond = tuple(sorted(set.intersection(*(set(one.broken) for one in steps))))
        return next((one for one in steps if not self.breaks(one)), None)

    def _notches(self) -> list[dict[str, float]]:
        """Whole-house fans together, notch by notch up to their ratings, and as the file describes them."""
        told = []
        for notch in range(MOST_NOTCHES):
            told.append({name: min(notch * NOTCH_M3_S, self.most[name]) for name in self.fans})
            if self._at_most(told[-1]):
                break
        house = self.base.house
        own = {fan.id: float(fan.base_flow_m3_s) for fan in house.fan if fan.id in self.fans}
        own |= {unit.id: self.most[unit.id] for unit in house.ventilator if unit.id in self.fans}
        told.append(own)
        return sorted(told, key=lambda flows: sum(flows.values()))

    def _at_most(self, flows: dict[str, float]) -> bool:
        return all(flow >= self.most[name] - 1e-9 for name, flow in flows.items())

    def breaks(self, one: Tried) -> tuple[str, ...]:
        """What these settings break that other settings would not."""
        return tuple(name for name in one.broken if name not in self.beyond)

    def lower(self, found: Tried) -> tuple[Tried, list[Setting]]:
        """Each setting down alone as far as it goes; what breaks one notch below."""
        settings = []
        for name in self.fans:
            while True:
                less = found.base_m3_s | {name: max(0.0, found.base_m3_s[name] - NOTCH_M3_S)}
                below = self.at(less, found.hold_s)
                if self.breaks(below) or less == found.base_m3_s:
                    break
                found = below
            breaks = () if less == found.base_m3_s else self.breaks(below)
            settings.append(Setting(name, "base flow", found.base_m3_s[name], "m3/s", breaks))
        for name in sorted(found.hold_s):
            found, setting = self._lower_hold(found, name)
            settings.append(setting)
        return found, settings

    def _lower_hold(self, found: Tried, name: str) -> tuple[Tried, Setting]:
        for hold in sorted((h for h in HOLD_NOTCHES_S if h < found.hold_s[name] - 1e-9), reverse=True):
            below = self.at(found.base_m3_s, found.hold_s | {name: hold})
            if self.breaks(below):
                return found, Setting(name, "hold time", found.hold_s[name], "s", self.breaks(below))
            found = below
        return found, Setting(name, "hold time", found.hold_s[name], "s", ())

    def proved(self, found: Tried, settings: list[Setting]) -> tuple[Tried, list[Setting], tuple[Kept, ...]]:
        """The settings over the whole year and all placements; while these break a promise, base flows rise a notch."""
        first: tuple[Tried, list[Setting], tuple[Kept, ...]] | None = None
        while True:
            self.say("the year", 0.95)
            year = self.judge.over_the_year(self._house(found.base_m3_s, found.hold_s))
            broken = tuple(kept.name for kept in year if not kept.holds)
            first = first or (found, settings, year)
            if not broken:
                return found, settings, year
            if self._at_most({name: found.base_m3_s[name] for name in self.fans}):
                return first
            more = {name: min(found.base_m3_s[name] + NOTCH_M3_S, self.most[name]) for name in self.fans}
            above = self.at(found.base_m3_s | more, found.hold_s)
            if self.breaks(above):
                return first
            found = above
            settings = [
                Setting(s.device, s.what, found.base_m3_s[s.device], s.unit, broken) if s.what == "base flow" else s
                for s in settings
            ]

    def at(self, base_m3_s: dict[str, float], hold_s: dict[str, float]) -> Tried:
        """The house with these settings, judged."""
        key = repr((sorted(base_m3_s.items()), sorted(hold_s.items())))
        if key not in self.seen:
            house = self._house(base_m3_s, hold_s)
            self.seen[key] = Tried(dict(base_m3_s), dict(hold_s), tuple(self.judge.promises(house)))
            self.told.append(self.seen[key])
            self.say("settings", min(0.9, len(self.told) / MOST_NOTCHES))
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

    def conflict(self) -> tuple[str, ...]:
        """Promises that some notch keeps only where it breaks others."""
        return tuple(sorted({name for t in self.told for name in self.breaks(t)}))

    def least_change(self) -> str:
        """The least change of equipment that would keep what no setting keeps: for each promise, in a sentence."""
        said = [self._opening(p) for p in self.base.house.promise if (p.name or p.id) in self.beyond and p.fans]
        pressures = {p.name or p.id for p in self.base.house.promise if p.fans}
        if not self.beyond or set(self.beyond) - pressures:
            said.append(self._balanced())
        if any("opening" in text for text in said):
            said.append("Make-up air is for licensed trades; its intake stays clear of vents, garage and exhausts.")
        return " ".join(said)

    def _opening(self, promise: Promise) -> str:
        """A make-up opening that would hold a pressure promise, found by halving, and the hood's flow that would."""
        name, house = promise.name or promise.id, self.base.house
        room = next((h.room for h in house.hood), house.room[0].id)

        def keeps(changed: House, opening_m2: float = 0.0) -> bool:
            still = self.judge.still(changed, opening_m2)
            return all(p.holds for p in self.judge.pressures(changed, [promise], still))

        area = least_area_m2(lambda m2: keeps(with_opening(house, room, m2), m2))
        hoods = {hood.id for hood in house.hood} & set(promise.fans)
        flow = greatest_share(lambda share: keeps(self._with_hoods(hoods, share))) if hoods else None
        found = []
        if area is not None:
            found.append(
                f"a make-up opening of {area * 1e4:.0f} cm² ({area / 0.0254**2:.0f} in²) free area in its room"
            )
        if flow:
            cfm = flow * sum(h.flow_m3_s for h in house.hood if h.id in hoods) / CFM_M3_S
            breaks = self._breaks_exhaust(self._with_hoods(hoods, flow))
            also = f", which breaks {breaks}" if breaks else ""
            found.append(f"a hood of at most {cfm:.0f} cfm ({cfm * CFM_M3_S * 1000:.0f} L/s){also}")
        return f"{name}: {' or '.join(found)}." if found else f"{name}: neither an opening nor a smaller hood keeps it."

    def _breaks_exhaust(self, house: House) -> str:
        """Rooms whose exhaust no longer meets the chosen rule."""
        rows = calculate_local_exhaust(house, self.base.geometry)
        before = {e.room: e.met for e in calculate_local_exhaust(self.base.house, self.base.geometry)}
        return ", ".join(f"exhaust from {e.room}" for e in rows if before[e.room] and not e.met)

    def _with_hoods(self, hoods: set[str], share: float) -> House:
        house = self.base.house
        changed = tuple(
            h.model_copy(update={"flow_m3_s": share * h.flow_m3_s}) if h.id in hoods else h for h in house.hood
        )
        return house.model_copy(update={"hood": changed})

    def _balanced(self) -> str:
        """Whether a balanced recovery ventilator of the flow that the rules ask would do what no setting does."""
        rules = [float(a.fan_flow_m3_s) for a in self.base.fresh_air]
        flow = f"{max(rules, default=0.0)} m3/s"
        house, sleepers = self.base.house, sleeping_rooms(self.base.house)
        main = main_room(house, self.base.geometry, "all")
        unit = Ventilator.model_validate(
            {"id": "new-ventilator", "room": main, "supply_rooms": sleepers, "exhaust_rooms": (main,), "recovery": 0.7,
             "supply_flow": flow, "exhaust_flow": flow, "ducted": True}
        )  # fmt: skip
        still = tuple(
            fan.model_copy(update={"base_flow_m3_s": 0.0}) if fan.id in self.fans else fan for fan in house.fan
        )
        changed = house.model_copy(update={"ventilator": (unit,), "fan": still})
        broken = [p.name for p in self.judge.promises(changed) if not p.holds]
        litres = 1000.0 * float(unit.supply_flow_m3_s)
        said = f"A balanced ventilator of {litres / CFM_M3_S / 1000:.0f} cfm ({litres:.0f} L/s) to the sleeping rooms"
        return f"{said} would keep them all." if not broken else f"{said} would still break: {', '.join(broken)}."
