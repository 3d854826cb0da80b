"""The record as evidence: what counts, for which time, and what went stale."""

from __future__ import annotations

import pytest
from bench_record import MOWER, Record

from firststart.bench.evidence import evidence_of
from firststart.bench.shop import book_of
from firststart.diagnosis.advise import advise
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Finding, NoStart, Repair
from firststart.diagnosis.fields import book_words
from firststart.job import facts as f
from firststart.procedure.library import Library

STRONG = ("exhaust.smell", "strong-petrol")


@pytest.fixture(scope="module")
def book(library: Library) -> Book:
    made = book_of(library)
    assert made is not None  # the shipped library has a book
    return made


def findings(book: Book, record: Record) -> list[tuple[str, str, bool]]:
    """(row, outcome, whether it counts) of every finding of the record."""
    told = [e for e in evidence_of(book, record.situation, MOWER) if isinstance(e, Finding)]
    return [(e.check, e.outcome, e.stale_because is None) for e in told]


def chance(book: Book, record: Record, suspect: str) -> float:
    advice = advise(book, book_words(MOWER), 2, "damp", evidence_of(book, record.situation, MOWER))
    return next(s.chance for s in advice.standing if s.suspect == suspect)


def test_a_try_is_evidence_once_and_its_answers_too(book: Book) -> None:
    """What the starter did and how the engine answered, nobody enters twice; the try itself is a finding."""
    told = evidence_of(book, Record().no_start(STRONG).situation, MOWER)

    rows = {e.check for e in told if isinstance(e, Finding)}

    assert [NoStart] == [type(e) for e in told if not isinstance(e, Finding)]
    assert {"cranking.slow", "firing.silent", "exhaust smell.strong"} <= rows


@pytest.mark.parametrize("word", ["not-done", "unsure", "left", "could-not"])
def test_not_done_is_never_good(book: Book, word: str) -> None:
    """Whatever says that a check was not done leaves no finding, least of all a good one."""
    assert [] == findings(book, Record().work("spark-proof", "x", "undecided", ("spark", word)))


def test_not_cranking_leaves_no_finding_of_what_needs_cranking(book: Book) -> None:
    """It does nothing at the starter: compression, spark and firing stay undone, and nothing of them is cleared."""
    record = Record().work("first-crank", "look", "bad", ("cranking", "stops-dead"))
    rows = {row for row, _, _ in findings(book, record)}

    assert {"cranking"} == {row.split(".")[0] for row in rows}
    assert chance(book, record, "plug_fouled") > 0.02


def test_what_other_work_made_stale_does_not_count(book: Book) -> None:
    """The plugs were out since: the smell of before is kept and does not count."""
    record = Record().no_start(STRONG).add(f.EvidenceStaled, observe="exhaust.smell", because="plugs out")

    assert [("exhaust smell.strong", "bad", False)] == [x for x in findings(book, record) if "smell" in x[0]]


def test_what_a_repair_made_stale_counts_for_the_time_before_it(book: Book) -> None:
    """The flood was cleared, which made the smell stale: it was so until then, and a cause of it was put right."""
    record = Record().no_start(STRONG).mended("flooded", "exhaust.smell")

    assert ("exhaust smell.strong", "bad", True) in findings(book, record)


def test_the_same_sign_after_a_repair_speaks_against_what_was_put_right(book: Book) -> None:
    """Smells of petrol, the flood is cleared, smells of petrol again: it was not flooded, but something floods it."""
    once = Record().no_start(STRONG)
    again = Record().no_start(STRONG).mended("flooded", "exhaust.smell").no_start(STRONG)

    assert chance(book, once, "flooded") > 0.3
    assert chance(book, again, "flooded") < 0.2
    assert all(chance(book, again, name) > chance(book, once, name) for name in ("float_leaks", "air_blocked"))


def test_the_worst_cylinder_that_still_holds_speaks_for_the_engine(book: Book) -> None:
    """A cylinder answered wrongly and then again counts as it was answered last."""
    record = Record().work("plug-look", "x", "ok")
    for cylinder, word in ((1, "wet"), (2, "damp")):
        record.add(f.AnswerGiven, run=1, state="x", event=word, observe="plug", cylinder=cylinder)
    whole = findings(book, record)
    record.add(f.EvidenceStaled, observe="plug", because="answered again")
    record.add(f.AnswerGiven, run=1, state="x", event="damp", observe="plug", cylinder=1)

    assert ("plug look.wet", "bad", True) in whole
    assert [True] == list({counts for row, _, counts in findings(book, record) if row.startswith("plug look")})
    assert ("plug look.wet", "ok", True) in findings(book, record)


def test_a_repair_that_failed_is_kept_as_failed(book: Book) -> None:
    """It could not be mended: the suspect stays as likely as it was."""
    record = Record().no_start().add(f.RepairDone, suspect="plug_fouled", success=False)
    (repair,) = [e for e in evidence_of(book, record.situation, MOWER) if isinstance(e, Repair)]

    assert 0.0 == repair.success
    assert chance(book, record, "plug_fouled") == pytest.approx(chance(book, Record().no_start(), "plug_fouled"))
