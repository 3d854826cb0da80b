"""Files that are no files, or far too large: one sentence at once, and no memory taken for them."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from firststart.cli.language import _read
from firststart.cli.lessonfile import read_lesson
from firststart.devices.sound import read_sound_file
from firststart.errors import FirststartError
from firststart.journal.drawer import read_file
from firststart.journal.salvage import examine
from firststart.procedure.catalogue import content_key, text_of
from firststart.rehearsal.conditions import Conditions
from firststart.rehearsal.scenario import load_scenario

HUGE = 1 << 36  # bytes, none of them on the disk: a file with a hole in it
READERS: dict[str, Callable[[Path], object]] = {
    "procedure": lambda path: text_of(path, path.name),
    "scenario": lambda path: load_scenario(path, Conditions({})),
    "catalogue of a language": _read,
    "recording of a crank": read_sound_file,
    "photo, sound, export or archive": lambda path: read_file(path, 1000),
    "lesson": read_lesson,
    "damaged record": examine,
}


@pytest.mark.parametrize("name", READERS)
def test_a_file_far_too_large_is_a_sentence(name: str, tmp_path: Path) -> None:
    """Sixty-four gigabytes are refused without being read."""
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(HUGE)

    with pytest.raises(FirststartError, match=r"(?s)(longer than|more than|no lesson|is too large).*"):
        READERS[name](path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
@pytest.mark.parametrize("name", READERS)
def test_a_pipe_that_never_ends_is_a_sentence(name: str, tmp_path: Path) -> None:
    """Nobody waits for what may never come."""
    path = tmp_path / "pipe.yaml"
    os.mkfifo(path)

    with pytest.raises(FirststartError):
        READERS[name](path)


def test_what_is_kept_of_a_folder_does_not_read_all_of_it(tmp_path: Path) -> None:
    """The digest of a folder of one's own takes a pipe and an endless file for what they are: no procedures."""
    with (tmp_path / "huge.yaml").open("wb") as file:
        file.truncate(HUGE)
    os.mkfifo(tmp_path / "pipe.yaml")

    assert content_key([tmp_path]) == content_key([tmp_path])
