"""Which word may follow which in a spoken number: a small state machine for the recogniser.

Every road through it ends in a number that `prompt.numbers.hear_number` reads (a test walks them). It offers less than
that function takes: "oh" stands only inside a number, since at its start it sounds like "no".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from firststart.prompt.numbers import TEENS, TENS, UNITS_OF_TEN

State = str

START: State = "start"
"""Where a number begins."""

_DIGITS = UNITS_OF_TEN[1:]
_LONGEST_DIGITS = 6
_LONGEST_DECIMALS = 4

_UNFINISHED = frozenset({
    "start", "signed", "article", "point", "hundred and", "thousand and", "frac", "frac a", "frac three", "oh",
})  # fmt: skip


def is_whole(state: State) -> bool:
    """Whether a number may end at `state`."""
    return state not in _UNFINISHED


def can_grow(state: State) -> bool:
    """Whether more words of the number may follow `state`."""
    return bool(following(state))


@cache
def following(state: State) -> Mapping[str, State]:
    """The words that may follow at `state`, each with the state it leads to."""
    return _TABLE.get(state) or _counted(state)


def _each(words: tuple[str, ...], state: State) -> dict[str, State]:
    return dict.fromkeys(words, state)


_POINT = {"point": "point"}
_FRACTION = {"and": "frac"}
_PAIR = _each(TEENS, "done") | _each(TENS, "pair tens") | {"oh": "oh"}
_TAIL = _each(_DIGITS, "small") | _each(TEENS, "small") | _each(TENS, "small tens")
_BEGIN = (
    {"zero": "zero", "point": "point", "a": "article"}
    | _each(_DIGITS, "digit")
    | _each(TEENS, "teen")
    | _each(TENS, "tens")
)

_TABLE: dict[State, dict[str, State]] = {
    "start": _BEGIN | {"minus": "signed"},
    "signed": {word: state for word, state in _BEGIN.items() if word != "a"},
    "article": {"hundred": "hundred", "thousand": "thousand"},
    "zero": _POINT,
    "digit": _each(UNITS_OF_TEN, "digits 2") | _PAIR | {"hundred": "hundred", "thousand": "thousand", "oh": "digits 2"}
    | _POINT | _FRACTION,
    "teen": _PAIR | {"hundred": "hundreds", "thousand": "thousand"} | _POINT | _FRACTION,
    "tens": _each(_DIGITS, "tens digit") | {"thousand": "thousand"} | _POINT | _FRACTION,
    "tens digit": _PAIR | {"hundred": "hundreds", "thousand": "thousand"} | _POINT | _FRACTION,
    "oh": _each(_DIGITS, "done"),
    "pair tens": _each(_DIGITS, "done") | _POINT,
    "hundred": _TAIL | {"and": "hundred and", "thousand": "thousand"} | _POINT,
    "hundreds": _TAIL | {"and": "hundred and"} | _POINT,
    "hundred and": _TAIL | {"a": "frac a"},
    "small tens": _each(_DIGITS, "small") | _POINT,
    "small": _POINT,
    "thousand": _each(_DIGITS, "thousand digit") | _each(TEENS, "small") | _each(TENS, "small tens")
    | {"and": "thousand and"} | _POINT,
    "thousand digit": {"hundred": "thousand hundred"} | _POINT,
    "thousand and": _TAIL | {"a": "frac a"},
    "thousand hundred": _TAIL | {"and": "hundred and"} | _POINT,
    "done": _POINT,
    "point": _each((*UNITS_OF_TEN, "oh"), "decimal 1") | _each(TEENS, "over") | _each(TENS, "decimal tens"),
    "decimal tens": _each(_DIGITS, "over"),
    "frac": {"a": "frac a", "three": "frac three"},
    "frac a": {"half": "over", "quarter": "over"},
    "frac three": {"quarters": "over"},
    "over": {},
}  # fmt: skip


def _counted(state: State) -> dict[str, State]:
    """Digits one by one, before and after the point, as many as a reading can have."""
    name, _, count = state.rpartition(" ")
    so_far = int(count) if count.isdigit() else _LONGEST_DIGITS
    if name == "digits":
        more = _each((*UNITS_OF_TEN, "oh"), f"digits {so_far + 1}") if so_far < _LONGEST_DIGITS else {}
        return more | _POINT
    if name == "decimal" and so_far < _LONGEST_DECIMALS:
        return _each((*UNITS_OF_TEN, "oh"), f"decimal {so_far + 1}")
    return {}
