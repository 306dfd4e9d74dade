"""What running fans do to the pressure of the house: one zone, every combination of devices."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.optimize import brentq

from inshell.errors import NotConverged
from inshell.findings import Finding
from inshell.house.geometry import Geometry
from inshell.house.geometry.surfaces import GROUND
from inshell.house.model.air_devices import Dryer, Fan, Hood, Ventilator
from inshell.house.model.house import House
from inshell.network.fans import full_curve, rated_curve
from inshell.physics.air import density_kg_m3
from inshell.physics.fan import FanCurve, flow_at_m3_s
from inshell.physics.flow import coefficient_m3_s_pan, mean_leak_flow, stack_gradient_pa_m
from inshell.physics.types import Floats

MOST_STATES = 1024


@dataclass(frozen=True)
class Device:
    """Something that moves air through the shell. `sign` is -1 for exhaust, +1 for supply.

    `most_m3_s` is a setting below the curve: the fan holds that flow until its curve limits it.
    """

    id: str
    name: str
    sign: float
    curve: FanCurve
    most_m3_s: float | None = None

    @property
    def free_flow_m3_s(self) -> float:
        """Flow against no pressure, at this setting."""
        return min(self.curve.flow_m3_s[0], self.most_m3_s or self.curve.flow_m3_s[0])

    @property
    def base_id(self) -> str:
        """Id of the device itself, whatever its setting."""
        return self.id.partition(":")[0]

    def net_flow_m3_s(self, house_pressure_pa: float) -> float:
        """Flow into the house at a house pressure; exhaust works against suction, supply against pressure."""
        against = self.sign * house_pressure_pa
        flow = float(flow_at_m3_s(curve=self.curve, pressure_pa=max(0.0, against)))
        return self.sign * (flow if self.most_m3_s is None else min(flow, self.most_m3_s))


@dataclass(frozen=True)
class Shell:
    """The leakage of the house over height, for one zone."""

    coefficient_m3_s_pan: float
    exponent: float
    low_m: Floats
    high_m: Floats
    weight: Floats

    def outflow_m3_s(self, floor_pressure_pa: float, gradient_pa_m: float) -> float:
        """Flow out through the leaks at a pressure at the lowest floor."""
        mean = mean_leak_flow(
            floor_pressure_pa=floor_pressure_pa,
            gradient_pa_m=gradient_pa_m,
            low_m=self.low_m,
            high_m=self.high_m,
            exponent=self.exponent,
        )
        return float(self.coefficient_m3_s_pan * (self.weight @ mean))


@dataclass(frozen=True)
class State:
    """One combination of running devices."""

    running: tuple[str, ...]
    fans_alone_pa: float
    with_stack_pa: float
    flows_m3_s: tuple[float, ...]


@dataclass(frozen=True)
class PressureResult:
    """House pressure at the lowest floor for every combination, fans alone and with the design-cold stack."""

    states: tuple[State, ...]
    stack_gradient_pa_m: float
    findings: tuple[Finding, ...]
    devices: tuple[Device, ...]
    flow_at_50_pa_m3_s: float

    def of(self, running: set[str]) -> State:
        """The state of one combination."""
        return next(state for state in self.states if set(state.running) == running)

    @property
    def lowest(self) -> State:
        """The deepest pressure with stack."""
        return min(self.states, key=lambda state: state.with_stack_pa)


def house_pressure_pa(*, flow_at_50_pa_m3_s: float, exponent: float, exhaust_m3_s: float) -> float:
    """House pressure under a constant net exhaust: -(Q/C)^(1/n), C = Q50/50^n; an upper bound of the suction.

    >>> round(house_pressure_pa(flow_at_50_pa_m3_s=80.0, exponent=0.65, exhaust_m3_s=50.0), 1)
    -24.3
    """
    ratio = abs(exhaust_m3_s) / flow_at_50_pa_m3_s
    pressure = 50.0 * ratio ** (1.0 / exponent)
    return float(-pressure if exhaust_m3_s > 0.0 else pressure)


def shell_of(geometry: Geometry, *, flow_at_50_pa_m3_s: float, exponent: float) -> Shell:
    """Leakage spread over the enclosure by area and height, measured from the lowest floor."""
    surfaces = [s for s in geometry.surfaces if s.is_outer and s.other != GROUND and s.area_m2 > 0.0]
    areas = np.array([s.area_m2 for s in surfaces])
    return Shell(
        coefficient_m3_s_pan=float(
            coefficient_m3_s_pan(flow_m3_s=flow_at_50_pa_m3_s, pressure_pa=50.0, exponent=exponent)
        ),
        exponent=exponent,
        low_m=np.array([s.low_m for s in surfaces]) - geometry.lowest_m,
        high_m=np.array([s.high_m for s in surfaces]) - geometry.lowest_m,
        weight=areas / areas.sum(),
    )


def supply_at_m3_s(unit: Ventilator, outside_c: float) -> float:
    """Supply of a recovery ventilator at an outdoor temperature: nothing where frost stops it or while it defrosts."""
    stop = unit.supply_stops_below_c
    rests = unit.defrost == "exhaust-only" and outside_c < unit.defrost_below_c
    return 0.0 if rests or (stop is not None and outside_c < stop) else float(unit.supply_flow_m3_s)


def devices_of(house: House, outside_c: float = 20.0) -> tuple[list[Device], list[Finding]]:
    """Everything that moves air through the shell, with its curve or the declared default.

    A recovery ventilator whose supply stops at that outdoor temperature only exhausts.
    """
    devices = [device for fan in house.fan for device in _fan_settings(fan)]
    blowers: list[Hood | Dryer] = [*house.hood]
    blowers += [dryer for dryer in house.dryer if dryer.vented and dryer.flow_m3_s > 0.0]
    devices += [Device(one.id, one.name or one.id, -1.0, full_curve(one)) for one in blowers]
    for unit in house.ventilator:
        net = supply_at_m3_s(unit, outside_c) - unit.exhaust_flow_m3_s
        if abs(net) > 1e-9:
            curve = rated_curve(abs(net), 0.0, unit.maximum_pressure_pa)
            devices.append(Device(unit.id, unit.name or unit.id, 1.0 if net > 0.0 else -1.0, curve))
    assumed = [device.id for device in devices if device.curve.assumed and ":" not in device.id]
    findings = [Finding("default-fan-curve", "fans", {"devices": ", ".join(assumed)})] if assumed else []
    return devices, findings


def _fan_settings(fan: Fan) -> list[Device]:
    """A fan at full speed and, where it has one, at its base setting."""
    sign, name = (-1.0 if fan.kind == "exhaust" else 1.0), fan.name or fan.id
    curve = full_curve(fan)
    settings = [Device(fan.id, name, sign, curve)]
    if 0.0 < fan.base_flow_m3_s < fan.rated_flow_m3_s:
        settings.append(Device(f"{fan.id}:base", f"{name}, base", sign, curve, fan.base_flow_m3_s))
    return settings


def solve_pressure(shell: Shell, devices: list[Device], gradient_pa_m: float) -> float:
    """Pressure at the lowest floor at which the fans and the leaks balance; raises NotConverged."""

    def net_in(pressure: float) -> float:
        return sum(device.net_flow_m3_s(pressure) for device in devices) - shell.outflow_m3_s(pressure, gradient_pa_m)

    reach = 200.0 + abs(gradient_pa_m) * float(shell.high_m.max())
    for _ in range(6):
        if net_in(-reach) > 0.0 > net_in(reach):
            root, info = brentq(net_in, -reach, reach, xtol=1e-9, full_output=True, disp=False)
            if not info.converged:
                raise NotConverged("house pressure", iterations=info.iterations, residual=net_in(root))
            return float(root)
        reach *= 4.0
    raise NotConverged("house pressure", iterations=6, residual=net_in(reach))


def calculate_pressures(
    house: House,
    geometry: Geometry,
    *,
    flow_at_50_pa_m3_s: float,
    exponent: float,
    inside_c: float,
    outside_c: float,
    pressure_pa: float,
) -> PressureResult:
    """House pressure for every combination of devices, at most MOST_STATES of them."""
    devices, findings = devices_of(house, outside_c)
    choices, dropped = _choices(devices)
    if dropped:
        findings.append(Finding("too-many-devices", "fans", {"most": MOST_STATES, "left": ", ".join(dropped)}))
    shell = shell_of(geometry, flow_at_50_pa_m3_s=flow_at_50_pa_m3_s, exponent=exponent)
    gradient = stack_gradient_pa_m(
        inside_kg_m3=float(density_kg_m3(temperature_c=inside_c, pressure_pa=pressure_pa)),
        outside_kg_m3=float(density_kg_m3(temperature_c=outside_c, pressure_pa=pressure_pa)),
    )
    states = []
    for pattern in product(*choices):
        running = [device for device in pattern if device is not None]
        alone = solve_pressure(shell, running, 0.0)
        stacked = solve_pressure(shell, running, gradient)
        flows = tuple(abs(device.net_flow_m3_s(stacked)) for device in running)
        states.append(State(tuple(device.id for device in running), alone, stacked, flows))
    findings += _beyond(states, devices)
    return PressureResult(tuple(states), gradient, tuple(findings), tuple(devices), flow_at_50_pa_m3_s)


def _choices(devices: list[Device]) -> tuple[list[list[Device | None]], list[str]]:
    """For each device: off and each of its settings; the smallest flows are left out past MOST_STATES combinations."""
    groups: dict[str, list[Device]] = {}
    for device in sorted(devices, key=lambda d: -d.curve.flow_m3_s[0]):
        groups.setdefault(device.base_id, []).append(device)
    choices: list[list[Device | None]] = []
    dropped, count = [], 1
    for name, settings in groups.items():
        if count * (len(settings) + 1) > MOST_STATES:
            dropped.append(name)
            continue
        count *= len(settings) + 1
        choices.append([None, *settings])
    return choices, dropped


def _beyond(states: list[State], devices: list[Device]) -> list[Finding]:
    """Fans that move almost nothing in some combination: the house pulls back as hard as they can."""
    curves = {device.id: device for device in devices}
    worst: dict[str, tuple[float, State]] = {}
    for state in states:
        for name, flow in zip(state.running, state.flows_m3_s, strict=True):
            share = flow / curves[name].free_flow_m3_s
            if share < worst.get(name, (1.0, state))[0]:
                worst[name] = (share, state)
    return [
        Finding(
            "fan-beyond-its-pressure",
            name,
            {
                "share": f"{share * 100:.0f} %",
                "pressure": (state.with_stack_pa, "pressure"),
                "running": ", ".join(state.running),
            },
        )
        for name, (share, state) in worst.items()
        if share < 0.5
    ]
