"""The journal on disk: one SQLite file for a workshop, append only, durable when `append` returns.

WAL with synchronous FULL, so that an acknowledged fact survives a power cut; triggers refuse update and
delete, and recursive triggers make them hold for REPLACE too. The key (job, number) stops a second writer.
Every row carries a seal, looked at whenever it is read. The file and its folder are the user's alone.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from firststart.errors import RecordBusy, RecordDamaged, RecordError, RecordReadOnly, RecordTooNew, UnknownName
from firststart.job.facts import Fact
from firststart.journal import place, schema
from firststart.journal.meaning import damaged, gone, meaning, not_ours
from firststart.journal.port import JobLine
from firststart.journal.wire import KEPT_NAMES, fact_of, row_of, seal, time_of

BUSY_SECONDS = 2.0
_COLUMNS = "job, number, at, kind, version, body"
_WHOLE = (  # every byte of a row, each column with its length before it, so that no two rows look alike
    "SELECT number || ' ' || length(at) || at || ' ' || length(kind) || kind || ' ' || version || ' ' || length(body) "
    "|| body || {} FROM fact WHERE job = ? AND number <= ? ORDER BY number"
)
_MAY_FOLLOW = "'note-added', 'attachment-kept', 'stopped', 'carried-on', 'clock-set', 'job-resumed'"
_CLOSED = (  # what stands behind the entries that may follow a closing
    f"SELECT kind FROM fact WHERE job = j.job AND kind NOT IN ({_MAY_FOLLOW}) ORDER BY number DESC LIMIT 1"
)
_LINES = (  # CROSS JOIN: the jobs first and then one row of each, never every row
    f"SELECT j.job, j.engine, j.opened, f.at, f.number, coalesce(({_CLOSED}) = 'job-closed', 0) FROM job j CROSS JOIN "
    "fact f ON f.job = j.job AND f.number = (SELECT max(number) FROM fact WHERE job = j.job) ORDER BY f.at DESC, j.job"
)
_NO_LOCK_FILE = ("SQLITE_CANTOPEN", "SQLITE_READONLY")


class SqliteJournal:
    """A workshop's record in one file."""

    _db: sqlite3.Connection

    def __init__(self, path: Path, *, write: bool = True) -> None:
        self.path = path
        self._write = write
        self._spare: Path | None = None  # a copy that is read instead, where the record's own place takes no file
        self._open()

    # opening ---------------------------------------------------------------------------------------

    def _open(self) -> None:
        with _translated(self.path):
            if self._write:
                place.make(self.path)
                self._connect(self.path.absolute().as_uri())
                self._bring_up()
            else:
                self._open_to_read()
        self._sealed = self._version() >= 2
        self._here = place.identity(self.path)

    def _open_to_read(self) -> None:
        """As it lies; where its place takes no lock file (a read-only medium), as it stands or in a copy."""
        address = self.path.absolute().as_uri()
        try:
            self._connect(f"{address}?mode=ro")
        except sqlite3.OperationalError as error:
            if not self.path.is_file() or not error.sqlite_errorname.startswith(_NO_LOCK_FILE):
                raise
            if place.log_of(self.path).is_file():
                self._connect(f"{self._copied().as_uri()}?mode=rw")
            else:
                self._connect(f"{address}?mode=ro&immutable=1")
        if self._version() == 0:  # a bench was killed before its first entry
            self._db.close()
            self._db = sqlite3.connect(":memory:", isolation_level=None)
            schema.create(self._db)

    def _connect(self, address: str) -> None:
        self._db = sqlite3.connect(address, timeout=BUSY_SECONDS, uri=True, isolation_level=None)
        try:
            self._settle()
        except BaseException:
            self._db.close()
            raise

    def _copied(self) -> Path:
        """The record and its log in a folder of the user's own, gone when the journal is closed."""
        self._spare = Path(tempfile.mkdtemp(prefix="firststart-"))
        copy = self._spare / self.path.name
        shutil.copyfile(self.path, copy)
        shutil.copyfile(place.log_of(self.path), place.log_of(copy))
        return copy

    def _settle(self) -> None:
        """Nothing that a file from elsewhere may carry runs: its tables are looked at before they are asked."""
        for setting in ("recursive_triggers = ON", "foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON"):
            self._db.execute(f"PRAGMA {setting}")
        version = self._version()
        if version > schema.SCHEMA_VERSION:
            raise RecordTooNew(f"The record {self.path} was made by a newer firststart; update this one to use it.")
        if not schema.is_ours(self._db, version):
            raise damaged(self.path) if schema.is_marked(self._db) else not_ours(self.path)

    def _version(self) -> int:
        return int(self._db.execute("PRAGMA user_version").fetchone()[0])

    def _bring_up(self) -> None:
        """The newest tables, in an empty file or over older ones; all or nothing."""
        self._db.execute("PRAGMA journal_mode = WAL")
        self._db.execute("PRAGMA synchronous = FULL")
        if self._version() == schema.SCHEMA_VERSION:
            return
        with self._transaction():
            version = self._version()  # another bench may have been quicker
            if version == 0:
                schema.create(self._db)
            else:
                schema.bring_up(self._db, version)

    # writing ---------------------------------------------------------------------------------------

    def append(self, job: str, after: int, facts: Sequence[Fact]) -> int:
        if not facts:
            return after
        rows = [(job, after + n, *row_of(fact)) for n, fact in enumerate(facts, 1)]
        with _translated(self.path):
            self._look()
            with self._transaction():
                self._insert(job, after, rows, getattr(facts[0], "engine", ""))
            if self._look() and self._count(job) != after + len(rows):
                raise gone(self.path)
        return after + len(rows)

    def _insert(self, job: str, after: int, rows: Sequence[tuple[str, int, str, str, int, str]], engine: str) -> None:
        if self._count(job) != after:
            raise RecordBusy(f"Another bench is working on {job!r}; close one of the two.")
        if after == 0:
            self._db.execute("INSERT INTO job VALUES (?, ?, ?)", (job, engine, rows[0][2]))
        sealed = [(*row, seal(*row)) for row in rows]
        self._db.executemany("INSERT INTO fact VALUES (?, ?, ?, ?, ?, ?, ?)", sealed)

    def _count(self, job: str) -> int:
        found = self._db.execute("SELECT coalesce(max(number), 0) FROM fact WHERE job = ?", (job,)).fetchone()
        return int(found[0])

    def _look(self) -> bool:
        """Is the file still the one that is written to? Else a fact would be kept where nobody finds it again.

        True when others lay there, such as the same ones on a disk that was plugged in again: these are open now.
        """
        now = place.identity(self.path)
        if now is None:
            raise gone(self.path)
        if not self._write or now == self._here:
            return False
        self._db.close()
        self._open()
        return True

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")
            raise

    # reading ---------------------------------------------------------------------------------------

    def jobs(self) -> tuple[JobLine, ...]:
        with _translated(self.path):
            rows = self._db.execute(_LINES).fetchall()
        try:
            return tuple(
                JobLine(job, engine, time_of(opened), time_of(at), number, bool(closed))
                for job, engine, opened, at, number, closed in rows
            )
        except ValueError as error:
            raise damaged(self.path) from error

    def read(self, job: str, after: int = 0) -> tuple[Fact, ...]:
        rows = self._rows("WHERE job = ? AND number > ? ORDER BY number", (job, after))
        if not rows and not after:
            raise UnknownName(f"There is no job called {job!r}; see firststart jobs.")
        if [row[1] for row in rows] != list(range(after + 1, after + len(rows) + 1)):
            raise damaged(self.path)
        return tuple(fact_of(job, number, kind, version, body) for _, number, _, kind, version, body in rows)

    def digest(self, job: str, count: int) -> str:
        with _translated(self.path):
            sealed = "coalesce(seal, '')" if self._sealed else "''"
            rows = self._db.execute(_WHOLE.format(sealed), (job, count)).fetchall()
        text = "\n".join([row for (row,) in rows])
        return hashlib.blake2b(f"{len(rows)}\n{text}".encode("utf-8", "surrogatepass"), digest_size=32).hexdigest()

    def _rows(self, where: str, values: Sequence[Any]) -> list[tuple[str, int, str, str, int, str]]:
        """Rows of facts, each held against its seal. Raises RecordDamaged with the entry's number."""
        with _translated(self.path):
            columns = f"{_COLUMNS}, seal" if self._sealed else f"{_COLUMNS}, NULL"
            found = self._db.execute(f"SELECT {columns} FROM fact {where}", values).fetchall()
        for *row, sealed in found:
            if sealed is not None and sealed != seal(*row):
                raise RecordDamaged(
                    f"Entry {row[1]} of job {row[0]!r} changed on the disk {self.path} since it was written; "
                    "see what can be read with: firststart salvage"
                )
        return [row[:6] for row in found]

    def cranks_of_others(self, job: str, engine: str) -> Iterable[tuple[Fact, ...]]:
        marks = ", ".join("?" for _ in KEPT_NAMES)
        with _translated(self.path):
            others = self._db.execute("SELECT job FROM job WHERE engine = ? AND job <> ?", (engine, job)).fetchall()
        for (other,) in others:
            rows = self._rows(f"WHERE job = ? AND kind IN ({marks}) ORDER BY number", (other, *KEPT_NAMES))
            yield tuple(fact_of(other, number, kind, version, body) for _, number, _, kind, version, body in rows)

    # care ------------------------------------------------------------------------------------------

    def check(self) -> dict[str, int]:
        """Every job and how many entries it has, after a look at all of them. Raises RecordDamaged, RecordTooNew."""
        with _translated(self.path):
            told = self._db.execute("PRAGMA integrity_check(1)").fetchone()[0]
            names = [name for (name,) in self._db.execute("SELECT DISTINCT job FROM fact ORDER BY job").fetchall()]
            listed = [name for (name,) in self._db.execute("SELECT job FROM job ORDER BY job").fetchall()]
        if told != "ok" or sorted(names) != sorted(listed):
            raise damaged(self.path)
        return {name: len(self.read(name)) for name in names}

    def copy_to(self, target: Path) -> dict[str, int]:
        """The whole record as it stands now in a new file, checked; benches may write to this one meanwhile.

        Raises RecordError: `target` is there already, cannot be made, or is not whole (then it is removed).
        """
        place.make_new(target)
        try:
            with _translated(self.path):
                self._db.execute("BEGIN")  # one moment of the record for all that follows
            self.check()
            with _translated(target):
                self._pour(target)
                place.keep(target)
            return _checked(target)
        except BaseException:
            place.remove(target)
            raise
        finally:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")

    def _pour(self, target: Path) -> None:
        copy = sqlite3.connect(target, isolation_level=None)
        try:
            self._db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
        finally:
            copy.close()

    def close(self) -> None:
        with contextlib.suppress(sqlite3.Error):
            self._db.close()
        if self._spare is not None:
            shutil.rmtree(self._spare, ignore_errors=True)

    def __del__(self) -> None:
        """A journal that nobody closed lets go of its file all the same; from Python 3.13 on that is warned of."""
        if hasattr(self, "_db"):
            self._db.close()


def _checked(path: Path) -> dict[str, int]:
    copy = SqliteJournal(path, write=False)
    try:
        return copy.check()
    finally:
        copy.close()


@contextlib.contextmanager
def _translated(path: Path) -> Iterator[None]:
    """Every error of SQLite's and of the system's becomes one of ours, with a clear sentence."""
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise RecordBusy("Another bench wrote to this job meanwhile; close one of the two.") from error
    except sqlite3.Error as error:
        raise meaning(error, path) from error
    except OSError as error:
        if isinstance(error, RecordError):
            raise
        raise RecordReadOnly(f"The record {path} cannot be made here ({error.strerror}).") from error
