"""How the tests of the calculations compare: with a tolerance and the reason for it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

ROOT = Path(__file__).parents[1]
EXAMPLES = sorted((ROOT / "examples").glob("*/*.toml"))
DEMO = ROOT / "examples" / "demo-cottage" / "demo-cottage.toml"
CFM = 0.3048**3 / 60.0  # m3/s, exact
FT = 0.3048  # m, exact


def sampled(rows: Iterable[Any], every: int) -> list[Any]:
    """Rows for a parametrised test: one in so many runs always, the others in `make soak`."""
    told = []
    for k, row in enumerate(rows):
        values = row if isinstance(row, tuple) else (row,)
        told.append(pytest.param(*values, marks=[pytest.mark.long] if k % every else []))
    return told


def assert_close(got: object, want: object, *, abs: float | None = None, rel: float | None = None, why: str) -> None:  # noqa: A002
    """Fail unless every value lies within the tolerance; `why` says why the tolerance is what it is."""
    assert why
    got_array, want_array = np.asarray(got, dtype=float), np.asarray(want, dtype=float)
    allowed = (abs or 0.0) + (rel or 0.0) * np.abs(want_array)
    off = np.abs(got_array - want_array)
    assert got_array.shape == want_array.shape, (got_array.shape, want_array.shape)
    assert np.all(off <= allowed), (
        f"got {got}, want {want}, off by {off.max():.3g}, allowed {np.max(allowed):.3g} ({why})"
    )
