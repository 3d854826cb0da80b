"""Cranking told afterwards, in a person's own words: "I cranked it twice, ten seconds, five minutes ago". Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

from firststart.errors import NumberError
from firststart.prompt.numbers import hear_number
from firststart.prompt.wording import duration

MOST_TIMES, MOST_SECONDS = 50, 600
_SAYS = re.compile(
    r"(?:i|we|you|he|she|they|it|somebody|someone|my \w+)?\s*(?:have |had |has |just |already )*"
    r"(?:cranked|turned (?:it|her|the engine) over|(?:ran|used|tried|hit|held|pressed) the starter)\b\s*(?P<rest>.*)"
)
_COUNTED = {"once": 1, "twice": 2, "thrice": 3}
_UNIT_S = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0,
    "minute": 60.0, "minutes": 60.0, "hour": 3600.0, "hours": 3600.0,
}  # fmt: skip
_NUMBER_WORDS = 4


@dataclass(frozen=True)
class Told:
    """Cranking told: how often, seconds each (None: not said), and how many seconds ago the last one ended."""

    times: int | None = None
    seconds: float | None = None
    ago_s: float = 0.0

    @property
    def whole(self) -> bool:
        """Is nothing left to ask?"""
        return self.times is not None and self.seconds is not None

    def read_back(self) -> str:
        """The question that keeps it, or drops it."""
        often = "One crank" if self.times == 1 else f"{self.times} cranks"
        each = "" if self.times == 1 else " each"
        when = f", {duration(self.ago_s)} ago" if self.ago_s >= 1 else ""
        return f"{often} of {duration(self.seconds or 0)}{each}{when}. Right?"


def told_crank(words: str) -> Told | None:
    """What `words` (small letters, no punctuation) tell of cranking; None when they tell of something else."""
    match = _SAYS.fullmatch(words)
    if match is None:
        return None
    rest = match["rest"].replace(",", " ").split()
    ago, rest = _ago(rest)
    seconds, rest = _seconds(rest)
    times = _times(rest)
    if times is None and seconds is not None:
        times = 1
    if times is not None and not 1 <= times <= MOST_TIMES:
        return None
    if seconds is not None and not 0 < seconds <= MOST_SECONDS:
        return None
    return Told(times, seconds, ago or 0.0)


def _ago(words: list[str]) -> tuple[float | None, list[str]]:
    """(seconds ago, the other words): "five minutes ago"."""
    if len(words) < 3 or words[-1] != "ago":
        return None, words
    return _span(words, len(words) - 2)


def _seconds(words: list[str]) -> tuple[float | None, list[str]]:
    """(seconds, the other words): "for ten seconds each"."""
    for at, word in enumerate(words):
        if word in _UNIT_S and at > 0:
            return _span(words, at)
    return None, words


def _span(words: list[str], at: int) -> tuple[float | None, list[str]]:
    """The span whose unit stands at `at`, read from as many number words before it as make one number."""
    unit = _UNIT_S.get(words[at])
    for count in range(min(_NUMBER_WORDS, at), 0, -1):
        number = _number(words[at - count : at])
        if unit is not None and number is not None:
            return number * unit, words[: at - count]
    return None, words


def _times(words: list[str]) -> int | None:
    """How often; of "once or twice" the larger."""
    told = [_COUNTED[word] for word in words if word in _COUNTED]
    for at, word in enumerate(words):
        if word in ("times", "time") and at > 0:
            numbers = (_number(words[at - count : at]) for count in range(min(_NUMBER_WORDS, at), 0, -1))
            told += [int(n) for n in numbers if n is not None and n == int(n)][:1]
    return max(told, default=None)


def _number(words: list[str]) -> float | None:
    try:
        return float(hear_number(" ".join(words)))
    except (NumberError, ValueError):
        return None
