"""The elimination as a tree that someone can print and follow on paper, made from the policy that advises."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from textwrap import wrap
from typing import TYPE_CHECKING

from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, Finding, NoStart, Repair
from firststart.diagnosis.network import Network, fit
from firststart.diagnosis.words import listed, percent
from firststart.errors import InputError

if TYPE_CHECKING:
    from firststart.diagnosis.score import Score

DEEPEST = 8
WIDTH = 100
"""Characters of a line on paper, where the depth leaves so many."""
RAREST = 0.005
"""Outcomes rarer than this are left off the paper."""
_END = {
    "done": "It runs.",
    "wait": "All that would tell more cannot be done now.",
    "specialist": "This book tells the rest no further apart. Ask a specialist.",
}
_PAPER = datetime(2000, 1, 1, tzinfo=UTC)
"""The date of what the paper only supposes; it is never shown."""


@dataclass(frozen=True)
class Branch:
    """One way on: the outcome's words and chance, and the node it leads to."""

    words: tuple[str, ...]
    chance: float
    node: Node


@dataclass(frozen=True)
class Node:
    """One thing to do, what is left at that point, and the ways on (none at a leaf)."""

    kind: str
    id: str
    text: str
    left: tuple[str, ...]
    branches: tuple[Branch, ...] = ()

    @property
    def size(self) -> int:
        """Nodes from here on, this one included."""
        return 1 + sum(b.node.size for b in self.branches)


def grow(
    book: Book,
    profile: Mapping[str, str],
    years: float | None,
    storage: str | None,
    evidence: Iterable[Evidence],
    depth: int = 4,
    available: Callable[[str], str | None] | None = None,
) -> Node:
    """The tree of the next `depth` things to do (1 to 8), from the record's evidence. Raises InputError.

    `available(check id)` gives the reason why a check cannot be done, or None; such a check is not on the paper.
    """
    if not 1 <= depth <= DEEPEST:
        raise InputError(f"The depth of the tree is {depth}; give a depth from 1 to {DEEPEST}.")
    known = tuple(evidence)
    first = max((e.seq for e in known), default=0) + 1
    return _Tree(fit(book, profile, years, storage), available).node(known, depth, first)


def draw(node: Node) -> str:
    """The tree as text: numbered lines, indented by depth, every jump by its words."""
    lines: list[str] = []
    _lines(node, "", lines)
    return "\n".join(lines) + "\n"


class _Tree:
    """Grows the tree of one engine; `grow` is its only user."""

    def __init__(self, network: Network, available: Callable[[str], str | None] | None) -> None:
        self.network, self.available = network, available

    def node(self, evidence: tuple[Evidence, ...], depth: int, seq: int) -> Node:
        """What the policy says to do with this evidence, and what follows. `seq` numbers what is only supposed."""
        from firststart.diagnosis import policy  # numpy is loaded here, not at import

        view = policy.look(self.network, evidence, self.available)
        choice = policy.choose(view)
        left = tuple(f"{s.name} {percent(view.now(s))}" for s in sorted(view.culprits, key=lambda s: -view.now(s))[:4])
        if choice.kind == "check" and choice.score is not None:
            check = choice.score.check
            text = f"{check.do} ({choice.score.minutes:.0f} min)"
            return Node("check", check.id, text, left, self.outcomes(choice.score, evidence, depth, seq))
        if choice.kind == "fix" and choice.suspect is not None:
            suspect = choice.suspect
            tried: tuple[Evidence, ...] = (*evidence, Repair(suspect.id, _PAPER, seq), NoStart(seq + 1, _PAPER))
            text = f"Put right {suspect.name} ({percent(view.now(suspect))}): {suspect.fix.do} Then try to start it."
            return Node("fix", suspect.id, text, left, self.if_not(tried, depth, seq + 2))
        if choice.kind == "try":
            tried = (*evidence, NoStart(seq, _PAPER))
            return Node("try", "try", "Try to start it.", left, self.if_not(tried, depth, seq + 1))
        return Node(choice.kind, choice.kind, _END[choice.kind], left)

    def if_not(self, evidence: tuple[Evidence, ...], depth: int, seq: int) -> tuple[Branch, ...]:
        if depth <= 1:
            return ()
        return (Branch(("it does not start",), 1.0, self.node(evidence, depth - 1, seq)),)

    def outcomes(self, score: Score, evidence: tuple[Evidence, ...], depth: int, seq: int) -> tuple[Branch, ...]:
        if depth <= 1:
            return ()
        check, branches = score.check, []
        for k, chance in enumerate(score.outcomes):
            if chance < RAREST:
                continue
            words = check.rows[k].bad_when if k < len(check.rows) else check.ok_when
            seen = [Finding(row.id, "ok", _PAPER, seq + n) for n, row in enumerate(check.rows[:k])]
            if k < len(check.rows):
                seen.append(Finding(check.rows[k].id, "bad", _PAPER, seq + k, None, None, words[0]))
            node = self.node((*evidence, *seen), depth - 1, seq + len(check.rows))
            branches.append(Branch(words, chance, node))
        return tuple(branches)


def _lines(node: Node, indent: str, lines: list[str], number: str = "1") -> None:
    lines += _wrapped(f"{number}. {node.text}", indent)
    if not node.branches:
        lines += _wrapped(f"Left then: {listed(node.left)}.", indent + "   ")
    for k, branch in enumerate(node.branches, start=1):
        chance = "" if node.kind in ("fix", "try") else f" ({percent(branch.chance)})"
        lines.append(f"{indent}   If {listed(branch.words, 'or')}{chance}:")
        _lines(branch.node, indent + "      ", lines, f"{number}.{k}")


def _wrapped(text: str, indent: str) -> list[str]:
    return wrap(text, max(WIDTH, len(indent) + 40), initial_indent=indent, subsequent_indent=indent + "   ")
