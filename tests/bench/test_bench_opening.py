"""Opening a job again is quick, and nothing that was kept for that is believed over the record."""

from __future__ import annotations

import argparse
import os
import pickle
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from firststart.bench import desk as desk_module
from firststart.bench.desk import Desk, open_job, resume_job
from firststart.cli.common import load_rules
from firststart.clock import SimulatedClock
from firststart.errors import RecordDamaged
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.journal.shelf import Shelf
from firststart.journal.sqlite import SqliteJournal
from firststart.procedure.catalogue import content_key

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


class Watched(SqliteJournal):
    """A journal that tells how many entries were read."""

    entries = 0

    def read(self, job, after=0):  # type: ignore[no-untyped-def]
        found = super().read(job, after)
        self.entries += len(found)
        return found


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shelf:
    monkeypatch.setattr(desk_module, "WORTH_KEEPING", 3)
    return Shelf(tmp_path / "shelf")


@pytest.fixture
def record(tmp_path: Path, rules: Rules) -> Path:
    """A job with some entries, closed."""
    journal = SqliteJournal(tmp_path / "record.db")
    desk = open_job(rules, journal, SimulatedClock(AT), i.Open("twin", "twin", "test", "shed"))
    for n in range(6):
        desk.submit(i.Note(f"number {n}"))
    journal.close()
    return journal.path


def opened(rules: Rules, record: Path, shelf: Shelf | None) -> tuple[Desk, int]:
    """The job opened again, and how many entries were read for it."""
    journal = Watched(record)
    desk = resume_job(rules, journal, SimulatedClock(AT + timedelta(hours=1)), "twin", shelf)
    return desk, journal.entries


def spoil(record: Path, statement: str) -> None:
    """Change the file behind the record's back, its triggers taken away and put back."""
    db = sqlite3.connect(record)
    triggers = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        db.execute(f"DROP TRIGGER {name}")
    db.execute(statement)
    for _, sql in triggers:
        db.execute(sql)
    db.commit()
    db.close()


def test_what_was_folded_is_not_folded_again(rules: Rules, record: Path, shelf: Shelf) -> None:
    """The second opening reads no entry, the third only what was added, and the situation is the same."""
    first, read_first = opened(rules, record, shelf)
    second, read_second = opened(rules, record, shelf)
    second.submit(i.Note("one more"))
    third, read_third = opened(rules, record, shelf)

    assert (first.situation.count, 0, 1) == (read_first, read_second, read_third)
    assert fold_all(third.journal.read("twin")) == third.situation
    assert opened(rules, record, None)[0].situation == third.situation


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE fact SET body = replace(body, 'number 3', 'number 9') WHERE number = 6",
        "UPDATE fact SET at = replace(at, '2026', '2027') WHERE number = 4",
        "UPDATE fact SET seal = 'ff' || substr(seal, 3) WHERE number = 2",
        "DELETE FROM fact WHERE number = 3",
    ],
)
def test_a_record_that_changed_is_told_and_not_covered_up(
    statement: str, rules: Rules, record: Path, shelf: Shelf
) -> None:
    """What is on the shelf never hides damage: the record is read whole again, and refused."""
    opened(rules, record, shelf)
    spoil(record, statement)

    with pytest.raises(RecordDamaged):
        opened(rules, record, shelf)


def test_another_record_in_the_same_place_is_not_mixed_up(rules: Rules, record: Path, shelf: Shelf) -> None:
    """A shorter record put back from a copy is opened as it is, not as the longer one had been."""
    copy = record.read_bytes()
    desk, _ = opened(rules, record, shelf)
    for n in range(5):
        desk.submit(i.Note(f"later {n}"))
    desk.keep(shelf)
    desk.journal.close()
    for side in record.parent.glob("record.db-*"):
        side.unlink()
    record.write_bytes(copy)

    assert opened(rules, record, shelf)[0].situation == fold_all(SqliteJournal(record).read("twin"))


@pytest.mark.parametrize("how", ["a byte", "cut", "empty", "a pickle", "of another program", "writable by all"])
def test_a_shelf_that_is_not_right_is_not_used(
    how: str, rules: Rules, record: Path, shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A kept thing that changed, was cut, comes from elsewhere or may be written by others is made anew."""
    opened(rules, record, shelf)
    (kept,) = (tmp_path / "shelf").iterdir()
    body = kept.read_bytes()
    if how == "of another program":
        monkeypatch.setattr("firststart.journal.shelf._program", lambda: b"another")
    elif how == "writable by all":
        kept.chmod(0o666)
    else:
        mid = len(body) // 2
        kept.write_bytes(
            {
                "a byte": body[:mid] + bytes([body[mid] ^ 1]) + body[mid + 1 :],
                "cut": body[:mid],
                "empty": b"",
                "a pickle": pickle.dumps(os.getcwd),
            }[how]
        )
    desk, read = opened(rules, record, shelf)

    assert desk.situation.count == read


def test_nothing_on_the_shelf_can_start_a_program(tmp_path: Path) -> None:
    """Even with a right seal only values of the package are read: a call hidden among them is refused."""

    class Evil:
        def __reduce__(self) -> tuple[object, tuple[str]]:
            return os.system, (f"touch {tmp_path / 'evil'}",)

    shelf = Shelf(tmp_path / "shelf")
    shelf.put("evil", Evil())

    assert shelf.get("evil") is None
    assert not (tmp_path / "evil").exists()


def test_the_shelf_is_private(tmp_path: Path) -> None:
    """Folder and files are the user's alone; where nothing can be kept, nothing is said and nothing breaks."""
    shelf = Shelf(tmp_path / "shelf")
    shelf.put("a", (1, "b"))
    (kept,) = (tmp_path / "shelf").iterdir()
    (tmp_path / "file").write_text("x")
    Shelf(tmp_path / "file").put("a", 1)

    assert ((tmp_path / "shelf").stat().st_mode & 0o777, kept.stat().st_mode & 0o777) == (0o700, 0o600)
    assert (shelf.get("a"), shelf.get("a", "key"), Shelf(tmp_path / "file").get("a")) == ((1, "b"), None, None)


def test_an_opening_loads_nothing_heavy(tmp_path: Path) -> None:
    """With the library on the shelf no unit, no table of numbers and no page is loaded up to the first prompt."""
    load_rules(argparse.Namespace(home=tmp_path, procedures=None))
    code = (
        "import sys; from firststart.cli import main;"
        f"main(['--home', {str(tmp_path)!r}, '--job', 'a', '--plain', '--no-voice', '--no-ears']);"
        "heavy = {'pint', 'numpy', 'scipy', 'jinja2', 'PIL', 'pyfiglet'};"
        "print('HEAVY', *heavy & {m.split('.')[0] for m in sys.modules})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], stdin=subprocess.DEVNULL, capture_output=True, text=True, check=True
    )

    assert "Shall we begin?" in done.stdout
    assert "HEAVY" == done.stdout.splitlines()[-1]


@pytest.mark.skipif(os.name != "posix", reason="links need rights on other systems")
def test_work_behind_a_link_is_seen_to_change(tmp_path: Path) -> None:
    """A folder of one's own may be a link, even to itself: what stands behind it belongs to the key of the library."""
    (tmp_path / "own").mkdir()
    (tmp_path / "real").mkdir()
    (tmp_path / "own" / "work").symlink_to(tmp_path / "real")
    (tmp_path / "real" / "round").symlink_to(tmp_path / "own")
    before = content_key([tmp_path / "own"])
    (tmp_path / "real" / "mine.yaml").write_text("id: mine\n", encoding="utf-8")

    assert before != content_key([tmp_path / "own"])
