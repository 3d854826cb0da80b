"""What the ears may hear at a prompt: the answers it expects, and the general words that work by voice. Pure.

Not every phrase that may be typed may be said: a single short word is easily heard in a cough or in talk, so of the
general words only a few stand alone.
"""

from __future__ import annotations

from firststart.devices.ears import Vocabulary, spoken_units
from firststart.prompt.expect import GENERAL, NO, YES, Expectation

ALONE = frozenset({"stop", "halt", "why", "status", "repeat", "listen", "sleep"})
"""Single general words that may be said; all others need two words or more."""

SAFETY = frozenset({"stop"})
"""Meanings that act even when half heard."""

_NOT_BY_VOICE = frozenset({"stop listening"})  # begins with a word that must act at once
_YES, _NO = ("yes", "that is right", "correct"), ("no", "that is wrong", "not right")


def hearable(expects: Expectation, asleep: bool = False) -> Vocabulary:
    """The vocabulary of the moment. Asleep: only "stop" and the words that wake.

    The meanings are the event of an answer, the name of a general word, "yes" and "no"; the text heard is the phrase,
    which the dialogue understands.
    """
    names = ("stop", "listen") if asleep else tuple(GENERAL)
    phrases = {phrase: name for name in names for phrase in GENERAL[name] if _may_be_said(phrase)}
    if asleep:
        return Vocabulary(phrases, safety=SAFETY)
    phrases |= dict.fromkeys(_YES, "yes") | dict.fromkeys(_NO, "no")
    for option in expects.options:
        phrases |= {phrase.lower(): option.event for phrase in option.phrases if _speakable(phrase)}
    turning = expects.kind == "turning"
    number = expects.kind == "measure"
    return Vocabulary(
        phrases, numbers=number, safety=SAFETY, units=spoken_units(expects.quantity) if number else (),
        while_speaking=turning,
    )  # fmt: skip


def _may_be_said(phrase: str) -> bool:
    return phrase not in _NOT_BY_VOICE and (" " in phrase or phrase in ALONE)


def _speakable(phrase: str) -> bool:
    """Whether a phrase is made of words only, as it must be to be heard."""
    return all(word.replace("'", "").isalpha() and (len(word) > 1 or word == "a") for word in phrase.split())


def general_words() -> tuple[str, ...]:
    """Every general phrase that works by voice, in the order of the list."""
    return tuple(phrase for phrases in GENERAL.values() for phrase in phrases if _may_be_said(phrase))


__all__ = ["ALONE", "NO", "SAFETY", "YES", "general_words", "hearable"]
