"""Sounds in memory and in files, and the tones."""

from __future__ import annotations

import itertools
import struct
import wave
from array import array
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.devices.sound import Sound, read_sound, read_sound_file, write_wave
from firststart.devices.tones import RATE, Tone, tone
from firststart.errors import InputError

SAMPLES = array("h", [0, 1, -1, 1000, -32768, 32767])


def _aiff(kind: bytes, byte_order: str, channels: int = 1, rate: bytes = b"\x40\x0d\xac\x44\0\0\0\0\0\0") -> bytes:
    """An AIFF file by hand; the rate bytes are the specification's usual example, 22050 Hz as 80-bit extended."""
    data = struct.pack(f"{byte_order}{len(SAMPLES)}h", *SAMPLES)
    common = struct.pack(">hIh", channels, len(SAMPLES) // channels, 16) + rate
    common += b"sowt\0\0" if byte_order == "<" else (b"NONE\0\0" if kind == b"AIFC" else b"")
    chunks = b"".join(
        name + struct.pack(">I", len(body)) + body
        for name, body in ((b"COMM", common), (b"SSND", struct.pack(">II", 0, 0) + data))
    )
    return b"FORM" + struct.pack(">I", len(chunks) + 4) + kind + chunks


def test_a_wave_file_goes_round(tmp_path: Path) -> None:
    """A sound written and read again is the same sound."""
    path = tmp_path / "a.wav"
    write_wave(path, Sound(16000, SAMPLES))

    assert Sound(16000, SAMPLES) == read_sound_file(path)


@pytest.mark.parametrize(("kind", "order"), [(b"AIFF", ">"), (b"AIFC", ">"), (b"AIFC", "<")])
def test_aiff_files_of_both_byte_orders_are_read(kind: bytes, order: str) -> None:
    """AIFF and AIFF-C, big and little end first, give the same samples and the rate of their extended number."""

    assert Sound(22050, SAMPLES) == read_sound(_aiff(kind, order))


def test_two_channels_become_one(tmp_path: Path) -> None:
    """A stereo file is mixed to the mean of its channels."""
    path = tmp_path / "stereo.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(array("h", [100, 300, -100, -300]).tobytes())

    assert Sound(8000, array("h", [200, -200])) == read_sound_file(path)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"RIFF", b"RIFF\0\0\0\0WAVE", b"FORM\0\0\0\0AIFF", b"FORM\0\0\0\0AIFFCOMM\0\0\0\x12", b"ID3 not one",
        b"\0" * 100,
    ],
)
def test_what_is_not_a_sound_is_refused_in_one_sentence(data: bytes) -> None:
    """Empty, cut and foreign files raise InputError."""
    with pytest.raises(InputError, match=r"^That (sound file is damaged|is not a sound file).*\.$"):
        read_sound(data)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """A file that is not there is named in the message."""
    with pytest.raises(InputError, match=r"none\.wav cannot be read"):
        read_sound_file(tmp_path / "none.wav")


@given(st.binary(max_size=200))
def test_no_bytes_crash_the_reader(data: bytes) -> None:
    """Any bytes after a good beginning give a sound or an InputError."""
    for head in (b"RIFF\x24\0\0\0WAVE", b"FORM\0\0\0\x24AIFF", b"FORM\0\0\0\x24AIFC"):
        try:
            read_sound(head + data)
        except InputError:
            continue


def test_another_rate_keeps_pitch_and_length() -> None:
    """A tone brought from 22050 to 16000 Hz has the same length and the same strongest frequency."""
    sound = tone(Tone.GO).at_rate(16000)

    assert tone(Tone.GO).seconds == pytest.approx(sound.seconds, abs=0.001)
    assert _strongest(tone(Tone.GO)) == pytest.approx(_strongest(sound), rel=0.01)


def test_softer_scales_every_sample() -> None:
    """Half the gain is half of every sample; full gain is the sound itself."""
    sound = Sound(8000, array("h", [100, -200]))

    assert array("h", [50, -100]) == sound.softer(0.5).samples
    assert sound is sound.softer(1.0)


def _strongest(sound: Sound) -> float:
    spectrum = np.abs(np.fft.rfft(np.array(sound.samples, float)))
    return float(np.argmax(spectrum) * sound.rate / len(sound.samples))


@pytest.mark.parametrize("kind", list(Tone))
def test_a_tone_is_short_starts_and_ends_in_silence_and_never_clips(kind: Tone) -> None:
    """Each tone lasts under a second, has no click at either end and stays below full scale."""
    sound = tone(kind)

    assert sound.rate == RATE
    assert 0.2 < sound.seconds < 1.0
    assert (sound.samples[0], sound.samples[-1]) == (0, 0)
    assert 3000 < max(abs(s) for s in sound.samples) < 32767
    assert max(abs(b - a) for a, b in itertools.pairwise(sound.samples[:20])) < 3000


def test_the_stop_tone_carries_its_energy_where_a_danger_signal_should() -> None:
    """At least 90 % of its energy lies between 500 and 2500 Hz, two parts below 1500 (ISO 7731, from memory)."""
    sound = tone(Tone.STOP)
    power = np.abs(np.fft.rfft(np.array(sound.samples, float))) ** 2
    hertz = np.fft.rfftfreq(len(sound.samples), 1 / sound.rate)
    band = power[(hertz >= 500) & (hertz <= 2500)].sum() / power.sum()
    parts = [power[(hertz > f - 40) & (hertz < f + 40)].sum() / power.sum() for f in (800, 1200)]

    assert band > 0.9
    assert min(parts) > 0.1


def test_tones_are_told_apart_by_tune_and_length() -> None:
    """No two tones share their length and their strongest frequency, and "stop" is the loudest."""
    marks = {kind: (round(tone(kind).seconds, 1), round(_strongest(tone(kind)), -1)) for kind in Tone}
    loudest = max(Tone, key=lambda kind: tone(kind).loudness)

    assert len(Tone) == len(set(marks.values()))
    assert Tone.STOP is loudest
