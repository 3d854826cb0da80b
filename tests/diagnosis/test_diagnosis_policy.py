"""The order of work against worked examples, brute force and bounds; the score against its definition."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from diagnosis_cuts import Cut, cut, huffman_minutes, optimum, policy_cost, with_every_test
from diagnosis_engines import AT, PROFILES, advised, play_many, shipped
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.diagnosis.evidence import Finding, NoStart, Repair
from firststart.diagnosis.infer import solve
from firststart.diagnosis.network import fit
from firststart.diagnosis.policy import chance_of_stopping, choose, look, odds_a_minute, trial_fix
from firststart.diagnosis.score import bits_about, chance_given, distinct, outlook, scores


def cost_of_all(order, p, c):
    """Several independent faults, at least one there: minutes until all are mended, mending in this order."""
    none = math.prod(1.0 - v for v in p)
    total = 0.0
    for at, k in enumerate(order):
        left = 1.0 - math.prod(1.0 - p[j] for j in order[at:])
        total += c[k] * left / (1.0 - none)
    return total


def cost_of_one(order, p, c):
    """Exactly one fault: minutes until it is mended, mending in this order."""
    return sum(c[k] * (1.0 - sum(p[j] for j in order[:at])) for at, k in enumerate(order))


@pytest.mark.external
def test_one_fault_is_mended_soonest_by_chance_a_minute():
    """p = .3 .3 .2 .15 .05, minutes 20 5 4 10 1: 18.8 by p/c, 27.15 by p, 19.05 by minutes, 31.05 at worst.

    The order by p/c is Kadane and Simon's (1977, from memory); the figures are worked by hand.
    """
    p, c = [0.3, 0.3, 0.2, 0.15, 0.05], [20, 5, 4, 10, 1]
    by = {
        "rate": sorted(range(5), key=lambda k: -p[k] / c[k]), "chance": sorted(range(5), key=lambda k: -p[k]),
        "minutes": sorted(range(5), key=lambda k: c[k]),
    }
    told = {name: cost_of_one(order, p, c) for name, order in by.items()}

    assert pytest.approx({"rate": 18.8, "chance": 27.15, "minutes": 19.05}) == told
    assert max(cost_of_one(o, p, c) for o in itertools.permutations(range(5))) == pytest.approx(31.05)


@settings(max_examples=15)
@given(st.lists(st.tuples(st.floats(0.02, 0.9), st.floats(1, 60)), min_size=5, max_size=5))
def test_several_faults_are_mended_soonest_by_odds_a_minute(pairs):
    """The order of the last resort equals brute force over all 120 orders (adjacent exchange proves it)."""
    p, c = [a for a, _ in pairs], [b for _, b in pairs]
    ours = sorted(range(5), key=lambda k: -odds_a_minute(p[k], c[k]))
    best = min(cost_of_all(o, p, c) for o in itertools.permutations(range(5)))

    assert pytest.approx(best, rel=1e-9) == cost_of_all(ours, p, c)


@pytest.mark.external
def test_by_huffman_no_policy_of_unit_tests_beats_the_bound():
    """p = .3 .25 .15 .12 .08 .05 .03 .02: entropy 2.570951, Huffman (1952) 2.6; the optimum over all subsets is 2.6."""
    p = [0.3, 0.25, 0.15, 0.12, 0.08, 0.05, 0.03, 0.02]
    case = with_every_test(p)

    assert pytest.approx(2.570951, abs=1e-6) == -sum(v * math.log2(v) for v in p)
    assert pytest.approx(2.6) == huffman_minutes(p)
    assert pytest.approx(2.6, abs=1e-6) == optimum(case)
    assert policy_cost(case) >= 2.6 - 1e-6


@pytest.mark.parametrize(("faults", "seed"), list(itertools.product((1, 2), range(3))))
def test_on_small_cuts_of_the_book_the_policy_is_near_the_exact_optimum(faults, seed):
    """Diagnosis alone on cuts of seven suspects and six checks: never better than exact, seldom 15 % worse."""
    case = cut(fit(shipped(), PROFILES["car"], 12, "damp"), suspects=7, checks=6, faults=faults, seed=seed)
    exact, ours = optimum(case), policy_cost(case)

    assert exact - 1e-9 <= ours <= 1.15 * exact


def test_over_many_cuts_the_policy_costs_at_most_one_twentieth_more():
    """The bar: 1.05 of the exact optimum, on the mean of 8 cuts; the benchmark takes 240."""
    network = fit(shipped(), PROFILES["car"], 12, "damp")
    cases: list[Cut] = [cut(network, suspects=7, checks=6, faults=1, seed=seed) for seed in range(8)]

    assert sum(policy_cost(c) for c in cases) <= 1.05 * sum(optimum(c) for c in cases)


def view(*evidence, name="motorcycle"):
    return look(fit(shipped(), PROFILES[name], 12, "damp"), evidence)


def bad(row, seq):
    return Finding(row, "bad", AT, seq)


def test_information_lies_between_nothing_and_the_doubt_of_the_outcome():
    """0 <= bits <= entropy of the outcome, for every check, at three points of a job."""
    for more in ([], [bad("spark.none", 2)], [bad("plug look.dry", 2)]):
        seen = view(NoStart(1, AT), *more)
        for s in seen.ranked:
            doubt = -sum(p * math.log2(p) for p in s.outcomes if p > 0)
            assert 0.0 <= s.bits <= doubt + 1e-9
            assert sum(s.outcomes) == pytest.approx(1.0)


def test_the_sampled_score_agrees_with_exact_look_ahead():
    """What an outcome would do to each suspect: draws against the exact solution with that outcome added."""
    seen = view(NoStart(1, AT))
    check = shipped().checks["tank look"]
    given_bad = chance_given(seen.outlook, check, 0)
    exact = solve(
        seen.network.numbers, [*seen.settled.findings, replace(seen.settled.findings[0], row="tank look", seq=9)],
    ).chances.now

    assert np.abs(given_bad - np.array(exact)).max() < 0.12
    assert given_bad[seen.network.place["tank_empty"]] > 0.85


def plain_score(seen, check):
    """(bits, mean chance of each outcome) by the definition: draw by draw, cause by cause, outcome by outcome."""
    numbers, told = seen.network.numbers, []
    for draw in seen.outlook.draws[:200]:
        reach, outcomes = 1.0, []
        for row in check.rows:
            ok = 1.0 - numbers.rows[row.id].leak
            for i, q in numbers.rows[row.id].causes:
                ok *= 1.0 - q * (float(draw[i]) if seen.outlook.core[i] else seen.chances.now[i])
            outcomes.append(reach * (1.0 - ok))
            reach *= ok
        told.append([*outcomes, reach])
    doubts = [-sum(p * math.log2(p) for p in outcomes if p > 0.0) for outcomes in told]
    mean = np.mean(told, axis=0)
    return -sum(p * math.log2(p) for p in mean if p > 0.0) - np.mean(doubts), mean


@pytest.mark.parametrize("name", ["motorcycle", "outboard", "diesel tractor"])
def test_the_fast_score_is_the_plain_one(name):
    """Tables, blocks and the chain rule of entropy give what the definition gives, for every check, to 1e-12."""
    seen = view(NoStart(1, AT), name=name)
    some = outlook(seen.network, seen.chances, seen.outlook.draws[:200], seen.network.checks)
    for check in seen.network.checks[::4]:
        bits, mean = plain_score(seen, check)
        fast_bits, fast_mean = some.told[check.id]

        assert pytest.approx(max(0.0, bits), abs=1e-12) == fast_bits
        assert pytest.approx(mean, abs=1e-12) == fast_mean
        assert pytest.approx(mean, abs=1e-12) == some.given[check.id].mean(axis=1)


def test_draws_that_are_alike_are_worked_with_once():
    """Distinct draws with their shares are the draws, for few suspects and for more than fit in one word."""
    for suspects in (5, 64, 91):
        draws = np.random.default_rng(suspects).random((500, suspects)) < 0.02
        rows, share = distinct(draws)
        counts = Counter(map(tuple, draws.tolist()))

        assert counts == Counter({tuple(r): round(s * 500) for r, s in zip(rows.tolist(), share.tolist(), strict=True)})


def test_what_does_not_start_has_something_that_stops_it():
    """The chance that a suspect is there and stops the engine, draw by draw: weighed with the chance of no start."""
    seen = view(NoStart(1, AT), bad("tank look", 2), Finding("cranking.nothing", "ok", AT, 3))
    stops = np.array(seen.network.numbers.stops)
    weights = [
        part * (1.0 - np.prod(1.0 - np.minimum(stops, 1.0 - 1e-9) * draw))
        for part, draw in zip(seen.outlook.share, seen.outlook.draws, strict=True)
    ]
    starts_not = [part / seen_part for part, seen_part in zip(weights, seen.outlook.share, strict=True)]
    plain = sum(
        part * draw * stops for part, draw in zip(seen.outlook.share, seen.outlook.draws, strict=True)
        if draw.any()
    )

    assert min(starts_not) > 0.0
    assert (chance_of_stopping(seen) >= plain - 1e-12).all()
    assert chance_of_stopping(seen)[seen.network.place["tank_empty"]] > 0.9


def test_what_can_be_looked_at_is_not_mended_unseen():
    """A plug that is likely fouled is looked at before it is cleaned on trial; with the look barred it is cleaned."""
    known = [NoStart(1, AT), bad("spark.none", 2), bad("other plug", 3)]
    network, plug = fit(shipped(), PROFILES["motorcycle"], 12, "damp"), shipped().suspects["plug_fouled"]
    seen = look(network, known)
    barred = look(network, known, lambda check: "not now" if check == "plug state" else None)

    assert 0.5 <= seen.now(plug) < 0.9
    assert trial_fix(seen, seen.ranked[0]) is None
    assert trial_fix(barred, barred.ranked[0]) == plug


def test_the_order_is_by_bits_a_minute():
    """Best rate first, and the choice is the first."""
    seen = view(NoStart(1, AT))
    rates = [s.rate for s in seen.ranked]

    assert sorted(rates, reverse=True) == pytest.approx(rates)
    assert choose(seen).score == seen.ranked[0]


def test_set_up_is_paid_once_until_the_next_try():
    """With the plugs out, the next check behind them is five minutes cheaper; after a try they are out again."""
    ready = [NoStart(1, AT), Finding("cranking.nothing", "ok", AT, 2)]
    thumb, plug = shipped().checks["thumb"], shipped().checks["plug state"]

    def minutes(*more):
        seen = view(*ready, *more)
        return {s.check.id: s.minutes for s in scores(seen.outlook, [plug], frozenset())}, seen

    closed = minutes()[0]["plug state"]
    opened = view(*ready, Finding("hand turn.stuck", "ok", AT, 3), Finding("hand turn.liquid", "ok", AT, 4))
    cost = {s.check.id: s.minutes for s in opened.ranked}

    assert thumb.access == plug.access == ("plugs out",)
    assert closed == plug.minutes + 5
    assert cost.get("plug state", plug.minutes) == plug.minutes


def test_what_a_check_tells_of_one_suspect_is_no_more_than_of_all():
    """Information about one fault never exceeds information about the whole set."""
    seen = view(NoStart(1, AT))
    for s in seen.ranked[:12]:
        for at in range(0, len(seen.network.suspects), 7):
            if seen.outlook.core[at]:
                assert bits_about(seen.outlook, s.check, at) <= s.bits + 0.02


def test_a_repair_that_cannot_have_worked_is_not_tried_forever():
    """The same suspect is not mended three times running on the same grounds."""
    network = fit(shipped(), PROFILES["motorcycle"], 12, "damp")
    for result in play_many(network, advised, (1, 2, 3), 3, seed=5):
        assert result.ran
        assert result.steps < 90


def test_mending_what_is_found_comes_before_the_next_check():
    """A proof stands: the fix is chosen, however much a check would tell."""
    choice = choose(view(NoStart(1, AT), bad("tank look", 2)))

    assert (choice.kind, choice.suspect.id) == ("fix", "tank_empty")


def test_after_a_repair_comes_a_try():
    """Before any other check."""
    choice = choose(view(NoStart(1, AT), bad("tank look", 2), Repair("tank_empty", AT, 3)))

    assert choice.kind == "try"
