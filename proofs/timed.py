"""A plugin for the test runner: how long each passing test takes, one file a worker."""

from __future__ import annotations

import json
import os

import pytest

from proofs.trace import HOME

SECONDS: dict[str, float] = {}


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Set-up and call together; a test that fails unbroken proves nothing."""
    if report.when in ("setup", "call") and report.passed:
        SECONDS[report.nodeid] = SECONDS.get(report.nodeid, 0.0) + report.duration
    elif report.failed:
        SECONDS.pop(report.nodeid, None)


def pytest_sessionfinish() -> None:
    """Write what this worker saw."""
    folder = HOME / "seconds"
    folder.mkdir(parents=True, exist_ok=True)
    if SECONDS and os.environ.get("PYTEST_XDIST_WORKER"):
        (folder / f"{os.environ['PYTEST_XDIST_WORKER']}.json").write_text(json.dumps(SECONDS), encoding="utf-8")
