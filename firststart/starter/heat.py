"""The heat rule: winding temperature from past cranks, room before the limit, and the rest it takes.

The heat input is taken at the resistance of the limit temperature, so below the limit it is never less
than the true one. Above it the same rate is kept: copper resists more, but a battery then drives less
current. So the model is linear in the cranks, and its answer to a second of heat only falls with time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from firststart.errors import RangeError
from firststart.physics.winding import Modes, grown, modes
from firststart.starter.crank import Crank, in_order
from firststart.starter.duty import DutyClass

WARM_K = 313.15  # taken when the air is unknown: 40 degC, the reference ambient of IEC 60034-1 (from memory)
COLDEST_K, HOTTEST_K = 213.15, 353.15
NOTHING_S = 1e-9  # seconds that are only rounding
_COMFORT = 0.8
_FOREVER_S = 1e7  # four months: no starter is waited for longer, and no loop runs on


def heat_series(
    cranks: Sequence[Crank], duty: DutyClass, until: float, ambient_k: float | None, every_s: float = 5.0
) -> tuple[tuple[float, float, float], ...]:
    """(time, winding K, body K) from the first crank to `until`, each `every_s` and at every start and end."""
    air = air_or_warm(ambient_k)
    system = modes(duty.heat.masses)
    if not every_s > 0:
        raise RangeError("every_s", every_s, 0, None, "s")
    ordered = in_order(cranks, duty)
    if not ordered:
        return ((until, air, air),)
    times = {until, *(t for s, e in ordered for t in (s, e))}
    first = min(times)
    times |= {first + i * every_s for i in range(int((until - first) / every_s) + 1)}
    rows = []
    for time in sorted(t for t in times if t <= until):
        state = amounts(((s, min(e, time)) for s, e in ordered if s < time), time, duty, system)
        winding, body = system.join(*state)
        rows.append((time, air + winding, air + body))
    return tuple(rows)


def air_or_warm(ambient_k: float | None) -> float:
    """The air temperature in K, a warm day when unknown. Raises RangeError outside -60 to 80 degC."""
    air = WARM_K if ambient_k is None else ambient_k
    if not COLDEST_K <= air <= HOTTEST_K:
        raise RangeError("air temperature", air, COLDEST_K, HOTTEST_K, "K")
    return air


def amounts(ordered: Iterable[tuple[float, float]], at: float, duty: DutyClass, system: Modes) -> tuple[float, float]:
    """The winding's two modal excess temperatures (K) at `at`, exact for heat that is constant while cranking."""
    (fast, slow), (share_fast, share_slow) = system.rates, system.shares
    top_fast, top_slow = -duty.hot_rate * share_fast / fast, -duty.hot_rate * share_slow / slow
    ordered = tuple(ordered)
    one, two, before = 0.0, 0.0, ordered[0][0] if ordered else at
    exp, expm1 = math.exp, math.expm1
    for start, end in ordered:
        rest, seconds = start - before, end - start
        one = one * exp(fast * (rest + seconds)) - top_fast * expm1(fast * seconds)
        two = two * exp(slow * (rest + seconds)) - top_slow * expm1(slow * seconds)
        before = end
    return one * exp(fast * (at - before)), two * exp(slow * (at - before))


@dataclass(frozen=True)
class HeatRule:
    """The heat rule for one class in air of `air` K; a state is the winding's two modal excesses (K)."""

    duty: DutyClass
    air: float
    system: Modes

    def peak(self, state: tuple[float, float], seconds: float) -> float:
        """Winding temperature at the end of a crank of `seconds`; it only rises while cranking."""
        return self.air + sum(
            amount * math.exp(rate * seconds) + self.duty.hot_rate * share * grown(rate, seconds)
            for amount, rate, share in zip(state, self.system.rates, self.system.shares, strict=True)
        )

    def room(self, state: tuple[float, float]) -> float:
        """Seconds that may be cranked from `state`, at most the class's."""
        if self.air + sum(state) > self.duty.limit_k:
            return 0.0
        return _last(lambda s: self.peak(state, s) <= self.duty.limit_k, self.duty.crank_s)

    def worth_waiting(self, wanted: float) -> float:
        """The longest crank one waits for, at most `wanted` s: a rested winding takes four fifths of its span at most.

        Waiting for the last fifth would take hours, as the body nears the air ever more slowly.
        """
        comfort = self.air + _COMFORT * (self.duty.limit_k - self.air)
        return _last(lambda s: self.peak((0.0, 0.0), s) <= comfort, min(wanted, self.duty.crank_s))

    def wait(self, state: tuple[float, float], wish: float) -> float:
        """Rest in seconds before a crank of `wish` ends at or below the limit."""
        if self.room(state) >= wish - NOTHING_S:
            return 0.0
        fast, slow = self.system.rates

        def too_hot(rest: float) -> bool:
            rested = (state[0] * math.exp(fast * rest), state[1] * math.exp(slow * rest))
            return self.peak(rested, wish) > self.duty.limit_k

        longest = 1.0
        while too_hot(longest) and longest < _FOREVER_S:
            longest *= 2
        return _last(too_hot, longest) + NOTHING_S


def _last(holds: Callable[[float], bool], most: float) -> float:
    """The largest value in [0, most] up to which `holds` is true (it turns false once), by bisection."""
    if holds(most):
        return most
    low, high = 0.0, most
    while high - low > NOTHING_S / 4:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
        if middle in (low, high) and high - low <= abs(high) * 1e-15:
            break
    return low
