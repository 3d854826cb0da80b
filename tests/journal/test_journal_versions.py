"""Records of every version so far are read, brought up, and written on; those of none are refused."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path
from typing import get_args

import pytest
from journal_facts import AT, EVERY, FIRST
from make_samples import NEWEST, SAMPLES, build, sample

from firststart.errors import RecordDamaged, RecordError, RecordTooNew
from firststart.job import facts as f
from firststart.journal import schema
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import fact_of, row_of

ALL = sorted(path.stem for path in SAMPLES.glob("v*.sql"))
NOTE = f.NoteAdded(at=AT, text="written on")


@pytest.fixture(params=ALL)
def name(request: pytest.FixtureRequest) -> str:
    """The name of a sample."""
    return str(request.param)


@pytest.fixture
def old(name: str, tmp_path: Path) -> Path:
    """A record as that version left it."""
    return build((SAMPLES / f"{name}.sql").read_text(encoding="utf-8"), tmp_path / "record.db")


@pytest.fixture
def told(name: str) -> tuple[f.Fact, ...]:
    """The facts of the sample's first job."""
    return FIRST if name in ("v1", "v2") else EVERY


def test_there_is_a_sample_of_every_version() -> None:
    """Each version of the tables has its stored sample."""
    assert {f"v{n}" for n in range(1, schema.SCHEMA_VERSION + 1)} | {NEWEST} == set(ALL)


def test_every_kind_of_fact_is_in_the_samples() -> None:
    """A new kind of fact wants a line in journal_facts.py and the newest sample made anew."""
    kinds = set(get_args(get_args(f.AnyFact)[0]))

    assert kinds == {type(fact) for fact in EVERY}
    assert all(kind.model_fields["type"].default in (SAMPLES / f"{NEWEST}.sql").read_text("utf-8") for kind in kinds)


def test_the_newest_sample_is_what_this_version_writes() -> None:
    """A fact whose body has changed wants a new version with an upcast: an older tool refuses what it does not know."""
    assert (SAMPLES / f"{NEWEST}.sql").read_text(encoding="utf-8") == sample()


def test_an_older_record_is_read_without_being_touched(old: Path, told: tuple[f.Fact, ...]) -> None:
    """Reading brings nothing up: every fact is there, and the file stays as it was, byte for byte."""
    before = old.read_bytes()
    journal = SqliteJournal(old, write=False)
    read = journal.read("twin")
    journal.close()

    assert read == told
    assert before == old.read_bytes()


def test_an_older_record_is_brought_up_and_written_on(old: Path, told: tuple[f.Fact, ...]) -> None:
    """Opened for writing it has the newest tables word for word, all its facts, sealed, and takes new ones."""
    journal = SqliteJournal(old)
    journal.append("twin", len(told), [NOTE])
    counts = journal.check()
    read = journal.read("twin")
    journal.close()
    db = sqlite3.connect(old)
    seals = db.execute("SELECT count(*) FROM fact WHERE length(seal) = 16").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    db.close()

    assert (*told, NOTE) == read
    assert counts == {"mower": 3, "twin": len(told) + 1}
    assert seals == len(told) + 4
    assert version == schema.SCHEMA_VERSION


def test_a_reader_of_an_older_record_reads_on_while_it_is_brought_up(old: Path, told: tuple[f.Fact, ...]) -> None:
    """A reader that was open before the tables changed goes on reading after it."""
    reader = SqliteJournal(old, write=False)
    reader.read("twin")
    writer = SqliteJournal(old)
    writer.append("twin", len(told), [NOTE])

    assert (*told, NOTE) == reader.read("twin")
    reader.close()
    writer.close()


@pytest.mark.parametrize(
    "script",
    [
        "CREATE TABLE song (name TEXT);",
        "CREATE TABLE fact (job TEXT); PRAGMA user_version = 1;",
        "CREATE VIEW fact AS WITH RECURSIVE n(x) AS (VALUES (1) UNION ALL SELECT x + 1 FROM n) SELECT x AS job FROM n;"
        "CREATE VIEW job AS SELECT * FROM fact; PRAGMA user_version = 2;",
        f"{(SAMPLES / 'v2.sql').read_text('utf-8')}; CREATE TRIGGER t AFTER INSERT ON fact BEGIN SELECT 1; END;",
        f"{(SAMPLES / 'v2.sql').read_text('utf-8')}; DROP TRIGGER fact_no_update;",
        f"{(SAMPLES / 'v2.sql').read_text('utf-8')}; PRAGMA user_version = 1;",
    ],
)
def test_a_file_with_other_tables_is_refused(script: str, tmp_path: Path) -> None:
    """A database of another program, or a record with a view or a trigger put in, is refused before it can run."""
    path = build(script, tmp_path / "record.db")
    before = path.read_bytes()

    for write in (True, False):
        with pytest.raises(RecordError, match=r"no record of jobs|is damaged"):
            SqliteJournal(path, write=write)
    assert before == path.read_bytes()


def test_a_row_that_changed_on_the_disk_is_told_by_its_number(old: Path) -> None:
    """One changed digit in one reading is seen, and the entry is named; nothing wrong is ever read as right."""
    SqliteJournal(old).close()
    at = old.read_bytes().find(b'"value":118.0')
    with old.open("rb+") as file:
        file.seek(at + len(b'"value":11'))
        file.write(b"9")
    journal = SqliteJournal(old, write=False)

    with pytest.raises(RecordDamaged, match=r"Entry 8 of job 'twin' changed on the disk"):
        journal.read("twin")
    journal.close()


def test_an_older_tool_says_that_it_is_too_old_for_a_photo() -> None:
    """An entry of a kind that is newer than its tool is not called damaged."""
    kept = next(fact for fact in EVERY if isinstance(fact, f.AttachmentKept))

    assert 2 == row_of(kept)[2]
    assert {1} == {row_of(fact)[2] for fact in FIRST}
    with pytest.raises(RecordTooNew, match="Entry 7 of job 'twin' was made by a newer firststart"):
        fact_of("twin", 7, "note-added", 2, row_of(kept)[3])


@pytest.mark.parametrize("body", ['{"type": "note-added"}', "{", "[]", "null", '"x"', "[" * 100_000, ""])
@pytest.mark.parametrize("version", [-1, 0, 1])
def test_a_body_that_is_no_fact_names_its_entry(body: str, version: int) -> None:
    """Whatever stands in a body, the error names entry and job."""
    with pytest.raises(RecordDamaged, match="Entry 7 of job 'twin'"):
        fact_of("twin", 7, "note-added", version, body)


def test_a_body_of_another_kind_is_refused() -> None:
    """The kind beside the body is the kind inside it."""
    _, _, version, body = row_of(NOTE)

    with pytest.raises(RecordDamaged, match="its kind and its body differ"):
        fact_of("twin", 7, "job-closed", version, body)


def test_the_copy_of_a_sample_is_the_same(old: Path, told: tuple[f.Fact, ...], tmp_path: Path) -> None:
    """A record of any version is copied as it is; the copy is one whole file."""
    journal = SqliteJournal(old, write=False)
    counts = journal.copy_to(tmp_path / "copy.db")
    journal.close()
    shutil.rmtree(tmp_path / "copy.db-wal", ignore_errors=True)
    copy = SqliteJournal(tmp_path / "copy.db", write=False)

    assert copy.read("twin") == told
    assert counts == {"mower": 3, "twin": len(told)}
    copy.close()
    assert sorted(p.name for p in tmp_path.glob("copy*")) == ["copy.db"]
    assert json.loads(row_of(EVERY[0])[3])["job"] == "twin"
