"""Scales and round tick values for the pictures.

Ticks follow P. S. Heckbert, "Nice numbers for graph labels", Graphics Gems (1990), pp 61-63: steps of 1, 2 or 5
times a power of ten. Clock axes use the steps that a clock face has.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

_CLOCK_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440)


@dataclass(frozen=True)
class Scale:
    """A straight map from [low, high] in the data to [start, end] in the picture."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Where `value` lies; values beyond the ends are drawn at the ends."""
        inside = min(max(value, self.low), self.high)
        return self.start + (inside - self.low) / (self.high - self.low) * (self.end - self.start)


def step_for(span: float, most: int) -> float:
    """The smallest step of 1, 2 or 5 times a power of ten that cuts `span` into at most `most` parts."""
    raw = span / most
    power = 10.0 ** math.floor(math.log10(raw))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= raw * (1 - 1e-9))


def ticks(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """Round values from at or under `low` to at or over `high`, in at most `most` + 1 steps."""
    if not high > low:
        low, high = low - 0.5, low + 0.5
    step = step_for(high - low, most)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return tuple(round(n * step, 12) + 0.0 for n in range(first, last + 1))


def clock_ticks(low: float, high: float, most: int = 8) -> tuple[float, ...]:
    """Round minutes inside [low, high], at steps of a clock face."""
    step = next((s for s in _CLOCK_STEPS if (high - low) / s <= most), _CLOCK_STEPS[-1])
    return tuple(float(n * step) for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1))


def number(value: float) -> str:
    """A tick's label: "0", "2.5", "1200"."""
    return f"{value:.6g}"


def short(value: float) -> str:
    """A value over a bar or beside a dot, to four figures: "118", "0.85", "12.74"."""
    return number(float(f"{value:.4g}"))


def around(values: Sequence[float], room: float = 0.08) -> tuple[float, float]:
    """The span of `values` with a little room at both ends; never of no width."""
    low, high = min(values), max(values)
    wide = (high - low) * room or abs(high) * room or 1.0
    return low - wide, high + wide
