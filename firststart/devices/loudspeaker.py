"""A loudspeaker device that stays open, plays what it is given in order, and falls silent at once.

Opening a device for each sound costs a second or more on some systems; an open one starts and stops within its buffer
of 20 ms. The device asks for samples from its own thread; when there is nothing to play it gets silence. It belongs in
a process of its own (`player_child`): the sound library is foreign code that may hang or crash.
"""

from __future__ import annotations

import atexit
import threading
import time
from collections import deque
from collections.abc import Generator
from typing import Any

from firststart.devices.soundcard import close_in_time, find_device, open_in_time, started

BUFFER_MS = 20
"""Length of the device's buffer, milliseconds: what starting and stopping cost."""

_TAIL = 0.06  # seconds from the last sample handed over to the last one heard, with a margin
_FIRST = 2.5  # seconds after opening in which the device may pause: some systems take one to begin
_RUNS = 10  # times it asked for samples after which it runs, and may pause no more


class Loudspeaker:
    """An open loudspeaker. Raises DeviceError when it cannot be opened within `timeout` seconds."""

    def __init__(self, rate: int = 22050, device: str | None = None, timeout: float = 4.0) -> None:
        self.rate, self._name = rate, device
        self._waiting: deque[tuple[int, memoryview]] = deque()
        self._lock = threading.Lock()
        self._newest = 0
        self._last_sound = 0.0
        self._last_call, self._calls = 0.0, 0
        self._device: Any = open_in_time(self._open, timeout, "loudspeaker")
        self._opened = time.monotonic()
        atexit.register(self.close)  # a device left open stops the interpreter from ending

    def play(self, number: int, samples: bytes) -> None:
        """Put these samples (signed, 16 bits, one channel) behind what still plays; `number` grows with each sound."""
        with self._lock:
            self._newest = number
            if samples:
                self._waiting.append((number, memoryview(samples)))

    def clear(self) -> None:
        """Drop everything that waits or plays."""
        with self._lock:
            self._waiting.clear()

    def done(self) -> int:
        """The number of the newest sound that was heard to its end or dropped; 0 before the first."""
        with self._lock:
            if self._waiting:
                return self._waiting[0][0] - 1
            return self._newest if time.monotonic() - self._last_sound >= _TAIL else self._newest - 1

    def still(self) -> float:
        """Seconds since the device asked for samples; a device that was pulled out does not ask."""
        now = time.monotonic()
        if self._calls < _RUNS and now - self._opened < _FIRST:
            return 0.0
        return now - max(self._last_call, self._opened)

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        device, self._device = self._device, None
        self.clear()
        if device is not None:
            atexit.unregister(self.close)
            close_in_time(device)

    def _open(self) -> Any:
        import miniaudio

        found = find_device(miniaudio.Devices().get_playbacks() if self._name else [], self._name, "loudspeaker")
        opened = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.SIGNED16, nchannels=1, sample_rate=self.rate,
            buffersize_msec=BUFFER_MS, device_id=found, app_name="firststart",
        )  # fmt: skip
        return started(opened, self._stream(), "loudspeaker")

    def _stream(self) -> Generator[bytes, int, None]:
        frames = yield b""
        while True:
            frames = yield self._next(frames)

    def _next(self, frames: int) -> bytes:
        """The next `frames` frames as bytes: what waits, then silence."""
        self._last_call, self._calls = time.monotonic(), self._calls + 1
        need, parts = 2 * frames, []
        with self._lock:
            while need and self._waiting:
                number, piece = self._waiting.popleft()
                if len(piece) > need:
                    self._waiting.appendleft((number, piece[need:]))
                    piece = piece[:need]
                parts.append(bytes(piece))
                need -= len(piece)
            if parts:
                self._last_sound = self._last_call
        return b"".join(parts) + b"\0" * need
