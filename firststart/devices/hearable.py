"""What the ears may hear at a prompt: the answers it expects, and the general words that work by voice. Pure.

Not every phrase that may be typed may be said. The shorter the list, the better each phrase is understood, and a
single short word is easily heard in a cough; so the general words have few phrases by voice, and "no" is heard only
where a question stands.
"""

from __future__ import annotations

from firststart.devices.ears import OWN, Vocabulary, spoken_units
from firststart.prompt.expect import GENERAL, Expectation
from firststart.prompt.numbers import TEENS, UNITS_OF_TEN

BY_VOICE: dict[str, tuple[str, ...]] = {
    "stop": ("stop", "stop stop", "stop now", "halt", "emergency"),
    "back": ("go back",),
    "repeat": ("say again", "repeat"),
    "why": ("why", "tell me why"),
    "help": ("help me", "what can i say"),
    "status": ("status", "what is left"),
    "how-long": ("how long", "how much longer"),
    "leave": ("leave it", "skip this"),
    "note": ("take a note",),
    "finish": ("finish for today",),
    "sleep": ("do not listen",),
    "listen": ("listen", "listen again", "wake up"),
}
"""General words and the phrases that mean them by voice; each is also in the dialogue's own list.

A general word that is not here is said with its phrases of two words and more."""

SAFETY = frozenset({"stop"})
"""Meanings that act even when half heard."""

_COUNT = (*UNITS_OF_TEN[1:], *TEENS)  # seconds that are counted aloud; no starter may turn longer than these
_YES, _NO = ("yes", "that is right", "correct"), ("no", "that is wrong", "not right")
_AT_ANY_TIME = ("yes", "correct")  # "that is right" is said in any talk, so it counts only when something is asked back


def hearable(
    expects: Expectation, asleep: bool = False, confirming: bool | None = None, about: str = "",
    urgent: bool = True,
) -> Vocabulary:
    """The vocabulary of the moment. Asleep: only "stop" and the words that wake. While the starter turns: only "stop",
    the answers, and yes or no to one that is read back; the ears stay open while the seconds are counted aloud.

    `confirming`: whether a read-back waits for yes or no; None when that is not known, and then both can always be
    heard, at some cost in certainty. `about`: the question that stands, so that tries at one are not taken for another.
    `urgent`: whether "stop" must act at the least sign of it; while the starter turns it always does.
    The meanings are the event of an answer, the name of a general word, "yes" and "no"; the text heard is the phrase,
    which the dialogue understands.
    """
    turning = expects.kind == "turning"
    names = ("stop", "listen") if asleep else ("stop",) if turning else tuple(n for n in GENERAL if n != "listen")
    phrases = {phrase: name for name in names for phrase in by_voice(name)}
    if asleep:
        return Vocabulary(phrases, safety=SAFETY, about=about, urgent=urgent)
    answers = {phrase.lower(): o.event for o in expects.options for phrase in o.phrases if _speakable(phrase)}
    awaited = {"yes", "no"} if confirming else set(answers.values())
    phrases |= _through_the_count(phrases | answers) if turning else _yes_and_no(set(answers.values()), confirming)
    phrases |= answers
    if confirming:  # "yes" may be an answer of the step too; now it answers the read-back, also at a turning starter
        phrases |= _yes_and_no(set(), True)
    number = expects.kind == "measure"
    safety = SAFETY | {phrases["stop"]}  # at a turning starter "stop" is an answer of the step
    return Vocabulary(
        phrases, numbers=number, safety=safety, units=spoken_units(expects.quantity) if number else (),
        rare=frozenset(phrases.values()) - awaited - safety - {OWN}, while_speaking=turning,
        quantity=expects.quantity if number else "", unit=expects.unit, low=expects.low, high=expects.high,
        about=about, urgent=urgent or turning,
    )  # fmt: skip


def _through_the_count(phrases: dict[str, str]) -> dict[str, str]:
    """What is heard when the tool counts aloud into its own ears: its number alone, or its number and then "stop"."""
    return dict.fromkeys(_COUNT, OWN) | {f"{number} stop": phrases["stop"] for number in _COUNT}


def by_voice(name: str) -> tuple[str, ...]:
    """The phrases that mean the general word `name` when they are said."""
    if name in BY_VOICE:
        return tuple(phrase for phrase in BY_VOICE[name] if phrase in GENERAL[name])
    return tuple(phrase for phrase in GENERAL[name] if " " in phrase and _speakable(phrase))


def _yes_and_no(events: set[str], confirming: bool | None) -> dict[str, str]:
    """Yes and no where a question stands; yes alone where something is to be done."""
    yes, no = dict.fromkeys(_YES, "yes"), dict.fromkeys(_NO, "no")
    if confirming is not False or "no" in events:
        return yes | no
    return dict.fromkeys(_AT_ANY_TIME, "done") if "done" in events else {}


def _speakable(phrase: str) -> bool:
    """Whether a phrase is made of words only, as it must be to be heard."""
    return all(word.replace("'", "").isalpha() and (len(word) > 1 or word in "ai") for word in phrase.lower().split())
