"""May the starter turn now, for how long, and if not, how long must it rest. Pure, from past cranks alone.

Four rules, all of them always; the strictest speaks.

duty   Each second cranked costs rest_s / crank_s seconds of rest, paid only while resting. Nothing is
       owed, or nothing is cranked. So a full crank costs the class's rest, an over-run costs more in
       proportion, a short crank less, and short cranks without rest add up.
pause  After any crank at least pause_s, so that pinion and flywheel stand still (counted as duty).
tries  Of the seconds of `tries` full cranks within long_rest_s, what is left. A crank counts until
       long_rest_s after its end. It stops a person who keeps cranking an engine that does not start.
heat   The winding must stay below its limit to the end of the crank. The heat input is taken at the
       resistance of the limit temperature, so below the limit it is never less than the true one, and
       the model stays linear: the answer of a linear two-mass model to heat only falls with time.

Why nothing can be gained by more or later cranking: what is owed, the seconds in the window, and the
winding's temperature are each a sum (or the largest of sums) of terms that grow with every crank's
length and with its lateness. Time is seconds on one axis; the caller maps clocks to it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from firststart.errors import RangeError
from firststart.physics.winding import Modes, modes
from firststart.starter.crank import LONGEST_S, Crank, in_order
from firststart.starter.duty import DutyClass
from firststart.starter.heat import NOTHING_S as _NOTHING
from firststart.starter.heat import HeatRule, air_or_warm, amounts, heat_series

__all__ = ["Crank", "Permit", "heat_series", "permit"]

LEAST_S = 1.0  # a crank shorter than this is of no use to anyone


@dataclass(frozen=True)
class Permit:
    """The answer. `allowed`: the wish (or at least a second) may be cranked now.

    `seconds` may be cranked now, by all rules; `wait_s` until the wish is allowed, 0 when it is;
    `winding_k` and `limit_k` kelvin; `tries_left` full cranks before the long rest; `reason` one spoken
    sentence; `rule` the strictest: duty, heat, tries, or "" when only the class's crank limit binds.
    """

    allowed: bool
    seconds: float
    wait_s: float
    winding_k: float
    limit_k: float
    tries_left: int
    reason: str
    rule: str


@dataclass(frozen=True)
class _Past:
    """What past cranks left behind at the moment `at`."""

    at: float  # now, or the end of the last counted crank when that is later
    owed: float  # seconds of rest
    last_end: float
    modes: tuple[float, float]  # the winding's excess over air in its two exponentials, kelvin
    recent: tuple[tuple[float, float], ...]  # (end, seconds) inside the long-rest window, oldest first


def permit(
    cranks: Sequence[Crank],
    duty: DutyClass,
    now: float,
    ambient_k: float | None,
    wanted_s: float | None = None,
) -> Permit:
    """What the starter may do at `now` after `cranks` (any order), in air of `ambient_k` (None: 40 degC).

    `wanted_s` is a wish; one over the class's limit, or over what a rested winding takes with ease, is
    granted up to that: read `seconds`.
    Raises RangeError: `now` before the end of a crank, air outside -60 to 80 degC, a wish not above zero.
    """
    air = air_or_warm(ambient_k)
    _check_wish(wanted_s)
    system = modes(duty.heat.masses)
    past = _past(cranks, duty, now, system)
    heat = HeatRule(duty, air, system)
    wish = heat.worth_waiting(wanted_s if wanted_s is not None else LEAST_S)
    lag = past.at - now
    rooms = {"duty": _duty_room(past, duty), "tries": _tries_room(past, duty), "heat": heat.room(past.modes)}
    waits = {
        "duty": _duty_wait(past, duty) + lag,
        "tries": _tries_wait(past, duty, wish) + lag,
        "heat": heat.wait(past.modes, wish) + lag,
    }
    seconds = 0.0 if lag > 0 else max(0.0, min(rooms.values()))
    wait = max(waits.values()) if seconds < wish - _NOTHING else 0.0
    rule = max(waits, key=lambda r: waits[r]) if wait else _binding(rooms, duty)
    winding = air + sum(past.modes)
    left = max(0, math.floor(_tries_budget(past, duty) / duty.crank_s + _NOTHING))
    usable = seconds if seconds >= min(LEAST_S, wish) - _NOTHING else 0.0
    reason = _reason(rule, usable, wait, winding)
    return Permit(wait == 0.0, usable, wait, winding, duty.limit_k, left, reason, rule)


def _check_wish(wanted_s: float | None) -> None:
    if wanted_s is not None and not 0 < wanted_s <= LONGEST_S:
        raise RangeError("wanted seconds", wanted_s, 0, LONGEST_S, "s")


def _past(cranks: Sequence[Crank], duty: DutyClass, now: float, system: Modes) -> _Past:
    """Raises RangeError when `now` is not finite or lies before the known end of a crank."""
    known = max((c.start + (c.seconds if c.sure else 0.0) for c in cranks), default=-math.inf)
    if not now >= known - _NOTHING * max(1.0, abs(known)) or not math.isfinite(now):
        raise RangeError("now", now, known if math.isfinite(known) else None, None, "s", "a crank ends later")
    ordered = in_order(cranks, duty)
    last = ordered[-1][1] if ordered else -math.inf
    at = max(now, last)
    owed, free = 0.0, -math.inf
    for start, end in ordered:
        owed = max(0.0, owed - (start - free)) + (end - start) * duty.rest_s / duty.crank_s
        free = end
    owed = max(0.0, owed - (at - last))
    recent = tuple((e, e - s) for s, e in ordered if e + duty.long_rest_s > at + _NOTHING)
    return _Past(at, owed, last, amounts(ordered, at, duty, system), recent)


def _duty_wait(past: _Past, duty: DutyClass) -> float:
    still = past.last_end + duty.pause_s - past.at
    return max(0.0, still, past.owed) if max(still, past.owed) > _NOTHING else 0.0


def _duty_room(past: _Past, duty: DutyClass) -> float:
    return 0.0 if _duty_wait(past, duty) > 0 else duty.crank_s


def _tries_budget(past: _Past, duty: DutyClass) -> float:
    return duty.tries * duty.crank_s - sum(seconds for _, seconds in past.recent)


def _tries_room(past: _Past, duty: DutyClass) -> float:
    return min(duty.crank_s, _tries_budget(past, duty))


def _tries_wait(past: _Past, duty: DutyClass, wish: float) -> float:
    left, wait = _tries_budget(past, duty), 0.0
    for end, seconds in past.recent:
        if left >= wish - _NOTHING:
            break
        left, wait = left + seconds, end + duty.long_rest_s - past.at
    return wait


def _binding(rooms: dict[str, float], duty: DutyClass) -> str:
    rule = min(rooms, key=lambda r: rooms[r])
    return rule if rooms[rule] < duty.crank_s - _NOTHING else ""


def _reason(rule: str, seconds: float, wait: float, winding: float) -> str:
    if not wait:
        why = {"heat": " The winding is warm.", "tries": " Then find out why it does not start."}.get(rule, "")
        return f"You may crank for {_spoken(seconds, down=True)}.{why}"
    rest = _spoken(wait)
    if rule == "heat":
        return f"The winding is near {winding - 273.15:.0f} degrees; let it cool for {rest}."
    if rule == "tries":
        return f"The tries for now are used; wait {rest}, and find out why it does not start."
    return f"Let the starter rest for {rest}."


def _spoken(seconds: float, *, down: bool = False) -> str:
    """Whole seconds to two minutes, then whole minutes; rounded to the safe side."""
    if down or seconds <= 120:
        count, unit = (math.floor(seconds + _NOTHING) if down else math.ceil(seconds - _NOTHING)), "second"
    else:
        count, unit = math.ceil(seconds / 60), "minute"
    return f"{count} {unit}{'' if count == 1 else 's'}"
