"""Lessons on the disk: the beginning and every entry as one line of JSON, kept before anything follows from it."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from types import TracebackType
from typing import IO

from firststart.errors import RecordDamaged, RecordReadOnly
from firststart.journal.drawer import read_file
from firststart.journal.place import write_private
from firststart.rehearsal.lesson import Entry

DAY_S = 86_400  # no starter turned longer
MOST_BYTES = 4 * 1024 * 1024  # of a lesson: tens of thousands of answers


@dataclass(frozen=True)
class Beginning:
    """What a lesson is made from: a scenario's name or "" and a seed, the pupil, and what the procedures were."""

    scenario: str
    seed: int
    pupil: str
    procedures: str


class LessonFile:
    """One pupil's lesson. Raises RecordReadOnly, RecordDamaged."""

    def __init__(self, path: Path, beginning: Beginning) -> None:
        self.path, self.beginning = path, beginning
        self.entries: tuple[Entry, ...] = ()
        self._file: IO[str] | None = None

    def __enter__(self) -> LessonFile:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            if self.path.is_file() and self.path.stat().st_size:
                found, self.entries = read_lesson(self.path)
                if found.procedures != self.beginning.procedures:
                    raise RecordDamaged(
                        f"The lesson {self.path} was begun with other procedures; move it away and begin anew."
                    )
                _cut_off(self.path)
                self._file = self.path.open("a", encoding="utf-8")
            else:
                write_private(self.path, "")
                self._file = self.path.open("a", encoding="utf-8")
                self._write(json.dumps(asdict(self.beginning)))
        except RecordDamaged:
            raise
        except OSError as error:
            raise _failed(self.path, error) from error
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._file is not None:
            self._file.close()

    def add(self, entry: Entry) -> None:
        """Keep an entry. Raises RecordReadOnly: then nothing may follow from it."""
        try:
            self._write(json.dumps(asdict(entry)))
        except OSError as error:
            raise _failed(self.path, error) from error

    def _write(self, line: str) -> None:
        assert self._file is not None  # inside `with`
        self._file.write(line + "\n")
        self._file.flush()
        os.fsync(self._file.fileno())


def _failed(path: Path, error: OSError) -> RecordReadOnly:
    return RecordReadOnly(f"The lesson {path} cannot be kept ({error.strerror}); check the place and its room.")


def _cut_off(path: Path) -> None:
    """Take away a last line that a power cut left unfinished: it was never answered."""
    data = path.read_bytes()
    if not data.endswith(b"\n"):
        with path.open("r+b") as file:
            file.truncate(data.rfind(b"\n") + 1)


def read_lesson(path: Path) -> tuple[Beginning, tuple[Entry, ...]]:
    """A lesson's beginning and its whole entries, from a pupil: nothing of it is believed. Raises RecordDamaged."""
    try:
        lines = read_file(path, MOST_BYTES).decode("utf-8").split("\n")[:-1]
        beginning = Beginning(**json.loads(lines[0]))
        entries = tuple(Entry(**json.loads(line)) for line in lines[1:])
        if not (_is_beginning(beginning) and all(map(_is_entry, entries))):
            raise TypeError
    except (ValueError, TypeError, IndexError, RecursionError) as error:
        raise RecordDamaged(f"{path} is no lesson, or is damaged; move it away and begin anew.") from error
    return beginning, entries


def _is_beginning(told: Beginning) -> bool:
    return isinstance(told.seed, int) and all(isinstance(t, str) for t in (told.scenario, told.pupil, told.procedures))


def _is_entry(told: Entry) -> bool:
    number = isinstance(told.turned, int | float) and 0 <= told.turned <= DAY_S  # nor any that is no number
    return isinstance(told.words, str) and isinstance(told.channel, str) and number


def lessons_of(folder: Path, scenario: str, seed: int, procedures: str) -> tuple[tuple[str, tuple[Entry, ...]], ...]:
    """Every pupil's lesson of one engine, in order of names. Raises RecordDamaged."""
    found = []
    for path in sorted(folder.glob("*.jsonl")) if folder.is_dir() else ():
        beginning, entries = read_lesson(path)
        if (beginning.scenario, beginning.seed, beginning.procedures) == (scenario, seed, procedures):
            found.append((beginning.pupil, entries))
    return tuple(sorted(found))
