"""Where the photos and sounds of a record lie: each in a file of its own, named by the SHA-256 of its bytes.

The folder stands beside the record and bears its name: `record.kept` beside `record.db`. A file is whole and on the
disk before the entry that names it is written; it is never changed, and its digest is looked at whenever it is read.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import secrets
from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

from firststart.errors import InputError, RecordDamaged, RecordError, RecordFull, RecordReadOnly
from firststart.job import facts as f
from firststart.job.attachment import Attachment
from firststart.journal import place
from firststart.journal.photo import check_photo
from firststart.journal.spoken import check_sound


class Drawer(Protocol):
    """Keeps bytes by their digest."""

    def put(self, attachment: Attachment, data: bytes) -> None:
        """Keep `data`, durably when it returns; the same bytes twice are kept once. Raises RecordError."""
        ...

    def get(self, attachment: Attachment) -> bytes:
        """The bytes, held against their digest. Raises RecordError (they are not there), RecordDamaged."""
        ...


class MemoryDrawer:
    """A drawer in memory, for rehearsals and tests."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def put(self, attachment: Attachment, data: bytes) -> None:
        _same(attachment, data)
        self._kept[attachment.file] = data

    def get(self, attachment: Attachment) -> bytes:
        if attachment.file not in self._kept:
            raise _missing(attachment)
        return self._kept[attachment.file]


class FolderDrawer:
    """The drawer of the record at a path. The folder is made, for its user alone, when the first thing is put in."""

    def __init__(self, record: Path) -> None:
        self.folder = record.with_suffix(".kept")

    def put(self, attachment: Attachment, data: bytes) -> None:
        _same(attachment, data)
        with contextlib.suppress(RecordError):
            self.get(attachment)
            return
        begun = self.folder / f"{secrets.token_hex(8)}.new"
        try:
            place.make_folder(self.folder)
            handle = os.open(begun, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            place.keep(begun)
            begun.replace(self.folder / attachment.file)
            place.to_disk(self.folder)
        except OSError as error:
            with contextlib.suppress(OSError):
                begun.unlink(missing_ok=True)
            raise _no_room(error, self.folder) from error

    def get(self, attachment: Attachment) -> bytes:
        path = self.folder / attachment.file
        try:
            with path.open("rb") as file:
                data = file.read(attachment.size + 1)
        except FileNotFoundError:
            raise _missing(attachment) from None
        except OSError as error:
            raise RecordError(f"The {attachment.called()} in {path} cannot be read ({error.strerror}).") from error
        if not _fits(attachment, data):
            raise RecordDamaged(f"The {attachment.called()} changed on the disk since it was kept ({path}).")
        return data


def check(attachment: Attachment, data: bytes) -> None:
    """Is this really the photo or sound that is named, as they are kept? Raises InputError."""
    if not _fits(attachment, data):
        raise InputError(f"The {attachment.called()} is not the one that was kept; have the job exported again.")
    (check_photo if attachment.sort == "photo" else check_sound)(data, attachment)


def attachments(facts: Iterable[f.Fact]) -> tuple[Attachment, ...]:
    """The photos and sounds of a job, each once, in order."""
    found = (fact.attachment for fact in facts if isinstance(fact, f.AttachmentKept))
    return tuple({attachment.file: attachment for attachment in found}.values())


def carry(found: Iterable[Attachment], source: Drawer, target: Drawer) -> tuple[Attachment, ...]:
    """Copy from one drawer to another; what could not be read is given back. Raises RecordError of the target."""
    lost = []
    for attachment in found:
        try:
            data = source.get(attachment)
        except RecordError:
            lost.append(attachment)
            continue
        target.put(attachment, data)
    return tuple(lost)


def read_file(path: Path, most: int) -> bytes:
    """The bytes of a file that a person named. Raises InputError: no such file, no file, too large, not readable."""
    try:
        if path.exists() and not path.is_file():
            raise InputError(f"{path} is no file; name the file itself.")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise InputError(f"There is no file {path}; look at the name.") from None
    except (OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"The file cannot be read ({getattr(error, 'strerror', '') or 'its name'}).") from error
    if len(data) > most:
        raise InputError(f"{path.name} has more than {most // 1024 // 1024} MB; make it smaller first.")
    return data


def _fits(attachment: Attachment, data: bytes) -> bool:
    return len(data) == attachment.size and hashlib.sha256(data).hexdigest() == attachment.digest


def _same(attachment: Attachment, data: bytes) -> None:
    if not _fits(attachment, data):
        raise RecordError(f"The {attachment.called()} changed while it was kept; keep it again.")


def _missing(attachment: Attachment) -> RecordError:
    return RecordError(f"The {attachment.called()} does not lie beside the record any more.")


def _no_room(error: OSError, folder: Path) -> RecordError:
    if error.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", -1)):
        return RecordFull(f"The disk with {folder} is full; free some room. Everything before is kept.")
    return RecordReadOnly(f"Nothing can be kept in {folder} ({error.strerror}); check its place and rights.")
