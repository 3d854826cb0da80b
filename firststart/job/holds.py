"""Hold points: which are fresh now, and why the others are not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from firststart.engine.profile import applies
from firststart.job.situation import Situation
from firststart.procedure.model import HoldPoint, Safety


@dataclass(frozen=True)
class HoldState:
    """One hold point now. `fresh` or not; `because` says in words; `since` is when it went stale."""

    name: str
    say: str
    fresh: bool
    because: str
    since: datetime | None = None
    expires: datetime | None = None


def hold_state(name: str, point: HoldPoint, situation: Situation, now: datetime) -> HoldState:
    """The state of one hold point at the effective time `now`; it ages by the latest that it can be."""
    held = situation.holds.get(name)
    if held is None:
        return HoldState(name, point.say, False, "not done yet")
    if held.undone:
        return HoldState(name, point.say, False, held.undone, held.undone_at)
    if point.place and held.place != situation.place:
        return HoldState(name, point.say, False, "done at another place", held.met)
    lasts_minutes = point.lasts_minutes
    uncounted = timedelta(seconds=situation.uncounted_s - held.uncounted_s)
    expires = None if lasts_minutes is None else held.met + timedelta(minutes=lasts_minutes) - uncounted
    if lasts_minutes is not None and expires is not None and situation.latest(now) >= expires:
        return HoldState(name, point.say, False, f"older than {_span(lasts_minutes)}", expires)
    if point.place and situation.place_doubted:
        return HoldState(name, point.say, False, "the place is to be confirmed")
    return HoldState(name, point.say, True, "done", None, expires)


def hold_states(safety: Safety, situation: Situation, words: dict[str, str], now: datetime) -> tuple[HoldState, ...]:
    """Every hold point that applies to this engine, in the order of the file."""
    return tuple(
        hold_state(name, point, situation, now)
        for name, point in safety.hold_points.items()
        if applies(point.applies, words, unknown=True)
    )


def fresh_holds(safety: Safety, situation: Situation, now: datetime) -> frozenset[str]:
    """The names of the hold points that hold and are fresh at the effective time `now`."""
    return frozenset(
        name
        for name, point in safety.hold_points.items()
        if name in situation.holds and hold_state(name, point, situation, now).fresh
    )


def _span(minutes: float) -> str:
    if minutes < 90:
        return f"{minutes:g} minutes"
    if minutes < 48 * 60:
        return f"{minutes / 60:g} hours"
    return f"{minutes / 1440:g} days"
