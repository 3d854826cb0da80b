"""The book fitted to one engine: which suspects and checks apply, and their numbers. No numpy here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from types import MappingProxyType

from firststart.diagnosis.book import Book, prior
from firststart.diagnosis.model import Check, Row, Suspect, applies

OUTSIDE = "outside"
"""The id of the stand-in for everything the book does not know."""


@dataclass(frozen=True)
class NetRow:
    """A row as numbers: P(ok | faults) = (1 - leak) x product of (1 - q); `causes` are (suspect's place, q)."""

    leak: float
    causes: tuple[tuple[int, float], ...]


@dataclass(frozen=True, eq=False)
class Numbers:
    """All that inference needs: priors, how surely each suspect stops the engine, and the rows (all 0 to 1).

    Compared by identity, so that tables made from it can be kept beside it.
    """

    prior: tuple[float, ...]
    stops: tuple[float, ...]
    rows: Mapping[str, NetRow]


@dataclass(frozen=True)
class Network:
    """The book for one engine. The last place of the numbers stands for what is outside the book."""

    book: Book
    profile: Mapping[str, str]
    suspects: tuple[Suspect, ...]
    checks: tuple[Check, ...]
    numbers: Numbers

    @cached_property
    def place(self) -> Mapping[str, int]:
        """The place of each suspect's id, the outside included."""
        return {s: i for i, s in enumerate(self.ids)}

    @cached_property
    def ids(self) -> tuple[str, ...]:
        """The suspects' ids in order, with the outside last."""
        return (*(s.id for s in self.suspects), OUTSIDE)

    def name(self, at: int) -> str:
        """The spoken name of the suspect at place `at`."""
        return self.suspects[at].name if at < len(self.suspects) else self.book.outside_name


def fit(
    book: Book, profile: Mapping[str, str], years: float | None = None, storage: str | None = None,
) -> Network:
    """The book fitted to an engine profile, years of standing and kind of storage (both may be unknown)."""
    return _fit(book, tuple(profile.items()), years, storage)


@lru_cache(maxsize=16)
def _fit(book: Book, words: tuple[tuple[str, str], ...], years: float | None, storage: str | None) -> Network:
    """`fit` with its last few answers kept: one job asks for the same network over and over."""
    profile = MappingProxyType(dict(words))
    suspects = tuple(s for s in book.suspects.values() if applies(s.applies, profile))
    at = {s.id: i for i, s in enumerate(suspects)}
    rows = {row.id: _fit_row(row, at, profile) for row in book.rows.values()}
    checks = tuple(
        c for c in book.checks.values()
        if applies(c.applies, profile) and any(rows[r.id].causes for r in c.rows)
    )
    priors = (
        *(share(s, book, profile) * prior(s, book, years, storage, profile) for s in suspects), book.outside_chance,
    )
    stops = (*(s.stops for s in suspects), 1.0 - book.slip)
    return Network(book, profile, suspects, checks, Numbers(priors, stops, rows))


def share(suspect: Suspect, book: Book, profile: Mapping[str, str]) -> float:
    """The part of all engines that could have this suspect, as far as the profile leaves it open.

    Points are in two of six kinds of ignition; while the ignition is unknown, dirty points count by a third. Each
    word of a field counts alike, for want of better figures.
    """
    part = 1.0
    for field, words in suspect.applies.items():
        if profile.get(field, "unknown") in ("unknown", ""):
            part *= len(words) / len(book.fields[field])
    return part


def _fit_row(row: Row, at: Mapping[str, int], profile: Mapping[str, str]) -> NetRow:
    if not applies(row.applies, profile):
        return NetRow(0.0, ())
    return NetRow(row.leak, tuple((at[s], q) for s, q in row.bad_if.items() if s in at))
