"""One stretch of cranking, and cranks put in order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter

from firststart.errors import RangeError
from firststart.starter.duty import DutyClass

LONGEST_S = 3600.0


@dataclass(frozen=True)
class Crank:
    """One stretch of cranking: `start` and `seconds` on the caller's time axis.

    `sure` is False when its end is not known (the machine died while cranking): it then counts with at
    least the class's longest crank. Raises RangeError for a length below zero or over an hour, or NaN.
    """

    start: float
    seconds: float
    sure: bool = True

    def __post_init__(self) -> None:
        if not math.isfinite(self.start):
            raise RangeError("start of a crank", self.start, None, None, "s")
        if not 0 <= self.seconds <= LONGEST_S:
            raise RangeError("seconds of a crank", self.seconds, 0, LONGEST_S, "s")


def in_order(cranks: Sequence[Crank], duty: DutyClass) -> list[tuple[float, float]]:
    """Counted (start, end) in order; a crank told to overlap an earlier one is put after it, none is lost."""
    counted: list[tuple[float, float]] = []
    free = -math.inf
    for crank in sorted(cranks, key=attrgetter("start")):
        seconds = crank.seconds if crank.sure else max(crank.seconds, duty.crank_s)
        start = max(crank.start, free)
        free = start + seconds
        counted.append((start, free))
    return counted
