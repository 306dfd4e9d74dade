"""The house with what was measured in place of what was designed: what sleepers then breathe, beside the design."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.design.breathing import WeekAir, calculate_week, sleeping_rooms
from inshell.design.in_place import in_place
from inshell.design.room_pressures import RoomPressures, calculate_room_pressures
from inshell.house.as_built import MEASURABLE
from inshell.house.model.air_devices import Fan, Hood
from inshell.jobs.answer import Answer, whole_house_flows
from inshell.network.fans import full_curve
from inshell.physics.fan import flow_at_m3_s


@dataclass(frozen=True)
class BuiltRoom:
    """One sleeper's room in the same week, door shut: as designed and as built."""

    room: str
    outdoor_m3_s: tuple[float, float]
    ppm_most: tuple[float, float]
    exposure: tuple[float, float]


@dataclass(frozen=True)
class Compared:
    """One flow that was measured beside its design."""

    device: str
    setting: str
    design_m3_s: float
    measured_m3_s: float
    documented: bool

    @property
    def off_share(self) -> float | None:
        """How far off, as a share of the design; None where nothing was designed."""
        return self.measured_m3_s / self.design_m3_s - 1.0 if self.design_m3_s > 0.0 else None


@dataclass(frozen=True)
class BuiltAir:
    """As built: flows compared, the whole-house flow, sleepers' rooms, the deepest pressure, as (designed, built).

    `missing` are flows of the sheet that nobody measured: there the design stands.
    """

    week: str
    flows: tuple[Compared, ...]
    whole_house_m3_s: tuple[float, float | None]
    rooms: tuple[BuiltRoom, ...]
    deepest_pa: tuple[float, float]
    missing: tuple[str, ...]


def built_air(
    answer: Answer, designed: WeekAir, pressures: tuple[RoomPressures, ...], house_pa: dict[str, float],
    required_m3_s: float, tested_m3_s: float | None,
) -> BuiltAir | None:  # fmt: skip
    """The same week and the same combinations with the measured flows; None where nothing was measured."""
    if not answer.job.measured:
        return None
    house, geometry, climate = in_place(answer.house, answer.job.measured, house_pa), answer.geometry, answer.climate
    week = calculate_week(
        house, geometry, climate, week=designed.week, doors=designed.doors, required_m3_s=required_m3_s,
        tested_flow_m3_s=tested_m3_s,
    )  # fmt: skip
    rooms = tuple(
        BuiltRoom(room, (d.outdoor_m3_s, b.outdoor_m3_s), (d.ppm_most, b.ppm_most),
                  (d.relative_exposure, b.relative_exposure))
        for room in sleeping_rooms(house)
        for d, b in [(designed.of(room), week.of(room))]
    )  # fmt: skip
    built = calculate_room_pressures(house, geometry, climate, tested_flow_m3_s=tested_m3_s)
    deepest = tuple(min(float(p.pressure_pa.min()) for p in told) for told in (pressures, built))
    flows = (max(whole_house_flows(answer.house)), _always_built(answer))
    return BuiltAir(
        designed.week, tuple(_compared(answer)), flows, rooms, (deepest[0], deepest[1]), tuple(_missing(answer))
    )


def _always_built(answer: Answer) -> float | None:
    """What always runs as built; None unless every flow that it counts was measured and documented."""
    house = answer.house
    counted = {(f.id, "base_flow") for f in house.fan if "whole-house" in f.serves and f.base_flow_m3_s > 0.0}
    for unit in house.ventilator:
        counted |= {(unit.id, "supply_flow"), (unit.id, "exhaust_flow")}
    measured = answer.job.measured
    if all(key in measured and measured[key].is_documented for key in counted):
        return max(whole_house_flows(answer.built))
    return None


def _compared(answer: Answer) -> list[Compared]:
    designs = {(item, what): design for item, what, design in sheet_flows(answer)} | expected_m3_s(answer)
    return [
        Compared(*key, designs.get(key, 0.0), value.value_m3_s, value.is_documented)
        for key, value in answer.job.measured.items()
    ]


def _missing(answer: Answer) -> list[str]:
    return [f"{item} {what}" for item, what, _ in sheet_flows(answer) if (item, what) not in answer.job.measured]


def sheet_flows(answer: Answer) -> list[tuple[str, str, float]]:
    """(device, quantity, designed flow [m3/s]) of every flow that must be measured."""
    return [
        (item.id, what, float(getattr(item, field)))
        for kind, fields in MEASURABLE.items()
        for item in getattr(answer.house, kind)
        for what, field in fields.items()
        if getattr(item, field) > 0.0 and getattr(item, "vented", True)
    ]


def pressures_alone(base: Answer) -> dict[str, float]:
    """House pressure with each device running alone, with the design-cold stack."""
    return {state.running[0]: state.with_stack_pa for state in base.pressure.states if len(state.running) == 1}


def expected_m3_s(base: Answer) -> dict[tuple[str, str], float]:
    """What a meter at the grille should show: the flow on its run with the house at its pressure, if known."""
    at = pressures_alone(base)
    told: dict[tuple[str, str], float] = {}
    devices: list[Fan | Hood] = [*base.house.fan, *base.house.hood]
    for device in devices:
        if device.duct is None:
            continue
        supplies = isinstance(device, Fan) and device.kind == "supply"
        against = max((1.0 if supplies else -1.0) * at.get(device.id, 0.0), 0.0)
        moved = float(flow_at_m3_s(curve=full_curve(device), pressure_pa=against))
        told[device.id, "flow"] = min(moved, device.rated_flow_m3_s if isinstance(device, Fan) else device.flow_m3_s)
        if isinstance(device, Fan):
            told[device.id, "base_flow"] = min(moved, device.base_flow_m3_s)
    return told
