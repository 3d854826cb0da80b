"""A short recording for a spoken note: from the ears while they are open, else from a microphone of its own.

It ends by itself when the person falls silent, or when it is full; the bench ends it at a key.
"""

from __future__ import annotations

import math
import threading
from typing import TYPE_CHECKING

from firststart.devices.endpoint import HOLD, ONSET, RATE, SECONDS, Block

if TYPE_CHECKING:
    from collections.abc import Callable

    from firststart.devices.capture import Microphone

FULL = 60.0  # seconds of a note
SILENT = 2.5  # seconds of silence that end it
FIRST = 8.0  # seconds in which the first word must come
_ABOVE = 9.0  # decibels above the quietest so far that count as speech, where no detector tells
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
    """A microphone of its own that fills a tape. `busy` tells whether the tool itself is speaking: that is left out."""

    def __init__(self, tape: Tape, microphone: Microphone, busy: Callable[[], bool]) -> None:
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
            block = self._microphone.block(timeout=0.25)
            if block is not None and not self._busy():
                self._tape.add(block, None)


def open_recorder(tape: Tape, busy: Callable[[], bool]) -> Recorder:
    """A recorder on the usual microphone. Raises DeviceError, ImportError."""
    from firststart.devices.capture import Microphone

    return Recorder(tape, Microphone(), busy)
