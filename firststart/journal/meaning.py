"""What a failure of the file means for the person, and what to do about it."""

from __future__ import annotations

from pathlib import Path

from firststart.errors import RecordBusy, RecordDamaged, RecordError, RecordFull, RecordReadOnly

_DAMAGED = ("SQLITE_CORRUPT", "SQLITE_NOTADB", "SQLITE_IOERR_CORRUPTFS", "SQLITE_IOERR_SHORT_READ")


def meaning(error: Exception, path: Path) -> RecordError:
    """The error of ours for an error of SQLite's, told by its name (which only SQLite's own errors carry)."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return RecordBusy(f"The record {path} is in use by another bench; close it and try again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return RecordReadOnly(f"The record {path} cannot be opened for writing; check its place and rights.")
    if name.startswith("SQLITE_FULL"):
        return RecordFull(f"The disk with the record {path} is full; free some room. Everything before is kept.")
    if name.startswith(_DAMAGED) or "decode to UTF-8" in str(error):
        return damaged(path)
    if name.startswith("SQLITE_IOERR"):
        return RecordError(
            f"The disk with the record {path} does not take it ({error}); look at the disk. Everything before is kept."
        )
    return RecordError(f"The record {path} failed ({error}); nothing already recorded is lost.")


def damaged(path: Path) -> RecordDamaged:
    """The error of a file that fails its own check."""
    return RecordDamaged(f"The record {path} is damaged; see what can be read with: firststart salvage")


def gone(path: Path) -> RecordReadOnly:
    """The error of a file that lies no longer where it was."""
    return RecordReadOnly(f"The record {path} is no longer there; put its disk or folder back and answer again.")


def not_ours(path: Path) -> RecordError:
    """The error of a file that is no record of this tool."""
    return RecordError(f"The file {path} is no record of jobs; name another place with --home.")
