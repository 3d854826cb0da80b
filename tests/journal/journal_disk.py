"""A disk under SQLite that fails when it is told to: a layer over the file system, for tests.

SQLite writes through a table of functions (its VFS, sqlite.org/vfs.html). This puts one of its own in front, in
this process, through ctypes: it counts the writes, and at one of them the process dies (before, in the middle, or
after it), the power goes (what was not yet on the platter may be there or not, sector by sector), or the disk is
full or faulty.
"""

from __future__ import annotations

import ctypes as c
import os
import signal
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any, NoReturn

SECTOR = 512
FULL, IOERR_WRITE, IOERR_FSYNC = 13, 10 | 3 << 8, 10 | 4 << 8
PHASES = ("before", "half", "after")

_VFS_CALLS = (
    "xOpen", "xDelete", "xAccess", "xFullPathname", "xDlOpen", "xDlError", "xDlSym", "xDlClose", "xRandomness",
    "xSleep", "xCurrentTime", "xGetLastError", "xCurrentTimeInt64", "xSetSystemCall", "xGetSystemCall",
    "xNextSystemCall",
)  # fmt: skip
_FILE_CALLS = (
    "xClose", "xRead", "xWrite", "xTruncate", "xSync", "xFileSize", "xLock", "xUnlock", "xCheckReservedLock",
    "xFileControl", "xSectorSize", "xDeviceCharacteristics", "xShmMap", "xShmLock", "xShmBarrier", "xShmUnmap",
    "xFetch", "xUnfetch",
)  # fmt: skip


class _Vfs(c.Structure):
    _fields_ = [
        ("iVersion", c.c_int), ("szOsFile", c.c_int), ("mxPathname", c.c_int), ("pNext", c.c_void_p),
        ("zName", c.c_char_p), ("pAppData", c.c_void_p), *((name, c.c_void_p) for name in _VFS_CALLS),
    ]  # fmt: skip


class _Calls(c.Structure):
    _fields_ = [("iVersion", c.c_int), *((name, c.c_void_p) for name in _FILE_CALLS)]


# The name is passed on as the address it is: SQLite keeps parameters behind its end.
_OPEN = c.CFUNCTYPE(c.c_int, c.POINTER(_Vfs), c.c_void_p, c.c_void_p, c.c_int, c.POINTER(c.c_int))
_WRITE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_void_p, c.c_int, c.c_int64)
_SYNC = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int)
_SIZE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.POINTER(c.c_int64))
_Was = tuple[bytes, int]  # what lay in the place of a write, and how long the file was


@dataclass
class _Undone:
    """A write that is not on the platter yet: where, what lay there before (may be shorter), what it wrote."""

    at: int
    before: bytes
    after: bytes
    size: int  # of the file before it


@dataclass
class Disk:
    """What shall happen, and what has."""

    die_at: int | None = None  # the write, counted from 0, at which this process dies
    phase: str = "after"
    power: Random | None = None  # the power goes with it
    room: int | None = None  # bytes that may still be written
    fail_at: int | None = None  # the write or sync that fails once with an input or output error
    writes: int = 0
    log_end: int = 0  # how far the log was written at its newest sync
    _log_top: int = 0
    _undone: dict[str, list[_Undone]] = field(default_factory=dict)
    _kept: list[Any] = field(default_factory=list)

    # what the calls do --------------------------------------------------------------------------------

    def wrote(self, path: str, data: bytes, at: int, write: Callable[[int], int], was: Callable[[], _Was]) -> int:
        """One write; `write(n)` writes its first n bytes, `was()` tells what lay there. The answer is SQLite's."""
        number, self.writes = self.writes, self.writes + 1
        if self.power is not None:
            before, size = was()
            self._undone.setdefault(path, []).append(_Undone(at, before, data, size))
        if number == self.die_at:
            write({"before": 0, "half": len(data) // 2, "after": len(data)}[self.phase])
            self.die()
        if number == self.fail_at:
            write(len(data) // 2)
            return IOERR_WRITE
        if self.room is not None:
            if self.room < len(data):
                write(self.room)
                return FULL
            self.room -= len(data)
        if path.endswith("-wal"):
            self._log_top = at + len(data)
        return write(len(data))

    def synced(self, path: str, sync: Callable[[], int]) -> int:
        answer = sync()
        self._undone.pop(path, None)
        if path.endswith("-wal"):
            self.log_end = self._log_top
        return answer

    def die(self) -> NoReturn:
        """The end of this process, and of the power when that goes too."""
        if self.power is not None:
            for path, undone in self._undone.items():
                if Path(path).exists():
                    self._lose(Path(path), undone, self.power)
        os.kill(os.getpid(), signal.SIGKILL)
        raise AssertionError("not reached")

    def _lose(self, path: Path, undone: list[_Undone], r: Random) -> None:
        """The file as it was at its newest sync, and of each write since then any sectors, in any mix."""
        content = bytearray(path.read_bytes())
        for one in reversed(undone):
            content[one.at : one.at + len(one.before)] = one.before
            del content[one.size :]
        for one in undone:
            for start in range(0, len(one.after), SECTOR):
                if r.random() < 0.5:
                    continue
                part = one.after[start : start + SECTOR]
                at = one.at + start
                content.extend(bytes(max(at + len(part) - len(content), 0)))
                content[at : at + len(part)] = part
        path.write_bytes(content)

    # the layer ----------------------------------------------------------------------------------------

    def put_under_sqlite(self) -> None:
        """From now on every database that this process opens lies on this disk."""
        library = _library()
        library.sqlite3_vfs_find.restype = c.POINTER(_Vfs)
        real = library.sqlite3_vfs_find(None)
        shim = _Vfs()
        c.memmove(c.byref(shim), real, c.sizeof(_Vfs))
        shim.zName, shim.pNext = b"disk-that-fails", None
        real_open = _OPEN(real.contents.xOpen)

        def open_file(_vfs: Any, name: int, file: int, flags: int, out: Any) -> int:
            answer: int = real_open(real, name, file, flags, out)
            if answer == 0 and name:
                self._stand_before(file, c.string_at(name).decode())
            return answer

        call = _OPEN(open_file)
        shim.xOpen = c.cast(call, c.c_void_p)
        self._kept += [shim, call, real_open, library]
        if library.sqlite3_vfs_register(c.byref(shim), 1) != 0:
            raise RuntimeError("the disk that fails could not be put under SQLite")

    def _stand_before(self, file: int, path: str) -> None:
        """Put our own write and sync before those of one open file."""
        slot = c.cast(file, c.POINTER(c.POINTER(_Calls)))
        calls = _Calls()
        version = slot.contents.contents.iVersion
        c.memmove(c.byref(calls), slot.contents, c.sizeof(_Calls) - (16 if version < 3 else 0))
        write, sync = _WRITE(calls.xWrite), _SYNC(calls.xSync)
        read, length = _WRITE(calls.xRead), _SIZE(calls.xFileSize)

        def our_write(handle: int, data: int, amount: int, at: int) -> int:
            def was() -> _Was:
                size, room = c.c_int64(), c.create_string_buffer(amount)
                length(handle, c.byref(size))
                read(handle, c.cast(room, c.c_void_p), amount, at)  # past the end it reads zeros
                return room.raw[: max(min(size.value - at, amount), 0)], size.value

            text = c.string_at(data, amount)
            return self.wrote(path, text, at, lambda n: write(handle, data, n, at) if n else 0, was)

        def our_sync(handle: int, flags: int) -> int:
            return self.synced(path, lambda: int(sync(handle, flags)))

        ours = (_WRITE(our_write), _SYNC(our_sync))
        calls.xWrite, calls.xSync = (c.cast(one, c.c_void_p) for one in ours)
        self._kept += [calls, write, sync, read, length, *ours]
        slot[0] = c.pointer(calls)


def _library() -> Any:
    """The very SQLite that Python's module uses. Raises OSError where it is built in and cannot be reached."""
    import _sqlite3

    maps = Path("/proc/self/maps")
    lines = maps.read_text().splitlines() if maps.is_file() else []
    paths = [line.split()[-1] for line in lines if "libsqlite3" in line]
    return c.CDLL(paths[0] if paths else _sqlite3.__file__)
