"""What the records of a job say of themselves: tests of another shell, measured values that look copied."""

from __future__ import annotations

from inshell.design.heating import tightness_ach50
from inshell.findings import Finding
from inshell.jobs.answer import Answer
from inshell.records.jobfolder import TestRecord
from inshell.units import UnitError, parse_quantity


def measured_findings(answer: Answer) -> list[Finding]:
    """Measured values that equal the rated ones, or lack method, date or person."""
    rated = {}
    for fan in answer.house.fan:
        rated[fan.id, "flow"], rated[fan.id, "base_flow"] = fan.rated_flow_m3_s, fan.base_flow_m3_s
    for hood in answer.house.hood:
        rated[hood.id, "flow"] = hood.flow_m3_s
    for unit in answer.house.ventilator:
        rated[unit.id, "supply_flow"] = unit.supply_flow_m3_s
        rated[unit.id, "exhaust_flow"] = unit.exhaust_flow_m3_s
    found = []
    for key, value in answer.job.measured.items():
        where, what = key[0], key[1].replace("_", " ")
        if key in rated and abs(rated[key] - value.value_m3_s) < 1e-9:
            found.append(Finding("measured-equals-rated", where, {"what": what, "flow": (value.value_m3_s, "flow")}))
        if not (value.method and value.date and value.person):
            found.append(Finding("measured-without-method", where, {"what": what}))
    return found


def folder_findings(answer: Answer) -> list[Finding]:
    """What the tests of the job folder say of themselves."""
    found: list[Finding] = []
    for test in answer.job.tests:
        where = f"tests/{test.id}"
        found += [Finding(f.code, where, f.values) for f in test.result.findings]
        if not test.is_compliance:
            found.append(
                Finding(
                    "diagnostic-test", where, {"test": test.id, "stage": test.file.said.get("stage", "stage not said")}
                )
            )
        elif not test.shell:
            found.append(Finding("test-without-shell", where, {"test": test.id}))
        elif answer.file.shell_hash[: len(test.shell)] != test.shell:
            found.append(Finding("test-describes-earlier-house", where, {"test": test.id}))
        found.append(_against_design(answer, test, where))
        used = _volume_used(answer, test.file.said.get("volume"))
        if used is not None and abs(used / answer.geometry.volume_m3 - 1.0) > 0.01:
            flow = test.result.flow_at_50_pa_m3_s * 3600.0
            found.append(
                Finding(
                    "volume-differs",
                    where,
                    {
                        "drawn": (answer.geometry.volume_m3, "volume"),
                        "used": (used, "volume"),
                        "used_ach": round(flow / used, 2),
                        "drawn_ach": round(flow / answer.geometry.volume_m3, 2),
                    },
                )
            )
    return found


def _against_design(answer: Answer, test: TestRecord, where: str) -> Finding:
    """What was tested beside what is designed; loads and pressures go on with the design."""
    design = tightness_ach50(answer.house, answer.geometry.volume_m3)[0]
    tested = test.result.flow_at_50_pa_m3_s * 3600.0 / answer.geometry.volume_m3
    code = "test-leakier-than-design" if tested > design else "test-tighter-than-design"
    decides = answer.test is not None and answer.test.id == test.id
    uses = (
        "Pressures and credit for infiltration use the test, loads the design" if decides else "Results use the design"
    )
    return Finding(code, where, {"tested": round(tested, 2), "designed": round(design, 2), "uses": uses})


def _volume_used(answer: Answer, text: str | None) -> float | None:
    try:
        return parse_quantity(text, "volume", system=answer.house.units) if text else None
    except UnitError:
        return None
