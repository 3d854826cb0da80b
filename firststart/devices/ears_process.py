"""Ears in a process of their own, under a watchdog: a recogniser or a microphone that hangs or dies costs no job.

One thread keeps the process: it takes what comes from it, tells it whether the mouth speaks, and begins it anew when it
died or gave no sign of life. The bench asks and is never made to wait.
"""

from __future__ import annotations

import contextlib
import json
import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from firststart.devices.child import ChildError, Served, program
from firststart.devices.ears import GOES_ON, EarOptions, Heard, Levels, Vocabulary, oldest
from firststart.devices.ears_words import heard_of, json_of
from firststart.devices.endpoint import Block
from firststart.devices.moonshine import EarsError
from firststart.devices.tape import Tape

START = 30.0
"""Seconds the process may take to load the recogniser; two or three on a warm machine."""

TOLD = 0.9
"""Seconds without a sign of life after which the person is told; signs come five times a second."""

REPLACED = 6.0
"""Seconds after which the process is ended and begun anew: a slow machine may take some for one long sentence."""

_LOOK = 0.02  # seconds between looks at the mouth
_WELL = 30.0  # seconds of life after which a new trouble is told again, and old losses are forgotten
_LOSSES = 3  # so many without a while of life between them, and the ears stay shut


class ProcessEars:
    """Ears as the bench needs them. Raises EarsError when the process cannot be opened.

    `command` replaces the command line of the process in tests; it gets the options as one JSON argument.
    """

    def __init__(
        self, options: EarOptions, notice: Callable[[str], None], mouth_busy: Callable[[], bool], *,
        command: Sequence[str] | None = None, start: float = START, told: float = TOLD, replaced: float = REPLACED,
    ) -> None:  # fmt: skip
        self._notice, self._mouth_busy = notice, mouth_busy
        self._start, self._told_after, self._replaced_after = start, told, replaced
        named = json.dumps({"device": options.device})
        self._command = (*(command or program("firststart.devices.ears_child")), named)
        self._heard: deque[Heard] = deque()
        self._cranked: deque[Block] = deque(maxlen=1)
        self._levels = Levels(None, None)
        self._state: dict[str, Mapping[str, Any]] = {}  # what a new process has to be told
        self._turn = 0
        self._tape: Tape | None = None
        self._closed = threading.Event()
        self._keeper: threading.Thread | None = None
        self._alive = self._well_since = time.monotonic()
        self._told, self._losses = False, 0
        self._life: Served | None = self._open()

    def start(self) -> None:
        if self._keeper is None and not self._closed.is_set():
            self._tell("start", {"do": "start"})
            self._alive = time.monotonic()
            self._keeper = threading.Thread(target=self._keep, name="ears", daemon=True)
            self._keeper.start()

    def listen_for(self, vocabulary: Vocabulary) -> None:
        self._turn += 1
        self._tell("listen", {"do": "listen", "turn": self._turn, "vocabulary": json_of(vocabulary)})
        self._heard.clear()

    def heard(self) -> Heard | None:
        return oldest(self._heard)

    def mute(self) -> None:
        self._tell("mute", {"do": "mute", "is": True})

    def unmute(self) -> None:
        self._tell("mute", {"do": "mute", "is": False})

    def levels(self) -> Levels:
        return self._levels

    def record(self, tape: Tape | None) -> bool:
        self._tape = tape
        self._tell("record", {"do": "record", "is": tape is not None})
        return not self._closed.is_set() and self._keeper is not None and self._life is not None

    def cranked(self) -> Block | None:
        return oldest(self._cranked)

    def close(self) -> None:
        self._closed.set()
        life, self._life = self._life, None
        if life is not None:
            life.child.leave()
        if self._keeper is not None and self._keeper is not threading.current_thread():
            self._keeper.join(timeout=2.0)

    # the process -------------------------------------------------------------------------------------

    def _open(self) -> Served:
        """A process that is ready. Raises EarsError."""
        try:
            life = Served(self._command)
        except OSError as error:
            raise EarsError(f"the process of the ears cannot be started ({error.strerror or error})") from error
        try:
            hello, _ = life.child.answer(self._start)
        except ChildError as error:
            life.child.kill()
            raise EarsError(f"the process of the ears did not start: {error}") from error
        if "error" in hello:
            life.child.kill()
            raise EarsError(str(hello["error"]))
        return life

    def _tell(self, what: str, request: Mapping[str, Any]) -> None:
        self._state[what] = request
        life = self._life
        if life is not None:
            life.tell(request)

    def _keep(self) -> None:
        """Until the ears are closed, or stay shut for good."""
        while not self._closed.is_set() and self._life is not None:
            try:
                message = self._life.child.answers.get(timeout=_LOOK)
            except queue.Empty:
                self._watch()
            else:
                self._take(message)
            self._look_at_the_mouth()

    def _look_at_the_mouth(self) -> None:
        busy = self._mouth_busy()
        if busy != self._state.get("busy", {}).get("is", False):
            self._tell("busy", {"do": "busy", "is": busy})

    def _take(self, message: tuple[dict[str, Any], bytes] | None) -> None:
        if message is None:
            self._replace(f"The ears stopped working; {GOES_ON}.")
            return
        told, data = message
        with contextlib.suppress(TypeError, ValueError, KeyError):  # a process gone wrong is told by its silence
            if "heard" in told and told["turn"] == self._turn:
                self._heard.append(heard_of(told["heard"]))
            elif "notice" in told:
                self._told = True  # the person knows that something is wrong, and what
                self._say(str(told["notice"]))
            elif "tape" in told and self._tape is not None:
                self._tape.add(np.frombuffer(data, "<i2"), told["tape"])
            elif "cranked" in told:
                self._cranked.append(np.frombuffer(data, "<i2"))
            elif "beat" in told:
                self._beat(*told["beat"])

    def _beat(self, noise: float | None, speech: float | None) -> None:
        now = time.monotonic()
        if now - self._alive > self._told_after:
            self._well_since = now
        self._alive, self._levels = now, Levels(noise, speech)
        if now - self._well_since > _WELL:
            self._told, self._losses = False, 0

    def _watch(self) -> None:
        """Nothing waits to be taken: is the process silent, and for how long?"""
        silent = time.monotonic() - self._alive
        if silent > self._told_after and not self._told:
            self._told = True
            self._say(f"The ears do not answer; {GOES_ON}.")
        if silent > self._replaced_after:
            self._replace(f"The ears do not answer; {GOES_ON}.")

    def _replace(self, sentence: str) -> None:
        """A new process in the place of one that died or hangs, with all that the old one had been told."""
        life, self._life = self._life, None
        if life is None or self._closed.is_set():
            return
        life.child.kill()
        if not self._told:
            self._told = True
            self._say(sentence)
        self._losses += 1
        if self._losses < _LOSSES:
            with contextlib.suppress(EarsError):
                self._begin(self._open())

    def _begin(self, life: Served) -> None:
        for request in tuple(self._state.values()):
            life.tell(request)
        self._life, self._alive, self._well_since = life, time.monotonic(), time.monotonic()
        if self._closed.is_set():
            self.close()
        else:
            self._say("The ears hear again.")

    def _say(self, sentence: str) -> None:
        if not self._closed.is_set():
            self._notice(sentence)
