"""A library made ready for the bench: rules over it, and its book with guided work for all of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from firststart.job.rules import Rules
from firststart.procedure.catalogue import digest_of
from firststart.procedure.library import Library
from firststart.procedure.reader import Document

if TYPE_CHECKING:  # the whole diagnosis comes with it: it is fetched when it is needed
    from firststart.diagnosis.book import Book


def make_rules(library: Library) -> Rules:
    """Rules over a library in which every check and repair of the book can be done. Raises DataError.

    Work of the user's own is proved first: nobody is led through what is not.
    """
    if library.own or library.own_safety:
        from firststart.bench.verify import refuse_unproved  # no other start needs the proofs

        refuse_unproved(library)
    book = book_of(library)
    return Rules(library if book is None else with_workings(library, book))


def book_of(library: Library) -> Book | None:
    """The library's book of suspects and checks, None when it has none. Raises DataError."""
    from firststart.diagnosis.book import Book

    document = library.book
    return None if document is None else Book.from_data(document.data, document.line, document.file)


def with_workings(library: Library, book: Book) -> Library:
    """The library with a made-up procedure for each check and repair that has none of its own."""
    from firststart.diagnosis.workings import line_of, workings

    made = workings(book, library.procedures)
    lines = line_of(book)
    documents = {name: Document(book.file, None, {(): lines[name]}) for name in made}
    return replace(
        library,
        procedures={**library.procedures, **made},
        digests={**library.digests, **{name: digest_of(procedure) for name, procedure in made.items()}},
        documents={**library.documents, **documents},
    )
