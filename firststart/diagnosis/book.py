"""The book of suspects and checks: read from data, whole or not at all."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import ValidationError

from firststart.diagnosis.bookfile import BookPart
from firststart.diagnosis.model import Access, Check, Policy, Reading, Row, Suspect, Zone, applies
from firststart.diagnosis.resolve import NOT_DONE, Path, Resolver
from firststart.errors import DataError, Problem, UnknownName

Place = Callable[[Path], int]

_KINDER = {
    "missing": "is missing", "extra_forbidden": "is not a key of this part; remove it or mend its spelling",
    "string_type": "must be text", "float_type": "must be a number", "bool_type": "must be true or false",
}


@dataclass(frozen=True, eq=False)
class Book:
    """Suspects and checks by id, in file order, with the numbers and words around them. Compared by identity."""

    title: str
    file: str
    mark: str
    words: Mapping[str, float]
    slip: float
    policy: Policy
    outside_chance: float
    outside_name: str
    outside_specialist: str
    fields: Mapping[str, tuple[str, ...]]
    ageing: Mapping[str, Mapping[str, float]]
    climate: Mapping[str, Mapping[str, float]]
    zones: Mapping[str, Zone]
    access: Mapping[str, Access]
    suspects: Mapping[str, Suspect]
    checks: Mapping[str, Check]

    @classmethod
    def from_data(cls, data: Mapping[str, Any], place: Place, file: str) -> Book:
        """Build the book from parsed data. `place` gives the line of a path. Raises DataError with all problems."""
        try:
            part = BookPart.model_validate(data)
        except ValidationError as error:
            raise DataError(_problems(error, place, file)) from None
        maker = Resolver(part, place, file)
        book = cls(
            part.title, file, part.mark, dict(part.words), part.slip, maker.policy(),
            maker.level(("outside", "chance"), part.outside.chance), part.outside.say, part.outside.specialist,
            dict(part.fields), part.ageing, maker.climate(), maker.zones(), maker.accesses(), maker.suspects(),
            maker.checks(),
        )
        _scale_in_order(part, maker)
        if maker.problems:
            raise DataError(maker.problems)
        return book

    @cached_property
    def rows(self) -> Mapping[str, Row]:
        """Every row by its id, in file order."""
        return {row.id: row for check in self.checks.values() for row in check.rows}

    @cached_property
    def observables(self) -> Mapping[str, tuple[Check, ...]]:
        """The checks that read each observable, in file order."""
        found: dict[str, tuple[Check, ...]] = {}
        for check in self.checks.values():
            found[check.observes] = (*found.get(check.observes, ()), check)
        return found

    @cached_property
    def causes(self) -> Mapping[str, tuple[str, ...]]:
        """The suspects of each row."""
        return {key: tuple(row.bad_if) for key, row in self.rows.items()}

    def check(self, name: str) -> Check:
        """The check with this id, or the one a row of this id belongs to. Raises UnknownName."""
        if name in self.checks:
            return self.checks[name]
        if name in self.rows:
            return self.checks[self.rows[name].check]
        raise UnknownName(f"The book has no check called {name!r}; 'firststart verify' lists what it has.")

    def read(self, name: str, word: str, profile: Mapping[str, str] | None = None) -> tuple[Reading, ...]:
        """What `word` says, row by row, when the check or observable `name` gave it.

        A word that means "not done" gives nothing: it is never taken for good. `profile` leaves out checks that
        do not apply. Raises UnknownName for a word the check does not know.
        """
        checks = (self.checks[name],) if name in self.checks else self.observables.get(name, ())
        if not checks:
            raise UnknownName(f"The book has no check or observable called {name!r}.")
        fitting = [c for c in checks if applies(c.applies, profile or {})]
        if word in NOT_DONE or not fitting:
            return ()
        if not any(word in c.words for c in fitting):
            choices = ", ".join(dict.fromkeys(w for c in fitting for w in c.words))
            raise UnknownName(f"{word!r} is not an outcome of {name!r}; use one of: {choices}.")
        return tuple(reading for c in fitting if word in c.words for reading in _cascade(c, word))


def hazard_factor(suspect: Suspect, book: Book, storage: str | None, profile: Mapping[str, str]) -> float:
    """The factor on the yearly hazard from storage, climate and what eased it. 1 when nothing is known."""
    factor = book.ageing[suspect.ages].get(storage or "unknown", 1.0) if suspect.ages else 1.0
    factor *= book.climate.get(suspect.ages or "", {}).get(profile.get("climate", "unknown"), 1.0)
    for field, values in suspect.eased.items():
        factor *= values.get(profile.get(field, "unknown"), 1.0)
    return factor


def prior(suspect: Suspect, book: Book, years: float | None, storage: str | None, profile: Mapping[str, str]) -> float:
    """1 - (1 - base) exp(-per_year x years x factor): present from the first day, or grown while it stood.

    `years` None counts as 5, the middle of what is met. Source of the form: noisy-OR of two causes (Heckerman 1989).
    """
    span = 5.0 if years is None else max(0.0, years)
    hazard = suspect.per_year * span * hazard_factor(suspect, book, storage, profile)
    return 1.0 - (1.0 - suspect.base) * math.exp(-hazard)


def _cascade(check: Check, word: str) -> list[Reading]:
    """Rows worst first: ok until the row that owns the word; rows after a bad or graded one say nothing."""
    readings: list[Reading] = []
    for row in check.rows:
        if word in row.bad_when:
            return [*readings, Reading(row.id, "bad")]
        if word in row.graded:
            weight = row.graded[word]
            return [*readings, Reading(row.id, "bad" if weight >= 0.5 else "ok", (1.0 - weight, weight))]
        readings.append(Reading(row.id, "ok"))
    return readings


def _scale_in_order(part: BookPart, maker: Resolver) -> None:
    values = list(part.words.values())
    if values != sorted(values, reverse=True) or len(set(values)) != len(values):
        maker.complain(("words",), "the words of the scale must go from the surest to the least sure, none equal.")
    for word, value in part.words.items():
        if not 0.0 < value <= 1.0:
            maker.complain(("words", word), f"{word!r} is {value:g}; it must be above 0 and at most 1.")


def _problems(error: ValidationError, place: Place, file: str) -> list[Problem]:
    found: dict[tuple[int, str], Problem] = {}
    for item in error.errors():
        path = tuple(p for p in item["loc"] if p not in ("str", "float", "function-before"))
        name = " > ".join(str(p) for p in path)
        text = _KINDER.get(item["type"], item["msg"][:1].lower() + item["msg"][1:])
        parent = path[:-1] if item["type"] == "missing" else path
        found.setdefault((place(parent), name), Problem(file, place(parent), f"{name} {text}."))
    return list(found.values())
