"""The closed list of what may be heard, as roads of tokens: phrases, numbers, units, and how they may be written.

The recogniser writes text, and one thing said can be written in several ways: "two", "to", "Two"; "p s i", "PSI",
"P. S. I."; "twelve point six", "12.6". Every way leads to the same meaning. Commas and full stops may stand between
words. Positions are small values; the roads from each are built when they are first needed and then kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from firststart.devices import number_words
from firststart.devices.ears import NUMBER, Vocabulary
from firststart.devices.moonshine import EOS, Tokenizer
from firststart.prompt.numbers import TENS, UNITS_OF_TEN

SAME_SOUND: dict[str, tuple[str, ...]] = {
    "one": ("won",), "two": ("to", "too"), "three": ("free",), "four": ("for",), "eight": ("ate",), "oh": ("o",),
    "weak": ("week",), "blue": ("blew",), "right": ("write",), "wait": ("weight",), "brake": ("break",),
    "leak": ("leek",), "no": ("know",), "know": ("no",), "here": ("hear",), "okay": ("ok", "OK"), "ok": ("okay", "OK"),
    "grey": ("gray",), "hole": ("whole",), "steel": ("steal",), "bare": ("bear",),
}  # fmt: skip
"""Words that sound the same, or as near as makes no difference, to the one that is meant."""

WRITTEN: dict[str, tuple[str, ...]] = {
    "p s i": ("psi", "PSI", "Psi", "P S I", "P. S. I", "P.S.I", "p.s.i", "p s i"),
    "r p m": ("rpm", "RPM", "Rpm", "R P M", "R.P.M", "r p m", "RPMs"),
    "per cent": ("percent", "per cent", "%"),
    "degrees celsius": ("degrees celsius", "degrees Celsius", "degrees C", "Celsius"),
    "degrees fahrenheit": ("degrees fahrenheit", "degrees Fahrenheit", "degrees F", "Fahrenheit"),
    "millilitres": ("milliliters", "millilitres"), "litres": ("liters", "litres"), "metres": ("meters", "metres"),
    "millimetres": ("millimeters", "millimetres"), "centimetres": ("centimeters", "centimetres"),
    "to one": ("to one", "to 1"), "kilohms": ("kilohms", "kilo ohms", "kiloohms"),
    "thou": ("thou", "thousandths"),
}  # fmt: skip
"""Things of several words or letters, and all the ways they may be written."""

_BETWEEN = {",": ",", ".": ",", "-": "-"}
_JOINED = "\b"  # before a text that is written on to the one before it
_CLOSING = (".", ",", "!", "?")
_MOST_FIGURES, _MOST_DECIMALS = 5, 3

State = tuple[str, ...]
"""A place between words: ("start",), ("phrase", words...), ("number", state), ("figures", n, m) or ("end",)."""


@dataclass
class _Road:
    """A tree of tokens; where words end, the states and the text they add."""

    next: dict[int, _Road] = field(default_factory=dict)
    ends: list[tuple[State, str]] = field(default_factory=list)

    def add(self, tokens: tuple[int, ...], state: State, text: str) -> None:
        road = self
        for token in tokens:
            road = road.next.setdefault(token, _Road())
        if (state, text) not in road.ends:
            road.ends.append((state, text))


@dataclass(frozen=True)
class Place:
    """Where a reading of the tokens so far stands: between words, inside one, or closed.

    `mark`: "" between words, "," or "-" after a mark between words, "." after the closing mark.
    """

    state: State
    text: str = ""
    road: _Road | None = field(default=None, compare=False)
    inside: int = 0  # identity of the road, so that equal places compare equal
    mark: str = ""


@dataclass(frozen=True)
class Moves:
    """The tokens that may come next; each leads to the place at the same index, with that place's text added."""

    tokens: npt.NDArray[np.int64]
    places: tuple[Place, ...]

    def after(self, place: Place, index: int) -> Place:
        """Where the token at `index` leads from `place`."""
        step = self.places[index]
        return Place(step.state, place.text + step.text, step.road, step.inside, step.mark)


class ClosedGrammar:
    """All that one vocabulary allows."""

    def __init__(self, vocabulary: Vocabulary, tokenizer: Tokenizer) -> None:
        self._vocabulary, self._tokenizer = vocabulary, tokenizer
        self._meanings: dict[State, tuple[str, str]] = {}
        self._phrases: dict[State, set[str]] = {}
        for phrase, meaning in vocabulary.phrases.items():
            words = tuple(phrase.lower().split())
            for at, word in enumerate(words):
                self._phrases.setdefault(words[:at], set()).add(word)
            self._meanings[words] = (meaning, phrase)
        self._roads: dict[tuple[State, str], _Road] = {}
        self._moves: dict[tuple[State, int, str], Moves] = {}
        self._between = {token: after for mark, after in _BETWEEN.items() for token in self._marks(mark)}
        self._closing = {token for mark in _CLOSING for token in self._marks(mark)}

    @property
    def start(self) -> Place:
        """Before the first word."""
        return Place(("start",))

    def moves(self, place: Place) -> Moves:
        """Every token that may come next. The same token may be there several times, leading to different places."""
        key = (place.state, place.inside, place.mark)
        if key not in self._moves:
            steps = list(self._steps(place))
            tokens = np.array([token for token, _ in steps], np.int64)
            self._moves[key] = Moves(tokens, tuple(step for _, step in steps))
        return self._moves[key]

    def meaning(self, place: Place) -> tuple[str, str] | None:
        """(meaning, phrase or number words) when what was read so far is complete, else None."""
        if place.road is not None or place.mark in (",", "-"):
            return None
        kind, *rest = place.state
        if kind == "phrase":
            return self._meanings.get(tuple(rest))
        if kind == "number":
            return (NUMBER, place.text.strip()) if number_words.is_whole(rest[0]) else None
        return (NUMBER, place.text.strip()) if kind in ("figures", "end") else None

    def may_grow(self, place: Place) -> bool:
        """Whether a longer thing begins with what was read so far ("stop", "stop listening"; a number)."""
        return bool(self._road(place.state, "").next)

    def _steps(self, place: Place) -> Iterator[tuple[int, Place]]:
        """The moves of a place, with only the text they add."""
        if place.road is not None:
            yield from self._inside(place.state, place.road)
            return
        if place.mark == ".":
            return
        yield from self._inside(place.state, self._road(place.state, place.mark))
        if place.state == ("start",) or place.mark:
            return
        if self.meaning(place) is not None:
            for token in self._closing:
                yield token, Place(place.state, mark=".")
        if place.state[0] != "figures" and self.may_grow(place):  # in figures a mark would be the point
            for token, mark in self._between.items():
                yield token, Place(place.state, mark=mark)

    def _inside(self, state: State, road: _Road) -> Iterator[tuple[int, Place]]:
        for token, after in road.next.items():
            for end, text in after.ends:
                yield token, Place(end, text)
            if after.next:
                yield token, Place(state, "", after, id(after))

    def _marks(self, mark: str) -> tuple[int, ...]:
        try:
            return self._tokenizer.encode(mark, begins_word=False)[:1]
        except KeyError:
            return ()

    def _road(self, state: State, mark: str) -> _Road:
        """The words that may follow a state: after a comma or at the start in any case, after a hyphen joined on."""
        key = (state, mark)
        if key not in self._roads:
            self._roads[key] = road = _Road()
            any_case = mark == "," or state == ("start",)
            for text, written, after in self._words(state):
                self._write(road, text, written, after, any_case, joined=mark == "-" or text.startswith(_JOINED))
        return self._roads[key]

    def _write(
        self, road: _Road, text: str, written: tuple[str, ...], after: State, any_case: bool, joined: bool
    ) -> None:
        for form in written:
            for cased in {form, form[:1].upper() + form[1:]} if any_case else {form}:
                try:
                    tokens = self._tokenizer.encode(cased, begins_word=not joined)
                except KeyError:
                    continue
                road.add(tokens, after, text.removeprefix(_JOINED))

    def _words(self, state: State) -> Iterator[tuple[str, tuple[str, ...], State]]:
        """What may follow a state: the text it adds, the ways it may be written, the state after it."""
        kind, *rest = state
        if kind in ("start", "phrase"):
            for word in self._phrases.get(tuple(rest), ()):
                yield f" {word}", (word, *SAME_SOUND.get(word, ())), ("phrase", *rest, word)
        if kind == "start" and self._vocabulary.numbers:
            yield from self._number_words(number_words.START)
            yield from self._figures(0, 0)
        elif kind == "number":
            yield from self._number_words(rest[0])
            if number_words.is_whole(rest[0]):
                yield from self._units()
        elif kind == "figures":
            yield from self._figures(int(rest[0]), int(rest[1]))
            yield from self._units()

    def _number_words(self, state: str) -> Iterator[tuple[str, tuple[str, ...], State]]:
        for word, after in number_words.following(state).items():
            yield f" {word}", (word, *SAME_SOUND.get(word, ())), ("number", after)
            if word in TENS:
                for digit, end in number_words.following(after).items():
                    if digit in UNITS_OF_TEN:
                        yield f" {word} {digit}", (f"{word}-{digit}",), ("number", end)

    def _figures(self, whole: int, decimals: int) -> Iterator[tuple[str, tuple[str, ...], State]]:
        """Numbers written in figures, one at a time: "12.6", "-5"."""
        for figure in "0123456789":
            if whole == 0:
                yield f" {figure}", (figure,), ("figures", "1", "0")
                yield f" -{figure}", (f"-{figure}",), ("figures", "1", "0")
            elif decimals == 0 and whole < _MOST_FIGURES:
                yield f"{_JOINED}{figure}", (figure,), ("figures", str(whole + 1), "0")
            if whole and decimals < _MOST_DECIMALS:
                mark = "" if decimals else "."
                yield f"{_JOINED}{mark}{figure}", (f"{mark}{figure}",), ("figures", str(whole), str(decimals + 1))

    def _units(self) -> Iterator[tuple[str, tuple[str, ...], State]]:
        for unit in self._vocabulary.units:
            yield f" {unit}", WRITTEN.get(unit, (unit,)), ("end",)


__all__ = ["EOS", "SAME_SOUND", "WRITTEN", "ClosedGrammar", "Moves", "Place"]
