"""How sure is sure enough: weigh the readings, then accept, ask back, or reject. Pure.

Several things weigh beside the recogniser's own probability. The length of the speech: "three" does not last two
seconds, so a long sentence that begins with it is not a three. What people read from an instrument: rarely more than
three figures, and nothing outside what is plausible at this step. And the free reading: when what the recogniser would
write without any list is much likelier, something else was said.

The limits were set on synthesised voices in synthesised noise: read them as a start. Everything that matters is read
back on top of them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from firststart.devices.closed_decoder import Reading, Readings
from firststart.devices.ears import NUMBER, OWN, Heard, Vocabulary, Zone
from firststart.devices.tries import Key, Tries
from firststart.errors import InputError
from firststart.prompt.alike import sound_distance
from firststart.units import from_si, parse

SURE_GAP, SURE_MARGIN = 3.0, 3.5
"""Accept below this gap and above this margin, nats."""

YES_MARGIN = 6.0
"""Accept a yes beside a no only above this margin: in noise a no was once taken for a yes with 3.7."""

ASK_GAP, ASK_CLEAR_GAP, CLEAR = 6.0, 8.0, 2.0
"""Ask back below this gap, nats; reject from it on. A number with a clear margin is asked back below the second."""

LIKE_GAPS = ((0.45, 14.0), (0.55, 11.0))
"""(sound distance, gap): a phrase is asked back below the gap when the free reading sounds nearly so. "Which part?" is
"weak spark" in noise; "who left the light on" sounds like no answer. Of 1,200 answers in noise four of five that came
in so were right; of 300 sentences of garage talk one came in."""

AGAIN_GAP = 11.0
"""Ask back below this gap what was near the front at the try before as well: people say the same again."""

NO_OTHER = 99.0
"""The margin when nothing else on the list was even possible."""

_RARE, _RARE_SHORT = 1.0, 2.5  # nats against a general word where an answer is awaited; a short one is heard in talk
_FIGURE, _DECIMAL = 2.0, 1.0  # nats against each significant figure after the third, each decimal after the first
_BEGINS, _SYLLABLE = 0.19, 0.225  # seconds of speech: fitted to 2,300 utterances of 15 synthesised voices
_FREE, _SPREAD = 0.35, 0.17  # of the logarithm of the length: what costs nothing, and how steep it is beyond


@dataclass(frozen=True)
class Guess:
    """The best reading after weighing. `gap`: nats the free reading is ahead; `margin`: nats the next is behind.

    `behind`: how far behind the best each reading lies by this try alone. `surely`: whether it is also the best by
    this try alone, and was not refused before. `again`: whether it was near the front at the try before.
    `distance`: the share of the sounds in which the free reading differs from a phrase.
    """

    reading: Reading
    gap: float
    margin: float
    free: str = ""
    behind: Mapping[Key, float] = field(default_factory=dict)
    surely: bool = True
    again: bool = False
    distance: float = 1.0


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
    """Nats against `words` lasting `seconds` of speech: 0 within what people need, beyond it steeply more."""
    usual = _BEGINS + _SYLLABLE * syllables(words)
    beyond = abs(math.log(max(seconds, 0.03) / usual)) - _FREE
    return max(0.0, beyond) ** 2 / (2 * _SPREAD**2)


def weigh(readings: Readings, seconds: float, vocabulary: Vocabulary, tries: Tries | None = None) -> Guess | None:
    """The likeliest reading, with its length, its rarity and earlier `tries` weighed in; None when there is none."""
    scores: dict[Key, tuple[float, Reading]] = {}
    for reading in readings.found:
        if _plausible(reading, vocabulary):
            score = _weighed(reading, seconds, vocabulary)
            if reading.key not in scores or score > scores[reading.key][0]:
                scores[reading.key] = (score, reading)
    if not scores:
        return None
    tries = tries or Tries()
    alone = max(scores, key=lambda key: scores[key][0])
    ranked = sorted(((score + tries.bonus(key), key) for key, (score, _) in scores.items()), reverse=True)
    score, best = ranked[0]
    return Guess(
        scores[best][1], readings.free_score - scores[best][0], score - ranked[1][0] if len(ranked) > 1 else NO_OTHER,
        readings.free, {key: value - scores[alone][0] for key, (value, _) in scores.items()},
        best == alone and best not in tries.against, tries.near(best),
        1.0 if scores[best][1].meaning == NUMBER else sound_distance(_once(readings.free), scores[best][1].words),
    )  # fmt: skip


def agreed(guess: Guess, other: Guess | None) -> Guess:
    """A guess that another hearing of the same sound may take its certainty from, but never adds to."""
    same = other is not None and other.reading.key == guess.reading.key
    return guess if same else replace(guess, surely=False)


def _once(text: str) -> str:
    """Each word once: in noise the free reading may say the same over and over."""
    return " ".join(dict.fromkeys(re.findall(r"[a-z']+", text.lower())))


def _weighed(reading: Reading, seconds: float, vocabulary: Vocabulary) -> float:
    score = reading.score - length_cost(reading.words, seconds)
    if reading.meaning in vocabulary.rare:
        score -= _RARE_SHORT if syllables(reading.words) == 1 else _RARE
    return score - figures_cost(reading.text) if reading.meaning == NUMBER else score


def figures_cost(number: str) -> float:
    """Nats against a reading with more figures than people read out: "12.64 V" costs 3, "118 psi" and "1500" none."""
    whole, _, decimals = number.split()[0].split(":")[0].lstrip("-").partition(".")
    significant = (whole + decimals).lstrip("0") if decimals else whole.strip("0")
    return _FIGURE * max(0, len(significant) - 3) + _DECIMAL * max(0, len(decimals) - 1)


def _plausible(reading: Reading, vocabulary: Vocabulary) -> bool:
    """Whether a number lies within the limits of the step; phrases always do."""
    if reading.meaning != NUMBER or not vocabulary.quantity:
        return True
    try:
        value = parse(reading.text, vocabulary.quantity, vocabulary.unit)
        return vocabulary.low <= from_si(value.si, vocabulary.unit, vocabulary.quantity).value <= vocabulary.high
    except InputError:
        return False


def decide(guess: Guess | None, vocabulary: Vocabulary, delay: float = 0.0) -> Heard | None:
    """What the ears report of a guess; None when it is rejected.

    A safety word acts in the middle zone too where something dangerous may be going on: stopping for nothing costs
    little there, going on costs more. Elsewhere the middle zone is asked back.
    """
    if guess is None or guess.gap >= _limit(guess) or guess.reading.meaning == OWN:
        return None
    reading = guess.reading
    margin = YES_MARGIN if reading.meaning == "yes" and "no" in vocabulary.phrases.values() else SURE_MARGIN
    sure = guess.gap < SURE_GAP and guess.margin > margin and guess.surely and not _babble(guess)
    near = reading.meaning in vocabulary.safety and guess.gap < (ASK_GAP if vocabulary.urgent else SURE_GAP)
    zone = Zone.ACCEPT if sure or near else Zone.ASK
    return Heard(reading.text, reading.meaning, zone, guess.gap, guess.margin, delay, reading.words)


def _babble(guess: Guess) -> bool:
    """Whether the free reading repeats itself without sounding like the phrase: noise that was taken for speech."""
    words = re.findall(r"[a-z']+", guess.free.lower())
    return len(words) > 2 * len(set(words)) and guess.distance > LIKE_GAPS[-1][0]


def _limit(guess: Guess) -> float:
    """The gap from which on a guess is rejected."""
    number = guess.reading.meaning == NUMBER
    usual = ASK_CLEAR_GAP if number and guess.margin > CLEAR else ASK_GAP
    like = next((gap for distance, gap in LIKE_GAPS if guess.distance < distance), usual)
    return max(like, AGAIN_GAP) if guess.again else like


def waits(guess: Guess, vocabulary: Vocabulary) -> bool:
    """Whether to wait for the end of the utterance, since more words could follow what was heard at a pause.

    A safety word never waits. A number waits unless its unit was said.
    """
    reading = guess.reading
    if reading.meaning in vocabulary.safety:
        return False
    return reading.grows or (reading.meaning == NUMBER and bool(vocabulary.units) and " " not in reading.text)
