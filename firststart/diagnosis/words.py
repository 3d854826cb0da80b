"""Chances as words, and the small amounts that are spoken.

The words for a chance follow Kent's "Words of Estimative Probability" (1964): almost certain 93 %, probable 75 %,
chances about even 50 %, probably not 30 %, almost certainly not 7 %. The bounds between them are ours (half way).
A word is always shown with its number (Renooij and Witteman 1999 found that both together are read best).
"""

from __future__ import annotations

from collections.abc import Sequence

_KENT: tuple[tuple[float, str], ...] = (
    (0.84, "almost certain"),
    (0.625, "probable"),
    (0.40, "about even"),
    (0.185, "probably not"),
    (0.02, "almost certainly not"),
    (0.0, "ruled out"),
)

_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")


def chance_word(chance: float) -> str:
    """The word for `chance` (0 to 1). "ruled out" is left to the caller's own rule; here it ends at 2 %."""
    for least, word in _KENT[:-1]:
        if chance >= least:
            return word
    return "almost certainly not"


def percent(chance: float) -> str:
    """`chance` as whole per cent, never rounded to a certainty: "under 1 %", "over 99 %"."""
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def number_word(number: int) -> str:
    """A whole number from 0 to 999 in words, as it is spoken."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (f" {_ONES[ones]}" if ones else "")
    hundreds, rest = divmod(number, 100)
    return f"{_ONES[hundreds]} hundred" + (f" {number_word(rest)}" if rest else "")


def minutes_word(minutes: float) -> str:
    """Minutes as spoken: "half a minute", "one minute", "twelve minutes"."""
    if minutes < 0.75:
        return "half a minute"
    whole = round(minutes)
    return "one minute" if whole == 1 else f"{number_word(min(whole, 999))} minutes"


def listed(names: Sequence[str], last: str = "and") -> str:
    """Names joined as a sentence joins them: "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"


def word_count(text: str) -> int:
    """Words of a spoken sentence."""
    return len(text.split())
