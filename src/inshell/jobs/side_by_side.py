"""Rules side by side, whatever the house chose: fresh air, local exhaust, and every tightness rule for each test."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from inshell.design.fresh_air import FreshAir, rules
from inshell.design.heating import tightness_ach50
from inshell.design.local_exhaust import LocalExhaust, calculate_local_exhaust
from inshell.design.tightness import RuleVerdict, judge, limit_of, rule_names
from inshell.jobs.answer import Answer, fresh_air_of
from inshell.records.jobfolder import TestRecord

EXHAUST_RULES = ("ashrae-62.2", "irc")


@dataclass(frozen=True)
class SideBySide:
    """What every rule that this version knows would say of one house."""

    fresh_air: tuple[FreshAir, ...]
    local_exhaust: dict[str, tuple[LocalExhaust, ...]]
    tightness: dict[str, tuple[RuleVerdict, ...]]

    def as_json(self) -> dict[str, Any]:
        """Plain rows for `check --json`."""
        return {
            "fresh_air": [_fields(a, AIR_FIELDS) for a in self.fresh_air],
            "local_exhaust": [
                {"rule": rule} | _fields(e, EXHAUST_FIELDS) for rule, rows in self.local_exhaust.items() for e in rows
            ],
            "tightness": [
                {"test": test} | _fields(v, VERDICT_FIELDS) for test, rows in self.tightness.items() for v in rows
            ],
        }


AIR_FIELDS = ("rule", "required_flow_m3_s", "infiltration_credit_m3_s", "fan_flow_m3_s")
EXHAUST_FIELDS = (
    "room",
    "continuous_m3_s",
    "continuous_limit_m3_s",
    "demand_m3_s",
    "demand_limit_m3_s",
    "met",
    "source",
)
VERDICT_FIELDS = ("rule", "metric", "value", "limit", "met", "too_close", "source")


def _fields(item: object, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(item, name) for name in names}


def side_by_side(answer: Answer) -> SideBySide:
    """Every rule applied to one house; only the chosen ones are promises."""
    house, geometry, test = answer.house, answer.geometry, answer.test
    ach50, _ = tightness_ach50(house, geometry.volume_m3)
    flow50 = test.result.flow_at_50_pa_m3_s if test else ach50 * geometry.volume_m3 / 3600.0
    exponent = test.result.exponent if test else house.tightness.exponent
    return SideBySide(
        fresh_air=tuple(fresh_air_of(answer.file, rule, flow50, exponent) for rule in rules()),
        local_exhaust={rule: tuple(calculate_local_exhaust(house, geometry, rule)) for rule in EXHAUST_RULES},
        tightness={t.id: tuple(_verdicts(answer, t)) for t in answer.job.tests},
    )


def _verdicts(answer: Answer, test: TestRecord) -> list[RuleVerdict]:
    verdicts = []
    for rule in rule_names():
        limit = limit_of(rule, answer.house.site.climate_zone)
        if limit is not None:
            verdicts.append(
                judge(
                    rule,
                    flow_at_50_pa_m3_s=test.result.flow_at_50_pa_m3_s,
                    flow_range_m3_s=test.result.flow_at_50_pa_range_m3_s,
                    volume_m3=answer.geometry.volume_m3,
                    enclosure_m2=answer.geometry.enclosure_m2,
                    limit=limit,
                )
            )
    return verdicts
