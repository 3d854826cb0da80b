"""A process that does what may hang or die, and the messages to and from it.

A message is one JSON object a line; with `"bytes": n` in it, n bytes follow. The answers are read by a thread, so that
waiting for them can end.
"""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import threading
from collections.abc import Mapping, Sequence
from typing import IO, Any

from firststart.errors import FirststartError

_MOST = 1 << 28  # bytes of one message


class ChildError(FirststartError):
    """The process died or does not answer. The message is the end of a sentence."""


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

    def ask(self, request: Mapping[str, Any]) -> None:
        """Send one message. Waits while the process does not read. Raises OSError, ValueError when it is gone."""
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(request).encode() + b"\n")
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
        with contextlib.suppress(OSError):
            if self.process.stdin is not None:
                self.process.stdin.close()
        self.process.wait()

    def leave(self) -> None:
        """End it by closing its input; kill it when it does not go."""
        with contextlib.suppress(OSError):
            if self.process.stdin is not None:
                self.process.stdin.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(timeout=1.0)
        self.kill()
