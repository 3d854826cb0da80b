"""A shelf of things that can be worked out again, so that the next opening is quick.

Nothing on it is ever believed over its origin. A thing lies under the key of what it was made from, sealed together
with the version of the program; a key, a seal, an owner or a right that is not as it should be, and it is made anew.
Only values of this package and plain ones are read, never a function: a file from elsewhere can start nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import pickle
import sys
from collections.abc import Iterator, Mapping
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from pydantic import VERSION as PYDANTIC

_PACKAGE = Path(__file__).resolve().parent.parent
_MARK = b"FSK1"
_SEAL = 32
_ROOMS = ("bench", "diagnosis", "engine", "job", "judge", "procedure", "starter", "units")  # rooms of plain values
_PLAIN = {
    ("datetime", "datetime"), ("datetime", "timedelta"), ("datetime", "timezone"), ("builtins", "frozenset"),
    ("builtins", "set"), ("pydantic_core._pydantic_core", "TzInfo"),
}  # fmt: skip


class Shelf:
    """Kept things in one folder of the user's own. Every trouble with the disk only makes an opening slower."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def get(self, name: str, key: str = "") -> Any:
        """What was kept under `name`, made from what `key` stands for; None when there is nothing to be believed."""
        try:
            with self._path(name).open("rb") as file:
                if not _own(os.fstat(file.fileno())):
                    return None
                kept = file.read()
        except OSError:
            return None
        head = len(_MARK) + _SEAL
        if kept[:head] != _MARK + _seal(name, key, kept[head:]):
            return None
        return unpacked(kept[head:])

    def put(self, name: str, value: object, key: str = "") -> None:
        """Keep `value` under `name`, private to the user, whole or not at all."""
        body = packed(value)
        path = self._path(name)
        begun = path.with_name(f"{path.name}.{os.getpid()}")
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            begun.unlink(missing_ok=True)
            handle = os.open(begun, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(handle, "wb") as file:
                file.write(_MARK + _seal(name, key, body) + body)
            begun.replace(path)

    def _path(self, name: str) -> Path:
        return self._folder / hashlib.blake2b(name.encode(), digest_size=12).hexdigest()


class Later(Mapping[str, Any]):
    """A mapping that is unpacked when somebody looks into it."""

    def __init__(self, body: bytes) -> None:
        self._body = body

    @cached_property
    def _inside(self) -> dict[str, Any]:
        return unpacked(self._body) or {}

    def __getitem__(self, key: str) -> Any:
        return self._inside[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._inside)

    def __len__(self) -> int:
        return len(self._inside)


def packed(value: object) -> bytes:
    """`value` as bytes that `unpacked` reads."""
    return pickle.dumps(value, protocol=5)


def unpacked(body: bytes) -> Any:
    """The value in `body`; None when it is not one of ours."""
    try:
        return _Values(io.BytesIO(body)).load()
    except Exception:  # whatever is wrong with it, it is made anew
        return None


class _Values(pickle.Unpickler):
    """Reads values of this package's pure rooms and plain ones only: none of these does anything when it is made."""

    def find_class(self, module: str, name: str) -> Any:
        package, _, rest = module.partition(".")
        if package == "firststart" and rest.split(".")[0] in _ROOMS:
            found = super().find_class(module, name)
            if isinstance(found, type) and found.__module__ == module:
                return found
        elif (module, name) in _PLAIN:
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is not a value that is kept")


def _seal(name: str, key: str, body: bytes) -> bytes:
    seal = hashlib.blake2b(digest_size=_SEAL)
    for part in (name.encode(), key.encode(), _program(), body):
        seal.update(len(part).to_bytes(8, "big") + part)
    return seal.digest()


@cache
def _program() -> bytes:
    """Which program made it: the Python, and size and time of every file of this package, as Python's own cache has."""
    return "\n".join(sorted((sys.version, PYDANTIC, *_states(str(_PACKAGE))))).encode()


def _states(folder: str) -> Iterator[str]:
    with os.scandir(folder) as found:
        for entry in found:
            if entry.is_dir():
                if entry.name not in ("__pycache__", "_data"):
                    yield from _states(entry.path)
                continue
            state = entry.stat()
            yield f"{entry.path} {state.st_size} {state.st_mtime_ns}"


def _own(state: os.stat_result) -> bool:
    """Is it the user's own file, that nobody else may write to?"""
    if os.name != "posix":
        return True
    return state.st_uid == os.getuid() and not state.st_mode & 0o022
