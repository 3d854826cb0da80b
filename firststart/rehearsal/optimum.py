"""The exact optimum where it can be computed: small cuts of the book, by dynamic programming over all outcomes.

A cut has a few suspects that share checks, the sets of them that may be there together, and the checks that speak of
them. A policy checks, or stops and names the likeliest set; naming a wrong one costs WRONG minutes. The optimum is over
all policies (Bellman 1957). Every other policy is reckoned exactly as well, with the best time to stop, so that
only the order of its checks is compared.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from firststart.diagnosis.network import Network
from firststart.rehearsal.figures import Pair, bootstrap_ratio, mean

WRONG = 120.0  # minutes that a wrong repair costs (invented; relative merit only)
SUSPECTS, CHECKS, FAULTS = 8, 7, 2
_NOTHING = 1e-12

Weights = tuple[float, ...]


@dataclass(frozen=True)
class Cut:
    """`prior` of each set of suspects, `bad[j][h]` the chance that check j is bad under set h, and minutes of each."""

    prior: Weights
    bad: tuple[Weights, ...]
    minutes: tuple[float, ...]


def cut(
    network: Network, seed: int, suspects: int = SUSPECTS, checks: int = CHECKS, faults: int = FAULTS
) -> Cut | None:
    """A cut of an engine's book around one check; None when the book has too little for it."""
    rng = random.Random(f"cut {seed}")
    rows = [(c, network.numbers.rows[c.rows[0].id]) for c in network.checks if len(c.rows) == 1]
    rows = [x for x in rows if x[1].causes]
    wide = [x for x in rows if len(x[1].causes) >= 3]
    if not wide or len(rows) < checks:
        return None
    start = rng.choice(wide)
    others = rng.sample(range(len(network.suspects)), len(network.suspects))
    chosen = list(dict.fromkeys([*(i for i, _ in start[1].causes), *others]))[:suspects]
    speaking = sorted(rows, key=lambda x: -sum(q for i, q in x[1].causes if i in chosen) / x[0].minutes)
    kept = sorted(rng.sample(speaking[: 2 * checks], checks), key=lambda x: x[0].line)
    sets = [s for n in range(1, faults + 1) for s in itertools.combinations(chosen, n)]
    prior = network.numbers.prior
    odds = [math.prod(prior[i] / (1 - prior[i]) for i in s) for s in sets]
    bad = tuple(
        tuple(1 - (1 - row.leak) * math.prod(1 - dict(row.causes).get(i, 0.0) for i in s) for s in sets)
        for _, row in kept
    )
    return Cut(tuple(o / sum(odds) for o in odds), bad, tuple(c.minutes for c, _ in kept))


def optimum(case: Cut) -> float:
    """The least expected cost in minutes over all policies."""

    @cache
    def least(done: tuple[int, ...]) -> float:
        weight = _after(case, done)
        best = _stopping(weight)
        total = math.fsum(weight)
        for j, outcome in enumerate(done):
            if outcome >= 0 or case.minutes[j] * total >= best:
                continue
            ways = ((*done[:j], 1, *done[j + 1 :]), (*done[:j], 0, *done[j + 1 :]))
            best = min(best, case.minutes[j] * total + least(ways[0]) + least(ways[1]))
        return best

    return least((-1,) * len(case.minutes))


def _after(case: Cut, done: Sequence[int]) -> Weights:
    """The weight of each set after the outcomes seen: 1 bad, 0 good, -1 not done."""
    weight = list(case.prior)
    for j, outcome in enumerate(done):
        if outcome >= 0:
            weight = [w * (b if outcome else 1 - b) for w, b in zip(weight, case.bad[j], strict=True)]
    return tuple(weight)


def _stopping(weight: Weights) -> float:
    return WRONG * (math.fsum(weight) - max(weight))


Order = Callable[[Cut, Weights, int], float]  # the merit of a check now; the largest is done next


def cost(case: Cut, order: Order) -> float:
    """The exact expected cost of the policy that does the check of most merit, and stops when that costs less.

    A check that can tell nothing any more is skipped, as by all policies of the study.
    """

    def go_on(weight: Weights, left: frozenset[int]) -> float:
        total, stop = math.fsum(weight), _stopping(weight)
        telling = [j for j in sorted(left) if bits(case, weight, j) > 1e-9]
        if not telling or stop <= _NOTHING:
            return stop
        j = max(telling, key=lambda j: (order(case, weight, j), -j))
        if case.minutes[j] * total >= stop:
            return stop
        bad = tuple(w * b for w, b in zip(weight, case.bad[j], strict=True))
        good = tuple(w - b for w, b in zip(weight, bad, strict=True))
        rest = left - {j}
        return min(stop, case.minutes[j] * total + go_on(bad, rest) + go_on(good, rest))

    return go_on(case.prior, frozenset(range(len(case.minutes))))


def bits(case: Cut, weight: Weights, j: int) -> float:
    """What a check tells of the set that is there, in bits."""
    total = math.fsum(weight)
    chances = [w / total for w in weight]
    bad = math.fsum(p * b for p, b in zip(chances, case.bad[j], strict=True))
    return max(0.0, _doubt(bad) - math.fsum(p * _doubt(b) for p, b in zip(chances, case.bad[j], strict=True)))


def _doubt(p: float) -> float:
    return 0.0 if p <= 0.0 or p >= 1.0 else -p * math.log2(p) - (1 - p) * math.log2(1 - p)


def _chance(case: Cut, weight: Weights, j: int) -> float:
    return math.fsum(w * b for w, b in zip(weight, case.bad[j], strict=True)) / math.fsum(weight)


ORDERS: dict[str, Order] = {
    "firststart": lambda case, weight, j: bits(case, weight, j) / case.minutes[j],
    "file order": lambda _case, _weight, j: -j,
    "cheapest first": lambda case, _weight, j: -case.minutes[j],
    "odds anew": lambda case, weight, j: _chance(case, weight, j) / case.minutes[j],
    "printed by odds": lambda case, _weight, j: _chance(case, case.prior, j) / case.minutes[j],
    "printed by bits": lambda case, _weight, j: bits(case, case.prior, j) / case.minutes[j],
}


@dataclass(frozen=True)
class Ratio:
    """Mean cost over the optimum's on the same cuts, with its 95 per cent interval."""

    policy: str
    cuts: int
    ratio: float
    between: Pair


def ratios(cases: Sequence[Cut], seed: int = 1) -> tuple[Ratio, ...]:
    """How far every policy is from the optimum. Raises ValueError for no case."""
    if not cases:
        raise ValueError("no cut to reckon with")
    best = [optimum(case) for case in cases]
    found = []
    for policy, order in ORDERS.items():
        spent = [cost(case, order) for case in cases]
        found.append(Ratio(policy, len(cases), mean(spent) / mean(best), bootstrap_ratio(spent, best, seed)))
    return tuple(found)
