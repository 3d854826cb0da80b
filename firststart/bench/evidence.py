"""A job's situation as evidence for the diagnosis: what was observed, tried and mended, in order."""

from __future__ import annotations

from collections.abc import Mapping

from firststart.bench.trying import CRANKING, NO_TURN, RAN, TRY
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, Finding, NoStart, Outcome, Ran, Repair
from firststart.diagnosis.fields import book_words, word_of
from firststart.job.situation import Observed, Situation


def evidence_of(book: Book, situation: Situation, words: Mapping[str, str]) -> tuple[Evidence, ...]:
    """All evidence of the record, in the order of its facts. What the book does not read is left out."""
    found: list[Evidence] = [Repair(r.suspect, r.at, r.number, None if r.success else 0.0) for r in situation.repairs]
    told = book_words(words)
    for seen in _worst_of_each_run(book, situation):
        found += _findings(book, seen, told)
        if seen.name == TRY:
            found.append(Ran(seen.number, seen.at) if seen.word in RAN else NoStart(seen.number, seen.at))
        elif seen.name == CRANKING and seen.word in NO_TURN:
            found.append(NoStart(seen.number, seen.at))
    return tuple(sorted(found, key=lambda e: e.seq))


def _worst_of_each_run(book: Book, situation: Situation) -> list[Observed]:
    """One observation for each name and run: the worst cylinder speaks for the engine."""
    grouped: dict[tuple[str, int, str], list[Observed]] = {}
    for seen in situation.observed:
        key = (seen.name, seen.run, "" if seen.cylinder is not None else f"#{seen.number}")
        grouped.setdefault(key, []).append(seen)
    return [max(group, key=lambda o: (_badness(book, o), o.number)) for group in grouped.values()]


def _badness(book: Book, seen: Observed) -> int:
    """How bad an outcome is: the book lists outcomes worst first."""
    for check in book.observables.get(seen.name, ()):
        word = word_of(seen.word, check.words)
        if word is not None:
            return len(check.words) - check.words.index(word)
    return -1


def _findings(book: Book, seen: Observed, words: Mapping[str, str]) -> list[Finding]:
    found: list[Finding] = []
    for check in book.observables.get(seen.name, ()):
        word = word_of(seen.word, check.words)
        if word is None:
            continue
        for reading in book.read(check.id, word, words):
            outcome: Outcome = "bad" if reading.outcome == "bad" else "ok"
            found.append(
                Finding(reading.row, outcome, seen.at, seen.number, reading.likelihood, seen.stale or None, word)
            )
    return found
