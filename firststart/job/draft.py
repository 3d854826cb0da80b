"""The facts of one decision as they grow: each is folded in at once, so the next follows from it."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime
from typing import Any

from firststart.engine.profile import check_together
from firststart.errors import FirststartError, InputError, RangeError, UnknownName
from firststart.job import facts as f
from firststart.job.fold import fold, seconds_of
from firststart.job.holds import hold_state
from firststart.job.rules import MAX_CRANK_S, Rules
from firststart.job.situation import OpenCrank, Run, Situation
from firststart.machine.runtime import Move
from firststart.machine.table import EVENTLESS, FINAL, GATE, PERMIT, State, Table
from firststart.procedure.model import CRANKED, LEFT, Measure
from firststart.procedure.needs import hazards_of
from firststart.starter.crank import LONGEST_S
from firststart.units import Measured, from_si

MAKE_SAFE = "make-safe"
STOP = "stop"
_COUNT_SLACK_S = 0.5  # a count this little below the clock's is the better one of the two
_SLACK_S = 2.0  # a clock this little behind its last fact is not called set back
_DEPTH = 20  # runs waiting for one another; more is a loop of hold points
_SHORT_MINUTES = 24 * 60  # hold points that last this long or less are asked again after a gap of unknown length
_NO_MORE = "That work does not fit this engine now. It is left, and nothing is taken as checked."


class Moved(Exception):  # not an error: the way of leaving a decision early
    """The state moved on before the answer was looked at: a hold point had gone stale meanwhile."""


class Draft:
    """Facts under way. Not shared, not kept: one decision makes one and takes its `facts`."""

    def __init__(self, rules: Rules, situation: Situation, wall: datetime, *, catch: bool = True) -> None:
        self.rules, self.situation, self.wall = rules, situation, wall
        self._steps: list[tuple[f.Fact, Situation]] = []
        if catch:
            self._catch_clock()

    @property
    def steps(self) -> tuple[tuple[f.Fact, Situation], ...]:
        """The facts so far, each with the situation after it."""
        return tuple(self._steps)

    @property
    def now(self) -> datetime:
        """The effective time of this decision."""
        return self.situation.effective(self.wall)

    def add(self, kind: type[f.Fact], **body: Any) -> None:
        """One more fact, folded in."""
        fact = kind(at=self.wall, **body)
        self.situation = fold(self.situation, fact)
        self._steps.append((fact, self.situation))

    def attempt(self, part: Callable[[], object]) -> bool:
        """Do `part` of the decision whole or not at all: when it is refused, what follows stands without it."""
        before = (self.situation, len(self._steps))
        try:
            part()
        except FirststartError:
            self.situation = before[0]
            del self._steps[before[1] :]
            return False
        return True

    def _catch_clock(self) -> None:
        """A clock that was set back is noticed: rests go on from the newest fact; what may be old is asked again."""
        last = self.situation.now
        if last is None:
            return
        behind = seconds_of(last) - seconds_of(self.wall) - self.situation.shift_s
        if behind > _SLACK_S:
            self.add(f.ClockSet, shift_s=behind, note="the clock was set back; rests go on from the newest entry")
            self.undo_short("the clock was set back, and nobody knows how old this is")

    # where the work stands -------------------------------------------------------------------------

    def run(self) -> Run:
        """The run on top. Raises InputError when there is none."""
        run = self.situation.run
        if run is None:
            raise InputError("No work is under way.")
        return run

    def table(self) -> Table:
        """The machine of a run."""
        return self.rules.table(self.run().procedure, self.situation)

    def state(self) -> State:
        """The state in which a run stands."""
        return self.table().states[self.run().state]

    def making_safe(self) -> bool:
        """Is the work on top the one that a stop leads to?"""
        run = self.situation.run
        return run is not None and run.procedure == MAKE_SAFE and run.why == STOP

    def refuse_while_turning(self) -> None:
        """Raise InputError while the starter turns."""
        if self.situation.open_crank is not None:
            raise InputError("The starter is turning; say stop or release it.")

    def refuse_while_stopped(self) -> None:
        """While stopped nothing goes on but making things safe."""
        if self.situation.stopped and not self.making_safe():
            raise InputError("Work is stopped; say carry on first.")

    def settled_state(self) -> State:
        """The state of the run on top after every gate has been looked at anew."""
        self.refuse_while_stopped()
        self.refuse_while_turning()
        before = (self.run().run, self.run().state)
        self.settle()
        after = self.situation.run
        if after is None or before != (after.run, after.state):
            raise Moved
        return self.state()

    def answers(self) -> tuple[str, ...]:
        return tuple(e for e in self.table().events(self.run().state) if e != "leave")

    # moving ----------------------------------------------------------------------------------------

    def begin(self, procedure: str, why: str) -> None:
        """Start a procedure on top of what is under way. Making safe after a stop is never refused."""
        title = self.rules.library.procedure(procedure).title
        if why != STOP:
            if len(self.situation.runs) >= _DEPTH:
                raise InputError("Too much work is waiting; leave some of it first.")
            if any(r.procedure == procedure for r in self.situation.runs):
                raise InputError(f"{title} is already under way.")
        try:
            self.rules.table(procedure, self.situation)
        except UnknownName:
            raise InputError(f"{title} does not fit this engine.") from None
        parent = self.situation.run.run if self.situation.run else None
        digest = self.rules.library.digests.get(procedure, "")
        self.add(
            f.RunStarted,
            run=self.situation.started_runs + 1,
            procedure=procedure,
            digest=digest,
            why=why,
            parent=parent,
        )
        self._enter((self.table().initial,))
        self.settle()

    def fire(self, event: str) -> None:
        """An event at the run on top, and all that follows of itself.

        Should what was just noted of the engine leave this state out, the work is looked at anew instead.
        """
        run = self.run()
        if not self._fits() or run.state not in self.table().states:
            self.settle()
            return
        move = self._moved(run, event)
        if not move.entered:
            raise InputError(f"{event!r} leads nowhere from here.")
        self._enter(move.entered)

    def settle(self, *, fetch: bool = True) -> None:
        """Take every eventless arrow that is enabled now: gates open, stale steps fall back to their gates.

        `fetch` False: a quick hold point that was just left is not asked again by itself.
        """
        run = self.situation.run
        if run is None or self.situation.open_crank is not None:
            return
        if self.situation.stopped and not self.making_safe():
            return
        if not self._fits():
            self._end_unfit()
            return
        if run.state not in self.table().states:
            self._enter((self.table().initial,))
            return
        move = self._moved(run, EVENTLESS)
        if move.entered:
            self._enter(move.entered)
        elif self.state().sort == GATE:
            self._refuse(fetch=fetch)

    def _moved(self, run: Run, event: str) -> Move:
        """Where an event leads with what holds now. The permit is worked out only where the way depends on it."""
        table = self.table()
        known = self.rules.truths if run.state in table.asks_permit else self.rules.fresh
        return self.rules.runtime.advance(table, run.state, event, known(self.situation, self.now))

    def _fits(self) -> bool:
        """Can the run on top still be led through, with the procedures and the profile as they are now?"""
        try:
            self.table()
        except UnknownName:
            return False
        return True

    def _end_unfit(self) -> None:
        run = self.run()
        self.add(f.RunEnded, run=run.run, procedure=run.procedure, result=LEFT, outcome=LEFT, say=_NO_MORE)
        self.settle(fetch=False)

    def _enter(self, path: tuple[str, ...]) -> None:
        """Come to rest in the last state of `path`, with what entering it means."""
        state = self.table().states[path[-1]]
        if state.sort == FINAL:
            self._end(state)
            return
        run = self.run()
        question = state.sort in ("action", "choice", "measure", "wait")
        hazards = hazards_of(state.step) if state.step is not None else ()
        self.add(f.StepEntered, run=run.run, state=state.name, question=question, hazards=hazards)
        if state.step is not None:
            for name in state.step.undoes:
                self._undo_one(name, f"{self.rules.library.procedure(run.procedure).title}")
        if state.sort == "judge":
            self._judge(state)
        elif state.sort == GATE:
            self._refuse()
        elif state.sort == "wait" and state.step is not None and state.step.wait is not None:
            self.add(f.WaitBegan, run=run.run, state=state.name, seconds=state.step.wait.minutes * 60)

    def _judge(self, state: State) -> None:
        assert state.step is not None and state.step.judge is not None  # what makes its sort "judge"
        judged = self.rules.judge(state.step.judge, None, self.situation)
        self.add(f.SetJudged, run=self.run().run, state=state.name, judged=judged)
        self.fire(judged.word)

    def _end(self, state: State) -> None:
        """A result: what it establishes, undoes and mends; the run that waited goes on."""
        run, result = self.run(), state.result
        assert result is not None  # every final state carries its result
        title = self.rules.library.procedure(run.procedure).title
        for name in result.undoes:
            self._undo_one(name, title)
        for suspect in result.repairs:
            self.add(f.RepairDone, suspect=suspect, procedure=run.procedure)
        for hold in result.establishes:
            self.add(f.HoldMet, hold=hold, by=run.procedure)
        self.add(
            f.RunEnded,
            run=run.run,
            procedure=run.procedure,
            result=state.name,
            outcome=result.outcome,
            say=result.say,
        )
        if self.situation.stopped:
            return
        if result.then is not None and all(r.procedure != result.then for r in self.situation.runs):
            self.begin(result.then, "follows at once")
        else:
            self.settle(fetch=result.outcome == "ok")

    # gates and permits -----------------------------------------------------------------------------

    def _refuse(self, *, fetch: bool = True) -> None:
        """Say what is lacking; a hold point of one quick question is fetched at once."""
        state, run = self.state(), self.run()
        truths = self.rules.truths(self.situation, self.now)
        lacking = tuple(n for n in state.needs if n not in truths)
        if not lacking:
            return
        permit = self.rules.permit(self.situation, self.now) if PERMIT in lacking else None
        wait = permit.wait_s if permit else 0.0
        reason = permit.reason if permit else ""
        if run.refused != lacking or abs(run.wait_s - wait) > 1:
            self.add(
                f.StepRefused, run=run.run, state=state.name, lacking=lacking, wait_s=round(wait, 1), reason=reason
            )
        points = self.rules.library.safety.hold_points
        if fetch and lacking[0] in points and points[lacking[0]].quick and PERMIT not in lacking:
            self.attempt(lambda: self.begin(self.establisher(lacking[0]), f"hold point {lacking[0]}"))

    def establisher(self, hold: str) -> str:
        """The procedure to do for `hold` on this engine. Raises InputError when there is none."""
        waiting = {r.procedure for r in self.situation.runs}
        names = self.rules.library.establishers(hold, self.rules.words(self.situation))
        for name in names:
            if name not in waiting:
                return name
        raise InputError(f"Nothing in the procedures can meet the hold point {hold!r} here.")

    def require(self, state: State) -> None:
        """Refuse a crank whose hold points or permit fail at this moment. Raises InputError with the reason."""
        truths = self.rules.truths(self.situation, self.now)
        lacking = [n for n in state.needs if n not in truths]
        if not lacking:
            return
        if lacking == [PERMIT]:
            raise InputError(self.rules.permit(self.situation, self.now).reason)
        says = ", ".join(
            hold_state(n, self.rules.library.safety.hold_points[n], self.situation, self.now).say
            for n in lacking
            if n != PERMIT
        )
        raise InputError(f"Not yet: {says} must be done first.")

    def rest_owed(self, at: datetime) -> float:
        """Seconds that the starter must still rest at the effective time `at`."""
        return self.rules.permit(self.situation, at).wait_s

    def crank_limit(self, state: State) -> float:
        """How long the starter may turn now, in seconds."""
        assert state.step is not None and state.step.crank is not None  # asked of crank states only
        wanted = state.step.crank.seconds
        if not self.rules.starts_by_motor(self.situation):
            return min(wanted, MAX_CRANK_S)
        return min(wanted, self.rules.permit(self.situation, self.now, wanted).seconds)

    def end_crank(self, seconds: float | None, *, seen: bool = True) -> None:
        """The starter has stopped: the seconds are kept, and what a crank undoes is undone.

        `seconds` None, or no number of seconds: how long is not known, and it counts as long as the clock saw.
        A number that falls short of what the clock saw counts as the clock's. `seen` False: no bench was there
        when it ended, so it counts as the longest crank.
        """
        crank = self.situation.open_crank
        if crank is None:
            raise InputError("The starter was not turning.")
        unseen = min(crank.unseen_s, MAX_CRANK_S)  # the machine slept, or the clock was set, while it turned
        passed = max(seconds_of(self.now) - seconds_of(crank.began) + unseen, 0.0)
        clock = min(passed, LONGEST_S) if seen else MAX_CRANK_S
        told = seconds if seconds is not None and math.isfinite(seconds) and seconds >= 0 else None
        counted = max(clock, crank.limit_s) if told is None else min(told, LONGEST_S)
        if counted < passed - _COUNT_SLACK_S:
            counted = max(counted, clock)
        self.add(f.CrankEnded, run=crank.run, seconds=round(counted, 2), sure=told is not None)
        self.undo("crank", "the engine was cranked")

    def after_crank(self, crank: OpenCrank) -> None:
        """The work that cranked goes on; should it have changed meanwhile, every gate is looked at anew."""
        run = self.situation.run
        if run is not None and run.run == crank.run and run.state == crank.state and self._fits():
            state = self.table().states.get(run.state)
            if state is not None and state.sort == "crank":
                self.fire(CRANKED)
                return
        self.settle()

    def note_profile(self, field: str, word: str | None = None, number: Measured | None = None) -> None:
        """Keep one field of the profile. A rest that is owed at this moment is never shortened by it."""
        if word is not None:
            self.rules.check_open_word(field, word)
        if number is not None:
            check_together(self.situation.profile, field, number)
        owed = self.rest_owed(self.now) if self.situation.all_cranks() or self.situation.rest_until else 0.0
        self.add(f.ProfileNoted, field=field, word=word, number=number, rest_s=math.ceil(owed))

    # undoing ---------------------------------------------------------------------------------------

    def undo(self, trigger: str, because: str) -> None:
        """Undo every hold point that `trigger` (crank, stop) undoes."""
        for name, point in self.rules.library.safety.hold_points.items():
            if trigger in point.undone_by:
                self._undo_one(name, because)

    def undo_short(self, because: str) -> None:
        """Undo every hold point that lasts a day or less: a gap of unknown length lies behind it."""
        for name, point in self.rules.library.safety.hold_points.items():
            if point.lasts_minutes is not None and point.lasts_minutes <= _SHORT_MINUTES:
                self._undo_one(name, because)

    def undo_place(self, because: str) -> None:
        """Undo every hold point that holds for one place: coming back does not bring it back."""
        for name, point in self.rules.library.safety.hold_points.items():
            if point.place:
                self._undo_one(name, because)

    def _undo_one(self, name: str, because: str) -> None:
        """Undo a hold point, or make what was observed under this name stale."""
        if name in self.rules.library.safety.hold_points:
            held = self.situation.holds.get(name)
            if held is not None and not held.undone:
                self.add(f.HoldUndone, hold=name, because=because)
        elif any(o.name == name and not o.stale for o in self.situation.observed):
            self.add(f.EvidenceStaled, observe=name, because=because)

    def check_range(self, value: Measured, measure: Measure, unit: str) -> None:
        """Raise InputError or RangeError when a reading cannot be what `measure` asks for."""
        if value.kind != measure.quantity:
            raise InputError(f"{value} is a {value.kind}; a {measure.quantity} in {measure.unit} is asked for.")
        number = from_si(value.si, unit, value.kind).value
        low, high = measure.range
        if not low <= number <= high:
            raise RangeError(measure.name, number, low, high, measure.unit, "read the instrument again")
