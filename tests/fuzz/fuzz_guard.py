"""What no input may do: raise anything but our own errors, take over a second, run code, or write elsewhere."""

from __future__ import annotations

import atexit
import shutil
import signal
import sys
import tempfile
import time
import typing
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any

from firststart.errors import FirststartError

LIMIT_S = 1.0  # of processor time, so that a busy machine says nothing of the code
FOLDER = Path(tempfile.mkdtemp(prefix="firststart-fuzz-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)
_RUNS = ("os.system", "os.exec", "os.posix_spawn", "os.spawn", "subprocess.Popen", "pickle.find_class", "ctypes.dlopen")
_VALUES = ("firststart.", "datetime", "builtins", "pydantic_core.")  # what the shelf may make; it refuses the rest
_watch_list: list[list[str]] = []  # empty, or the one list of what was seen while an input runs


class Hung(BaseException):
    """An input took too long. No `except Exception` may swallow it."""


class RanCode(AssertionError):
    """An input made the program run, open or reach something."""


def _watch(event: str, arguments: tuple[Any, ...]) -> None:
    if not _watch_list:
        return
    compiled = event == "compile" and arguments[1] in ("<string>", "<unknown>") and not _of_the_library(arguments[0])
    wrote = event == "open" and _writes(arguments) and not str(arguments[0]).startswith(str(FOLDER))
    far = event.startswith("socket.") and event != "socket.__new__"
    value = event == "pickle.find_class" and arguments[0].startswith(_VALUES)
    if (event in _RUNS and not value) or compiled or wrote or far:
        _watch_list[0].append(f"{event} {arguments!r}"[:300])


def _of_the_library(source: object) -> bool:
    """Python's own: the rule of plural forms that gettext makes after checking it, names of types that typing reads."""
    return "def func(n)" in str(source) or sys._getframe(2).f_code.co_filename == typing.__file__


def _writes(arguments: tuple[Any, ...]) -> bool:
    return isinstance(arguments[1], str) and any(letter in arguments[1] for letter in "wax+")


sys.addaudithook(_watch)


def _late(_number: int, _frame: FrameType | None) -> None:
    raise Hung


@contextmanager
def _timed(limit: float) -> Iterator[None]:
    """At most `limit` seconds of processor time."""
    before = signal.signal(signal.SIGVTALRM, _late)
    signal.setitimer(signal.ITIMER_VIRTUAL, limit)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def guarded(do: Callable[[bytes], None], data: bytes, limit: float = LIMIT_S) -> float:
    """Run one input; the processor time it took. Raises what the program raised unless it is an error of ours."""
    seen: list[str] = []
    _watch_list[:] = [seen]
    began = time.process_time()
    try:
        with _timed(limit):
            do(data)
    except FirststartError as error:
        _is_told(error)
    finally:
        _watch_list.clear()
    if seen:
        raise RanCode("; ".join(seen))
    return time.process_time() - began


def _is_told(error: FirststartError) -> None:
    """An error of ours says something, and not the whole input back."""
    told = str(error)
    if not told.strip() or len(told.splitlines()[0]) > 2000:
        raise AssertionError(f"the error says nothing, or too much: {told[:300]!r}")


def warm(do: Callable[[bytes], None]) -> None:
    """Run a few inputs unwatched first: libraries that load late compile their own code then, and not under watch."""
    for data in (b"", *(bytes([n]) * 60 for n in range(1, 250, 31))):
        with suppress(Exception):
            do(data)
