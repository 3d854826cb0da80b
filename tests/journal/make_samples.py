"""Writes the sample of the newest version: run with `python tests/journal/make_samples.py`. Not collected.

A sample is a whole record as SQL with one fact of every kind. Run this after a kind of fact was added or has a
new body, and with a new number when SCHEMA_VERSION or a fact's version went up; the samples of the versions
before are never made again, for they show what people have on their disks.
"""

from __future__ import annotations

import sqlite3
import tempfile
from pathlib import Path

from journal_facts import EVERY, job_of

from firststart.journal.sqlite import SqliteJournal

SAMPLES = Path(__file__).resolve().parent / "samples"
NEWEST = "v2-facts-2"  # the tables of version 2, facts up to version 2; v1 and v2 hold facts of version 1


def sample() -> str:
    """The record as SQL text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.db"
        journal = SqliteJournal(path)
        journal.append("twin", 0, EVERY[:9])
        journal.append("twin", 9, EVERY[9:])
        journal.append("mower", 0, job_of(3, "mower", "old mower"))
        journal.close()
        return dump(path)


def dump(path: Path) -> str:
    """A record as SQL text, with the numbers of its head."""
    db = sqlite3.connect(path)
    try:
        names = ("user_version", "application_id")
        head = [f"PRAGMA {name} = {db.execute(f'PRAGMA {name}').fetchone()[0]};" for name in names]
        return "\n".join([*db.iterdump(), *head]) + "\n"
    finally:
        db.close()


def build(text: str, path: Path) -> Path:
    """A record from its SQL text."""
    db = sqlite3.connect(path)
    try:
        db.executescript(text)
    finally:
        db.close()
    return path


if __name__ == "__main__":
    (SAMPLES / f"{NEWEST}.sql").write_text(sample(), encoding="utf-8")
