"""The tables of the record, one version after the other, and the steps from each to the next.

A record's tables are compared with these word for word when it is opened: a file from elsewhere, with views
or triggers of its own, is refused before any of them can run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Protocol

from firststart.journal.wire import seal

SCHEMA_VERSION = 2
MARK = 0x46535431  # the file's application id: the letters FST1

_JOB = """
CREATE TABLE job (
    job TEXT PRIMARY KEY,
    engine TEXT NOT NULL,
    opened TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX job_engine ON job (engine);
CREATE TRIGGER job_no_update BEFORE UPDATE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never changed'); END;
CREATE TRIGGER job_no_delete BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'jobs are never removed'); END;
"""
_FACT_TRIGGERS = """
CREATE TRIGGER fact_no_update BEFORE UPDATE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER fact_no_delete BEFORE DELETE ON fact BEGIN SELECT RAISE(ABORT, 'facts are never removed'); END;
"""
_FACT_1 = """
CREATE TABLE fact (
    job TEXT NOT NULL,
    number INTEGER NOT NULL,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
"""
# `seal` is a checksum of the whole row, so that a byte that changed on the disk is seen. The index keeps the
# entry's key and seal on other pages of the file: when a page is lost, it tells which entries stood there.
_FACT_2 = """
CREATE TABLE fact (
    job TEXT NOT NULL,
    number INTEGER NOT NULL,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    version INTEGER NOT NULL,
    body TEXT NOT NULL,
    seal TEXT NOT NULL,
    PRIMARY KEY (job, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX entry ON fact (number, job, seal);
"""


class Database(Protocol):
    """What a step needs of a connection to SQLite."""

    def execute(self, statement: str, /) -> Any:
        """Run a statement."""
        ...

    def create_function(self, name: str, count: int, function: Callable[..., Any], /) -> None:
        """Make a function of ours known to statements."""
        ...


def statements(script: str) -> Iterator[str]:
    """The single statements of a script in which each begins at the start of a line with CREATE."""
    for part in script.split("\nCREATE ")[1:]:
        yield f"CREATE {part.strip().removesuffix(';')}"


_TABLES: dict[int, tuple[str, ...]] = {
    0: (),
    1: tuple(statements(_FACT_1 + _JOB + _FACT_TRIGGERS)),
    2: tuple(statements(_FACT_2 + _JOB + _FACT_TRIGGERS)),
}


def create(db: Database) -> None:
    """The newest tables in an empty file, inside the caller's transaction."""
    for statement in _TABLES[SCHEMA_VERSION]:
        db.execute(statement)
    _stamp(db, SCHEMA_VERSION)


def is_ours(db: Database, version: int) -> bool:
    """Are the tables exactly those of `version` (none at all for 0), and is nothing else there?"""
    found = db.execute("SELECT sql FROM sqlite_master WHERE name NOT LIKE 'sqlite~_%' ESCAPE '~'").fetchall()
    return sorted(str(sql) for (sql,) in found) == sorted(_TABLES.get(version, ("no such version",)))


def is_marked(db: Database) -> bool:
    """Does the file say of itself that it is a record?"""
    return bool(db.execute("PRAGMA application_id").fetchone() == (MARK,))


def bring_up(db: Database, version: int) -> None:
    """From the tables of `version` to the newest, inside the caller's transaction."""
    for old in range(version, SCHEMA_VERSION):
        _STEPS[old](db)
        _stamp(db, old + 1)


def _from_1_seal_every_fact(db: Database) -> None:
    """Version 2 seals each row, and keeps the keys a second time."""
    db.create_function("seal_of", 6, seal)
    for trigger in ("fact_no_update", "fact_no_delete"):
        db.execute(f"DROP TRIGGER {trigger}")
    db.execute("ALTER TABLE fact RENAME TO fact_1")
    for statement in statements(_FACT_2):
        db.execute(statement)
    columns = "job, number, at, kind, version, body"
    db.execute(f"INSERT INTO fact SELECT {columns}, seal_of({columns}) FROM fact_1")
    db.execute("DROP TABLE fact_1")
    for statement in statements(_FACT_TRIGGERS):
        db.execute(statement)


_STEPS: dict[int, Callable[[Database], None]] = {1: _from_1_seal_every_fact}


def _stamp(db: Database, version: int) -> None:
    db.execute(f"PRAGMA user_version = {version}")
    db.execute(f"PRAGMA application_id = {MARK}")
