"""Water in exhaust runs that pass through the cold, and what cold does to recovery ventilators, in the coldest week."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.climate.year import ClimateYear
from inshell.design.drivers import Prepared
from inshell.house.model.air_devices import Duct, Fan, Hood, Ventilator
from inshell.house.model.house import House
from inshell.network.system import Series
from inshell.physics.air import HEAT_CAPACITY_J_KGK, dew_point_c, mass_fraction, saturation_pressure_pa
from inshell.physics.duct_water import duct_water, sweat_margin_k
from inshell.physics.types import Floats

WRAP_R_M2K_W = 1.4  # R-8 duct wrap
DAY_S, AIR_KG_M3 = 86400.0, 1.2
FREEZING_C = 0.0


@dataclass(frozen=True)
class RunWater:
    """An exhaust run through the cold for a week: hours in which water gathers in it, and how much.

    `wrapped_l_day` is what would gather with R-8 (1.4 m2K/W) more around it.
    """

    device: str
    hours_wet: int
    litres_day: float
    hours_freezing: int
    coldest_wall_c: float
    wrapped_l_day: float


@dataclass(frozen=True)
class RecoveryAir:
    """A recovery ventilator: what it recovers over the year with its frost protection, and its water in a cold week.

    `recovered_share` is of the heat that its outdoor air would need over the year; `sweats_h` are hours of the cold
    week in which its runs in the room sweat outside, None where none is described.
    """

    device: str
    supply_m3_s: float
    exhaust_m3_s: float
    outdoor_m3_s: float
    defrost: str
    hours_below_limit: int
    recovered_share: float
    recovered_kwh: float
    preheat_kwh: float
    core_litres_day: float
    core_freezing_h: int
    sweats_h: int | None

    @property
    def unbalance(self) -> float:
        """Share by which the larger stream exceeds the smaller, of the larger."""
        high, low = max(self.supply_m3_s, self.exhaust_m3_s), min(self.supply_m3_s, self.exhaust_m3_s)
        return (high - low) / high if high > 0.0 else 0.0


def calculate_run_water(house: House, ready: Prepared, series: Series, rows: slice) -> tuple[RunWater, ...]:
    """Every exhaust run with a cold length, through the hours of a run in hourly slots."""
    devices: list[Fan | Hood] = [fan for fan in house.fan if fan.kind == "exhaust"] + [*house.hood]
    return tuple(
        _water(d, d.duct, ready, series, rows) for d in devices if d.duct is not None and d.duct.cold_length_m > 0.0
    )


def _water(device: Fan | Hood, duct: Duct, ready: Prepared, series: Series, rows: slice) -> RunWater:
    """Hour by hour from the mean flow of the device, base and boost together."""
    names = {device.id, f"{device.id} boost"}
    mine = [k for k, link in enumerate(ready.system.air.links) if link.name in names]
    flow = series.forward_kg_s[rows][:, mine].sum(axis=1)
    air = room_air(ready, series, rows, device.room)

    def told(more_r: float) -> tuple[Floats, Floats]:
        result = duct_water(
            mass_kg_s=flow, inlet_c=air.temperature_c, inlet_vapour=air.vapour, around_c=ready.forcing.outdoor_c[rows],
            diameter_m=duct.diameter_m, length_m=duct.cold_length_m,
            insulation_r_m2k_w=duct.insulation_r_m2k_w + more_r, pressure_pa=ready.system.pressure_pa,
        )  # fmt: skip
        return result.condensed_kg_s, result.coldest_wall_c

    water, wall = told(0.0)
    wet = water > 0.0
    return RunWater(
        device.id, int(wet.sum()), float(water.mean() * DAY_S), int((wet & (wall < FREEZING_C)).sum()),
        float(wall[flow > 0.0].min()) if np.any(flow > 0.0) else float(air.temperature_c.min()),
        float(told(WRAP_R_M2K_W)[0].mean() * DAY_S),
    )  # fmt: skip


@dataclass(frozen=True)
class RoomAir:
    """Temperature, vapour (mass fraction) and dew point of a room hour by hour."""

    temperature_c: Floats
    vapour: Floats
    dew_point_c: Floats


def room_air(ready: Prepared, series: Series, rows: slice, *rooms: str) -> RoomAir:
    """The air of a room, or the mean of several, through hours of a run."""
    index = [ready.routes.network.rooms.index(room) for room in rooms]
    temperature = series.nodes_c[rows][:, index]
    pressure = series.humidity[rows][:, index] * saturation_pressure_pa(temperature_c=temperature)
    mean = np.asarray(pressure).mean(axis=1)
    share = mass_fraction(vapour_pa=mean, pressure_pa=ready.system.pressure_pa)
    return RoomAir(temperature.mean(axis=1), np.asarray(share), np.asarray(dew_point_c(vapour_pa=mean)))


def calculate_recovery(
    house: House, ready: Prepared, series: Series, rows: slice, year: ClimateYear
) -> tuple[RecoveryAir, ...]:
    """Every recovery ventilator, its year by outdoor temperature at the heating set point, its water in the week."""
    inside = float(house.household.heating_set_point_c)
    return tuple(_recovery(unit, ready, series, rows, year, inside) for unit in house.ventilator)


def running_shares(unit: Ventilator, outdoor_c: Floats) -> tuple[Floats, Floats]:
    """(supply, exhaust): the share of the time that each stream runs at an outdoor temperature."""
    cold = outdoor_c < unit.defrost_below_c
    rests = 1.0 - float(unit.defrost_share)
    supply = np.where(cold & (unit.defrost in ("exhaust-only", "recirculate")), rests, 1.0)
    exhaust = np.where(cold & (unit.defrost == "recirculate"), rests, 1.0)
    if unit.supply_stops_below_c is not None:
        supply = np.where(outdoor_c < unit.supply_stops_below_c, 0.0, supply)
    return supply, exhaust


def core_share(unit: Ventilator) -> float:
    """Share of the difference that reaches the supply: the listed recovery, less where more is supplied than taken."""
    return float(unit.recovery * min(1.0, unit.exhaust_flow_m3_s / max(unit.supply_flow_m3_s, 1e-9)))


def _recovery(
    unit: Ventilator, ready: Prepared, series: Series, rows: slice, year: ClimateYear, inside_c: float
) -> RecoveryAir:
    kg_m3 = AIR_KG_M3 * ready.system.pressure_pa / 101325.0
    supply, _ = running_shares(unit, year.dry_bulb_c)
    per_k = unit.supply_flow_m3_s * (1.0 - unit.exhaust_transfer) * kg_m3 * HEAT_CAPACITY_J_KGK
    below = np.maximum(inside_c - year.dry_bulb_c, 0.0)
    asked = float((per_k * supply * below).sum())
    lift = np.maximum(unit.defrost_below_c - year.dry_bulb_c, 0.0) if unit.defrost == "preheat" else 0.0 * below
    recovered = float((per_k * supply * core_share(unit) * np.maximum(below - lift, 0.0)).sum())
    core, freezing = _core_water(unit, ready, series, rows, kg_m3)
    return RecoveryAir(
        device=unit.id,
        supply_m3_s=float(unit.supply_flow_m3_s),
        exhaust_m3_s=float(unit.exhaust_flow_m3_s),
        outdoor_m3_s=float(unit.supply_flow_m3_s * (1.0 - unit.exhaust_transfer)),
        defrost=unit.defrost,
        hours_below_limit=int((year.dry_bulb_c < _limit_c(unit)).sum()),
        recovered_share=recovered / asked if asked > 0.0 else 0.0,
        recovered_kwh=recovered / 1000.0,
        preheat_kwh=float((per_k * supply * lift).sum()) / 1000.0,
        core_litres_day=core,
        core_freezing_h=freezing,
        sweats_h=_sweats(unit, ready, series, rows, kg_m3),
    )


def _limit_c(unit: Ventilator) -> float:
    """The outdoor temperature at which its frost protection first acts."""
    limits = [] if unit.defrost == "none" else [float(unit.defrost_below_c)]
    limits += [] if unit.supply_stops_below_c is None else [float(unit.supply_stops_below_c)]
    return max(limits, default=-99.0)


def _entering_c(unit: Ventilator, outdoor_c: Floats) -> Floats:
    """Outdoor air as it enters the core: warmed where a heater keeps the frost off."""
    return np.maximum(outdoor_c, unit.defrost_below_c) if unit.defrost == "preheat" else outdoor_c


def leaving_c(unit: Ventilator, inside_c: Floats, outdoor_c: Floats) -> Floats:
    """Exhaust air as it leaves the core: te - recovery x (te - to) x supply/exhaust, the supply at most the exhaust."""
    part = min(1.0, unit.supply_flow_m3_s / max(unit.exhaust_flow_m3_s, 1e-9))
    return np.asarray(inside_c - unit.recovery * part * (inside_c - _entering_c(unit, outdoor_c)))


def _core_water(unit: Ventilator, ready: Prepared, series: Series, rows: slice, kg_m3: float) -> tuple[float, int]:
    """(litres a day, hours in which it freezes): what exhaust air cannot hold at the temperature it leaves with."""
    if not unit.exhaust_rooms:
        return 0.0, 0
    air, outdoor = room_air(ready, series, rows, *unit.exhaust_rooms), ready.forcing.outdoor_c[rows]
    supply, exhaust = running_shares(unit, outdoor)
    leaves = np.where(supply > 0.0, leaving_c(unit, air.temperature_c, outdoor), air.temperature_c)
    held = mass_fraction(vapour_pa=saturation_pressure_pa(temperature_c=leaves), pressure_pa=ready.system.pressure_pa)
    water = unit.exhaust_flow_m3_s * kg_m3 * exhaust * np.maximum(air.vapour - held, 0.0)
    return float(water.mean() * DAY_S), int(((water > 0.0) & (leaves < FREEZING_C)).sum())


def _sweats(unit: Ventilator, ready: Prepared, series: Series, rows: slice, kg_m3: float) -> int | None:
    """Hours in which the outside of its cold runs lies below the dew point of the room it hangs in."""
    duct = unit.cold_duct
    if duct is None:
        return None
    air, outdoor = room_air(ready, series, rows, unit.room), ready.forcing.outdoor_c[rows]
    margin = sweat_margin_k(
        mass_kg_s=unit.supply_flow_m3_s * kg_m3, air_c=outdoor, room_c=air.temperature_c,
        room_dew_point_c=air.dew_point_c, diameter_m=duct.diameter_m, insulation_r_m2k_w=duct.insulation_r_m2k_w,
    )  # fmt: skip
    supply, _ = running_shares(unit, outdoor)
    return int(((margin < 0.0) & (supply > 0.0)).sum())
