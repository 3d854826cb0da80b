"""From findings to a short program of table operations that gives exact chances.

The method is a dynamic program over the set of bad findings already explained ("cover"): a suspect that is there
explains bad finding k with chance q. Every term is a sum or product of positive numbers, so nothing cancels
(Heckerman's Quickscore, 1989, has the same order of cost with alternating signs, and loses digits).

A finding is opened in the table when its first suspect comes up and closed after its last, so the table only spans
the findings that overlap at that moment. The order that keeps it small is chosen greedily (as in variable
elimination). Suspects touched by nothing but one "it does not start" are kept apart: two numbers do for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.network import Numbers

State = tuple[float, tuple[tuple[int, float], ...]]
"""A way of being there: (weight, ((finding's bit, q), ...))."""


@dataclass(frozen=True)
class Mended:
    """A repair as numbers: the suspect's place, and the chance that it worked."""

    at: int
    success: float


@dataclass(frozen=True)
class Bit:
    """A finding that is not plainly good: leak, weight of the reading when ok and when bad, and its causes."""

    leak: float
    if_ok: float
    if_bad: float
    causes: tuple[tuple[int, float], ...]
    epoch: int
    tried: bool
    source: int


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
    """The ops in order; `tail` are suspects touched only by the one try; `free` by nothing uncertain."""

    constant: float
    ops: tuple[Op, ...]
    tail: tuple[Op, ...]
    tail_weights: tuple[float, float]
    free: tuple[int, ...]
    width: int
    sheet: Sheet


def read_findings(numbers: Numbers, findings: Sequence[Counted], mended: Sequence[Mended]) -> Sheet:
    """Sort findings into factors for each suspect (plainly good) and bits (bad or graded)."""
    constant, bits, good = 1.0, [], []
    for source, found in enumerate(findings):
        leak, causes = _row(numbers, found)
        if found.likelihood is None and found.outcome == "ok":
            constant *= 1.0 - leak
            good.append((found.epoch, dict(causes)))
            continue
        if_ok, if_bad = found.likelihood or (0.0, 1.0)
        if not causes:
            constant *= if_ok * (1.0 - leak) + if_bad * leak if found.row is not None else 1.0
            continue
        bits.append(Bit(leak, if_ok, if_bad, causes, found.epoch, found.row is None, source))
    return _sheet(numbers, constant, bits, good, mended)


def _row(numbers: Numbers, found: Counted) -> tuple[float, tuple[tuple[int, float], ...]]:
    if found.row is None:
        return 0.0, tuple((i, s) for i, s in enumerate(numbers.stops) if s > 0.0)
    row = numbers.rows[found.row]
    return row.leak, row.causes


def _sheet(
    numbers: Numbers, constant: float, bits: list[Bit], good: list[tuple[int, dict[int, float]]],
    mended: Sequence[Mended],
) -> Sheet:
    of_bits: list[list[tuple[int, int, float]]] = [[] for _ in numbers.prior]
    for k, bit in enumerate(bits):
        for i, q in bit.causes:
            of_bits[i].append((k, bit.epoch, q))
    of_good: list[list[tuple[int, float]]] = [[] for _ in numbers.prior]
    for epoch, causes in good:
        for i, q in causes.items():
            of_good[i].append((epoch, 1.0 - q))
    sheet = Sheet(constant, bits, [1.0 - p for p in numbers.prior], [])
    for i, p in enumerate(numbers.prior):
        states = [_state(p * w, last, of_bits[i], of_good[i]) for w, last in _lives(i, mended)]
        sheet.states.append(states)
        sheet.touched.append({k for _, seen in states for k, _ in seen})
    return sheet


def _lives(at: int, mended: Sequence[Mended]) -> list[tuple[float, float]]:
    """(chance, last epoch it is there): mended at each repair in turn, and at the end still there for good."""
    lives, left = [], 1.0
    for epoch, repair in enumerate(mended):
        if repair.at == at:
            lives.append((left * repair.success, float(epoch)))
            left *= 1.0 - repair.success
    return [*lives, (left, inf)]


def _state(weight: float, last: float, bits: list[tuple[int, int, float]], good: list[tuple[int, float]]) -> State:
    for epoch, factor in good:
        if epoch <= last:
            weight *= factor
    return weight, tuple((k, q) for k, epoch, q in bits if epoch <= last)


def make_program(sheet: Sheet, skip: frozenset[int] = frozenset()) -> Program:
    """Order the suspects and findings; findings in `skip` are left out (the sampler weighs them instead)."""
    tries = [k for k, b in enumerate(sheet.bits) if b.tried and k not in skip]
    touched = [t - skip for t in sheet.touched]
    lone = tries[0] if len(tries) == 1 else None
    tail = [i for i, t in enumerate(touched) if lone is not None and t == {lone}]
    free = tuple(i for i, t in enumerate(touched) if not t)
    rest = {i for i, t in enumerate(touched) if t} - set(tail)
    maker = _Maker(sheet, touched, skip)
    for k in tries:
        maker.open(k)
    while rest:
        k = maker.cheapest(rest, set(tries))
        for i in sorted(i for i in rest if k in touched[i] or k < 0):
            maker.fault(i)
            rest.discard(i)
        if k >= 0:
            maker.close(k)
    for k in list(maker.active):
        if k != lone:
            maker.close(k)
    weights = (sheet.bits[lone].if_ok, sheet.bits[lone].if_bad) if lone is not None else (1.0, 1.0)
    last = tuple(maker.tail(i) for i in tail)
    return Program(sheet.constant, tuple(maker.ops), last, weights, free, maker.width, sheet)


class _Maker:
    """Keeps which findings are open in the table while the ops are written; `make_program` is its only user."""

    def __init__(self, sheet: Sheet, touched: list[set[int]], skip: frozenset[int]) -> None:
        self.sheet, self.touched, self.skip = sheet, touched, skip
        self.active: list[int] = []
        self.closed: set[int] = set()
        self.ops: list[Op] = []
        self.width = 0

    def open(self, k: int) -> None:
        self.ops.append(Op("open", len(self.active), leak=self.sheet.bits[k].leak))
        self.active.append(k)
        self.width = max(self.width, len(self.active))

    def close(self, k: int) -> None:
        bit, at = self.sheet.bits[k], self.active.index(k)
        self.ops.append(Op("close", len(self.active), at, if_ok=bit.if_ok, if_bad=bit.if_bad))
        self.active.remove(k)
        self.closed.add(k)

    def cheapest(self, rest: set[int], tries: set[int]) -> int:
        """The finding whose suspects open the fewest others; -1 when only tries are left."""
        best, best_key = -1, (10**9, 10**9, 0)
        for k in sorted({k for i in rest for k in self.touched[i]} - tries):
            mine = [i for i in rest if k in self.touched[i]]
            opened = set().union(*(self.touched[i] for i in mine)) - set(self.active)
            key = (len(opened), len(mine), k)
            if key < best_key:
                best, best_key = k, key
        return best

    def fault(self, i: int) -> None:
        for k in sorted(self.touched[i] - set(self.active)):
            self.open(k)
        self.ops.append(Op("fault", len(self.active), i, alone=self.sheet.alone[i], states=self.states(i)))

    def tail(self, i: int) -> Op:
        return Op("fault", 1, i, alone=self.sheet.alone[i], states=self.states(i))

    def states(self, i: int) -> tuple[State, ...]:
        where = {k: j for j, k in enumerate(self.active)}
        return tuple(
            (w, tuple((where[k], q) for k, q in seen if k not in self.skip)) for w, seen in self.sheet.states[i]
        )
