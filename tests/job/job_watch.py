"""Watches a job: every fact is held against what truly happened, on a clock that nobody can set."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta

from job_reference import AIR_UNKNOWN_K, TOLERANCE_S, TrueHolds, Turn, must_rest

from firststart.bench.desk import Desk, open_job, resume_job
from firststart.clock import SimulatedClock
from firststart.errors import FirststartError, InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.memory import MemoryJournal
from firststart.procedure.model import Step
from firststart.starter.duty import DutyClass

MAX_BY_HAND_S = 30.0


@dataclass
class Starter:
    """One starter, shared by the jobs on its engine: what it truly did."""

    turns: list[Turn] = field(default_factory=list)

    def prune(self, at: float) -> None:
        """Cranks of days ago have left nothing behind, and the reference need not sum them up."""
        self.turns = [turn for turn in self.turns if turn.end > at - 2 * 86400]


@dataclass
class Tally:
    """What was done, over many jobs."""

    inputs: int = 0
    refused: int = 0
    facts: int = 0
    cranks: int = 0
    by_hand: int = 0
    stops: int = 0
    restarts: int = 0
    clocks: int = 0
    jobs: int = 0
    kinds: set[str] = field(default_factory=set)
    states: set[tuple[str, str]] = field(default_factory=set)
    results: set[tuple[str, str]] = field(default_factory=set)

    def add(self, other: Tally) -> None:
        """Sum up."""
        for name, value in vars(other).items():
            mine = getattr(self, name)
            setattr(self, name, mine | value if isinstance(mine, set) else mine + value)


class Watched:
    """A job under watch. `truth` is the true time in seconds; the clock of the bench may say anything."""

    def __init__(
        self, rules: Rules, starter: Starter, tally: Tally, truth: float = 0.0, job: str = "job",
        clock: SimulatedClock | None = None, journal: MemoryJournal | None = None,
    ) -> None:  # fmt: skip
        self.rules, self.starter, self.tally, self.truth = rules, starter, tally, truth
        self.clock, self.journal, self.job = clock or SimulatedClock(), journal or MemoryJournal(), job
        self.holds = TrueHolds(rules.library.safety)
        self.frozen: list[tuple[list[Turn], DutyClass, float]] = []  # rests owed when the profile was changed
        self.turning: float | None = None
        self.turned_dead: float | None = None  # how long the starter turned on after the bench had died
        self.seen, self.looked, self.unseen, self.claimed = 0, truth, 0.0, 0.0
        self.restarted = False
        tally.jobs += 1
        self.desk: Desk = open_job(rules, self.journal, self.clock, i.Open(job, "engine", "test", "shed"))
        self._digest(Situation())

    # time --------------------------------------------------------------------------------------------

    def sleep(self, seconds: float) -> None:
        self.clock.sleep(seconds)
        self.truth += seconds

    def suspend(self, seconds: float) -> None:
        """The laptop sleeps: true time and the time of day go on, the steady clock stands."""
        self.submit(i.Tick())
        self.clock.set(self.clock.now() + _span(seconds))
        self.truth += seconds
        self.submit(i.Tick())

    def set_clock(self, seconds: float) -> None:
        """Somebody sets the clock, while the bench is open."""
        self.submit(i.Tick())
        before, at = self._wait(), self.truth
        self.clock.set(self.clock.now() + _span(seconds))
        self.tally.clocks += 1
        self.submit(i.Tick())

        assert self._wait() >= before - (self.truth - at) - 0.1, "a clock that was set shortened the rest"

    def restart(self, gap_s: float, set_s: float = 0.0, dead_crank_s: float = 0.0) -> None:
        """The bench dies, `gap_s` pass, the clock is set by `set_s`, and the job is taken up again."""
        before, at = self._wait(), self.truth
        self.turned_dead = min(dead_crank_s, gap_s, 30.0)
        self.sleep(gap_s)
        if set_s < 0:  # put back to after the newest entry nobody can notice it; so it is put back before that
            newest = self.desk.situation.now
            assert newest is not None
            ahead = self.clock.now() + _span(self.desk.situation.shift_s) - newest
            set_s = min(set_s, -ahead.total_seconds() - 10)
        self.clock.set(self.clock.now() + _span(set_s))
        facts = self.journal.read(self.job)
        cut = len(facts) // 2
        assert fold_all(facts[cut:], fold_all(facts[:cut])) == fold_all(facts), "a split journal folds otherwise"
        self.desk = resume_job(self.rules, self.journal, self.clock, self.job)
        self.tally.restarts += 1
        self._resume()
        assert self._wait() >= before - (self.truth - at) - 0.1, "a restart shortened the rest"

    def _resume(self) -> None:
        self.restarted = True
        assert self.submit(i.Resume()), "taking the job up again was refused"
        self.restarted = False

    def take_up(self, truth: float) -> bool:
        """Go on with this job after another one was worked on; False when a clock set back hides how long that was."""
        assert self.turning is None, "nobody leaves a starter that turns"
        newest, shift = self.desk.situation.now, self.desk.situation.shift_s
        assert newest is not None
        gap = (self.clock.now() + _span(shift) - newest).total_seconds()
        if -10 < gap < truth - self.looked - 1:
            return False
        self.truth = truth
        self.desk = resume_job(self.rules, self.journal, self.clock, self.job)
        self._resume()
        return True

    def _wait(self) -> float:
        """The rest that this job's own cranks still ask for."""
        situation = replace(self.desk.situation, other_cranks=())
        return self.rules.permit(situation, self.desk.now).wait_s if situation.open_crank is None else 0.0

    def yes_is_true(self) -> bool:
        """Did as much time pass unseen as the bench asks about?"""
        return abs(self.claimed - self.unseen) <= 1.0

    # inputs ------------------------------------------------------------------------------------------

    def submit(self, given: i.Input) -> bool:
        """Submit, hold every new fact against the truth; False when it was refused."""
        before = self.desk.situation
        self.tally.inputs += 1
        accepted = True
        try:
            self.desk.submit(given)
        except FirststartError as error:
            assert isinstance(error, InputError | LookupError), f"{given} raised {error!r}"
            assert not isinstance(given, i.Stop), f"stop was refused: {error}"
            self.tally.refused += 1
            accepted = False
        self._digest(before)
        if isinstance(given, i.Stop):
            self._is_stopped()
        return accepted

    def _is_stopped(self) -> None:
        situation = self.desk.situation
        self.tally.stops += 1
        assert situation.stopped
        assert situation.open_crank is None
        assert situation.run is not None
        assert ("make-safe", "stop") == (situation.run.procedure, situation.run.why)

    def _digest(self, before: Situation) -> None:
        facts = self.journal.read(self.job)
        for fact in facts[self.seen :]:
            self._take(fact, before)
        self.tally.facts += len(facts) - self.seen
        if len(facts) > self.seen:
            self.looked = self.truth
        self.seen = len(facts)
        state = self.desk.situation.run
        if state is not None:
            self.tally.states.add((state.procedure, state.state))

    def _take(self, fact: f.Fact, before: Situation) -> None:
        match fact:
            case f.HoldMet():
                self.holds.meet(fact.hold, self.truth)
            case f.HoldUndone():
                self.holds.undo(fact.hold)
            case f.PlaceNamed():
                self.holds.place += fact.place != before.place
                self.holds.doubted = False
            case f.JobResumed():
                self.holds.doubted = True
            case f.ProfileNoted():
                self._keep_rest(before)
                if fact.field == "kind" and fact.word is not None:
                    self.tally.kinds.add(fact.word)
            case f.ClockSet():
                self._take_clock(fact)
            case f.CrankTold():
                self.starter.turns.append(Turn(self.truth - fact.ago_s - fact.seconds, fact.seconds))
            case f.CrankBegan():
                self._crank_may_begin(fact)
            case f.CrankEnded():
                self._crank_ended(fact)
            case f.StepEntered() if fact.hazards:
                self._holds_hold(set(fact.hazards), f"{fact.state} was entered")
            case f.RunEnded():
                self.tally.results.add((fact.procedure, fact.result))

    def _take_clock(self, fact: f.ClockSet) -> None:
        if fact.withheld_s > 0:
            self.claimed += fact.withheld_s
            self.unseen += self.truth - self.looked
        elif fact.withheld_s < 0:
            if fact.shift_s == 0:
                self.holds.uncount(self.unseen)
            self.claimed = self.unseen = 0.0
        elif self.restarted:
            self.holds.uncount(self.truth - self.looked)

    def _keep_rest(self, before: Situation) -> None:
        """A change of the profile: what the starter owes at this moment stays owed."""
        if not self.rules.starts_by_motor(before):
            return
        duty, air = self.rules.duty(before), self._air(before)
        if must_rest(self.starter.turns, duty, self.truth, air):
            self.frozen.append((list(self.starter.turns), duty, air))

    def _air(self, situation: Situation) -> float:
        return self.rules.profile(situation.profile).si("air-temperature") or AIR_UNKNOWN_K

    # what may never be -------------------------------------------------------------------------------

    def _holds_hold(self, classes: set[str], what: str) -> None:
        lacking = self.holds.lacking(classes, self.rules.words(self.desk.situation), self.truth)
        assert not lacking, f"{what} without {lacking}"

    def _crank_may_begin(self, fact: f.CrankBegan) -> None:
        situation = self.desk.situation
        step = self._step(situation, fact.state)
        assert step.crank is not None, "a step that does not crank cranked"
        assert not situation.stopped, "a crank began after stop"
        self._holds_hold({*step.hazard, "cranking"}, "a crank began")
        assert 0 < fact.limit_s <= min(step.crank.seconds, MAX_BY_HAND_S)
        self.starter.prune(self.truth)
        for turns, duty, air in self.frozen:
            why = must_rest(turns, duty, self.truth, air)
            assert not why, f"a change of the profile shortened the rest: {why}"
        if self.rules.starts_by_motor(situation):
            self.tally.cranks += 1
            duty = self.rules.duty(situation)
            why = must_rest(self.starter.turns, duty, self.truth, self._air(situation), fact.limit_s)
            assert not why, f"a crank of {fact.limit_s} s began although {why}"
            assert fact.limit_s <= duty.crank_s
        else:
            self.tally.by_hand += 1
        self.turning = self.truth

    def _step(self, situation: Situation, state: str) -> Step:
        assert situation.run is not None
        step = self.rules.table(situation.run.procedure, situation).states[state].step
        assert step is not None
        return step

    def _crank_ended(self, fact: f.CrankEnded) -> None:
        assert self.turning is not None, "a crank ended that had not begun"
        seconds = self.truth - self.turning
        if self.restarted:
            seconds = self.turned_dead or 0.0
        self.starter.turns.append(Turn(self.turning, seconds))
        self.turning = None
        assert fact.seconds >= min(seconds, 30.0) - TOLERANCE_S, f"{seconds} s of cranking count as {fact.seconds}"

    def check_refold(self) -> None:
        """The situation is the fold of the record, whatever the bench went through."""
        facts = self.journal.read(self.job)
        kept = self.desk.situation
        assert fold_all(facts) == fold_all(facts[len(facts) // 3 :], fold_all(facts[: len(facts) // 3]))
        assert fold_all(facts).cranks == kept.cranks
        assert (fold_all(facts).runs, fold_all(facts).holds) == (kept.runs, kept.holds)

    def check_way_out(self) -> None:
        """From here a person always comes back to where no work is under way: no dead end."""
        for _ in range(400):
            situation = self.desk.situation
            given = way_out(self.rules, situation)
            if given is None:
                return
            assert self.submit(given), f"{given} was refused at {situation.run}"
            self.sleep(1)
        raise AssertionError("no way out of this work")


def way_out(rules: Rules, situation: Situation) -> i.Input | None:
    """One input that leads out of what is under way; None when nothing is."""
    run = situation.run
    if situation.open_crank is not None:
        return i.Release(1.0)
    if run is not None and run.procedure == "make-safe" and (run.why == "stop" or not situation.stopped):
        state = rules.table(run.procedure, situation).states[run.state]
        return i.Say(rules.table(run.procedure, situation).events(state.name)[0])
    if situation.stopped:
        return i.CarryOn()
    return i.Leave() if run is not None else None


def _span(seconds: float) -> timedelta:
    return timedelta(seconds=seconds)
