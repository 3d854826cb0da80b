"""Statistics of a study: means, quantiles, shares, and their 95 per cent intervals.

Intervals of a share are Wilson's (1927), of a mean, a difference or a ratio the percentile bootstrap's (Efron 1979).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

DRAWS = 1000  # of the bootstrap
Pair = tuple[float, float]


def mean(values: Sequence[float]) -> float:
    """The arithmetic mean."""
    return math.fsum(values) / len(values)


def quantile(values: Sequence[float], share: float) -> float:
    """The least value with at least `share` of all values at or below it."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


def wilson(hits: int, total: int, z: float = 1.959963984540054) -> Pair:
    """Wilson's interval of a share, 95 per cent."""
    p = hits / total
    middle = (p + z * z / (2 * total)) / (1 + z * z / total)
    half = z / (1 + z * z / total) * math.sqrt(p * (1 - p) / total + z * z / (4 * total * total))
    return max(0.0, middle - half), min(1.0, middle + half)


def bootstrap(values: Sequence[float], seed: int = 1, draws: int = DRAWS) -> Pair:
    """The percentile bootstrap's interval of a mean, 95 per cent. The same seed gives the same interval."""
    drawn = _again(len(values), seed, draws)
    return _middle(np.array(values)[drawn].mean(axis=1))


def bootstrap_ratio(above: Sequence[float], below: Sequence[float], seed: int = 1, draws: int = DRAWS) -> Pair:
    """The same for the ratio of two means over the same engines: both are drawn together, engine by engine."""
    drawn = _again(len(above), seed, draws)
    below_all = np.maximum(np.array(below)[drawn].sum(axis=1), 1e-12)
    return _middle(np.array(above)[drawn].sum(axis=1) / below_all)


def _again(size: int, seed: int, draws: int) -> NDArray[np.int64]:
    """Which of `size` things each of the draws takes."""
    return np.random.default_rng(seed).integers(0, size, (draws, size))


def _middle(found: NDArray[np.float64]) -> Pair:
    ordered = np.sort(found)
    return float(ordered[int(0.025 * len(ordered))]), float(ordered[min(len(ordered) - 1, int(0.975 * len(ordered)))])
