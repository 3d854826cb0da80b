"""Pass, fail, or too near to say: a reading is known only to its instrument's resolution.

A reading taken in steps of d stands for any value within half a step of it, all equally likely: a rectangular
distribution of half-width a = d/2 and standard uncertainty a/sqrt(3) = 0.29 d. From memory: JCGM 100:2008 4.3.7 and
F.2.2.1. A verdict is given only when the whole of that distribution lies on one side of the limit, a guard band of
half a step as in JCGM 106:2012 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.physics.guard import within
from firststart.physics.subject import Answer, Given, Subject, Values

PASS, FAIL, NEAR = "pass", "fail", "too near to say"


@dataclass(frozen=True)
class Decision:
    """`word` is PASS, FAIL or NEAR; `margin` is positive on the good side; `chance` that the true value conforms."""

    word: str
    margin: float
    guard: float
    chance: float


def half_width(resolution: float) -> float:
    """Half the step of an instrument: the farthest a true value lies from its reading. Raises RangeError."""
    return within(resolution, "resolution", 0, None) / 2


def standard(resolution: float) -> float:
    """Standard uncertainty of a reading taken in steps of `resolution`, same unit. Raises RangeError."""
    return half_width(resolution) / math.sqrt(3)


def combined(*parts: float) -> float:
    """Combined standard uncertainty of independent `parts`, same unit. Raises RangeError for a negative part."""
    return math.sqrt(sum(within(p, "uncertainty", 0, None) ** 2 for p in parts))


def decide(margin: float, guard: float) -> Decision:
    """The decision for a signed `margin` to a limit, when the error lies within +-`guard`. Raises RangeError.

    A margin of exactly the guard is decided; a margin of zero with no guard passes, as limits are inclusive.
    """
    within(margin, "margin", None, None)
    within(guard, "guard", 0, None)
    if margin >= guard:
        return Decision(PASS, margin, guard, 1.0)
    if margin <= -guard:
        return Decision(FAIL, margin, guard, 0.0)
    return Decision(NEAR, margin, guard, 0.5 + margin / (2 * guard))


def at_least(value: float, limit: float, resolution: float) -> Decision:
    """Is the true value at or over `limit`, given a reading `value` in steps of `resolution`? Raises RangeError."""
    return decide(within(value, "value", None, None) - limit, half_width(resolution))


def at_most(value: float, limit: float, resolution: float) -> Decision:
    """Is the true value at or under `limit`, given a reading `value` in steps of `resolution`? Raises RangeError."""
    return decide(limit - within(value, "value", None, None), half_width(resolution))


def _run(values: Values) -> tuple[Answer, ...]:
    side = at_least if values["side"] == "at-least" else at_most
    found = side(values["value"], values["limit"], values["resolution"])
    return (
        Answer("verdict", found.word),
        Answer("margin", f"{found.margin:g}", "in the unit of the reading; negative on the wrong side"),
        Answer("guard", f"{found.guard:g}", "nearer to the limit than this is too near to say"),
        Answer("chance", f"{found.chance:.0%}", "that the true value is on the right side"),
        Answer("standard-uncertainty", f"{standard(values['resolution']):.3g}", "of one reading"),
    )


_PLAIN = "count", "", -1e6, 1e6

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "near-limit", "Pass, fail, or too near to say",
        "pass if value - limit >= resolution / 2; u = resolution / sqrt(12)",
        "JCGM 100:2008 4.3.7 and F.2.2.1; JCGM 106:2012", "from memory",
        (
            Given("value", *_PLAIN, meaning="the reading, as a bare number"),
            Given("limit", *_PLAIN, meaning="the limit, in the same unit"),
            Given("resolution", "count", "", 0, 1e6, meaning="the instrument's step, in the same unit"),
            Given("side", "count", "", 0, 0, "at-least", "which side is good", ("at-least", "at-most")),
        ),
        _run,
    ),
)
