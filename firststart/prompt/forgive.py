"""Words that forgive: what people put around an answer, and the many ways to say that one does not know. Pure.

Nothing here is used by the ears: they hear closed phrases only. It is for what is typed, and for what a person says in
more words than were asked for.
"""

from __future__ import annotations

import re

from firststart.prompt.expect import NO, YES, Expectation, Option

UNSURE = frozenset({
    "don't know", "dont know", "do not know", "dunno", "no idea", "not sure", "unsure", "no clue", "can't tell",
    "cannot tell", "can't say", "cannot say", "hard to say", "i wish i knew", "who knows", "not known", "unknown",
})  # fmt: skip
"""Ways to say that one does not know."""

_CRIES = frozenset({
    "abort", "whoa", "kill it", "kill the engine", "shut it off", "shut it down", "turn it off", "switch it off",
    "cut it off", "cut the engine",
})  # fmt: skip
_STOP = r"(?:stop|stopp|halt|emergency)"
_CRY = re.compile(
    rf"{_STOP}\b(?!\s+(?:button|cable|cock|control|engaging|lamp|lever|knob|screw|solenoid|switch|tap|valve|wire)\b).*"
    rf"|(?!(?:why|when|how|what|where|did|does|is|note)\b).*(?<!\bnot)(?<!n't)(?<!\bto)(?<!\bthe)(?<!\bits) {_STOP}"
)

_NEGATIVE = re.compile(r"(?:no|not|none|nothing|never)\b")
_BEFORE = re.compile(
    r"^(?:(?:um+|uh+|er+|well|so|ah|oh|ok|okay|please|i think|i guess|i believe|i would say|i'd say|i am|i'm|i|"
    r"it's|its|it is|it was|that's|that is|there is|there are|must be|maybe|perhaps|probably|about|around|roughly|"
    r"nearly|almost|some|just|the|a|an|honestly|sorry)\s+)+(?=\S)"
)
_AFTER = re.compile(
    r"(?<=\S)(?:\s+(?:please|i think|i guess|maybe|or so|thanks|thank you|now|then|really|for me|sorry))+$"
)


def plainer(words: str) -> str:
    """`words` (in small letters) without what people put before and after an answer."""
    return _AFTER.sub("", _BEFORE.sub("", words)).strip()


def cries_stop(words: str) -> bool:
    """Do these words (in small letters) cry stop, in whatever way it is cried?

    At their beginning or end stands stop, and it is no part of the engine, no question and no "does not stop". Taking
    one too many for a cry costs a look at the key; missing one may cost a hand.
    """
    return words in _CRIES or _CRY.fullmatch(words) is not None


def unsure(words: str) -> bool:
    """Do these words say that the person does not know?"""
    return words in UNSURE or plainer(words) in UNSURE


def unsure_option(expects: Expectation) -> Option | None:
    """The answer that means not knowing, where there is one."""
    return next((o for o in expects.options if any(p in UNSURE for p in o.phrases)), None)


def implied_option(words: str, expects: Expectation) -> Option | None:
    """What words that are no answer most likely mean: it must be read back, as it is only likely. None: nothing.

    A part of one answer and of no other ("four" for "four stroke"), or a bare yes or no where neither is offered and
    one of two answers is a no, such as "it has neutral" and "no gearbox". What meets a hold point is never guessed.
    """
    return _implied_by_no(words, expects) or _begun(words, expects)


def _begun(words: str, expects: Expectation) -> Option | None:
    if expects.kind != "choice" or len(words) < 3 or words in (*YES, *NO):
        return None
    meant = [o for o in expects.options if any(p.lower().startswith(words) for p in o.phrases)]
    return meant[0] if len(meant) == 1 and not meant[0].weighty else None


def _implied_by_no(words: str, expects: Expectation) -> Option | None:
    known = [o for o in expects.options if not any(p in UNSURE for p in o.phrases)]
    against = [o for o in known if _NEGATIVE.match(o.phrases[0])]
    if expects.kind != "choice" or len(known) != 2 or len(against) != 1 or words not in (*YES, *NO):
        return None
    meant = against[0] if words in NO else next(o for o in known if o is not against[0])
    return None if meant.weighty and words in YES else meant


def keys_line(expects: Expectation) -> str:
    """Which keys give the answers, in one sentence."""
    if expects.kind == "measure":
        return "Use the keys: type the number and press enter."
    if expects.kind in ("action", "turning"):
        return "Use the keys: press enter."
    if expects.kind == "crank":
        return "Use the keys: type go and press enter."
    return "Use the keys: type the number of the answer and press enter."
