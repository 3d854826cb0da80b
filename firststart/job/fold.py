"""fold(situation, fact) -> situation: by the kind of fact, never by chains of `if` on strings.

Nothing here looks at procedures or at a clock: the facts say everything. To resume is to fold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from functools import reduce
from typing import Any, TypeVar

from firststart.job import facts as f
from firststart.job.situation import (
    Ended,
    Hold,
    Observed,
    OpenCrank,
    Read,
    Repair,
    Run,
    Situation,
    Visit,
)
from firststart.starter.permit import Crank

_TRAIL = 60  # questions kept for going back
_V = TypeVar("_V", Situation, Run, Hold, Observed, OpenCrank)


def fold(situation: Situation, fact: f.Fact) -> Situation:
    """The situation after `fact`. A correction of the clock counts from its own moment on."""
    if isinstance(fact, f.ClockSet):
        situation = replace(situation, shift_s=situation.shift_s + fact.shift_s)
    now = situation.effective(fact.at)
    base = replace(situation, now=now, count=situation.count + 1)
    return _FOLDS[type(fact)](base, fact, now)


def replace(value: _V, **change: Any) -> _V:
    """A copy with some fields changed. As `dataclasses.replace`, several times as fast: a record has many facts.

    Raises TypeError for a field that there is not. The classes concerned work nothing out when they are made.
    """
    copy = object.__new__(type(value))
    fields = vars(copy)
    fields.update(vars(value))
    known = len(fields)
    fields.update(change)
    if len(fields) != known:
        raise TypeError(*change.keys() - vars(value).keys())
    return copy


def fold_all(facts: Iterable[f.Fact], start: Situation | None = None) -> Situation:
    """The situation after all `facts`, in order."""
    return reduce(fold, facts, start or Situation())


def seconds_of(moment: datetime) -> float:
    """An effective time on the axis of seconds that `starter` counts on."""
    return moment.timestamp()


def _job_opened(s: Situation, fact: f.JobOpened, now: datetime) -> Situation:
    return replace(s, job=fact.job, engine=fact.engine, opened=now, language=fact.language)


def _place_named(s: Situation, fact: f.PlaceNamed, _now: datetime) -> Situation:
    return replace(s, place=fact.place, place_doubted=False)


def _profile_noted(s: Situation, fact: f.ProfileNoted, now: datetime) -> Situation:
    if fact.word is not None:
        profile = s.profile.with_word(fact.field, fact.word)
    elif fact.number is not None:
        profile = s.profile.with_number(fact.field, fact.number)
    else:
        profile = s.profile.without(fact.field)
    until = now + timedelta(seconds=fact.rest_s) if fact.rest_s > 0 else None
    if until is not None and (s.rest_until is None or until > s.rest_until):
        return replace(s, profile=profile, rest_until=until)
    return replace(s, profile=profile)


def _run_started(s: Situation, fact: f.RunStarted, now: datetime) -> Situation:
    run = Run(fact.run, fact.procedure, fact.digest, fact.why, fact.parent, now)
    return replace(s, runs=(*s.runs, run), started_runs=s.started_runs + 1)


def _with_run(s: Situation, number: int, **change: Any) -> Situation:
    runs = tuple(replace(r, **change) if r.run == number else r for r in s.runs)
    return replace(s, runs=runs)


def _find_run(s: Situation, number: int) -> Run:
    return next(r for r in s.runs if r.run == number)


def _step_entered(s: Situation, fact: f.StepEntered, now: datetime) -> Situation:
    run = _find_run(s, fact.run)
    trail = (*run.trail, Visit(fact.state, s.count))[-_TRAIL:] if fact.question else run.trail
    return _with_run(
        s,
        fact.run,
        state=fact.state,
        entered=now,
        trail=trail,
        wait_until=None,
        refused=(),
        wait_s=0.0,
        reason="",
        cautioned=run.cautioned | set(run.hazards),
        hazards=fact.hazards,
    )


def _answer_given(s: Situation, fact: f.AnswerGiven, now: datetime) -> Situation:
    if fact.observe is None:
        return s
    seen = Observed(fact.observe, fact.cylinder, fact.event, now, s.count, fact.run)
    return replace(s, observed=(*s.observed, seen))


def _value_measured(s: Situation, fact: f.ValueMeasured, now: datetime) -> Situation:
    key = (fact.name, fact.cylinder)
    old = s.readings.get(key)
    earlier = {**s.earlier, key: old} if old is not None and old.run != fact.run else s.earlier
    read = Read(fact.value, now, s.count, fact.run, fact.instrument, fact.resolution, fact.judged)
    after = replace(s, readings={**s.readings, key: read}, earlier=earlier)
    if fact.judged is None:
        return after
    seen = Observed(fact.name, fact.cylinder, fact.judged.word, now, s.count, fact.run)
    return replace(after, observed=(*s.observed, seen))


def _set_judged(s: Situation, fact: f.SetJudged, now: datetime) -> Situation:
    seen = Observed(fact.judged.judge, None, fact.judged.word, now, s.count, fact.run)
    return replace(s, observed=(*s.observed, seen))


def _crank_began(s: Situation, fact: f.CrankBegan, now: datetime) -> Situation:
    return replace(s, open_crank=OpenCrank(fact.run, fact.state, now, fact.limit_s))


def _crank_ended(s: Situation, fact: f.CrankEnded, now: datetime) -> Situation:
    if s.open_crank is None:
        return s
    # It ended now at the latest, so one that is said to have turned longer than the clock saw began earlier.
    start = min(seconds_of(s.open_crank.began), seconds_of(now) - fact.seconds)
    return replace(s, cranks=(*s.cranks, Crank(start, fact.seconds, fact.sure)), open_crank=None)


def _crank_told(s: Situation, fact: f.CrankTold, now: datetime) -> Situation:
    start = seconds_of(now) - fact.ago_s - fact.seconds
    cranks = tuple(sorted((*s.cranks, Crank(start, fact.seconds, False)), key=lambda c: c.start))
    return replace(s, cranks=cranks)


def _wait_began(s: Situation, fact: f.WaitBegan, now: datetime) -> Situation:
    return _with_run(s, fact.run, wait_until=now + timedelta(seconds=fact.seconds))


def _hold_met(s: Situation, fact: f.HoldMet, now: datetime) -> Situation:
    holds = {**s.holds, fact.hold: Hold(now, s.place, fact.by, s.count, uncounted_s=s.uncounted_s)}
    runs = tuple(replace(r, met=(*r.met, fact.hold)) if i == len(s.runs) - 1 else r for i, r in enumerate(s.runs))
    return replace(s, holds=holds, runs=runs)


def _hold_undone(s: Situation, fact: f.HoldUndone, now: datetime) -> Situation:
    old = s.holds.get(fact.hold)
    if old is None or old.undone:
        return s
    return replace(s, holds={**s.holds, fact.hold: replace(old, undone=fact.because, undone_at=now)})


def _step_refused(s: Situation, fact: f.StepRefused, _now: datetime) -> Situation:
    return _with_run(s, fact.run, refused=fact.lacking, wait_s=fact.wait_s, reason=fact.reason)


def _run_ended(s: Situation, fact: f.RunEnded, now: datetime) -> Situation:
    ended = Ended(fact.run, fact.procedure, fact.result, fact.outcome, fact.say, now, s.count)
    runs = tuple(r for r in s.runs if r.run != fact.run)
    return replace(s, runs=runs, ended={**s.ended, fact.procedure: ended})


def _went_back(s: Situation, fact: f.WentBack, now: datetime) -> Situation:
    run = _find_run(s, fact.run)
    index = max(i for i, visit in enumerate(run.trail) if visit.state == fact.state)
    visit = run.trail[index]
    after = _with_run(
        s, fact.run, trail=run.trail[: index + 1], state=fact.state, entered=now, met=(), wait_until=None, refused=()
    )
    observed = tuple(
        replace(o, stale="went back to answer again", stale_at=now)
        if o.run == fact.run and o.number > visit.number and not o.stale
        else o
        for o in s.observed
    )
    return replace(after, observed=observed)


def _stopped(s: Situation, _fact: f.Stopped, _now: datetime) -> Situation:
    return replace(s, stopped=True)


def _carried_on(s: Situation, _fact: f.CarriedOn, _now: datetime) -> Situation:
    return replace(s, stopped=False)


def _repair_done(s: Situation, fact: f.RepairDone, now: datetime) -> Situation:
    return replace(s, repairs=(*s.repairs, Repair(fact.suspect, fact.success, now, s.count)))


def _evidence_staled(s: Situation, fact: f.EvidenceStaled, now: datetime) -> Situation:
    observed = tuple(
        replace(o, stale=fact.because, stale_at=now) if o.name == fact.observe and not o.stale else o
        for o in s.observed
    )
    return replace(s, observed=observed)


def _clock_set(s: Situation, fact: f.ClockSet, _now: datetime) -> Situation:
    """What is taken out of time ends no rest; but a starter that turns meanwhile has turned for all of it."""
    crank = s.open_crank
    if crank is not None and (fact.shift_s < 0 or fact.withheld_s < 0):
        crank = replace(crank, unseen_s=crank.unseen_s - fact.shift_s)
    short = -fact.shift_s if fact.shift_s < 0 and fact.withheld_s == 0 else 0.0
    withheld = max(s.withheld_s + fact.withheld_s, 0.0)
    return replace(s, withheld_s=withheld, uncounted_s=s.uncounted_s + short, open_crank=crank)


def _job_resumed(s: Situation, _fact: f.JobResumed, _now: datetime) -> Situation:
    return replace(s, place_doubted=True)


def _same(s: Situation, _fact: f.Fact, _now: datetime) -> Situation:
    return s


def _job_closed(s: Situation, _fact: f.JobClosed, _now: datetime) -> Situation:
    return replace(s, closed=True)


_FOLDS: dict[type[f.Fact], Callable[[Situation, Any, datetime], Situation]] = {
    f.JobOpened: _job_opened,
    f.PlaceNamed: _place_named,
    f.ProfileNoted: _profile_noted,
    f.RunStarted: _run_started,
    f.StepEntered: _step_entered,
    f.AnswerGiven: _answer_given,
    f.ValueMeasured: _value_measured,
    f.SetJudged: _set_judged,
    f.CrankBegan: _crank_began,
    f.CrankEnded: _crank_ended,
    f.CrankTold: _crank_told,
    f.WaitBegan: _wait_began,
    f.HoldMet: _hold_met,
    f.HoldUndone: _hold_undone,
    f.StepRefused: _step_refused,
    f.RunEnded: _run_ended,
    f.WentBack: _went_back,
    f.Stopped: _stopped,
    f.CarriedOn: _carried_on,
    f.RepairDone: _repair_done,
    f.EvidenceStaled: _evidence_staled,
    f.ClockSet: _clock_set,
    f.JobResumed: _job_resumed,
    f.NoteAdded: _same,
    f.AttachmentKept: _same,
    f.JobClosed: _job_closed,
}
