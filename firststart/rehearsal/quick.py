"""A library that remembers what it has once worked out. Thousands of plays ask the same few questions of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from firststart.procedure.library import Library, established_by
from firststart.procedure.model import Procedure


@dataclass(frozen=True)
class QuickLibrary(Library):
    """The same answers as `Library`, each worked out once for each set of profile words."""

    kept: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    def applicable(self, words: Mapping[str, str]) -> tuple[Procedure, ...]:
        """The procedures that apply to an engine of these words, in stage order."""
        key = ("applicable", tuple(sorted(words.items())))
        if key not in self.kept:
            self.kept[key] = super().applicable(words)
        found: tuple[Procedure, ...] = self.kept[key]
        return found

    def establishers(self, hold: str, words: Mapping[str, str]) -> tuple[str, ...]:
        """The procedures that can establish `hold` on this engine, in stage order."""
        key = ("establishers", hold, tuple(sorted(words.items())))
        if key not in self.kept:
            self.kept[key] = tuple(p.id for p in self.applicable(words) if hold in self._established(p))
        found: tuple[str, ...] = self.kept[key]
        return found

    def _established(self, procedure: Procedure) -> set[str]:
        key = ("established", procedure.id)
        if key not in self.kept:
            self.kept[key] = established_by(procedure)
        found: set[str] = self.kept[key]
        return found


def quick(library: Library) -> QuickLibrary:
    """A copy of `library` that remembers."""
    return QuickLibrary(**{f.name: getattr(library, f.name) for f in fields(Library)})
