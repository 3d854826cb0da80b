"""A note that is spoken at the bench: the tape runs until the person falls silent or presses a key."""

from __future__ import annotations

import argparse
import sys
from array import array
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from firststart.bench.keeping import Keeper
from firststart.cli.common import RECORD, home_of
from firststart.devices.ears import Ears, Vocabulary
from firststart.devices.hearable import SAFETY, by_voice
from firststart.devices.sound import read_sound
from firststart.devices.soundcard import DeviceError
from firststart.job import inputs as i
from firststart.journal.drawer import FolderDrawer
from firststart.prompt.expect import Expectation
from firststart.prompt.prompt import Prompt

if TYPE_CHECKING:
    from firststart.devices.tape import Recorder, Tape

SPEAK = "Speak your note after the tone. I keep it when you fall silent, or press enter."
NONE_KEPT = "Nothing was said, so nothing is kept."
DROPPED = "The note is not kept."
_DROP = ("no", "never mind", "cancel")
STOP_ONLY = Vocabulary(dict.fromkeys(by_voice("stop"), "stop"), safety=SAFETY)
"""What is understood while a note is spoken: all else belongs to the note."""


_MOST_RATE = 48_000  # hertz of a sound that is kept


def drawer_of(arguments: argparse.Namespace) -> FolderDrawer:
    """Where the photos and sounds of the record lie."""
    return FolderDrawer(home_of(arguments) / RECORD)


def open_keeper(arguments: argparse.Namespace) -> Keeper:
    """What takes photos and sounds in, from files named as the person's own folder has them."""
    return Keeper(drawer_of(arguments), _decoded, Path.cwd())


def _decoded(data: bytes) -> tuple[bytes, int]:
    sound = read_sound(data)
    if sound.rate > _MOST_RATE:
        sound = sound.at_rate(_MOST_RATE)
    samples = array("h", sound.samples)
    if sys.byteorder == "big":
        samples.byteswap()
    return samples.tobytes(), sound.rate


class Notes:
    """Records spoken notes. `alone`: open a microphone for the note when the ears have none.

    `english` puts what was typed, and means one of some phrases, into English.
    """

    def __init__(
        self, ears: Ears, busy: Callable[[], bool], keeper: Keeper | None, *, alone: bool,
        english: Callable[..., str] | None = None,
    ) -> None:  # fmt: skip
        self._ears, self._busy, self.keeper, self._alone, self._english = ears, busy, keeper, alone, english
        self._tape: Tape | None = None
        self._recorder: Recorder | None = None

    def english(self, typed: str) -> str:
        """What was typed or heard while a note is spoken, in English and plain."""
        return (typed if self._english is None else self._english(typed, *_DROP)).strip().lower()

    @property
    def running(self) -> bool:
        """Is a note being spoken?"""
        return self._tape is not None

    @property
    def over(self) -> bool:
        """Has the person fallen silent, or is the tape full?"""
        return self._tape is not None and self._tape.over

    def begin(self) -> bool:
        """Start the tape. False: there is no microphone, or nowhere to keep it."""
        if self.keeper is None:
            return False
        from firststart.devices.tape import Tape, open_recorder

        tape = Tape()
        if not self._ears.record(tape):
            if not self._alone:
                return False
            try:
                self._recorder = open_recorder(tape, self._busy)
            except (DeviceError, ImportError):
                return False
        self._tape = tape
        return True

    def drop(self) -> None:
        """The tape is thrown away."""
        tape, self._tape = self._tape, None
        if tape is not None:
            self._ears.record(None)
        if self._recorder is not None:
            self._recorder.close()
            self._recorder = None

    def end(self, typed: str = "") -> i.Keep | str:
        """What was spoken, in the drawer; or a sentence that says that nothing is kept.

        Raises RecordError.
        """
        tape = self._tape
        self.drop()
        if tape is None or typed in _DROP:
            return DROPPED
        if self.keeper is None or not tape.spoken:
            return NONE_KEPT
        return self.keeper.recording(tape.samples(), tape.rate)

    def prompt(self) -> Prompt:
        """What the screen shows meanwhile."""
        return Prompt(SPEAK, "note", Expectation("note"))

    def status(self) -> str:
        """One line: how long it is."""
        return f" RECORDING A NOTE: {self._tape.seconds if self._tape is not None else 0:.0f} s; enter ends it "
