"""Quick answers about warm floors: what a floor gives, a cell of slab and tubes, a tube, the end of a circuit."""

from __future__ import annotations

import re
from typing import Any

from inshell.errors import InputRefused, Problem
from inshell.jobs.quick_values import Asked
from inshell.physics.floor import floor_flux_w_m2, panel_flux_w_m2, power_product_w_m2k, practice_flux_w_m2
from inshell.physics.fluids import MOST_GLYCOL, Fluid, fluid_at
from inshell.physics.slab_cell import slab_cell
from inshell.physics.water_tube import circuit_return_c, tube_flow
from inshell.sources import table

TUBE_W_MK = 0.38
PURGE_M_S = 0.61
METHODS = ("en-1264", "panel", "practice")
_NUMBER = r"(\d+(?:\.\d+)?)\s*(%)?"
_GLYCOL = re.compile(
    rf"^(?:(?:propylene[- ])?glycol[ :,]*{_NUMBER}|{_NUMBER}\s*(?:propylene[- ])?glycol)$", re.IGNORECASE
)


def quick_floor_output(*, floor: str, room: str, method: str) -> dict[str, Any]:
    """Heat from a floor by its surface temperature, three ways; `flux_w_m2` is that of the method asked."""
    asked = Asked()
    surface = asked.quantity("--floor", floor, "temperature", low=-10.0, high=60.0)
    air = asked.quantity("--room", room, "temperature", low=-10.0, high=45.0)
    if method not in METHODS:
        asked.problems.append(Problem("--method", method, ", ".join(METHODS)))
    if surface < air:
        asked.problems.append(Problem("--floor", floor, "a floor no colder than the room"))
    if asked.problems:
        raise InputRefused(asked.problems)
    radiation, convection = (float(q) for q in panel_flux_w_m2(surface_c=surface, air_c=air, around_c=air))
    each = {
        "en-1264": float(floor_flux_w_m2(excess_k=surface - air)),
        "panel": radiation + convection,
        "practice": float(practice_flux_w_m2(excess_k=surface - air)),
    }
    limits = table("floor")["limits"]
    return {
        "flux_w_m2": each[method],
        "method": method,
        "by_method_w_m2": each,
        "surface_c": surface,
        "limit_c": limits["occupied_c"],
        "is_within_limit": surface <= limits["occupied_c"] + 1e-9,
        "source": "en-1264: EN 1264-2; panel: ASHRAE, all else at the room's temperature; practice: 2 Btu/h.ft2.°F",
    }


def tube_row(asked: Asked, name: str, size: str) -> dict[str, Any]:
    """The row of a nominal size; a problem with the sizes known otherwise."""
    rows = table("tubes")
    key = size.strip().removesuffix("in").strip().replace(" ", "").replace('"', "")
    if key not in rows:
        asked.problems.append(Problem(name, size, ", ".join(rows)))
        return dict(rows["1/2"])
    return dict(rows[key])


def quick_slab_cell(
    *, thickness: str, conductivity: str, spacing: str, tube: str, depth: str, cover_r: str, below_r: str
) -> dict[str, Any]:
    """Heat up and down of a slab with tubes, per kelvin of mean water over room."""
    asked = Asked()
    slab = asked.quantity("--thickness", thickness, "length", low=0.02, high=1.0)
    conducts = asked.quantity("--conductivity", conductivity, "conductivity", low=0.1, high=10.0)
    apart = asked.quantity("--spacing", spacing, "length", low=0.03, high=1.0)
    row = tube_row(asked, "--tube", tube)
    deep = asked.quantity("--depth", depth, "length", low=0.005, high=1.0)
    cover = asked.quantity("--cover-r", cover_r, "r_value", low=0.0, high=2.0)
    below = asked.quantity("--below-r", below_r, "r_value", low=0.01, high=1e9)
    radius = 0.5 * row["outer_m"]
    if not asked.problems and not radius <= deep <= slab - radius:
        found = f"an axis {deep:.4g} m deep in a slab of {slab:.4g} m"
        asked.problems.append(Problem("--depth", found, f"{radius:.4g} to {slab - radius:.4g} m: the tube inside"))
    if not asked.problems and apart <= row["outer_m"]:
        asked.problems.append(Problem("--spacing", spacing, f"more than the tube's {row['outer_m']:.4g} m"))
    if asked.problems:
        raise InputRefused(asked.problems)
    cell = slab_cell(
        thickness_m=slab, conductivity_w_mk=conducts, spacing_m=apart, depth_m=deep, outer_m=row["outer_m"],
        wall_m=row["wall_m"], tube_w_mk=TUBE_W_MK, cover_r_m2k_w=cover, below_r_m2k_w=below,
    )  # fmt: skip
    return {
        "k_up_w_m2k": cell.k_up_w_m2k,
        "k_down_w_m2k": cell.k_down_w_m2k,
        "peak_to_mean": cell.peak_to_mean,
        "power_product_w_m2k": _power_product(row, apart, deep, conducts, cover),
        "resistances_reach": min(deep, slab - deep) / apart > 0.3 and row["outer_m"] / apart < 0.2,
        "outer_diameter_m": row["outer_m"],
        "wall_m": row["wall_m"],
        "source": "2-D conduction; water side film left out, 10.8 W/m2K to the room, space below at room temperature",
    }


def _power_product(row: dict[str, Any], spacing: float, depth: float, k: float, cover: float) -> float | None:
    """What the standard gives for the same tube on the insulation, None outside its tables."""
    try:
        return power_product_w_m2k(
            spacing_m=spacing, outer_m=row["outer_m"], wall_m=row["wall_m"], tube_w_mk=TUBE_W_MK,
            cover_m=depth - 0.5 * row["outer_m"], cover_w_mk=k, covering_r_m2k_w=cover,
        )  # fmt: skip
    except ValueError:
        return None


def fluid_share(asked: Asked, text: str) -> float:
    """Glycol by mass of `water` or `glycol 30 %`."""
    match = _GLYCOL.match(text.strip())
    if text.strip().lower() == "water" or match is None:
        if match is None and text.strip().lower() != "water":
            asked.problems.append(Problem("--fluid", text, 'water, or "glycol 30 %" (propylene glycol by mass)'))
        return 0.0
    number, percent = (match[1], match[2]) if match[1] else (match[3], match[4])
    share = float(number) / (100.0 if percent or float(number) > 1.0 else 1.0)
    if share > MOST_GLYCOL:
        asked.problems.append(Problem("--fluid", text, f"at most {MOST_GLYCOL:.0%} glycol: no data beyond it"))
    return min(share, MOST_GLYCOL)


def quick_tube(*, size: str, length: str, flow: str, fluid: str, temperature: str) -> dict[str, Any]:
    """Loss of pressure, Reynolds number and velocity in a tube."""
    asked = Asked()
    row = tube_row(asked, "--size", size)
    run = asked.quantity("--length", length, "length", low=0.01, high=2000.0)
    passes = asked.quantity("--flow", flow, "water_flow", low=1e-7, high=0.01)
    share = fluid_share(asked, fluid)
    warm = asked.quantity("--temperature", temperature, "temperature", low=-50.0, high=100.0)
    here = None if asked.problems else fluid_here(asked, "--temperature", warm, share)
    if asked.problems or here is None:
        raise InputRefused(asked.problems)
    inner = row["outer_m"] - 2.0 * row["wall_m"]
    one, narrow = (
        tube_flow(flow_m3_s=passes, inner_m=d, density_kg_m3=here.density_kg_m3, viscosity_pa_s=here.viscosity_pa_s)
        for d in (inner, row["inner_m"])
    )
    return {
        "head_pa": one.head_pa_m * run,
        "reynolds": one.reynolds,
        "velocity_m_s": one.velocity_m_s,
        "inner_diameter_m": inner,
        "head_at_average_diameter_pa": narrow.head_pa_m * run,
        "average_diameter_m": row["inner_m"],
        "regime": "laminar"
        if one.reynolds < 2000
        else "turbulent"
        if one.reynolds > 4000
        else "changing: may be half or double",
        "purges": narrow.velocity_m_s >= PURGE_M_S,
        "glycol": share,
        "source": "friction by Churchill 1977; inner diameter is the outer less two least walls",
    }


def fluid_here(asked: Asked, name: str, warm_c: float, share: float) -> Fluid | None:
    """The fluid at a temperature; a problem where it would be frozen."""
    here = fluid_at(temperature_c=warm_c, glycol=share)
    if warm_c < here.freezing_c:
        asked.problems.append(Problem(name, f"{warm_c:.4g} °C", f"above {here.freezing_c:.1f} °C, where it freezes"))
        return None
    return here


def quick_circuit_out(*, supply: str, room: str, length: str, flow: str, output: str) -> dict[str, Any]:
    """Temperature at the end of a circuit, and the heat that it gave off."""
    asked = Asked()
    enters = asked.quantity("--supply", supply, "temperature", low=-20.0, high=100.0)
    around = asked.quantity("--room", room, "temperature", low=-20.0, high=60.0)
    run = asked.quantity("--length", length, "length", low=0.0, high=2000.0)
    passes = asked.quantity("--flow", flow, "water_flow", low=1e-7, high=0.01)
    gives = asked.quantity("--output", output, "linear_transmittance", low=0.0, high=100.0)
    if asked.problems:
        raise InputRefused(asked.problems)
    carries = passes * fluid_at(temperature_c=max(enters, 0.0)).heat_j_m3k
    leaves = float(
        circuit_return_c(supply_c=enters, around_c=around, length_m=run, output_w_mk=gives, flow_w_k=carries)
    )
    return {
        "return_c": leaves,
        "heat_w": carries * (enters - leaves),
        "source": "heat balance of a tube in surroundings of one temperature; water",
    }
