"""Speech made by a supervised child: a request with a watchdog, one restart, a small store of what was made."""

from __future__ import annotations

import json
import sys
import tempfile
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from firststart.devices.child import Child, ChildError
from firststart.devices.sound import Sound, read_sound
from firststart.errors import FirststartError, InputError
from firststart.units import in_range

WATCHDOG = 2.0
"""Seconds a request may take before the child counts as hung; a usual sentence takes about 0.01."""

START = 6.0
"""Seconds the child may take to start; about 0.06 on a warm machine, much more from a cold disk."""

_STORE = 200


class VoiceError(FirststartError):
    """The speech process cannot be started, died, or does not answer."""


@dataclass(frozen=True)
class VoiceOptions:
    """How the mouth speaks. `rate` in words a minute, `volume` 0 to 1, `voice` and `language` by name or None.

    `device` is part of the name of the loudspeaker's device, or None for the usual one. Raises RangeError.
    """

    rate: int = 165
    volume: float = 1.0
    voice: str | None = None
    language: str | None = "en"
    device: str | None = None

    def __post_init__(self) -> None:
        in_range(self.rate, "speaking rate", 80, 450, "words a minute")
        in_range(self.volume, "volume", 0.0, 1.0)


class Synth:
    """Makes sound from words. Not for two threads at once; `close` may come from any thread.

    `command` replaces the child's command line in tests; it gets the options as one JSON argument.
    """

    def __init__(
        self, options: VoiceOptions, *, command: Sequence[str] | None = None, watchdog: float = WATCHDOG,
        start: float = START,
    ) -> None:  # fmt: skip
        self._options, self._watchdog, self._start_timeout = options, watchdog, start
        self._command = tuple(command or (sys.executable, "-P", str(Path(__file__).with_name("mouth_child.py"))))
        self._folder = tempfile.TemporaryDirectory(prefix="firststart-voice-", ignore_cleanup_errors=True)
        self._store: OrderedDict[str, Sound] = OrderedDict()
        self._child: Child | None = None
        self._number = 0
        self._closed = False
        self.warning = ""
        self.voice = ""
        self.voices: tuple[str, ...] = ()

    def start(self) -> None:
        """Start the child. Raises VoiceError with a reason fit for the end of a sentence."""
        if self._closed:
            raise VoiceError("it was closed")
        Path(self._folder.name).mkdir(parents=True, exist_ok=True)  # a child that left has taken its folder along
        given = {"folder": self._folder.name, "rate": self._options.rate, "voice": self._options.voice,
                 "language": self._options.language}  # fmt: skip
        try:
            self._child = Child((*self._command, json.dumps(given)))
        except OSError as error:
            raise VoiceError(f"its process cannot be started ({error.strerror or error})") from error
        try:
            hello, _ = self._child.answer(self._start_timeout)
        except ChildError as error:
            self._drop()
            raise VoiceError(str(error)) from error
        if "error" in hello:
            self._drop()
            raise VoiceError(_reason(str(hello["error"])))
        self.warning, self.voice = str(hello.get("warning", "")), str(hello.get("voice", ""))
        self.voices = tuple(hello.get("voices", ()))

    def speech(self, words: str) -> Sound:
        """The sound of `words`. A child that hangs or dies is replaced once. Raises VoiceError."""
        if words in self._store:
            self._store.move_to_end(words)
            return self._store[words]
        try:
            sound = self._request(words)
        except (ChildError, VoiceError, OSError, InputError):
            self._drop()
            try:
                sound = self._request(words)
            except (ChildError, OSError, InputError) as error:
                raise VoiceError(str(error)) from error
        self._store[words] = sound
        if len(self._store) > _STORE:
            self._store.popitem(last=False)
        return sound

    def prepare(self, texts: Iterable[str]) -> None:
        """Make the sound of `texts` ahead of time, so that saying them later costs nothing."""
        for text in texts:
            self.speech(text)

    def close(self) -> None:
        """End the child and remove its folder. May be called twice."""
        self._closed = True
        child, self._child = self._child, None
        if child is not None:
            child.leave()
        self._folder.cleanup()

    def _request(self, words: str) -> Sound:
        if self._child is None:
            self.start()
        child = self._child
        if child is None:
            raise VoiceError("it was closed")
        self._number += 1
        child.ask({"id": self._number, "text": words})
        message, data = child.answer(self._watchdog)
        if message.get("id") != self._number or "error" in message:
            raise VoiceError(str(message.get("error", "it answered out of turn")))
        return read_sound(data).softer(self._options.volume)

    def _drop(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            child.kill()


def _reason(error: str) -> str:
    """A child's exception as the end of a sentence for the person."""
    if "No module named" in error or "ModuleNotFoundError" in error:
        return "the package pyttsx3 is not installed"
    if "eSpeak" in error or "espeak" in error:
        return "no speech library was found; install the package espeakng-loader"
    return error
