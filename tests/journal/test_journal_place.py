"""Where the record lies: private, on read-only media, in a folder that goes away, under two benches at once."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from journal_facts import AT, job_of

from firststart.bench.desk import open_job, resume_job
from firststart.clock import SimulatedClock
from firststart.errors import RecordBusy, RecordError, RecordFull, RecordReadOnly
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.journal.salvage import examine
from firststart.journal.sqlite import SqliteJournal

FACTS = job_of(12)
posix = pytest.mark.skipif(os.name != "posix", reason="file rights, and moving open files, are posix")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[SqliteJournal]:
    """A bench at work on a record with four entries, in a folder of its own."""
    journal = SqliteJournal(tmp_path / "home" / "deep" / "record.db")
    journal.append("twin", 0, FACTS[:4])
    yield journal
    journal.close()


def read(path: Path) -> tuple[object, ...]:
    journal = SqliteJournal(path, write=False)
    try:
        return journal.read("twin")
    finally:
        journal.close()


@posix
def test_record_log_and_folders_are_private_from_the_start(bench: SqliteJournal, tmp_path: Path) -> None:
    """Nobody else may enter the folders that were made, nor read the record or what lies beside it."""
    folders = [tmp_path / "home", tmp_path / "home" / "deep"]
    files = list(folders[1].iterdir())

    assert {stat.S_IMODE(folder.stat().st_mode) for folder in folders} == {0o700}
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
    assert {file.name for file in files} == {"record.db", "record.db-wal", "record.db-shm"}


@posix
def test_a_folder_that_goes_away_is_told_and_work_goes_on_when_it_is_back(bench: SqliteJournal, tmp_path: Path) -> None:
    """Nothing is written where nobody would find it; put back, the same answer is taken, and all is there."""
    (tmp_path / "home").rename(tmp_path / "away")

    for _ in range(2):
        with pytest.raises(RecordReadOnly, match="no longer there; put its disk or folder back"):
            bench.append("twin", 4, FACTS[4:6])
    (tmp_path / "away").rename(tmp_path / "home")
    assert bench.append("twin", 4, FACTS[4:6]) == 6
    assert read(bench.path) == tuple(FACTS[:6])


@posix
def test_the_same_record_on_a_disk_plugged_in_again_is_taken_up(bench: SqliteJournal, tmp_path: Path) -> None:
    """Another file with the same entries lies there now: work goes on in that one."""
    copy = tmp_path / "copy.db"
    bench.copy_to(copy)
    shutil.rmtree(bench.path.parent)
    bench.path.parent.mkdir()
    copy.rename(bench.path)

    assert bench.append("twin", 4, FACTS[4:6]) == 6
    assert read(bench.path) == tuple(FACTS[:6])


@posix
def test_another_record_in_its_place_is_not_written_to(bench: SqliteJournal, tmp_path: Path) -> None:
    """A folder with an older copy put in the place of the record's is told; nothing is mixed into it."""
    older = tmp_path / "older"
    older.mkdir()
    bench.copy_to(older / "record.db")
    bench.append("twin", 4, FACTS[4:6])
    bench.path.parent.rename(tmp_path / "away")
    older.rename(bench.path.parent)

    with pytest.raises(RecordBusy):
        bench.append("twin", 6, FACTS[6:8])
    assert read(bench.path) == tuple(FACTS[:4])


@posix
def test_a_log_that_somebody_removes_costs_nothing(bench: SqliteJournal) -> None:
    """The log beside the record tidied away while a bench is open: every entry is there all the same."""
    bench.path.with_name("record.db-wal").unlink()

    assert bench.append("twin", 4, FACTS[4:6]) == 6
    bench.close()
    assert read(bench.path) == tuple(FACTS[:6])


def test_two_benches_on_one_job(rules: Rules, tmp_path: Path) -> None:
    """The second bench that answers gets a sentence at once; the first goes on, and nothing of the second is kept."""
    path, clock = tmp_path / "record.db", SimulatedClock()
    first = open_job(rules, SqliteJournal(path), clock, i.Open("twin", "twin", "test", "shed"))
    second = resume_job(rules, SqliteJournal(path), clock, "twin")
    first.submit(i.NamePlace("barn"))

    for _ in range(3):
        with pytest.raises(RecordBusy, match="Another bench is working on 'twin'; close one of the two"):
            second.submit(i.NamePlace("yard"))
    first.submit(i.NamePlace("field"))
    assert [fact.place for fact in first.journal.read("twin") if hasattr(fact, "place")] == ["shed", "barn", "field"]


def test_a_note_from_elsewhere_does_not_stop_a_bench(rules: Rules, tmp_path: Path) -> None:
    """Notes change nothing in the work: the bench takes them in and goes on, also with its time of day in question."""
    path, clock = tmp_path / "record.db", SimulatedClock()
    bench = open_job(rules, SqliteJournal(path), clock, i.Open("twin", "twin", "test", "shed"))
    clock.sleep(7200)
    other = resume_job(rules, SqliteJournal(path), clock, "twin")
    other.submit(i.Resume())
    other.submit(i.Note("from elsewhere"))
    bench.submit(i.NamePlace("barn"))
    facts = bench.journal.read("twin")

    assert ["job-opened", "place-named", "clock-set", "job-resumed", "note-added", "place-named"] == [
        getattr(x, "type", "") for x in facts
    ]
    assert fold_all(facts) == bench.situation
    assert bench.situation.withheld_s == 7200


def test_two_benches_on_two_jobs(rules: Rules, tmp_path: Path) -> None:
    """Two people write to two jobs of one record in turn, and each sees the other's cranking of the same starter."""
    path, clock = tmp_path / "record.db", SimulatedClock()
    one = open_job(rules, SqliteJournal(path), clock, i.Open("one", "twin", "test", "shed"))
    two = open_job(rules, SqliteJournal(path), clock, i.Open("two", "twin", "test", "shed"))
    one.submit(i.TellCrank(1, 5.0))
    two.submit(i.Note("meanwhile"))
    two.share()

    assert [crank.seconds for crank in two.situation.other_cranks] == [5.0]


READ_ONLY = """
import os, sys, urllib.parse  # fetched by pathlib later, when the folder of Python may be shut
from pathlib import Path
from firststart.errors import RecordError
from firststart.journal.sqlite import SqliteJournal
from firststart.job.facts import from_json
path = Path(sys.argv[1])
from_json('{"type": "job-closed", "at": "2026-05-02T09:00:00Z"}')  # its model is built while all modules can be read
if os.getuid() == 0:
    os.setuid(65534)
reader = SqliteJournal(path, write=False)
print(len(reader.read("twin")), len(reader.jobs()))
reader.close()
try:
    SqliteJournal(path)
except RecordError as error:
    print(error)
"""


@posix
@pytest.mark.parametrize("killed", [False, True], ids=["closed", "killed"])
def test_a_record_on_a_read_only_medium_is_read(killed: bool) -> None:
    """Where no lock file can be made the record is read all the same, its log too; writing gets a sentence."""
    home = Path(tempfile.mkdtemp(dir=tempfile.gettempdir()))
    try:
        journal = SqliteJournal(home / "record.db")
        journal.append("twin", 0, FACTS)
        if not killed:
            journal.close()
        medium = home / "medium"
        medium.mkdir()
        for file in ("record.db", "record.db-wal"):
            if (home / file).exists():
                shutil.copy(home / file, medium / file)
                (medium / file).chmod(0o444)
        journal.close()
        home.chmod(0o755)
        medium.chmod(0o555)
        before = sorted(medium.iterdir())
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(medium / "record.db")], capture_output=True, text=True, check=False
        )

        assert done.stdout.splitlines() == [
            "12 1", f"The record {medium / 'record.db'} cannot be opened for writing; check its place and rights."
        ], done.stderr  # fmt: skip
        assert before == sorted(medium.iterdir())
    finally:
        medium.chmod(0o755)
        shutil.rmtree(home)


def test_what_is_no_file_is_told(tmp_path: Path) -> None:
    """A folder, or a pipe that would hold the reader up for ever, gets a sentence."""
    if os.name == "posix":
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(RecordError, match="is no file"):
            examine(tmp_path / "pipe")
    with pytest.raises(RecordError):
        SqliteJournal(tmp_path)
    with pytest.raises(RecordError):
        examine(tmp_path)


def test_a_copy_onto_a_full_disk_leaves_nothing_half_made(
    bench: SqliteJournal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the copy does not fit it is told by the copy's name, and removed."""
    monkeypatch.setattr(SqliteJournal, "_pour", _full)

    with pytest.raises(RecordFull, match=r"copy\.db"):
        bench.copy_to(tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()
    assert bench.append("twin", 4, [FACTS[4].model_copy(update={"at": AT})]) == 5


def _full(_journal: SqliteJournal, target: Path) -> None:
    """A page limit stands for the disk's end: SQLite then fails as on a full disk."""
    import sqlite3

    copy = sqlite3.connect(target, isolation_level=None)
    try:
        copy.execute("PRAGMA max_page_count = 1")
        copy.execute("CREATE TABLE t (a)")
    finally:
        copy.close()
