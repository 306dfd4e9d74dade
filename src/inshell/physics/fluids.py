"""Water, and propylene glycol in water: density, viscosity, specific heat, freezing point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from inshell.physics.types import Floats
from inshell.sources import table

MOST_GLYCOL = 0.6


@dataclass(frozen=True)
class Fluid:
    """Properties at one temperature."""

    density_kg_m3: float
    viscosity_pa_s: float
    heat_j_kgk: float
    freezing_c: float

    @property
    def heat_j_m3k(self) -> float:
        """Heat that a volume carries per kelvin."""
        return self.density_kg_m3 * self.heat_j_kgk


@cache
def _rows() -> dict[str, Floats]:
    return {name: np.array(values) for name, values in table("fluids").items()}


def fluid_at(*, temperature_c: float, glycol: float = 0.0) -> Fluid:
    """Water with a share of propylene glycol by mass.

    Formula: linear in temperature (5 K) and share (0.1) between tabulated values, viscosity in its logarithm
    Arguments: temperature_c [°C] -50 to 100; glycol by mass, 0 to 0.6
    Returns: density [kg/m3], dynamic viscosity [Pa s], specific heat [J/kgK], freezing point [°C]
    Errors: ValueError beyond the data
    Valid: 2 bar; within 0.6 % of its source, viscosity 2 %
    Source: IAPWS-95 for water, Melinder 2010 for mixtures, by a reference library (sources/fluids.toml)

    >>> water = fluid_at(temperature_c=40.0)
    >>> round(water.density_kg_m3, 1), round(1000 * water.viscosity_pa_s, 3), round(water.heat_j_kgk)
    (992.3, 0.653, 4179)
    """
    rows = _rows()
    low, high = float(rows["temperature_c"][0]), float(rows["temperature_c"][-1])
    if not 0.0 <= glycol <= MOST_GLYCOL:
        raise ValueError(f"a glycol share of {glycol:g}; known are 0 to {MOST_GLYCOL:g} by mass")
    if not low <= temperature_c <= high:
        raise ValueError(f"{temperature_c:g} °C; known are {low:g} to {high:g} °C")

    def value(name: str) -> float:
        by_share = [np.interp(temperature_c, rows["temperature_c"], row) for row in rows[name]]
        return float(np.interp(glycol, rows["share"], by_share))

    logs = [np.interp(temperature_c, rows["temperature_c"], np.log(row)) for row in rows["viscosity_pa_s"]]
    return Fluid(
        value("density_kg_m3"),
        float(np.exp(np.interp(glycol, rows["share"], logs))),
        value("heat_j_kgk"),
        float(np.interp(glycol, rows["share"], rows["freezing_c"])),
    )
