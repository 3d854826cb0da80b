"""Small cuts of the book, with the exact optimum by dynamic programming and the shipped policy's exact cost.

A case has a few hypotheses (sets of faults) and a few checks of two outcomes. A policy may check or stop; at the stop
it names the likeliest hypothesis, and a wrong one costs WRONG minutes. The optimum is over all policies; the shipped
policy picks its check by its own score, and stops when stopping costs less than going on (the best it could do).
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import dataclass
from functools import cache

import numpy as np

from firststart.diagnosis.infer import Chances
from firststart.diagnosis.model import Check, Row
from firststart.diagnosis.network import Network
from firststart.diagnosis.score import Outlook, best_first, scores

WRONG = 120.0
DRAWS = 2000


@dataclass(frozen=True)
class Cut:
    """`prior` of each hypothesis, `bad[j, h]` the chance that check j is bad under it, `sets[h, i]` its faults."""

    prior: tuple[float, ...]
    bad: tuple[tuple[float, ...], ...]
    minutes: tuple[float, ...]
    sets: tuple[tuple[bool, ...], ...]
    wrong: float = WRONG


def cut(network: Network, suspects: int, checks: int, faults: int, seed: int) -> Cut:
    """A case from the book: some suspects that share checks, the checks that speak of them, sets of <= `faults`."""
    rng = np.random.default_rng(seed)
    rows = [(c, r, network.numbers.rows[r.id]) for c in network.checks for r in c.rows if len(c.rows) == 1]
    rows = [x for x in rows if len(x[2].causes) >= 2]
    start = rows[int(rng.integers(len(rows)))]
    pool = list(dict.fromkeys([i for i, _ in start[2].causes] + list(rng.permutation(len(network.suspects)))))
    chosen = [int(i) for i in pool[:suspects]]
    speaking = sorted(rows, key=lambda x: -sum(q for i, q in x[2].causes if i in chosen) / x[0].minutes)[: 2 * checks]
    kept = [speaking[int(k)] for k in rng.permutation(len(speaking))[:checks]]
    sets = [s for n in range(1, faults + 1) for s in itertools.combinations(range(suspects), n)]
    odds = [network.numbers.prior[i] / (1.0 - network.numbers.prior[i]) for i in chosen]
    weight = np.array([np.prod([odds[i] for i in s]) for s in sets])
    bad = []
    for _, _, row in kept:
        q = dict(row.causes)
        bad.append(tuple(1.0 - (1.0 - row.leak) * np.prod([1.0 - q.get(chosen[i], 0.0) for i in s]) for s in sets))
    return Cut(
        tuple(weight / weight.sum()), tuple(bad), tuple(c.minutes for c, _, _ in kept),
        tuple(tuple(i in s for i in range(suspects)) for s in sets),
    )


def with_every_test(prior: list[float]) -> Cut:
    """One fault, and for every set of suspects a sure check of one minute that says whether it is among them."""
    n = len(prior)
    subsets = [s for size in range(1, n // 2 + 1) for s in itertools.combinations(range(n), size)]
    bad = tuple(tuple(1.0 if i in s else 0.0 for i in range(n)) for s in subsets)
    singles = tuple(tuple(i == j for j in range(n)) for i in range(n))
    return Cut(tuple(prior), bad, (1.0,) * len(subsets), singles, 1e6)


def huffman_minutes(prior: list[float]) -> float:
    """The least mean number of yes-or-no questions (Huffman 1952)."""
    heap, total = list(prior), 0.0
    heapq.heapify(heap)
    while len(heap) > 1:
        pair = heapq.heappop(heap) + heapq.heappop(heap)
        total += pair
        heapq.heappush(heap, pair)
    return total


def optimum(case: Cut) -> float:
    """The least expected cost over all policies, by dynamic programming over the outcomes seen."""
    prior, bad = np.array(case.prior), np.array(case.bad)
    sure = bool(np.isin(bad, (0.0, 1.0)).all())

    def branch(weight: np.ndarray, done: tuple[int, ...]) -> float:
        return by_what_is_left(tuple(weight > 0.0)) if sure else by_outcomes(done)

    @cache
    def by_outcomes(done: tuple[int, ...]) -> float:
        weight = prior.copy()
        for j, outcome in enumerate(done):
            weight = weight if outcome < 0 else weight * (bad[j] if outcome else 1.0 - bad[j])
        return least(weight, done)

    @cache
    def by_what_is_left(left: tuple[bool, ...]) -> float:
        return least(np.where(left, prior, 0.0), (-1,) * len(bad))

    def least(weight: np.ndarray, done: tuple[int, ...]) -> float:
        total = float(weight.sum())
        stop = case.wrong * (total - float(weight.max()))
        for j in (j for j, outcome in enumerate(done) if outcome < 0):
            split = weight * bad[j]
            cost = case.minutes[j] * total
            if cost >= stop or split.sum() < 1e-12 or (weight - split).sum() < 1e-12:
                continue
            ways = [(split, 1), (weight - split, 0)]
            cost += sum(branch(w, (*done[:j], outcome, *done[j + 1:])) for w, outcome in ways)
            stop = min(stop, cost)
        return stop

    return branch(prior, (-1,) * len(bad))


def policy_cost(case: Cut) -> float:
    """The exact expected cost of the shipped score with the best stop."""
    bad = np.array(case.bad)

    def cost(weight: np.ndarray, left: frozenset[int]) -> float:
        total = float(weight.sum())
        stop = case.wrong * (total - float(weight.max()))
        if not left or stop <= 0.0:
            return stop
        j = choice(case, weight, left)
        if case.minutes[j] * total >= stop:
            return stop
        split = weight * bad[j]
        rest = left - {j}
        return min(stop, case.minutes[j] * total + cost(split, rest) + cost(weight - split, rest))

    return cost(np.array(case.prior), frozenset(range(len(case.minutes))))


def choice(case: Cut, weight: np.ndarray, left: frozenset[int]) -> int:
    """The check that the shipped score puts first, from draws in proportion to the exact weights."""
    spread = (np.arange(DRAWS) + 0.5) / DRAWS
    drawn = np.searchsorted(np.cumsum(weight) / weight.sum(), spread)
    checks = [_check(j, case.minutes[j]) for j in sorted(left)]
    shown = {c.id: np.array(case.bad[int(c.id)])[drawn] for c in checks}
    given = {name: np.stack([bad, 1.0 - bad]) for name, bad in shown.items()}
    network = _Bare(tuple(checks))
    sets, share = np.array(case.sets)[drawn], np.full(DRAWS, 1.0 / DRAWS)
    seen = Outlook(network, sets, share, Chances((), (), 1.0), np.ones(len(case.sets[0]), bool), given)
    return int(best_first(network, scores(seen, checks, frozenset()))[0].check.id)


@dataclass(frozen=True)
class _Bare:
    """As much of a network as the score needs here."""

    checks: tuple[Check, ...]


def _check(j: int, minutes: float) -> Check:
    row = Row(str(j), str(j), ("bad",), {}, 0.01, {}, {}, 1)
    return Check(str(j), str(j), "", minutes, (), {}, {}, (), (), None, str(j), False, ("ok",), (row,), "", 1)
