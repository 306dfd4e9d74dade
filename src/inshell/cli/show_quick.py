"""Quick answers as text."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from inshell.cli.show import print_lines
from inshell.design.tightness import TestResult
from inshell.findings import Finding
from inshell.jobs.quick_fresh_air import QuickFreshAir
from inshell.jobs.quick_tightness import QuickTightness
from inshell.jobs.record_test import Recorded
from inshell.units import System, show, to_unit


def _findings(findings: Iterable[Finding], system: System) -> list[str]:
    return [f"{f.severity}: {f.message(system)} {f.action(system)}" for f in findings]


def fresh_air_lines(result: QuickFreshAir) -> list[str]:
    """Demand, credit and fan flow."""
    air = result.result
    system: System = "us" if result.form == "IP" else "si"
    document = result.as_json()

    def both(flow: float) -> str:
        return f"{show(flow, 'flow', 'us')} ({to_unit(flow, 'flow', 'L/s'):.1f} L/s)"

    return [
        f"{air.rule}, {result.form} form ({document['clause']})",
        f"required              {both(air.required_flow_m3_s)}",
        f"infiltration credit   {both(air.infiltration_credit_m3_s)}",
        f"fans must move        {both(air.fan_flow_m3_s)}",
        *_findings(air.findings, system),
        f"source: {document['source']}",
    ]


def _reduced(r: TestResult) -> list[str]:
    low, high = r.flow_at_50_pa_range_m3_s or (None, None)
    cfm, m3h = to_unit(r.flow_at_50_pa_m3_s, "flow", "cfm"), r.flow_at_50_pa_m3_s * 3600.0
    interval = f", 95 %: {show(low, 'flow', 'us')} to {show(high, 'flow', 'us')}" if low and high else ""
    goodness = f", r2 {r.r2:.4f}" if not r.one_point else ", assumed"
    return [
        f"method {r.method}, {' and '.join(d.direction for d in r.directions)}",
        f"flow at 50 Pa   {cfm:.1f} cfm ({m3h:.1f} m³/h){interval}",
        f"ACH50 (n50)     {r.ach50:.2f} per hour",
        f"exponent        {r.exponent:.3f}"
        + (f" ({r.exponent_ci95[0]:.3f} to {r.exponent_ci95[1]:.3f})" if r.exponent_ci95 else "")
        + goodness,
        f"ELA at 4 Pa     {to_unit(r.ela4_m2, 'area', 'in2'):.1f} in² ({r.ela4_m2 * 1e4:.0f} cm²)",
        f"EqLA at 10 Pa   {to_unit(r.eqla10_m2, 'area', 'in2'):.1f} in² ({r.eqla10_m2 * 1e4:.0f} cm²)",
    ]


def show_recorded(recorded: Recorded) -> None:
    """The result of a test that was put into the job folder, with what is wrong with it."""
    r = recorded.result
    print_lines([f"Recorded: {recorded.path}", *_reduced(r), *_findings(r.findings, recorded.units)])
    if r.errors:
        print_lines([f"This test is invalid and decides nothing: {', '.join(r.errors)}."])


def tightness_lines(result: QuickTightness) -> list[str]:
    """Fit, flow, areas and verdicts."""
    r = result.result
    lines = _reduced(r)
    if result.envelope_m2:
        per_area = r.flow_at_50_pa_m3_s / result.envelope_m2
        lines.append(f"per enclosure   {show(per_area, 'flow_per_area', 'us')} ({per_area * 3600:.2f} m³/h·m²)")
    for v in result.verdicts:
        word = f"unknown, the test is invalid: {', '.join(r.errors)}" if r.errors else "met" if v.met else "NOT met"
        close = ", too close to call" if v.too_close else ""
        lines.append(f"{v.title}: {v.value:.2f} against {v.limit:g}: {word}{close} ({v.source})")
    return [*lines, *_findings(result.findings, "us")]


def assembly_lines(result: dict[str, Any]) -> list[str]:
    """U, R and the daily response."""
    return [
        f"U                        {result['u_w_m2k']:.4f} W/m²K (R-{result['r_ip']:.1f} h·ft²·°F/Btu, films included)",
        f"limits of R              {result['lower_r_m2k_w']:.3f} to {result['upper_r_m2k_w']:.3f} m²K/W",
        f"periodic transmittance   {result['periodic_transmittance_w_m2k']:.4f} W/m²K",
        f"decrement                {result['decrement']:.3f}",
        f"time shift               {result['time_shift_h']:.1f} h",
        f"source: {result['source']}",
    ]


def _both(value: float, kind: str) -> str:
    return f"{show(value, kind, 'us')} ({show(value, kind, 'si')})"


def transfer_lines(result: dict[str, Any]) -> list[str]:
    """Temperature of the room and how far it is from the source."""
    return [
        f"room             {_both(result['room_temperature_c'], 'temperature')}",
        f"against source   {_both(result['offset_k'], 'temperature_difference')}",
        result["note"],
    ]


def door_lines(result: dict[str, Any]) -> list[str]:
    """Air each way and heat."""
    return [
        f"warm to cool   {_both(result['warm_to_cool_m3_s'], 'flow')}",
        f"cool to warm   {_both(result['cool_to_warm_m3_s'], 'flow')}",
        f"heat           {_both(result['heat_w'], 'power')}",
        result["note"],
    ]


def gap_lines(result: dict[str, Any]) -> list[str]:
    """Pressure and face velocity."""
    return [
        f"pressure        {result['pressure_pa']:.2f} Pa",
        f"face velocity   {result['face_velocity_m_s'] / 0.00508:.0f} ft/min ({result['face_velocity_m_s']:.2f} m/s)",
        result["note"],
    ]


def coil_lines(result: dict[str, Any]) -> list[str]:
    """What leaves the coil."""
    return [
        f"leaving air           {_both(result['leaving_c'], 'temperature')}",
        f"apparatus dew point   {_both(result['adp_c'], 'temperature')}",
        f"bypass factor         {result['bypass_factor']:.4f}",
        f"moisture              {result['moisture_l_h']:.3f} L/h",
        result["note"],
    ]
