"""Where physics and the book differ, the table says so; where they agree, it is silent."""

from __future__ import annotations

from dataclasses import replace

from rehearsal_world import world

from firststart.bench.shop import book_of
from firststart.diagnosis.book import Book
from firststart.rehearsal.disagree import Differs, disagreements

ENGINES = 12


def shipped() -> Book:
    """The book of the library that ships."""
    book = book_of(world().rules.library)
    assert book is not None  # it has one
    return book


def with_tank_look(chance: float) -> Book:
    """The book with another chance that an empty tank shows when one looks into it."""
    book = shipped()
    check = book.checks["tank look"]
    row = replace(check.rows[0], bad_if={**check.rows[0].bad_if, "tank_empty": chance})
    return replace(book, checks={**book.checks, "tank look": replace(check, rows=(row, *check.rows[1:]))})


def told(book: Book) -> tuple[Differs, ...]:
    here = world()
    return disagreements(here.rules, book, here.kit, ENGINES, only={"tank_empty"})


def test_a_book_that_is_wrong_about_a_plain_look_is_told() -> None:
    """An empty tank looks empty: a book that says it hardly ever does is listed, with both figures."""
    found = next(d for d in told(with_tank_look(0.03)) if d.check == "tank look")

    assert (found.suspect, found.tries, found.seen) == ("tank_empty", ENGINES, 1.0)
    assert found.book < found.between[0]
    assert "book" in found.line()


def test_a_book_that_is_right_about_it_is_not_told() -> None:
    """The row that ships is not listed."""
    assert [d for d in told(shipped()) if d.check == "tank look"] == []
