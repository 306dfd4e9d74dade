"""What warms the floor's water: its efficiency at that return, how it cycles at part load, the buffer that cures it."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.design.floor_heat import FloorHeat
from inshell.design.floor_water import FloorWater
from inshell.house.model.heat_devices import WaterHeater
from inshell.house.model.house import House
from inshell.physics.heater import air_to_water_cop, condensing_efficiency, cycling
from inshell.physics.hydronic import buffer_volume_m3

SHARES = (1.0, 0.75, 0.5, 0.25, 0.1)
RUN_S, BAND_K = 600.0, 11.1  # ten minutes at least, 20 °F between on and off (common practice)
MOST_STARTS_H = 6.0
LEAST_REACH = 0.05


@dataclass(frozen=True)
class PartLoad:
    """The heater at a share of the design heat."""

    share: float
    load_w: float
    run_s: float
    rest_s: float
    starts_per_h: float
    buffer_m3: float


@dataclass(frozen=True)
class FloorSource:
    """The heater that feeds the floor. `least_w` and `most_w` are heat to water; None where they are not said.

    `supply_c` and `return_c` are on its own side of the exchanger, with as much flow as on the floor's.
    """

    heater: WaterHeater
    least_w: float | None
    most_w: float | None
    supply_c: float
    return_c: float
    efficiency: float
    efficiency_from: str
    part_loads: tuple[PartLoad, ...]


def floor_heater(house: House) -> WaterHeater | None:
    """The heater that feeds the floor."""
    return next((w for w in house.water_heater if w.feeds_floor), None)


def calculate_source(house: House, heat: FloorHeat, water: FloorWater, outdoor_c: float) -> FloorSource | None:
    """How the heater meets the floor's heat; None where none feeds it."""
    heater = floor_heater(house)
    if heater is None:
        return None
    drop = max(heat.supply_c - water.return_c, 0.0)
    reach = house.floor.exchanger_effectiveness if heater.separation == "exchanger" else 1.0
    supply = water.return_c + drop / max(reach, LEAST_REACH)
    efficiency, said = _efficiency(heater, supply - drop, supply, outdoor_c)
    least = heater.input_minimum_w * efficiency if heater.input_minimum_w is not None else None
    most = heater.input_maximum_w * efficiency if heater.input_maximum_w is not None else None
    store = water.volume_m3 * water.fluid.heat_j_m3k
    rows = []
    for share in SHARES:
        load = share * heat.heat_w
        told = cycling(load_w=load, minimum_w=least or 0.0, store_j_k=store, band_k=BAND_K)
        whole = buffer_volume_m3(
            minimum_w=least or 0.0, load_w=load, run_s=RUN_S, difference_k=BAND_K, heat_j_m3k=water.fluid.heat_j_m3k
        )
        buffer = max(whole - water.volume_m3, 0.0)
        rows.append(PartLoad(share, load, told.run_s, told.rest_s, told.starts_per_h, buffer))
    return FloorSource(heater, least, most, supply, supply - drop, efficiency, said, tuple(rows))


def _efficiency(heater: WaterHeater, return_c: float, supply_c: float, outdoor_c: float) -> tuple[float, str]:
    """Heat to water per input, and what that is from."""
    if heater.kind in ("air-to-water", "heat-pump-tank"):
        if heater.map:
            near = min(heater.map, key=lambda p: (p.outdoor_c - outdoor_c) ** 2 + (p.water_c - supply_c) ** 2)
            return near.heat_w / near.power_w, "the nearest point of its map"
        return float(air_to_water_cop(source_c=outdoor_c, sink_c=supply_c)), "open fit by lift, at design cold"
    if heater.fuel == "electric":
        return 1.0, "electric resistance"
    if heater.venting == "sealed" and heater.efficiency >= 0.9:
        by_return = float(condensing_efficiency(return_c=return_c))
        return min(by_return, 0.98), "combustion by return temperature"
    return float(heater.efficiency), "its data sheet"
