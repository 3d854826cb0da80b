"""Which answers sound alike: a rough key of how a phrase sounds, and how far two keys lie apart. Pure.

Rough on purpose: voiced and voiceless consonants fall together ("pass", "bass"), all vowels are one, since that is
what noise takes away first. Long phrases that differ in one word differ enough; short words must differ in most of
their sounds. The limit was set by what the recogniser confused in noise.
"""

from __future__ import annotations

import re

_SPELT = (("ph", "f"), ("ck", "k"), ("th", "t"), ("sh", "s"), ("ch", "s"), ("wh", "w"), ("gh", ""), ("wr", "r"))
_SAME = str.maketrans({"q": "k", "c": "k", "x": "k", "z": "s", "d": "t", "b": "p", "v": "f", "m": "n", "j": "g"})
_NEAR = 0.34  # share of the sounds of a single word that may differ and still be misheard


def sound_key(phrase: str) -> str:
    """The sounds of a phrase, roughly: "weak" and "week" are one."""
    return "".join(_word_key(word) for word in re.sub(r"[^a-z ]", "", phrase.lower()).split())


def _word_key(word: str) -> str:
    for spelt, sound in _SPELT:
        word = word.replace(spelt, sound)
    word = re.sub(r"(?<=[^aeiouy])e$", "", word) if re.search(r"[aiouy]", word) else word  # a silent end
    word = re.sub(r"[aeiouy]+", "a", word).translate(_SAME).replace("h", "")
    return re.sub(r"(.)\1+", r"\1", word)


def sound_alike(one: str, other: str) -> bool:
    """Whether two phrases sound the same, or, both being single words, nearly so."""
    single = " " not in one.strip() and " " not in other.strip()
    return sound_distance(one, other) <= (_NEAR if single else 0.0)


def sound_distance(one: str, other: str) -> float:
    """The share of the sounds in which two phrases differ: 0 the same, 1 nothing in common."""
    a, b = sound_key(one), sound_key(other)
    return _apart(a, b) / max(len(a), len(b), 1)


def _apart(one: str, other: str) -> int:
    """How many sounds must be changed, added or left out to make one of the other (Levenshtein)."""
    before = list(range(len(other) + 1))
    for row, sound in enumerate(one, 1):
        now = [row]
        for column, theirs in enumerate(other, 1):
            now.append(min(before[column] + 1, now[-1] + 1, before[column - 1] + (sound != theirs)))
        before = now
    return before[-1]
