"""What each check would tell, and what it costs. Needs numpy.

Information of a check about the set of faults, from exact joint draws X_s (Kalagnanam and Henrion 1990 for cost in the
denominator; the estimate itself is plain Shannon information):

    I = H(mean over s of P(outcome | X_s)) - mean over s of H(P(outcome | X_s))

A ladder of rows has one outcome more than rows; its outcomes are scored together. Suspects that seldom stop the engine
are averaged out, so that no check is chosen only to find something harmless.

Draws that are alike are worked with once and weighed: of 2,000 some 250 are distinct.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import accumulate, pairwise
from math import log2
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.infer import Chances, Table
from firststart.diagnosis.model import Check
from firststart.diagnosis.network import Network, Numbers

HARMLESS = 0.5
"""Suspects that stop the engine less surely than this are averaged out of the information."""
_BLOCK = 250_000
"""Products of matrices are done in pieces of at most so many multiplications: as one piece, a BLAS shares these small
tables out among threads, which then wait for each other longer than the work takes (measured: 2 ms against 58 ms)."""
_CACHED = 32_000
"""Numbers of one table that are worked on at a time, so that they stay near the processor."""


@dataclass(frozen=True)
class Score:
    """A check's worth: minutes with the set-up still to be paid, bits, bits a minute, chance of each row bad."""

    check: Check
    minutes: float
    bits: float
    outcomes: tuple[float, ...]
    lifted: float = 0.0
    leads_to: Check | None = None

    @property
    def rate(self) -> float:
        """Bits a minute; for a check that opens the way to a better one, those of both together."""
        return max(self.bits / self.minutes, self.lifted)

    @property
    def chance_bad(self) -> float:
        """The chance that any row is bad."""
        return sum(self.outcomes[:-1])


@dataclass(frozen=True)
class Outlook:
    """Distinct draws of what is there now, and the chance of each outcome of each check for every one of them.

    `share` is the part of all draws that came out so. `core` marks the suspects that the information is about; the
    others are averaged out. `given` maps a check's id to its outcomes x draws; `told` to its bits and the mean chance
    of each outcome.
    """

    network: Network
    draws: NDArray[np.bool_]
    share: Table
    chances: Chances
    core: NDArray[np.bool_]
    given: Mapping[str, Table]
    told: Mapping[str, tuple[float, tuple[float, ...]]] = field(default_factory=dict)

    @cached_property
    def drawn(self) -> Table:
        """The draws as numbers, to weigh."""
        return self.draws.astype(np.float64)

    @cached_property
    def zones(self) -> dict[str, Table]:
        """For each zone, whether any of its suspects that can stop the engine is there, for every draw."""
        names = np.array([s.zone for s in self.network.suspects] + [""])
        found: dict[str, Table] = {}
        for zone in dict.fromkeys(s.zone for s in self.network.suspects):
            columns = np.flatnonzero((names == zone) & self.core)
            if len(columns):
                found[zone] = np.asarray(self.draws[:, columns].any(axis=1), dtype=np.float64)
        return found


class _Rows(Mapping[str, Table]):
    """The rows of some checks over the draws: check id -> outcomes x draws, worked out when it is asked for."""

    def __init__(self, checks: Sequence[Check], there: Table, share: Table, logs: Table, rest: Table) -> None:
        self.checks, self.there, self.share, self.logs, self.rest = checks, there, share, logs, rest
        ends = list(accumulate((len(c.rows) for c in checks), initial=0))
        self.places = {c.id: pair for c, pair in zip(checks, pairwise(ends), strict=True)}

    def sums(self, first: int, last: int) -> Table:
        """rows x draws: the log of the chance that each row is ok."""
        sums = np.empty((last - first, self.there.shape[1]))
        piece = max(1, _BLOCK // max(1, (last - first) * len(self.there)))
        for at in range(0, sums.shape[1], piece):
            np.matmul(self.logs[first:last], self.there[:, at:at + piece], out=sums[:, at:at + piece])
        sums += self.rest[first:last, None]
        return sums

    def __getitem__(self, name: str) -> Table:
        return _ladder(np.exp(self.sums(*self.places[name])))

    def __iter__(self) -> Iterator[str]:
        return iter(self.places)

    def __len__(self) -> int:
        return len(self.places)


@dataclass(frozen=True)
class _Logs:
    """The rows as tables: their places, log(1 - leak), q and log(1 - q) of each suspect."""

    at: dict[str, int]
    rest: Table
    q: Table
    logs: Table


@lru_cache(maxsize=16)
def _logs(numbers: Numbers) -> _Logs:
    q = np.zeros((len(numbers.rows), len(numbers.prior)))
    for j, row in enumerate(numbers.rows.values()):
        for i, value in row.causes:
            q[j, i] = value
    rest = np.log1p(-np.array([row.leak for row in numbers.rows.values()]))
    return _Logs({name: j for j, name in enumerate(numbers.rows)}, rest, q, np.log1p(-q))


def outlook(
    network: Network, chances: Chances, draws: NDArray[np.bool_], checks: Sequence[Check],
    focus: frozenset[int] | None = None, share: Table | None = None,
) -> Outlook:
    """The chance of each outcome of `checks` for every draw, all checks in one product of matrices.

    `draws` may repeat; with a `share` for each they are distinct already. `focus` are the places of the suspects that
    the information is about; None means all that can stop the engine.
    """
    if share is None:
        draws, share = distinct(draws)
    core = np.array(network.numbers.stops) >= HARMLESS
    if focus is not None:
        core &= np.isin(np.arange(len(core)), list(focus))
    kept = _logs(network.numbers)
    at = [kept.at[r.id] for c in checks for r in c.rows]
    rest = kept.rest[at] + np.log1p(-kept.q[at][:, ~core] * np.array(chances.now)[~core]).sum(axis=1)
    logs = np.where(core, kept.logs[at], 0.0)
    used = np.flatnonzero(logs.any(axis=0))
    rows = _Rows(checks, draws[:, used].T.astype(np.float64), share, logs[:, used], rest)
    return Outlook(network, draws, share, chances, core, rows, dict(_told(rows)))


def distinct(draws: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], Table]:
    """The draws without repeats, and the part of all that each one stands for."""
    bits = np.packbits(draws, axis=1)
    words = np.pad(bits, ((0, 0), (0, -bits.shape[1] % 8))).view(np.uint64)
    key: NDArray[Any] = words[:, 0]
    for word in words.T[1:]:  # more suspects than fit in one word
        key = np.unique(key, return_inverse=True)[1] * len(draws) + np.unique(word, return_inverse=True)[1]
    _, places, counts = np.unique(key, return_index=True, return_counts=True)
    return draws[places], counts / len(draws)


def _told(rows: _Rows) -> Iterator[tuple[str, tuple[float, tuple[float, ...]]]]:
    """The bits of each check and the mean chance of each of its outcomes, some checks at a time to stay in the cache.

    The doubt of a ladder is that of its rows, each weighed with the chance that it is read (chain rule of entropy).
    """
    for some in _few(rows.checks, _CACHED // max(1, len(rows.share))):
        first = rows.places[some[0].id][0]
        sums = rows.sums(first, rows.places[some[-1].id][1])
        ok = np.exp(sums)
        doubt = _doubt(sums, ok)
        means, doubts = (ok @ rows.share).tolist(), (doubt @ rows.share).tolist()
        for check in some:
            at, end = (place - first for place in rows.places[check.id])
            rest = _rest_told(ok[at:end], doubt[at:end], rows.share) if end - at > 1 else []
            left, reached = doubts[at], [1.0, means[at]]
            for more, part in rest:
                left += more
                reached.append(part)
            outcomes = (*(a - b for a, b in pairwise(reached)), reached[-1])
            yield check.id, (max(0.0, doubt_of(outcomes) - left), outcomes)


def _few(checks: Sequence[Check], rows: int) -> Iterator[list[Check]]:
    """Checks in their order, about so many rows at a time."""
    some, count = list[Check](), 0
    for check in checks:
        some.append(check)
        count += len(check.rows)
        if count >= rows:
            yield some
            some, count = [], 0
    if some:
        yield some


def _rest_told(ok: Table, doubt: Table, share: Table) -> list[tuple[float, float]]:
    """For each row of a ladder behind its first: the doubt that it adds, and the chance that all up to it are ok."""
    found, reach = [], ok[0] * share
    for row, more in zip(ok[1:], doubt[1:], strict=True):
        left = float(reach @ more)
        reach = reach * row
        found.append((left, float(reach.sum())))
    return found


def _doubt(logs: Table, ok: Table) -> Table:
    """The entropy in bits of a yes or no with chance `ok`, from that and its log."""
    bad = 1.0 - ok
    doubt = np.maximum(bad, 1e-300)
    np.log(doubt, out=doubt)
    doubt *= bad
    doubt += np.multiply(logs, ok, out=bad)
    doubt *= -1.0 / np.log(2.0)
    return doubt


def _ladder(ok: Table) -> Table:
    """Outcomes of a ladder of rows, the good outcome last."""
    reach = np.ones(ok.shape[1])
    outcomes = []
    for line in ok:
        outcomes.append(reach * (1.0 - line))
        reach = reach * line
    return np.stack([*outcomes, reach])


def scores(view: Outlook, checks: Iterable[Check], open_access: frozenset[str]) -> list[Score]:
    """The checks' scores, in the order given."""
    found = []
    for check in checks:
        bits, outcomes = view.told[check.id] if check.id in view.told else _score(view.given[check.id], view.share)
        found.append(Score(check, minutes_now(view.network, check, open_access), bits, outcomes))
    return found


def _score(outcomes: Table, share: Table) -> tuple[float, tuple[float, ...]]:
    mean = outcomes @ share
    return max(0.0, _entropy(mean) - float(_entropies(outcomes) @ share)), tuple(mean.tolist())


def best_first(network: Network, found: Iterable[Score]) -> tuple[Score, ...]:
    """Most bits a minute first; ties by minutes, then by file order, so that the order never depends on chance."""
    order = {c.id: i for i, c in enumerate(network.checks)}
    return tuple(sorted(found, key=lambda s: (-round(s.rate, 9), s.minutes, order[s.check.id])))


def lift(found: Sequence[Score], waiting: Iterable[tuple[Score, str, tuple[str, ...]]]) -> list[Score]:
    """Raise checks that others wait for: (the waiting check's score, the check it needs, the words it needs).

    A minute at the tank tells little by itself, but it opens the way to the sample of fuel.
    """
    by_id = {s.check.id: s for s in found}
    for later, name, words in waiting:
        first = by_id.get(name)
        if first is None:
            continue
        ways = zip(_words_of(first.check), first.outcomes, strict=True)
        open_way = sum(p for came_out, p in ways if set(came_out) & set(words))
        together = (first.bits + open_way * later.bits) / (first.minutes + later.minutes)
        if together > first.rate:
            by_id[name] = replace(first, lifted=together, leads_to=later.check)
    return list(by_id.values())


def _words_of(check: Check) -> list[tuple[str, ...]]:
    return [*(row.bad_when for row in check.rows), check.ok_when]


def minutes_now(network: Network, check: Check, open_access: frozenset[str]) -> float:
    """The check's minutes, with the set-up that is not open yet."""
    return check.minutes + sum(network.book.access[a].minutes for a in check.access if a not in open_access)


def doubt_of(chances: Iterable[float]) -> float:
    """The entropy in bits of a few chances."""
    return -sum(p * log2(p) for p in chances if p > 0.0)


def _entropy(chances: Table) -> float:
    return float(_entropies(chances[:, None])[0])


def _entropies(outcomes: Table) -> Table:
    entropy: Table = -(outcomes * np.log(np.maximum(outcomes, 1e-300))).sum(axis=0) / np.log(2.0)
    return entropy


def chance_given(view: Outlook, check: Check, outcome: int) -> Table:
    """The chance of each suspect were the check to give `outcome` (rows in order, good last)."""
    weight = view.given[check.id][outcome] * view.share
    total = float(weight.sum())
    if total <= 0.0:
        return np.array(view.chances.now)
    chances: Table = (weight @ view.drawn) / total
    return chances


def bits_about(view: Outlook, check: Check, at: int) -> float:
    """What `check` would tell about the one suspect at place `at`."""
    outcomes, there = view.given[check.id], view.draws[:, at]
    if there.all() or not there.any():
        return 0.0
    with_it = view.share * there
    part, whole, yes = float(with_it.sum()), outcomes @ view.share, outcomes @ with_it
    left = part * _entropy(yes / part) + (1.0 - part) * _entropy((whole - yes) / (1.0 - part))
    return max(0.0, _entropy(whole) - left)


def zone_chance(view: Outlook, zone: str, weight: Table | None = None) -> float:
    """The chance that at least one suspect of `zone` that can stop the engine is there."""
    any_there = view.zones.get(zone)
    if any_there is None:
        return 0.0
    weight = view.share if weight is None else weight * view.share
    total = float(weight.sum())
    return float(weight @ any_there) / total if total > 0.0 else 0.0
