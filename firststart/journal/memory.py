"""A journal in memory, for rehearsals and tests. It keeps the same contract as the one on disk."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

from firststart.errors import RecordBusy, UnknownName
from firststart.job.facts import Fact, JobClosed, JobOpened
from firststart.journal.port import JobLine
from firststart.journal.wire import KEPT_OF_OTHERS, row_of


class MemoryJournal:
    """Facts in lists."""

    def __init__(self) -> None:
        self._jobs: dict[str, list[Fact]] = {}

    def jobs(self) -> tuple[JobLine, ...]:
        lines = []
        for job, facts in self._jobs.items():
            first = facts[0]
            engine = first.engine if isinstance(first, JobOpened) else ""
            closed = any(isinstance(fact, JobClosed) for fact in facts)
            lines.append(JobLine(job, engine, first.at, facts[-1].at, len(facts), closed))
        return tuple(sorted(lines, key=lambda line: line.newest, reverse=True))

    def read(self, job: str, after: int = 0) -> tuple[Fact, ...]:
        if job not in self._jobs:
            raise UnknownName(f"There is no job called {job!r}; see firststart jobs.")
        return tuple(self._jobs[job][after:])

    def digest(self, job: str, count: int) -> str:
        rows = [row_of(fact) for fact in self._jobs.get(job, [])[:count]]
        return hashlib.blake2b(repr(rows).encode(), digest_size=32).hexdigest()

    def append(self, job: str, after: int, facts: Sequence[Fact]) -> int:
        kept = self._jobs.setdefault(job, [])
        if len(kept) != after:
            raise RecordBusy(f"Another bench is working on {job!r}; close one of the two.")
        kept.extend(facts)
        return len(kept)

    def cranks_of_others(self, job: str, engine: str) -> Iterable[tuple[Fact, ...]]:
        for other, facts in self._jobs.items():
            first = facts[0]
            if other != job and isinstance(first, JobOpened) and first.engine == engine:
                yield tuple(f for f in facts if isinstance(f, KEPT_OF_OTHERS))

    def close(self) -> None:
        self._jobs = dict(self._jobs)
