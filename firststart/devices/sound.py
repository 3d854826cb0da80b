"""A piece of mono sound in memory, and the two kinds of file a speech synthesiser writes.

RIFF WAVE comes from Linux and Windows. AIFF and AIFF-C come from macOS (Apple, "Audio Interchange File Format",
1989, and AIFF-C draft 1991); they are read here because Python has no reader for them any more.
"""

from __future__ import annotations

import io
import math
import struct
import sys
import wave
from array import array
from dataclasses import dataclass
from pathlib import Path

from firststart.errors import InputError

_MOST_CHANNELS = 64  # a file that claims more would be cut into as many pieces
MOST_MB = 40  # of a sound file: three minutes of two channels at 48 kHz


@dataclass(frozen=True)
class Sound:
    """Mono sound: `rate` in hertz, `samples` as signed 16-bit values."""

    rate: int
    samples: array[int]

    @property
    def seconds(self) -> float:
        """How long it lasts, in seconds."""
        return len(self.samples) / self.rate

    @property
    def loudness(self) -> float:
        """Root mean square over the whole length, 0 to 1 of full scale."""
        if not self.samples:
            return 0.0
        return float((sum(s * s for s in self.samples) / len(self.samples)) ** 0.5 / 32768.0)

    def softer(self, gain: float) -> Sound:
        """The same sound at `gain` (0 to 1) of its loudness."""
        if gain >= 1.0:
            return self
        return Sound(self.rate, array("h", (int(s * gain) for s in self.samples)))

    def at_rate(self, rate: int) -> Sound:
        """The same sound at another sample rate, by straight lines between the samples (good enough for speech)."""
        if rate == self.rate or not self.samples:
            return Sound(rate, self.samples)
        step, last = self.rate / rate, len(self.samples) - 1
        out = array("h")
        for index in range(int(len(self.samples) / step)):
            place = index * step
            left = int(place)
            a, b = self.samples[left], self.samples[min(left + 1, last)]
            out.append(int(a + (b - a) * (place - left)))
        return Sound(rate, out)


def read_sound(data: bytes) -> Sound:
    """The sound in a WAVE, AIFF or AIFF-C file's bytes, mixed to one channel. Raises InputError."""
    readers = {b"RIFFWAVE": _read_wave, b"FORMAIFF": _read_aiff, b"FORMAIFC": _read_aiff}
    reader = readers.get(data[:4] + data[8:12])
    if reader is None:
        raise InputError("That is not a sound file this tool reads; use a WAV file of 16 bits.")
    try:
        sound = reader(data)
    except (wave.Error, EOFError, struct.error, ArithmeticError, ValueError, LookupError, RuntimeError) as error:
        raise InputError(f"That sound file is damaged ({error or 'cut short'}); make it again.") from error
    if not 1000 <= sound.rate <= 400_000:
        raise InputError(f"That sound file is damaged (a rate of {sound.rate} hertz); make it again.")
    return sound


def read_sound_file(path: Path) -> Sound:
    """The sound in the file at `path`. Raises InputError when it is missing, too large, or not a sound file."""
    try:
        if path.exists() and not path.is_file():
            raise InputError(f"{path} is no file; name the sound file itself.")
        with path.open("rb") as file:
            data = file.read(MOST_MB * 1024 * 1024 + 1)
    except OSError as error:
        raise InputError(f"The sound file {path} cannot be read: {error.strerror or error}.") from error
    if len(data) > MOST_MB * 1024 * 1024:
        raise InputError(f"The sound file {path} has more than {MOST_MB} MB; cut it to what is to be heard.")
    return read_sound(data)


def write_wave(path: Path, sound: Sound) -> None:
    """Write `sound` as a 16-bit mono WAVE file."""
    with path.open("wb") as file, wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(sound.rate)
        out.writeframes(_little(sound.samples).tobytes())


def _little(samples: array[int]) -> array[int]:
    if sys.byteorder == "big":
        samples = array("h", samples)
        samples.byteswap()
    return samples


def _read_wave(data: bytes) -> Sound:
    with wave.open(io.BytesIO(data)) as source:
        if source.getsampwidth() != 2:
            raise ValueError(f"{8 * source.getsampwidth()} bits instead of 16")
        channels, rate = source.getnchannels(), source.getframerate()
        raw = source.readframes(source.getnframes())
    whole = len(raw) - len(raw) % (2 * channels)
    return Sound(rate, _mix(_little(array("h", raw[:whole])), channels))


def _mix(samples: array[int], channels: int) -> array[int]:
    """One channel from several, by their mean. Raises ValueError for more than any recorder has."""
    if not 1 <= channels <= _MOST_CHANNELS:
        raise ValueError(f"{channels} channels")
    if channels == 1:
        return samples
    import numpy as np  # not needed for what a synthesiser writes, and slow to fetch

    frames = np.frombuffer(samples, np.int16).reshape(-1, channels)
    return array("h", (frames.sum(axis=1, dtype=np.int32) // channels).astype(np.int16).tobytes())


def _read_aiff(data: bytes) -> Sound:
    chunks, at = {}, 12
    while at + 8 <= len(data):
        name, size = data[at:at + 4], struct.unpack(">I", data[at + 4:at + 8])[0]
        chunks[name] = data[at + 8:at + 8 + size]
        at += 8 + size + size % 2
    common, sound = chunks[b"COMM"], chunks[b"SSND"]
    channels, _, bits = struct.unpack(">hIh", common[:8])
    if bits != 16:
        raise ValueError(f"{bits} bits instead of 16")
    little = data[8:12] == b"AIFC" and common[18:22] == b"sowt"
    offset = 8 + struct.unpack(">I", sound[:4])[0]
    raw = sound[offset:offset + (len(sound) - offset) // (2 * channels) * 2 * channels]
    samples = array("h", raw)
    if little != (sys.byteorder == "little"):
        samples.byteswap()
    return Sound(round(_extended(common[8:18])), _mix(samples, channels))


def _extended(raw: bytes) -> float:
    """An 80-bit IEEE 754 extended number, as AIFF writes its sample rate."""
    exponent, mantissa = struct.unpack(">HQ", raw)
    return math.ldexp(float(mantissa), exponent - 16383 - 63)
