"""Quick answers about water: a buffer, mixing at a tap, an expansion tank."""

from __future__ import annotations

from typing import Any

from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_floor import fluid_here
from inshell.jobs.quick_values import Asked
from inshell.physics.fluids import fluid_at
from inshell.physics.hot_water import hot_flow_m3_s
from inshell.physics.hydronic import ATMOSPHERE_PA, buffer_volume_m3, expansion_tank_m3

SCALD_C, TAP_MOST_C, LEGIONELLA_C = 60.0, 48.9, 50.0


def quick_buffer(*, minimum: str, load: str, minutes: float, difference: str) -> dict[str, Any]:
    """Water that lets a heater run for a time at its least fire."""
    asked = Asked()
    least = asked.quantity("--minimum", minimum, "power", low=1.0, high=1e6)
    needs = asked.quantity("--load", load, "power", low=0.0, high=1e6)
    rises = asked.quantity("--difference", difference, "temperature_difference", low=0.5, high=60.0)
    if not 0.0 < minutes <= 240.0:
        asked.problems.append(Problem("--minutes", f"{minutes:g}", "more than 0, at most 240"))
    if asked.problems:
        raise InputRefused(asked.problems)
    volume = buffer_volume_m3(minimum_w=least, load_w=needs, run_s=60.0 * minutes, difference_k=rises)
    return {
        "volume_m3": volume,
        "is_needed": least > needs,
        "source": "V = t (Qmin - Qload) / (500 Btu/h per gpm and °F); the load is taken away while it runs",
    }


def quick_mix(*, flow: str, mixed: str, cold: str, hot: str) -> dict[str, Any]:
    """Hot water in a mixed flow, with the usual cautions."""
    asked = Asked()
    total = asked.quantity("--flow", flow, "water_flow", low=0.0, high=0.01)
    tap = asked.quantity("--mixed", mixed, "temperature", low=0.0, high=100.0)
    street = asked.quantity("--cold", cold, "temperature", low=0.0, high=60.0)
    tank = asked.quantity("--hot", hot, "temperature", low=0.0, high=100.0)
    if not asked.problems and tank <= street:
        asked.problems.append(Problem("--hot", hot, "warmer than the cold"))
    if not asked.problems and not street <= tap <= tank:
        asked.problems.append(Problem("--mixed", mixed, f"between {street:.4g} and {tank:.4g} °C"))
    if asked.problems:
        raise InputRefused(asked.problems)
    share = float(hot_flow_m3_s(flow_m3_s=1.0, mixed_c=tap, cold_c=street, hot_c=tank))
    cautions = []
    if tap > TAP_MOST_C:
        cautions.append(
            "above 49 °C (120 °F) skin burns: 5 minutes at 49 °C, 5 seconds at 60 °C. Mix it down by a valve."
        )
    if tank > SCALD_C:
        cautions.append("hot water above 60 °C (140 °F) burns in seconds wherever it is not mixed down.")
    if tank < LEGIONELLA_C:
        cautions.append("water stored below 50 °C can let legionella grow; follow local code.")
    return {
        "hot_flow_m3_s": total * share, "mixed_c": tap, "cold_flow_m3_s": total * (1.0 - share), "hot_share": share,
        "cautions": cautions, "source": "heat balance, densities taken as equal",
    }  # fmt: skip


def quick_expansion(*, volume: str, cold: str, hot: str, fill: str, relief: str, glycol: float) -> dict[str, Any]:
    """Least expansion tank of a closed circuit; pressures as the gauge shows them."""
    asked = Asked()
    system = asked.quantity("--volume", volume, "volume", low=1e-4, high=100.0)
    starts = asked.quantity("--cold", cold, "temperature", low=-50.0, high=100.0)
    ends = asked.quantity("--hot", hot, "temperature", low=-50.0, high=100.0)
    filled = asked.quantity("--fill", fill, "pressure", low=0.0, high=2e6)
    opens = asked.quantity("--relief", relief, "pressure", low=0.0, high=2e6)
    if not 0.0 <= glycol <= 0.6:
        asked.problems.append(Problem("--glycol", f"{glycol:g}", "0 to 0.6 by mass: no data beyond it"))
    if not asked.problems and ends <= starts:
        asked.problems.append(Problem("--hot", hot, "warmer than the cold"))
    if not asked.problems and opens <= filled:
        asked.problems.append(Problem("--relief", relief, "above the fill pressure"))
    if asked.problems or fluid_here(asked, "--cold", starts, glycol) is None:
        raise InputRefused(asked.problems)
    one, two = (fluid_at(temperature_c=t, glycol=glycol).density_kg_m3 for t in (starts, ends))
    tank = expansion_tank_m3(
        system_m3=system, cold_density_kg_m3=one, hot_density_kg_m3=two, fill_pa=filled + ATMOSPHERE_PA,
        relief_pa=opens + ATMOSPHERE_PA,
    )  # fmt: skip
    return {
        "tank_volume_m3": tank, "grows_m3": system * (one / two - 1.0),
        "source": "gauge pressures over 101.3 kPa; plastic tube, whose own expansion is left out (a little more tank)",
    }  # fmt: skip
