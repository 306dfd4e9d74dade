"""What holds a room's air in a step: set points where their thermostats really sense, limits, and coils that wet.

The readable form; the compiled step does the same (`limits` and `wet_contact` of _step.h).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inshell.network.system import Coil, Forcing, State, System
from inshell.physics.coil import DRY_J_KGK, VAPOUR_J_KGK, kept_with_fan_on, saturated_ratio, sensible_w
from inshell.physics.types import Floats

FOLLOWS_S = 1200.0  # how fast a thermostat that reads another room moves its own
FARTHEST_K = 10.0  # beyond its set point, where a head's own safety ends it (common practice)


@dataclass(frozen=True)
class Limits:
    """What holders aim at in a step, and what they can give (`most_w`) or take (`least_w`, negative)."""

    heat_at_c: Floats
    cool_at_c: Floats
    most_w: Floats
    least_w: Floats

    def asking(self, after_c: Floats, by: float = 0.0) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Rooms that would end below where heating begins, and those above where cooling begins."""
        with np.errstate(invalid="ignore"):
            cold = after_c < self.heat_at_c - by
            return cold, (after_c > self.cool_at_c + by) & ~cold

    def holders(self, cold: NDArray[np.bool_], hot: NDArray[np.bool_]) -> dict[str, Floats]:
        """Heating in cold rooms, cooling in hot ones. A room that leaves its bounds once its neighbours are held is
        held as well: the caller asks again."""
        point = np.where(cold, self.heat_at_c, np.where(hot, self.cool_at_c, np.nan))
        return {
            "set_point_c": point,
            "most_w": np.where(cold, self.most_w, 0.0),
            "least_w": np.where(hot, self.least_w, 0.0),
        }


def limits_of(system: System, state: State, forcing: Forcing, hour: int, step_s: float) -> Limits:
    """What thermostats ask for in this step, and how much heat holders can give or take."""
    count, sensed = system.rooms, system.sensed
    heat, cool = forcing.heat_at_c[hour].copy(), forcing.cool_at_c[hour].copy()
    most, least = forcing.most_w[hour], forcing.least_w[hour].copy()
    follow = 1.0 - np.exp(-step_s / FOLLOWS_S)
    for k, other in enumerate(sensed):
        if other != k:
            here, there = state.nodes_c[k], state.nodes_c[other]
            heat[k] = min(here + follow * (heat[k] - there), heat[k] + FARTHEST_K)
            cool[k] = max(here + follow * (cool[k] - there), cool[k] - FARTHEST_K)
    for c, coil in enumerate(system.coils):
        least[coil.room] = -_sensible(system, state, coil, coil.high_kg_s, float(forcing.coil_most_w[hour, c]))
    return Limits(heat[:count], cool[:count], most, least)


def _sensible(system: System, state: State, coil: Coil, contact_kg_s: float, total_w: float) -> float:
    return float(sensible_w(contact_kg_s=contact_kg_s, total_w=total_w, **_at_coil(system, state, coil)))


def _at_coil(system: System, state: State, coil: Coil) -> dict[str, float]:
    """The air that enters a coil: its room's at the start of the step."""
    share = float(state.vapour[coil.room])
    here = float(state.nodes_c[coil.room])
    return {"entering_c": here, "ratio": share / (1.0 - share), "pressure_pa": system.pressure_pa}


def at_coils(
    system: System, state: State, holder_w: Floats, limits: Limits, forcing: Forcing, hour: int
) -> tuple[Floats, Floats]:
    """What coils do to vapour in this step: air in contact [kg/s] of each room, and that times its share there.

    The apparatus dew point follows the sensible heat that the room asked for; below the least that the machine
    gives while it runs, it runs a part of the time at that least, and a fan that never stops gives some back.
    """
    contact, wetted = np.zeros(system.rooms), np.zeros(system.rooms)
    for c, coil in enumerate(system.coils):
        room, air = coil.room, _at_coil(system, state, coil)
        asked = max(0.0, -float(holder_w[room]))
        least = _sensible(system, state, coil, coil.low_kg_s, float(forcing.coil_least_w[hour, c]))
        running = 1.0 if asked >= least else asked / least
        speed = (asked - least) / max(-float(limits.least_w[room]) - least, 1e-9)
        touched = coil.low_kg_s + min(max(speed, 0.0), 1.0) * (coil.high_kg_s - coil.low_kg_s)
        cp = DRY_J_KGK + VAPOUR_J_KGK * air["ratio"]
        adp = air["entering_c"] - max(asked, least) / (touched * cp)
        saturated = float(saturated_ratio(temperature_c=adp, pressure_pa=system.pressure_pa))
        if saturated >= air["ratio"] or asked <= 0.0:
            continue
        kept = float(kept_with_fan_on(running=running)) if coil.fan_always and running < 1.0 else 1.0
        share, there = float(state.vapour[room]), saturated / (1.0 + saturated)
        contact[room] = touched * running * kept / ((1.0 - share) * (1.0 - there))
        wetted[room] = contact[room] * there
    return contact, wetted
