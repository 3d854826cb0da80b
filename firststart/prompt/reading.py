"""How hard the prompts are: words a sentence, and the reading grade of Flesch and Kincaid. Pure.

Grade = 0.39 words/sentences + 11.8 syllables/words - 15.59 (Kincaid, Fishburne, Rogers and Chissom, Derivation of New
Readability Formulas, Naval Technical Training Command, Research Branch Report 8-75, 1975; from memory). It is the
school year in which a child reads the text with ease; it knows nothing of sense, so it is a ceiling and no praise.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.prompt.spoken import spoken

PARTS = ("cmd", "why", "note", "say")
"""What is spoken: the action, its reason, its cautions, and the result."""

_FILL = re.compile(r"\{[^{}]*\}")
_SENTENCE = re.compile(r"[^.!?:]+")
_WORD = re.compile(r"[a-z]+(?:['’-][a-z]+)*")
_VOWELS = re.compile(r"[aeiouy]+")
_TWO = re.compile(  # two vowels side by side that are spoken apart
    r"i[ao](?!us|n\b|ns\b|ned\b|l\b|lly\b|ge|st)|ia(?=l\b|n\b|st)|[aeiouy]ing\b|[^qg]ua|eo(?!n\b|us)|uo|ui(?=d|n)|creat"
)
_MUTE = re.compile(  # an e that is written and not spoken
    r"(?<=[^aeiouy])e\b|(?<=[^aeiouydt])ed\b|(?<=[^aeiouyscxzhg])es\b"
    r"|(?<=[aeiouy][^aeiouy])e(?=ly\b|ment|ful|less|ness)"
)
_SPOKEN_E = re.compile(r"[^aeiouy]le\b|[^aeiouy]les\b|[^aeiouy]led\b")


@cache
def syllables(word: str) -> int:
    """Syllables of an English word by its spelling, at least one; right for nine words in ten (see the tests)."""
    count = 0
    for part in re.split(r"['’-]", word.lower()):
        groups = len(_VOWELS.findall(part)) + len(_TWO.findall(part))
        mute = len(_MUTE.findall(part)) - len(_SPOKEN_E.findall(part))
        count += max(groups - max(mute, 0), 1) if _VOWELS.search(part) else 0
    return max(count, 1)


@dataclass(frozen=True)
class Level:
    """What a heap of text amounts to."""

    sentences: int = 0
    words: int = 0
    syllables: int = 0
    longest: int = 0

    @property
    def grade(self) -> float:
        """The reading grade; 0 for no text."""
        if not self.words:
            return 0.0
        return 0.39 * self.words / self.sentences + 11.8 * self.syllables / self.words - 15.59

    @property
    def mean(self) -> float:
        """Words a sentence."""
        return self.words / self.sentences if self.sentences else 0.0


def level(texts: Iterable[str]) -> Level:
    """The level of `texts` as they are spoken, each placeholder one short word."""
    sentences = words = count = longest = 0
    for text in texts:
        for sentence in _SENTENCE.findall(spoken(_FILL.sub("two", text))):
            found = _WORD.findall(sentence.lower())
            sentences, words, longest = sentences + bool(found), words + len(found), max(longest, len(found))
            count += sum(map(syllables, found))
    return Level(sentences, words, count, longest)


def texts_of(procedure: Procedure, part: str) -> Iterator[str]:
    """Every text of one of the `PARTS` of a procedure."""
    if part == "say":
        yield from (result.say for result in procedure.results.values())
        return
    for step in procedure.steps.values():
        if part == "note":
            yield from (note.text for note in step.note)
        elif text := getattr(step, part):
            yield text


def levels(library: Library) -> dict[str, Level]:
    """The level of each part over all procedures."""
    every = library.procedures.values()
    return {part: level(text for p in every for text in texts_of(p, part)) for part in PARTS}


def level_of(procedure: Procedure) -> Level:
    """The level of everything that a procedure speaks."""
    return level(text for part in PARTS for text in texts_of(procedure, part))


def wording_lines(library: Library) -> list[str]:
    """The table for a screen: each procedure, hardest first, then each part, then all."""
    head = f"{'':24}{'sentences':>10}{'words':>8}{'a sentence':>12}{'longest':>9}{'grade':>7}"
    rows = sorted(((level_of(p), p.id) for p in library.procedures.values()), key=lambda r: (-r[0].grade, r[1]))
    whole = level(t for p in library.procedures.values() for part in PARTS for t in texts_of(p, part))
    lines = [head, *(_row(name, found) for found, name in rows), ""]
    lines += [_row(f"all {part}", found) for part, found in levels(library).items()]
    return [*lines, _row("all that is spoken", whole)]


def _row(name: str, found: Level) -> str:
    return (
        f"{name:24}{found.sentences:>10}{found.words:>8}{found.mean:>12.1f}{found.longest:>9}{found.grade:>7.1f}"
    )
