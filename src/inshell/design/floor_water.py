"""Water of the warm floor: flows, losses of pressure, balancing, pump, volume, expansion, what freezes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from inshell.design.floor_heat import WATER_MOST_C, FloorHeat, LoopHeat
from inshell.errors import NotConverged
from inshell.house.model.house import House
from inshell.physics.fluids import Fluid, fluid_at
from inshell.physics.hydronic import ATMOSPHERE_PA, GPM_M3_S, PSI_PA, expansion_tank_m3, fill_pressure_pa, valve_drop_pa
from inshell.physics.water_tube import tube_flow
from inshell.sources import table

MANIFOLD_PA = 2000.0  # valves and meters of a manifold at design flow (common practice)
COLD_C, RELIEF_PA, HEIGHT_M = 10.0, 30.0 * PSI_PA, 1.5
PIPES = 1.25  # water in manifold, pump and pipes beside the tubes (common practice)
PURGE_M_S, LEAST_M_S, MOST_LOOP_PA, UNEVEN_M = 0.61, 0.15, 20e3, 0.10


@dataclass(frozen=True)
class LoopWater:
    """One loop's water at design: `throttle_pa` is what its balancing valve must take, `valve_cv` its setting."""

    id: str
    length_m: float
    flow_m3_s: float
    return_c: float
    velocity_m_s: float
    reynolds: float
    head_pa: float
    throttle_pa: float
    valve_cv: float | None
    purge_m3_s: float


@dataclass(frozen=True)
class FloorWater:
    """All loops with their pump; without a curve `running_share` is None and the head is what a pump must make.

    `off_curve` says that the curve ends before it meets the loops; the share is then that of its end.
    """

    loops: tuple[LoopWater, ...]
    fluid: Fluid
    flow_m3_s: float
    head_pa: float
    exchanger_pa: float
    running_share: float | None
    running_pa: float | None
    off_curve: bool
    volume_m3: float
    tank_m3: float
    fill_pa: float
    return_c: float


def calculate_water(house: House, heat: FloorHeat) -> FloorWater:
    """Flows that bring the loops' heat, the losses, and where the pump really runs."""
    share = float(house.floor.glycol)
    total_w = heat.heat_w
    back = sum(loop.return_c * loop.heat_w for loop in heat.loops) / total_w if total_w > 0.0 else heat.supply_c
    fluid = fluid_at(temperature_c=min(max(0.5 * (heat.supply_c + back), 1.0), WATER_MOST_C), glycol=share)
    flows = {loop.run.id: loop.flow_m3_s for loop in heat.loops}
    losses = {loop.run.id: _loss_pa(loop, flows[loop.run.id], fluid) for loop in heat.loops}
    index = max(losses.values())
    loops = tuple(_loop(loop, flows[loop.run.id], losses[loop.run.id], index, fluid) for loop in heat.loops)
    flow = sum(flows.values())
    mixed = sum(flows[loop.run.id] * loop.return_c for loop in heat.loops) / flow
    exchanger = 0.0
    if house.floor.exchanger_cv is not None:
        exchanger = float(
            valve_drop_pa(flow_m3_s=flow, cv=house.floor.exchanger_cv, relative_density=fluid.density_kg_m3 / 1000.0)
        )
    running = _running(house, heat, flows, index, exchanger, fluid)
    rows = table("tubes")
    tubes = sum(loop.run.length_m * rows[loop.circuit.tube]["volume_m3_m"] for loop in heat.loops)
    volume = PIPES * tubes + float(house.floor.buffer_m3)
    cold = fluid_at(temperature_c=COLD_C, glycol=share).density_kg_m3
    hot = fluid_at(temperature_c=min(max(heat.supply_c, COLD_C + 1.0), WATER_MOST_C), glycol=share).density_kg_m3
    fill = fill_pressure_pa(height_m=HEIGHT_M, density_kg_m3=fluid.density_kg_m3)
    tank = expansion_tank_m3(
        system_m3=volume, cold_density_kg_m3=cold, hot_density_kg_m3=hot, fill_pa=fill + ATMOSPHERE_PA,
        relief_pa=0.9 * RELIEF_PA + ATMOSPHERE_PA,
    )  # fmt: skip
    return FloorWater(
        loops, fluid, flow, index + exchanger, exchanger, running[0] if running else None,
        running[1] if running else None, bool(running and running[2]), volume, tank, fill, mixed,
    )  # fmt: skip


def _loss_pa(loop: LoopHeat, flow_m3_s: float, fluid: Fluid) -> float:
    """Loss of a loop with the valves of its manifold, which go with the square of the flow."""
    row = table("tubes")[loop.circuit.tube]
    tube = tube_flow(
        flow_m3_s=flow_m3_s, inner_m=row["outer_m"] - 2.0 * row["wall_m"], density_kg_m3=fluid.density_kg_m3,
        viscosity_pa_s=fluid.viscosity_pa_s,
    )  # fmt: skip
    return tube.head_pa_m * loop.run.length_m + MANIFOLD_PA * (flow_m3_s / (0.5 * GPM_M3_S)) ** 2


def _loop(loop: LoopHeat, flow: float, loss: float, index: float, fluid: Fluid) -> LoopWater:
    row = table("tubes")[loop.circuit.tube]
    inner = row["outer_m"] - 2.0 * row["wall_m"]
    tube = tube_flow(
        flow_m3_s=flow, inner_m=inner, density_kg_m3=fluid.density_kg_m3, viscosity_pa_s=fluid.viscosity_pa_s
    )
    spare = index - loss
    cv = flow / GPM_M3_S / math.sqrt(spare / PSI_PA * 1000.0 / fluid.density_kg_m3) if spare > 50.0 else None
    purge = PURGE_M_S * math.pi / 4.0 * row["inner_m"] ** 2
    return LoopWater(
        loop.run.id, loop.run.length_m, flow, loop.return_c, tube.velocity_m_s, tube.reynolds, loss, spare, cv, purge
    )


def _running(
    house: House, heat: FloorHeat, flows: dict[str, float], index: float, exchanger: float, fluid: Fluid
) -> tuple[float, float, bool] | None:
    """(share of the design flow, head, off the curve) where the pump's curve meets the balanced loops, or its end."""
    points = sorted(house.floor.pump, key=lambda p: p.flow_m3_s)
    if len(points) < 2:
        return None
    total = sum(flows.values())
    curve = [p.flow_m3_s for p in points], [p.head_pa for p in points]
    worst = max(heat.loops, key=lambda loop: _loss_pa(loop, flows[loop.run.id], fluid))

    def spare_pa(share: float) -> float:
        made = float(np.interp(share * total, *curve))
        return made - _loss_pa(worst, share * flows[worst.run.id], fluid) - exchanger * share**2

    low, high = max(1e-6, points[0].flow_m3_s / total), points[-1].flow_m3_s / total
    if spare_pa(high) > 0.0:
        return high, float(points[-1].head_pa), True
    if spare_pa(low) < 0.0:
        return low, float(points[0].head_pa), True
    for _ in range(200):
        share = 0.5 * (low + high)
        low, high = (share, high) if spare_pa(share) > 0.0 else (low, share)
        if high - low < 1e-9:
            return share, float(np.interp(share * total, *curve)), False
    raise NotConverged("pump of the warm floor", iterations=200, residual=high - low)
