"""One job on one record: decide, commit, fold. Facts are durable before anybody hears of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from firststart.bench.sharing import Axis, OtherCranks, same_engine
from firststart.clock import Clock
from firststart.errors import InputError, RecordBusy
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.clock import DRIFT_S
from firststart.job.decide import steps
from firststart.job.fold import fold, seconds_of
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.port import Journal
from firststart.journal.shelf import Shelf

_BESIDE = (f.NoteAdded, f.AttachmentKept, f.JobResumed, f.ClockSet)  # what a note brings with it, and no work does
WORTH_KEEPING = 500
"""Entries folded anew when a job is opened that are worth a place on the shelf: some 20 ms of folding."""

LONGEST_NAME = 120
"""Characters of the name of a job or an engine."""


@dataclass(frozen=True)
class Kept:
    """What a shelf keeps of a job: the situation after its first entries, and the digest of these."""

    digest: str
    situation: Situation
    axis: Axis


class Desk:
    """The situation of one job, and the only way to change it.

    While it is open it holds the time of day against the steady clock: a time of day that was set, or that
    jumped while the machine slept, is noticed before anything else is decided.
    """

    def __init__(self, rules: Rules, journal: Journal, clock: Clock, situation: Situation, job: str) -> None:
        self.rules, self.journal, self.clock, self.job = rules, journal, clock, job
        self.situation = situation
        self.last: tuple[f.Fact, ...] = ()
        self._others = OtherCranks(journal, job)
        self._wall, self._steady = clock.now(), clock.monotonic()
        self._covered = False  # has this bench run without a break since the newest fact?

    def submit(self, given: i.Input) -> tuple[f.Fact, ...]:
        """What follows from an input, committed and folded in. Raises InputError, RecordError: nothing changed.

        A clock that jumped is a fact of its own, kept also when the input itself is refused.
        """
        noticed = self._notice()
        if isinstance(given, i.Resume):
            given = i.Resume(self._covered)
            self._share(self.situation.now)  # what was done elsewhere since then is asked about first
        elif isinstance(given, i.Go | i.Begin | i.CarryOn | i.Tick):
            self.share()
        self._covered = True
        self.last = (*noticed, *self._follow(given))
        return self.last

    def _follow(self, given: i.Input) -> tuple[f.Fact, ...]:
        try:
            decided = self._decided(given)
        except RecordBusy:
            if not self._caught_up():
                raise
            decided = self._decided(given)
        for fact, after in decided:
            self.situation = after
            self._others.axis.follow(fact, after)
        facts = tuple(fact for fact, _ in decided)
        if isinstance(given, i.Resume) or any(isinstance(fact, f.ClockSet) for fact in facts):
            self.share()
        return facts

    def _decided(self, given: i.Input) -> tuple[tuple[f.Fact, Situation], ...]:
        """What follows, in the record; with the situation after each fact, so that none is folded twice."""
        decided = steps(self.rules, self.situation, given, self.clock.now())
        if decided:
            self.journal.append(self.job, self.situation.count, tuple(fact for fact, _ in decided))
        return decided

    def _caught_up(self) -> bool:
        """Were the entries that another wrote meanwhile only notes? They change nothing in the work, and are taken."""
        newer = self.journal.read(self.job, self.situation.count)
        if not newer or not all(isinstance(fact, _BESIDE) for fact in newer):
            return False
        for fact in newer:
            self.take(fact)
        return True

    def take(self, fact: f.Fact) -> None:
        """Fold in a fact that is in the record."""
        self.situation = fold(self.situation, fact)
        self._others.axis.follow(fact, self.situation)

    def restore(self, shelf: Shelf) -> None:
        """Begin at the newest situation kept on the shelf, if the record still has all that it was made from."""
        kept = shelf.get(self.job)
        if isinstance(kept, Kept) and kept.digest == self.journal.digest(self.job, kept.situation.count):
            self.situation, self._others.axis = kept.situation, kept.axis

    def keep(self, shelf: Shelf) -> None:
        """Put the situation on the shelf, with the digest of all that it was made from."""
        situation = replace(self.situation, other_cranks=())  # not of this job's record
        shelf.put(self.job, Kept(self.journal.digest(self.job, situation.count), situation, self._others.axis))

    def _notice(self) -> tuple[f.Fact, ...]:
        """The facts of a time of day that has not run as the steady clock has since the last look."""
        ahead = self._ahead()
        if abs(ahead) <= DRIFT_S:
            return ()
        before = (self._wall, self._steady)
        self._wall, self._steady = self.clock.now(), self.clock.monotonic()
        try:
            return self._follow(i.ClockJumped(ahead)) if self._covered else ()
        except Exception:
            self._wall, self._steady = before  # not recorded, so still to be noticed
            raise

    def _ahead(self) -> float:
        """Seconds that the time of day has run more than the steady clock since the last look."""
        passed = (self.clock.now() - self._wall).total_seconds()
        return passed - (self.clock.monotonic() - self._steady)

    def share(self) -> None:
        """Look at the record for cranking of the same starter in other jobs, also while this one is open."""
        self._share(self.now)

    def _share(self, at: datetime | None) -> None:
        others = self._others.look(self.situation.engine, seconds_of(at if at is not None else self.now))
        if others != self.situation.other_cranks:
            self.situation = replace(self.situation, other_cranks=others)

    @property
    def wall(self) -> datetime:
        """The time of day, run on by the steady clock when it has jumped since the last look."""
        ahead = self._ahead()
        return self.clock.now() - timedelta(seconds=ahead) if abs(ahead) > DRIFT_S else self.clock.now()

    @property
    def now(self) -> datetime:
        """The effective time."""
        return self.situation.effective(self.wall)


def open_job(rules: Rules, journal: Journal, clock: Clock, opening: i.Open) -> Desk:
    """A new job. Other jobs on the same engine share its starter, and so its rest."""
    for what, name in (("job", opening.job), ("engine", opening.engine)):
        if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable():
            raise InputError(f"The {what}'s name must have 1 to {LONGEST_NAME} letters that can be shown.")
    opening = replace(opening, engine=same_engine(journal, opening.engine))
    desk = Desk(rules, journal, clock, Situation(), opening.job)
    desk.submit(opening)
    desk.share()
    return desk


def resume_job(rules: Rules, journal: Journal, clock: Clock, job: str, shelf: Shelf | None = None) -> Desk:
    """A job from its record. Raises UnknownName, RecordError. The caller submits `Resume` to go on with it.

    With a `shelf` the entries that were folded before are not folded again, as long as the record still has
    every byte of them.
    """
    desk = Desk(rules, journal, clock, Situation(), job)
    if shelf is not None:
        desk.restore(shelf)
    known = desk.situation.count
    for fact in journal.read(job, known):
        desk.take(fact)
    if shelf is not None and desk.situation.count - known >= WORTH_KEEPING:
        desk.keep(shelf)
    desk.share()
    return desk
