"""Everything `procedures/` holds, read and checked: one frozen value."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from firststart.engine.profile import applies
from firststart.errors import UnknownName
from firststart.judge.model import Limits
from firststart.procedure.model import Procedure, Safety, Stage
from firststart.procedure.reader import Document
from firststart.starter.duty import DutyClasses

_T = TypeVar("_T")


@dataclass(frozen=True)
class Library:
    """Procedures by id in file order, safety data, stages, limits, duty classes, engine defaults, the book.

    `own` are the procedures of a user's folders, and `own_safety` says whether such a folder adds to the safety data.
    """

    procedures: dict[str, Procedure]
    digests: dict[str, str]
    documents: Mapping[str, Document]
    safety: Safety
    stages: dict[str, Stage]
    limits: Limits
    duties: DutyClasses
    engines: dict[str, Defaults] = field(default_factory=dict)
    book: Document | None = None
    own: frozenset[str] = frozenset()
    own_safety: bool = False

    def procedure(self, name: str) -> Procedure:
        """The procedure called `name`. Raises UnknownName."""
        try:
            return self.procedures[name]
        except KeyError:
            raise UnknownName(f"There is no procedure called {name!r}; see firststart verify.") from None

    @cached_property
    def memo(self) -> dict[Hashable, Any]:
        """Answers worked out before. The library never changes, so they stay true."""
        return {}

    def remembered(self, key: Hashable, work_out: Callable[[], _T]) -> _T:
        """The answer under `key`, worked out at most once."""
        if key not in self.memo:
            self.memo[key] = work_out()
        answer: _T = self.memo[key]
        return answer

    def applicable(self, words: Mapping[str, str]) -> tuple[Procedure, ...]:
        """The procedures that apply to an engine of these profile words, in stage order."""
        return self.remembered(("applicable", frozenset(words.items())), lambda: self._applicable(words))

    def _applicable(self, words: Mapping[str, str]) -> tuple[Procedure, ...]:
        order = {name: index for index, name in enumerate(self.stages)}
        known = (p for p in self.procedures.values() if p.stage in order)  # of another stage it is told, and left out
        found = [p for p in known if applies(p.applies, words, unknown=True)]
        return tuple(sorted(found, key=lambda p: (order[p.stage], self.stages[p.stage].place_of(p.id))))

    def establishers(self, hold: str, words: Mapping[str, str]) -> tuple[str, ...]:
        """The procedures that can establish `hold` on this engine, in stage order."""
        key = ("establishers", hold, frozenset(words.items()))
        return self.remembered(key, lambda: tuple(p.id for p in self.applicable(words) if hold in self.established(p)))

    def established(self, procedure: Procedure) -> frozenset[str]:
        """Every hold point that some result or answer of one of its procedures establishes."""
        return self.remembered(("established", procedure.id), lambda: frozenset(established_by(procedure)))


@dataclass(frozen=True)
class Defaults:
    """Defaults of one kind of engine: profile words and numbers (as text), each with a source or mark."""

    words: dict[str, str]
    numbers: dict[str, str]
    sources: dict[str, str]


def established_by(procedure: Procedure) -> set[str]:
    """Every hold point that some result or answer of `procedure` establishes."""
    holds = {h for r in procedure.results.values() for h in r.establishes}
    return holds | {h for s in procedure.steps.values() for hs in s.establishes.values() for h in hs}
