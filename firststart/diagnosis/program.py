"""From findings to a short program of table operations that gives exact chances.

The method is a dynamic program over the set of bad findings already explained ("cover"): a suspect that is there
explains bad finding k with chance q. Every term is a sum or product of positive numbers, so nothing cancels
(Heckerman's Quickscore, 1989, has the same order of cost with alternating signs, and loses digits).

A finding is opened in the table when its first suspect comes up and closed after its last, so the table only spans
the findings that overlap at that moment. The order that keeps it small is chosen greedily (as in variable
elimination). Suspects touched by nothing but the findings that most suspects share ("it does not start", "not a
cough") come last: their tables are small and alike, and are worked out together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.network import Numbers

SHARED = 3
"""At most this many findings are kept open to the end because most suspects share them, the tries apart."""
PASSING = 0.3
"""The part of false alarms that are gone at the next reading; the rest come again until their cause is found."""
State = tuple[float, tuple[tuple[int, float], ...]]
"""A way of being there: (weight, ((finding's bit, q), ...))."""


@dataclass(frozen=True)
class Mended:
    """A repair as numbers: the suspect's place, and the chance that it worked."""

    at: int
    success: float


@dataclass(frozen=True)
class Bit:
    """A finding that is not plainly good: leak, weight of the reading when ok and when bad, and its causes.

    `until` is the epoch in which the row turned good: what is still there then was not what made it bad.
    """

    leak: float
    if_ok: float
    if_bad: float
    causes: tuple[tuple[int, float], ...]
    epoch: int
    until: float
    tried: bool


@dataclass
class Sheet:
    """What the findings say about each suspect before any table is made."""

    constant: float
    bits: list[Bit]
    alone: list[float]
    states: list[list[State]]
    touched: list[set[int]] = field(default_factory=list)


@dataclass(frozen=True)
class Op:
    """One step: kind is "open" (leak), "close" (at, if_ok, if_bad) or "fault" (suspect, alone, states).

    The bits of `states` are already places in the table of that moment; `width` is the table's bits before it.
    """

    kind: str
    width: int
    at: int = 0
    leak: float = 0.0
    if_ok: float = 0.0
    if_bad: float = 0.0
    alone: float = 0.0
    states: tuple[State, ...] = ()


@dataclass(frozen=True)
class Program:
    """The ops in order. `narrow` is the range of ops that touch only the shared findings, so that their tables are
    small and alike; `free` are the suspects touched by nothing uncertain; `width` the most findings open at once."""

    constant: float
    ops: tuple[Op, ...]
    narrow: tuple[int, int]
    free: tuple[int, ...]
    width: int
    sheet: Sheet


def read_findings(numbers: Numbers, findings: Sequence[Counted], mended: Sequence[Mended]) -> Sheet:
    """Sort findings into factors for each suspect (plainly good) and bits (bad or graded)."""
    constant, bits, good = 1.0, [], []
    for found in findings:
        leak, causes = _row(numbers, found)
        if found.likelihood is None and found.outcome == "ok":
            constant *= 1.0 - leak
            good.append((found.epoch, dict(causes)))
            continue
        if_ok, if_bad = found.likelihood or (0.0, 1.0)
        if not causes:
            constant *= if_ok * (1.0 - leak) + if_bad * leak or 1.0
            continue
        bits.append(_bit(found, leak, (if_ok, if_bad), causes))
    return _sheet(numbers, constant, bits, good, _lives(numbers, mended))


def _bit(found: Counted, leak: float, weights: tuple[float, float], causes: tuple[tuple[int, float], ...]) -> Bit:
    """A finding as a bit. Where the row turned good later, only a false alarm that passes can have made it bad."""
    if found.until is None:
        return Bit(leak, *weights, causes, found.epoch, inf, found.row is None)
    passes = 1.0 - leak + PASSING * leak
    scale = passes / (1.0 - leak)
    if_ok, if_bad = (scale * w for w in weights)
    return Bit(PASSING * leak / passes, if_ok, if_bad, causes, found.epoch, found.until, found.row is None)


def _row(numbers: Numbers, found: Counted) -> tuple[float, tuple[tuple[int, float], ...]]:
    if found.row is None:
        return 0.0, tuple((i, s) for i, s in enumerate(numbers.stops) if s > 0.0)
    row = numbers.rows[found.row]
    return row.leak, row.causes


def _sheet(
    numbers: Numbers, constant: float, bits: list[Bit], good: list[tuple[int, dict[int, float]]],
    lives: list[list[tuple[float, float]]],
) -> Sheet:
    of_bits: list[list[tuple[int, float, float, float]]] = [[] for _ in numbers.prior]
    for k, bit in enumerate(bits):
        for i, q in bit.causes:
            of_bits[i].append((k, bit.epoch, bit.until, q))
    of_good: list[list[tuple[int, float]]] = [[] for _ in numbers.prior]
    for epoch, causes in good:
        for i, q in causes.items():
            of_good[i].append((epoch, 1.0 - q))
    sheet = Sheet(constant, bits, [1.0 - p for p in numbers.prior], [])
    for i, p in enumerate(numbers.prior):
        states = [_state(p * w, last, of_bits[i], of_good[i]) for w, last in lives[i]]
        sheet.states.append(states)
        sheet.touched.append({k for _, seen in states for k, _ in seen})
    return sheet


def _lives(numbers: Numbers, mended: Sequence[Mended]) -> list[list[tuple[float, float]]]:
    """For each suspect (chance, last epoch it is there): mended at each repair in turn, or still there for good."""
    lives: list[list[tuple[float, float]]] = [[] for _ in numbers.prior]
    left = [1.0] * len(lives)
    for epoch, repair in enumerate(mended):
        lives[repair.at].append((left[repair.at] * repair.success, float(epoch)))
        left[repair.at] *= 1.0 - repair.success
    return [[*life, (rest, inf)] for life, rest in zip(lives, left, strict=True)]


def _state(
    weight: float, last: float, bits: list[tuple[int, float, float, float]], good: list[tuple[int, float]],
) -> State:
    for epoch, factor in good:
        if epoch <= last:
            weight *= factor
    return weight, tuple((k, q) for k, epoch, until, q in bits if epoch <= last and (last < until or until == inf))


def make_program(sheet: Sheet, skip: frozenset[int] = frozenset()) -> Program:
    """Order the suspects and findings; findings in `skip` are left out (the sampler weighs them instead)."""
    touched = [t - skip for t in sheet.touched]
    shared = _shared(sheet, touched)
    free = tuple(i for i, t in enumerate(touched) if not t)
    narrow = [i for i, t in enumerate(touched) if t and t <= shared]
    wide = {i for i, t in enumerate(touched) if t and not t <= shared}
    maker = _Maker(sheet, touched, skip)
    while wide:
        k = maker.cheapest(wide, shared)
        for i in sorted(i for i in wide if k in touched[i]):
            maker.fault(i)
            wide.discard(i)
        maker.close_done(set().union(*(touched[i] for i in wide)) | shared)
    maker.open_all(shared)
    first = len(maker.ops)
    for i in narrow:
        maker.fault(i)
    last = len(maker.ops)
    alike = (first, last) if len(shared) <= SHARED else (last, last)
    maker.close_done(set())
    return Program(sheet.constant, tuple(maker.ops), alike, free, maker.width, sheet)


def _shared(sheet: Sheet, touched: list[set[int]]) -> set[int]:
    """Findings that most suspects can explain: every try, and the commonest others while they are few."""
    counts = {k: sum(k in t for t in touched) for k in set().union(*touched)} if touched else {}
    shared = {k for k in counts if sheet.bits[k].tried}
    for k in sorted(counts, key=lambda k: (-counts[k], k)):
        if len(shared) < SHARED and 2 * counts[k] > sum(bool(t) for t in touched):
            shared.add(k)
    return shared


class _Maker:
    """Keeps which findings are open in the table while the ops are written; `make_program` is its only user."""

    def __init__(self, sheet: Sheet, touched: list[set[int]], skip: frozenset[int]) -> None:
        self.sheet, self.touched, self.skip = sheet, touched, skip
        self.active: list[int] = []
        self.ops: list[Op] = []
        self.width = 0

    def open_all(self, findings: set[int]) -> None:
        for k in sorted(findings - set(self.active)):
            self.ops.append(Op("open", len(self.active), leak=self.sheet.bits[k].leak))
            self.active.append(k)
        self.width = max(self.width, len(self.active))

    def close_done(self, needed: set[int]) -> None:
        """Close every finding that no suspect still to come can explain."""
        for k in [k for k in self.active if k not in needed]:
            bit, at = self.sheet.bits[k], self.active.index(k)
            self.ops.append(Op("close", len(self.active), at, if_ok=bit.if_ok, if_bad=bit.if_bad))
            self.active.remove(k)

    def cheapest(self, wide: set[int], shared: set[int]) -> int:
        """The finding whose suspects open the fewest others; findings that are shared stay to the end."""
        def cost(k: int) -> tuple[int, int, int]:
            mine = [i for i in wide if k in self.touched[i]]
            opened = set().union(*(self.touched[i] for i in mine)) - set(self.active)
            return len(opened), len(mine), k

        return min({k for i in wide for k in self.touched[i]} - shared, key=cost)

    def fault(self, i: int) -> None:
        self.open_all(self.touched[i])
        where = {k: j for j, k in enumerate(self.active)}
        states = tuple(
            (w, tuple((where[k], q) for k, q in seen if k not in self.skip)) for w, seen in self.sheet.states[i]
        )
        self.ops.append(Op("fault", len(self.active), i, alone=self.sheet.alone[i], states=states))
