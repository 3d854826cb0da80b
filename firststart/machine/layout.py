"""A layered drawing of a graph: who stands in which row and where, and by which points the lines go.

The steps are those of Sugiyama, Tagawa and Toda (1981): turn loops round, put every node a row below all that
lead to it, order the rows by the middle of their neighbours until fewer lines cross, and place them. The places
in a row are exact: the least squares distance to the neighbours under least gaps is an isotonic regression,
found by pooling adjacent violators.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
GAP_X, GAP_Y = 34.0, 58.0
_SWEEPS, _PLACINGS = 16, 24


@dataclass(frozen=True)
class Size:
    """Width and height of a node."""

    width: float
    height: float


@dataclass(frozen=True)
class Drawing:
    """Centres of the nodes, the points of each line from its source to its target, which lines go up, and the size."""

    centres: dict[str, Point]
    lines: tuple[tuple[Point, ...], ...]
    upward: tuple[bool, ...]
    width: float
    height: float


def arrange(sizes: Mapping[str, Size], edges: Sequence[tuple[str, str]], first: str) -> Drawing:
    """Place every node of `sizes` (all reachable from `first`), and route the `edges` in their order."""
    turned = _loops(sizes, edges, first)
    down = [(b, a) if up else (a, b) for (a, b), up in zip(edges, turned, strict=True)]
    rows = _rows(sizes, down)
    chains = _chains(rows, down)
    order = _order(rows, chains)
    widths = {name: sizes[name].width if name in sizes else 8.0 for row in order for name in row}
    xs = _places(order, chains, widths)
    return _draw(sizes, order, chains, turned, xs)


def _loops(sizes: Mapping[str, Size], edges: Sequence[tuple[str, str]], first: str) -> list[bool]:
    """Which edges lead back to a node on the way to them: those are turned round."""
    leaving: dict[str, list[int]] = {name: [] for name in sizes}
    for number, (a, _b) in enumerate(edges):
        leaving[a].append(number)
    turned, state = [False] * len(edges), {first: 1}
    stack = [(first, iter(leaving[first]))]
    while stack:
        here, numbers = stack[-1]
        for number in numbers:
            target = edges[number][1]
            if state.get(target) == 1:
                turned[number] = True
            elif target not in state:
                state[target] = 1
                stack.append((target, iter(leaving[target])))
                break
        else:
            state[here] = 2
            stack.pop()
    return turned


def _rows(sizes: Mapping[str, Size], down: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Each node's row: one below the lowest that leads to it."""
    into = dict.fromkeys(sizes, 0)
    leaving: dict[str, list[str]] = {name: [] for name in sizes}
    for a, b in down:
        if a != b:
            into[b] += 1
            leaving[a].append(b)
    rows = dict.fromkeys(sizes, 0)
    ready = deque(name for name in sizes if into[name] == 0)
    while ready:
        here = ready.popleft()
        for target in leaving[here]:
            rows[target] = max(rows[target], rows[here] + 1)
            into[target] -= 1
            if into[target] == 0:
                ready.append(target)
    return rows


def _chains(rows: dict[str, int], down: Sequence[tuple[str, str]]) -> list[list[str]]:
    """Each edge as the nodes it passes, with a bend in every row between; adds the bends to `rows`."""
    chains = []
    for number, (a, b) in enumerate(down):
        bends = [f"*{number}.{row}" for row in range(rows[a] + 1, rows[b])]
        rows.update({bend: rows[a] + 1 + n for n, bend in enumerate(bends)})
        chains.append([a, *bends, b])
    return chains


def _order(rows: Mapping[str, int], chains: Sequence[Sequence[str]]) -> list[list[str]]:
    """The order in each row with the fewest crossings that sweeping down and up finds."""
    order: list[list[str]] = [[] for _ in range(max(rows.values()) + 1)]
    for name, row in rows.items():
        order[row].append(name)
    above, below = _neighbours(rows, chains)
    best, fewest = [list(row) for row in order], _crossings(order, below)
    for sweep in range(_SWEEPS):
        downward = sweep % 2 == 0
        numbers = range(1, len(order)) if downward else range(len(order) - 2, -1, -1)
        for number in numbers:
            _sort_row(order, number, above if downward else below, -1 if downward else 1)
        crossings = _crossings(order, below)
        if crossings < fewest:
            best, fewest = [list(row) for row in order], crossings
    return best


def _sort_row(order: list[list[str]], number: int, near: Mapping[str, list[str]], step: int) -> None:
    """Order one row by the mean place of its neighbours in the row beside it."""
    place = {name: n for n, name in enumerate(order[number + step])}
    own = {name: n for n, name in enumerate(order[number])}

    def middle(name: str) -> float:
        places = [place[n] for n in near.get(name, ())]
        return sum(places) / len(places) if places else float(own[name])

    order[number].sort(key=middle)


def _neighbours(
    rows: Mapping[str, int], chains: Sequence[Sequence[str]]
) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    above: dict[str, list[str]] = {name: [] for name in rows}
    below: dict[str, list[str]] = {name: [] for name in rows}
    for chain in chains:
        for a, b in pairwise(chain):
            if a != b:
                below[a].append(b)
                above[b].append(a)
    return above, below


def _crossings(order: Sequence[Sequence[str]], below: Mapping[str, list[str]]) -> int:
    """Pairs of lines that cross, over all neighbouring rows."""
    count = 0
    for upper, lower in pairwise(order):
        place = {name: n for n, name in enumerate(lower)}
        ends = [p for name in upper for p in sorted(place[n] for n in below[name])]
        seen: list[int] = []
        for end in ends:
            count += sum(1 for other in seen if other > end)
            seen.append(end)
    return count


def _places(
    order: Sequence[Sequence[str]], chains: Sequence[Sequence[str]], widths: Mapping[str, float]
) -> dict[str, float]:
    """The x of every node: near its neighbours, never nearer to its row's others than the gap."""
    rows = {name: number for number, row in enumerate(order) for name in row}
    above, below = _neighbours(rows, chains)
    xs: dict[str, float] = {}
    for row in order:
        at = 0.0
        for name in row:
            xs[name] = at + widths[name] / 2
            at += widths[name] + GAP_X
    for sweep in range(_PLACINGS):
        for row in order if sweep % 2 == 0 else reversed(order):
            near = {n: [*above[n], *below[n]] if sweep > 3 else above[n] if sweep % 2 == 0 else below[n] for n in row}
            wanted = [sum(xs[m] for m in near[n]) / len(near[n]) if near[n] else xs[n] for n in row]
            xs.update(zip(row, _spread(wanted, [widths[n] for n in row]), strict=True))
    least = min(xs[n] - widths[n] / 2 for n in xs)
    return {name: x - least for name, x in xs.items()}


def _spread(wanted: Sequence[float], widths: Sequence[float]) -> list[float]:
    """The places nearest to `wanted` (least squares) that keep order and gaps."""
    offsets = [0.0]
    for a, b in pairwise(widths):
        offsets.append(offsets[-1] + a / 2 + GAP_X + b / 2)
    blocks: list[tuple[float, int]] = []  # (sum of targets, how many), means never falling
    for target, offset in zip(wanted, offsets, strict=True):
        total, count = target - offset, 1
        while blocks and blocks[-1][0] / blocks[-1][1] > total / count:
            more, many = blocks.pop()
            total, count = total + more, count + many
        blocks.append((total, count))
    level = [total / count for total, count in blocks for _ in range(count)]
    return [at + offset for at, offset in zip(level, offsets, strict=True)]


def _draw(
    sizes: Mapping[str, Size],
    order: Sequence[Sequence[str]],
    chains: Sequence[Sequence[str]],
    turned: Sequence[bool],
    xs: Mapping[str, float],
) -> Drawing:
    heights = [max((sizes[n].height for n in row if n in sizes), default=0.0) for row in order]
    ys: dict[str, float] = {}
    at = 0.0
    for row, height in zip(order, heights, strict=True):
        ys.update(dict.fromkeys(row, at + height / 2))
        at += height + GAP_Y
    lines = []
    for chain, up in zip(chains, turned, strict=True):
        points = _route(chain, sizes, xs, ys)
        lines.append(tuple(reversed(points)) if up else tuple(points))
    width = max(xs[n] + (sizes[n].width if n in sizes else 8.0) / 2 for n in xs)
    return Drawing({n: (xs[n], ys[n]) for n in sizes}, tuple(lines), tuple(turned), width, at - GAP_Y)


def _route(
    chain: Sequence[str], sizes: Mapping[str, Size], xs: Mapping[str, float], ys: Mapping[str, float]
) -> list[Point]:
    """From the lower edge of the first, through the bends, to the upper edge of the last; a loop goes beside."""
    a, b = chain[0], chain[-1]
    if a == b:
        right, up = xs[a] + sizes[a].width / 2, sizes[a].height / 4
        return [(right, ys[a] - up), (right + GAP_X * 0.7, ys[a]), (right, ys[a] + up)]
    start = (_port(xs[a], sizes[a].width, xs[chain[1]]), ys[a] + sizes[a].height / 2)
    end = (_port(xs[b], sizes[b].width, xs[chain[-2]]), ys[b] - sizes[b].height / 2)
    return [start, *((xs[n], ys[n]) for n in chain[1:-1]), end]


def _port(centre: float, width: float, towards: float) -> float:
    """Where on an edge a line leaves: towards where it goes, away from the corners."""
    most = width * 0.32
    return centre + max(-most, min(most, (towards - centre) * 0.35))
