"""What a calculation tells of itself: its inputs, formula, source and answers.

A calculator is a plain function of SI floats. A `Subject` is its edge: it names each input with its
kind, unit and permitted range, takes pint quantities, and answers with measured values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from firststart.errors import InputError, RangeError, UnknownName
from firststart.units import Measured, from_si, in_range, measured, parse, si_value

if TYPE_CHECKING:
    import pint

MARKS = ("read", "secondary copy", "from memory", "common practice, no source", "computed")


@dataclass(frozen=True)
class Given:
    """One input of a calculation. `low` and `high` are in `unit`; `default` is text such as "0 m", "" for none."""

    name: str
    kind: str
    unit: str
    low: float
    high: float
    default: str = ""
    meaning: str = ""
    words: tuple[str, ...] = ()  # when not empty the input is one of these words, not a number
    whole: bool = False  # half a cylinder is none

    @property
    def needed(self) -> bool:
        """Must it be given?"""
        return not self.default


@dataclass(frozen=True)
class Answer:
    """One result: a measured value or a text, with a note."""

    name: str
    value: Measured | str
    note: str = ""


Values = Mapping[str, Any]  # SI floats by input name; words stay text


@dataclass(frozen=True)
class Subject:
    """A calculation a person can ask for by name.

    `formula` is plain text; `source` names where it comes from; `mark` is one of `MARKS`.
    `run` maps SI values to answers and is pure.
    """

    name: str
    title: str
    formula: str
    source: str
    mark: str
    given: tuple[Given, ...]
    run: Callable[[Values], tuple[Answer, ...]]

    def read(self, texts: Mapping[str, str]) -> dict[str, Any]:
        """SI values from a person's `name=value` texts. Raises InputError for a wrong or missing one."""
        unknown = set(texts) - {g.name for g in self.given}
        if unknown:
            names = ", ".join(g.name for g in self.given)
            raise UnknownName(f"{self.name} takes no {sorted(unknown)[0]!r}; it takes {names}.")
        return {g.name: _read_one(self.name, g, texts.get(g.name, g.default)) for g in self.given}

    def of(self, **values: pint.Quantity[Any] | str) -> tuple[Answer, ...]:
        """Answers from pint quantities (the library's own edge). Raises UnitError, RangeError, InputError."""
        si: dict[str, Any] = {}
        for g in self.given:
            if g.name not in values:
                si[g.name] = _read_one(self.name, g, g.default)
            elif g.words:
                si[g.name] = _read_one(self.name, g, str(values[g.name]))
            else:
                low, high = measured(g.low, g.unit, g.kind).si, measured(g.high, g.unit, g.kind).si
                si[g.name] = _whole(si_value(values[g.name], g.kind, g.name, low, high), g)  # type: ignore[arg-type]
        return self.run(si)


def _read_one(subject: str, given: Given, text: str) -> Any:
    if not text:
        raise InputError(f"{subject} needs {given.name} ({given.meaning or given.kind}); give it as {_example(given)}.")
    if given.words:
        if text not in given.words:
            raise InputError(f"{given.name} is {text!r}, but must be one of {', '.join(given.words)}.")
        return text
    value = parse(text, given.kind, given.unit if given.kind in ("ratio", "count") else None, given.name)
    number = value.value if value.unit == given.unit else _in(value, given)
    in_range(number, given.name, given.low, given.high, given.unit)
    return _whole(value.si, given)


def _whole(number: float, given: Given) -> float:
    if given.whole and number != round(number):
        raise RangeError(given.name, number, given.low, given.high, given.unit, "a whole number")
    return number


def _in(value: Measured, given: Given) -> float:
    return from_si(value.si, given.unit, given.kind).value


def _example(given: Given) -> str:
    middle = given.words[0] if given.words else f"{(given.low + given.high) / 2:g}{given.unit}"
    return f"{given.name}={middle}"
