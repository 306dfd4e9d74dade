"""`inshell check`: promises, findings and defaults of one house."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inshell.design.promise import Judged
from inshell.findings import Finding, by_severity
from inshell.jobs.answer import Answer, answer
from inshell.jobs.judging import judge_all
from inshell.jobs.origins import defaults_of
from inshell.jobs.side_by_side import side_by_side


@dataclass(frozen=True)
class Checked:
    """The whole first answer for a house."""

    answer: Answer
    promises: tuple[Judged, ...]
    findings: tuple[Finding, ...]
    defaults: tuple[dict[str, Any], ...]

    @property
    def broken(self) -> bool:
        """Whether any promise is broken."""
        return any(promise.verdict == "broken" for promise in self.promises)

    def count(self, verdict: str) -> int:
        """How many promises have a verdict."""
        return sum(promise.verdict == verdict for promise in self.promises)

    def as_json(self) -> dict[str, Any]:
        """The document of `check --json`."""
        file = self.answer.file
        return {
            "format": 1,
            "house": file.house.name or file.path.stem,
            "house_hash": file.model_hash,
            "file_sha256": file.file_sha256,
            "shell_hash": file.shell_hash,
            "promises": [promise.as_json() for promise in self.promises],
            "findings": [finding.as_json(file.house.units) for finding in self.findings],
            "defaults": list(self.defaults),
            "heating": _heating_json(self.answer),
            "rules": side_by_side(self.answer).as_json(),
        }


def _heating_json(result: Answer) -> dict[str, Any]:
    heating = result.heating
    return {
        "outdoor_c": heating.outdoor_c,
        "load_w": heating.total_w,
        "outdoor_air_m3_s": heating.air.total_m3_s,
        "rooms": [
            {
                "id": r.room,
                "load_w": r.total_w,
                "transmission_w": r.transmission_w,
                "air_w": r.air_w,
                "reheat_w": r.reheat_w,
                "outdoor_air_m3_s": r.outdoor_air_m3_s,
            }
            for r in heating.rooms
        ],
    }


def check(path: Path) -> Checked:
    """Compute everything static about a house and judge its promises."""
    return judged(answer(path), path)


def judged(result: Answer, path: Path) -> Checked:
    """The promises of a house whose static answer is there, and whose year may have been run."""
    promises, more = judge_all(result)
    defaults = defaults_of(result.file)
    findings = [*result.findings, *more]
    if result.file.additions:
        findings.append(Finding("ids-not-written", str(path), {"count": len(result.file.additions)}))
    return Checked(result, tuple(promises), tuple(by_severity(findings)), tuple(defaults))
