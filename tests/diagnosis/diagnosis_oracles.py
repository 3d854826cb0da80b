"""Slow and plain twins of the inference, and random small networks, for the tests of the diagnosis."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime

import numpy as np

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.network import NetRow, Numbers
from firststart.diagnosis.program import Mended

AT = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)


def counted(row, outcome, epoch=0, likelihood=None, seq=0):
    """A finding that counts."""
    return Counted(row, outcome, epoch, AT, seq, likelihood)


def numbers(prior, q, leak, stops=None):
    """Numbers from plain lists: `q` has one list a row."""
    rows = {
        f"r{j}": NetRow(leak[j], tuple((i, v) for i, v in enumerate(line) if v > 0.0)) for j, line in enumerate(q)
    }
    return Numbers(tuple(prior), tuple(stops or [1.0] * len(prior)), rows)


def random_case(rng, faults=(5, 10), checks=(4, 9), parents=None, repairs=0):
    """A random network with random findings, graded ones, tries and repairs. Returns (numbers, findings, mended)."""
    n, m = int(rng.integers(*faults, endpoint=True)), int(rng.integers(*checks, endpoint=True))
    q = np.where(rng.random((m, n)) < (parents or 0.45), rng.random((m, n)), 0.0)
    net = numbers(
        list(rng.uniform(0.01, 0.4, n)), q.tolist(), list(rng.uniform(0.01, 0.2, m)), list(rng.uniform(0.3, 1.0, n)),
    )
    mended = [Mended(int(rng.integers(n)), float(rng.uniform(0.5, 1.0))) for _ in range(repairs)]
    found = []
    for j in range(m):
        if rng.random() < 0.8:
            outcome = "bad" if rng.random() < 0.5 else "ok"
            pair = (float(rng.uniform(0.05, 1)), float(rng.uniform(0.05, 1))) if rng.random() < 0.2 else None
            found.append(counted(f"r{j}", outcome, int(rng.integers(0, repairs, endpoint=True)), pair))
    return net, [*found, *random_tries(rng, repairs)], mended


def random_tries(rng, repairs):
    """No try, a no-start, or a no-start and (after a repair) a start: what settling the evidence can leave."""
    if rng.random() < 0.3:
        return []
    epoch = int(rng.integers(0, repairs, endpoint=True))
    bad = counted(None, "bad", epoch)
    return [bad, counted(None, "ok", repairs)] if epoch < repairs and rng.random() < 0.5 else [bad]


def lives(at, mended):
    """(chance, last epoch there) for a fault that was there."""
    found, left = [], 1.0
    for epoch, repair in enumerate(mended):
        if repair.at == at:
            found.append((left * repair.success, epoch))
            left *= 1.0 - repair.success
    return [*found, (left, len(mended))]


def enumerate_all(net, found, mended=(), most=None):
    """Full enumeration of every set of faults and every fate of the repairs: (before, now, evidence)."""
    n = len(net.prior)
    choices = [[(1.0 - p, -1), *((p * w, last) for w, last in lives(i, mended))] for i, p in enumerate(net.prior)]
    before, now, total = np.zeros(n), np.zeros(n), 0.0
    tries = [f for f in found if f.row is None]
    rows = [f for f in found if f.row is not None]
    for combo in itertools.product(*choices):
        if most is not None and sum(last >= 0 for _, last in combo) > most:
            continue
        weight = float(np.prod([w for w, _ in combo]))
        lasts = [last for _, last in combo]
        for f in rows:
            weight *= reading_chance(net, f, lasts)
        if tries and weight > 0.0:
            weight *= tries_chance(net, tries, lasts)
        total += weight
        before += weight * np.array([last >= 0 for _, last in combo])
        now += weight * np.array([last == len(mended) for _, last in combo])
    return before / total, now / total, total


def tries_chance(net, tries, lasts):
    """P(all tries | which faults were there until when): each fault that is there stops the engine for good or not."""
    there = [i for i, last in enumerate(lasts) if last >= 0]
    total = 0.0
    for stopping in itertools.product((False, True), repeat=len(there)):
        chance = 1.0
        for i, stops in zip(there, stopping):
            chance *= net.stops[i] if stops else 1.0 - net.stops[i]
        fits = all(
            any(stops and lasts[i] >= f.epoch for i, stops in zip(there, stopping)) == (f.outcome == "bad") for f in tries
        )
        total += chance if fits else 0.0
    return total


def reading_chance(net, f, lasts):
    """P(this reading of a row | which faults were there until when)."""
    leak, causes = net.rows[f.row].leak, net.rows[f.row].causes
    ok = 1.0 - leak
    for i, q in causes:
        if lasts[i] >= f.epoch:
            ok *= 1.0 - q
    if_ok, if_bad = f.likelihood or ((1.0, 0.0) if f.outcome == "ok" else (0.0, 1.0))
    return if_ok * ok + if_bad * (1.0 - ok)
