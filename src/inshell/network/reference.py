"""The coupled house in plain numpy: air, heat, vapour and tracers of one step, to be read, taught and tested.

A step of length h:
1. Controls read the state at the start and set shares of routes and sources. A thermostat that reads another room
   moves its own room's set point by what that room is off; coils say how much sensible heat they can take out.
2. Rounds, until no room moves by SETTLED_K (looser after many): air flow at the densities
   of a guess of the rooms' middle temperatures; heat with those flows (Crank-Nicolson in midpoint form), holders
   within their limits; the middle is the next guess. The first guess is heat with the flows of the step before.
   Rounds that do not settle go on by less, or by more again, as the change itself changed (Aitken); after
   PATIENT_ROUNDS by SMALL_WEIGHT.
3. Vapour, with what coils take out, finishes take up and air cannot hold; carbon dioxide; age of air: implicit
   over the step.
The compiled kernel does the same in the same order.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.errors import NotConverged
from inshell.network.air import NOTHING_KG_S, held_rooms, solve_air
from inshell.network.carried import Flows, heat_exchange, mass_flows_kg_s
from inshell.network.holding import Limits, at_coils, limits_of
from inshell.network.links import AirState
from inshell.network.system import (
    Balances,
    Film,
    Forcing,
    Sensor,
    Series,
    State,
    System,
    Target,
    check_run,
    fraction_of_ppm,
)
from inshell.network.thermal import StepResult, ThermalStepper
from inshell.physics.air import MOLAR_RATIO, density_kg_m3, saturation_pressure_pa
from inshell.physics.surfaces import convection_w_m2k
from inshell.physics.types import Floats

LEAST_PASSING_KG_S = 1e-6  # of vapour or carbon dioxide, that a balance is a share of: air closes to 1e-14
SETTLED_K = 0.005
MOST_ROUNDS, LEAST_WEIGHT = 60, 0.02
# where flows follow the root of hundredths of a kelvin and turn round: after so many rounds small steps of one size, to
# 0.02 K, after more to 0.1 K
PATIENT_ROUNDS, LOOSER, LATE_ROUNDS, LOOSEST, SMALL_WEIGHT = 30, 4.0, 50, 20.0, 0.1
CHANNELS = (
    "nodes_c", "holder_w", "humidity", "gas", "age_s", "pressure_pa", "forward_kg_s", "back_kg_s", "control_on",
    "tube_w",
)  # fmt: skip
SUMS = ("condensed_kg", "removed_kg")


@dataclass(frozen=True)
class Told:
    """Means over one step, and what its balances leave over."""

    nodes_c: Floats
    holder_w: Floats
    humidity: Floats
    gas: Floats
    age_s: Floats
    pressure_pa: Floats
    forward_kg_s: Floats
    back_kg_s: Floats
    control_on: Floats
    condensed_kg: Floats
    removed_kg: Floats
    tube_w: Floats
    heat_w: float
    air_share: float
    vapour_share: float
    gas_share: float
    rounds: int
    newton: int


def beyond_constant_w(films: tuple[Film, ...], nodes_c: Floats) -> Floats:
    """What convection by difference carries to every node beyond its constant [W]."""
    source = np.zeros(len(nodes_c))
    for film in films:
        difference = float(nodes_c[film.node] - nodes_c[film.room])
        coefficient = convection_w_m2k(
            difference_k=difference, tilt_deg=film.tilt_deg, heat_flows_up=difference * film.sense > 0.0
        )
        carried = (float(coefficient) - film.constant_w_m2k) * film.area_m2 * difference
        source[film.node] -= carried
        source[film.room] += carried
    return source


def relaxed(weight: float, last: Floats, change: Floats) -> float:
    """How much of the next change to take where one did not settle: by how the change itself changed (Aitken)."""
    turn = change - last
    along = float(last @ turn)
    return 1.0 if along >= 0.0 else min(max(-weight * along / max(float(turn @ turn), 1e-30), LEAST_WEIGHT), 1.0)


def _looser(rounds: int) -> float:
    """How much looser than SETTLED_K a round may be called settled."""
    return 1.0 if rounds <= PATIENT_ROUNDS else LOOSER if rounds <= LATE_ROUNDS else LOOSEST


class Reference:
    """A system made ready for steps of one length."""

    def __init__(self, system: System, step_s: float) -> None:
        self.system, self.step_s = system, step_s
        self.stepper = ThermalStepper(system.thermal, step_s)
        held, _ = held_rooms(system.air)
        self.free = [k for k in range(system.rooms) if k not in held]

    def step(self, state: State, forcing: Forcing, hour: int) -> Told:
        """One step within an hour; `state` moves on."""
        count = self.system.rooms
        share, source, vapour_in, on, flows_in = self._controls(state, forcing, hour)
        self._films(state, source)
        tube_w = self._tubes(state, forcing, hour, source, flows_in)
        limits = limits_of(self.system, state, forcing, hour, self.step_s)
        result, flows, air, rounds, newton = self._coupled(state, forcing, hour, share, source, limits)
        heat = self._heat_left(state, result, forcing, hour, source, flows, air)
        middle = result.middle_c[:count]
        pressure_sat = saturation_pressure_pa(temperature_c=middle)
        coils = at_coils(self.system, state, result.holder_w, limits, forcing, hour)
        state.nodes_c = result.after_c
        condensed, removed, wet = self._vapour(state, flows, forcing, hour, np.asarray(pressure_sat), vapour_in, coils)
        gas_left = self._gas(state, flows, forcing, hour)
        state.age_s = self._tracer(state.age_s, flows, self.system.mass_kg, 0.0)
        state.pressure_pa, state.forward_kg_s, state.back_kg_s = air.pressure_pa, air.forward_kg_s, air.back_kg_s
        humidity = self._vapour_pa(state.vapour) / pressure_sat
        worst = float(np.max(np.abs(air.residual_kg_s)))
        free = 0.0 if worst <= NOTHING_KG_S or air.isolated else worst / air.throughput_kg_s
        return Told(
            result.middle_c, result.holder_w, np.asarray(humidity), state.gas.copy(), state.age_s.copy(),
            air.pressure_pa, air.forward_kg_s, air.back_kg_s, on, condensed, removed, tube_w, heat, free, wet,
            gas_left, rounds, newton,
        )  # fmt: skip

    def _coupled(
        self, state: State, forcing: Forcing, hour: int, share: Floats, source_w: Floats, limits: Limits
    ) -> tuple[StepResult, Floats, AirState, int, int]:
        """Air and heat, until the flows belong to the temperatures at the middle of the step."""
        count, outdoor_c = self.system.rooms, float(forcing.outdoor_c[hour])

        def rooms(air: Flows, density: Floats) -> tuple[StepResult, Floats]:
            flows = mass_flows_kg_s(self.system.air, self.system.exchanges, air, density)
            matrix, carried = heat_exchange(self.system.air, self.system.recoveries, air, flows, outdoor_c)
            source = source_w.copy()
            source[:count] += carried
            given = {"boundary_c": forcing.boundary_c[hour], "source_w": source, "exchange_w_k": matrix}
            free = self.stepper.step(state.nodes_c, **given)
            cold, hot = limits.asking(free.after_c[:count])
            for _ in range(count + 1):
                held = self.stepper.step(state.nodes_c, **given, **limits.holders(cold, hot))
                colder, hotter = limits.asking(held.after_c[:count], by=1e-9)
                colder, hotter = colder & ~cold, hotter & ~hot
                if not (colder | hotter).any():
                    break
                cold, hot = (cold | colder) & ~hotter, (hot | hotter) & ~colder
            return held, flows

        start_pa, weight, before, newton, last = state.pressure_pa, 1.0, np.inf, 0, np.zeros(len(self.free))
        begun, _ = rooms(state, self._density(state.nodes_c[:count], state, forcing, hour))
        guess = begun.middle_c[:count]
        for rounds in range(1, MOST_ROUNDS + 1):
            air, density = self._air(guess, state, forcing, hour, share, start_pa)
            newton, start_pa = newton + air.iterations, air.pressure_pa
            result, flows = rooms(air, density)
            change = result.middle_c[:count] - guess
            moved = float(np.max(np.abs(change[self.free]), initial=0.0))
            if moved < SETTLED_K * _looser(rounds):
                return result, flows, air, rounds, newton
            if rounds >= PATIENT_ROUNDS:
                weight = SMALL_WEIGHT
            elif moved > 0.7 * before:
                weight = relaxed(weight, last, change[self.free])
            guess, before, last = guess + weight * change, moved, change[self.free]
        worst = self.system.air.rooms[int(np.argmax(np.abs(change)))]
        raise NotConverged(f"rooms and their air, {worst}", iterations=MOST_ROUNDS, residual=moved)

    def _air(
        self, room_c: Floats, state: State, forcing: Forcing, hour: int, share: Floats, start_pa: Floats
    ) -> tuple[AirState, Floats]:
        density = self._density(room_c, state, forcing, hour)
        wind = forcing.wind_pa[hour]
        return solve_air(self.system.air, density_kg_m3=density, start_pa=start_pa, wind_pa=wind, share=share), density

    def _density(self, room_c: Floats, state: State, forcing: Forcing, hour: int) -> Floats:
        vapour = self._vapour_pa(np.append(state.vapour, forcing.outdoor_vapour[hour]))
        temperature = np.append(room_c, forcing.outdoor_c[hour])
        return np.asarray(
            density_kg_m3(temperature_c=temperature, pressure_pa=self.system.pressure_pa, vapour_pa=vapour)
        )

    def _heat_left(
        self,
        state: State,
        result: StepResult,
        forcing: Forcing,
        hour: int,
        source: Floats,
        flows: Floats,
        air: AirState,
    ) -> float:
        """Heat that came in less what left and what is stored [W]: nothing, but for rounding."""
        count, boundary = self.system.rooms, forcing.boundary_c[hour]
        matrix, carried = heat_exchange(
            self.system.air, self.system.recoveries, air, flows, float(forcing.outdoor_c[hour])
        )
        stored = float(np.sum(self.stepper.capacity * (result.after_c - state.nodes_c))) / self.step_s
        lost = sum(g * (result.middle_c[i] - boundary[k]) for i, k, g in self.system.thermal.boundary_edges)
        lost += float(np.sum(matrix @ result.middle_c[:count])) - float(np.sum(carried))
        return abs(float(stored + lost - np.sum(source) - np.sum(result.holder_w)))

    def _vapour_pa(self, share: Floats) -> Floats:
        return np.asarray(share * self.system.pressure_pa / (MOLAR_RATIO + (1.0 - MOLAR_RATIO) * share))

    def _matrix(self, flows: Floats) -> Floats:
        count = self.system.rooms
        inner = flows[:count, :count]
        return np.asarray(np.diag(self.system.mass_kg / self.step_s + flows[:count].sum(axis=1)) - inner)

    def _tracer(self, level: Floats, flows: Floats, source: Floats, outdoor: float) -> Floats:
        right = self.system.mass_kg / self.step_s * level + source + flows[: self.system.rooms, -1] * outdoor
        return np.asarray(np.linalg.solve(self._matrix(flows), right))

    def _gas(self, state: State, flows: Floats, forcing: Forcing, hour: int) -> float:
        """Carbon dioxide after the step; returns what its balance leaves over, as a share of what passed."""
        count, before = self.system.rooms, state.gas
        source = forcing.gas_kg_s[hour]
        state.gas = self._tracer(before, flows, source, forcing.outdoor_gas)
        came = float(np.sum(source)) + forcing.outdoor_gas * float(np.sum(flows[:count, -1]))
        left = float(flows[-1, :count] @ state.gas)
        stored = float(self.system.mass_kg @ (state.gas - before)) / self.step_s
        return abs(came - left - stored) / max(came, LEAST_PASSING_KG_S)

    def _vapour(
        self,
        state: State,
        flows: Floats,
        forcing: Forcing,
        hour: int,
        saturation: Floats,
        vapour_in: Floats,
        coils: tuple[Floats, Floats],
    ) -> tuple[Floats, Floats, float]:
        """Vapour after the step with what finishes and coils take; what the air cannot hold condenses.

        Where a room dries below its coil by other means, the coil takes nothing.

        Returns (condensed, taken out by coils) [kg] and what the balance leaves over, as a share of what passed.
        """
        count, h, s = self.system.rooms, self.step_s, self.system
        before, outdoor = state.vapour, float(forcing.outdoor_vapour[hour])
        pa_per_share = s.pressure_pa / (MOLAR_RATIO + (1.0 - MOLAR_RATIO) * before)
        store = s.buffer_kg / h
        take = s.buffer_kg_s_pa * store / np.maximum(store + s.buffer_kg_s_pa * saturation, 1e-30)
        contact, wetted = coils
        matrix = self._matrix(flows) + np.diag(take * pa_per_share)
        right = s.mass_kg / h * before + vapour_in + flows[:count, -1] * outdoor
        right = right + take * state.buffer_rh * saturation
        after = np.asarray(np.linalg.solve(matrix + np.diag(contact), right + wetted))
        drier = contact * after < wetted
        if drier.any():
            contact, wetted = np.where(drier, 0.0, contact), np.where(drier, 0.0, wetted)
            after = np.asarray(np.linalg.solve(matrix + np.diag(contact), right + wetted))
        taken = take * (after * pa_per_share - state.buffer_rh * saturation)
        most = MOLAR_RATIO * saturation / (s.pressure_pa - (1.0 - MOLAR_RATIO) * saturation)
        condensed = s.mass_kg * np.maximum(after - most, 0.0)
        removed = contact * after - wetted
        came = float(np.sum(vapour_in)) + outdoor * float(np.sum(flows[:count, -1]))
        left = float(flows[-1, :count] @ after) + float(np.sum(taken)) + float(np.sum(removed))
        stored = float(s.mass_kg @ (after - before)) / h
        state.vapour = np.minimum(after, most)
        state.buffer_rh = state.buffer_rh + np.where(s.buffer_kg > 0.0, taken * h / np.maximum(s.buffer_kg, 1e-30), 0.0)
        return condensed, removed * h, abs(came - left - stored) / max(abs(came), abs(left), LEAST_PASSING_KG_S)

    def _controls(self, state: State, forcing: Forcing, hour: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Shares of the routes, heat of the nodes, vapour into the rooms, which rows are on, and flow of the tubes."""
        share, given = forcing.route_share[hour].copy(), forcing.source_w[hour].copy()
        if forcing.gains_w.size:
            given[: self.system.rooms] += forcing.gains_w[hour]
        source = given.copy()
        vapour_in = forcing.vapour_kg_s[hour].copy()
        on, tubes = np.zeros(len(self.system.controls)), np.zeros(len(self.system.tubes))
        for k, row in enumerate(self.system.controls):
            wants = self._wants(row.sensor, row.room, row.on_at if state.on_s[k] < 0.0 else row.off_at, row.above,
                                state, forcing, hour) and forcing.permit[hour, k] > 0.5  # fmt: skip
            wanted = wants or state.hold_s[k] > 0.0
            state.hold_s[k] = row.hold_s if wants else max(state.hold_s[k] - self.step_s, 0.0)
            since = abs(state.on_s[k])
            if state.on_s[k] >= 0.0:
                running = wanted or since < row.min_on_s
                state.on_s[k] = since + self.step_s if running else -self.step_s
            else:
                running = wanted and since >= row.min_off_s
                state.on_s[k] = self.step_s if running else -(since + self.step_s)
            on[k] = float(running)
            level = row.level_on if running else row.level_off
            if level is None:
                continue
            if row.target is Target.ROUTE_SHARE:
                share[row.index] = level * forcing.route_share[hour, row.index]
            elif row.target is Target.VAPOUR_KG_S:
                vapour_in[row.index] = forcing.vapour_kg_s[hour, row.index] + level
            elif row.target is Target.TUBE_SHARE:
                tubes[row.index] = level
            else:
                source[row.index] = given[row.index] + level
        return share, source, vapour_in, on, tubes

    def _tubes(self, state: State, forcing: Forcing, hour: int, source: Floats, share: Floats) -> Floats:
        """Heat of the tubes in this step, added to their nodes: half of what it warms its node counts against it."""
        given = np.zeros(len(self.system.tubes))
        for k, tube in enumerate(self.system.tubes):
            passes = share[k] * tube.w_k
            over = max(float(forcing.supply_c[hour, k] - state.nodes_c[tube.node]), 0.0)
            given[k] = passes * over / (1.0 + 0.5 * passes * self.step_s / self.stepper.capacity[tube.node])
            source[tube.node] += given[k]
        return given

    def _films(self, state: State, source: Floats) -> None:
        """Where convection follows the difference: what it carries beyond its constant (temperatures at the start)."""
        source += beyond_constant_w(self.system.films, state.nodes_c)

    def _wants(
        self, sensor: Sensor, room: int, limit: float, above: bool, state: State, forcing: Forcing, hour: int
    ) -> bool:
        if sensor is Sensor.NOTHING:
            return True
        if sensor in (Sensor.AIR_C, Sensor.NODE_C):
            value = float(state.nodes_c[room])
        elif sensor is Sensor.HUMIDITY:
            saturation = float(saturation_pressure_pa(temperature_c=state.nodes_c[room]))
            value = float(self._vapour_pa(state.vapour)[room]) / saturation
        elif sensor is Sensor.CARBON_DIOXIDE_PPM:
            value = float(state.gas[room]) / fraction_of_ppm(1.0)
        else:
            value = float(forcing.outdoor_c[hour])
        return value > limit if above else value < limit


def run_reference(system: System, forcing: Forcing, state: State, *, step_s: float, slot_s: float = 3600.0) -> Series:
    """All hours of the forcing, from a state that is left as it was."""
    steps = check_run(system, forcing, state, step_s, slot_s)
    stepper, now, per_slot = Reference(system, step_s), state.copy(), round(slot_s / step_s)
    told = [stepper.step(now, forcing, hour) for hour in range(forcing.hours) for _ in range(steps)]

    def slots(name: str) -> Floats:
        values = np.array([getattr(t, name) for t in told])
        return np.asarray(values.reshape(len(told) // per_slot, per_slot, *values.shape[1:]).mean(axis=1))

    means = {name: slots(name) for name in CHANNELS}
    gas = means.pop("gas") / fraction_of_ppm(1.0)
    sums = {name: slots(name) * per_slot for name in SUMS}
    worst = {name: max(getattr(t, name) for t in told) for name in ("heat_w", "air_share", "vapour_share", "gas_share")}
    count = {name: sum(getattr(t, name) for t in told) for name in ("rounds", "newton")}
    return Series(slot_s, carbon_dioxide_ppm=gas, balances=Balances(**worst, **count), state=now, **sums, **means)
