"""Exact joint draws of the faults that are there, given the findings. Deterministic for a given seed. Needs numpy."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.infer import Chances, Solution, Table, free_states
from firststart.diagnosis.program import Bit, Op, State

Draws = NDArray[np.int8]
"""One row a draw, one column a suspect: 0 is not there, k its k-th way of being there; the last is "there now"."""
FALLBACK_DRAWS = 20_000
_MOST = 1 << 20  # numbers of one table
_TINY = 1e-300  # in place of nothing, where no draw ever comes
_NEVER = 1e-12  # the least chance to come past a suspect that must be there


def draw_states(solution: Solution, count: int, seed: int) -> Draws:
    """`count` independent draws from the exact joint distribution, given the findings in the table."""
    random = np.random.default_rng(seed)
    program, (first, last) = solution.program, solution.program.narrow
    drawn = np.zeros((count, len(program.sheet.alone)), dtype=np.int8)
    at = np.zeros(count, dtype=np.int64)
    for i in program.free:
        hit, way = _there(random, np.array(free_states(program.sheet, i))[:, None], at)
        drawn[hit, i] = way + 1
    for op, worth, before in zip(program.ops[:first], solution.worths[:first], solution.before, strict=True):
        at = _step(random, op, worth, before, at, drawn)
    if last > first:
        _Jumps(solution).draw(random, at, drawn)
    return drawn


def _there(
    random: np.random.Generator, there: Table, at: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The draws in which a suspect is there, and in which of its ways. `there` are the chances, ways x states."""
    sums = np.cumsum(there, axis=0)
    spin = random.random(len(at))
    hit = np.flatnonzero(spin < sums[-1][at])
    if len(sums) == 1:
        return hit, np.zeros_like(hit)
    return hit, (spin[hit] >= sums[:-1, at[hit]]).sum(axis=0)


def _step(
    random: np.random.Generator, op: Op, worth: Table, before: tuple[Table, ...], at: NDArray[np.int64], drawn: Draws,
) -> NDArray[np.int64]:
    """The states after `op`; who is there is written into `drawn`."""
    if op.kind == "open":
        half = len(worth) // 2
        on, off = op.leak * worth[at + half], (1.0 - op.leak) * worth[at]
        return at + half * (random.random(len(at)) * (on + off) < on)
    if op.kind == "close":
        return (at & ((1 << op.at) - 1)) | ((at >> (op.at + 1)) << op.at)
    ways = np.stack([w * table for (w, _), table in zip(op.states, before, strict=True)])
    hit, way = _there(random, ways / np.maximum(op.alone * worth + ways.sum(axis=0), _TINY), at)
    drawn[hit, op.at] = way + 1
    for k, (_, bits) in enumerate(op.states):
        mine = hit[way == k] if len(op.states) > 1 else hit
        if len(mine) and bits:
            at[mine] = _explain(random, bits, worth, at[mine])
    return at


def _explain(
    random: np.random.Generator, bits: tuple[tuple[int, float], ...], worth: Table, at: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Draw which findings a suspect that is there explains: one of all sets of its `bits`."""
    masks, chances = np.zeros(1, dtype=np.int64), np.ones(1)
    for place, q in bits:
        masks = np.concatenate((masks, masks | (1 << place)))
        chances = np.concatenate((chances * (1.0 - q), chances * q))
    piece = max(1, _MOST // len(masks))
    some = [at[n:n + piece] for n in range(0, len(at), piece)]
    return np.concatenate([
        s | masks[_pick(random, chances[:, None] * worth[s | masks[:, None]])] for s in some
    ])


def _pick(random: np.random.Generator, weights: Table) -> NDArray[np.int64]:
    """In each column the place of one of its weights, in proportion to them."""
    sums = np.cumsum(weights, axis=0)
    found: NDArray[np.int64] = (random.random(weights.shape[1]) * sums[-1] >= sums[:-1]).sum(axis=0)
    return found


class _Jumps:
    """Draws the suspects that touch shared findings alone: each draw jumps to the next suspect that is there.

    While nothing is there the state stays, so the chance to come past some suspects is a product; where it falls
    below a random number, the next one is there. `past` is minus the log of that product, suspects x states.
    """

    def __init__(self, solution: Solution) -> None:
        first, last = solution.program.narrow
        self.narrow = solution.narrow
        worths = np.array(solution.worths[first:last])
        ways = self.narrow.weight[:, None] * self.narrow.before
        self.begin = np.searchsorted(self.narrow.owner, np.arange(len(worths) + 1))
        there = np.add.reduceat(ways, self.begin[:-1], axis=0)
        absent = np.array([op.alone for op in self.narrow.ops])[:, None] * worths
        self.past = np.cumsum(-np.log(np.maximum(absent / np.maximum(absent + there, _TINY), _NEVER)), axis=0)
        self.ways = ways / np.maximum(there[self.narrow.owner], _TINY)
        self.explained = self.narrow.turns * worths[self.narrow.owner][:, :, None]
        self.suspects = np.array([op.at for op in self.narrow.ops])

    def draw(self, random: np.random.Generator, state: NDArray[np.int64], drawn: Draws) -> None:
        """Fill in `drawn`, beginning in each draw's `state`."""
        suspects, states = self.past.shape
        apart = float(self.past.max()) + 2.0  # the states one behind the other, so that one search serves them all
        line = (self.past + apart * np.arange(states)).T.ravel()
        draws, gone = np.arange(len(state)), np.zeros(len(state))
        while len(draws):
            target = np.minimum(gone + random.exponential(size=len(draws)), apart - 1.0)
            found = np.searchsorted(line, target + apart * state) - suspects * state
            hit = found < suspects
            draws, state, found = draws[hit], state[hit], found[hit]
            way = self._way(random, found, state)
            drawn[draws, self.suspects[found]] = way - self.begin[found] + 1
            state = _pick(random, self.explained[way, :, state].T)
            gone = self.past[found, state]

    def _way(
        self, random: np.random.Generator, found: NDArray[np.int64], state: NDArray[np.int64],
    ) -> NDArray[np.int64]:
        """For each suspect found, one of its ways of being there: of one that was mended there are several."""
        way, last = self.begin[found], self.begin[found + 1] - 1
        left = random.random(len(found)) if (way < last).any() else np.zeros(len(found))
        while True:
            left = left - self.ways[way, state]
            more = (left >= 0.0) & (way < last)
            if not more.any():
                return way
            way = way + more


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
