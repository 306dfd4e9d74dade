"""From readings of a pressurisation test to its result, its warnings and a verdict under each rule."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from inshell.errors import refuse
from inshell.findings import Finding
from inshell.physics.air import pressurisation_density_kg_m3
from inshell.physics.flow import leakage_area_m2
from inshell.physics.pressurisation import (
    REFERENCE_DENSITY_KG_M3,
    Direction,
    Method,
    PowerLawFit,
    envelope_flow_factor,
    fit_power_law,
    standard_coefficient_factor,
)
from inshell.physics.types import Floats
from inshell.sources import table

EQLA_DISCHARGE = 0.611


@dataclass(frozen=True)
class Readings:
    """What was read: signed or unsigned pressures, flows where the fan stands, and the conditions."""

    pressure_pa: Floats
    flow_m3_s: Floats
    direction: tuple[Direction | None, ...] = ()
    inside_c: float | None = None
    outside_c: float | None = None
    elevation_m: float = 0.0
    zero_before_pa: float | None = None
    zero_after_pa: float | None = None
    wind_m_s: float | None = None


@dataclass(frozen=True)
class OneDirection:
    """The reduction of one direction. Flow and areas come from the corrected coefficient."""

    direction: Direction
    fit: PowerLawFit
    coefficient_m3_s_pan: float
    density_kg_m3: float
    pressures_pa: tuple[float, ...] = field(repr=False)
    flows_m3_s: tuple[float, ...] = field(repr=False)

    def flow_m3_s(self, pressure_pa: float) -> float:
        """Corrected flow at a pressure."""
        return float(self.coefficient_m3_s_pan * pressure_pa**self.fit.exponent)

    def area_m2(self, pressure_pa: float, discharge: float) -> float:
        """Leakage area at a pressure."""
        return float(
            leakage_area_m2(
                coefficient_m3_s_pan=self.coefficient_m3_s_pan,
                exponent=self.fit.exponent,
                pressure_pa=pressure_pa,
                discharge=discharge,
                density_kg_m3=REFERENCE_DENSITY_KG_M3,
            )
        )


@dataclass(frozen=True)
class TestResult:
    """A reduced test: the mean of the directions that were tested."""

    method: Method
    directions: tuple[OneDirection, ...]
    volume_m3: float
    findings: tuple[Finding, ...]
    one_point: bool = False

    __test__ = False

    @property
    def errors(self) -> tuple[str, ...]:
        """What makes the test invalid, as finding codes in words; no rule is judged by an invalid test."""
        return tuple(f.code.replace("-", " ") for f in self.findings if f.severity == "error")

    def _mean(self, values: list[float]) -> float:
        return sum(values) / len(values)

    @property
    def exponent(self) -> float:
        """Pressure exponent."""
        return self._mean([d.fit.exponent for d in self.directions])

    @property
    def exponent_ci95(self) -> tuple[float, float] | None:
        """95 % interval of the exponent: precision of the fit only."""
        halves = [d.fit.exponent_half_width for d in self.directions]
        known = [h for h in halves if h is not None]
        if len(known) < len(halves):
            return None
        half = math.sqrt(sum(h * h for h in known)) / len(known)
        return self.exponent - half, self.exponent + half

    @property
    def coefficient_m3_s_pan(self) -> float:
        """Corrected leakage coefficient."""
        if len(self.directions) == 1:
            return self.directions[0].coefficient_m3_s_pan
        return float(self.flow_at_50_pa_m3_s / 50.0**self.exponent)

    @property
    def r2(self) -> float:
        """Coefficient of determination, the worse of the directions."""
        return min(d.fit.r2 for d in self.directions)

    @property
    def flow_at_50_pa_m3_s(self) -> float:
        """Corrected flow at 50 Pa."""
        return self._mean([d.flow_m3_s(50.0) for d in self.directions])

    @property
    def flow_at_50_pa_range_m3_s(self) -> tuple[float, float] | None:
        """95 % interval of the flow at 50 Pa: precision of the fit only, no instrument bias."""
        halves = [d.fit.ln_flow_half_width(50.0) for d in self.directions]
        known = [h for h in halves if h is not None]
        if len(known) < len(halves):
            return None
        half = math.sqrt(sum(h * h for h in known)) / len(known)
        flow = self.flow_at_50_pa_m3_s
        return flow * math.exp(-half), flow * math.exp(half)

    @property
    def ach50(self) -> float:
        """Air changes per hour at 50 Pa."""
        return self.flow_at_50_pa_m3_s * 3600.0 / self.volume_m3

    @property
    def ela4_m2(self) -> float:
        """Effective leakage area at 4 Pa."""
        return self._mean([d.area_m2(4.0, 1.0) for d in self.directions])

    @property
    def eqla10_m2(self) -> float:
        """Equivalent leakage area at 10 Pa."""
        return self._mean([d.area_m2(10.0, EQLA_DISCHARGE) for d in self.directions])


def reduce_test(
    readings: Readings,
    *,
    volume_m3: float,
    method: Method,
    direction: Direction = "depressurise",
    one_point_exponent: float | None = None,
) -> TestResult:
    """Reduce a test by a named method; raises InputRefused where no line can be drawn through the readings.

    `direction` gives unsigned readings their sign. `one_point_exponent` states that this is a one-point test and
    which exponent is assumed; it is never guessed from the readings.
    """
    _refuse_mixed_signs(readings)
    zeros = [z for z in (readings.zero_before_pa, readings.zero_after_pa) if z is not None]
    groups = _by_direction(readings, direction, sum(zeros) / len(zeros) if zeros else 0.0)
    results = [
        _reduce_one(way, pressure, flow, readings, method, one_point_exponent)
        for way, (pressure, flow) in groups.items()
    ]
    result = TestResult(method, tuple(results), volume_m3, (), one_point_exponent is not None)
    return TestResult(method, tuple(results), volume_m3, tuple(_warnings(readings, result, zeros)), result.one_point)


def _refuse_mixed_signs(readings: Readings) -> None:
    """A sign is either given with every reading or with none; where directions stand beside them it follows these."""
    stated = readings.direction or (None,) * len(readings.pressure_pa)
    plain = [float(p) for p, way in zip(readings.pressure_pa, stated, strict=True) if way is None]
    below, above = [p for p in plain if p < 0.0], [p for p in plain if p > 0.0]
    odd = min(below, above, key=len)
    if odd:
        raise refuse(
            "readings",
            f"{odd[0]:+.4g} Pa among {max(len(below), len(above))} readings of the other sign",
            "readings of one sign, or a column that says depressurise or pressurise of each",
            "Look at the sign of that line",
        )


def _by_direction(readings: Readings, default: Direction, zero_pa: float) -> dict[Direction, tuple[Floats, Floats]]:
    """Pressures less the zero pressure and flows, apart for each direction; magnitudes are returned."""
    signs: dict[Direction, float] = {"depressurise": -1.0, "pressurise": 1.0}
    stated = readings.direction or (None,) * len(readings.pressure_pa)
    groups: dict[Direction, tuple[list[float], list[float]]] = {}
    for pressure, flow, way in zip(readings.pressure_pa, readings.flow_m3_s, stated, strict=True):
        actual: Direction = way or ("depressurise" if pressure < 0.0 else default)
        signed = pressure if pressure < 0.0 else signs[actual] * pressure
        corrected = signs[actual] * (signed - zero_pa)
        groups.setdefault(actual, ([], []))[0].append(corrected)
        groups[actual][1].append(abs(flow))
    return {way: (np.array(p), np.array(q)) for way, (p, q) in groups.items()}


def _reduce_one(
    way: Direction, pressure: Floats, flow: Floats, readings: Readings, method: Method, one_point: float | None
) -> OneDirection:
    bad = [f"{p:.3g} Pa, {q:.3g} m3/s" for p, q in zip(pressure, flow, strict=True) if p <= 0.0 or q <= 0.0]
    if bad:
        raise refuse(
            "readings",
            f"{len(bad)} readings are not above zero once the zero reading is taken off: {bad[0]}",
            "pressures and flows above zero",
            "Check signs, direction and zero readings",
        )
    if one_point is None and float(np.ptp(pressure)) < 0.01 * float(pressure.max()):
        raise refuse(
            "readings",
            f"{len(pressure)} readings, all at {pressure.mean():.1f} Pa",
            "at least two pressures",
            "For a one-point test say so and name the exponent that is assumed: --one-point 0.65",
        )
    inside = 20.0 if readings.inside_c is None else readings.inside_c
    outside = 20.0 if readings.outside_c is None else readings.outside_c
    if method != "as-entered":
        flow = flow * envelope_flow_factor(
            direction=way, inside_c=inside, outside_c=outside, elevation_m=readings.elevation_m
        )
    fit = (
        _one_point_fit(pressure, flow, one_point)
        if one_point is not None
        else fit_power_law(pressure_pa=pressure, flow_m3_s=flow)
    )
    leak_air = outside if way == "depressurise" else inside
    factor = standard_coefficient_factor(
        method=method, leak_air_c=leak_air, elevation_m=readings.elevation_m, exponent=fit.exponent
    )
    rho = (
        REFERENCE_DENSITY_KG_M3
        if method == "as-entered"
        else float(pressurisation_density_kg_m3(temperature_c=leak_air, elevation_m=readings.elevation_m))
    )
    return OneDirection(
        way, fit, fit.coefficient_m3_s_pan * factor, rho, tuple(map(float, pressure)), tuple(map(float, flow))
    )


def _one_point_fit(pressure: Floats, flow: Floats, exponent: float) -> PowerLawFit:
    coefficient = float(np.exp(np.mean(np.log(flow) - exponent * np.log(pressure))))
    return PowerLawFit(coefficient, exponent, 1.0, None, None, len(pressure), 0.0, 0.0, None, None)


def _warnings(readings: Readings, result: TestResult, zeros: list[float]) -> list[Finding]:
    where = "test"
    found: list[Finding] = []
    if not zeros:
        found.append(Finding("no-zero-reading", where, {}))
    elif max(abs(z) for z in zeros) > 5.0:
        found.append(Finding("zero-reading-large", where, {"zero": (max(zeros, key=abs), "pressure")}))
    if result.one_point:
        found.append(Finding("one-point-test", where, {"exponent": result.exponent}))
    if readings.wind_m_s is not None and readings.wind_m_s > 3.0:
        found.append(Finding("windy-test", where, {"wind": (readings.wind_m_s, "speed")}))
    if readings.inside_c is None or readings.outside_c is None:
        found.append(Finding("no-test-temperatures", where, {}))
    for one in result.directions:
        found += _direction_warnings(one, result, readings, where, zeros)
    if len(result.directions) == 1:
        found.append(Finding("one-direction", where, {"direction": result.directions[0].direction}))
    found.append(Finding("precision-only", where, {}))
    return found


def _direction_warnings(
    one: OneDirection, result: TestResult, readings: Readings, where: str, zeros: list[float]
) -> list[Finding]:
    found = []
    low, high = min(one.pressures_pa), max(one.pressures_pa)
    if not result.one_point:
        if len(one.pressures_pa) < 5:
            found.append(Finding("few-readings", where, {"count": len(one.pressures_pa)}))
        if not 0.5 <= one.fit.exponent <= 1.0:
            found.append(Finding("exponent-out-of-range", where, {"exponent": one.fit.exponent}))
        if one.fit.r2 < 0.98:
            found.append(Finding("scattered-readings", where, {"r2": round(one.fit.r2, 4)}))
        lowest = max(10.0, 5.0 * max((abs(z) for z in zeros), default=0.0))
        if low > 25.0 or low < 0.8 * lowest:
            found.append(Finding("pressure-range", where, {"low": (low, "pressure"), "high": (high, "pressure")}))
        steps = np.diff(np.sort(np.array(one.pressures_pa)))
        if len(steps) and float(steps.max()) > 12.0:
            found.append(Finding("pressure-steps", where, {"step": (float(steps.max()), "pressure")}))
    if high < 47.5:
        found.append(Finding("below-50-pa", where, {"high": (high, "pressure")}))
    return found


def tall_and_cold(inside_c: float, outside_c: float, height_m: float) -> Finding | None:
    """A warning where stack alone is likely to spoil a test: height times difference over 250 m.K."""
    product = abs(inside_c - outside_c) * height_m
    return Finding("test-stack-large", "test", {"product": round(product)}) if product > 250.0 else None


@dataclass(frozen=True)
class RuleVerdict:
    """A tightness rule applied to a result. `value` is in the rule's own metric and unit."""

    rule: str
    title: str
    metric: str
    value: float
    limit: float
    interval: tuple[float, float] | None
    met: bool
    source: str
    clause: str

    @property
    def too_close(self) -> bool:
        """Whether the limit lies inside the 95 % interval."""
        return self.interval is not None and self.interval[0] <= self.limit <= self.interval[1]


def rule_names() -> list[str]:
    """Every tightness rule by name."""
    return list(table("tightness"))


def limit_of(rule: str, climate_zone: int | None) -> float | None:
    """The limit of a rule in a climate zone; None where the zone decides and is not known."""
    limits = table("tightness")[rule]["limit"]
    if climate_zone is None:
        return float(next(iter(limits.values()))) if len(limits) == 1 else None
    for zones, limit in limits.items():
        low, high = map(int, zones.split("-"))
        if low <= climate_zone <= high:
            return float(limit)
    return None


def judge(
    rule: str,
    *,
    flow_at_50_pa_m3_s: float,
    flow_range_m3_s: tuple[float, float] | None,
    volume_m3: float,
    enclosure_m2: float,
    limit: float,
) -> RuleVerdict:
    """A rule's verdict by the number that the rule itself uses.

    air changes: Q50 3600 / V per hour; per enclosure: Q50 / A in cfm/ft2.
    """
    row = table("tightness")[rule]
    scale = 3600.0 / volume_m3 if row["metric"] == "ach50" else 1.0 / enclosure_m2 / (0.3048 / 60.0)
    value = flow_at_50_pa_m3_s * scale
    interval = (flow_range_m3_s[0] * scale, flow_range_m3_s[1] * scale) if flow_range_m3_s else None
    return RuleVerdict(
        rule, row["title"], row["metric"], value, limit, interval, value <= limit, row["source"], row["clause"]
    )
