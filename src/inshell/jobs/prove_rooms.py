"""`inshell rooms` as a use case: the answer, its document, and the document kept for check and report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inshell.climate.choose import HouseClimate
from inshell.house.reading import HouseFile
from inshell.jobs.room_verdicts import LEAST_SAMPLES
from inshell.jobs.rooms import Progress, RoomsAnswer, rooms
from inshell.jobs.rooms_json import rooms_json
from inshell.jobs.runs import keep_document, kept_document, rooms_key


def prove_rooms(
    path: Path, *, room: str, samples: int, remedies: bool, progress: Progress | None = None
) -> tuple[RoomsAnswer, dict[str, Any]]:
    """Run it all, and keep what it says unless it was asked for less than the whole."""
    answer = rooms(path, room=room, samples=samples, remedies=remedies, progress=progress)
    document = rooms_json(answer)
    if samples >= LEAST_SAMPLES and remedies:
        keep_document(rooms_key(answer.file, answer.climate, answer.tested_m3_s), document)
    return answer, document


def kept_rooms(file: HouseFile, climate: HouseClimate, *, tested_m3_s: float | None) -> dict[str, Any]:
    """What the whole run said, if it was kept and nothing has changed; else the nominal house, without samples."""
    document = kept_document(rooms_key(file, climate, tested_m3_s))
    return document or rooms_json(rooms(file.path, samples=0, remedies=False))
