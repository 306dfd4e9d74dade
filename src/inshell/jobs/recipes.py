"""Checks that need more than one call: worked walls, tests, networks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from inshell.design.fresh_air import CFM_M3_S, Leakage, calculate_fresh_air
from inshell.design.heating import air_w, ground_factor, transmission_w
from inshell.design.tightness import Readings, TestResult, reduce_test
from inshell.jobs.coupled_recipes import films, one_room, periodic_zone, wetted_skin
from inshell.jobs.hand_recipes import balanced_rule, filtered_duct, skin_by_hand, turned_slab
from inshell.jobs.quick_rooms import quick_coil
from inshell.network.air import solve_air
from inshell.network.links import AirNetwork, Link, LinkKind, orifice_crack
from inshell.network.tracers import age_of_air_s
from inshell.physics.conduction import Layer, periodic_response, u_value
from inshell.physics.duct import DuctLoss, curve_on_duct, duct_loss_pa
from inshell.physics.fan import FanCurve, flow_at_m3_s

SQUARE_INCH_M2 = 0.0254**2


@dataclass(frozen=True)
class Recipe:
    """Several values from one calculation: name -> (expected, tolerance, unit)."""

    title: str
    kind: str
    source: str
    values: dict[str, tuple[float, float, str]]
    run: Callable[[], dict[str, float]]

    @property
    def facts(self) -> dict[str, Any]:
        """Name and source, for finding a check."""
        return {"name": self.title, "source": self.source}

    def facts_of(self, name: str) -> dict[str, Any]:
        """Everything about one value but what was got."""
        expected, tolerance, unit = self.values[name]
        return {
            "name": f"{self.title}: {name}", "kind": self.kind, "source": self.source, "expected": expected,
            "tolerance": tolerance, "unit": unit,
        }  # fmt: skip


def _duct() -> dict[str, float]:
    def loss(inches: float, cfm: float) -> float:
        run = DuctLoss(inches * 0.0254, 1.0, 1.0, 0.0)
        return float(duct_loss_pa(duct=run, flow_m3_s=cfm * CFM_M3_S))

    share = np.linspace(0.0, 1.0, 400)
    fan = FanCurve(tuple(100.0 * share), tuple(110.0 * CFM_M3_S * np.sqrt(1.0 - share)))
    both = curve_on_duct(curve=fan, duct=DuctLoss(0.1016, 4.572, 1.0, 4.0), points=201)
    free, sucked = (float(flow_at_m3_s(curve=both, pressure_pa=p)) / CFM_M3_S for p in (0.0, 11.0))
    return {"4 in, 80 cfm": loss(4, 80), "6 in, 100 cfm": loss(6, 100), "on its duct": free, "house at -11 Pa": sucked}


def _coil() -> dict[str, float]:
    told = quick_coil(entering="80 °F", wet_bulb="67 °F", flow="300 cfm", capacity="9000 Btu/h", shr=0.75)
    return {
        "leaving": told["leaving_c"] * 1.8 + 32.0, "apparatus dew point": told["adp_c"] * 1.8 + 32.0,
        "bypass": told["bypass_factor"], "moisture": told["moisture_l_h"],
    }  # fmt: skip


def _stud_wall() -> dict[str, float]:
    wall = [
        Layer(0.0125, 0.25),
        Layer(0.140, 0.035, framing_share=0.15, framing_conductivity_w_mk=0.13),
        Layer(0.009, 0.13),
        Layer(0.025, 1.0, resistance_m2k_w=0.18),
        Layer(0.102, 0.77),
    ]
    result = u_value(layers=wall, rsi_m2k_w=0.13, rse_m2k_w=0.04)
    return {"upper limit": result.upper_r_m2k_w, "lower limit": result.lower_r_m2k_w, "U": result.u_w_m2k}


def _daily_wall() -> dict[str, float]:
    layers = [Layer(0.005, 1.0, 1200, 1500), Layer(0.1, 0.04, 30, 1400), Layer(0.2, 1.8, 2400, 1000)]
    result = periodic_response(layers=layers, rsi_m2k_w=0.13, rse_m2k_w=0.04)
    return {
        "transmittance": result.transmittance_w_m2k,
        "decrement": result.decrement,
        "time shift": result.time_shift_h,
        "inside admittance": result.inside_admittance_w_m2k,
    }


PRESSURES = np.array([60.1, 55.2, 49.8, 45.3, 39.9, 35.1, 29.7, 25.2, 20.3, 15.0])
FLOWS = np.array([1012, 958, 894, 846, 775, 716, 639, 576, 497, 410]) * CFM_M3_S


def _ten_readings(zero_pa: float | None = None) -> TestResult:
    readings = Readings(PRESSURES, FLOWS, zero_before_pa=zero_pa, zero_after_pa=zero_pa)
    return reduce_test(readings, volume_m3=16000 * 0.3048**3, method="as-entered")


def _test() -> dict[str, float]:
    r = _ten_readings()
    low, high = r.flow_at_50_pa_range_m3_s or (np.nan, np.nan)
    ends = r.exponent_ci95 or (np.nan, np.nan)
    return {
        "exponent": r.exponent,
        "half width of the exponent": ends[1] - r.exponent,
        "exponent, low": ends[0],
        "coefficient": r.coefficient_m3_s_pan / CFM_M3_S,
        "flow at 50 Pa": r.flow_at_50_pa_m3_s / CFM_M3_S,
        "flow at 50 Pa, low": low / CFM_M3_S,
        "flow at 50 Pa, high": high / CFM_M3_S,
        "air changes": r.ach50,
        "ELA": r.ela4_m2 / SQUARE_INCH_M2,
        "EqLA": r.eqla10_m2 / SQUARE_INCH_M2,
        "with zeros of 2.5 Pa": _ten_readings(2.5).flow_at_50_pa_m3_s / CFM_M3_S,
        "with zeros of -2.5 Pa": _ten_readings(-2.5).flow_at_50_pa_m3_s / CFM_M3_S,
    }


def _credit() -> dict[str, float]:
    leak = Leakage(120 * CFM_M3_S, 9 * 0.3048, 0.6)
    given = {"rule": "ashrae-62.2-2019", "area_m2": 1000 * 0.3048**2, "bedrooms": 2, "leakage": leak}
    balanced, plain = (calculate_fresh_air(balanced=b, **given) for b in (True, False))  # type: ignore[arg-type]
    return {
        "normalised leakage": balanced.normalised_leakage or np.nan,
        "infiltration": balanced.infiltration_flow_m3_s / CFM_M3_S,
        "fans, balanced": balanced.fan_flow_m3_s / CFM_M3_S,
        "fans, unbalanced": plain.fan_flow_m3_s / CFM_M3_S,
    }


def _room() -> dict[str, float]:
    inside, outside = 20.0, -12.0
    ground = ground_factor(inside_c=inside, outside_c=outside, mean_annual_c=9.0)
    parts = ((12.0, 0.17, 1.0), (3.0, 0.82, 1.0), (20.0, 0.12, ground))
    total = sum(transmission_w(area_m2=a, u_w_m2k=u, factor=f, inside_c=inside, outside_c=outside) for a, u, f in parts)
    flow = (0.5 * 0.2 + 0.05) * 50.0 / 3600.0
    return {"load": total + air_w(flow_m3_s=flow, inside_c=inside, outside_c=outside, pressure_pa=101325.0)}


RHO = 1.20410


def _gap(name: str, a: int, b: int) -> Link:
    c, n = orifice_crack(area_m2=0.01, discharge=0.6, density_kg_m3=RHO)
    return Link(name, LinkKind.CRACK, a, b, coefficient_m3_s_pan=c, exponent=n)


def _fan(name: str, a: int, b: int, flow_m3_s: float) -> Link:
    return Link(name, LinkKind.FAN, a, b, curve=FanCurve((0.0, 1e6), (flow_m3_s, flow_m3_s)))


def _three_rooms() -> dict[str, float]:
    c = 180 / 3600 / 50**0.65
    leaks = [Link(f"leak-{k}", LinkKind.CRACK, k, 3, coefficient_m3_s_pan=c * s) for k, s in enumerate((0.6, 0.3, 0.1))]
    fans = [_fan("exhaust", 2, 3, 30 * CFM_M3_S), _fan("transfer", 0, 1, 60 * CFM_M3_S)]
    network = AirNetwork(("main", "bed", "bath"), (*leaks, _gap("bed", 0, 1), _gap("bath", 0, 2), *fans))
    state = solve_air(network, density_kg_m3=np.full(4, RHO))
    values = {f"pressure, {room}": float(p) for room, p in zip(network.rooms, state.pressure_pa, strict=True)}
    return values | {"infiltration, bed": -float(state.net_kg_s[1]) / RHO * 3600.0}


def _ages() -> dict[str, float]:
    flows = [(3, 0, 36), (3, 1, 9), (3, 2, 6), (1, 0, 9), (0, 2, 45), (2, 3, 51)]
    links = [_fan(f"{a}-{b}", a, b, q / 3600) for a, b, q in flows]
    links += [Link(f"leak-{k}", LinkKind.CRACK, k, 3, coefficient_m3_s_pan=1e-9) for k in range(3)]
    network = AirNetwork(("main", "bed", "bath"), tuple(links))
    state = solve_air(network, density_kg_m3=np.full(4, 1.2))
    ages = age_of_air_s(network, state, mass_kg=np.array([150.0, 30.0, 10.0]) * 1.2) / 3600.0
    return {f"age, {room}": float(age) for room, age in zip(network.rooms, ages, strict=True)}


RECIPES = (
    Recipe(
        "fan on its duct", "published", "Darcy-Weisbach with Colebrook, ASHRAE Fundamentals (values derived apart)",
        {
            "4 in, 80 cfm": (3.2811, 0.007, "Pa/m"), "6 in, 100 cfm": (0.6798, 0.0014, "Pa/m"),
            "on its duct": (72.92, 0.15, "cfm"), "house at -11 Pa": (68.74, 0.15, "cfm"),
        }, _duct,
    ),
    Recipe("coil at its rating", "published", "apparatus dew point and bypass, 80/67 °F, 300 cfm (computed sheet)", {
        "leaving": (58.82, 0.01, "°F"), "apparatus dew point": (55.34, 0.03, "°F"), "bypass": (0.1408, 1e-3, "1"),
        "moisture": (0.939, 1e-3, "L/h"),
    }, _coil),
    Recipe("stud wall", "published", "ISO 6946, bridged wall (computed)", {
        "upper limit": (3.6487, 5e-5, "m2K/W"), "lower limit": (3.4443, 5e-5, "m2K/W"), "U": (0.2820, 5e-5, "W/m2K"),
    }, _stud_wall),
    Recipe("coated wall under a daily sine", "published", "ISO 13786 (computed)", {
        "transmittance": (0.0606, 6e-5, "W/m2K"), "decrement": (0.1687, 6e-5, "1"), "time shift": (8.11, 6e-3, "h"),
        "inside admittance": (5.942, 6e-4, "W/m2K"),
    }, _daily_wall),
    Recipe("ten readings", "published", "ASTM E779, annex A1 (from memory)", {
        "exponent": (0.652526, 6e-7, "1"), "half width of the exponent": (0.004759, 6e-7, "1"),
        "exponent, low": (0.647767, 1.2e-6, "1"),
        "coefficient": (69.9823, 6e-5, "cfm/Pa^n"), "flow at 50 Pa": (898.69, 6e-3, "cfm"),
        "flow at 50 Pa, low": (896.26, 6e-3, "cfm"), "flow at 50 Pa, high": (901.13, 6e-3, "cfm"),
        "air changes": (3.370, 6e-4, "1/h"), "ELA": (49.075, 6e-4, "in2"), "EqLA": (92.367, 6e-4, "in2"),
        "with zeros of 2.5 Pa": (869.1, 0.06, "cfm"), "with zeros of -2.5 Pa": (925.1, 0.06, "cfm"),
    }, _test),
    Recipe("infiltration credit", "published", "ASHRAE 62.2-2019, 4.1.2 (from memory)", {
        "normalised leakage": (0.04745, 6e-6, "1"), "infiltration": (3.900, 6e-4, "cfm"),
        "fans, balanced": (48.600, 6e-4, "cfm"), "fans, unbalanced": (52.210, 6e-4, "cfm"),
    }, _credit),
    Recipe("room of the load standard", "published", "EN 12831-1 (from memory)", {"load": (263.9, 0.06, "W")}, _room),
    Recipe("three rooms with a transfer fan", "published", "reference network (computed by two solvers)", {
        "pressure, main": (-12.732, 6e-4, "Pa"), "pressure, bed": (0.240, 6e-4, "Pa"),
        "pressure, bath": (-15.086, 6e-4, "Pa"), "infiltration, bed": (-1.68, 6e-3, "m3/h"),
    }, _three_rooms),
    Recipe("age of air in three rooms", "published", "multi-zone age of air (computed)", {
        "age, main": (4.0, 6e-5, "h"), "age, bed": (10.0 / 3.0, 6e-5, "h"), "age, bath": (3.7255, 6e-5, "h"),
    }, _ages),
    Recipe("one room in the coupled step", "analytic", "closed forms: exp(-t UA/C), c = c_out + S/m, age = M/m", {
        "temperature after 10 h": (20.0 * math.exp(-0.45), 2e-3, "°C"),
        "gas above outdoors, times the flow": (1.0, 1e-5, "1"),
        "age of air, times flow over mass": (1.0, 1e-5, "1"),
    }, one_room),
    Recipe("a film that follows its difference", "analytic", "Walton 1983, steady state by hand", {
        "face": (5.0, 5e-3, "°C"), "air above the face": ((100.0 / 13.1) ** 0.75, 5e-3, "K"),
    }, films),
    Recipe("the periodic zone in the coupled step", "published", "harmonic solution, 200 mm concrete (computed)", {
        "amplitude": (0.29824, 1.5e-3, "K"), "lag": (6.959, 0.05, "h"),
    }, periodic_zone),
    Recipe("a skin past which a leak goes", "published", "one square inch, 4 Pa, 21 °C 35 %, -5 °C (computed sheet)", {
        "deposit": (0.302, 3e-3, "kg/day"),
    }, wetted_skin),
    Recipe("a duct with a filter", "analytic", "1.5 rho v2/2 + R Q, rho 1.2041 kg/m3, by hand", {
        "with a filter": (25.595, 0.01, "Pa"),
    }, filtered_duct),
    Recipe("what a skin takes up", "analytic", "mass balance by hand, ISO 13788 saturation", {
        "uptake": (0.46128, 4e-4, "mg/s"),
    }, skin_by_hand),
    Recipe("balanced air by duct", "published", "IRC 2021, M1505.4.3 with its exception (from memory)", {
        "fans": (22.75, 6e-3, "cfm"),
    }, balanced_rule),
    Recipe("a slab turned over", "invariant", "conduction knows no up or down", {
        "up as down": (0.0, 1e-9, "W/m2K"), "down as up": (0.0, 1e-9, "W/m2K"), "sticks out: refused": (1.0, 0.0, "1"),
    }, turned_slab),
)  # fmt: skip
