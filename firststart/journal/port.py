"""The port every journal keeps: append facts, read them back, never change one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from firststart.job.facts import Fact


@dataclass(frozen=True)
class JobLine:
    """One job in the list of jobs."""

    job: str
    engine: str
    opened: datetime
    newest: datetime
    facts: int
    closed: bool


class Journal(Protocol):
    """A record of jobs. `append` is durable when it returns, and all or nothing."""

    def jobs(self) -> tuple[JobLine, ...]:
        """Every job, newest work first."""
        ...

    def read(self, job: str, after: int = 0) -> tuple[Fact, ...]:
        """The facts of a job behind the first `after`, in order. Raises UnknownName, RecordTooNew, RecordDamaged."""
        ...

    def digest(self, job: str, count: int) -> str:
        """A digest over every byte of a job's first `count` entries: equal only when none of them has changed."""
        ...

    def append(self, job: str, after: int, facts: Sequence[Fact]) -> int:
        """Add facts after the first `after`; the new count. Raises RecordBusy when others wrote meanwhile."""
        ...

    def cranks_of_others(self, job: str, engine: str) -> Iterable[tuple[Fact, ...]]:
        """The facts about cranking and the clock from every other job on the same engine."""
        ...

    def close(self) -> None: ...
