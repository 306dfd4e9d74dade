"""Closed circuits of water: pump, valve, expansion, fill, buffer, outdoor reset."""

from __future__ import annotations

import math

import numpy as np

from inshell.physics.types import Array, Floats

GPM_M3_S, PSI_PA, ATMOSPHERE_PA = 6.30901964e-5, 6894.757293, 101325.0
TOP_PA = 4.0 * PSI_PA


def valve_drop_pa(*, flow_m3_s: Array, cv: Array, relative_density: Array = 1.0) -> Floats:
    """Loss of pressure in a valve or an exchanger of a given coefficient.

    Formula: dp [psi] = SG (Q [gpm] / Cv)2
    Arguments: flow_m3_s [m3/s]; cv [gpm at 1 psi]; relative_density to water
    Returns: loss [Pa]
    Valid: turbulent flow
    Source: definition of the flow coefficient

    >>> round(float(valve_drop_pa(flow_m3_s=2 * 6.30901964e-5, cv=2.0)))
    6895
    """
    return np.asarray(relative_density * (np.asarray(flow_m3_s) / GPM_M3_S / np.asarray(cv)) ** 2 * PSI_PA)


def pump_point(*, shutoff_pa: float, droop_pa_s2_m6: float, system_pa_s2_m6: float) -> tuple[float, float]:
    """Where a falling pump curve meets a system whose loss goes with the square of the flow.

    Formula: H0 - a Q2 = b Q2
    Arguments: shutoff_pa H0 [Pa]; droop_pa_s2_m6 a, system_pa_s2_m6 b [Pa s2/m6], a + b > 0
    Returns: (flow [m3/s], pressure [Pa])
    Valid: turbulent system
    Source: intersection of two parabolas

    >>> flow, head = pump_point(shutoff_pa=20.0, droop_pa_s2_m6=0.1, system_pa_s2_m6=0.3)
    >>> round(flow, 3), round(head, 1)
    (7.071, 15.0)
    """
    flow = math.sqrt(shutoff_pa / (droop_pa_s2_m6 + system_pa_s2_m6))
    return flow, shutoff_pa - droop_pa_s2_m6 * flow**2


def expansion_tank_m3(
    *,
    system_m3: float,
    cold_density_kg_m3: float,
    hot_density_kg_m3: float,
    fill_pa: float,
    relief_pa: float,
    metal_strain: float = 0.0,
) -> float:
    """Least volume of a diaphragm expansion tank.

    Formula: Vt = Vs [(v2/v1 - 1) - 3 a dt] / (1 - P1/P2)
    Arguments: system_m3 Vs [m3]; cold_density_kg_m3, hot_density_kg_m3 of the fluid; fill_pa P1, relief_pa P2 absolute;
        metal_strain a dt, linear expansion of metal pipe over the rise; 0 for plastic
    Returns: volume [m3]
    Errors: ValueError where relief does not lie above fill
    Valid: tank charged with air to the fill pressure before it is filled
    Source: handbook form (from memory)

    >>> tank = expansion_tank_m3(system_m3=15.0, cold_density_kg_m3=999.7, hot_density_kg_m3=988.5,
    ...                          fill_pa=26.696, relief_pa=39.696)
    >>> round(tank, 2)
    0.52
    """
    if relief_pa <= fill_pa:
        raise ValueError("the relief pressure must lie above the fill pressure")
    grows = cold_density_kg_m3 / hot_density_kg_m3 - 1.0 - 3.0 * metal_strain
    return system_m3 * max(grows, 0.0) / (1.0 - fill_pa / relief_pa)


def fill_pressure_pa(*, height_m: float, density_kg_m3: float = 1000.0) -> float:
    """Gauge pressure to fill a circuit to, so that 4 psi are left at its top.

    Formula: rho g h + 4 psi
    Arguments: height_m of the highest tube above the gauge [m], >= 0; density_kg_m3
    Returns: pressure [Pa]
    Valid: closed circuits
    Source: handbook rule (height / 2.31 + 4 psi)

    >>> round(fill_pressure_pa(height_m=2.31 * 0.3048 * 8) / 6894.757, 1)
    12.0
    """
    return density_kg_m3 * 9.80665 * max(height_m, 0.0) + TOP_PA


def buffer_volume_m3(
    *, minimum_w: float, load_w: float, run_s: float, difference_k: float, heat_j_m3k: float = 4.144e6
) -> float:
    """Water that lets a heater run for a time at its least fire though the load is smaller.

    Formula: V = t (Qmin - Qload) / (rho c dT)
    Arguments: minimum_w, load_w [W]; run_s [s]; difference_k [K] between switching on and off; heat_j_m3k of the fluid
    Returns: volume [m3]; 0 where the load is no smaller
    Valid: mixed tank
    Source: heat balance (handbook form with 500 Btu/h per gpm and °F)

    >>> round(buffer_volume_m3(minimum_w=68000 * 0.29307, load_w=5000 * 0.29307, run_s=600, difference_k=20 / 1.8)
    ...       / 0.00378541, 1)
    63.6
    """
    return max(run_s * (minimum_w - load_w) / (heat_j_m3k * difference_k), 0.0)


def reset_supply_c(*, outdoor_c: Array, indoor_c: Array, design_supply_c: Array, design_outdoor_c: Array) -> Floats:
    """Supply temperature by outdoor reset, straight from no heat at the indoor temperature to the design day.

    Formula: Ts = Ti + (Tsd - Ti) (Ti - To) / (Ti - Tod), never below Ti
    Arguments: outdoor_c, indoor_c, design_supply_c, design_outdoor_c [°C]
    Returns: temperature [°C]
    Valid: heating
    Source: straight line of proportional loss

    >>> float(reset_supply_c(outdoor_c=0.0, indoor_c=20.0, design_supply_c=40.0, design_outdoor_c=-20.0))
    30.0
    """
    share = (np.asarray(indoor_c) - outdoor_c) / (np.asarray(indoor_c, dtype=float) - design_outdoor_c)
    return np.asarray(indoor_c + (np.asarray(design_supply_c) - indoor_c) * np.maximum(share, 0.0))
