"""`inshell settings` as a use case: the answer, its document, its picture, and the document kept for the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inshell.climate.choose import HouseClimate
from inshell.design.breathing import STEP_S
from inshell.errors import refuse
from inshell.house.reading import HouseFile
from inshell.house.writing import write_text
from inshell.jobs.answer import answer
from inshell.jobs.find_settings import Say, settings_of
from inshell.jobs.runs import keep_document, kept_document, run_key
from inshell.jobs.settings_answer import Settings
from inshell.pack.settings_chart import settings_chart


def keep_settings(
    path: Path, *, picture: Path | None = None, overwrite: bool = False, progress: Say | None = None
) -> tuple[Settings, dict[str, Any]]:
    """Search, keep what it says, and draw the trade-off where asked."""
    if picture is not None and picture.suffix.lower() != ".svg":
        raise refuse("--picture", str(picture), "a name that ends in .svg", "Nothing else is drawn")
    if picture is not None and picture.exists() and not overwrite:
        raise refuse("--picture", f"{picture} exists", "a new file", "Choose another name, or give --overwrite")
    base = answer(path)
    result = settings_of(base, progress=progress)
    document = result.as_json()
    tested = base.test.result.flow_at_50_pa_m3_s if base.test else None
    keep_document(_key(base.file, base.climate, tested), document)
    if picture is not None:
        write_text(picture, settings_chart(document, base.house.units), overwrite=overwrite)
    return result, document


def kept_settings(file: HouseFile, climate: HouseClimate, *, tested_m3_s: float | None) -> dict[str, Any] | None:
    """What the search said, if nothing that it rests on has changed since."""
    return kept_document(_key(file, climate, tested_m3_s))


def _key(file: HouseFile, climate: HouseClimate, tested_m3_s: float | None) -> str:
    asked = [promise.model_dump(mode="json") for promise in file.house.promise]
    scenario = f"settings under {file.house.rules.model_dump(mode='json')} and {asked}, {file.house.units}"
    return run_key(file, climate, scenario=scenario, step_s=STEP_S, tested_m3_s=tested_m3_s)
