"""Hot water of a house: what its taps draw, how many at once, what the heater can give, by season."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.climate.choose import HouseClimate
from inshell.house.model.heat_devices import WaterHeater
from inshell.house.model.house import House
from inshell.physics.fluids import fluid_at
from inshell.physics.hot_water import flow_exceeded, hot_flow_m3_s, mains_water_c, simultaneous
from inshell.sources import table

LEAST_LIFT_K = 0.1  # over the street, where water comes as warm as the heater makes it
PEAK_SHARE = 0.01
USABLE = 0.7  # of a tank, before it runs cool (common practice)
WARMEST_TAP_C = 48.9


@dataclass(frozen=True)
class Draw:
    """One tap in the coldest week: its flow, and the hot water in it."""

    id: str
    kind: str
    flow_m3_s: float
    mixed_c: float
    use: float
    hot_m3_s: float


@dataclass(frozen=True)
class Season:
    """One month: cold water from the street, what the heater can warm, how likely taps ask for more at the peak."""

    month: int
    mains_c: float
    able_m3_s: float | None
    beyond_share: float | None
    peak_m3_s: float
    peak_w: float
    lasts_s: float | None
    """how long a tank feeds that peak, None where nothing is stored or the heater keeps up"""


@dataclass(frozen=True)
class HotWater:
    """Every tap, every total with its probability in the coldest month, the months, the heater."""

    heater: WaterHeater | None
    draws: tuple[Draw, ...]
    totals: tuple[tuple[float, float], ...]
    seasons: tuple[Season, ...]
    hot_c: float
    most_w: float | None


def calculate_hot_water(house: House, climate: HouseClimate) -> HotWater:
    """Demand by exact enumeration of taps at the busiest time, against what the heater can give."""
    heater = heater_of_taps(house)
    hot_c = float(heater.set_point_c) if heater is not None else WARMEST_TAP_C
    mean, swing = _weather(climate)
    months = [float(mains_water_c(day=15.0 + 30.4 * m, mean_air_c=mean, monthly_swing_k=swing)) for m in range(12)]
    most = None
    if heater is not None and heater.input_maximum_w is not None and heater.kind in ("tankless", "tank"):
        most = float(heater.input_maximum_w) * float(heater.efficiency)
    seasons = []
    coldest = min(range(12), key=lambda m: months[m])
    totals: list[tuple[float, float]] = []
    for m, cold in enumerate(months):
        now = simultaneous(fixtures=[(d.hot_m3_s, d.use) for d in _draws(house, cold, hot_c)])
        totals = now if m == coldest else totals
        heat, lift = fluid_at(temperature_c=0.5 * (cold + hot_c)).heat_j_m3k, max(hot_c - cold, LEAST_LIFT_K)
        peak = flow_exceeded(totals=now, share=PEAK_SHARE)
        able = most / (heat * lift) if most is not None else None
        beyond = sum(p for q, p in now if q > able + 1e-9) if able is not None else None
        short = peak - (able or 0.0)
        stored = USABLE * float(heater.stored_m3) if heater is not None else 0.0
        lasts = stored / short if stored > 0.0 and short > 0.0 else None
        seasons.append(Season(m + 1, cold, able, beyond, peak, heat * peak * lift, lasts))
    return HotWater(heater, tuple(_draws(house, months[coldest], hot_c)), tuple(totals), tuple(seasons), hot_c, most)


def heater_of_taps(house: House) -> WaterHeater | None:
    """The heater that feeds the taps: one that is not an air-to-water machine, if there is one."""
    taps = [w for w in house.water_heater if w.kind != "air-to-water"]
    return next(iter(taps or house.water_heater), None)


def _weather(climate: HouseClimate) -> tuple[float, float]:
    """Yearly mean of outdoor air, and between its warmest and coldest month."""
    if climate.year is None:
        return climate.design.mean_annual_c, 22.0
    months = climate.year.monthly_means("dry_bulb_c")
    return float(climate.year.dry_bulb_c.mean()), float(months.max() - months.min())


def _draws(house: House, cold_c: float, hot_c: float) -> list[Draw]:
    usual = table("hot_water")["fixture"]
    told = []
    for tap in house.fixture:
        row = usual[tap.kind]
        flow = float(tap.flow_m3_s if tap.flow_m3_s is not None else row["flow_m3_s"])
        mixed = float(tap.mixed_c if tap.mixed_c is not None else row["mixed_c"])
        use = float(tap.use if tap.use is not None else row["use"])
        warm = max(hot_c, cold_c + LEAST_LIFT_K)
        hot = float(hot_flow_m3_s(flow_m3_s=flow, mixed_c=mixed, cold_c=cold_c, hot_c=warm))
        told.append(Draw(tap.id, tap.kind, flow, mixed, use, hot))
    return told
