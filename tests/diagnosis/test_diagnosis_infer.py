"""Exact chances against hand examples, full enumeration, 60-digit arithmetic and the laws of probability."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal, localcontext

import numpy as np
import pytest
from diagnosis_oracles import counted, enumerate_all, numbers, random_case
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.diagnosis import infer
from firststart.diagnosis.infer import solve
from firststart.diagnosis.network import Numbers
from firststart.diagnosis.program import Mended
from firststart.diagnosis.sample import answer
from firststart.errors import InputError

ONE = numbers([0.1, 0.2], [[0.9, 0.6]], [0.05])
TWO = numbers([0.1, 0.2, 0.05], [[0.9, 0.6, 0.0], [0.0, 0.8, 0.95]], [0.05, 0.02])


def chances(net, *found, mended=()):
    return solve(net, found, mended).chances


@pytest.mark.external
@pytest.mark.parametrize(
    ("outcome", "expected", "evidence"),
    [("bad", (0.38304631, 0.54689851), 0.23924), ("ok", (0.01098901, 0.09090909), 0.76076)],
)
def test_one_row_of_two_causes_is_as_worked_by_hand(outcome, expected, evidence):
    """Leaky noisy-OR (Diez 1993) by hand: P(ok) = 0.95 x (1 - 0.1 x 0.9) x (1 - 0.2 x 0.6) = 0.76076."""
    got = chances(ONE, counted("r0", outcome))

    assert pytest.approx(expected, abs=5e-9) == got.before
    assert pytest.approx(evidence, rel=1e-12) == got.evidence


@pytest.mark.external
@pytest.mark.parametrize(
    ("first", "second", "expected", "evidence"),
    [
        ("bad", "bad", (0.18120834, 0.9421833, 0.10299228), 0.1129435004),
        ("bad", "ok", (0.77281651, 0.26522745, 0.00357985), 0.0920964996),
        ("ok", "bad", (0.01258865, 0.63003433, 0.40670141), 0.0892784996),
    ],
)
def test_two_rows_and_a_no_start_are_as_worked_by_hand(first, second, expected, evidence):
    """Three faults that each stop the engine, two rows, and it does not start: numbers enumerated by hand."""
    got = chances(TWO, counted("r0", first), counted("r1", second), counted(None, "bad"))

    assert pytest.approx(expected, abs=5e-9) == got.before
    assert pytest.approx(evidence, rel=1e-9) == got.evidence


@pytest.mark.parametrize("seed", range(80))
def test_chances_equal_full_enumeration(seed):
    """Every set of faults, every fate of the repairs and every cause that shows or not, added up one by one."""
    net, found, mended = random_case(np.random.default_rng(seed), (3, 6), (2, 6), repairs=seed % 3)
    before, now, evidence = enumerate_all(net, found, mended) if found else (net.prior, net.prior, 1.0)
    if evidence == 0.0 or not found:
        return
    got = chances(net, *found, mended=mended)

    assert pytest.approx(before, abs=1e-12) == got.before
    assert pytest.approx(now, abs=1e-12) == got.now
    assert pytest.approx(evidence, rel=1e-10) == got.evidence


def test_the_random_cases_hold_what_they_promise():
    """The cases above are not empty: tries, graded readings, repairs and rows that turned good all occur often."""
    cases = [random_case(np.random.default_rng(seed), (3, 6), (2, 6), repairs=seed % 3) for seed in range(120)]
    found = [f for _, readings, _ in cases for f in readings]

    assert sum(f.row is None for f in found) > 60
    assert sum(f.likelihood is not None for f in found) > 30
    assert sum(f.until is not None for f in found) > 30


def alternating(net: Numbers, bad: list[str | None], good: list[str], number: type) -> tuple[list, Decimal | float]:
    """The same chances by inclusion and exclusion (Quickscore, Heckerman 1989), with numbers of the type given.

    Over every set of bad rows the chance that all of them are ok, with the sign of the set; None is the no-start.
    """
    rows = [(0.0, tuple(enumerate(net.stops))) if r is None else (net.rows[r].leak, net.rows[r].causes) for r in bad]
    prior = [number(p) for p in net.prior]
    total, with_fault = number(0), [number(0)] * len(prior)

    def part(at: int, weight, keep: list) -> None:
        nonlocal total, with_fault
        if at < len(rows):
            leak, causes = rows[at]
            part(at + 1, weight, keep)
            part(at + 1, -weight * (1 - number(leak)), without(keep, causes))
            return
        there = [p * k for p, k in zip(prior, keep, strict=True)]
        either = [a + 1 - p for p, a in zip(prior, there, strict=True)]
        product = weight * math.prod(either)
        total += product
        with_fault = [w + product * a / b for w, a, b in zip(with_fault, there, either, strict=True)]

    def without(keep: list, causes: tuple[tuple[int, float], ...]) -> list:
        less = list(keep)
        for i, q in causes:
            less[i] *= 1 - number(q)
        return less

    keep, constant = [number(1)] * len(prior), number(1)
    for name in good:
        keep, constant = without(keep, net.rows[name].causes), constant * (1 - number(net.rows[name].leak))
    part(0, constant, keep)
    return [w / total for w in with_fault], total


@pytest.mark.external
def test_at_full_size_no_digit_is_lost():
    """60 faults, 10 bad rows of 50, 20 good ones and a no-start: within 1e-14 of 60-digit decimal arithmetic.

    Cancellation does no harm there; in doubles the same alternating sum is off by more than 1e-12.
    """
    rng = np.random.default_rng(60)
    q = np.where(rng.random((50, 60)) < 0.2, rng.uniform(0.05, 0.98, (50, 60)), 0.0)
    net = numbers(list(rng.uniform(0.002, 0.1, 60)), q.tolist(), [0.03] * 50, list(rng.uniform(0.5, 0.98, 60)))
    rows = list(net.rows)
    bad, good = [*rows[:10], None], rows[10:30]
    with localcontext(prec=60):
        exact, total = alternating(net, bad, good, Decimal)
    doubles, _ = alternating(net, bad, good, float)
    got = chances(net, *(counted(r, "bad") for r in bad), *(counted(r, "ok") for r in good))

    assert max(abs(float(e - Decimal(g))) for e, g in zip(exact, got.before, strict=True)) < 1e-14
    assert pytest.approx(float(total), rel=1e-13) == got.evidence
    assert max(abs(float(e - Decimal(d))) for e, d in zip(exact, doubles, strict=True)) > 1e-12


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_order_of_findings_changes_nothing(seed, shuffler):
    """The same findings in another order give the same chances."""
    net, found, mended = random_case(np.random.default_rng(seed), (3, 6), (3, 6))
    other = list(found)
    shuffler.shuffle(other)

    assert pytest.approx(chances(net, *found, mended=mended).now, abs=1e-13) == chances(net, *other, mended=mended).now


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_what_a_check_may_say_averages_to_what_is_believed_now(seed):
    """P(ok) x chance if ok + P(bad) x chance if bad = chance now, for a row not read yet."""
    net, found, _ = random_case(np.random.default_rng(seed), (3, 8), (3, 6))
    found = [f for f in found if f.row != "r0"]
    ok, bad, now = (chances(net, *found, *extra) for extra in ([counted("r0", "ok")], [counted("r0", "bad")], []))
    mean = np.array(ok.now) * ok.evidence + np.array(bad.now) * bad.evidence

    assert pytest.approx(np.array(now.now) * now.evidence, abs=1e-12) == mean


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_good_findings_alone_divide_each_suspects_odds_by_itself(seed):
    """With good findings only, odds = prior odds x product of (1 - q): elimination, and nothing couples."""
    net, found, _ = random_case(np.random.default_rng(seed), (3, 8), (3, 6))
    good = [counted(f.row, "ok") for f in found if f.row]
    got = chances(net, *good)
    for i, p in enumerate(net.prior):
        odds = p / (1 - p)
        for f in good:
            odds *= 1.0 - dict(net.rows[f.row].causes).get(i, 0.0)

        assert pytest.approx(odds / (1 + odds), abs=1e-12) == got.now[i]


def test_sets_of_few_faults_rise_to_the_whole():
    """The evidence of all sets of at most k faults rises with k, and reaches the exact evidence."""
    net, found, mended = random_case(np.random.default_rng(4), (6, 6), (5, 5))
    parts = [enumerate_all(net, found, mended, most=k)[2] for k in range(1, 7)]

    assert sorted(parts) == parts
    assert pytest.approx(chances(net, *found, mended=mended).evidence, rel=1e-12) == parts[-1]


def test_a_graded_reading_lies_between_good_and_bad():
    """A reading near the limit moves the chance less than a plain one; an even one moves nothing."""
    readings = (("bad", None), ("bad", (0.3, 0.7)), ("bad", (0.5, 0.5)), ("ok", None))
    plain, half, even, good = (chances(ONE, counted("r0", told, likelihood=pair)).now[0] for told, pair in readings)

    assert good < even < half < plain
    assert pytest.approx(0.1, abs=1e-12) == even


def test_a_row_that_turned_good_points_to_what_was_put_right():
    """Bad before and good after a repair: that fault was there, far surer than the bad finding alone said."""
    mended = [Mended(1, 0.95)]
    alone = chances(ONE, counted("r0", "bad"), mended=mended).before[1]
    after = chances(ONE, counted("r0", "bad", until=1), counted("r0", "ok", epoch=1), mended=mended).before[1]

    assert alone < 0.6
    assert after > 0.9


def test_a_row_that_stays_bad_clears_what_was_put_right():
    """Still bad after the repair: the rest is likelier, and what was mended is hardly there."""
    before = chances(ONE, counted("r0", "bad"))
    after = chances(ONE, counted("r0", "bad", epoch=1), mended=[Mended(1, 0.95)])

    assert after.now[1] < 0.15 < before.now[1]
    assert after.now[0] > before.now[0]


def test_draws_follow_the_exact_joint_distribution():
    """20,000 draws: each fault and each pair of faults within five standard errors of enumeration."""
    net, found, mended = random_case(np.random.default_rng(11), (6, 6), (5, 5), repairs=1)
    _, now, _ = enumerate_all(net, found, mended)
    _, draws = answer(solve(net, found, mended), 20_000, 7)
    spread = 5 * np.sqrt(now * (1 - now) / 20_000) + 1e-9

    assert np.all(np.abs(draws.mean(axis=0) - now) <= spread)
    assert np.array_equal(draws, answer(solve(net, found, mended), 20_000, 7)[1])


def test_pairs_of_faults_in_the_draws_are_as_enumerated():
    """Joint chances, not only single ones: two faults that explain the same bad row push each other away."""
    net = numbers([0.3, 0.3], [[0.9, 0.9]], [0.01])
    _, draws = answer(solve(net, [counted("r0", "bad")]), 50_000, 3)
    both = 0.3 * 0.3 * (1 - 0.99 * 0.1 * 0.1)
    evidence = 1 - 0.99 * (1 - 0.27) ** 2

    assert pytest.approx(both / evidence, abs=0.008) == draws.all(axis=1).mean()


def test_too_many_overlapping_findings_are_sampled_and_it_says_so(monkeypatch):
    """Beyond the table's width the answer says how many draws it is worth, and stays near the exact one."""
    rng = np.random.default_rng(5)
    q = np.where(rng.random((9, 12)) < 0.7, rng.uniform(0.1, 0.9, (9, 12)), 0.0)
    net = numbers(list(rng.uniform(0.05, 0.3, 12)), q.tolist(), [0.05] * 9)
    found = [counted(r, "bad") for r in net.rows]
    exact = chances(net, *found)
    monkeypatch.setattr(infer, "WIDEST", 6)
    solution = solve(net, found)
    sampled, draws = answer(solution, 2000, 1)

    assert exact.exact and not sampled.exact
    assert solution.program.width <= 6 and len(solution.left_out) == 3
    assert sampled.worth > 500
    assert pytest.approx(exact.now, abs=0.05) == sampled.now
    assert pytest.approx(exact.now, abs=0.07) == draws.mean(axis=0)


def test_findings_that_do_not_overlap_stay_exact_however_many():
    """Forty bad findings in twenty separate corners of the engine need no wide table."""
    q = [[0.0] * 40 for _ in range(40)]
    for j in range(40):
        q[j][j], q[j][j ^ 1] = 0.9, 0.5
    net = numbers([0.05] * 40, q, [0.02] * 40)
    solution = solve(net, [counted(r, "bad") for r in net.rows])

    assert solution.program.width <= 3
    assert solution.chances.exact


def test_findings_that_cannot_be_are_refused_in_a_sentence():
    """A row without false alarms, bad although its only cause cannot be there, is a contradiction."""
    net = numbers([0.0], [[0.9]], [0.0])

    with pytest.raises(InputError, match="contradict"):
        solve(net, [counted("r0", "bad")])


def test_a_row_healed_by_something_unknown_does_not_stop_the_work():
    """Turned good, but by nothing that was put right: the good reading is kept, the old bad one is let go."""
    net = numbers([0.2, 0.2], [[0.9, 0.9]], [0.0])
    found = [counted("r0", "bad", until=1), counted("r0", "ok", epoch=1)]
    got = chances(replace(net, prior=(0.2, 0.0)), *found, mended=[Mended(1, 0.9)])

    assert pytest.approx(0.2 * 0.1 / (0.8 + 0.2 * 0.1), abs=1e-12) == got.now[0]
