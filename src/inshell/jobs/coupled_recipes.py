"""Checks of the coupled step that anyone can run again: closed forms of one room, the periodic zone, a wetted skin."""

from __future__ import annotations

import numpy as np

from inshell.network.compiled import run
from inshell.network.links import AirNetwork, Link, LinkKind
from inshell.network.system import Film, Forcing, Series, System, first_state, fraction_of_ppm
from inshell.network.thermal import ThermalNetwork
from inshell.physics.air import MOLAR_RATIO, density_kg_m3, saturation_pressure_pa
from inshell.physics.conduction import Layer
from inshell.physics.fan import FanCurve
from inshell.physics.skin import MOISTURE_KG_KG, AtSkin, skin_uptake_kg_s
from inshell.physics.types import Floats


def _system(thermal: ThermalNetwork, *, fan_m3_s: float = 0.0, films: tuple[Film, ...] = ()) -> System:
    """One room of 40 kg of air with a crack and, if it has a flow, an exhaust fan."""
    links = [Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=fan_m3_s or 1e-9)]
    if fan_m3_s:
        links.append(Link("fan", LinkKind.FAN, 0, 1, curve=FanCurve((0.0, 1e5), (fan_m3_s, fan_m3_s))))
    return System(
        thermal=thermal,
        air=AirNetwork(("room",), tuple(links)),
        mass_kg=np.array([40.0]),
        buffer_kg=np.zeros(1),
        buffer_kg_s_pa=np.zeros(1),
        pressure_pa=101325.0,
        radiant=(0,),
        films=films,
    )


def _run(
    system: System, outdoor_c: Floats, *, air_c: float, step_s: float, heat_w: float = 0.0, gas_kg_s: float = 0.0
) -> Series:
    hours = len(outdoor_c)

    def rows(columns: int, value: float) -> Floats:
        return np.full((hours, columns), value)

    source = rows(system.nodes, 0.0)
    source[:, 0] = heat_w
    links = len(system.air.links)
    forcing = Forcing(
        outdoor_c=outdoor_c,
        outdoor_vapour=np.full(hours, 0.002),
        boundary_c=np.repeat(outdoor_c[:, None], system.thermal.boundaries, axis=1),
        source_w=source,
        vapour_kg_s=rows(1, 0.0),
        gas_kg_s=rows(1, gas_kg_s),
        wind_pa=rows(links, 0.0),
        route_share=rows(links, 1.0),
        heat_at_c=rows(1, np.nan),
        cool_at_c=rows(1, np.nan),
        most_w=rows(1, 0.0),
        least_w=rows(1, 0.0),
        permit=rows(0, 1.0),
    )
    return run(system, forcing, first_state(system, air_c=air_c), step_s=step_s)


def one_room() -> dict[str, float]:
    """50 W/K and 4 MJ/K cooling from 20 to 0 °C for 10 h; 1e-5 kg/s of gas in 10 L/s for two days."""
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(4e6)
    thermal.face(0, 0, 50.0)
    cooled = _run(_system(thermal), np.zeros(10), air_c=20.0, step_s=60.0)
    aired = _system(thermal, fan_m3_s=0.01)
    told = _run(aired, np.full(48, 20.0), air_c=20.0, step_s=600.0, gas_kg_s=1e-5)
    vapour = 101325.0 * told.state.vapour[0] / (MOLAR_RATIO + (1.0 - MOLAR_RATIO) * told.state.vapour[0])
    mass = 0.01 * float(density_kg_m3(temperature_c=20.0, vapour_pa=vapour))
    above = float(told.state.gas[0]) - fraction_of_ppm(420.0)
    return {
        "temperature after 10 h": float(cooled.state.nodes_c[0]),
        "gas above outdoors, times the flow": above * mass * 1e5,
        "age of air, times flow over mass": float(told.state.age_s[0]) * mass / 40.0,
    }


def films() -> dict[str, float]:
    """100 W through 10 m2 of wall film and 20 W/K beyond it: face and air in the steady state."""
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(5e4)
    face = thermal.node(1e4)
    thermal.join(0, face, 25.0)
    thermal.face(face, 0, 20.0)
    system = _system(thermal, films=(Film(face, 0, 10.0, 2.5, 90.0, 0),))
    told = _run(system, np.zeros(200), air_c=8.0, step_s=600.0, heat_w=100.0)
    return {
        "face": float(told.state.nodes_c[face]),
        "air above the face": float(told.state.nodes_c[0] - told.state.nodes_c[face]),
    }


def periodic_zone() -> dict[str, float]:
    """The cube of six like faces under a daily sine outdoors, no air change, in steps of five minutes.

    Outdoors is constant within the hour and the room is told by hourly means: the first harmonic of an hourly mean is
    less by the mean of a cosine over the hour, and so is that of a value held for the hour.
    """
    thermal = ThermalNetwork(rooms=1, boundaries=1)
    thermal.node(125.0 * 1.2 * 1006.0)
    first, last = thermal.chain(layers=[Layer(0.2, 1.4, 2300.0, 880.0)], area_m2=150.0, cells=12)
    thermal.face(first, 0, 150.0 * 20.0)
    thermal.join(last, 0, 150.0 * 3.0)
    hours = np.arange(24 * 30)
    mean_of_hour = np.sin(np.pi / 24.0) / (np.pi / 24.0)
    told = _run(_system(thermal), mean_of_hour * np.sin(2.0 * np.pi * (hours + 0.5) / 24.0), air_c=0.0, step_s=300.0)
    last_day = told.nodes_c[-24:, 0]
    wave = np.exp(-2.0j * np.pi * (hours[-24:] + 0.5) / 24.0) @ last_day / 12.0 / mean_of_hour**3
    return {"amplitude": float(abs(wave)), "lag": float((-np.pi / 2.0 - np.angle(wave)) * 24.0 / (2.0 * np.pi) % 24.0)}


def wetted_skin() -> dict[str, float]:
    """One square inch at 4 Pa, 21 °C and 35 %, past a skin at -5 °C that is saturated."""
    indoor = 0.35 * float(saturation_pressure_pa(temperature_c=21.0))
    vapour = MOLAR_RATIO * indoor / (101325.0 - (1.0 - MOLAR_RATIO) * indoor)
    acting = AtSkin(skin_c=-5.0, leak_kg_s=0.9995e-3 * 1.1998, leak_vapour=vapour)
    rate = float(skin_uptake_kg_s(moisture_kg_kg=MOISTURE_KG_KG[-1], acting=acting))
    return {"deposit": rate * 86400.0}
