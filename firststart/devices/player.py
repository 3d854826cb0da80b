"""Plays sounds by a process of its own, under a watchdog: a sound library that hangs or crashes costs no job.

One thread keeps the process: it takes what comes from it, and begins it anew when it died, hangs, or when its device
asks for nothing any more. The sound that was playing then is lost, those behind it are played. Nobody is made to wait.
"""

from __future__ import annotations

import contextlib
import json
import queue
import threading
import time
from collections import deque
from collections.abc import Sequence
from typing import Any, Protocol

from firststart.devices.child import ChildError, Served, program
from firststart.devices.sound import Sound
from firststart.devices.soundcard import DeviceError

START = 8.0
"""Seconds the process may take to open the device; about 0.3 on a warm machine."""

TOLD = 0.85
"""Seconds without a sign of life, or of a device that asks for nothing, after which what waits counts as not taken."""

REPLACED = 2.0
"""Seconds of the same after which the process is ended and begun anew."""

_LOOK = 0.05  # seconds between looks at the process
_WELL = 30.0  # seconds of life after which old losses are forgotten
_LOSSES = 3  # so many without a while of life between them, and the loudspeaker is given up


class Sink(Protocol):
    """Where sounds go: a loudspeaker, a folder, or nowhere. Nothing here waits."""

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
        """Whether what waits is being taken, and no sound was lost since this was asked before."""
        ...

    def working(self) -> bool:
        """Whether the sink still takes sounds."""
        ...

    def close(self) -> None:
        """Let go of the device. May be called twice."""
        ...


class Player:
    """A loudspeaker in a process of its own. Raises DeviceError when it cannot be opened.

    `command` replaces the command line of the process in tests; it gets device and rate as one JSON argument.
    """

    keeps_all = False

    def __init__(
        self, rate: int = 22050, device: str | None = None, *, command: Sequence[str] | None = None,
        start: float = START, told: float = TOLD, replaced: float = REPLACED,
    ) -> None:  # fmt: skip
        self.rate, self._start, self._told, self._replaced = rate, start, told, replaced
        given = json.dumps({"device": device, "rate": rate})
        self._command = (*(command or program("firststart.devices.player_child")), given)
        self._change = threading.Lock()
        self._waiting: deque[tuple[int, bytes]] = deque()  # what was not heard to its end
        self._number = 0
        self._lost = self._off = False
        self._losses = 0
        self._closed = threading.Event()
        self._life: Served | None = self._open()
        self._alive = self._well_since = time.monotonic()
        self._keeper = threading.Thread(target=self._keep, name="loudspeaker", daemon=True)
        self._keeper.start()

    def play(self, sound: Sound, label: str = "") -> None:  # noqa: ARG002 - a loudspeaker needs no label
        raw = sound.at_rate(self.rate).samples.tobytes()
        with self._change:
            if raw and not self._off:
                self._number += 1
                self._waiting.append((self._number, raw))
                self._send(self._number, raw)

    def clear(self) -> None:
        with self._change:
            self._waiting.clear()
            if self._life is not None:
                self._life.tell({"do": "clear"})

    def busy(self) -> bool:
        return bool(self._waiting) and not self._off

    def answers(self) -> bool:
        lost, self._lost = self._lost, False
        return not (lost or self._off) and (not self._waiting or time.monotonic() - self._alive < self._told)

    def working(self) -> bool:
        return not self._off

    def close(self) -> None:
        self._closed.set()
        with self._change:
            life, self._life, self._off = self._life, None, True
            self._waiting.clear()
        if life is not None:
            life.child.leave()
        if self._keeper is not threading.current_thread():
            self._keeper.join(timeout=2.0)

    # the process -------------------------------------------------------------------------------------

    def _open(self) -> Served:
        """A process whose device is open. Raises DeviceError."""
        try:
            life = Served(self._command)
        except OSError as error:
            raise DeviceError(f"its process cannot be started ({error.strerror or error})") from error
        try:
            hello, _ = life.child.answer(self._start)
        except ChildError as error:
            life.child.kill()
            raise DeviceError(f"the process of the loudspeaker did not start: {error}") from error
        if "ready" not in hello:
            life.child.kill()
            raise DeviceError(str(hello.get("error", "the process of the loudspeaker talks nonsense")))
        return life

    def _send(self, number: int, raw: bytes) -> None:
        if self._life is not None:
            self._life.tell({"do": "play", "n": number}, raw)

    def _keep(self) -> None:
        """Until the loudspeaker is closed or given up."""
        while not self._off and (life := self._life) is not None:
            try:
                told = life.child.answers.get(timeout=_LOOK)
                dead = told is None
            except queue.Empty:
                told, dead = None, False
            if told is not None:
                self._take(told[0])
            if dead or time.monotonic() - self._alive > self._replaced:
                self._replace()

    def _take(self, told: dict[str, Any]) -> None:
        with contextlib.suppress(TypeError, ValueError):  # a process gone wrong is told by its silence
            if "done" in told:
                self._heard(int(told["done"]))
            elif "beat" in told:
                self._beat(float(told["beat"]))

    def _heard(self, done: int) -> None:
        with self._change:
            while self._waiting and self._waiting[0][0] <= done:
                self._waiting.popleft()

    def _beat(self, still: float) -> None:
        """A sign of life, which counts from when the device last asked for samples."""
        now = time.monotonic()
        if now - self._alive > self._told:
            self._well_since = now
        self._alive = max(self._alive, now - still)
        if now - self._well_since > _WELL:
            self._losses = 0

    def _replace(self) -> None:
        """A new process in the place of one that died or hangs, with what still waits behind the sound at hand."""
        with self._change:
            life, self._life = self._life, None
            if self._waiting:
                self._waiting.popleft()
                self._lost = True
        if life is None or self._closed.is_set():
            return
        life.child.kill()
        self._losses += 1
        try:
            new = self._open() if self._losses < _LOSSES else None
        except DeviceError:
            new = None
        with self._change:
            self._off = self._off or new is None
            self._alive = self._well_since = time.monotonic()
            if new is not None and not self._off:
                self._life = new
                for number, raw in self._waiting:
                    self._send(number, raw)
                return
            self._waiting.clear()
        if new is not None:
            new.child.kill()
