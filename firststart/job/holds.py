"""Hold points: which are fresh now, and why the others are not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from firststart.engine.profile import applies
from firststart.job.situation import Hold, Situation
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
    fresh, because, since, expires = (False, "not done yet", None, None) if held is None else _now(
        point, held, situation, now
    )
    return HoldState(name, point.say, fresh, because, since, expires)


def _now(
    point: HoldPoint, held: Hold, situation: Situation, now: datetime,
) -> tuple[bool, str, datetime | None, datetime | None]:
    """Fresh or not, why, since when it is not, and when it will not be: a plain row, as it is asked at every turn."""
    if held.undone:
        return False, held.undone, held.undone_at, None
    if point.place and held.place != situation.place:
        return False, "done at another place", held.met, None
    expires, lasts = None, point.lasts_minutes
    if lasts is not None:
        uncounted = situation.uncounted_s - held.uncounted_s
        expires = held.met + timedelta(minutes=lasts, seconds=-uncounted)
        if situation.latest(now) >= expires:
            return False, f"older than {_span(lasts)}", expires, None
    if point.place and situation.place_doubted:
        return False, "the place is to be confirmed", None, None
    return True, "done", None, expires


def hold_states(safety: Safety, situation: Situation, words: dict[str, str], now: datetime) -> tuple[HoldState, ...]:
    """Every hold point that applies to this engine, in the order of the file."""
    return tuple(
        hold_state(name, point, situation, now)
        for name, point in safety.hold_points.items()
        if applies(point.applies, words, unknown=True)
    )


def fresh_holds(safety: Safety, situation: Situation, now: datetime) -> frozenset[str]:
    """The names of the hold points that hold and are fresh at the effective time `now`."""
    points = safety.hold_points
    return frozenset(
        name
        for name, held in situation.holds.items()
        if name in points and _now(points[name], held, situation, now)[0]
    )


def _span(minutes: float) -> str:
    if minutes < 90:
        return f"{minutes:g} minutes"
    if minutes < 48 * 60:
        return f"{minutes / 60:g} hours"
    return f"{minutes / 1440:g} days"
