"""Where a row of the seal list stands: open, done, passed with proof, or in doubt since a later test."""

from __future__ import annotations

from itertools import pairwise

from inshell.jobs.answer import Answer
from inshell.records.jobfolder import TestRecord
from inshell.records.seal_list import SealRecord

PASSED, DONE, OPEN, ORPHANED = "passed", "done, not proved", "open", "orphaned"
FAILED = "failed its retest"
IN_DOUBT = "in doubt: a later test is worse"
WORSE_SHARE = 0.03  # of the flow: within it two tests of one shell differ


def seal_state(base: Answer, record: SealRecord) -> str:
    """Passed with proof, its photo in the folder, unless a later test found more flow than the one before it.

    A retest by test counts where a test of that day or later, after the work, is in the folder.
    """
    if record.theirs.get("how", "").lower() == "failed":
        return FAILED
    if not record.is_proved:
        return DONE if record.is_done else OPEN
    tests = sorted((t for t in base.job.tests if t.date), key=lambda t: (t.date, t.id))
    proved = record.theirs["retested"]
    if not has_photo(base, record.theirs["photo"]):
        return DONE
    if record.theirs["how"].lower() == "test" and not any(t.date >= record.theirs["done"] for t in tests):
        return DONE
    for one, two in pairwise(tests):
        if two.date > proved and flow_at_50_pa_m3_s(two) > (1.0 + WORSE_SHARE) * flow_at_50_pa_m3_s(one):
            return IN_DOUBT
    return PASSED


def has_photo(base: Answer, name: str) -> bool:
    """Whether a photo lies in the job folder or in its folder photos."""
    return any((base.file.folder / part / name).is_file() for part in ("", "photos"))


def flow_at_50_pa_m3_s(test: TestRecord) -> float:
    """What a test found."""
    return float(test.result.flow_at_50_pa_m3_s)
