"""What follows when the clock is wrong: rests are never shortened, and what ages never lasts longer by it.

Time that passed only by a clock nobody can vouch for is withheld: it does not count for a rest, and it
does count for the age of a hold point, until the person says whether the date is right.
"""

from __future__ import annotations

import math

from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.draft import Draft
from firststart.job.fold import seconds_of

LONG_GAP_S = 3600.0  # after a longer gap the date and the place are asked
SHORT_GAP_S = 60.0  # a shorter gap is not worth a question: while a rest is owed it just does not count for it
DRIFT_S = 2.0  # clocks differ by this much and nobody set them


def resume(d: Draft, given: i.Resume) -> None:
    """A gap before this moment: with the steady clock it is sure; else what counts for a rest is asked first."""
    last = d.situation.now
    if last is None:
        return
    gap = seconds_of(d.now) - seconds_of(last)
    owing = d.situation.open_crank is not None or d.rest_owed(last) > 0
    doubtful = gap > LONG_GAP_S or (gap > DRIFT_S and owing)
    if doubtful and not given.steady:
        withhold(d, gap, "nobody saw the clock in the meantime")
    if gap > LONG_GAP_S:
        d.add(f.JobResumed, gap_s=round(gap, 1))


def jumped(d: Draft, given: i.ClockJumped) -> None:
    """The steady clock of this bench tells how the time of day was moved; time runs on by the steady one."""
    if not math.isfinite(given.ahead_s):
        raise InputError("A clock moves by a number of seconds.")
    if given.ahead_s < -DRIFT_S:
        d.add(f.ClockSet, shift_s=-given.ahead_s, note="the clock was set back; rests run on")
    elif given.ahead_s > SHORT_GAP_S:
        withhold(d, given.ahead_s, "the clock went forward by itself or in sleep")
    elif given.ahead_s > DRIFT_S:
        d.add(f.ClockSet, shift_s=-given.ahead_s, note="the clock was corrected a little; rests run on")


def shift(d: Draft, given: i.ShiftClock) -> None:
    """The person tells of a clock that was put forward."""
    if not -math.inf < given.shift_s <= 0:
        raise InputError("Time cannot be put forward: a rest would end too early.")
    withhold(d, -given.shift_s, given.note[:200] or "the clock was put forward")


def confirm(d: Draft, given: i.ConfirmDate) -> None:
    """The date is right: what was withheld counts. It is wrong: it never does, and what may be old is asked again."""
    withheld = d.situation.withheld_s
    if withheld <= 0:
        raise InputError("The date is not in question.")
    if given.right:
        d.add(f.ClockSet, shift_s=withheld, withheld_s=-withheld, note="the date is right")
    else:
        d.add(f.ClockSet, shift_s=0.0, withheld_s=-withheld, note="the date was wrong; rests run on")
        d.undo_short("the clock was wrong, and nobody knows how old this is")
    d.settle()


def withhold(d: Draft, seconds: float, note: str) -> None:
    """Take `seconds` out of effective time until the date is confirmed; at most what passed since the newest fact."""
    last = d.situation.now
    passed = 0.0 if last is None else d.wall.timestamp() + d.situation.shift_s - seconds_of(last)
    held = min(seconds, passed)
    if held > 0:
        d.add(f.ClockSet, shift_s=-held, withheld_s=held, note=note)
