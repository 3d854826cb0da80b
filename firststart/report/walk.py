"""One pass over a job's facts: each with its number, its time, the effective time, and the run it belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import TypeVar

from firststart.job import facts as f
from firststart.job.fold import fold
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.machine.table import State
from firststart.procedure.library import established_by
from firststart.report.wording import capital, label, one_line
from firststart.starter.permit import Crank

_F = TypeVar("_F", bound=f.Fact)


@dataclass(frozen=True)
class Entry:
    """One fact: `number` from 1, `at` in the report's zone, `effective` on the axis that never runs back."""

    number: int
    fact: f.Fact
    at: datetime
    effective: datetime


@dataclass(frozen=True)
class Walk:
    """All entries of a job, the situation they lead to, and the rules they are read by."""

    rules: Rules
    entries: tuple[Entry, ...]
    situation: Situation
    now: datetime  # effective
    made: datetime
    runs: dict[int, f.RunStarted]

    @property
    def zone(self) -> tzinfo | None:
        """The zone of time in which the job is told."""
        return self.made.tzinfo

    def each(self, kind: type[_F]) -> Iterator[tuple[Entry, _F]]:
        """Every entry whose fact is a `kind`, in order."""
        return ((e, e.fact) for e in self.entries if isinstance(e.fact, kind))

    def entry(self, number: int) -> Entry:
        """The entry of that number."""
        return self.entries[number - 1]

    def at(self, effective: datetime | None) -> datetime | None:
        """An effective time as the clock of the present day would show it; what is withheld has passed by it."""
        if effective is None:
            return None
        ahead = self.situation.shift_s + self.situation.withheld_s
        return (effective - timedelta(seconds=ahead)).astimezone(self.zone)

    def title(self, procedure: str) -> str:
        """A procedure's title, or its id in words when the library has it no more."""
        known = self.rules.library.procedures.get(procedure)
        return one_line(known.title) if known is not None else capital(label(procedure))

    def title_of_run(self, run: int) -> str:
        """The title of the work that a run did."""
        started = self.runs.get(run)
        return self.title(started.procedure) if started is not None else f"Run {run}"

    def quick(self, hold: str) -> bool:
        """Is this a hold point of one question, asked again before each step that needs it?"""
        point = self.rules.library.safety.hold_points.get(hold)
        return point is not None and point.quick

    def routine(self, run: int) -> bool:
        """Did this run only ask for a quick hold point? It is counted, not told each time."""
        started = self.runs.get(run)
        known = self.rules.library.procedures.get(started.procedure) if started is not None else None
        if known is None:
            return False
        holds = established_by(known)
        return bool(holds) and all(self.quick(h) for h in holds)

    def state(self, run: int, name: str) -> State | None:
        """The state of a run by name, as the procedure is today; None when it has no such state now."""
        started = self.runs.get(run)
        if started is None or started.procedure not in self.rules.library.procedures:
            return None
        return self.rules.table(started.procedure, self.situation).states.get(name)


def walk(facts: Sequence[f.Fact], rules: Rules, now: datetime, other_cranks: tuple[Crank, ...] = ()) -> Walk:
    """Read the facts of one job once. `now` is aware; its zone is the report's."""
    situation = Situation(other_cranks=other_cranks)
    entries = []
    for number, fact in enumerate(facts, 1):
        situation = fold(situation, fact)
        effective = situation.now or fact.at
        entries.append(Entry(number, fact, fact.at.astimezone(now.tzinfo), effective))
    runs = {fact.run: fact for fact in facts if isinstance(fact, f.RunStarted)}
    return Walk(rules, tuple(entries), situation, situation.effective(now), now, runs)
