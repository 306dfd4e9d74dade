"""Quick answers about air as text."""

from __future__ import annotations

from typing import Any

from inshell.units import show


def _both(flow: float) -> str:
    return f"{show(flow, 'flow', 'us')} ({flow * 1000.0:.1f} L/s)"


def duct_lines(result: dict[str, Any]) -> list[str]:
    """Pressure and speed."""
    speed = result["velocity_m_s"]
    return [
        f"pressure   {result['pressure_pa']:.2f} Pa",
        f"speed      {speed / 0.00508:.0f} ft/min ({speed:.2f} m/s)",
        result["note"],
    ]


def fan_lines(result: dict[str, Any]) -> list[str]:
    """Where the fan ends up."""
    lines = [
        f"flow              {_both(result['flow_m3_s'])}",
        f"fan pressure      {result['pressure_pa']:.1f} Pa",
        f"taken by duct     {result['duct_pressure_pa']:.1f} Pa",
    ]
    if len(result["crossings_m3_s"]) > 1:
        lines.append("crossings         " + ", ".join(_both(q) for q in result["crossings_m3_s"]))
    return [*lines, result["note"]]


def co2_lines(result: dict[str, Any]) -> list[str]:
    """Steady value and course."""
    steady = result["steady_ppm"]
    lines = ["steady   never: no outdoor air" if steady is None else f"steady   {steady:.0f} ppm"]
    lines += [f"{row['hour']:4.1f} h   {row['ppm']:.0f} ppm" for row in result["series"] if row["hour"] % 1.0 == 0.0]
    return [*lines, result["note"]]


def exposure_lines(result: dict[str, Any]) -> list[str]:
    """Mean, highest, verdict."""
    word = "met" if result["meets"] else "NOT met"
    return [
        " ".join(f"{r:.2f}" for r in result["relative_exposure"]),
        f"mean {result['mean']:.3f}, highest {result['highest']:.3f}: {word}",
        result["note"],
    ]


def intermittent_lines(result: dict[str, Any]) -> list[str]:
    """Flow while it runs."""
    return [
        f"effectiveness   {result['effectiveness']:.4f}",
        f"fan must move   {_both(result['fan_flow_m3_s'])} while it runs",
        f"source: {result['source']}",
    ]
