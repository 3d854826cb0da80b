"""The file of the record as a thing on the disk: made for its user alone, told apart from another in its place."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from firststart.errors import RecordError, RecordReadOnly

_SIDES = ("-wal", "-shm", "-journal")


def make(path: Path) -> None:
    """Folder (0700) and empty file (0600), where there is none yet; the folders' entries are on disk when it returns.

    An old file is never opened and closed here: that would drop the locks this process holds on it.
    """
    make_folder(path.parent)
    if path.exists():
        with contextlib.suppress(OSError):
            path.chmod(0o600)
        return
    with contextlib.suppress(FileExistsError):
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))


def make_folder(folder: Path) -> None:
    """The folder and those above it (0700), where there is none yet; their entries are on disk when it returns."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    for one in reversed(missing):
        one.mkdir(mode=0o700, exist_ok=True)
        to_disk(one.parent)


def make_new(path: Path) -> None:
    """An empty private file where nothing lies yet. Raises RecordError, RecordReadOnly."""
    try:
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        raise RecordError(f"There is already a file {path}; nothing is overwritten, so name another.") from None
    except OSError as error:
        raise RecordReadOnly(f"The file {path} cannot be made ({error.strerror}); name another place.") from error


def write_private(path: Path, text: str) -> None:
    """The text in a file for the user alone; one that is there keeps the rights it was given. Raises OSError."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(text)


def keep(path: Path) -> None:
    """The file, and its name in its folder, are on disk when it returns. For a file nobody holds a lock on."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    to_disk(path.absolute().parent)


def remove(path: Path) -> None:
    """A file that was begun and not finished, with all that belongs to it."""
    for name in (path, *(path.with_name(path.name + side) for side in _SIDES)):
        with contextlib.suppress(OSError):
            name.unlink(missing_ok=True)


def log_of(path: Path) -> Path:
    """The log that may lie beside the record after a crash, and while a bench is open."""
    return path.with_name(path.name + "-wal")


def identity(path: Path) -> tuple[tuple[int, int], tuple[int, int] | None] | None:
    """Which file lies there, and which log beside it; None when there is no file."""
    file = _which(path)
    return None if file is None else (file, _which(log_of(path)))


def _which(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def to_disk(folder: Path) -> None:
    """The names in a folder, where the system can be told to write them out."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
