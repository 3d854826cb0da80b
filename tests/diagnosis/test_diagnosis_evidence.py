"""Which evidence counts: repeats, repairs, tries, staleness."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from firststart.diagnosis.evidence import Finding, NoStart, Ran, Repair, settle
from firststart.errors import InputError

AT = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)
CAUSES = {"spark": ("points", "coil"), "flow": ("tap",), "prime": ("points", "coil")}
SUSPECTS = ("points", "coil", "tap")


def found(row, outcome, seq, **more):
    return Finding(row, outcome, AT, seq, **more)


def settled(*evidence):
    return settle(evidence, CAUSES, SUSPECTS)


def counted(result):
    """(row, outcome, epoch, until) of all that counts."""
    return [(f.row, f.outcome, f.epoch, f.until) for f in result.findings]


def test_a_repeat_with_nothing_changed_counts_once():
    """The same reading twice is the same cause of error twice; the second is kept and does not count."""
    got = settled(found("spark", "bad", 1), found("spark", "bad", 2))

    assert counted(got) == [("spark", "bad", 0, None)]
    assert [(i.seq, i.why) for i in got.ignored] == [(2, "a repeat with nothing changed is not new evidence")]


def test_a_repeat_that_says_the_opposite_takes_the_place():
    """Read again with nothing changed and now good: the later reading counts, the earlier is kept."""
    got = settled(found("spark", "bad", 1), found("spark", "ok", 2))

    assert counted(got) == [("spark", "ok", 0, None)]
    assert [i.seq for i in got.ignored] == [1]


def test_a_repair_reopens_only_bad_rows_that_its_suspect_can_explain():
    """Spark was bad and can come from the points: read again. Flow was bad for other reasons, prime was good."""
    got = settled(found("spark", "bad", 1), found("flow", "bad", 2), found("prime", "ok", 3), Repair("points", AT, 4))

    assert got.reopened == {"spark"}
    assert set(got.current) == {"flow", "prime"}
    assert len(got.findings) == 3


def test_good_after_a_repair_ends_the_bad_finding_there():
    """Both count: bad until the repair, good since."""
    got = settled(found("spark", "bad", 1), Repair("points", AT, 2), found("spark", "ok", 3))

    assert counted(got) == [("spark", "bad", 0, 1), ("spark", "ok", 1, None)]
    assert got.reopened == frozenset()


def test_still_bad_after_a_repair_says_all_that_was_said_before():
    """What makes a row bad goes on making it bad, so the later bad reading stands for both."""
    got = settled(found("spark", "bad", 1), Repair("points", AT, 2), found("spark", "bad", 3))

    assert counted(got) == [("spark", "bad", 1, None)]


def test_ten_tries_say_no_more_than_one():
    """It does not start, tried three times with nothing put right: one finding."""
    got = settled(NoStart(1, AT), NoStart(2, AT), NoStart(3, AT))

    assert counted(got) == [(None, "bad", 0, None)]
    assert got.tried_since_repair


def test_the_try_after_a_repair_takes_over():
    """A later no-start says all that the earlier ones said."""
    got = settled(NoStart(1, AT), Repair("points", AT, 2), NoStart(3, AT))

    assert counted(got) == [(None, "bad", 1, None)]


def test_a_start_after_a_repair_keeps_what_stopped_it_before():
    """It did not start, then it did: both count, and it runs."""
    got = settled(NoStart(1, AT), Repair("points", AT, 2), Ran(3, AT))

    assert counted(got) == [(None, "bad", 0, 1), (None, "ok", 1, None)]
    assert got.running


def test_a_start_that_was_long_ago_gives_way_to_a_new_no_start():
    """It ran once, and now does not: something has changed, the old start counts no longer."""
    got = settled(Ran(1, AT), NoStart(2, AT))

    assert counted(got) == [(None, "bad", 0, None)]
    assert not got.running


def test_after_a_repair_it_has_not_been_tried():
    """The next thing after putting something right is to try."""
    assert not settled(NoStart(1, AT), Repair("points", AT, 2)).tried_since_repair


@pytest.mark.parametrize(
    ("item", "why"),
    [
        (found("spark", "bad", 1, stale_because="the coil was changed"), "stale: the coil was changed"),
        (found("no such row", "bad", 1), "this check is not in the book"),
        (Repair("no such part", AT, 1), "this suspect is not in the book for this engine"),
        (Repair("points", AT, 1, 0.0), "it was not put right"),
    ],
)
def test_what_does_not_count_is_kept_with_its_reason(item, why):
    """Stale or unknown evidence is never dropped in silence."""
    got = settled(item)

    assert counted(got) == []
    assert [i.why for i in got.ignored] == [why]


def test_evidence_is_taken_in_the_order_of_its_numbers():
    """However it is handed over, number two comes after number one."""
    late, early = found("spark", "ok", 2), found("spark", "bad", 1)

    assert counted(settled(late, early)) == counted(settled(early, late)) == [("spark", "ok", 0, None)]


@pytest.mark.parametrize("pair", [(0.0, 0.0), (-0.1, 0.5), (float("nan"), 0.5), (0.5,)])
def test_a_graded_reading_without_sense_is_refused(pair):
    """Two chances from 0 to 1, not both 0; the sentence names the check."""
    with pytest.raises(InputError, match="spark"):
        found("spark", "bad", 1, likelihood=pair)


@pytest.mark.parametrize("make", [lambda: found("spark", "good", 1), lambda: Repair("points", AT, 1, 1.5)])
def test_an_outcome_or_a_success_out_of_range_is_refused(make):
    """The message says which one and what it must be."""
    with pytest.raises(InputError, match="must be"):
        make()
