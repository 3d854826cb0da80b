"""Exact chances of several faults at once, and exact joint samples. Needs numpy.

`solve` runs the program backwards, `Solution.chances` forwards. When too many bad findings overlap,
`solve` leaves the widest out of the table, draws from the rest and weighs the draws by what was left out; the
solution then says `exact = False` and carries the number of draws it is worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.network import Numbers
from firststart.diagnosis.program import Mended, Op, Program, Sheet, make_program, read_findings
from firststart.errors import InputError

Table = NDArray[np.float64]
WIDEST = 16
"""Findings that may overlap in the table: 2**16 numbers, about 0.2 s. Beyond it, draws are weighed."""


@dataclass(frozen=True)
class Chances:
    """For each suspect: `before`, the chance that it was there; `now`, that it is there after the repairs.

    `evidence` is the chance of all findings together. `worth` is None for exact work, else the effective number
    of draws.
    """

    before: tuple[float, ...]
    now: tuple[float, ...]
    evidence: float
    worth: float | None = None

    @property
    def exact(self) -> bool:
        """True when nothing was sampled."""
        return self.worth is None


def up(table: Table, bits: Sequence[tuple[int, float]]) -> Table:
    """The table after a suspect that is there has explained each of `bits` with its chance."""
    out = table.copy()
    for at, q in bits:
        view = out.reshape(-1, 2, 1 << at)
        low, high = view[:, 0], view[:, 1]
        high += q * low
        low *= 1.0 - q
    return out


def down(table: Table, bits: Sequence[tuple[int, float]]) -> Table:
    """The adjoint of `up`: what each state is worth before the suspect explains its findings."""
    out = table.copy()
    for at, q in reversed(bits):
        view = out.reshape(-1, 2, 1 << at)
        low, high = view[:, 0], view[:, 1]
        low *= 1.0 - q
        low += q * high
    return out


def forward(table: Table, op: Op) -> Table:
    """The table after `op`."""
    if op.kind == "open":
        return np.concatenate(((1.0 - op.leak) * table, op.leak * table))
    if op.kind == "close":
        view = table.reshape(-1, 2, 1 << op.at)
        kept = op.if_bad * view[:, 1]
        return (kept if op.if_ok == 0.0 else kept + op.if_ok * view[:, 0]).reshape(-1)
    out = op.alone * table
    for weight, bits in op.states:
        out += weight * up(table, bits) if bits else weight * table
    return out


def backward(worth: Table, op: Op) -> tuple[Table, tuple[Table, ...]]:
    """The adjoint of `forward`, and for a suspect the worth before each of its ways of being there."""
    if op.kind == "open":
        half = len(worth) // 2
        return (1.0 - op.leak) * worth[:half] + op.leak * worth[half:], ()
    if op.kind == "close":
        view = worth.reshape(-1, 1, 1 << op.at)
        return np.concatenate((op.if_ok * view, op.if_bad * view), axis=1).reshape(-1), ()
    downs = tuple(down(worth, bits) if bits else worth for _, bits in op.states)
    out = op.alone * worth
    for (weight, _), table in zip(op.states, downs, strict=True):
        out += weight * table
    return out, downs


@dataclass
class Solution:
    """A program with the worth of every state after each op; gives chances and draws.

    `worths[n]` is the worth of each state after op n, `before[n]` the worth before each way of being there of op n.
    """

    program: Program
    worths: list[Table]
    before: list[tuple[Table, ...]]
    narrow: Narrow
    evidence: float
    """The chance of the findings, the suspects of `program.free` apart."""
    left_out: frozenset[int] = field(default_factory=frozenset)

    @cached_property
    def states(self) -> list[list[float]]:
        """For each suspect, the chance of each of its ways of being there."""
        found: list[list[float]] = [[] for _ in self.program.sheet.alone]
        for i in self.program.free:
            found[i] = free_states(self.program.sheet, i)
        first, _ = self.program.narrow
        table = np.array([self.program.constant])
        for op, before in zip(self.program.ops[:first], self.before[:first], strict=True):
            if op.kind == "fault":
                found[op.at] = [
                    w * float(table @ d) / self.evidence for (w, _), d in zip(op.states, before, strict=True)
                ]
            table = forward(table, op)
        self.narrow.chances(table, self.evidence, found)
        return found

    @property
    def chances(self) -> Chances:
        """The marginal chances."""
        sheet, evidence = self.program.sheet, self.evidence
        for i in self.program.free:
            evidence *= sheet.alone[i] + sum(w for w, _ in sheet.states[i])
        return Chances(
            tuple(min(1.0, sum(s)) for s in self.states), tuple(min(1.0, s[-1]) for s in self.states), evidence,
        )


class Narrow:
    """The ops that touch only shared findings, worked out together as small matrices."""

    def __init__(self, ops: Sequence[Op]) -> None:
        self.ops = ops
        self.owner = np.array([n for n, op in enumerate(ops) for _ in op.states], dtype=np.int64)
        self.weight = np.array([w for op in ops for w, _ in op.states])
        self.turns = _turns(ops)
        size = self.turns.shape[1]
        self.steps = np.array([op.alone for op in ops])[:, None, None] * np.eye(size)
        np.add.at(self.steps, self.owner, self.weight[:, None, None] * self.turns)
        self.before: Table = np.empty((0, size))

    def backward(self, worth: Table) -> tuple[Table, list[Table]]:
        """The worth before all ops, and the worths after each."""
        worths = []
        for step in self.steps[::-1]:
            worths.append(worth)
            worth = worth @ step
        worths.reverse()
        if worths:
            self.before = np.einsum("pi,pij->pj", np.array(worths)[self.owner], self.turns)
        return worth, worths

    def chances(self, table: Table, evidence: float, found: list[list[float]]) -> None:
        """Fill in the chance of each way of being there, from the table before all ops."""
        tables = []
        for step in self.steps:
            tables.append(table)
            table = step @ table
        if not tables:
            return
        chances = self.weight * np.einsum("pj,pj->p", np.array(tables)[self.owner], self.before) / evidence
        for n, chance in zip(self.owner.tolist(), chances.tolist(), strict=True):
            found[self.ops[n].at].append(chance)


def _turns(ops: Sequence[Op]) -> Table:
    """For each way of being there, the matrix that explains its findings (new state, old state)."""
    width = ops[0].width if ops else 0
    ways = [bits for op in ops for _, bits in op.states]
    turns = np.ones((len(ways), 1, 1))
    for at in range(width):
        q = np.array([dict(bits).get(at, 0.0) for bits in ways])
        one = np.zeros((len(ways), 2, 2))
        one[:, 0, 0], one[:, 1, 0], one[:, 1, 1] = 1.0 - q, q, 1.0
        size = turns.shape[1]
        turns = np.einsum("pab,pij->paibj", one, turns).reshape(-1, 2 * size, 2 * size)
    return turns


def solve(numbers: Numbers, findings: Sequence[Counted], mended: Sequence[Mended] = ()) -> Solution:
    """Exact solution of the findings and repairs (or of as many as fit; see `Solution.left_out`)."""
    sheet = read_findings(numbers, findings, mended)
    program, skip = make_program(sheet), frozenset[int]()
    while program.width > WIDEST:
        skip |= {_widest(sheet, skip)}
        program = make_program(sheet, skip)
    solution = _run_back(program, skip)
    if solution.evidence > 0.0:
        return solution
    kept = [f for f in findings if f.until is None]
    if len(kept) == len(findings):
        raise InputError("These findings contradict each other; correct the one that is wrong.")
    return solve(numbers, kept, mended)  # what turned good did so by something the book does not know


def _run_back(program: Program, skip: frozenset[int]) -> Solution:
    first, last = program.narrow
    narrow = Narrow(program.ops[first:last])
    worth, worths, before = np.ones(1), [], []
    for op in reversed(program.ops[last:]):
        worths.append(worth)
        worth = backward(worth, op)[0]
    worth, small = narrow.backward(worth)
    worths += reversed(small)
    for op in reversed(program.ops[:first]):
        worths.append(worth)
        worth, downs = backward(worth, op)
        before.append(downs)
    return Solution(
        program, worths[::-1], before[::-1], narrow, program.constant * float(worth[0]), skip,
    )


def _widest(sheet: Sheet, skip: frozenset[int]) -> int:
    """The finding to leave out next: the one with the most causes, the tries kept."""
    left = [k for k, b in enumerate(sheet.bits) if k not in skip and not b.tried]
    return max(left or [k for k in range(len(sheet.bits)) if k not in skip], key=lambda k: len(sheet.bits[k].causes))


def free_states(sheet: Sheet, i: int) -> list[float]:
    """The chances of a suspect that no uncertain finding touches: prior odds times what the good findings leave."""
    total = sheet.alone[i] + sum(w for w, _ in sheet.states[i])
    return [w / total for w, _ in sheet.states[i]]
