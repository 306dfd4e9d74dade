"""Every rule about fresh air and local exhaust beside each other, and in a plain sentence where they disagree."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.design.fresh_air import rule_row
from inshell.jobs.answer import Answer, certain_flow_m3_s, is_balanced, switched, whole_house_flows
from inshell.jobs.side_by_side import side_by_side
from inshell.units import show

NEAR_M3_S = 1e-9


@dataclass(frozen=True)
class RuleRow:
    """One edition's demand on the whole house, beside what always runs as designed."""

    rule: str
    title: str
    clause: str
    chosen: bool
    required_m3_s: float
    infiltration_credit_m3_s: float
    fan_flow_m3_s: float
    running_m3_s: float
    certain_m3_s: float

    @property
    def met(self) -> bool | None:
        """Whether what always runs is enough; None where rows of control decide what runs."""
        if self.certain_m3_s >= self.fan_flow_m3_s - NEAR_M3_S:
            return True
        return None if self.certain_m3_s < self.running_m3_s - NEAR_M3_S else False


@dataclass(frozen=True)
class RoomRow:
    """One room's exhaust under one rule."""

    room: str
    rule: str
    chosen: bool
    always_m3_s: float
    always_asked_m3_s: float
    demand_m3_s: float
    demand_asked_m3_s: float
    met: bool
    source: str


@dataclass(frozen=True)
class RulesAir:
    """Rows of every edition, rows of rooms, and sentences."""

    balanced: bool
    whole_house: tuple[RuleRow, ...]
    rooms: tuple[RoomRow, ...]
    words: tuple[str, ...]


def rules_air(answer: Answer) -> RulesAir:
    """Whole house and room by room, as designed."""
    house, every = answer.house, side_by_side(answer)
    running, certain = max(whole_house_flows(house)), certain_flow_m3_s(house)
    whole = tuple(
        RuleRow(
            a.rule, rule_row(a.rule)["title"], rule_row(a.rule)["clause"], a.rule in house.rules.fresh_air,
            a.required_flow_m3_s, a.infiltration_credit_m3_s, a.fan_flow_m3_s, running, certain,
        )
        for a in every.fresh_air
    )  # fmt: skip
    rooms = tuple(
        RoomRow(
            e.room, rule, rule == house.rules.local_exhaust, e.continuous_m3_s, e.continuous_limit_m3_s, e.demand_m3_s,
            e.demand_limit_m3_s, e.met, e.source,
        )
        for rule, rows in every.local_exhaust.items()
        for e in rows
    )  # fmt: skip
    words = (_whole_words(answer, whole), _balance_words(answer), *_room_words(answer, rooms))
    return RulesAir(is_balanced(house), whole, rooms, tuple(filter(None, words)))


def _whole_words(answer: Answer, rows: tuple[RuleRow, ...]) -> str:
    """What rules ask between the least and the most, how many are met, which are not and by how much."""
    units = answer.house.units
    low, high = (pick(rows, key=lambda r: r.fan_flow_m3_s) for pick in (min, max))
    running = show(rows[0].running_m3_s, "flow", units)
    asked = f"from {show(low.fan_flow_m3_s, 'flow', units)} ({low.title}) to "
    asked += f"{show(high.fan_flow_m3_s, 'flow', units)} ({high.title})"
    missed = [r for r in rows if not r.met]
    off, more = switched(answer.house)
    if missed and (off or more):
        return (
            f"Rules ask {asked}. Rows of control switch {', '.join(sorted(off | more))}: what they are set to, "
            f"{running}, does not always run; the run time below says what each way of counting credits."
        )
    if not missed:
        return f"Rules ask {asked}; the fans that always run are set to {running}, which meets all {len(rows)}."
    short = max(r.fan_flow_m3_s - r.running_m3_s for r in missed)
    names = ", ".join(r.title for r in missed)
    told = f"{running}, which meets {len(rows) - len(missed)} of {len(rows)} and misses {names}"
    return (
        f"Rules ask {asked}; the fans that always run are set to {told}, by up to {show(short, 'flow', units)}. "
        "The code official says which edition counts."
    )


def _balance_words(answer: Answer) -> str:
    supply, exhaust = whole_house_flows(answer.house)
    units = answer.house.units
    flows = f"{show(supply, 'flow', units)} in, {show(exhaust, 'flow', units)} out"
    if is_balanced(answer.house):
        return f"Balanced ({flows}): credit for infiltration is taken whole where an edition knows one."
    return f"Not balanced ({flows}): editions from 2019 on hardly credit infiltration."


def _room_words(answer: Answer, rows: tuple[RoomRow, ...]) -> list[str]:
    """A sentence for each room on which the rules disagree, or which none of them lets pass."""
    said = []
    for room in dict.fromkeys(row.room for row in rows):
        mine = [row for row in rows if row.room == room]
        name = answer.house.room_named(room).name or room
        met, missed = [r.rule for r in mine if r.met], [r.rule for r in mine if not r.met]
        if met and missed:
            said.append(f"{name}: {', '.join(met)} is met, {', '.join(missed)} is not.")
        elif missed:
            said.append(f"{name}: no rule for local exhaust is met.")
    return said
