"""`inshell dry` as a use case: the answer, its document, and the document kept for the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inshell.climate.choose import HouseClimate
from inshell.design.year_run import STEP_S
from inshell.house.reading import HouseFile
from inshell.jobs.dry import Dry, dry
from inshell.jobs.dry_json import dry_json
from inshell.jobs.rooms import Progress
from inshell.jobs.runs import keep_document, kept_document, run_key


def keep_dry(path: Path, *, progress: Progress | None = None) -> tuple[Dry, dict[str, Any]]:
    """Run it, and keep what it says."""
    result = dry(path, progress=progress)
    document = dry_json(result)
    base = result.answer
    tested = base.test.result.flow_at_50_pa_m3_s if base.test else None
    keep_document(_key(base.file, base.climate, tested), document)
    return result, document


def kept_dry(file: HouseFile, climate: HouseClimate, *, tested_m3_s: float | None) -> dict[str, Any] | None:
    """What was said, if nothing that it rests on has changed since."""
    return kept_document(_key(file, climate, tested_m3_s))


def _key(file: HouseFile, climate: HouseClimate, tested_m3_s: float | None) -> str:
    return run_key(file, climate, scenario=f"dry, {file.house.units}", step_s=STEP_S, tested_m3_s=tested_m3_s)
