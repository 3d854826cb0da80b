"""Exact chances of several faults at once, and exact joint samples. Needs numpy.

`solve` runs the program of `program.py` backwards, `Solution.chances` forwards. When too many bad findings overlap,
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
from firststart.diagnosis.program import Mended, Op, Program, Sheet, State, make_program, read_findings

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


def backward(worth: Table, op: Op) -> Table:
    """The adjoint of `forward`."""
    if op.kind == "open":
        half = len(worth) // 2
        return (1.0 - op.leak) * worth[:half] + op.leak * worth[half:]
    if op.kind == "close":
        view = worth.reshape(-1, 1, 1 << op.at)
        return np.concatenate((op.if_ok * view, op.if_bad * view), axis=1).reshape(-1)
    out = op.alone * worth
    for weight, bits in op.states:
        out += weight * down(worth, bits) if bits else weight * worth
    return out


@dataclass
class Solution:
    """A program with the worth of every state after each op; gives chances and draws."""

    program: Program
    worths: list[Table]
    tail_worths: list[tuple[float, float]]
    evidence: float
    """The chance of the findings, the suspects of `program.free` apart."""
    left_out: frozenset[int] = field(default_factory=frozenset)

    @cached_property
    def states(self) -> list[list[float]]:
        """For each suspect, the chance of each of its ways of being there."""
        found: list[list[float]] = [[] for _ in self.program.sheet.alone]
        for i in self.program.free:
            found[i] = _free(self.program.sheet, i)
        table = np.array([self.program.constant])
        for op, worth in zip(self.program.ops, self.worths, strict=True):
            if op.kind == "fault":
                found[op.at] = [
                    w * float(table @ (down(worth, bits) if bits else worth)) / self.evidence for w, bits in op.states
                ]
            table = forward(table, op)
        self._tail(float(table[0]), float(table[-1]), found)
        return found

    def _tail(self, ok: float, bad: float, found: list[list[float]]) -> None:
        for op, (worth_ok, worth_bad) in zip(self.program.tail, self.tail_worths, strict=True):
            keep, total, turn = _pair(op)
            found[op.at] = [
                w * (ok * ((1.0 - q) * worth_ok + q * worth_bad) + bad * worth_bad) / self.evidence
                for w, q in _single(op.states)
            ]
            ok, bad = keep * ok, total * bad + turn * ok

    @property
    def chances(self) -> Chances:
        """The marginal chances."""
        sheet, evidence = self.program.sheet, self.evidence
        for i in self.program.free:
            evidence *= sheet.alone[i] + sum(w for w, _ in sheet.states[i])
        return Chances(
            tuple(min(1.0, sum(s)) for s in self.states), tuple(min(1.0, s[-1]) for s in self.states), evidence,
        )


def solve(numbers: Numbers, findings: Sequence[Counted], mended: Sequence[Mended] = ()) -> Solution:
    """Exact solution of the findings and repairs (or of as many as fit; see `Solution.left_out`)."""
    sheet = read_findings(numbers, findings, mended)
    program, skip = make_program(sheet), frozenset[int]()
    while program.width > WIDEST:
        skip |= {_widest(sheet, skip)}
        program = make_program(sheet, skip)
    ok, bad = program.tail_weights
    tail_worths = []
    for op in reversed(program.tail):
        tail_worths.append((ok, bad))
        keep, total, turn = _pair(op)
        ok, bad = keep * ok + turn * bad, total * bad
    worth = np.array([ok, bad]) if program.tail_weights != (1.0, 1.0) else np.ones(1)
    worths = []
    for op in reversed(program.ops):
        worths.append(worth)
        worth = backward(worth, op)
    evidence = program.constant * float(worth[0])
    return Solution(program, worths[::-1], tail_worths[::-1], evidence, skip)


def _widest(sheet: Sheet, skip: frozenset[int]) -> int:
    """The finding to leave out next: the one with the most causes, the tries kept."""
    left = [k for k, b in enumerate(sheet.bits) if k not in skip and not b.tried]
    return max(left or [k for k in range(len(sheet.bits)) if k not in skip], key=lambda k: len(sheet.bits[k].causes))


def _free(sheet: Sheet, i: int) -> list[float]:
    total = sheet.alone[i] + sum(w for w, _ in sheet.states[i])
    return [w / total for w, _ in sheet.states[i]]


def _single(states: Sequence[State]) -> list[tuple[float, float]]:
    return [(w, bits[0][1] if bits else 0.0) for w, bits in states]


def _pair(op: Op) -> tuple[float, float, float]:
    """A suspect of the tail as three numbers: stays unexplained, all together, turns to explained."""
    single = _single(op.states)
    turn = sum(w * q for w, q in single)
    keep = op.alone + sum(w * (1.0 - q) for w, q in single)
    return keep, op.alone + sum(w for w, _ in single), turn
