"""Which of several pieces of work a person takes up, when a procedure asks what is to be put right.

By the words of the tool's own advice first; where they name none of the answers, by what the person sees is broken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from firststart.machine.table import LEAVE, Table
from firststart.prompt.dialogue import normal
from firststart.prompt.expect import Option

_STATES = frozenset({
    "blocked", "stuck", "dead", "bad", "dirty", "loose", "worn", "broken", "burnt", "low", "flat", "weak", "wrong",
    "empty", "shut", "open", "old", "new", "good", "stale", "tired", "cracked", "damp", "clogged", "fouled", "torn",
})  # words for how a thing is: they tell less than the thing's own name
_PLAIN = frozenset({"a", "an", "the", "it", "its", "that", "is", "in", "of", "to", "and", "or", "with", "for", "at"})


def branches(table: Table, state: str) -> Mapping[str, frozenset[str]]:
    """For each answer at `state`, the repairs that its branch can come to; empty when all branches come to the same."""
    found = _branches(_Key(table), state)
    return found if len(set(found.values())) > 1 else {}


class _Key:
    """A table as the key of a cache: by identity, and kept alive."""

    def __init__(self, table: Table) -> None:
        self.table = table

    def __hash__(self) -> int:
        return id(self.table)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.table is self.table


@lru_cache(maxsize=4096)
def _branches(key: _Key, state: str) -> dict[str, frozenset[str]]:
    table = key.table
    return {a.event: _repairs(table, a.target, state) for a in table.leaving[state] if a.event not in ("", LEAVE)}


def _repairs(table: Table, start: str, barred: str) -> frozenset[str]:
    """Every repair of a result that can be reached from `start` without passing `barred`."""
    seen, queue = {start, barred}, [start]
    repairs: set[str] = set()
    while queue:
        state = table.states[queue.pop()]
        if state.result is not None:
            repairs |= set(state.result.repairs)
            continue
        onward = [a.target for a in table.leaving[state.name] if a.event != LEAVE and a.target not in seen]
        seen |= set(onward)
        queue += onward
    return frozenset(repairs)


def by_words(advice: str, options: Iterable[Option]) -> Option | None:
    """The option whose words lie most within the advice; None when none shares a telling word with it."""
    wanted = _telling(advice.partition(":")[0])
    best: tuple[float, int] = (0.0, 0)
    found: Option | None = None
    for option in options:
        for text in (option.event, *option.phrases):
            words = _telling(text)
            shared = _weight(wanted & words)
            merit = (shared / max(_weight(words), 1), shared)
            if shared and merit > best:
                best, found = merit, option
    return found


def _weight(words: Iterable[str]) -> int:
    """Things count twice, how they are once."""
    return sum(1 if w in _STATES else 2 for w in words)


def _telling(text: str) -> set[str]:
    words = "".join(ch if ch.isalnum() else " " for ch in text.lower()).split()
    return {w.removesuffix("s") for w in words if w not in _PLAIN}


def by_fault(found: Mapping[str, frozenset[str]], broken: frozenset[str], options: Iterable[Option]) -> Option | None:
    """The option whose branch alone puts right something that is broken; None when none does."""
    everywhere = frozenset.intersection(*found.values()) if found else frozenset()
    fitting = [o for o in options if (found.get(o.event, frozenset()) - everywhere) & broken]
    return fitting[0] if fitting else None


def named(event: str, options: tuple[Option, ...]) -> Option | None:
    """The option of that event, None when there is none."""
    return next((o for o in options if o.event == event), None)


def fitting(seen: str | tuple[str, ...], options: tuple[Option, ...]) -> Option | None:
    """The first option that one of the words names, by event or phrase."""
    for word in (seen,) if isinstance(seen, str) else seen:
        wanted = normal(word.replace("-", " "))
        for option in options:
            names = {normal(option.event.replace("-", " ")), *(normal(p) for p in option.phrases)}
            if wanted in names:
                return option
    return None
