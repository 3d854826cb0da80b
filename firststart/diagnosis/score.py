"""What each check would tell, and what it costs. Needs numpy.

Information of a check about the set of faults, from exact joint draws X_s (Kalagnanam and Henrion 1990 for cost in the
denominator; the estimate itself is plain Shannon information):

    I = H(mean over s of P(outcome | X_s)) - mean over s of H(P(outcome | X_s))

A ladder of rows has one outcome more than rows; its outcomes are scored together. Suspects that seldom stop the engine
are averaged out, so that no check is chosen only to find something harmless.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.infer import Chances, Table
from firststart.diagnosis.model import Check
from firststart.diagnosis.network import Network

HARMLESS = 0.5
"""Suspects that stop the engine less surely than this are averaged out of the information."""


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
    """Draws of what is there now, and the chance of each outcome of each check for every draw.

    `core` marks the suspects that the information is about; the others are averaged out.
    """

    network: Network
    draws: NDArray[np.bool_]
    chances: Chances
    core: NDArray[np.bool_]
    given: dict[str, Table]
    """Check id -> outcomes x draws."""


def outlook(
    network: Network, chances: Chances, draws: NDArray[np.bool_], checks: Sequence[Check],
    focus: frozenset[int] | None = None,
) -> Outlook:
    """The chance of each outcome of `checks` for every draw, all checks in one product of matrices.

    `focus` are the places of the suspects that the information is about; None means all that can stop the engine.
    """
    core = np.array(network.numbers.stops) >= HARMLESS
    if focus is not None:
        core &= np.isin(np.arange(len(core)), list(focus))
    rows = [network.numbers.rows[r.id] for c in checks for r in c.rows]
    logs = np.zeros((len(rows), len(core)))
    rest = np.zeros(len(rows))
    for j, row in enumerate(rows):
        rest[j] = np.log1p(-row.leak)
        for i, q in row.causes:
            if core[i]:
                logs[j, i] = np.log1p(-q)
            else:
                rest[j] += np.log1p(-q * chances.now[i])
    used = np.flatnonzero(logs.any(axis=0))
    ok = np.exp(logs[:, used] @ draws[:, used].T.astype(np.float64) + rest[:, None])
    given, at = {}, 0
    for check in checks:
        given[check.id] = _ladder(ok[at:at + len(check.rows)])
        at += len(check.rows)
    return Outlook(network, draws, chances, core, given)


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
        outcomes = view.given[check.id]
        mean = outcomes.mean(axis=1)
        bits = _entropy(mean) - float(_entropies(outcomes).mean())
        minutes = minutes_now(view.network, check, open_access)
        found.append(Score(check, minutes, max(0.0, bits), tuple(float(v) for v in mean)))
    return found


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


def _entropy(chances: Table) -> float:
    return float(_entropies(chances[:, None])[0])


def _entropies(outcomes: Table) -> Table:
    safe = np.maximum(outcomes, 1e-300)
    entropy: Table = -(outcomes * np.log2(safe)).sum(axis=0)
    return entropy


def chance_given(view: Outlook, check: Check, outcome: int) -> Table:
    """The chance of each suspect were the check to give `outcome` (rows in order, good last)."""
    weight = view.given[check.id][outcome]
    total = float(weight.sum())
    if total <= 0.0:
        return np.array(view.chances.now)
    chances: Table = (weight @ view.draws) / total
    return chances


def bits_about(view: Outlook, check: Check, at: int) -> float:
    """What `check` would tell about the one suspect at place `at`."""
    outcomes, there = view.given[check.id], view.draws[:, at]
    part = float(there.mean())
    if part in (0.0, 1.0):
        return 0.0
    left = part * _entropy(outcomes[:, there].mean(axis=1)) + (1.0 - part) * _entropy(outcomes[:, ~there].mean(axis=1))
    return max(0.0, _entropy(outcomes.mean(axis=1)) - left)


def zone_chance(view: Outlook, zone: str, weight: Table | None = None) -> float:
    """The chance that at least one suspect of `zone` that can stop the engine is there."""
    columns = [i for i, s in enumerate(view.network.suspects) if s.zone == zone and view.core[i]]
    if not columns:
        return 0.0
    any_there = view.draws[:, columns].any(axis=1)
    if weight is None:
        return float(any_there.mean())
    total = float(weight.sum())
    return float(weight @ any_there) / total if total > 0.0 else 0.0
