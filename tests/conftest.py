from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("project", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
settings.load_profile("project")


@pytest.fixture(autouse=True, scope="session")
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Prepared years are kept apart from the user's, but shared by the workers of one run."""
    if held := os.environ.get("INSHELL_TEST_CACHE"):
        os.environ["INSHELL_CACHE"] = held
        return
    base = Path(tmp_path_factory.getbasetemp())
    shared = base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base
    os.environ["INSHELL_CACHE"] = str(shared / "prepared-years")
