"""Checks that cannot be done now are not advised, and the reason is said."""

from __future__ import annotations

import pytest
from bench_record import Record

from firststart.bench.advice import Adviser
from firststart.bench.desk import open_job
from firststart.bench.shop import book_of
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.prompt import present

PROVEN, SWITCH = "stop-controls", "stop-switch"


@pytest.fixture(scope="module")
def adviser(rules: Rules) -> Adviser:
    return Adviser(rules, book_of(rules.library))


def test_nothing_is_in_the_way_of_a_check_that_was_not_tried(adviser: Adviser) -> None:
    """Right after the first try every check can be done; a gate that is shut is opened on the way."""
    assert {} == adviser.hindered(Record().no_start().situation)


def test_a_check_that_could_not_tell_is_not_advised_again(adviser: Adviser) -> None:
    """Its work was led through to the end and told nothing of it: it waits until something is put right."""
    record = Record().no_start().work(SWITCH, "left-open", "undecided")
    got = adviser.advice(record.situation)

    assert {"stop switch test": "it was tried, and could not tell"} == adviser.hindered(record.situation)
    assert got is not None
    assert [("stop switch test", True)] == [(b.id, b.by_job) for b in got.blocked if b.by_job]
    assert {} == adviser.hindered(record.mended("stop_wire").situation)


@pytest.mark.parametrize(("word", "expected"), [("switches", False), ("not-done", True), ("something-else", True)])
def test_only_a_word_that_the_book_reads_counts_as_told(adviser: Adviser, word: str, expected: bool) -> None:
    """An answer that means "not done" is no outcome: asked again at once, it would only be answered alike."""
    record = Record().no_start().work(SWITCH, "told", "ok", ("stop.switch", word))

    assert expected == ("stop switch test" in adviser.hindered(record.situation))


def test_what_was_told_and_undone_by_later_work_can_be_asked_again(adviser: Adviser) -> None:
    """The spark was proven, then something made that stale: nothing is in the way of proving it again."""
    record = Record().no_start().work("spark-proof", "strong", "ok", ("spark", "strong"))
    record.add(f.EvidenceStaled, observe="spark", because="the plugs were out")

    assert "spark" not in adviser.hindered(record.situation)


def test_work_of_before_the_first_try_is_not_held_against_a_check(adviser: Adviser) -> None:
    """It prepared the start; only what was asked because it does not start counts as tried."""
    record = Record().work(SWITCH, "left-open", "undecided").no_start()

    assert {} == adviser.hindered(record.situation)


def test_work_that_was_left_is_named_as_left(adviser: Adviser) -> None:
    """The person's own choice is not called a failure."""
    record = Record().no_start().work(SWITCH, "left", "left")

    assert "it was left unfinished" == adviser.hindered(record.situation)["stop switch test"]


def test_a_check_behind_a_hold_point_that_could_not_be_had_waits(adviser: Adviser) -> None:
    """The stop could not be proven: no check that needs it is advised until something is put right."""
    record = Record().no_start().work(PROVEN, "always-stop", "bad", ("stop.circuit", "earthed"), hold="stop-proven")
    found = adviser.hindered(record.situation)
    got = adviser.advice(record.situation)

    assert {"the stop controls proven could not be had"} == set(found.values())
    assert got is not None
    assert got.next.id not in found
    assert set(found) >= {b.id for b in got.blocked if b.by_job}
    assert {} == adviser.hindered(record.mended("stop_wire").situation)


def test_the_same_evidence_gives_the_same_advice_without_thinking_again(adviser: Adviser) -> None:
    """A note in between changes nothing that the advice is made from."""
    record = Record().no_start()
    before = adviser.advice(record.situation)
    record.add(f.NoteAdded, text="cold today")

    assert adviser.advice(record.situation) is before




def test_a_gate_that_could_not_be_opened_offers_to_leave(rules: Rules) -> None:
    """What the step waits for was tried for and not met: to ask for the same again would lead round in a circle."""
    desk = open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("job", "mower", "test", "shed"))
    desk.submit(i.Begin("battery"))
    before = present(rules, desk.situation, desk.wall)
    run = len(desk.situation.runs) + 1
    for fact in (
        f.RunStarted(at=desk.wall, run=run, procedure="place", digest="", why="needed", parent=1),
        f.RunEnded(at=desk.wall, run=run, procedure="place", result="not-ready", outcome="bad", say=""),
    ):
        desk.take(fact)
    after = present(rules, desk.situation, desk.wall)
    phrases = {o.event: o.phrases for o in after.expects.options}

    assert before.text == "Not yet. First comes the place check. Shall we do it?"
    assert after.text == "Not yet: the place check could not be had. Shall we leave this work?"
    assert "yes" in phrases["leave"]
    assert "do it" in phrases["fetch"]
