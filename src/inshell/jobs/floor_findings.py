"""What follows from a warm floor: circuits that do not fit, floors that cannot give enough, water, heater, cautions."""

from __future__ import annotations

from typing import Any

from inshell.design.floor_heat import FloorHeat, surface_limit_c
from inshell.design.floor_source import MOST_STARTS_H, FloorSource
from inshell.design.floor_water import LEAST_M_S, MOST_LOOP_PA, FloorWater
from inshell.design.floor_year import COLD_K, OVER_K, FloorYear
from inshell.design.tube_plan import BENDS_OD, TubePlan
from inshell.findings import Finding
from inshell.house.model.house import House
from inshell.sources import table

BARE_M2, TIGHT = 0.1, 0.7
WEAK, STRONG = 0.95, 1.5
CLOSE_K, WARMER_K, FROST_MARGIN_K = 0.3, 3.0, 5.0
MOST_OVER_H, MOST_COLD_H = 24, 48


def floor_findings(
    house: House,
    plan: TubePlan,
    heat: FloorHeat | None,
    water: FloorWater | None,
    source: FloorSource | None,
    year: FloorYear | None = None,
    *,
    coldest_c: float,
) -> list[Finding]:
    """Everything, cautions included."""
    found = _laid(house, plan)
    if heat is not None and water is not None:
        found += _warm(house, heat)
        found += _wet(house, water, coldest_c)
        found += _fired(house, source, heat)
    found += _through_year(house, year) if year is not None else []
    found.append(Finding("tubes-below", "slab", {}))
    return found


def _through_year(house: House, year: FloorYear) -> list[Finding]:
    """Rooms that the sun drives past their set point on a charged slab, rooms left cold, a heater that starts often."""
    found = []
    for room in year.rooms:
        over: dict[str, Any] = {"hours": room.hours_over, "most": (room.overshoot_k, "temperature_difference")}
        if room.hours_over > MOST_OVER_H:
            over["above"] = (OVER_K, "temperature_difference")
            found.append(Finding("floor-overshoots", f"room.{room.room}", over))
        if room.hours_cold > MOST_COLD_H:
            cold: dict[str, Any] = {"hours": room.hours_cold, "coldest": (room.coldest_c, "temperature")}
            cold["below"] = (COLD_K, "temperature_difference")
            found.append(Finding("floor-leaves-cold", f"room.{room.room}", cold))
        limit = surface_limit_c(house, room.room)
        if room.floor_most_c > limit + CLOSE_K:
            hot: dict[str, Any] = {"most": (room.floor_most_c, "temperature"), "limit": (limit, "temperature")}
            found.append(Finding("floor-beyond-limit-in-year", f"room.{room.room}", hot))
    return found


def _laid(house: House, plan: TubePlan) -> list[Finding]:
    found = [Finding("circuit-not-routed", f"circuit.{name}", {"why": why}) for name, why in plan.not_routed.items()]
    rows, circuits = table("tubes"), {c.id: c for c in house.circuit}
    for run in plan.runs:
        row, where = rows[circuits[run.circuit].tube], f"circuit.{run.id}"
        if run.length_m > row["longest_m"]:
            values: dict[str, Any] = {"length": (run.length_m, "length"), "most": (row["longest_m"], "length")}
            found.append(Finding("circuit-too-long", where, values))
        if run.tightest_m < TIGHT * BENDS_OD * row["outer_m"]:
            values = {"radius": (run.tightest_m, "length"), "least": (BENDS_OD * row["outer_m"], "length")}
            found.append(Finding("bend-too-tight", where, values))
        if run.bare_m2 > BARE_M2:
            found.append(Finding("floor-left-bare", where, {"area": (run.bare_m2, "area")}))
    thick = table("floor")["coverings_r_m2k_w"]["sense"]
    for circuit in house.circuit:
        where = f"circuit.{circuit.id}"
        without = [r for r in circuit.rooms if not any(r in run.areas for run in plan.of(circuit.id))]
        if without and plan.of(circuit.id):
            found.append(Finding("room-by-leaders-alone", where, {"rooms": ", ".join(without)}))
        if circuit.covering_r_m2k_w > thick:
            found.append(Finding("covering-too-thick", where, {"r": (circuit.covering_r_m2k_w, "r_value")}))
    return found


def _warm(house: House, heat: FloorHeat) -> list[Finding]:
    found = []
    for room in heat.rooms:
        where = f"room.{room.room}"
        values: dict[str, Any] = {"asks": (room.asks_w, "power"), "gives": (room.gives_w, "power")}
        if room.is_short and room.area_m2 > 0.0:
            most: dict[str, Any] = {"asks": (room.asks_w, "power"), "gives": (room.limit_w, "power")}
            most["limit"] = (room.limit_c, "temperature")
            found.append(Finding("floor-cannot-carry", where, most))
        elif room.is_cold:
            found.append(Finding("floor-gives-less", where, values))
        elif room.area_m2 <= 0.0 and room.leader_w > room.asks_w + 1.0:
            found.append(Finding("leaders-overheat", where, values))
        if room.is_hot:
            hot: dict[str, Any] = {"hottest": (room.hottest_c, "temperature"), "limit": (room.limit_c, "temperature")}
            found.append(Finding("floor-too-hot", where, hot))
    supply, needs = (heat.supply_c, "temperature"), (heat.needed_supply_c, "temperature")
    if heat.supply_c < heat.needed_supply_c - CLOSE_K:
        cool: dict[str, Any] = {"supply": supply, "needs": needs, "room": heat.governs}
        found.append(Finding("supply-too-cool", "floor.supply", cool))
    if heat.supply_c > heat.needed_supply_c + WARMER_K:
        warm: dict[str, Any] = {"supply": supply, "needs": needs, "room": heat.governs}
        found.append(Finding("supply-too-warm", "floor.supply", warm))
    if heat.supply_c > house.floor.supply_most_c:
        limit = {"supply": (heat.supply_c, "temperature"), "limit": (house.floor.supply_most_c, "temperature")}
        found.append(Finding("supply-above-limit", "floor.supply_most", limit))
    found.append(
        Finding("floor-high-limit", "floor.supply_most", {"limit": (house.floor.supply_most_c, "temperature")})
    )
    return found


def _wet(house: House, water: FloorWater, coldest_c: float) -> list[Finding]:
    found = []
    slow = [loop.id for loop in water.loops if loop.velocity_m_s < LEAST_M_S]
    if slow:
        found.append(Finding("loop-slow", "circuit", {"loops": ", ".join(slow)}))
    purge = max(loop.purge_m3_s for loop in water.loops)
    found.append(Finding("purge-first", "manifold", {"flow": (purge, "water_flow")}))
    for loop in water.loops:
        if loop.head_pa > MOST_LOOP_PA:
            found.append(Finding("loop-resists", f"circuit.{loop.id}", {"head": (loop.head_pa, "head")}))
    if water.running_share is None:
        asked: dict[str, Any] = {"flow": (water.flow_m3_s, "water_flow"), "head": (water.head_pa, "head")}
        found.append(Finding("pump-not-said", "floor.pump", asked))
    elif water.off_curve and not (water.running_share > STRONG):
        found.append(Finding("pump-curve-short", "floor.pump", {"share": f"{water.running_share:.0%}"}))
    elif water.running_share < WEAK:
        found.append(Finding("pump-too-weak", "floor.pump", {"share": f"{water.running_share:.0%}"}))
    elif water.running_share > STRONG:
        found.append(Finding("pump-too-strong", "floor.pump", {"share": f"{water.running_share:.0%}"}))
    if water.fluid.freezing_c > coldest_c - FROST_MARGIN_K:
        frost: dict[str, Any] = {"freezes": (water.fluid.freezing_c, "temperature"), "cold": (coldest_c, "temperature")}
        found.append(Finding("floor-water-freezes", "floor.glycol", frost))
    exchanged = any(w.feeds_floor and w.separation == "exchanger" for w in house.water_heater)
    if exchanged and house.floor.exchanger_cv is None:
        found.append(Finding("exchanger-loss-not-said", "floor.exchanger_cv", {}))
    return found


def _fired(house: House, source: FloorSource | None, heat: FloorHeat) -> list[Finding]:
    if source is None:
        return [Finding("no-heater-for-floor", "water_heater", {"heat": (heat.heat_w, "power")})]
    heater, found = source.heater, []
    where = f"water_heater.{heater.id}"
    if heater.separation != "exchanger":
        found.append(Finding("floor-through-taps", where, {"said": heater.separation.replace("-", " ")}))
    elif house.floor.double_wall == "not-said":
        found.append(Finding("double-wall-not-said", "floor.double_wall", {}))
    if house.floor.double_wall == "no" and house.floor.glycol > 0.0:
        found.append(Finding("single-wall-with-glycol", "floor.double_wall", {}))
    if house.floor.maker_approves == "no":
        found.append(Finding("maker-forbids", "floor.maker_approves", {}))
    elif house.floor.maker_approves == "not-said":
        found.append(Finding("maker-not-asked", "floor.maker_approves", {}))
    if heater.kind in ("tankless", "tank") and source.supply_c > heater.set_point_c + 0.5:
        cool: dict[str, Any] = {"set": (heater.set_point_c, "temperature"), "needs": (source.supply_c, "temperature")}
        found.append(Finding("heater-set-too-low", where, cool))
    found += _range(source, heat, where)
    burns = heater.fuel in ("gas", "propane")
    found.append(Finding("heater-burns", where, {}) if burns else Finding("heater-electric", where, {}))
    if burns and heater.venting != "sealed":
        found.append(Finding("heater-not-sealed", where, {"venting": heater.venting.replace("-", " ")}))
    return found


def _range(source: FloorSource, heat: FloorHeat, where: str) -> list[Finding]:
    """Whether the heater can give enough, and how it cycles."""
    if source.least_w is None or source.most_w is None:
        missing = [n for n, w in (("input_minimum", source.least_w), ("input_maximum", source.most_w)) if w is None]
        return [Finding("heater-range-not-said", where, {"missing": " and ".join(missing)})]
    found = []
    if source.most_w < heat.heat_w:
        small: dict[str, Any] = {"heat": (heat.heat_w, "power"), "most": (source.most_w, "power")}
        found.append(Finding("heater-too-small", where, small))
    worst = max(source.part_loads, key=lambda p: p.starts_per_h)
    starts, share = f"{worst.starts_per_h:.0f}", f"{worst.share:.0%}"
    if source.least_w > heat.heat_w:
        cycles: dict[str, Any] = {"starts": starts, "share": share, "least": (source.least_w, "power")}
        cycles["heat"] = (heat.heat_w, "power")
        cycles["buffer"] = (max(p.buffer_m3 for p in source.part_loads), "liquid")
        found.append(Finding("heater-always-cycles", where, cycles))
    elif worst.starts_per_h > MOST_STARTS_H:
        now: dict[str, Any] = {"starts": starts, "share": share, "buffer": (worst.buffer_m3, "liquid")}
        found.append(Finding("heater-cycles", where, now))
    return found
