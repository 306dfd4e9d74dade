"""`inshell quick pressure`: what a net exhaust does to a house, one zone, still air."""

from __future__ import annotations

from typing import Any

from inshell.design.pressure import house_pressure_pa
from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_values import Asked


def quick_pressure(*, flow_at_50: str, exponent: float, exhaust: str) -> dict[str, Any]:
    """House pressure under a constant net exhaust (negative exhaust is a net supply): an upper bound."""
    asked = Asked()
    flow = asked.quantity("--flow-at-50", flow_at_50, "flow", low=1e-5, high=20.0)
    out = asked.quantity("--exhaust", exhaust, "flow", low=-5.0, high=5.0)
    if not 0.5 <= exponent <= 1.0:
        asked.problems.append(Problem("--exponent", str(exponent), "0.5 to 1"))
    if asked.problems:
        raise InputRefused(asked.problems)
    pressure = house_pressure_pa(flow_at_50_pa_m3_s=flow, exponent=exponent, exhaust_m3_s=out)
    return {
        "house_pressure_pa": pressure,
        "flow_at_50_pa_m3_s": flow,
        "exponent": exponent,
        "exhaust_m3_s": out,
        "note": "one zone, still air, no stack; at most this far from outdoors: real fans lose flow as pressure rises; "
        "never a safety clearance",
    }
