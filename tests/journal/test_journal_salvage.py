"""Copies of a record in use, and what is read of a damaged one: nothing wrong, and exactly what is missing."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from journal_facts import AT, FIRST, job_of
from make_samples import SAMPLES, build

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import resume_job
from firststart.cli import main
from firststart.clock import SimulatedClock
from firststart.errors import RecordError, RecordReadOnly, UnknownName
from firststart.job import facts as f
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.journal.carve import carve
from firststart.journal.memory import MemoryJournal
from firststart.journal.salvage import TAKEN_S, Lost, SavedJob, examine, rebuilt, save, summary
from firststart.journal.sqlite import SqliteJournal

NOW = AT + timedelta(days=30)
LENGTH = 120
LONG = "long " * 500  # a note that runs over into pages of its own


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, list[f.Fact]]]:
    """The bytes of a whole record with three jobs, and what is in it."""
    path = tmp_path_factory.mktemp("sound") / "record.db"
    truth = {
        "twin": job_of(LENGTH), "mower": job_of(LENGTH, "mower", "mower", LONG), "a": job_of(3, "a", "a"),
    }  # fmt: skip
    journal = SqliteJournal(path)
    for at in range(0, LENGTH, 4):
        for name, facts in truth.items():
            if facts[at : at + 4]:
                journal.append(name, at, facts[at : at + 4])
    journal.close()
    return path.read_bytes(), truth


def held_against(saved: tuple[SavedJob, ...], truth: dict[str, list[f.Fact]]) -> None:
    """Every fact read is true; what is told as lost is what is lost; a job that calls itself certain hides nothing."""
    jobs = {job.job: job for job in saved}
    for name, facts in truth.items():
        job = jobs.get(name)
        if job is None:
            continue
        told = {lost.number for lost in job.lost}
        missing = {n for n in range(1, len(facts) + 1) if n not in job.facts}

        assert job.facts == {n: fact for n, fact in enumerate(facts, 1) if n in job.facts}
        assert told == {n for n in missing if n <= job.entries}
        assert not job.certain or job.entries == len(facts)
        assert job.whole == (not missing and job.certain)
    assert set(jobs) <= set(truth)


def test_a_whole_record_is_read_whole(sound: tuple[bytes, dict[str, list[f.Fact]]], tmp_path: Path) -> None:
    """From the bytes alone comes what SQLite reads, and nothing is told as missing."""
    data, truth = sound
    (tmp_path / "record.db").write_bytes(data)
    saved = examine(tmp_path / "record.db")

    held_against(saved, truth)
    assert sorted(truth) == [job.job for job in saved]
    assert all(job.whole for job in saved)


@settings(max_examples=50)
@given(st.lists(st.tuples(st.floats(0, 0.999999), st.integers(1, 3000), st.integers(0, 2**32)), min_size=1, max_size=6))
@example([(0.0, 4096, 1)])
@example([(0.0, 100, 1), (0.5, 4096, 2)])
def test_flipped_bytes_never_make_a_wrong_entry(
    sound: tuple[bytes, dict[str, list[f.Fact]]],
    tmp_path_factory: pytest.TempPathFactory,
    hits: list[tuple[float, int, int]],
) -> None:
    """Wherever bytes change: what is read is true, what is missing is told, and the new record opens."""
    data, truth = sound
    damaged = bytearray(data)
    for place, length, seed in hits:
        at = int(place * len(data))
        for n, byte in enumerate(Random(seed).randbytes(min(length, len(data) - at))):
            damaged[at + n] = byte
    folder = tmp_path_factory.mktemp("damaged")
    (folder / "record.db").write_bytes(damaged)
    saved = examine(folder / "record.db")
    held_against(saved, truth)
    save(saved, folder / "saved.db", NOW)
    journal = SqliteJournal(folder / "saved.db")
    for job in saved:
        read = journal.read(job.job)

        assert all(read[n - 1] == fact or isinstance(read[n - 1], f.NoteAdded) for n, fact in job.facts.items())
        assert not job.whole or read == tuple(truth[job.job])
    journal.close()


def test_single_flipped_bits_are_always_found(sound: tuple[bytes, dict[str, list[f.Fact]]]) -> None:
    """One bit anywhere in a row loses that row at most, and never changes it."""
    data, truth = sound
    r = Random(7)
    for _ in range(40):
        damaged = bytearray(data)
        damaged[r.randrange(len(data))] ^= 1 << r.randrange(8)
        found = carve(bytes(damaged))
        read = [len([k for k in found.rows if k[0] == name]) for name in truth]

        assert sum(len(facts) for facts in truth.values()) - 2 <= sum(read)


def test_the_log_of_a_killed_bench_is_read_too(tmp_path: Path) -> None:
    """What was committed and stands in the log alone is saved; a torn log loses only what stands in the torn part."""
    journal = SqliteJournal(tmp_path / "record.db")
    facts = job_of(40, "mower", "mower", LONG)
    for at in range(0, 40, 2):
        journal.append("mower", at, facts[at : at + 2])
    data, log = (tmp_path / "record.db").read_bytes(), (tmp_path / "record.db-wal").read_bytes()
    journal.close()
    (tmp_path / "killed.db").write_bytes(data)
    (tmp_path / "killed.db-wal").write_bytes(log)
    (tmp_path / "torn.db").write_bytes(data)
    (tmp_path / "torn.db-wal").write_bytes(log[: len(log) // 2])

    assert [job.whole for job in examine(tmp_path / "killed.db")] == [True]
    held_against(examine(tmp_path / "torn.db"), {"mower": facts})


def test_a_record_of_version_1_is_read_and_its_end_is_called_uncertain(tmp_path: Path) -> None:
    """Rows without seals are held against their own bodies; that nothing follows cannot be told."""
    path = build((SAMPLES / "v1.sql").read_text(encoding="utf-8"), tmp_path / "record.db")
    jobs = {job.job: job for job in examine(path)}

    assert tuple(jobs["twin"].facts.values()) == FIRST
    assert not jobs["twin"].certain
    assert "Entries after 26 may be missing too." in summary(jobs["twin"])


def test_a_job_with_lost_entries_is_closed_safely() -> None:
    """Hold points hold no longer, work is left, the starter is taken as cranked for long, evidence does not count."""
    facts = [
        f.JobOpened(at=AT, job="twin", engine="twin", tool="test"),
        f.HoldMet(at=AT, hold="fire-ready", by="fire-readiness"),
        f.RunStarted(at=AT, run=1, procedure="plug-look", digest="", why="plan"),
        f.StepEntered(at=AT, run=1, state="look-1"),
        f.AnswerGiven(at=AT, run=1, state="look-1", event="dry", observe="plug.look", cylinder=1),
        f.NoteAdded(at=AT, text="the lost one"),
        f.NoteAdded(at=AT + timedelta(hours=1), text="after it"),
    ]
    kept = {n: fact for n, fact in enumerate(facts, 1) if n != 6}
    read = examine_as("twin", kept, 7)
    situation = fold_all(rebuilt(read, NOW))

    assert situation.holds["fire-ready"].undone
    assert situation.runs == ()
    assert [seen.stale != "" for seen in situation.observed] == [True]
    assert [crank.seconds for crank in situation.cranks] == [TAKEN_S]
    assert situation.cranks[0].start + TAKEN_S == (AT + timedelta(hours=1)).timestamp()
    assert summary(read) == "twin: 6 of 7 entries were read; lost: entry 6."


def examine_as(name: str, facts: dict[int, f.Fact], entries: int, *, certain: bool = True) -> SavedJob:
    lost = tuple(Lost(n) for n in range(1, entries + 1) if n not in facts)
    return SavedJob(name, name, entries, facts, lost, certain)


@settings(max_examples=12)
@given(st.sets(st.integers(1, 60), min_size=1, max_size=30), st.booleans())
def test_a_salvaged_job_is_taken_up_again(rules: Rules, lost: set[int], certain: bool) -> None:
    """Whichever entries are lost, the bench opens the job, and the starter rests."""
    clock = SimulatedClock(NOW)
    facts = {n: fact for n, fact in enumerate(job_of(60), 1) if n not in lost and fact.type != "clock-set"}  # type: ignore[attr-defined]
    journal = MemoryJournal()
    journal.append("twin", 0, rebuilt(examine_as("twin", facts, 60, certain=certain), NOW))
    desk = resume_job(rules, journal, clock, "twin")
    conductor = Conductor(desk, Adviser(rules, None))
    conductor.greet()
    for words in ("yes", "next step", "why", "status", "stop", "done"):
        conductor.hear(words)

    assert not [name for name, hold in desk.situation.holds.items() if not hold.undone]
    assert certain or rules.permit(desk.situation, desk.now).wait_s > 0


def test_nothing_is_ever_overwritten(sound: tuple[bytes, dict[str, list[f.Fact]]], tmp_path: Path) -> None:
    """Copy and salvage refuse a file that is there, and a place where none can be made; nothing half made is left."""
    (tmp_path / "record.db").write_bytes(sound[0])
    (tmp_path / "there").write_text("mine")
    journal = SqliteJournal(tmp_path / "record.db", write=False)
    saved = examine(tmp_path / "record.db")

    with pytest.raises(RecordError, match="nothing is overwritten"):
        journal.copy_to(tmp_path / "there")
    with pytest.raises(RecordError, match="nothing is overwritten"):
        save(saved, tmp_path / "there", NOW)
    with pytest.raises(RecordReadOnly, match="name another place"):
        journal.copy_to(tmp_path / "no folder" / "copy.db")
    with pytest.raises(UnknownName):
        examine(tmp_path / "nothing.db")
    journal.close()
    assert (tmp_path / "there").read_text() == "mine"
    assert {p.name for p in tmp_path.iterdir()} <= {"record.db", "record.db-wal", "record.db-shm", "there"}


def test_a_damaged_record_is_not_copied(sound: tuple[bytes, dict[str, list[f.Fact]]], tmp_path: Path) -> None:
    """A copy of damage is no backup: it is told, and no file is left."""
    data = bytearray(sound[0])
    at = data.rfind(b'"seconds":4.75')
    data[at + 10] ^= 1
    (tmp_path / "record.db").write_bytes(data)
    journal = SqliteJournal(tmp_path / "record.db", write=False)

    with pytest.raises(RecordError, match="salvage"):
        journal.copy_to(tmp_path / "copy.db")
    journal.close()
    assert not (tmp_path / "copy.db").exists()


def test_a_copy_is_made_while_a_bench_writes(tmp_path: Path) -> None:
    """The copy is one moment of the record, private, and the bench goes on."""
    bench = SqliteJournal(tmp_path / "record.db")
    bench.append("twin", 0, job_of(50))
    reader = SqliteJournal(tmp_path / "record.db", write=False)
    counts = reader.copy_to(tmp_path / "copy.db")
    reader.close()
    bench.append("twin", 50, job_of(51)[50:])
    bench.close()

    assert counts == {"twin": 50}
    assert (tmp_path / "copy.db").stat().st_mode & 0o077 == 0


def test_the_commands_tell_what_they_did(
    sound: tuple[bytes, dict[str, list[f.Fact]]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """copy and salvage print one line a job, 0 when all is well and 1 when something is missing."""
    home = tmp_path / "home"
    home.mkdir()
    data = bytearray(sound[0])
    (home / "record.db").write_bytes(data)
    entries = 2 * LENGTH + 3

    assert main(["copy", str(tmp_path / "copy.db"), "--home", str(home)]) == 0
    assert f"3 jobs, {entries} entries, copied and checked" in capsys.readouterr().out
    assert main(["salvage", "--home", str(home)]) == 0
    assert "Nothing was written" in capsys.readouterr().out
    data[data.rfind(b'"seconds":4.75') + 10] ^= 1
    (home / "record.db").write_bytes(data)
    assert main(["salvage", str(tmp_path / "saved.db"), "--home", str(home), "--format", "json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert [1] == [len(job["lost"]) for job in told["jobs"] if job["lost"]]
    assert main(["jobs", "--home", str(home)]) == 2
    assert "firststart salvage" in capsys.readouterr().err
