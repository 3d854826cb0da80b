"""Slow and plain twins of the inference, and random small networks, for the tests of the diagnosis."""

from __future__ import annotations

import itertools
import math
from datetime import UTC, datetime

import numpy as np

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.network import NetRow, Numbers
from firststart.diagnosis.program import PASSING, Mended

AT = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)


def counted(row, outcome, epoch=0, likelihood=None, seq=0, until=None):
    """A finding that counts."""
    return Counted(row, outcome, epoch, AT, seq, likelihood, until=until)


def numbers(prior, q, leak, stops=None):
    """Numbers from plain lists: `q` has one list a row."""
    rows = {
        f"r{j}": NetRow(leak[j], tuple((i, v) for i, v in enumerate(line) if v > 0.0)) for j, line in enumerate(q)
    }
    return Numbers(tuple(prior), tuple(stops or [1.0] * len(prior)), rows)


def random_case(rng, faults=(5, 10), checks=(4, 9), density=0.45, repairs=0):
    """A random network with random findings, graded ones, tries and repairs. Returns (numbers, findings, mended)."""
    n, m = int(rng.integers(*faults, endpoint=True)), int(rng.integers(*checks, endpoint=True))
    q = np.where(rng.random((m, n)) < density, rng.random((m, n)), 0.0)
    net = numbers(
        list(rng.uniform(0.01, 0.4, n)), q.tolist(), list(rng.uniform(0.01, 0.2, m)), list(rng.uniform(0.3, 1.0, n)),
    )
    mended = [Mended(int(rng.integers(n)), float(rng.uniform(0.5, 0.98))) for _ in range(repairs)]
    found = []
    for row in [*net.rows, None]:
        if rng.random() < 0.8:
            found += random_findings(rng, net, row, mended)
    return net, found, mended


def random_findings(rng, net, row, mended):
    """What settling can leave of one row: one finding, or a bad one and a good one after a repair of a cause."""
    causes = {i for i, _ in (enumerate(net.stops) if row is None else net.rows[row].causes)}
    epoch = int(rng.integers(0, len(mended), endpoint=True))
    later = [e for e in range(epoch + 1, len(mended) + 1) if any(m.at in causes for m in mended[epoch:e])]
    pair = (float(rng.uniform(0.05, 1)), float(rng.uniform(0.05, 1))) if row and rng.random() < 0.2 else None
    if later and rng.random() < 0.5:
        return [counted(row, "bad", epoch, pair, until=later[0]), counted(row, "ok", later[0])]
    return [counted(row, "bad" if row is None or rng.random() < 0.5 else "ok", epoch, pair)]


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
    rows = {f.row: [g for g in found if g.row == f.row] for f in found}
    before, now, total = np.zeros(n), np.zeros(n), 0.0
    for combo in itertools.product(*choices):
        if most is not None and sum(last >= 0 for _, last in combo) > most:
            continue
        weight = math.prod(w for w, _ in combo)
        lasts = [last for _, last in combo]
        for row, readings in rows.items():
            weight *= row_chance(net, row, readings, lasts)
        total += weight
        before += weight * np.array([last >= 0 for last in lasts])
        now += weight * np.array([last == len(mended) for last in lasts])
    return before / total, now / total, total


def row_chance(net, row, readings, lasts):
    """P(all readings of a row | which faults were there until when): each cause shows for good, or never."""
    leak, causes = (0.0, tuple(enumerate(net.stops))) if row is None else (net.rows[row].leak, net.rows[row].causes)
    there = [(lasts[i], q) for i, q in causes if lasts[i] >= 0] + [(math.inf, leak)]
    if len(readings) == 1:
        (f,) = readings
        ok = math.prod(1.0 - q for last, q in there if last >= f.epoch)
        if_ok, if_bad = weights_of(f)
        return if_ok * ok + if_bad * (1.0 - ok)
    still = math.prod(1.0 - q for last, q in there[:-1] if last >= readings[1].epoch)
    total = leak * PASSING * weights_of(readings[0])[1] * still
    for shows in itertools.product((False, True), repeat=len(there)):
        chance = math.prod(q if on else 1.0 - q for on, (_, q) in zip(shows, there, strict=True))
        until = [last for on, (last, _) in zip(shows, there, strict=True) if on]
        for f in readings:
            chance *= weights_of(f)[any(last >= f.epoch for last in until)]
        total += chance
    return total


def weights_of(f):
    """(weight when the row is ok, weight when it is bad) of a finding."""
    return f.likelihood or ((1.0, 0.0) if f.outcome == "ok" else (0.0, 1.0))
