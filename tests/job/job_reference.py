"""What may be done, worked out a second time and in another way: from what truly happened, on a clock nobody can set.

The heat is solved numerically (matrix exponential of the two-mass system by eigenvalues from numpy), the duty
rule as a debt that is paid while resting, the window of tries by counting; hold points by their true age. Only
the figures (duty classes, lifetimes) are the library's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from firststart.engine.profile import applies
from firststart.procedure.model import Safety
from firststart.starter.duty import DutyClass

COPPER_PER_K, COPPER_OHM_M, COPPER_J_M3 = 0.00393, 1.7241e-8, 385.0 * 8890.0
AIR_UNKNOWN_K = 303.15
TOLERANCE_S, TOLERANCE_K = 0.6, 0.05  # the count may be half a second off; and rounding


@dataclass(frozen=True)
class Turn:
    """The starter turned from `start` for `seconds` of true time."""

    start: float
    seconds: float

    @property
    def end(self) -> float:
        return self.start + self.seconds


@cache
def _system(winding_s: float, body_s: float, ratio: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Eigenvalues, eigenvectors and the inverse of these, of the two masses' matrix."""
    matrix = np.array([[-1 / winding_s, 1 / winding_s], [ratio / winding_s, -ratio / winding_s - 1 / body_s]])
    values, vectors = np.linalg.eig(matrix)  # real: both masses only cool; numpy 2.5 gives them as complex all the same
    assert not np.iscomplex(values).any()
    return values.real, vectors.real, np.linalg.inv(vectors.real)


def winding_k(turns: list[Turn], duty: DutyClass, at: float, air: float) -> float:
    """The winding's temperature at `at`, its heat taken at the limit's resistance."""
    heat = duty.heat
    values, vectors, inverse = _system(heat.winding_s, heat.body_s, heat.mass_ratio)
    density = heat.current_density_a_mm2 * 1e6
    push = density**2 * COPPER_OHM_M * (1 + COPPER_PER_K * (duty.limit_k - 293.15)) / COPPER_J_M3
    state, before = np.zeros(2), -math.inf
    source = inverse @ np.array([push, 0.0])
    for turn in sorted(turns, key=lambda t: t.start):
        start, end = max(turn.start, before), min(max(turn.end, before), at)
        if start >= at or end <= start:
            continue
        if before > -math.inf:
            state = vectors @ (np.exp(values * (start - before)) * (inverse @ state))
        grown = np.expm1(values * (end - start)) / values
        state = vectors @ (np.exp(values * (end - start)) * (inverse @ state) + grown * source)
        before = end
    if before > -math.inf and at > before:
        state = vectors @ (np.exp(values * (at - before)) * (inverse @ state))
    return air + float(state[0])


def owed_s(turns: list[Turn], duty: DutyClass, at: float) -> float:
    """Seconds of rest still to be paid at `at`."""
    debt, free = 0.0, -math.inf
    for turn in sorted(turns, key=lambda t: t.start):
        if turn.start > free:
            debt = max(0.0, debt - (turn.start - free))
        debt += turn.seconds * duty.rest_s / duty.crank_s
        free = max(free, turn.start) + turn.seconds
    return max(0.0, debt - max(at - free, 0.0))


def must_rest(turns: list[Turn], duty: DutyClass, at: float, air: float, wish: float = 1.0) -> str:
    """Why the starter may not turn for `wish` seconds at `at`; empty when it may."""
    if not turns:
        return ""
    last = max(turn.end for turn in turns)
    if owed_s(turns, duty, at) > TOLERANCE_S * duty.rest_s / duty.crank_s:
        return "rest is owed"
    if at - last < duty.pause_s - TOLERANCE_S:
        return "pinion and flywheel may still turn"
    recent = sum(t.seconds for t in turns if t.end + duty.long_rest_s > at + TOLERANCE_S)
    if recent + wish > duty.tries * duty.crank_s + TOLERANCE_S * len(turns):
        return "the tries are used up"
    hot = winding_k([*turns, Turn(at, wish)], duty, at + wish, air)
    return "the winding would be too hot" if hot > duty.limit_k + TOLERANCE_K + 0.5 * len(turns) else ""


@dataclass
class TrueHolds:
    """The hold points by what truly happened: when each was met by the true clock, and where."""

    safety: Safety
    met: dict[str, tuple[float, int]] = field(default_factory=dict)
    place: int = 0
    doubted: bool = False

    def meet(self, hold: str, at: float) -> None:
        self.met[hold] = (at, self.place)

    def undo(self, hold: str) -> None:
        self.met.pop(hold, None)

    def uncount(self, seconds: float) -> None:
        """A gap of which the person says that the clock lies: it counts for nothing that lasts longer than a day."""
        self.met = {hold: (at + seconds, place) for hold, (at, place) in self.met.items()}

    def why_not(self, hold: str, at: float) -> str:
        """Why the hold point does not hold at `at`; empty when it does."""
        point = self.safety.hold_points[hold]
        if hold not in self.met:
            return "it was not met, or undone since"
        since, place = self.met[hold]
        if point.lasts_minutes is not None and at - since > point.lasts_minutes * 60 + TOLERANCE_S:
            return f"it is {at - since:.0f} seconds old"
        if point.place and place != self.place:
            return "it was met at another place"
        return "the place is in doubt" if point.place and self.doubted else ""

    def lacking(self, classes: set[str], words: dict[str, str], at: float) -> dict[str, str]:
        """What the hazard classes demand on this engine and does not hold, and why."""
        wanted = {h for name in classes for h in self.safety.hazards[name].holds}
        needed = (h for h in wanted if applies(self.safety.hold_points[h].applies, words, unknown=True))
        return {h: why for h in needed if (why := self.why_not(h, at))}
