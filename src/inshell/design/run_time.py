"""What fans that do not always run are worth: by the rules' own counting and by what a steady source would see."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from inshell.design.breathing import site_kg_m3
from inshell.design.drivers import Prepared
from inshell.house.geometry import Geometry
from inshell.house.model.air_devices import Fan
from inshell.house.model.house import House
from inshell.network.system import Series
from inshell.physics.types import Floats
from inshell.physics.ventilation import on_off_effectiveness, relative_exposure
from inshell.sources import table

RUNS_M3_S = 1e-6
WINDOW_H = 4
FULL_SHARE = 0.995


@dataclass(frozen=True)
class RunTime:
    """A fan through a week: how it runs, what each way of counting credits it with [m3/s], and what that rests on.

    `base` is what it always moves at least, `mean` its time average. `by_average` is the credit of the rule that takes
    the time average where it runs at least once every 3 h, else the average times its effectiveness; `by_window` that
    of the rule that looks at the share of every 4 h (None below a quarter). `effective` is the steady flow that would
    leave the same mean of a steady source in one well-mixed zone.
    """

    device: str
    on_fraction: float
    longest_off_h: float
    base_m3_s: float
    mean_m3_s: float
    by_average_m3_s: float
    by_window_m3_s: float | None
    effective_m3_s: float
    why: str

    @property
    def effectiveness(self) -> float:
        """Effective flow over the time average, by simulation."""
        return self.effective_m3_s / self.mean_m3_s if self.mean_m3_s > 0.0 else 0.0


def calculate_run_time(device: str, flows_m3_s: Floats, volume_m3: float) -> RunTime:
    """From the flow of every hour of a week that repeats."""
    on = flows_m3_s > RUNS_M3_S
    mean, fraction = float(flows_m3_s.mean()), float(on.mean())
    if mean <= 0.0:
        return RunTime(device, 0.0, float(len(flows_m3_s)), 0.0, 0.0, 0.0, None, 0.0, "it never runs")
    gap = longest_off_h(on)
    running = float(flows_m3_s[on].mean())
    within = float(table("fresh_air")["run_time"]["average_within_h"])
    by_average, why = mean, "it always runs" if fraction > FULL_SHARE else f"it runs at least once every {within:.0f} h"
    if gap > within:
        starts = max(sum(1 for one, two in pairwise([*on, on[0]]) if two and not one), 1)
        by_average = _worth(fraction, running, len(on) / starts * 3600.0, volume_m3) * mean
        why = f"it stands for {gap:.0f} h at a time"
    return RunTime(
        device, fraction, gap, float(flows_m3_s.min()), mean, by_average, _by_window(flows_m3_s, on),
        effective_flow_m3_s(flows_m3_s, volume_m3), why,
    )  # fmt: skip


def _worth(fraction: float, running_m3_s: float, cycle_s: float, volume_m3: float) -> float:
    """Effectiveness of an on-off fan whose flow is known: the rule's formula at the flow that it is then worth."""
    worth = 1.0
    for _ in range(60):
        changes = worth * fraction * running_m3_s * cycle_s / volume_m3
        try:
            worth = 0.5 * (worth + on_off_effectiveness(on_fraction=fraction, changes=changes))
        except ValueError:
            return 0.0
    return worth


def longest_off_h(on: np.ndarray) -> float:
    """The longest stand of a week that repeats [h]."""
    if on.all():
        return 0.0
    if not on.any():
        return float(len(on))
    twice = np.concatenate([on, on])
    longest = now = 0
    for runs in twice:
        now = 0 if runs else now + 1
        longest = max(longest, now)
    return float(min(longest, len(on)))


def _by_window(flows_m3_s: Floats, on: np.ndarray) -> float | None:
    """Flow while it runs over the factor of the poorest 4 h; None where that is less than a quarter."""
    row = table("fresh_air")["intermittent"]
    twice = np.concatenate([on, on[: WINDOW_H - 1]]).astype(float)
    shares = np.convolve(twice, np.full(WINDOW_H, 1.0 / WINDOW_H), mode="valid")
    least = float(shares.min())
    if least < row["share"][0] - 1e-9:
        return None
    factor = float(np.interp(least, row["share"], row["factor"]))
    return float(flows_m3_s[on].min()) / factor


def effective_flow_m3_s(flows_m3_s: Floats, volume_m3: float) -> float:
    """The steady flow with the same mean of a steady source: V dC/dt = S - Q C through the week until it repeats."""
    flows_m3_s = np.asarray(flows_m3_s, dtype=float)
    if not np.any(flows_m3_s > 0.0):
        return 0.0
    start, told = 1.0, np.ones(1)
    for _ in range(400):
        told = relative_exposure(required_m3_s=1e-3, volume_m3=volume_m3, flows_m3_s=flows_m3_s, start=start)
        if abs(float(told[-1]) - start) < 1e-9 * max(start, 1.0):
            break
        start = float(told[-1])
    begins = np.concatenate([[start], told[:-1]])
    return 1e-3 / float(np.mean(_means(begins, flows_m3_s, volume_m3)))


def _means(begins: Floats, flows_m3_s: Floats, volume_m3: float) -> Floats:
    """Mean exposure within each hour, from where it begins."""
    rate = np.maximum(flows_m3_s, 1e-9) * 3600.0 / volume_m3
    ratio = 1e-3 / np.maximum(flows_m3_s, 1e-9)
    standing = begins + 0.5 * 1e-3 * 3600.0 / volume_m3
    return np.asarray(np.where(flows_m3_s > 1e-9, ratio + (begins - ratio) * (1.0 - np.exp(-rate)) / rate, standing))


@dataclass(frozen=True)
class HouseTime:
    """Fans that are counted for the whole house, and all of them together.

    `by_age_m3_s` is the house's volume over the mean age of its air in the coupled rooms: leaks, fans, doors together.
    """

    fans: tuple[RunTime, ...]
    by_age_m3_s: float


ALL = "all together"
Side = Literal["supply", "exhaust"]


def calculate_house_time(
    house: House, geometry: Geometry, ready: Prepared, series: Series, rows: slice, *, side: Side
) -> HouseTime:
    """From the hours of a week that was run; `side` is the one that the design counts on."""
    volumes = np.array([geometry.space(room).volume_m3 for room in ready.routes.network.rooms])
    flows = {
        fan.id: _flows(ready, series, rows, {fan.id, f"{fan.id} boost"}) for fan in house.fan if _counts(fan, side)
    }
    for unit in house.ventilator:
        ways = {f"{unit.id} from {room}" for room in unit.exhaust_rooms}
        if side == "supply":
            ways = {f"{unit.id} to {room}" for room in unit.supply_rooms}
        flows[unit.id] = _flows(ready, series, rows, ways)
    told = [calculate_run_time(name, flow, float(volumes.sum())) for name, flow in flows.items()]
    if len(flows) > 1:
        together = calculate_run_time(ALL, np.sum(list(flows.values()), axis=0), float(volumes.sum()))
        by_average, by_window = sum(t.by_average_m3_s for t in told), sum(t.by_window_m3_s or 0.0 for t in told)
        told.append(
            replace(together, by_average_m3_s=by_average, by_window_m3_s=by_window, why="the credits of each, added up")
        )
    age = float((series.age_s[rows].mean(axis=0) * volumes).sum() / volumes.sum())
    return HouseTime(tuple(told), float(volumes.sum()) / age if age > 0.0 else 0.0)


def _counts(fan: Fan, side: Side) -> bool:
    return "whole-house" in fan.serves and fan.kind == side


def _flows(ready: Prepared, series: Series, rows: slice, names: set[str]) -> Floats:
    """Flow of some routes together, hour by hour [m3/s]."""
    mine = [k for k, link in enumerate(ready.system.air.links) if link.name in names]
    return np.asarray(series.forward_kg_s[rows][:, mine].sum(axis=1) / site_kg_m3(ready.system.pressure_pa))
