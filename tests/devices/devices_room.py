"""What can be heard in a virtual room: how loud a source of the sound server is, from moment to moment."""

from __future__ import annotations

import subprocess
import threading
import time
from array import array
from collections.abc import Callable

_RATE = 22050
_PATIENCE = 5.0  # seconds after which a test is told that nothing of the kind was heard


class Loudness:
    """The loudness heard at a source, one value for each 10 ms, with its time."""

    def __init__(self, source: str) -> None:
        self.heard: list[tuple[float, float]] = []
        self._process = subprocess.Popen(
            ["parec", "-d", source, "--format=s16le", f"--rate={_RATE}", "--channels=1", "--raw", "--latency-msec=10"],
            stdout=subprocess.PIPE,
        )
        threading.Thread(target=self._run, daemon=True).start()
        while not self.heard:
            time.sleep(0.005)

    def when(self, test: Callable[[float], bool], since: float, timeout: float = _PATIENCE) -> float:
        """The first moment after `since` whose loudness passes the test."""
        end = time.monotonic() + timeout
        while time.monotonic() < end:
            for moment, level in list(self.heard):
                if moment > since and test(level):
                    return moment
            time.sleep(0.002)
        raise SystemExit(f"nothing of the kind was heard: {self.heard[-5:]}")

    def quiet_from(self, since: float, lasting: float = 0.15, timeout: float = _PATIENCE) -> float:
        """The moment after `since` from which it was quiet for `lasting` seconds."""
        end = time.monotonic() + timeout
        while time.monotonic() < end:
            after = [(moment, level) for moment, level in list(self.heard) if moment > since]
            last = max((moment for moment, level in after if level > 100), default=since)
            if after and after[-1][0] - last > lasting:
                return last
            time.sleep(0.005)
        raise SystemExit("it was never quiet")

    def close(self) -> None:
        """Hear no more."""
        self._process.kill()
        self._process.wait()

    def _run(self) -> None:
        assert self._process.stdout is not None
        while data := self._process.stdout.read(_RATE // 100 * 2):
            samples = array("h", data[: len(data) // 2 * 2])
            self.heard.append((time.monotonic(), (sum(s * s for s in samples) / len(samples)) ** 0.5))
