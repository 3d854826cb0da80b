"""The journal on disk: one SQLite file for a workshop, append only, durable when `append` returns.

WAL with synchronous FULL, so that an acknowledged fact survives a power cut; triggers refuse update and
delete, and recursive triggers make them hold for REPLACE too. The key (job, number) stops a second writer.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from firststart.errors import (
    RecordBusy,
    RecordDamaged,
    RecordError,
    RecordFull,
    RecordReadOnly,
    RecordTooNew,
    UnknownName,
)
from firststart.job.facts import Fact
from firststart.journal.port import JobLine
from firststart.journal.wire import KEPT_NAMES, fact_of, row_of, time_of

SCHEMA_VERSION = 1
BUSY_SECONDS = 2.0

_SCHEMA = """
CREATE TABLE fact (
    job TEXT NOT NULL,
    number INTEGER NOT NULL,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE job (
    job TEXT PRIMARY KEY,
    engine TEXT NOT NULL,
    opened TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX job_engine ON job (engine);
CREATE TRIGGER fact_no_update BEFORE UPDATE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER fact_no_delete BEFORE DELETE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never removed'); END;
CREATE TRIGGER job_no_update BEFORE UPDATE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never changed'); END;
CREATE TRIGGER job_no_delete BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never removed'); END;
"""


class SqliteJournal:
    """A workshop's record in one file."""

    def __init__(self, path: Path, *, write: bool = True) -> None:
        self.path = path
        with self._translated():
            if write:
                path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
                self._db = sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)
                with contextlib.suppress(OSError):
                    path.chmod(0o600)
            else:
                self._db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", timeout=BUSY_SECONDS, uri=True)
                self._db.isolation_level = None
            self._prepare(write)

    def _prepare(self, write: bool) -> None:
        self._db.execute("PRAGMA recursive_triggers = ON")
        self._db.execute("PRAGMA foreign_keys = ON")
        version = self._db.execute("PRAGMA user_version").fetchone()[0]
        if version > SCHEMA_VERSION:
            self._db.close()
            raise RecordTooNew(f"The record {self.path} was made by a newer firststart; update this one to use it.")
        if not write:
            return
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        if version == 0:
            with self._transaction():
                if self._db.execute("PRAGMA user_version").fetchone()[0] == 0:
                    for statement in _statements(_SCHEMA):
                        self._db.execute(statement)
                    self._db.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        """Every SQLite error becomes one of ours, with a clear sentence."""
        try:
            yield
        except sqlite3.IntegrityError as error:
            raise RecordBusy("Another bench wrote to this job meanwhile; close one of the two.") from error
        except sqlite3.Error as error:
            raise _meaning(error, self.path) from error
        except OSError as error:
            if isinstance(error, RecordError):
                raise
            raise RecordReadOnly(f"The record {self.path} cannot be made here ({error.strerror}).") from error

    def jobs(self) -> tuple[JobLine, ...]:
        with self._translated():
            rows = self._db.execute(
                "SELECT j.job, j.engine, j.opened, f.at, f.number, f.kind FROM job j JOIN fact f ON f.job = j.job "
                "AND f.number = (SELECT max(number) FROM fact WHERE job = j.job) ORDER BY f.at DESC, j.job"
            ).fetchall()
        return tuple(
            JobLine(job, engine, time_of(opened), time_of(at), number, kind == "job-closed")
            for job, engine, opened, at, number, kind in rows
        )

    def read(self, job: str) -> tuple[Fact, ...]:
        with self._translated():
            rows = self._db.execute(
                "SELECT number, kind, version, body FROM fact WHERE job = ? ORDER BY number", (job,)
            ).fetchall()
        if not rows:
            raise UnknownName(f"There is no job called {job!r}; see firststart jobs.")
        return tuple(fact_of(job, *row) for row in rows)

    def append(self, job: str, after: int, facts: Sequence[Fact]) -> int:
        if not facts:
            return after
        rows = [(job, after + n, *row_of(fact)) for n, fact in enumerate(facts, 1)]
        with self._translated(), self._transaction():
            count = self._db.execute("SELECT coalesce(max(number), 0) FROM fact WHERE job = ?", (job,)).fetchone()[0]
            if count != after:
                raise RecordBusy(f"Another bench is working on {job!r}; close one of the two.")
            if after == 0:
                engine = getattr(facts[0], "engine", "")
                self._db.execute("INSERT INTO job VALUES (?, ?, ?)", (job, engine, rows[0][2]))
            self._db.executemany("INSERT INTO fact VALUES (?, ?, ?, ?, ?, ?)", rows)
        return after + len(rows)

    def cranks_of_others(self, job: str, engine: str) -> Iterable[tuple[Fact, ...]]:
        marks = ", ".join("?" for _ in KEPT_NAMES)
        with self._translated():
            others = self._db.execute("SELECT job FROM job WHERE engine = ? AND job <> ?", (engine, job)).fetchall()
            for (other,) in others:
                rows = self._db.execute(
                    f"SELECT number, kind, version, body FROM fact WHERE job = ? AND kind IN ({marks}) ORDER BY number",
                    (other, *KEPT_NAMES),
                ).fetchall()
                yield tuple(fact_of(other, *row) for row in rows)

    def close(self) -> None:
        with contextlib.suppress(sqlite3.Error):
            self._db.close()


def _statements(script: str) -> Iterator[str]:
    """The single statements of a schema script."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _meaning(error: sqlite3.Error, path: Path) -> RecordError:
    """What an SQLite error means for the person, and what to do."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return RecordBusy(f"The record {path} is in use by another bench; close it and try again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return RecordReadOnly(f"The record {path} cannot be opened for writing; check its place and rights.")
    if name.startswith("SQLITE_FULL"):
        return RecordFull(f"The disk with the record {path} is full; free some room. Everything before is kept.")
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_IOERR_CORRUPTFS")):
        return RecordDamaged(f"The record {path} is damaged; restore a copy of it, and keep this file.")
    return RecordError(f"The record {path} failed ({error}); nothing already recorded is lost.")
