"""Do the book and the guided procedures speak of the same things, in the same words?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import word_of
from firststart.diagnosis.model import Check
from firststart.errors import Problem
from firststart.procedure.library import Library
from firststart.procedure.model import UNREAD, Procedure, Step


def disagreements(book: Book, library: Library, judge_words: Mapping[str, tuple[str, ...]]) -> Iterator[Problem]:
    """Checks whose procedure never tells what they observe, or tells it in words the book cannot read."""
    for check in book.checks.values():
        procedure = library.procedures.get(check.procedure or "")
        if check.procedure is None:
            continue
        if procedure is None:
            yield Problem(
                book.file, check.line, f"there is no procedure called {check.procedure!r}; write it or remove it"
            )
            continue
        yield from _one(book, check, procedure, judge_words)
    for suspect in book.suspects.values():
        if suspect.fix.procedure is not None and suspect.fix.procedure not in library.procedures:
            yield Problem(
                book.file,
                suspect.line,
                f"there is no procedure called {suspect.fix.procedure!r}; write it or remove it",
            )
    yield from _unknown_repairs(book, library)


def _one(
    book: Book, check: Check, procedure: Procedure, judge_words: Mapping[str, tuple[str, ...]]
) -> Iterator[Problem]:
    told = [w for step in procedure.steps.values() for w in words_told(step, check.observes, judge_words)]
    readable = {w for w in told if word_of(w, check.words) is not None}
    if not told:
        yield Problem(
            book.file, check.line, f"{procedure.id} never tells {check.observes!r}, which this check observes"
        )
    elif not any(word_of(w, check.ok_when) for w in readable):
        yield Problem(book.file, check.line, f"{procedure.id} tells {check.observes!r} in no word that is good here")
    elif not any(word_of(w, row.bad_when) for w in readable for row in check.rows):
        yield Problem(book.file, check.line, f"{procedure.id} tells {check.observes!r} in no word that is bad here")


def words_told(step: Step, name: str, judge_words: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The words in which a step tells what is observed under `name`; empty when it tells nothing of it."""
    if step.observe == name:
        return tuple(step.choices)
    if step.measure is not None and step.measure.name == name and step.measure.judge:
        return tuple(w for w in judge_words.get(step.measure.judge, ()) if w != UNREAD)
    if step.judge == name:
        return judge_words.get(step.judge, ())
    return ()


def _unknown_repairs(book: Book, library: Library) -> Iterator[Problem]:
    for name, procedure in library.procedures.items():
        document = library.documents[name]
        for result, body in procedure.results.items():
            for suspect in body.repairs:
                if suspect not in book.suspects:
                    yield document.problem(
                        ("results", result, "repairs"), f"the book has no suspect called {suspect!r}; mend the name"
                    )
