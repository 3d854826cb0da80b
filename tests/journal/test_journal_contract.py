"""One contract for every journal, and what only the one on disk must do."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.errors import (
    RecordBusy,
    RecordDamaged,
    RecordError,
    RecordFull,
    RecordReadOnly,
    RecordTooNew,
    UnknownName,
)
from firststart.job import facts as f
from firststart.journal.memory import MemoryJournal
from firststart.journal.port import Journal
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import fact_of, row_of

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
OPENED = f.JobOpened(at=AT, job="twin", engine="green twin", tool="test")


def note(text: str, minutes: float = 1) -> f.NoteAdded:
    return f.NoteAdded(at=AT + timedelta(minutes=minutes), text=text)


@pytest.fixture(params=["memory", "sqlite"])
def open_again(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], Journal]:
    """Opens the same journal again and again: after a restart on disk, the same object in memory."""
    if request.param == "memory":
        kept = MemoryJournal()
        return lambda: kept
    return lambda: SqliteJournal(tmp_path / "record.db")


def test_what_was_appended_is_read_back_in_order(open_again: Callable[[], Journal]) -> None:
    """Facts come back equal and in order, also after the journal was opened anew."""
    journal = open_again()
    journal.append("twin", 0, [OPENED, note("a")])
    journal.append("twin", 2, [note("b", 2)])
    journal.close()

    assert (OPENED, note("a"), note("b", 2)) == open_again().read("twin")


def test_a_closed_job_stays_closed_whatever_is_noted_after_it(open_again: Callable[[], Journal]) -> None:
    """A photo or a note found later does not make it a job under way; one that was never closed is one."""
    journal = open_again()
    journal.append("twin", 0, [OPENED, f.JobClosed(at=AT), note("sold"), f.JobResumed(at=AT, gap_s=4000)])
    journal.append("mower", 0, [OPENED, note("found")])

    assert {"twin": True, "mower": False} == {line.job: line.closed for line in journal.jobs()}


def test_a_second_writer_is_refused(open_again: Callable[[], Journal]) -> None:
    """Whoever appends after a count that is no longer true is refused, and nothing is lost or doubled."""
    one, two = open_again(), open_again()
    one.append("twin", 0, [OPENED])
    one.append("twin", 1, [note("mine")])

    with pytest.raises(RecordBusy, match="Another bench"):
        two.append("twin", 1, [note("yours")])
    assert (OPENED, note("mine")) == one.read("twin")


def test_jobs_are_listed_newest_first(open_again: Callable[[], Journal]) -> None:
    """The list tells engine, entries and newest work."""
    journal = open_again()
    journal.append("twin", 0, [OPENED])
    journal.append("mower", 0, [OPENED.model_copy(update={"job": "mower", "engine": "mower"}), note("x", 9)])

    assert [(line.job, line.facts) for line in journal.jobs()] == [("mower", 2), ("twin", 1)]


def test_an_unknown_job_is_named(open_again: Callable[[], Journal]) -> None:
    """Reading a job that does not exist is a clear error."""
    with pytest.raises(UnknownName, match="twin"):
        open_again().read("twin")


def test_cranks_of_other_jobs_on_the_engine_are_found(open_again: Callable[[], Journal]) -> None:
    """Only other jobs on the same engine, and only what counts for its starter."""
    journal = open_again()
    crank = f.CrankTold(at=AT, seconds=5)
    journal.append("twin", 0, [OPENED, note("x"), crank])
    journal.append("mower", 0, [OPENED.model_copy(update={"job": "mower", "engine": "mower"}), crank])

    assert [(crank,)] == [tuple(facts) for facts in journal.cranks_of_others("twin 2", "green twin")]
    assert list(journal.cranks_of_others("twin", "green twin")) == []


@pytest.fixture
def path(tmp_path: Path) -> Path:
    journal = SqliteJournal(tmp_path / "record.db")
    journal.append("twin", 0, [OPENED, note("a")])
    journal.close()
    return tmp_path / "record.db"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE fact SET body = '{}'",
        "DELETE FROM fact",
        "INSERT OR REPLACE INTO fact SELECT job, number, at, kind, version, '{}', seal FROM fact",
        "UPDATE job SET engine = 'x'",
        "DELETE FROM job",
    ],
)
def test_facts_are_never_changed(path: Path, statement: str) -> None:
    """No statement through our connection changes or removes a fact, not even REPLACE."""
    journal = SqliteJournal(path)

    with pytest.raises(sqlite3.IntegrityError, match="never"):
        journal._db.execute(statement)


def test_a_record_from_a_newer_version_is_refused(path: Path) -> None:
    """A newer schema, or a newer kind of fact, is told in a sentence; nothing is touched."""
    db = sqlite3.connect(path)
    db.execute("PRAGMA user_version = 99")
    db.close()

    with pytest.raises(RecordTooNew, match="newer firststart"):
        SqliteJournal(path)
    with pytest.raises(RecordTooNew, match="Entry 3"):
        fact_of("twin", 3, "note-added", 99, "{}")


def test_a_locked_record_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another program holds the record, the person gets a sentence and not a lock-up."""
    monkeypatch.setattr("firststart.journal.sqlite.BUSY_SECONDS", 0.05)
    journal = SqliteJournal(path)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")

    with pytest.raises(RecordBusy, match="in use by another bench"):
        journal.append("twin", 2, [note("b")])
    other.execute("ROLLBACK")
    other.close()
    assert journal.append("twin", 2, [note("b")]) == 3


def test_a_reader_is_not_blocked_by_a_writer(path: Path) -> None:
    """Reading goes on while another bench is in the middle of writing."""
    writer = sqlite3.connect(path, isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    reader = SqliteJournal(path, write=False)

    found = len(reader.read("twin"))
    writer.close()

    assert 2 == found


def test_a_read_only_record_can_be_read_and_is_not_written(path: Path) -> None:
    """Opened for reading, the record refuses to be written and says so."""
    reader = SqliteJournal(path, write=False)

    with pytest.raises(RecordReadOnly):
        reader.append("twin", 2, [note("b")])
    assert len(reader.read("twin")) == 2


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """A record below a file cannot be made; the message says where."""
    (tmp_path / "file").write_text("x")

    with pytest.raises(RecordError, match="record"):
        SqliteJournal(tmp_path / "file" / "deep" / "record.db")


def test_a_full_disk_keeps_what_was_there(path: Path) -> None:
    """When the disk is full the person is told, earlier facts are kept, and work goes on after room is made."""
    journal = SqliteJournal(path)
    pages = journal._db.execute("PRAGMA page_count").fetchone()[0]
    journal._db.execute(f"PRAGMA max_page_count = {pages}")

    with pytest.raises(RecordFull, match="full"):
        journal.append("twin", 2, [note("x" * 3900, n) for n in range(40)])
    assert len(journal.read("twin")) == 2
    journal._db.execute("PRAGMA max_page_count = 100000")
    assert journal.append("twin", 2, [note("b")]) == 3


def test_a_damaged_record_is_told(path: Path) -> None:
    """A file that is no database is refused in a sentence."""
    path.write_bytes(b"not a database at all, not at all" * 200)
    for extra in ("-wal", "-shm"):
        path.with_name(path.name + extra).unlink(missing_ok=True)

    with pytest.raises(RecordDamaged, match="damaged"):
        SqliteJournal(path)


def test_a_body_that_is_no_fact_is_told() -> None:
    """A row whose body cannot be read names its number and kind."""
    with pytest.raises(RecordDamaged, match="Entry 7"):
        fact_of("twin", 7, "note-added", 1, '{"type": "note-added"}')


@pytest.mark.skipif(os.name != "posix", reason="file rights are posix")
def test_the_record_is_private(path: Path) -> None:
    """Nobody but the user may read the record."""
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@given(st.text(max_size=100), st.floats(0, 1e6), st.datetimes(timezones=st.just(UTC)))
def test_facts_and_rows_go_both_ways(text: str, seconds: float, at: datetime) -> None:
    """A fact written as a row and read again is itself."""
    for fact in (
        f.NoteAdded(at=at, text=text),
        f.CrankEnded(at=at, run=1, seconds=seconds),
        f.HoldUndone(at=at, hold=text, because=text),
    ):
        _, kind, version, body = row_of(fact)

        assert fact == fact_of("j", 1, kind, version, body)
