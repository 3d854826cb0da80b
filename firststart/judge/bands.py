"""What the electrical and fuel judges share: placing a value in a band, the needed reading, what is assumed."""

from __future__ import annotations

from firststart.errors import InputError
from firststart.judge.expected import pair
from firststart.judge.model import Context, Limit, Reading
from firststart.physics.uncertainty import FAIL, PASS, decide, half_width

__all__ = ["ABOVE", "BELOW", "INSIDE", "NEAR", "air_band", "half_step", "needed", "pair", "place", "step"]

BELOW, INSIDE, ABOVE, NEAR = "below", "inside", "above", "near"


def needed(reading: Reading | None, judge: str, kind: str, example: str) -> Reading:
    """The reading itself. Raises InputError when there is none, it is of another kind, or below zero."""
    if reading is None or reading.value.kind != kind:
        raise InputError(f"{judge} judges one {kind}; give it with its unit, as in {example}.")
    if reading.value.si < 0:
        raise InputError(f"{reading.name} is {reading.value}, but must not be below zero; read it again.")
    return reading


def half_step(reading: Reading | None, fallback: Limit) -> float:
    """Half the instrument's step in SI: its own resolution, else the limit's. Raises RangeError."""
    own = None if reading is None else reading.resolution
    return half_width(step(fallback) if own is None else own)


def step(limit: Limit) -> float:
    """A limit as SI, also when it has no kind."""
    return limit.si() if limit.kind else float(limit.value)


def place(value: float, low: float | None, high: float | None, half: float) -> str:
    """below, inside, above, or near when the value is within `half` of an end. A missing end is never passed."""
    under = PASS if low is None else decide(value - low, half).word
    over = PASS if high is None else decide(high - value, half).word
    if FAIL in (under, over):
        return BELOW if under == FAIL else ABOVE
    return INSIDE if under == over == PASS else NEAR


def air_band(context: Context, fallback: Limit, name: str = "") -> tuple[tuple[float, float], tuple[str, ...]]:
    """((coldest, hottest) in K, what was assumed): a reading called `name`, else the profile's air, else a span."""
    read = context.readings.get((name, None)) if name else None
    known = context.profile.si("air-temperature") if read is None else read.si
    if known is not None:
        return (known, known), ()
    low, high = fallback.value
    return pair(fallback), (f"temperature unknown, taken between {low:g} and {high:g} {fallback.unit}",)
