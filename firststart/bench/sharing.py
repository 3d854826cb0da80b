"""Jobs on one engine share one starter: their cranks are put on the axis of time of the job at hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from firststart.job.fold import fold_all, seconds_of
from firststart.job.situation import Situation
from firststart.journal.port import Journal
from firststart.starter.permit import Crank


class OtherCranks:
    """The cranks of other jobs on the same engine. What was seen once keeps its place in time."""

    def __init__(self, journal: Journal, job: str) -> None:
        self.journal, self.job = journal, job
        self._seen: dict[Crank, Crank] = {}

    def look(self, situation: Situation, wall: datetime) -> tuple[Crank, ...]:
        """All of them now, in order of time; an unfinished one counts to its limit at least.

        The other job's clock may have been set since: its axis is moved onto this one's, and a crank that
        would lie in the future is taken as ended just now.
        """
        now = seconds_of(situation.effective(wall))
        found: list[Crank] = []
        for facts in self.journal.cranks_of_others(self.job, situation.engine):
            other = fold_all(facts)
            cranks = list(other.cranks)
            if other.open_crank is not None:
                cranks.append(Crank(seconds_of(other.open_crank.began), other.open_crank.limit_s, False))
            found += [self._placed(crank, situation.shift_s - other.shift_s, now) for crank in cranks]
        return tuple(sorted(found, key=lambda c: c.start))

    def _placed(self, crank: Crank, shift: float, now: float) -> Crank:
        if crank not in self._seen:
            start = min(crank.start + shift, now - (crank.seconds if crank.sure else 0.0))
            self._seen[crank] = replace(crank, start=start)
        return self._seen[crank]


def same_engine(journal: Journal, engine: str) -> str:
    """The name under which this engine is in the record: capitals and spaces do not make another starter."""
    wanted = _plain(engine)
    return next((line.engine for line in journal.jobs() if _plain(line.engine) == wanted), engine)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
