"""One job on one record: decide, commit, fold. Facts are durable before anybody hears of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from firststart.clock import Clock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.decide import decide
from firststart.job.fold import fold, fold_all
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.port import Journal
from firststart.starter.permit import Crank


class Desk:
    """The situation of one job, and the only way to change it."""

    def __init__(self, rules: Rules, journal: Journal, clock: Clock, situation: Situation, job: str) -> None:
        self.rules, self.journal, self.clock, self.job = rules, journal, clock, job
        self.situation = situation
        self.last: tuple[f.Fact, ...] = ()

    def submit(self, given: i.Input) -> tuple[f.Fact, ...]:
        """What follows from an input, committed and folded in. Raises InputError, RecordError: nothing changed."""
        facts = decide(self.rules, self.situation, given, self.clock.now())
        if facts:
            self.journal.append(self.job, self.situation.count, facts)
            for fact in facts:
                self.situation = fold(self.situation, fact)
        self.last = facts
        return facts

    @property
    def now(self) -> datetime:
        """The effective time."""
        return self.situation.effective(self.clock.now())


def open_job(rules: Rules, journal: Journal, clock: Clock, opening: i.Open) -> Desk:
    """A new job. Other jobs on the same engine share its starter, and so its rest."""
    others = _other_cranks(journal, opening.job, opening.engine)
    desk = Desk(rules, journal, clock, Situation(other_cranks=others), opening.job)
    desk.submit(opening)
    return desk


def resume_job(rules: Rules, journal: Journal, clock: Clock, job: str) -> Desk:
    """A job from its record. Raises UnknownName, RecordError. The caller submits `Resume` to go on with it."""
    facts = journal.read(job)
    situation = fold_all(facts)
    others = _other_cranks(journal, job, situation.engine)
    return Desk(rules, journal, clock, replace(situation, other_cranks=others), job)


def _other_cranks(journal: Journal, job: str, engine: str) -> tuple[Crank, ...]:
    """Cranking of the same starter in other jobs, an unfinished crank counted to its limit."""
    cranks: list[Crank] = []
    for facts in journal.cranks_of_others(job, engine):
        situation = fold_all(facts)
        cranks += situation.cranks
        if situation.open_crank is not None:
            cranks.append(Crank(situation.open_crank.began.timestamp(), situation.open_crank.limit_s, False))
    return tuple(cranks)
