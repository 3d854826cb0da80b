"""decide(rules, situation, input, now) -> the facts that follow. It changes nothing.

Safety lives here and in the compiled table: a run is led back to its gate when a hold point has gone
stale, a crank begins only under a permit asked for at that very moment, and stop is obeyed first.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from datetime import datetime
from typing import Any

from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.draft import Draft, Moved
from firststart.job.fold import seconds_of
from firststart.job.rules import MAX_CRANK_S, Rules
from firststart.job.situation import Situation
from firststart.judge.model import Reading
from firststart.machine.table import GATE, State
from firststart.procedure.model import CRANKED, ELAPSED, TAKEN, UNREAD
from firststart.units import find_unit, from_si, measured

MAKE_SAFE = "make-safe"


def decide(rules: Rules, situation: Situation, given: i.Input, now: datetime) -> tuple[f.Fact, ...]:
    """The facts that follow from `given` at the time of day `now`.

    Raises InputError when the input does not fit the state; then nothing follows and nothing changes.
    """
    draft = Draft(rules, situation, now)
    with contextlib.suppress(Moved):  # an answer to a question that no longer stands is dropped, and the new one asked
        _DECISIONS[type(given)](draft, given)
    return draft.facts


def _open(d: Draft, given: i.Open) -> None:
    d.add(f.JobOpened, job=given.job, engine=given.engine, tool=given.tool, language=given.language)
    if given.place:
        d.add(f.PlaceNamed, place=given.place)


def _begin(d: Draft, given: i.Begin) -> None:
    if d.situation.stopped:
        raise InputError("Work is stopped; say carry on first.")
    d.begin(given.procedure, given.why)


def _say(d: Draft, given: i.Say) -> None:
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
        d.add(f.ProfileNoted, field=step.sets, word=None if given.event == "unknown" else given.event)
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
        d.add(f.ProfileNoted, field=state.step.sets, number=given.value)
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
    if d.situation.open_crank is not None:
        raise InputError("The starter is already turning; say stop or release it.")
    d.require(state)
    d.add(f.CrankBegan, run=d.run().run, state=state.name, limit_s=d.crank_limit(state))


def _release(d: Draft, given: i.Release) -> None:
    if d.situation.open_crank is None:
        raise InputError("The starter was not turning.")
    d.end_crank(given.seconds)
    d.fire(CRANKED)


def _tick(d: Draft, _given: i.Tick) -> None:
    state = d.settled_state()
    run = d.run()
    if state.sort == "wait" and run.wait_until is not None and d.now >= run.wait_until:
        d.fire(ELAPSED)


def _stop(d: Draft, given: i.Stop) -> None:
    open_crank = d.situation.open_crank
    d.add(f.Stopped, channel=given.channel)
    if open_crank is not None:
        turned = seconds_of(d.now) - seconds_of(open_crank.began)
        d.end_crank(turned if given.seconds is None else given.seconds, sure=given.seconds is not None)
    d.undo("stop", "work was stopped")
    top = d.situation.run
    if MAKE_SAFE in d.rules.library.procedures and (top is None or top.procedure != MAKE_SAFE):
        d.begin(MAKE_SAFE, "stop")


def _carry_on(d: Draft, _given: i.CarryOn) -> None:
    top = d.situation.run
    if top is not None and top.procedure == MAKE_SAFE:
        raise InputError("First finish making things safe.")
    d.add(f.CarriedOn)
    d.settle()


def _leave(d: Draft, _given: i.Leave) -> None:
    run = d.situation.run
    if run is None:
        raise InputError("No work is under way.")
    if run.procedure == MAKE_SAFE:
        raise InputError("Making things safe cannot be left out; answer it.")
    d.fire("leave")


def _fetch(d: Draft, _given: i.Fetch) -> None:
    state = d.settled_state()
    run = d.run()
    if state.sort != GATE:
        raise InputError("Nothing is missing here.")
    missing = [hold for hold in run.refused if hold in d.rules.library.safety.hold_points]
    if not missing:
        raise InputError(run.reason or "The starter must rest first.")
    d.begin(d.establisher(missing[0]), f"hold point {missing[0]}")


def _back(d: Draft, _given: i.Back) -> None:
    run = d.run()
    if d.situation.open_crank is not None:
        raise InputError("The starter is turning; say stop first.")
    here = [n for n, v in enumerate(run.trail) if v.state == run.state]
    index = (here[-1] if here else len(run.trail)) - 1
    if index < 0:
        raise InputError("There is no earlier question in this work.")
    for hold in run.met:
        d.add(f.HoldUndone, hold=hold, because="went back to answer again")
    d.add(f.WentBack, run=run.run, state=run.trail[index].state)
    d.settle()


def _resume(d: Draft, _given: i.Resume) -> None:
    """A bench opened this job again: close a crank that never ended, and look at every gate anew."""
    if d.situation.open_crank is not None:
        passed = seconds_of(d.now) - seconds_of(d.situation.open_crank.began)
        d.end_crank(min(max(passed, d.situation.open_crank.limit_s), MAX_CRANK_S), sure=False)
        if d.situation.run is not None:
            d.fire(CRANKED)
    d.settle()


def _place(d: Draft, given: i.NamePlace) -> None:
    if given.place != d.situation.place:
        d.add(f.PlaceNamed, place=given.place)
        d.settle()


def _note(d: Draft, given: i.Note) -> None:
    d.add(f.NoteAdded, text=given.text)


def _tell_crank(d: Draft, given: i.TellCrank) -> None:
    for number in range(given.times):
        ago = (given.times - 1 - number) * given.seconds + given.ago_s
        d.add(f.CrankTold, seconds=given.seconds, ago_s=ago)
    d.undo("crank", "the engine was cranked")
    d.settle()


def _repair(d: Draft, given: i.Mend) -> None:
    d.add(f.RepairDone, suspect=given.suspect, success=given.success)


def _profile(d: Draft, given: i.SetProfile) -> None:
    number = given.number
    if number is not None:
        number = from_si(number.si, number.unit, number.kind)
    d.add(f.ProfileNoted, field=given.field, word=given.word, number=number)
    d.settle()


def _shift(d: Draft, given: i.ShiftClock) -> None:
    d.add(f.ClockSet, shift_s=given.shift_s, note=given.note)


def _close(d: Draft, _given: i.Close) -> None:
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
    i.TellCrank: _tell_crank,
    i.Mend: _repair,
    i.SetProfile: _profile,
    i.ShiftClock: _shift,
    i.Close: _close,
}
