"""Finds what was said among what may be said: a beam over the closed list, beside a free reading for comparison.

The free reading is what the recogniser would write without any list. When it is much likelier than the best thing on
the list, something else was said; `zones` weighs that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from firststart.devices.closed_grammar import EOS, ClosedGrammar, Place
from firststart.devices.ears import NUMBER
from firststart.devices.moonshine import Floats, Hearing, SpeechModel, Tokenizer
from firststart.errors import NumberError
from firststart.prompt.numbers import hear_number

WIDTH = 8
_LONGEST = 24  # tokens; the longest reading with its unit is shorter
_HOPELESS = 12.0  # nats behind the best: no weighing brings such a reading to the front


@dataclass(frozen=True)
class Reading:
    """One thing on the list. `score`: log probability. `text`: the phrase, or the number in figures. `grows`: more
    words could have followed."""

    score: float
    meaning: str
    text: str
    words: str
    grows: bool = False

    @property
    def key(self) -> tuple[str, float]:
        """Equal for readings that mean the same; numbers by value, whatever unit was said."""
        return (self.meaning, _value(self.text) if self.meaning == NUMBER else 0.0)


@dataclass(frozen=True)
class Readings:
    """The best reading of each meaning, likeliest first, and the free reading with its log probability."""

    found: tuple[Reading, ...]
    free: str
    free_score: float


def merged(one: Readings, other: Readings) -> Readings:
    """Two hearings of the same sound as one: the mean of the log probabilities; what one of them lacks counts as
    unlikely there as the least likely thing it has."""
    both = {reading.text: reading for reading in (*other.found, *one.found)}
    scores = [{reading.text: reading.score for reading in each.found} for each in (one, other)]
    least = [min(each.values(), default=-_HOPELESS) for each in scores]
    mean = [
        replace(reading, score=sum(each.get(text, low) for each, low in zip(scores, least, strict=True)) / 2)
        for text, reading in both.items()
    ]
    ranked = tuple(sorted(mean, key=lambda reading: -reading.score))
    return Readings(ranked, one.free, (one.free_score + other.free_score) / 2)


def _value(text: str) -> float:
    return float(text.split()[0].split(":")[0])


@dataclass(frozen=True)
class _Living:
    place: Place
    score: float
    row: int


class _Search:
    """The finished readings so far, the best of each text."""

    def __init__(self) -> None:
        self._found: dict[str, Reading] = {}
        self._best = -1e9

    def finish(self, reading: Reading) -> None:
        before = self._found.get(reading.text)
        if before is None or reading.score > before.score:
            self._found[reading.text] = reading
            self._best = max(self._best, reading.score)

    @property
    def floor(self) -> float:
        """The score below which a living reading can no longer matter."""
        return self._best - _HOPELESS

    def ranked(self) -> tuple[Reading, ...]:
        return tuple(sorted(self._found.values(), key=lambda reading: -reading.score))


def decode(model: SpeechModel, tokenizer: Tokenizer, grammar: ClosedGrammar, samples: Floats) -> Readings:
    """The readings of `samples` (float, 16 kHz) in `grammar`; none when nothing on the list fits at all."""
    hearing = model.listen(samples)
    chances = hearing.first()
    search, living = _Search(), [_Living(grammar.start, 0.0, 0)]
    free = _Free()
    for _ in range(_LONGEST):
        free.read(chances)
        wanted = _extend(grammar, living, chances, search)
        kept = [item for item in wanted if item[0] > search.floor][:WIDTH]
        if not kept and free.done:
            break
        living, chances = _advance(hearing, kept, free)
    return Readings(search.ranked(), tokenizer.decode(free.tokens), free.score)


class _Free:
    """The greedy reading: at each step the likeliest token."""

    def __init__(self) -> None:
        self.tokens: list[int] = []
        self.score = 0.0
        self.row = 0
        self.done = False

    def read(self, chances: Floats) -> None:
        if self.done:
            return
        token = int(chances[self.row].argmax())
        self.score += float(chances[self.row, token])
        self.tokens.append(token)
        self.done = token == EOS or len(self.tokens) >= _LONGEST


def _extend(
    grammar: ClosedGrammar, living: list[_Living], chances: Floats, search: _Search
) -> list[tuple[float, int, int, Place]]:
    """The best continuations of the living readings: (score, row, token, place), best first; complete ones finish."""
    found: dict[tuple[int, int, Place], float] = {}
    for reading in living:
        row = chances[reading.row]
        meaning = grammar.meaning(reading.place)
        if meaning is not None:
            _finish(grammar, reading, meaning, float(row[EOS]), search)
        moves = grammar.moves(reading.place)
        scores = row[moves.tokens]
        for index in np.argsort(-scores)[:3 * WIDTH].tolist():
            key = (reading.row, int(moves.tokens[index]), moves.after(reading.place, index))
            found[key] = max(reading.score + float(scores[index]), found.get(key, -1e9))
    return sorted(((score, *key) for key, score in found.items()), key=lambda item: -item[0])


def _finish(grammar: ClosedGrammar, reading: _Living, meaning: tuple[str, str], end: float, search: _Search) -> None:
    name, text = meaning
    words = reading.place.text.strip()
    if name == NUMBER:
        try:
            text = hear_number(words)
        except NumberError:
            return
    search.finish(Reading(reading.score + end, name, text, words, grammar.may_grow(reading.place)))


def _advance(
    hearing: Hearing, kept: list[tuple[float, int, int, Place]], free: _Free
) -> tuple[list[_Living], Floats]:
    """Give the model each different beginning once, the free reading among them."""
    rows: dict[tuple[int, int], int] = {}
    living = []
    for score, row, token, place in kept:
        index = rows.setdefault((row, token), len(rows))
        living.append(_Living(place, score, index))
    if not free.done:
        free.row = rows.setdefault((free.row, free.tokens[-1]), len(rows))
    chances = hearing.advance([row for row, _ in rows], [token for _, token in rows])
    return living, chances
