"""A job's situation as evidence for the diagnosis: what was observed, tried and mended, in order.

What a repair made stale was so until then. Where it was bad and the repair could have been the reason, it goes on
counting for the time before the repair, so that the same sign after it speaks against what was put right.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from firststart.bench.trying import CRANKING, NO_TURN, RAN, TRY
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, Finding, NoStart, Outcome, Ran, Repair
from firststart.diagnosis.fields import book_words, word_of
from firststart.job.situation import Observed, Situation


def evidence_of(book: Book, situation: Situation, words: Mapping[str, str]) -> tuple[Evidence, ...]:
    """All evidence of the record, in the order of its facts. What the book does not read is left out."""
    found: list[Evidence] = [Repair(r.suspect, r.at, r.number, None if r.success else 0.0) for r in situation.repairs]
    told = book_words(words)
    mended: dict[datetime, set[str]] = {}
    for repair in situation.repairs:
        mended.setdefault(repair.at, set()).add(repair.suspect)
    for seen in _worst_of_each_run(book, situation):
        repaired = mended.get(seen.stale_at, set()) if seen.stale_at is not None else set()
        found += _findings(book, seen, told, repaired)
        if seen.name == TRY:
            found.append(Ran(seen.number, seen.at) if seen.word in RAN else NoStart(seen.number, seen.at))
        elif seen.name == CRANKING and seen.word in NO_TURN:
            found.append(NoStart(seen.number, seen.at))
    return tuple(sorted(found, key=lambda e: e.seq))


def _worst_of_each_run(book: Book, situation: Situation) -> list[Observed]:
    """One observation for each name and run: the worst cylinder speaks for the engine, of those that still hold."""
    grouped: dict[tuple[str, int, str], list[Observed]] = {}
    for seen in situation.observed:
        key = (seen.name, seen.run, "" if seen.cylinder is not None else f"#{seen.number}")
        grouped.setdefault(key, []).append(seen)
    return [max(group, key=lambda o: (not o.stale, _badness(book, o), o.number)) for group in grouped.values()]


def _badness(book: Book, seen: Observed) -> int:
    """How bad an outcome is: the book lists outcomes worst first."""
    for check in book.observables.get(seen.name, ()):
        word = word_of(seen.word, check.words)
        if word is not None:
            return len(check.words) - check.words.index(word)
    return -1


def _findings(book: Book, seen: Observed, words: Mapping[str, str], repaired: Collection[str]) -> list[Finding]:
    """What was told, row by row; `repaired` are the suspects that were put right when it went stale."""
    found: list[Finding] = []
    for check in book.observables.get(seen.name, ()):
        word = word_of(seen.word, check.words)
        if word is None:
            continue
        for reading in book.read(check.id, word, words):
            outcome: Outcome = "bad" if reading.outcome == "bad" else "ok"
            until_repair = outcome == "bad" and not set(repaired).isdisjoint(book.causes[reading.row])
            stale = None if until_repair else seen.stale or None
            found.append(Finding(reading.row, outcome, seen.at, seen.number, reading.likelihood, stale, word))
    return found
