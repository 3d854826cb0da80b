"""The microphone: blocks of 512 samples at 16 kHz, mono, whatever rate the device itself has."""

from __future__ import annotations

import atexit
import contextlib
import queue
import time
from collections.abc import Generator
from typing import Any

import numpy as np

from firststart.devices.endpoint import BLOCK, RATE, Block
from firststart.devices.soundcard import DeviceError, close_in_time, find_device, open_in_time, started

_WAITING = 300  # blocks kept when the recogniser is behind, about 10 s; older ones are dropped
_SILENT = 0.7  # seconds without sound: the device was pulled out, or its server died
_STALLED = 2.0  # seconds without sound after which it is opened anew
_FIRST = 4.0  # more seconds for the first sound after opening
_AGAIN = 5.0  # seconds between tries to open a lost microphone


class Microphone:
    """An open microphone. Raises DeviceError when it cannot be opened within `timeout` seconds."""

    def __init__(self, device: str | None = None, timeout: float = 4.0) -> None:
        self._name, self._timeout = device, timeout
        self._blocks: queue.Queue[bytes] = queue.Queue(_WAITING)
        self._rest = b""
        self._last = time.monotonic() + _FIRST
        self._next_try = 0.0
        self._closed = False
        self._device: Any = open_in_time(self._open, timeout, "microphone")
        atexit.register(self.close)  # a device left open stops the interpreter from ending

    def block(self, timeout: float) -> Block | None:
        """The next block, waited for at most `timeout` seconds."""
        try:
            return np.frombuffer(self._blocks.get(timeout=timeout), np.int16)
        except queue.Empty:
            return None

    def working(self) -> bool:
        """Whether sound still comes; a microphone that stopped is opened anew now and then, once that was told."""
        now = time.monotonic()
        if self._closed or now - self._last < _SILENT:
            return True
        if now - self._last >= _STALLED and now >= self._next_try:
            self._next_try = now + _AGAIN
            self._reopen()
        return False

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        self._closed = True
        device, self._device = self._device, None
        if device is not None:
            atexit.unregister(self.close)
            close_in_time(device)

    def _reopen(self) -> None:
        device, self._device = self._device, None
        if device is not None:
            close_in_time(device)
        try:
            self._device = open_in_time(self._open, self._timeout, "microphone")
        except DeviceError:
            return

    def _open(self) -> Any:
        import miniaudio

        found = find_device(miniaudio.Devices().get_captures() if self._name else [], self._name, "microphone")
        opened = miniaudio.CaptureDevice(
            input_format=miniaudio.SampleFormat.SIGNED16, nchannels=1, sample_rate=RATE, buffersize_msec=20,
            device_id=found, app_name="firststart",
        )  # fmt: skip
        return started(opened, self._stream(), "microphone")

    def _stream(self) -> Generator[None, bytes, None]:
        while True:
            data = yield
            self._take(bytes(data))

    def _take(self, data: bytes) -> None:
        """Cut what the device gives into blocks; drop the oldest when nobody takes them."""
        self._last = time.monotonic()
        data = self._rest + data
        whole = len(data) - len(data) % (2 * BLOCK)
        for at in range(0, whole, 2 * BLOCK):
            if self._blocks.full():
                with contextlib.suppress(queue.Empty):
                    self._blocks.get_nowait()
            self._blocks.put_nowait(data[at:at + 2 * BLOCK])
        self._rest = data[whole:]
