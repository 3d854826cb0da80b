"""The mouth: says prompts aloud without ever holding up the bench, and its silent twin.

    text -> words for the ear -> a process makes the sound -> another one plays it
            (prompt.spoken)      (synth, mouth_child)         (player, player_child, loudspeaker)

Whatever fails on that way, the bench goes on by screen and keys, and one clear sentence says why.
"""

from __future__ import annotations

import re
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Protocol

from firststart.devices.player import Player, Sink
from firststart.devices.sound import Sound, write_wave
from firststart.devices.soundcard import DeviceError
from firststart.devices.synth import Synth, VoiceError, VoiceOptions
from firststart.devices.tones import Tone, tone
from firststart.prompt.spoken import spoken

Notice = Callable[[str], None]
"""Takes one clear sentence for the screen. May be called from another thread."""

Words = Callable[[str], str]
"""Makes a written sentence one for the ear; `spoken` does it in English."""

GOES_ON = "the bench goes on by screen and keys"

LATE = 0.8
"""Seconds that making the sound of a prompt may take before the person is told; a usual one takes 0.01."""

_FAILURES = 3  # utterances lost in a row before the mouth gives up
_WELL = 10  # prompts made in a row after which a voice that was late is told of again
_LOOK = 0.1  # seconds between looks at what is late
_KEPT = 10.0  # seconds that closing waits for what is to be kept and is not made yet
_MUTE = "The loudspeaker no longer answers"


class Mouth(Protocol):
    """What the bench needs of a voice. Nothing here waits but `wait`; nothing raises."""

    def say(self, text: str, *, priority: bool = False) -> None:
        """Say `text` after what is being said; with `priority`, at once and instead of it."""
        ...

    def sound(self, kind: Tone, *, priority: bool = False) -> None:
        """Sound a tone, in its turn like speech; with `priority`, at once."""
        ...

    def prepare(self, texts: Iterable[str]) -> None:
        """Make the sound of `texts` in idle time, so that counting aloud keeps time."""
        ...

    def silence(self) -> None:
        """Fall silent at once and forget what waits."""
        ...

    def busy(self) -> bool:
        """Whether anything is being said or waits to be said."""
        ...

    def wait(self, timeout: float) -> bool:
        """Wait until nothing is being said, at most `timeout` seconds; whether that came to be."""
        ...

    def close(self) -> None:
        """Fall silent and let go of the devices. May be called twice."""
        ...


class SilentMouth:
    """The twin without a voice: keeps what it was asked to say, for tests and for a bench without a loudspeaker."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.tones: list[Tone] = []

    def say(self, text: str, *, priority: bool = False) -> None:  # noqa: ARG002
        self.said.append(text)

    def sound(self, kind: Tone, *, priority: bool = False) -> None:  # noqa: ARG002
        self.tones.append(kind)

    def prepare(self, texts: Iterable[str]) -> None:
        """Nothing to prepare."""

    def silence(self) -> None:
        """Nothing sounds."""

    def busy(self) -> bool:
        return False

    def wait(self, timeout: float) -> bool:  # noqa: ARG002
        return True

    def close(self) -> None:
        """Nothing to let go of."""


class SpeakingMouth:
    """A mouth with a voice. One thread makes the sounds, the sink plays them, and another thread watches both."""

    def __init__(self, synth: Synth, sink: Sink, notice: Notice, words: Words = spoken, late: float = LATE) -> None:
        self._synth, self._sink, self._notice, self._words, self._late = synth, sink, notice, words, late
        self._waiting: deque[str | Tone] = deque()
        self._ahead: deque[str] = deque()
        self._change = threading.Condition()
        self._turn = 0  # grows when all said so far is to be forgotten
        self._making = self._off = self._closed = False
        self._failures = self._well = 0
        self._began: float | None = None  # when making the sound at hand began
        self._told = self._look = False
        self._thread = threading.Thread(target=self._work, name="mouth", daemon=True)
        self._thread.start()
        threading.Thread(target=self._watch, name="mouth watch", daemon=True).start()

    def say(self, text: str, *, priority: bool = False) -> None:
        words = self._words(_printable(text))
        if words:
            self._put(words, priority)

    def sound(self, kind: Tone, *, priority: bool = False) -> None:
        self._put(kind, priority)

    def prepare(self, texts: Iterable[str]) -> None:
        with self._change:
            self._ahead.extend(words for text in texts if (words := self._words(_printable(text))))
            self._change.notify_all()

    def silence(self) -> None:
        with self._change:
            if not self._sink.keeps_all:
                self._turn += 1
                self._waiting.clear()
                self._sink.clear()

    def busy(self) -> bool:
        with self._change:
            return not self._off and (bool(self._waiting) or self._making or self._sink.busy())

    def wait(self, timeout: float) -> bool:
        end = time.monotonic() + timeout
        while self.busy():
            if time.monotonic() >= end:
                return False
            time.sleep(0.005)
        return True

    def close(self) -> None:
        if self._sink.keeps_all and not self._closed:
            self.wait(_KEPT)
        with self._change:
            if self._closed:
                return
            self._closed = self._off = True
            self._waiting.clear()
            self._ahead.clear()
            self._change.notify_all()
        self._sink.clear()
        self._synth.close()
        self._thread.join(timeout=3.0)
        self._sink.close()

    def _put(self, item: str | Tone, priority: bool) -> None:
        if priority:
            self.silence()
        with self._change:
            if not self._off:
                self._waiting.append(item)
                self._change.notify_all()

    def _work(self) -> None:
        while (job := self._next()) is not None:
            item, turn = job
            sound = self._make(item)
            with self._change:
                if sound is not None and turn == self._turn and not self._closed:
                    self._sink.play(sound, item if isinstance(item, str) else item.value)
                self._making = False
            self._look_at_sink()

    def _look_at_sink(self) -> None:
        if not self._sink.working():
            self._give_up(_MUTE)
        elif self._told and self._sink.answers() and not self._failures:
            self._well += 1

    def _watch(self) -> None:
        """Tell the person at once of a voice or a loudspeaker that does not answer, while the other thread waits."""
        while not self._off:
            time.sleep(_LOOK)
            began = self._began
            if began is not None and time.monotonic() - began > self._late:
                self._tell("The voice does not answer")
            if not self._sink.answers():
                self._tell(_MUTE)
                with self._change:
                    self._look = True
                    self._change.notify_all()

    def _tell(self, why: str) -> None:
        """Once, and again only after all was well for a while."""
        if self._told and self._well < _WELL:
            self._well = 0
            return
        with self._change:
            if self._off:
                return
            self._told, self._well = True, 0
        self._notice(f"{why}; {GOES_ON}.")

    def _next(self) -> tuple[str | Tone, int] | None:
        """The next thing to say, with the turn it belongs to; None when closed. Prepares ahead while idle."""
        while True:
            with self._change:
                while not (self._waiting or self._ahead or self._off or self._look):
                    self._change.wait()
                look, self._look = self._look, False
                if self._off:
                    self._making = False
                    return None
                if self._waiting and not look:
                    self._making = True
                    return self._waiting.popleft(), self._turn
                ahead = None if look else self._ahead.popleft()
            if ahead is None:
                self._look_at_sink()
            else:
                self._make(ahead)

    def _make(self, item: str | Tone) -> Sound | None:
        if isinstance(item, Tone):
            return tone(item)
        self._began = time.monotonic()
        try:
            sound = self._synth.speech(item)
        except VoiceError as error:
            self._failures += 1
            if self._failures >= _FAILURES:
                self._give_up(f"The voice stopped working ({error})")
            return None
        finally:
            self._began = None
        self._failures = 0
        return sound

    def _give_up(self, why: str) -> None:
        with self._change:
            if self._off:
                return
            self._off = True
            self._waiting.clear()
        self._sink.clear()
        if not self._told:
            self._notice(f"{why}; {GOES_ON}.")


class FolderSink:
    """Writes each sound as a numbered WAV file, and a list of what was said beside them."""

    keeps_all = True

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        numbers = [int(found.group()) for each in folder.glob("*.wav") if (found := re.match(r"\d{4}", each.name))]
        self._number = max(numbers, default=0)
        self._works = True

    def play(self, sound: Sound, label: str) -> None:
        name = "-".join(re.findall(r"[a-z0-9]+", label.lower()))[:40].strip("-")
        self._number += 1
        try:
            write_wave(self.folder / f"{self._number:04d}-{name}.wav", sound)
            with (self.folder / "said.txt").open("a", encoding="utf-8") as out:
                out.write(f"{self._number:04d} {label}\n")
        except OSError:
            self._works = False

    def clear(self) -> None:
        """Files are kept."""

    def busy(self) -> bool:
        return False

    def answers(self) -> bool:
        return True

    def working(self) -> bool:
        return self._works

    def close(self) -> None:
        """Nothing stays open."""


def open_mouth(options: VoiceOptions, notice: Notice, words: Words = spoken) -> Mouth:
    """A mouth that speaks, or the silent twin and one sentence that says why. Never raises, never hangs."""
    return _open(options, notice, lambda: Player(device=options.device), words)


def say_to(folder: Path, options: VoiceOptions, notice: Notice, words: Words = spoken) -> Mouth:
    """A mouth that writes all it would say into `folder` as WAV files; the silent twin when it cannot."""
    return _open(options, notice, lambda: FolderSink(folder), words)


def _open(options: VoiceOptions, notice: Notice, open_sink: Callable[[], Sink], words: Words) -> Mouth:
    synth = Synth(options)
    pool = ThreadPoolExecutor(1)
    opening = pool.submit(open_sink)  # both are processes that take their time to start
    pool.shutdown(wait=False)
    try:
        synth.start()
        sink = opening.result()
    except (VoiceError, DeviceError, OSError) as error:
        synth.close()
        if opening.exception() is None:
            opening.result().close()
        reason = f"{error.strerror}: {error.filename}" if isinstance(error, OSError) else str(error)
        notice(f"No voice: {reason}; {GOES_ON}.")
        return SilentMouth()
    if synth.warning:
        notice(f"{synth.warning[:1].upper()}{synth.warning[1:]} here; the usual voice speaks.")
    return SpeakingMouth(synth, sink, notice, words)


def _printable(text: str) -> str:
    """Without control characters, which end or change what the speech library reads."""
    return "".join(c if c.isprintable() else " " for c in text)
