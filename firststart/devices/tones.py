"""Tones beside speech: go, stop, the wait is over, not understood. Pure arithmetic.

A tone says faster than a word that something changed, and it is heard where a word is not. "Stop" carries most of
its energy between 500 and 2500 Hz and has more than one part below 1500 Hz, as ISO 7731 asks of a danger signal (from
memory); the others are softer, and each differs from the rest in its tune and in its length.
"""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass
from enum import Enum

from firststart.devices.sound import Sound

RATE = 22050
"""Sample rate of all tones, hertz: that of the speech, so both share one device."""

_RAMP = 0.006  # seconds; without a ramp a tone starts and ends with a click


class Tone(Enum):
    """What a tone means."""

    GO = "go"
    STOP = "stop"
    WAIT_OVER = "wait over"
    NOT_UNDERSTOOD = "not understood"


@dataclass(frozen=True)
class Note:
    """Frequencies sounding together (hertz), for `seconds`, then silence for `rest` seconds; `level` 0 to 1."""

    hertz: tuple[float, ...]
    seconds: float
    rest: float = 0.03
    level: float = 0.5


TUNES: dict[Tone, tuple[Note, ...]] = {
    Tone.GO: (Note((660.0,), 0.10), Note((990.0,), 0.18)),
    Tone.STOP: (Note((800.0, 1200.0, 2000.0), 0.14, 0.05, 0.95),) * 4,
    Tone.WAIT_OVER: (Note((523.0,), 0.12), Note((659.0,), 0.12), Note((784.0,), 0.30)),
    Tone.NOT_UNDERSTOOD: (Note((440.0,), 0.12, 0.03, 0.4), Note((330.0,), 0.20, 0.03, 0.4)),
}


def tone(kind: Tone, rate: int = RATE) -> Sound:
    """The sound of one tone at `rate` hertz."""
    samples = array("h")
    for note in TUNES[kind]:
        samples.extend(_note(note, rate))
    return Sound(rate, samples)


def _note(note: Note, rate: int) -> array[int]:
    count = int(note.seconds * rate)
    ramp = max(1, int(_RAMP * rate))
    scale = 32767.0 * note.level / len(note.hertz)
    sounding = (
        int(
            scale
            * min(1.0, index / ramp, (count - 1 - index) / ramp)
            * sum(math.sin(2.0 * math.pi * f * index / rate) for f in note.hertz)
        )
        for index in range(count)
    )
    samples = array("h", sounding)
    samples.extend([0] * int(note.rest * rate))
    return samples
