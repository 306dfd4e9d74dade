"""Quick answers about rooms: a transfer fan's steady effect, an open door, a gap, a cooling coil."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import brentq

from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_values import Asked
from inshell.physics.air import (
    HEAT_CAPACITY_J_KGK,
    MOLAR_RATIO,
    STANDARD_PRESSURE_PA,
    density_kg_m3,
    pressure_at_altitude_pa,
    vapour_from_adiabatic_wet_bulb_pa,
)
from inshell.physics.coil import coil_at_rating
from inshell.physics.openings import door_mass_flows_kg_s
from inshell.physics.transfer import room_with_transfer_c

GAP_DISCHARGE, GAP_KG_M3 = 0.6, 1.2041
TRANSFER_NOTE = "steady state: mass, sun and the way back through the door are left out; inshell rooms has them"


def _temperature(asked: Asked, name: str, text: str) -> float:
    return asked.quantity(name, text, "temperature", low=-60.0, high=60.0)


def quick_transfer(
    *, room_loss: str, partition: str, flow: str, source: str, outside: str, gain: str, elevation: str | None
) -> dict[str, Any]:
    """Steady temperature of a room with a transfer fan from another."""
    asked = Asked()
    loss = asked.quantity("--room-loss", room_loss, "conductance", low=0.0, high=1e4)
    inner = asked.quantity("--partition", partition, "conductance", low=0.0, high=1e4)
    moved = asked.quantity("--flow", flow, "flow", low=0.0, high=2.0)
    warm, out = _temperature(asked, "--source", source), _temperature(asked, "--outside", outside)
    heat = asked.quantity("--gain", gain, "power", low=-1e5, high=1e5)
    height = asked.optional("--elevation", elevation, "length", low=-430.0, high=5000.0, bare="us")
    if not asked.problems and loss + inner + moved <= 0.0:
        asked.problems.append(
            Problem("--room-loss", "nothing joins the room to anything", "a loss, a partition or a flow")
        )
    if asked.problems:
        raise InputRefused(asked.problems)
    pressure = float(pressure_at_altitude_pa(elevation_m=height or 0.0))
    room = float(
        room_with_transfer_c(
            room_loss_w_k=loss, partition_w_k=inner, flow_m3_s=moved, source_c=warm, outside_c=out, gain_w=heat,
            pressure_pa=pressure,
        )
    )  # fmt: skip
    return {"room_temperature_c": room, "offset_k": room - warm, "pressure_pa": pressure, "note": TRANSFER_NOTE}


def quick_door(
    *, width: str, height: str, warm: str, cool: str, discharge: float, net_flow: str | None
) -> dict[str, Any]:
    """Flow each way and heat through an open door between two rooms; net flow is positive from warm to cool."""
    asked = Asked()
    w = asked.quantity("--width", width, "length", low=0.01, high=20.0)
    h = asked.quantity("--height", height, "length", low=0.05, high=20.0)
    one, two = _temperature(asked, "--warm", warm), _temperature(asked, "--cool", cool)
    net = asked.optional("--net-flow", net_flow, "flow", low=-5.0, high=5.0) or 0.0
    if not 0.1 <= discharge <= 1.0:
        asked.problems.append(Problem("--cd", f"{discharge:g}", "0.1 to 1; 0.6 is usual"))
    if one < two:
        asked.problems.append(Problem("--warm", f"{warm} below --cool {cool}", "the warmer room first"))
    if asked.problems:
        raise InputRefused(asked.problems)
    rho_1, rho_2 = float(density_kg_m3(temperature_c=one)), float(density_kg_m3(temperature_c=two))
    mean = 0.5 * (rho_1 + rho_2)

    def flows(sill_pa: float) -> tuple[float, float]:
        there, back = door_mass_flows_kg_s(
            sill_pressure_pa=sill_pa, density_1_kg_m3=rho_1, density_2_kg_m3=rho_2, width_m=w, height_m=h,
            discharge=discharge,
        )  # fmt: skip
        return float(there), float(back)

    sill = _sill_pa(flows, net * mean)
    there, back = flows(sill)
    heat = there * HEAT_CAPACITY_J_KGK * (one - two)
    return {
        "warm_to_cool_m3_s": there / mean, "cool_to_warm_m3_s": back / mean, "heat_w": heat,
        "sill_pressure_pa": sill, "density_kg_m3": mean,
        "note": "flows at the mean density of the rooms; heat is what the cool room gains above its own temperature",
    }  # fmt: skip


def _sill_pa(flows: Any, net_kg_s: float) -> float:
    """The pressure at the sill at which the door passes a net mass flow."""

    def over(sill_pa: float) -> float:
        there, back = flows(sill_pa)
        return float(there - back - net_kg_s)

    reach = 1.0
    while over(-reach) > 0.0 or over(reach) < 0.0:
        reach *= 4.0
    return float(brentq(over, -reach, reach, xtol=1e-14, rtol=8.9e-16))


def quick_gap(*, flow: str, area: str) -> dict[str, Any]:
    """Pressure that a flow needs through a gap or grille."""
    asked = Asked()
    moved = asked.quantity("--flow", flow, "flow", low=0.0, high=5.0)
    free = asked.quantity("--area", area, "area", low=1e-6, high=10.0)
    if asked.problems:
        raise InputRefused(asked.problems)
    speed = moved / free
    pressure = 0.5 * GAP_KG_M3 * (speed / GAP_DISCHARGE) ** 2
    return {
        "pressure_pa": pressure, "face_velocity_m_s": speed, "discharge": GAP_DISCHARGE,
        "note": "orifice at 20 °C; the free area of a grille is 50 to 75 % of its face",
    }  # fmt: skip


def quick_coil(*, entering: str, wet_bulb: str, flow: str, capacity: str, shr: float) -> dict[str, Any]:
    """What leaves a cooling coil at its rating, with apparatus dew point and bypass factor."""
    asked = Asked()
    t, wet = (
        _temperature(asked, "--entering", entering),
        asked.quantity("--wet-bulb", wet_bulb, "temperature", low=0.0, high=60.0),
    )
    moved = asked.quantity("--flow", flow, "flow", low=1e-3, high=5.0)
    total = asked.quantity("--capacity", capacity, "power", low=1.0, high=1e5)
    if not 0.3 <= shr <= 1.0:
        asked.problems.append(Problem("--shr", f"{shr:g}", "0.3 to 1"))
    if wet > t:
        asked.problems.append(
            Problem("--wet-bulb", f"{wet_bulb} above --entering {entering}", "at most the air's temperature")
        )
    if asked.problems:
        raise InputRefused(asked.problems)
    vapour = float(vapour_from_adiabatic_wet_bulb_pa(dry_bulb_c=t, wet_bulb_c=wet, pressure_pa=STANDARD_PRESSURE_PA))
    ratio = MOLAR_RATIO * vapour / (STANDARD_PRESSURE_PA - vapour)
    dry_air = moved * float(density_kg_m3(temperature_c=t, vapour_pa=vapour)) / (1.0 + ratio)
    try:
        point = coil_at_rating(entering_c=t, ratio=ratio, dry_air_kg_s=dry_air, total_w=total, sensible_share=shr)
    except ValueError as error:
        found = f"{capacity} at SHR {shr:g} on {flow} of air at {entering}/{wet_bulb}: {error}"
        raise InputRefused([Problem("--capacity", found, "more air, less capacity, or another SHR")]) from None
    return {
        "leaving_c": point.leaving_c, "adp_c": point.adp_c, "bypass_factor": point.bypass,
        "moisture_kg_s": point.moisture_kg_s, "moisture_l_h": float(np.round(point.moisture_kg_s * 3600.0, 6)),
        "note": "sea level; the dew point moves with load and humidity",
    }  # fmt: skip
