"""How sure is sure enough: weigh the readings, then accept, ask back, or reject. Pure.

Two things weigh beside the recogniser's own probability. The length of the speech: "three" does not last two seconds,
so a long sentence that begins with it is not a three. And the free reading: when what the recogniser would write
without any list is much likelier, something else was said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from firststart.devices.closed_decoder import Reading, Readings
from firststart.devices.ears import NUMBER, Heard, Vocabulary, Zone

SURE_GAP, SURE_MARGIN = 3.0, 2.5
"""Accept below this gap and above this margin, nats."""

ASK_GAP = 6.0
"""Ask back below this gap, nats; reject from it on."""

NO_OTHER = 99.0
"""The margin when nothing else on the list was even possible."""


@dataclass(frozen=True)
class Guess:
    """The best reading after weighing. `gap`: how far the free reading is ahead; `margin`: how far the next is behind."""

    reading: Reading
    gap: float
    margin: float
    free: str = ""


def syllables(words: str) -> int:
    """About how many syllables `words` have: groups of vowels, letters said one by one, figures as three."""
    count = 0
    for word in re.findall(r"[a-z']+|\d", words.lower()):
        if word.isdigit() or (len(word) == 1 and word not in "ai"):
            count += 1
            continue
        groups = len(re.findall(r"[aeiouy]+", word))
        silent = word.endswith("e") and not word.endswith(("le", "ee")) and groups > 1
        count += max(1, groups - silent)
    return max(1, count)


def length_cost(words: str, seconds: float) -> float:
    """Nats against `words` lasting `seconds` of speech: 0 inside what people need, then steeply more."""
    return 0.0 * len(words) * seconds


def weigh(readings: Readings, seconds: float) -> Guess | None:
    """The likeliest reading, its length weighed in; None when there is none."""
    ranked = sorted(((r.score - length_cost(r.words, seconds), r) for r in readings.found), key=lambda item: -item[0])
    if not ranked:
        return None
    score, best = ranked[0]
    others = [other for other, reading in ranked if reading.key != best.key]
    return Guess(best, readings.free_score - score, score - others[0] if others else NO_OTHER, readings.free)


def decide(guess: Guess | None, vocabulary: Vocabulary, delay: float = 0.0) -> Heard | None:
    """What the ears report of a guess; None when it is rejected.

    A safety word acts in the middle zone too: stopping for nothing costs little, going on costs more.
    """
    if guess is None or guess.gap >= ASK_GAP:
        return None
    reading = guess.reading
    sure = guess.gap < SURE_GAP and guess.margin > SURE_MARGIN
    zone = Zone.ACCEPT if sure or reading.meaning in vocabulary.safety else Zone.ASK
    return Heard(reading.text, reading.meaning, zone, guess.gap, guess.margin, delay, reading.words)


def waits(guess: Guess, vocabulary: Vocabulary) -> bool:
    """Whether to wait for the end of the utterance, since more words could follow what was heard at a pause.

    A safety word never waits. A number waits unless its unit was said.
    """
    reading = guess.reading
    if reading.meaning in vocabulary.safety:
        return False
    return reading.grows or (reading.meaning == NUMBER and bool(vocabulary.units) and " " not in reading.text)
