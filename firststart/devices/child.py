"""A process that does what may hang or die, and the messages to and from it.

A message is one JSON object a line; with `"bytes": n` in it, n bytes follow. The answers are read by a thread, so that
waiting for them can end; `Served` writes by another, so that a process that no longer reads holds nobody up.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO, Any

from firststart.errors import FirststartError

_MOST = 1 << 28  # bytes of one message
_ROOT = Path(__file__).resolve().parents[2]


class ChildError(FirststartError):
    """The process died or does not answer. The message is the end of a sentence."""


def message(told: Mapping[str, Any], data: bytes = b"") -> bytes:
    """One message as it goes over."""
    return json.dumps({**told, "bytes": len(data)} if data else told).encode() + b"\n" + data


def program(module: str) -> tuple[str, ...]:
    """The command line that runs a module of this package."""
    return (sys.executable, "-P", "-m", module)


def surroundings() -> dict[str, str]:
    """The environment in which `program` finds this package, wherever it was begun."""
    path = os.pathsep.join(p for p in (str(_ROOT), os.environ.get("PYTHONPATH", "")) if p)
    return {**os.environ, "PYTHONPATH": path}


class Child:
    """One running process. Raises OSError when it cannot be started."""

    def __init__(self, command: Sequence[str], environment: Mapping[str, str] | None = None) -> None:
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            start_new_session=True, env=environment,
        )  # fmt: skip
        self.answers: queue.Queue[tuple[dict[str, Any], bytes] | None] = queue.Queue()
        assert self.process.stdout is not None
        threading.Thread(target=self._read, args=(self.process.stdout,), daemon=True).start()

    def _read(self, out: IO[bytes]) -> None:
        with contextlib.suppress(OSError, ValueError), out:
            for line in out:
                message = json.loads(line)
                size = int(message.get("bytes", 0)) if isinstance(message, dict) else -1
                if not 0 <= size < _MOST:
                    break
                self.answers.put((message, out.read(size)))
        self.answers.put(None)

    def ask(self, request: Mapping[str, Any], data: bytes = b"") -> None:
        """Send one message. Waits while the process does not read. Raises OSError, ValueError when it is gone."""
        assert self.process.stdin is not None
        self.process.stdin.write(message(request, data))
        self.process.stdin.flush()

    def answer(self, timeout: float) -> tuple[dict[str, Any], bytes]:
        """The next answer. Raises ChildError when none comes in `timeout` seconds or the process is gone."""
        try:
            found = self.answers.get(timeout=timeout)
        except queue.Empty:
            raise ChildError(f"it gave no answer for {timeout:g} seconds") from None
        if found is None:
            raise ChildError("its process ended")
        return found

    def kill(self) -> None:
        """End it at once."""
        with contextlib.suppress(OSError):
            self.process.kill()
        self._close_input()
        self.process.wait()

    def leave(self) -> None:
        """End it by closing its input; kill it when it does not go."""
        threading.Thread(target=self._close_input, daemon=True).start()  # waits while another thread writes in vain
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(timeout=1.0)
        self.kill()

    def _close_input(self) -> None:
        with contextlib.suppress(OSError, ValueError):
            if self.process.stdin is not None:
                self.process.stdin.close()


class Served:
    """A process and what it is to be told: by a thread of its own, since a process that hangs does not read.

    Raises OSError when the process cannot be started.
    """

    def __init__(self, command: Sequence[str]) -> None:
        self.child = Child(command, surroundings())
        self._wishes: queue.SimpleQueue[tuple[Mapping[str, Any], bytes]] = queue.SimpleQueue()
        threading.Thread(target=self._send, name="to a process", daemon=True).start()

    def tell(self, request: Mapping[str, Any], data: bytes = b"") -> None:
        """Send this when the process reads; never waits."""
        self._wishes.put((request, data))

    def _send(self) -> None:
        with contextlib.suppress(OSError, ValueError):
            while self.child.process.poll() is None:
                with contextlib.suppress(queue.Empty):
                    self.child.ask(*self._wishes.get(timeout=0.5))
