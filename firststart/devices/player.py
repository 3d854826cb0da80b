"""Plays sounds on one loudspeaker device that stays open, and falls silent at once.

Opening a device for each sound costs a second or more on some systems; an open one starts and stops within its buffer
of 20 ms. The device asks for samples from its own thread; when there is nothing to play it gets silence.
"""

from __future__ import annotations

import atexit
import threading
import time
from collections import deque
from collections.abc import Generator
from typing import Any, Protocol

from firststart.devices.sound import Sound
from firststart.devices.soundcard import DeviceError, close_in_time, find_device, open_in_time, started

BUFFER_MS = 20
"""Length of the device's buffer, milliseconds: what starting and stopping cost."""

_TAIL = 0.06  # seconds from the last sample handed over to the last one heard, with a margin
_SILENT = 0.6  # seconds without a call while something waits, after which the person is told
_STALLED = 1.5  # seconds without a call from the device: it was pulled out, or its server died
_FIRST = 4.0  # more seconds for the first call after opening, which some systems take long for


class Sink(Protocol):
    """Where sounds go: a loudspeaker, a folder, or nowhere."""

    keeps_all: bool
    """Whether everything said must arrive, so that falling silent drops nothing."""

    def play(self, sound: Sound, label: str) -> None:
        """Put `sound` behind what still plays. `label` is what it says."""
        ...

    def clear(self) -> None:
        """Drop everything that waits or plays."""
        ...

    def busy(self) -> bool:
        """Whether something can still be heard."""
        ...

    def answers(self) -> bool:
        """Whether what waits is being taken. Never waits, never mends anything."""
        ...

    def working(self) -> bool:
        """Whether the sink still takes sounds."""
        ...

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        ...


class Player:
    """A loudspeaker. Raises DeviceError when it cannot be opened within `timeout` seconds."""

    keeps_all = False

    def __init__(self, rate: int = 22050, device: str | None = None, timeout: float = 4.0) -> None:
        self.rate, self._name, self._timeout = rate, device, timeout
        self._waiting: deque[memoryview] = deque()
        self._lock = threading.Lock()
        self._last_sound = self._last_call = 0.0
        self._device: Any = open_in_time(self._open, timeout, "loudspeaker")
        atexit.register(self.close)  # a device left open stops the interpreter from ending
        self._last_call = time.monotonic() + _FIRST

    def play(self, sound: Sound, label: str = "") -> None:  # noqa: ARG002 - a loudspeaker needs no label
        raw = memoryview(sound.at_rate(self.rate).samples.tobytes())
        with self._lock:
            if raw:
                self._waiting.append(raw)

    def clear(self) -> None:
        with self._lock:
            self._waiting.clear()

    def busy(self) -> bool:
        return self._alive() and (bool(self._waiting) or time.monotonic() - self._last_sound < _TAIL)

    def answers(self) -> bool:
        return not self._waiting or (self._device is not None and time.monotonic() - self._last_call < _SILENT)

    def working(self) -> bool:
        """Whether the loudspeaker still takes sounds; a device that stopped asking for them is opened anew, once."""
        return self._alive() or self._revive()

    def _alive(self) -> bool:
        return self._device is not None and time.monotonic() - self._last_call < _STALLED

    def _revive(self) -> bool:
        if self._device is None:
            return False
        old, self._device = self._device, None
        close_in_time(old)
        try:
            self._device = open_in_time(self._open, self._timeout, "loudspeaker")
        except DeviceError:
            return False
        self._last_call = time.monotonic() + _FIRST
        return True

    def close(self) -> None:
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
        self._last_call = time.monotonic()
        need, parts = 2 * frames, []
        with self._lock:
            while need and self._waiting:
                piece = self._waiting.popleft()
                if len(piece) > need:
                    self._waiting.appendleft(piece[need:])
                    piece = piece[:need]
                parts.append(bytes(piece))
                need -= len(piece)
        if parts:
            self._last_sound = self._last_call
        return b"".join(parts) + b"\0" * need
