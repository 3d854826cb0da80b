"""The diagnosis in the report: put together for reading, and asked again after each check, with the real book."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache

import pytest
from report_jobs import suspects

from firststart.bench.shop import book_of
from firststart.diagnosis import Book, Evidence, Finding, NoStart, Ran, Repair, advise
from firststart.procedure.catalogue import data_folder, load_library
from firststart.report.fromadvice import part_of
from firststart.report.model import Suspect
from firststart.report.rounds import rounds_of
from firststart.report.suspectlines import suspect_lines

AT = datetime(2026, 5, 2, 9, tzinfo=UTC)
TWIN = {"kind": "motorcycle", "cycle": "four-stroke", "ignition": "points", "feed": "gravity", "fuel": "petrol"}


@cache
def _book() -> Book:
    book = book_of(load_library(data_folder("procedures")))
    assert book is not None
    return book


def _found(seq: int, check: str, word: str) -> list[Evidence]:
    rows = _book().read(check, word, TWIN)
    good_or_bad = [(r, "bad" if r.outcome == "bad" else "ok") for r in rows]
    return [Finding(r.row, outcome, _at(seq), seq, r.likelihood, None, word) for r, outcome in good_or_bad]


def _at(seq: int) -> datetime:
    return AT + timedelta(minutes=seq)


def _evidence() -> list[Evidence]:
    """It does not start; the tap is shut, is opened, and it starts."""
    tap = _book().observables["fuel.tap"][0]
    shut = _found(2, tap.id, tap.words[0])
    return [NoStart(1, _at(1)), *shut, Repair("tap_shut", _at(3), 3), Ran(4, _at(4))]


def test_each_round_is_what_advice_says_before_and_after_it() -> None:
    """The chances in the rounds are those that `advise` gives for the evidence up to there."""
    evidence = _evidence()
    rounds = rounds_of(_book(), TWIN, 10, "damp", evidence)

    assert len(rounds) >= 2
    for told in rounds:
        upto = [e for e in evidence if told.at is not None and e.at <= told.at]
        chances = {s.name: s.chance for s in advise(_book(), TWIN, 10, "damp", upto).standing}
        for shift in told.shifts:
            assert shift.after == pytest.approx(chances[shift.name], abs=1e-9)


def test_rounds_say_what_was_done_in_words() -> None:
    """Checks by their names and outcomes, tries and repairs as such."""
    told = [(r.check, r.outcome) for r in rounds_of(_book(), TWIN, 10, "damp", _evidence())]

    assert [("the fuel tap", "shut"), ("mending a fuel tap that is shut", "done")] == told[:2]
    assert ("a try to start", "it started") == told[-1]


def test_evidence_that_went_stale_makes_no_round() -> None:
    """What was undone since moved nothing that stands now."""
    stale = [replace(e, stale_because="the tank was off") if isinstance(e, Finding) else e for e in _evidence()]
    names = [r.check for r in rounds_of(_book(), TWIN, 10, "damp", stale)]

    assert _book().observables["fuel.tap"][0].name not in names


def test_advice_becomes_a_part_of_the_report() -> None:
    """Every suspect of the advice stands in one of its groups; a running engine has no next check."""
    advice = advise(_book(), TWIN, 10, "damp", _evidence()[:2])
    part = part_of(advice)
    after = part_of(advise(_book(), TWIN, 10, "damp", _evidence()))

    assert len(advice.standing) == sum(len(g) for g in (part.found, part.left, part.ruled_out, part.mended))
    assert part.next_check is not None
    assert advice.next.name == part.next_check.name
    assert (None, True, "What kept it from starting") == (after.next_check, after.runs, after.title)


def test_unlikely_suspects_share_a_line_and_ruled_out_ones_the_check_that_cleared_them() -> None:
    """Four suspects cleared by two checks make two lines; three at one in a hundred make one."""
    cleared = [Suspect(f"c{n}", f"cleared {n}", 0.001, "ruled out", f"check {n % 2}") for n in range(4)]
    faint = [Suspect(f"f{n}", f"faint {n}", 0.01) for n in range(3)]
    lines = suspect_lines(replace(suspects(), ruled_out=tuple(cleared), left=(*suspects().left, *faint)))
    told = {line.names: (line.stand, line.chance) for line in lines}

    assert ("ruled out", "under 1 % each at most") == told["cleared 0, cleared 2"]
    assert ("hardly likely", "under 2 % each") == told["faint 0, faint 1, faint 2"]
    assert ("still possible", "46 %") == told["dirty contact points"]
