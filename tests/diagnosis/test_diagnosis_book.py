"""The book that ships, and what is refused in a book someone edits: file, line and remedy."""

from __future__ import annotations

import copy

import pytest
from diagnosis_engines import FILE, PROFILES, shipped

from firststart.diagnosis import Book
from firststart.diagnosis.book import hazard_factor, prior
from firststart.diagnosis.model import applies
from firststart.diagnosis.network import fit, share
from firststart.diagnosis.resolve import NOT_DONE
from firststart.errors import DataError, UnknownName
from firststart.procedure.reader import read

SMALL = """\
title: a small book
mark: invented for ordering; relative merit only
words: {proves: 1.0, usually: 0.85, half: 0.5, rarely: 0.1}
slip: 0.01
outside: {chance: 0.03, say: something else, specialist: Ask someone.}
fields: {ignition: [points, cdi], storage_kind: [dry, damp], climate: [mild, coast]}
ageing: {rust: {dry: 0.5, damp: 1.0}}
climate: {rust: {mild: 1.0, coast: 2.0}}
zones:
  low tension: {say: low tension, specialist: Ask an auto electrician.}
access:
  cover off: {say: cover off, minutes: 3}
suspects:
  points_dirty:
    say: dirty points
    zone: low tension
    base: 0.1
    per year: 0.05
    ages: rust
    eased: {storage_kind: {dry: 0.5}}
    applies: {ignition: [points]}
    stops: usually
    fix: {do: Clean the points., minutes: 8}
  coil:
    say: a dead coil
    zone: low tension
    base: 0.05
    stops: proves
    fix: {do: Fit a good coil., minutes: 20, parts: true}
checks:
  spark:
    say: the spark
    do: Crank and watch the gap.
    minutes: 5
    observes: spark
    ok when: [good]
    rows:
      none: {bad when: [none], looks bad anyway: rarely, bad if: {coil: proves, points_dirty: half}}
      weak: {bad when: [weak], graded: {unsteady: 0.7}, looks bad anyway: rarely, bad if: {points_dirty: usually}}
  points look:
    say: the points
    do: Look at the points.
    minutes: 4
    access: [cover off]
    needs: {spark: [none, weak]}
    applies: {ignition: [points]}
    observes: points
    ok when: [clean]
    bad when: [dark]
    looks bad anyway: rarely
    bad if: {points_dirty: usually}
"""


def book(text: str = SMALL) -> Book:
    document = read(text, "no-start.yaml")
    return Book.from_data(document.data, document.line, document.file)


def test_the_shipped_book_is_large_enough_and_within_the_trade():
    """At least 60 suspects and 50 checks, in every zone, for each kind of engine."""
    whole = shipped()

    assert len(whole.suspects) >= 60
    assert len(whole.checks) >= 50
    assert set(whole.zones) == {s.zone for s in whole.suspects.values()}
    for name, profile in PROFILES.items():
        network = fit(whole, profile, 12, "damp")
        assert len(network.suspects) >= 35, name
        assert len(network.checks) >= 35, name


def test_every_number_of_the_shipped_book_carries_its_mark():
    """Nobody may take an ordering number for a measured one."""
    marks = {thing.mark for part in (shipped().suspects, shipped().checks) for thing in part.values()}

    assert all(m.startswith(("invented for ordering", "common practice, no source")) for m in marks)
    assert any(m.startswith("common practice") for m in marks)


def test_each_outcome_of_the_shipped_book_is_read_and_not_done_never_is():
    """Every word of every check gives readings; a check that was not done gives none, so it never counts as good."""
    whole = shipped()
    unread = [(c.id, w) for c in whole.checks.values() for w in c.words if not whole.read(c.id, w)]
    read_as_done = [(c.id, w) for c in whole.checks.values() for w in NOT_DONE if whole.read(c.id, w)]

    assert unread == []
    assert read_as_done == []


def test_a_ladder_reads_its_rows_down_to_the_one_that_owns_the_word():
    """None is bad at once; weak says that it was not none; good says both rows are good."""
    whole = book()
    told = {w: [(r.row, r.outcome, r.likelihood) for r in whole.read("spark", w)] for w in whole.checks["spark"].words}

    assert told["none"] == [("spark.none", "bad", None)]
    assert told["weak"] == [("spark.none", "ok", None), ("spark.weak", "bad", None)]
    assert told["good"] == [("spark.none", "ok", None), ("spark.weak", "ok", None)]
    assert told["unsteady"][1][:2] == ("spark.weak", "bad")
    assert pytest.approx((0.3, 0.7)) == told["unsteady"][1][2]


def test_an_observable_is_read_by_every_check_that_fits_the_engine():
    """Reading by the observable's name leaves out checks that this engine does not have."""
    whole = book()

    assert [r.row for r in whole.read("points", "dark", {"ignition": "points"})] == ["points look"]
    assert whole.read("points", "dark", {"ignition": "cdi"}) == ()


@pytest.mark.parametrize(("name", "word"), [("spark", "purple"), ("no such thing", "none")])
def test_a_word_the_book_does_not_have_is_refused_with_the_choices(name, word):
    """A misspelt outcome is an error, not silence."""
    with pytest.raises(UnknownName, match=r"use one of|no check"):
        book().read(name, word)


def test_words_become_numbers_and_even_a_proof_keeps_its_slip():
    """`proves` is 1 in the file and 0.99 in the sums, so that nothing is ever excluded for good."""
    row = book().rows["spark.none"]

    assert dict(row.bad_if) == pytest.approx({"coil": 0.99, "points_dirty": 0.5})
    assert row.leak == 0.1


def test_a_prior_grows_with_the_years_and_less_where_it_was_dry_or_eased():
    """1 - (1 - base) exp(-per year x years x factors), by hand: 1 - 0.9 exp(-0.05 x 10 x 0.5 x 0.5)."""
    whole = book()
    suspect = whole.suspects["points_dirty"]

    assert prior(suspect, whole, 0, "damp", {}) == pytest.approx(0.1)
    assert prior(suspect, whole, 10, "damp", {}) == pytest.approx(1 - 0.9 * 0.6065306597)
    assert prior(suspect, whole, 10, "dry", {"storage_kind": "dry"}) == pytest.approx(1 - 0.9 * 0.8824969026)
    assert hazard_factor(suspect, whole, None, {}) == 1.0


def test_a_prior_grows_with_the_climate_of_the_place():
    """By the sea, twice the hazard on top of how it stood: 1 - 0.9 exp(-0.05 x 10 x 0.5 x 2); not told: as it was."""
    whole = book()
    suspect = whole.suspects["points_dirty"]

    assert prior(suspect, whole, 10, "dry", {"climate": "coast"}) == pytest.approx(1 - 0.9 * 0.6065306597)
    assert hazard_factor(suspect, whole, "dry", {"climate": "mild"}) == hazard_factor(suspect, whole, "dry", {}) == 0.5
    assert {"dry", "mild", "humid", "coast"} == set(shipped().fields["climate"]) == set(shipped().climate["rust"])


def test_a_part_that_only_some_engines_have_counts_by_that_share_while_unknown():
    """Points are one of two kinds of ignition here: half the prior while nobody knows, all of it once it is known."""
    whole = book()
    suspect = whole.suspects["points_dirty"]

    assert share(suspect, whole, {}) == 0.5
    assert share(suspect, whole, {"ignition": "points"}) == 1.0


@pytest.mark.parametrize(
    ("profile", "expected"), [({}, True), ({"ignition": "unknown"}, True), ({"ignition": "cdi"}, False)],
)
def test_unknown_matches_and_the_wrong_word_does_not(profile, expected):
    """All fields must match; what is unknown matches."""
    assert expected == applies({"ignition": ("points",)}, profile)


BROKEN = [
    ("zone: low tension\n    base: 0.1", "zone: lowtension\n    base: 0.1", 14, "no zone called 'lowtension'"),
    ("stops: usually", "stops: ussually", 20, "do you mean 'usually'"),
    ("coil: proves", "coyl: proves", 36, "do you mean 'coil'"),
    ("fix: {do: Clean the points., minutes: 8}", "fix: {do: Clean the points.}", 21, "has no minutes"),
    ("    fix: {do: Clean the points., minutes: 8}\n", "", 12, "has no fix"),
    ("    minutes: 4\n", "", 38, "points look has no minutes"),
    ("access: [cover off]", "access: [cover of]", 42, "do you mean 'cover off'"),
    ("needs: {spark: [none, weak]}", "needs: {sparc: [none]}", 43, "do you mean 'spark'"),
    ("needs: {spark: [none, weak]}", "needs: {spark: [nine]}", 43, "do you mean 'none'"),
    ("ignition: [points]}\n    stops", "ignition: [pionts]}\n    stops", 19, "do you mean 'points'"),
    ("looks bad anyway: rarely\n    bad if: {points", "bad if: {points", 38, "looks bad"),
    ("looks bad anyway: rarely, bad if: {coil", "looks bad anyway: 0.0, bad if: {coil", 35, "above 0"),
    ("bad if: {points_dirty: usually}\n", "bad if: {}\n", 38, "no suspect that makes it bad"),
    ("base: 0.1\n", "base: 1.5\n", 15, "less than"),
    ("ages: rust", "ages: rost", 17, "do you mean 'rust'"),
    ("climate: {rust: {mild", "climate: {rost: {mild", 8, "do you mean 'rust'"),
    ("coast: 2.0", "cost: 2.0", 8, "do you mean 'coast'"),
    ("    ages: rust\n", "", 16, "say what it ages by"),
    ("ok when: [clean]", "ok when: [dark]", 38, "given twice"),
    ("ok when: [clean]", "ok when: [not done]", 38, "not done"),
    ("half: 0.5, rarely: 0.1", "half: 0.9, rarely: 0.1", 3, "surest to the least sure"),
    ("title: a small book", "titel: a small book", 1, "titel"),
    ("bad if: {coil: proves", "bad if: {coil: 1.4", 36, "not a chance"),
]


@pytest.mark.parametrize(("old", "new", "line", "said"), BROKEN, ids=[b[3] for b in BROKEN])
def test_a_slip_in_the_book_is_named_with_its_place(old, new, line, said):
    """One changed line, one problem that names the file, the line (within the part) and what to do."""
    assert SMALL.count(old) >= 1
    with pytest.raises(DataError) as caught:
        book(SMALL.replace(old, new, 1))
    problems = [p for p in caught.value.problems if said in p.message]

    assert problems, [str(p) for p in caught.value.problems]
    assert problems[0].file == "no-start.yaml"
    assert abs(problems[0].line - line) <= 3


def test_all_slips_are_told_at_once():
    """Three slips in one book are three problems, not one after the other."""
    text = SMALL.replace("stops: usually", "stops: ussually").replace("ages: rust", "ages: rost")
    text = text.replace("spark: [none, weak]", "spark: [x]")
    with pytest.raises(DataError) as caught:
        book(text)

    assert len(caught.value.problems) == 3


def test_reading_the_book_changes_none_of_its_data():
    """The parsed data can be used again: the book keeps its own values."""
    document = read(SMALL, "x")
    kept = copy.deepcopy(document.data)
    Book.from_data(document.data, document.line, "x")

    assert kept == document.data


def test_the_file_has_one_name():
    """The tests read the file that ships."""
    assert FILE.name == "no-start.yaml"
    assert FILE.is_file()
