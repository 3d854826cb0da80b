"""Exact joint draws of the faults that are there, given the findings. Deterministic for a given seed. Needs numpy."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.infer import Chances, Solution, Table, down, free_states
from firststart.diagnosis.program import Bit, Op, State

Draws = NDArray[np.int8]
"""One row a draw, one column a suspect: 0 is not there, k its k-th way of being there; the last is "there now"."""
FALLBACK_DRAWS = 20_000


def draw_states(solution: Solution, count: int, seed: int) -> Draws:
    """`count` independent draws from the exact joint distribution, given the findings in the table."""
    random = np.random.default_rng(seed)
    program = solution.program
    drawn = np.zeros((count, len(program.sheet.alone)), dtype=np.int8)
    at = np.zeros(count, dtype=np.int64)
    for i in program.free:
        drawn[:, i] = _choose(random, [np.array([c]) for c in _with_absent(free_states(program.sheet, i))], at)
    for op, worth in zip(program.ops, solution.worths, strict=True):
        at = _step(random, op, worth, at, drawn)
    return drawn


def _with_absent(states: Sequence[float]) -> list[float]:
    return [max(0.0, 1.0 - sum(states)), *states]


def _choose(random: np.random.Generator, weights: list[Table], at: NDArray[np.int64]) -> NDArray[np.int8]:
    """For each draw one of the ways, in proportion to their weights in the state that the draw is in."""
    if len(weights) == 2:
        chosen = random.random(len(at)) * (weights[0] + weights[1])[at] >= weights[0][at]
        return chosen.view(np.int8)
    sums = np.cumsum(np.stack(weights), axis=0)[:, at]
    spin = random.random(len(at)) * sums[-1]
    found: NDArray[np.int8] = (spin >= sums[:-1]).sum(axis=0).astype(np.int8)
    return found


def _step(random: np.random.Generator, op: Op, worth: Table, at: NDArray[np.int64], drawn: Draws) -> NDArray[np.int64]:
    if op.kind == "open":
        half = len(worth) // 2
        on, off = op.leak * worth[at + half], (1.0 - op.leak) * worth[at]
        return at + half * (random.random(len(at)) * (on + off) < on)
    if op.kind == "close":
        return (at & ((1 << op.at) - 1)) | ((at >> (op.at + 1)) << op.at)
    chains = [_chain(worth, bits) for _, bits in op.states]
    weights = [op.alone * worth, *(w * chain[-1] for (w, _), chain in zip(op.states, chains, strict=True))]
    chosen = _choose(random, weights, at)
    drawn[:, op.at] = chosen
    for k, ((_, bits), chain) in enumerate(zip(op.states, chains, strict=True), start=1):
        mine = np.flatnonzero(chosen == k)
        if len(mine) and bits:
            at[mine] = _explain(random, bits, chain, at[mine])
    return at


def _chain(worth: Table, bits: tuple[tuple[int, float], ...]) -> list[Table]:
    """The worth before each finding is explained, the last finding first."""
    chain = [worth]
    for bit in reversed(bits):
        chain.append(down(chain[-1], (bit,)))
    return chain


def _explain(
    random: np.random.Generator, bits: tuple[tuple[int, float], ...], chain: list[Table], at: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Draw which findings a suspect that is there explains, one by one."""
    for k, (place, q) in enumerate(bits):
        after, before = chain[len(bits) - k - 1], chain[len(bits) - k]
        mark = 1 << place
        unset = (at & mark) == 0
        turns = random.random(len(at)) * before[at] < q * after[at | mark]
        at = at | np.where(unset & turns, mark, 0)
    return at


def weigh(solution: Solution, drawn: Draws) -> Table:
    """The weight of each draw: the chance of the findings that were left out of the table."""
    sheet = solution.program.sheet
    weights = np.ones(len(drawn))
    for k in sorted(solution.left_out):
        weights *= _chance_of(sheet.bits[k], k, sheet.states, drawn)
    return weights


def _chance_of(bit: Bit, k: int, states: list[list[State]], drawn: Draws) -> Table:
    ok = np.full(len(drawn), 1.0 - bit.leak)
    for i, q in bit.causes:
        sees = np.array([1.0, *(1.0 - q if k in dict(seen) else 1.0 for _, seen in states[i])])
        ok *= sees[drawn[:, i]]
    return bit.if_ok * ok + bit.if_bad * (1.0 - ok)


def answer(solution: Solution, count: int, seed: int) -> tuple[Chances, NDArray[np.bool_]]:
    """The chances, and `count` draws of what is there now; weighed draws where the table could not hold it all."""
    last = np.array([len(s) for s in solution.program.sheet.states], dtype=np.int8)
    if not solution.left_out:
        return solution.chances, draw_states(solution, count, seed) == last
    drawn = draw_states(solution, FALLBACK_DRAWS, seed)
    weights = weigh(solution, drawn)
    total = float(weights.sum())
    share = weights / total
    now = drawn == last
    chances = Chances(
        tuple(float(v) for v in share @ (drawn > 0)), tuple(float(v) for v in share @ now),
        solution.chances.evidence * total / len(drawn), float(1.0 / (share @ share)),
    )
    return chances, now[_spread(share, count, seed)]


def _spread(share: Table, count: int, seed: int) -> NDArray[np.int64]:
    """Systematic resampling: `count` draws in proportion to `share`."""
    start = np.random.default_rng(seed + 1).random()
    wanted = (start + np.arange(count)) / count
    return np.minimum(np.searchsorted(np.cumsum(share), wanted), len(share) - 1)
