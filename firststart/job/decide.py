"""decide(rules, situation, input, now) -> the facts that follow. It changes nothing.

Safety lives here and in the compiled table: a run is led back to its gate when a hold point has gone
stale, a crank begins only under a permit asked for at that very moment, and stop is obeyed first.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable
from datetime import datetime
from typing import Any

from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.attachment import MOST_TEXT
from firststart.job.clock import confirm, jumped, resume, shift
from firststart.job.draft import MAKE_SAFE, STOP, Draft, Moved
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.judge.model import Reading
from firststart.machine.table import GATE, LEAVE, State
from firststart.procedure.model import ELAPSED, TAKEN, UNREAD
from firststart.starter.crank import LONGEST_S
from firststart.units import find_unit, from_si, measured

MOST_TOLD = 50  # cranks told at once
_NOT_KNOWN = ("unknown", "other")  # answers that tell no word of the profile
_OF_CLOSED = (i.Note, i.Keep, i.Stop, i.CarryOn, i.Resume, i.ClockJumped, i.ConfirmDate)


def decide(rules: Rules, situation: Situation, given: i.Input, now: datetime) -> tuple[f.Fact, ...]:
    """The facts that follow from `given` at the time of day `now`.

    Raises InputError when the input does not fit the state; then nothing follows and nothing changes.
    """
    return tuple(fact for fact, _ in steps(rules, situation, given, now))


def steps(rules: Rules, situation: Situation, given: i.Input, now: datetime) -> tuple[tuple[f.Fact, Situation], ...]:
    """The facts as `decide` gives them, each with the situation after it: what a fold of them comes to."""
    if situation.closed and not situation.stopped and not isinstance(given, _OF_CLOSED):
        raise InputError("This job is finished; open a new job to work on.")
    draft = Draft(rules, situation, now, catch=not isinstance(given, i.ClockJumped))
    with contextlib.suppress(Moved):  # an answer to a question that no longer stands is dropped, and the new one asked
        _DECISIONS[type(given)](draft, given)
    return draft.steps


def _open(d: Draft, given: i.Open) -> None:
    if d.situation.job:
        raise InputError("This job is open already.")
    d.add(f.JobOpened, job=given.job, engine=given.engine, tool=given.tool, language=given.language)
    if given.place:
        d.add(f.PlaceNamed, place=given.place)


def _begin(d: Draft, given: i.Begin) -> None:
    d.refuse_while_turning()
    if d.situation.stopped:
        raise InputError("Work is stopped; say carry on first.")
    d.begin(given.procedure, given.why if given.why != STOP else "asked")


def _say(d: Draft, given: i.Say) -> None:
    if given.event == LEAVE:
        _leave(d, i.Leave())
        return
    state = d.settled_state()
    if state.sort == GATE:
        raise InputError("This step waits for its hold points; say do it, meanwhile, or leave it.")
    if state.sort == "crank":
        raise InputError("This step is a crank; say go when you are ready.")
    if given.event not in d.table().events(state.name) or (state.sort == "measure" and given.event != UNREAD):
        raise InputError(f"{given.event!r} is no answer here; say {', '.join(d.answers())}.")
    if state.sort == "wait" and given.event == ELAPSED:
        _tick(d, i.Tick())
        return
    _record_answer(d, state, given)
    d.fire(given.event)


def _record_answer(d: Draft, state: State, given: i.Say) -> None:
    step = state.step
    assert step is not None  # every state that answers an event of its own has a step
    d.add(
        f.AnswerGiven,
        run=d.run().run,
        state=state.name,
        event=given.event,
        said=given.said,
        channel=given.channel,
        observe=step.observe,
        cylinder=state.cylinder,
    )
    if step.sets and given.event in step.choices:
        d.note_profile(step.sets, None if given.event in _NOT_KNOWN else given.event)
    for hold in step.establishes.get(given.event, ()):
        d.add(f.HoldMet, hold=hold, by=d.run().procedure)


def _give(d: Draft, given: i.Give) -> None:
    state = d.settled_state()
    measure = state.step.measure if state.step is not None else None
    if state.sort != "measure" or measure is None:
        raise InputError("No reading is asked for here.")
    unit = find_unit(measure.unit, measure.quantity)
    d.check_range(given.value, measure, unit.symbol)
    if state.step is not None and state.step.sets:
        d.note_profile(state.step.sets, number=given.value)
    resolution = (
        None
        if measure.resolution is None
        else abs(
            measured(measure.resolution, unit.symbol, measure.quantity).si
            - measured(0, unit.symbol, measure.quantity).si
        )
    )
    judged = None
    if measure.judge:
        reading = Reading(measure.name, given.value, state.cylinder, resolution)
        judged = d.rules.judge(measure.judge, reading, d.situation)
    d.add(
        f.ValueMeasured,
        run=d.run().run,
        state=state.name,
        name=measure.name,
        value=given.value,
        instrument=measure.instrument,
        resolution=resolution,
        cylinder=state.cylinder,
        judged=judged,
        said=given.said,
        channel=given.channel,
    )
    d.fire(judged.word if judged else TAKEN)


def _go(d: Draft, _given: i.Go) -> None:
    state = d.settled_state()
    if state.sort != "crank" or state.step is None or state.step.crank is None:
        raise InputError("There is nothing to crank here.")
    d.require(state)
    d.add(f.CrankBegan, run=d.run().run, state=state.name, limit_s=d.crank_limit(state))
    if state.step.crank.purpose == "start":
        d.undo("start", "the engine was to start")


def _release(d: Draft, given: i.Release) -> None:
    crank = d.situation.open_crank
    if crank is None:
        raise InputError("The starter was not turning.")
    d.end_crank(given.seconds)
    d.after_crank(crank)


def _tick(d: Draft, _given: i.Tick) -> None:
    state = d.settled_state()
    run = d.run()
    if state.sort == "wait" and run.wait_until is not None and d.now >= run.wait_until:
        d.fire(ELAPSED)


def _stop(d: Draft, given: i.Stop) -> None:
    """Obeyed in every state, and nothing in it can be refused."""
    d.add(f.Stopped, channel=given.channel)
    if d.situation.open_crank is not None:
        d.end_crank(given.seconds)
    d.undo("stop", "work was stopped")
    if not d.making_safe():
        d.attempt(lambda: d.begin(MAKE_SAFE, STOP))


def _carry_on(d: Draft, _given: i.CarryOn) -> None:
    if not d.situation.stopped:
        raise InputError("Work is not stopped.")
    if d.making_safe():
        raise InputError("First finish making things safe.")
    d.add(f.CarriedOn)
    d.settle()


def _leave(d: Draft, _given: i.Leave) -> None:
    run = d.situation.run
    if run is None:
        raise InputError("No work is under way.")
    d.refuse_while_turning()
    if run.procedure == MAKE_SAFE:
        raise InputError("Making things safe cannot be left out; answer it.")
    d.refuse_while_stopped()
    if d.attempt(lambda: d.fire(LEAVE)):
        return
    d.settle()  # the state is gone, or the work fits no more: both end in a state that stands


def _fetch(d: Draft, _given: i.Fetch) -> None:
    state = d.settled_state()
    if state.sort != GATE:
        raise InputError("Nothing is missing here.")
    truths = d.rules.truths(d.situation, d.now)
    missing = [hold for hold in state.needs if hold in d.rules.library.safety.hold_points and hold not in truths]
    if not missing:
        raise InputError(d.run().reason or "The starter must rest first.")
    d.begin(d.establisher(missing[0]), f"hold point {missing[0]}")


def _back(d: Draft, _given: i.Back) -> None:
    run = d.run()
    d.refuse_while_turning()
    d.refuse_while_stopped()
    earlier = [visit.state for visit in run.trail if visit.state != run.state]
    if not earlier:
        raise InputError("There is no earlier question in this work.")
    for hold in run.met:
        d.add(f.HoldUndone, hold=hold, because="went back to answer again")
    d.add(f.WentBack, run=run.run, state=earlier[-1])
    d.settle()


def _resume(d: Draft, given: i.Resume) -> None:
    """A bench opened this job again: close a crank that never ended, and look at every gate anew."""
    crank = d.situation.open_crank
    resume(d, given)
    if crank is not None:
        d.end_crank(None, seen=given.steady)
        d.attempt(lambda: d.after_crank(crank))
    d.attempt(d.settle)  # what was noticed of the clock stands, whatever the work says


def _place(d: Draft, given: i.NamePlace) -> None:
    if given.place == d.situation.place and not d.situation.place_doubted:
        return
    if given.place != d.situation.place:
        d.undo_place("the work moved to another place")
    d.add(f.PlaceNamed, place=given.place)
    d.settle()


def _note(d: Draft, given: i.Note) -> None:
    if not given.text.strip():
        raise InputError("A note needs words: say note, and then what to keep.")
    d.add(f.NoteAdded, text=_fitting(given.text))


def _keep(d: Draft, given: i.Keep) -> None:
    d.add(f.AttachmentKept, attachment=given.attachment, text=_fitting(given.text))


def _fitting(text: str) -> str:
    """A note that fits and is text. Raises InputError: nothing is cut off, or taken for something else, unseen."""
    if any("\ud800" <= letter <= "\udfff" for letter in text):
        raise InputError("That note has bytes in it that are no text; type it anew.")
    if len(text) > MOST_TEXT:
        raise InputError(f"That note has {len(text)} characters, and {MOST_TEXT} fit; keep it in parts.")
    return text


def _tell_crank(d: Draft, given: i.TellCrank) -> None:
    """Cranking nobody counted: how, how hard and with what key is not known, so it undoes all that cranking can."""
    if not 1 <= given.times <= MOST_TOLD:
        raise InputError(f"Tell of 1 to {MOST_TOLD} cranks at a time.")
    if not 0 < given.seconds <= LONGEST_S:
        raise InputError("Tell how many seconds each crank lasted, an hour at most.")
    if not 0 <= given.ago_s < math.inf:
        raise InputError("Tell how long ago that was.")
    for number in range(given.times):
        ago = (given.times - 1 - number) * given.seconds + given.ago_s
        d.add(f.CrankTold, seconds=given.seconds, ago_s=ago)
    d.undo("crank", "the engine was cranked")
    d.undo("start", "the engine was cranked")
    d.settle()


def _hear_crank(d: Draft, given: i.HearCrank) -> None:
    d.refuse_while_turning()
    if not d.situation.cranks:
        raise InputError("The starter was not turning.")
    run = d.situation.run
    d.add(
        f.ValueMeasured,
        run=run.run if run is not None else d.situation.started_runs,
        state=run.state if run is not None else "",
        name="cranking-speed",
        value=given.speed,
        instrument="microphone",
        said=given.said[:MOST_TEXT],
        channel="voice",
    )


def _repair(d: Draft, given: i.Mend) -> None:
    d.add(f.RepairDone, suspect=given.suspect, success=given.success)


def _profile(d: Draft, given: i.SetProfile) -> None:
    number = given.number
    if number is not None:
        number = from_si(number.si, number.unit, number.kind)
    d.note_profile(given.field, given.word, number)
    d.settle()


def _close(d: Draft, _given: i.Close) -> None:
    d.refuse_while_turning()
    if d.situation.stopped:
        raise InputError("Work is stopped; say carry on first.")
    d.add(f.JobClosed)


_DECISIONS: dict[type[Any], Callable[[Draft, Any], None]] = {
    i.Open: _open,
    i.Begin: _begin,
    i.Say: _say,
    i.Give: _give,
    i.Go: _go,
    i.Release: _release,
    i.Tick: _tick,
    i.Stop: _stop,
    i.CarryOn: _carry_on,
    i.Leave: _leave,
    i.Fetch: _fetch,
    i.Back: _back,
    i.Resume: _resume,
    i.NamePlace: _place,
    i.Note: _note,
    i.Keep: _keep,
    i.TellCrank: _tell_crank,
    i.HearCrank: _hear_crank,
    i.Mend: _repair,
    i.SetProfile: _profile,
    i.ShiftClock: shift,
    i.ClockJumped: jumped,
    i.ConfirmDate: confirm,
    i.Close: _close,
}
