"""`firststart verify --book`: how well the book of suspects and checks sees and tells apart, sort by sort."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path

from firststart.diagnosis.book import Book
from firststart.diagnosis.bookcheck import Figures, check_book, figures
from firststart.diagnosis.fields import book_words
from firststart.errors import Problem
from firststart.procedure.catalogue import load_sorts


def sorts_of(folder: Path) -> dict[str, dict[str, str]]:
    """The sorts of engine that people have, in the book's words. Raises DataError."""
    return {name: book_words(words) for name, words in load_sorts(folder).items()}


def book_problems(book: Book, folder: Path) -> tuple[Problem, ...]:
    """Every problem of the book as a whole, checked for each sort of engine. Raises DataError."""
    return check_book(book, sorts_of(folder))


def print_figures(book: Book, folder: Path, form: str) -> None:
    """The figures of testability for each sort of engine, as text or JSON. Raises DataError."""
    found = {name: figures(book, words) for name, words in sorts_of(folder).items()}
    if form == "json":
        print(json.dumps({name: asdict(one) for name, one in found.items()}, indent=2))
        return
    print("\n".join(_lines(book, found)))


def _lines(book: Book, found: Mapping[str, Figures]) -> Iterator[str]:
    yield f"{book.title}: {len(book.suspects)} suspects, {len(book.checks)} checks with {len(book.rows)} rows"
    yield "Twelve years in a damp place; the terms are those of IEEE Std 1522."
    for name, one in found.items():
        yield f"\n{name}"
        yield from (f"  {term}: {value}" for term, value in one.table())
    masked = sorted({pair for one in found.values() for pair in one.masked})
    yield "\nmasked pairs: every check that sees the first sees the second too; mend the second, then look again"
    yield from (f"  {book.suspects[a].name} behind {book.suspects[b].name}" for a, b in masked)
