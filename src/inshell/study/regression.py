"""Which unknown matters most: standardised regression on the sampled points, with bootstrap intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inshell.physics.types import Floats

RESAMPLES = 400
UNRESOLVED = 0.2


@dataclass(frozen=True)
class Weight:
    """Share of an unknown in the spread of a value: standardised coefficient, signed, with its 95 % interval."""

    name: str
    coefficient: float
    low: float
    high: float

    @property
    def resolved(self) -> bool:
        """False where the interval is wider than 0.2: more samples are needed to say."""
        return self.high - self.low <= UNRESOLVED


@dataclass(frozen=True)
class Weights:
    """All unknowns, the heaviest first, and how much of the spread a straight line explains."""

    rows: tuple[Weight, ...]
    explained: float


def weights_of(names: tuple[str, ...], points: Floats, values: Floats, seed: int = 2) -> Weights | None:
    """Standardised regression coefficients of values on points (samples, unknowns).

    Formula: y' = X' b, both centred and scaled to one; interval from RESAMPLES resampled sets of the same samples
    Returns None where the values do not vary or are too few.
    """
    count = len(values)
    if count < 2 * len(names) + 2 or float(np.std(values)) < 1e-9 * max(1.0, float(np.abs(values).max())):
        return None
    best, explained = _fitted(points, values)
    rng = np.random.default_rng(seed)
    drawn = [_fitted(points[pick], values[pick])[0] for pick in rng.integers(0, count, (RESAMPLES, count))]
    low, high = np.percentile(np.array(drawn), [2.5, 97.5], axis=0)
    rows = [Weight(*row) for row in zip(names, map(float, best), map(float, low), map(float, high), strict=True)]
    return Weights(tuple(sorted(rows, key=lambda row: -abs(row.coefficient))), explained)


def _fitted(points: Floats, values: Floats) -> tuple[Floats, float]:
    spread = np.std(values)
    if spread == 0.0:
        return np.zeros(points.shape[1]), 0.0
    x = (points - points.mean(axis=0)) / np.maximum(points.std(axis=0), 1e-30)
    y = (values - values.mean()) / spread
    best, *_ = np.linalg.lstsq(x, y, rcond=None)
    return np.asarray(best), float(1.0 - np.mean((y - x @ best) ** 2))
