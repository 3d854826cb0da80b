"""A job out of a record as one file, and back; notes from the command line; two jobs compared."""

from __future__ import annotations

import json
import shutil
import stat
import sys
import zipfile
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from cli_record import facts_of

from firststart.bench.desk import Desk, open_job
from firststart.cli import archives, compare, main, note, records
from firststart.clock import SimulatedClock
from firststart.devices.wallclock import WallClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.sqlite import SqliteJournal
from firststart.units import Measured, measured

sys.path.append(str(Path(__file__).resolve().parent.parent / "journal"))
from journal_photos import from_a_phone, wav


def _test(desk: Desk, number: int, volts: str) -> None:
    """One reading of a battery at rest, in a run of its own, as the record would have it."""
    at = desk.clock.now()
    value = measured(float(volts), "V", "voltage")
    facts: list[f.Fact] = [
        f.RunStarted(at=at, run=number, procedure="battery-rest", digest="0" * 16, why="asked"),
        f.ValueMeasured(
            at=at, run=number, state="read", name="battery.rest", value=value, instrument="multimeter", resolution=0.01
        ),
        f.RunEnded(at=at, run=number, procedure="battery-rest", result="ok", outcome="ok", say="Read."),
    ]
    desk.journal.append(desk.job, desk.situation.count, facts)
    for fact in facts:
        desk.take(fact)


@pytest.fixture(scope="session")
def workshop(rules: Rules, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with two jobs on one engine, a year apart, the later one read twice, and a third job."""
    home = tmp_path_factory.mktemp("workshop")
    journal = SqliteJournal(home / "record.db")
    clock = SimulatedClock(WallClock().now() - timedelta(days=400))
    for job, engine, volts in (
        ("twin", "green twin", ("12.31",)), ("mower", "old mower", ()), ("twin 2", "green twin", ("12.74", "12.75")),
    ):  # fmt: skip
        desk = open_job(rules, journal, clock, i.Open(job, engine, "0.1.0", "shed"))
        desk.submit(i.SetProfile("kind", "motorcycle"))
        desk.submit(i.Note(f"kept with {job}"))
        for number, reading in enumerate(volts, 1):
            clock.sleep(900)
            _test(desk, number, reading)
        clock.sleep(120 * 86400)
    journal.close()
    (home / "plug 2.jpg").write_bytes(from_a_phone())
    (home / "knock.wav").write_bytes(wav())
    return home


@pytest.fixture
def home(workshop: Path, rules: Rules, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The record once more, in a folder of its own that is also where the person stands."""
    for module in (archives, compare, note, records):  # the library is read once for all tests
        monkeypatch.setattr(module, "load_rules", lambda _arguments: rules)
    target = tmp_path / "home"
    shutil.copytree(workshop, target)
    monkeypatch.chdir(target)
    monkeypatch.setenv("FIRSTSTART_CACHE", str(workshop / "cache"))
    return target


def told(capsys: pytest.CaptureFixture[str], home: Path, *arguments: str, status: int = 0) -> str:
    """What a command prints; of a mistake its one sentence."""
    capsys.readouterr()
    assert status == main([*arguments, "--home", str(home)])
    captured = capsys.readouterr()
    if status:
        assert len(captured.err.strip().splitlines()) == 1
    return captured.err if status else captured.out


def test_a_note_with_photo_and_sound_from_the_command_line(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each is kept and said; the words go with the first; what was taken out of the photo is told."""
    out = told(
        capsys, home, "note", "black", "and", "oily", "--job", "twin", "--photo", "plug 2.jpg", "--sound", "knock.wav"
    )
    kept = [x for x in facts_of(home, "twin") if isinstance(x, f.AttachmentKept)]

    assert [("plug 2.jpg", "black and oily"), ("knock.wav", "")] == [(x.attachment.name, x.text) for x in kept]
    assert "twin: The photo plug 2.jpg is kept, " in out
    assert "Taken out: where it was taken" in out
    assert {0o600} == {stat.S_IMODE(p.stat().st_mode) for p in (home / "record.kept").iterdir()}


def test_the_hours_before_a_note_are_asked_about_at_the_bench_as_ever(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A note does not make the time pass: a year away is still a gap, and its date is in question."""
    told(capsys, home, "note", "seen", "again", "--job", "twin")
    kinds = [getattr(x, "type", "") for x in facts_of(home, "twin")][-3:]

    assert ["clock-set", "job-resumed", "note-added"] == kinds


def test_no_note_from_elsewhere_ends_a_crank(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """While the starter turns by the record the bench has the word: the note is refused, and nothing is written."""
    before = facts_of(home, "twin")
    journal = SqliteJournal(home / "record.db")
    began = [
        f.RunStarted(at=before[-1].at, run=9, procedure="first-crank", digest="0" * 16, why="plan"),
        f.CrankBegan(at=before[-1].at, run=9, state="crank", limit_s=5.0),
    ]
    journal.append("twin", len(before), began)
    journal.close()

    assert "the starter turns; answer at the bench first" in told(
        capsys, home, "note", "loud", "--job", "twin", status=2
    )
    assert (*before, *began) == facts_of(home, "twin")


MISTAKES: list[tuple[list[str], str]] = [
    (["note"], "Say what to keep"),
    (["note", "--photo", "none.jpg"], "There is no file"),
    (["note", "--photo", "knock.wav"], "knock.wav is no photo"),
    (["note", "--photo", "record.db"], "record.db is no photo"),
    (["note", "--sound", "plug 2.jpg"], "not a sound file"),
    (["note", "x" * 4001], "has 4001 characters, and 4000 fit"),
    (["note", "x", "--job", "nothing"], "There is no job called 'nothing'"),
    (["jobs", "--export", "nothing"], "There is no job called 'nothing'"),
    (["jobs", "--export", "twin", "-o", "record.db"], "nothing is overwritten"),
    (["jobs", "--export", "twin", "-o", "none/x.zip"], "There is no folder"),
    (["jobs", "--import", "none.zip"], "There is no file"),
    (["jobs", "--import", "record.db"], "The export is not JSON"),
    (["jobs", "--import", "plug 2.jpg"], "The export is not JSON"),
    (["compare", "twin", "twin"], "Name two different jobs"),
    (["compare", "twin", "mower"], "compare jobs on one engine"),
    (["compare", "mower"], "nothing can be compared yet"),
    (["compare", "twin 2", "--tests", "1", "9"], "has no run 9"),
    (["compare", "a", "b", "c"], "Name two different jobs"),
    (["report", "twin", "-o", "none/x.html"], "cannot be written"),
]


@pytest.mark.parametrize(("arguments", "words"), MISTAKES, ids=[" ".join(m[0])[:40] for m in MISTAKES])
def test_a_mistake_is_one_sentence_and_changes_nothing(
    arguments: list[str], words: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit status 2, and the record has every entry that it had, and no more that counts."""
    before = facts_of(home, "twin")

    assert words in told(capsys, home, *arguments, status=2)
    assert before == facts_of(home, "twin")[: len(before)]


def test_a_job_goes_out_and_comes_into_another_record_equal(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With its photo and sound, into a record that was not there; what was done is said both times."""
    told(capsys, home, "note", "oily", "--job", "twin 2", "--photo", "plug 2.jpg", "--sound", "knock.wav")
    out = told(capsys, home, "jobs", "--export", "twin 2")
    other = home / "other"
    taken = told(capsys, other, "jobs", "--import", "twin-2.zip")

    assert out.startswith("twin-2.zip: twin 2, ")
    assert "1 photo, 1 sound and checked." in out
    assert taken.startswith("twin 2: ")
    assert "1 photo, 1 sound taken in. Carry on with: firststart --job 'twin 2'" in taken
    assert facts_of(home, "twin 2") == facts_of(other, "twin 2")
    assert sorted(p.name for p in (home / "record.kept").iterdir()) == sorted(
        p.name for p in (other / "record.kept").iterdir()
    )
    assert "src=\"data:image/jpeg" in told(capsys, other, "report", "-o", "-")


def test_the_json_of_a_report_comes_in_too(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without the photos, which are named as missing; the entries are equal."""
    told(capsys, home, "note", "oily", "--job", "twin", "--photo", "plug 2.jpg")
    told(capsys, home, "report", "twin", "--format", "json", "-o", "twin.json")
    out = told(capsys, home / "other", "jobs", "--import", "twin.json")

    assert facts_of(home, "twin") == facts_of(home / "other", "twin")
    assert "Not there any more, and so not in it: photo plug 2.jpg." in out


def test_a_job_that_is_there_already_is_refused_or_kept_under_another_name(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same one, and another of that name: told which; nothing that was recorded is touched."""
    told(capsys, home, "jobs", "--export", "twin")
    before = facts_of(home, "twin")
    same = told(capsys, home, "jobs", "--import", "twin.zip", status=2)
    told(capsys, home, "note", "one", "more", "--job", "twin")
    other = told(capsys, home, "jobs", "--import", "twin.zip", status=2)
    told(capsys, home, "jobs", "--import", "twin.zip", "--as", "twin then")

    assert "already, the same, entry for entry; nothing was taken, and --as NAME" in same
    assert "already, with other entries; nothing was taken, and --as NAME" in other
    assert before == facts_of(home, "twin")[: len(before)]
    assert before[1:] == facts_of(home, "twin then")[1:]
    assert before[0].model_copy(update={"job": "twin then"}) == facts_of(home, "twin then")[0]


@pytest.mark.parametrize("name", ["", " ", "a\nb", "x" * 121, "\x1b[2J"])
def test_a_name_that_cannot_be_shown_is_refused(name: str, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A job is not taken in under a name that would break the screen."""
    told(capsys, home, "jobs", "--export", "twin")

    assert "must have 1 to 120 letters" in told(
        capsys, home, "jobs", "--import", "twin.zip", "--as", name, status=2
    )


def test_an_engine_that_is_known_keeps_one_starter(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A job whose engine is written with other capitals is taken in under the name that is known."""
    told(capsys, home, "report", "twin", "--format", "json", "-o", "twin.json")
    document = json.loads((home / "twin.json").read_text(encoding="utf-8"))
    document["facts"][0]["engine"] = "Green  TWIN"
    (home / "twin.json").write_text(json.dumps(document), encoding="utf-8")
    told(capsys, home, "jobs", "--import", "twin.json", "--as", "twin 3")
    opened = facts_of(home, "twin 3")[0]

    assert isinstance(opened, f.JobOpened)
    assert "green twin" == opened.engine


def test_an_archive_is_the_users_alone_and_says_in_json_what_it_holds(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Private on the disk; machine-readable when asked."""
    out = json.loads(told(capsys, home, "jobs", "--export", "twin", "--format", "json"))

    assert {"file": "twin.zip", "job": "twin", "photos": 0, "sounds": 0, "missing": []} == {
        k: v for k, v in out.items() if k != "entries"
    }
    assert len(facts_of(home, "twin")) == out["entries"]
    assert 0o600 == stat.S_IMODE((home / "twin.zip").stat().st_mode)
    assert zipfile.is_zipfile(home / "twin.zip")


def test_two_jobs_on_one_engine_are_compared(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The newest against the one before by itself, or the two that are named: the same text."""
    text = told(capsys, home, "compare", "twin 2")
    named = told(capsys, home, "compare", "twin", "twin 2")

    assert text == named
    assert "12.31 V before, 12.75 V after: higher, by +0.44 V, beyond the" in " ".join(text.split())


def test_two_tests_of_one_job_are_compared(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By their numbers, which a list tells; one step of the meter is no change to be seen."""
    listed = told(capsys, home, "compare", "twin 2", "--list")
    text = " ".join(told(capsys, home, "compare", "twin 2", "--tests", "1", "2").split())

    assert ["1: Battery rest", "2: Battery rest"] == [line.split(",")[0] for line in listed.splitlines()]
    assert "12.74 V before, 12.75 V after: no change to be seen, by +0.01 V, not beyond the" in text


def test_a_comparison_is_machine_readable_by_its_schema(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Units by UCUM, the difference with its doubt, and the word of it; valid by the schema that is printed."""
    jsonschema: Any = pytest.importorskip("jsonschema")
    document = json.loads(told(capsys, home, "compare", "twin 2", "--format", "json"))
    schema = json.loads(told(capsys, home, "compare", "--format", "schema"))
    (change,) = document["changes"]
    jsonschema.Draft202012Validator(schema).validate(document)

    assert ("V", True, "higher") == (change["difference"]["ucum"], change["beyond"], change["word"])
    assert [0.44, 0.01] == pytest.approx([change["difference"]["si"], change["both_half_steps"]["si"]])


def test_the_report_shows_the_trend_across_jobs(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The page and the text of the later job hold its newest test against the earlier job's."""
    page = told(capsys, home, "report", "twin 2", "-o", "-")
    text = told(capsys, home, "report", "twin", "--format", "text")

    assert 'id="trends"' in page
    assert "From test to test" in page
    assert "FROM TEST TO TEST" not in text


def test_photos_go_along_with_a_copy_and_through_a_salvage(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Beside the copy lies what lies beside the record; what is lost is named, and the status says so."""
    told(capsys, home, "note", "oily", "--job", "twin", "--photo", "plug 2.jpg", "--sound", "knock.wav")
    kept = sorted(p.name for p in (home / "record.kept").iterdir())
    copied = told(capsys, home, "copy", str(home / "copy.db"))
    saved = told(capsys, home, "salvage", str(home / "saved.db"))

    assert kept == sorted(p.name for p in (home / "copy.kept").iterdir())
    assert kept == sorted(p.name for p in (home / "saved.kept").iterdir())
    assert "1 photo and 1 sound beside it" in copied
    assert "1 photo and 1 sound beside it" in saved
    (home / "record.kept" / kept[0]).unlink()
    assert 1 == main(["copy", str(home / "again.db"), "--home", str(home)])
    assert "missing: " in capsys.readouterr().out


def test_the_value_of_a_reading_is_not_rounded_on_its_way(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was read is what comes back, to the last figure."""
    told(capsys, home, "jobs", "--export", "twin 2")
    told(capsys, home / "other", "jobs", "--import", "twin-2.zip")
    values = [x.value for x in facts_of(home / "other", "twin 2") if isinstance(x, f.ValueMeasured)]

    assert [Measured(12.74, "V", "voltage", 12.74), Measured(12.75, "V", "voltage", 12.75)] == values
