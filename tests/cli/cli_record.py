"""What a command left in the record, read without touching it."""

from __future__ import annotations

from pathlib import Path

from firststart.job import facts as f
from firststart.journal.sqlite import SqliteJournal


def facts_of(home: Path, job: str) -> tuple[f.Fact, ...]:
    """All facts of a job in the record of `home`."""
    journal = SqliteJournal(home / "record.db", write=False)
    try:
        return journal.read(job)
    finally:
        journal.close()
