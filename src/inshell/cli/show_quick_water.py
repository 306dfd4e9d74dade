"""Quick answers about warm floors and hot water as text."""

from __future__ import annotations

from typing import Any

from inshell.units import show

GALLON_M3 = 0.00378541


def _volume(value: float) -> str:
    return f"{value / GALLON_M3:.2f} gal ({1000.0 * value:.2f} L)"


def _head(value: float) -> str:
    return f"{value / 2989.07:.2f} ft of water ({value / 1000.0:.2f} kPa, {value / 6894.757:.2f} psi)"


def floor_lines(result: dict[str, Any]) -> list[str]:
    """The flux by each method, the limit."""
    rows = [
        f"{name:<9} {show(value, 'flux', 'us')} ({value:.1f} W/m2){'  <- asked' if name == result['method'] else ''}"
        for name, value in result["by_method_w_m2"].items()
    ]
    word = "within" if result["is_within_limit"] else "ABOVE"
    surface = show(result["surface_c"], "temperature", "us")
    return [*rows, f"surface   {surface}, {word} the 29 °C (84 °F) where people stay", result["source"]]


def cell_lines(result: dict[str, Any]) -> list[str]:
    """Both K values and the ripple, beside the standard's shortcuts."""
    known = result["power_product_w_m2k"]
    product = "outside its tables" if known is None else f"{known:.3f} W/m2K"
    return [
        f"up            {result['k_up_w_m2k']:.4f} W/m2K",
        f"down          {result['k_down_w_m2k']:.4f} W/m2K",
        f"peak to mean  {result['peak_to_mean']:.4f} of the floor's excess over the room",
        f"by the standard's power product, tube on the insulation: {product}; its resistances for tubes inside a slab "
        f"{'reach' if result['resistances_reach'] else 'do not reach'} this build",
        result["source"],
    ]


def tube_lines(result: dict[str, Any]) -> list[str]:
    """Loss, velocity, regime."""
    average = 1000.0 * result["average_diameter_m"]
    return [
        f"loss      {_head(result['head_pa'])}, inner diameter {1000.0 * result['inner_diameter_m']:.2f} mm",
        f"          {_head(result['head_at_average_diameter_pa'])} at the average {average:.2f} mm",
        f"velocity  {result['velocity_m_s'] / 0.3048:.2f} ft/s ({result['velocity_m_s']:.3f} m/s)"
        f"{'' if result['purges'] else '; too slow to carry air out: purge at 2 ft/s'}",
        f"Reynolds  {result['reynolds']:.0f}, {result['regime']}",
        result["source"],
    ]


def circuit_lines(result: dict[str, Any]) -> list[str]:
    """Return temperature and heat."""
    return [
        f"return    {show(result['return_c'], 'temperature', 'us')} ({result['return_c']:.2f} °C)",
        f"gives     {show(result['heat_w'], 'power', 'us')} ({result['heat_w']:.0f} W)",
        result["source"],
    ]


def buffer_lines(result: dict[str, Any]) -> list[str]:
    """The volume."""
    word = _volume(result["volume_m3"]) if result["is_needed"] else "none needed: the load is no smaller"
    return [f"buffer    {word}", result["source"]]


def mix_lines(result: dict[str, Any]) -> list[str]:
    """Hot and cold flow, cautions."""
    return [
        f"hot       {show(result['hot_flow_m3_s'], 'water_flow', 'us')} ({result['hot_share']:.0%} of the flow)",
        f"cold      {show(result['cold_flow_m3_s'], 'water_flow', 'us')}",
        *(f"caution: {text}" for text in result["cautions"]),
        result["source"],
    ]


def expansion_lines(result: dict[str, Any]) -> list[str]:
    """Tank and growth."""
    return [
        f"tank      at least {_volume(result['tank_volume_m3'])}",
        f"water     grows by {_volume(result['grows_m3'])}",
        result["source"],
    ]
