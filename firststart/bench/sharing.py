"""Jobs on one engine share one starter: their cranks are put on the axis of time of the job at hand.

All jobs of a record saw the same time of day, right or wrong. What a time of day means on this job's axis is
told by its own corrections of the clock. Where several meanings fit, the latest is taken: a crank that is
thought to be too young costs a rest, one that is thought to be too old costs a starter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from firststart.job import facts as f
from firststart.job.fold import fold, seconds_of
from firststart.job.situation import Situation
from firststart.journal.port import Journal
from firststart.starter.permit import Crank

_TOUCH_S = 1e-3  # times of day nearer than this are the same one


@dataclass
class Axis:
    """What the times of day of one job's entries meant: spans of one shift each, and the gaps between them."""

    spans: list[tuple[float, float, float]] = field(default_factory=list)  # times of day from, to; shift
    gaps: list[tuple[float, float, float]] = field(default_factory=list)  # times of day from, to; time after it
    _withheld: list[tuple[float, float]] = field(default_factory=list)

    def follow(self, fact: f.Fact, after: Situation) -> None:
        """One more entry, and the situation after it."""
        wall = fact.at.timestamp()
        if not self.spans:
            self.spans.append((-math.inf, wall, after.shift_s))
        start, before, shift = self.spans[-1]
        if not isinstance(fact, f.ClockSet):
            self.spans[-1] = (start, max(before, wall), shift)
            return
        now = seconds_of(after.now) if after.now is not None else wall
        self.gaps.append((min(before, wall), max(before, wall), now))
        if fact.withheld_s > 0:
            self._withheld.append((before, wall))
        elif fact.withheld_s < 0:
            if fact.shift_s > 0:  # the date was right: what had been withheld did pass
                self.spans += [(a, b, after.shift_s) for a, b in self._withheld]
            self._withheld.clear()
        self.spans.append((wall, wall, after.shift_s))

    def latest(self, wall: float, now: float) -> float | None:
        """The latest time not after `now` that the time of day `wall` can mean; None when it lies ahead."""
        last, low, high = len(self.spans) - 1, wall - _TOUCH_S, wall + _TOUCH_S
        meant = [wall + s for n, (a, b, s) in enumerate(self.spans) if a <= high and (low <= b or n == last)]
        meant += [after for a, b, after in self.gaps if a <= high and low <= b]
        return max((min(m, now) for m in meant if m <= now + _TOUCH_S), default=None)


class OtherCranks:
    """The cranks of other jobs on the same engine, on the axis of the job at hand."""

    def __init__(self, journal: Journal, job: str) -> None:
        self.journal, self.job, self.axis = journal, job, Axis()
        self._ahead: dict[_Turn, float] = {}  # cranks of a clock that was ahead, and where they were put

    def look(self, engine: str, now: float) -> tuple[Crank, ...]:
        """All of them at the time `now` of this job, in order; one under way counts to its limit at least."""
        found = [
            self._placed(turn, now)
            for facts in self.journal.cranks_of_others(self.job, engine)
            for turn in _turns(facts)
        ]
        return tuple(sorted(found, key=lambda c: c.start))

    def _placed(self, turn: _Turn, now: float) -> Crank:
        """On this job's axis. What lies ahead of its clock is taken to have happened when it was first seen."""
        seen = [self.axis.latest(wall, now) for wall in turn.walls]
        ahead = [min(self._ahead.setdefault(turn, now), now)] if None in seen else []
        return Crank(max([*ahead, *(s for s in seen if s is not None)]) - turn.back_s, turn.seconds, turn.sure)


@dataclass(frozen=True)
class _Turn:
    """A crank of another job, begun `back_s` before a moment that it knows by two times of day.

    One is what the clock said then, the other what it would have said by the clock as that job knows it now.
    """

    walls: tuple[float, float]
    back_s: float
    seconds: float
    sure: bool


def _turns(facts: Iterable[f.Fact]) -> list[_Turn]:
    """Each crank of a job; one that never ended is known by its beginning alone."""
    situation, found, opened = Situation(), list[tuple[float, float, float, float, bool]](), None
    for fact in facts:
        situation = fold(situation, fact)
        wall, known = fact.at.timestamp(), seconds_of(situation.now or fact.at)
        if isinstance(fact, f.CrankBegan):
            opened = (wall, known, 0.0, fact.limit_s, False)
        elif isinstance(fact, f.CrankEnded):
            opened = None
            found.append((wall, known, fact.seconds, fact.seconds, fact.sure))
        elif isinstance(fact, f.CrankTold):
            found.append((wall - fact.ago_s, known - fact.ago_s, fact.seconds, fact.seconds, False))
    every = [*found, opened] if opened is not None else found
    return [_Turn((w, k - situation.shift_s), back, seconds, sure) for w, k, back, seconds, sure in every]


def same_engine(journal: Journal, engine: str) -> str:
    """The name under which this engine is in the record: capitals and spaces do not make another starter."""
    wanted = _plain(engine)
    return next((line.engine for line in journal.jobs() if _plain(line.engine) == wanted), engine)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
