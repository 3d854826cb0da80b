"""A short recording for a spoken note: from the ears while they are open, else from a microphone of its own.

It ends by itself when the person falls silent, or when it is full; the bench ends it at a key.
"""

from __future__ import annotations

import json
import math
import threading
import time
from collections.abc import Callable, Sequence
from typing import Protocol

import numpy as np

from firststart.devices.child import Child, ChildError, program, surroundings
from firststart.devices.endpoint import BLOCK, HOLD, ONSET, RATE, SECONDS, Block
from firststart.devices.soundcard import DeviceError

FULL = 60.0  # seconds of a note
SILENT = 2.5  # seconds of silence that end it
FIRST = 8.0  # seconds in which the first word must come
_ABOVE = 9.0  # decibels above the quietest so far that count as speech, where no detector tells
_WAIT = 0.25  # seconds for which a block is waited for
_LEAST_NOISE = -70.0  # decibels below full scale: what the quietest room is taken for


class Tape:
    """Blocks of sound in order, filled by one thread and read by another."""

    def __init__(self, full: float = FULL, silent: float = SILENT, first: float = FIRST) -> None:
        self._full, self._silent, self._first = full, silent, first
        self._blocks: list[bytes] = []
        self._spoken = False
        self._quiet = 0
        self._noise = 0.0
        self._lock = threading.Lock()

    def add(self, block: Block, chance: float | None) -> None:
        """One block of 512 samples at 16 kHz, and how likely it is speech; None where no detector tells."""
        with self._lock:
            if self._is_over():
                return
            self._blocks.append(block.astype("<i2").tobytes())
            likely = self._likely(block) if chance is None else chance
            self._spoken = self._spoken or likely > ONSET
            self._quiet = 0 if likely > HOLD else self._quiet + 1

    @property
    def rate(self) -> int:
        """Samples a second, in hertz."""
        return RATE

    @property
    def seconds(self) -> float:
        """How long it is so far."""
        return len(self._blocks) * SECONDS

    @property
    def over(self) -> bool:
        """Has the person fallen silent, or is it full?"""
        with self._lock:
            return self._is_over()

    @property
    def spoken(self) -> bool:
        """Was anything said?"""
        return self._spoken

    def samples(self) -> bytes:
        """What was recorded, without the silence that ended it."""
        with self._lock:
            spare = max(0, self._quiet - round(0.5 / SECONDS)) if self._spoken else 0
            return b"".join(self._blocks[: len(self._blocks) - spare])

    def _is_over(self) -> bool:
        patience = self._silent if self._spoken else self._first
        return len(self._blocks) * SECONDS >= self._full or self._quiet * SECONDS >= patience

    def _likely(self, block: Block) -> float:
        """1 where it is clearly louder than the quietest so far, which rises slowly; else 0."""
        power = sum(int(s) * int(s) for s in block[::4]) / max(len(block[::4]), 1) / 32768.0**2
        level = max(10 * math.log10(max(power, 1e-12)), _LEAST_NOISE)
        self._noise = min(self._noise + 0.05, level) if self._blocks[1:] else level
        return 1.0 if level > self._noise + _ABOVE else 0.0


class Recorder:
    """A microphone of its own that fills a tape. `busy` tells whether the tool itself is speaking: that is left out.

    Where no sound comes the tape gets silence in its place, so that it ends by itself.
    """

    def __init__(self, tape: Tape, microphone: Source, busy: Callable[[], bool]) -> None:
        self._tape, self._microphone, self._busy = tape, microphone, busy
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._work, name="note", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Let go of the microphone. May be called twice."""
        self._closed.set()
        self._microphone.close()
        self._thread.join(timeout=2.0)

    def _work(self) -> None:
        while not self._closed.is_set() and not self._tape.over:
            block = self._microphone.block(timeout=_WAIT)
            if block is None:
                for _ in range(round(_WAIT / SECONDS)):
                    self._tape.add(np.zeros(BLOCK, np.int16), 0.0)
            elif not self._busy():
                self._tape.add(block, None)


class Source(Protocol):
    """Where a recorder gets its sound from."""

    def block(self, timeout: float) -> Block | None:
        """The next block of sound, waited for at most `timeout` seconds."""
        ...

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        ...


class ProcessMicrophone:
    """A microphone in a process of its own, which may hang or die. Raises DeviceError when it cannot be opened.

    `command` replaces the command line of the process in tests.
    """

    def __init__(self, device: str | None = None, command: Sequence[str] | None = None, start: float = 6.0) -> None:
        given = json.dumps({"device": device})
        try:
            self._child = Child((*(command or program("firststart.devices.capture_child")), given), surroundings())
        except OSError as error:
            raise DeviceError(f"its process cannot be started ({error.strerror or error})") from error
        try:
            hello, _ = self._child.answer(start)
        except ChildError as error:
            self._child.kill()
            raise DeviceError(f"the process of the microphone did not start: {error}") from error
        if "ready" not in hello:
            self._child.kill()
            raise DeviceError(str(hello.get("error", "the process of the microphone talks nonsense")))

    def block(self, timeout: float) -> Block | None:
        """The next block, None when none comes within `timeout` seconds."""
        began = time.monotonic()
        try:
            _, data = self._child.answer(timeout)
        except ChildError:
            time.sleep(max(0.0, began + timeout - time.monotonic()))  # a process that died answers at once
            return None
        return np.frombuffer(data, "<i2")

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        self._child.leave()


def open_recorder(tape: Tape, busy: Callable[[], bool]) -> Recorder:
    """A recorder on the usual microphone. Raises DeviceError, ImportError."""
    return Recorder(tape, ProcessMicrophone(), busy)
