"""Cranking seconds and speed from sound, on synthesised cranking (no recording of a real starter was at hand)."""

from __future__ import annotations

from array import array
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from firststart.devices.cranking_sound import cranking, cranking_in_file
from firststart.devices.sound import Sound, write_wave
from firststart.errors import InputError, RangeError

Floats = npt.NDArray[np.float64]
RATE = 16000


def cranked(
    rpm: float, cylinders: int, seconds: float, *, strokes: int = 4, ratio: float = 15.0, weak: float = 1.0,
    rate: int = RATE, seed: int = 1, lead: float = 1.0,
) -> Floats:  # fmt: skip
    """A starter running up and turning an engine: gear whine and noise that swell with each compression, in a rumble.

    `weak`: how strong the second cylinder's compression is. `ratio`: dB above the rumble.
    """
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    per_rev = cylinders / 2 if strokes == 4 else cylinders
    strokes_said = 2 * np.pi * np.cumsum(rpm * (1 - np.exp(-t / 0.1)) / 60 * per_rev) / rate
    sag = 1 - 0.06 * np.cos(strokes_said)
    phase = 2 * np.pi * np.cumsum(rpm * (1 - np.exp(-t / 0.1)) * sag / 60 * per_rev) / rate
    each = np.ones(cylinders)
    each[min(1, cylinders - 1)] = weak
    load = 1 + 0.6 * np.cos(phase) * each[np.floor(phase / (2 * np.pi)).astype(int) % cylinders]
    gear = 90 / per_rev * phase
    sound = load * (np.sin(gear) + 0.5 * np.sin(2 * gear) + 0.7 * rng.standard_normal(len(t)))
    whole = np.concatenate([np.zeros(int(lead * rate)), sound / sound.std(), np.zeros(rate)])
    spectrum = np.fft.rfft(rng.standard_normal(len(whole))) / np.maximum(np.fft.rfftfreq(len(whole), 1 / rate), 20.0)
    rumble = np.fft.irfft(spectrum, len(whole))
    hiss = rng.standard_normal(len(whole)) * 0.5
    noise = rumble / rumble.std() + hiss
    return whole + noise / noise.std() * 10 ** (-ratio / 20)


@pytest.mark.parametrize("cylinders", [1, 2, 3, 4, 6])
@pytest.mark.parametrize(("rpm", "seconds", "ratio"), [(150.0, 5.0, 20.0), (280.0, 3.0, 10.0)])
def test_speed_and_time_are_found(cylinders: int, rpm: float, seconds: float, ratio: float) -> None:
    """Within 3 % and 0.3 s of the truth, and within three standard uncertainties, at 10 and 20 dB."""
    heard = cranking(cranked(rpm, cylinders, seconds, ratio=ratio), RATE, cylinders)

    assert rpm == pytest.approx(heard.rpm, rel=0.03)
    assert abs(heard.rpm - rpm) < 3 * heard.rpm_u
    assert seconds == pytest.approx(heard.seconds, abs=0.3)
    assert abs(heard.seconds - seconds) < 3 * heard.seconds_u
    assert pytest.approx(heard.began, abs=0.3) == 1.0


def test_a_two_stroke_has_a_beat_for_each_cylinder_in_each_turn() -> None:
    """The same beat means half the speed on a two-stroke."""
    heard = cranking(cranked(240.0, 2, 4.0, strokes=2), RATE, 2, strokes=2)

    assert pytest.approx(heard.rpm, rel=0.03) == 240.0


def test_the_sample_rate_does_not_matter() -> None:
    """At 44,100 Hz the answer is the same."""

    assert pytest.approx(cranking(cranked(220.0, 4, 4.0, rate=44100), 44100, 4).rpm, rel=0.02) == 220.0


def test_a_weak_cylinder_lowers_the_evenness() -> None:
    """A cylinder at 35 % reads far less even than a sound engine, in twelve recordings of each."""
    def evenness(weak: float) -> list[float]:
        found = [cranking(cranked(220.0, 4, 6.0, weak=weak, seed=seed), RATE, 4).evenness for seed in range(12)]
        return [value for value in found if value is not None]

    sound, worn = evenness(1.0), evenness(0.35)

    assert (len(sound), len(worn)) == (12, 12)
    assert min(sound) > 0.85
    assert max(worn) < 0.8


def test_one_cylinder_has_no_evenness() -> None:
    """There is nothing to compare with."""

    assert cranking(cranked(250.0, 1, 5.0), RATE, 1).evenness is None


def _steady_beat() -> Floats:
    """A compressor that beats 8 times a second from beginning to end."""
    t = np.arange(8 * RATE) / RATE
    return (1 + 0.8 * np.cos(2 * np.pi * 8 * t)) * np.random.default_rng(1).standard_normal(len(t))


def _one_bang() -> Floats:
    out = np.random.default_rng(1).standard_normal(5 * RATE) * 0.01
    out[2 * RATE:2 * RATE + 4000] += np.random.default_rng(2).standard_normal(4000)
    return out


def _steady_jump() -> Floats:
    out = np.random.default_rng(1).standard_normal(8 * RATE) * 0.01
    out[2 * RATE:6 * RATE] *= 100
    return out


@pytest.mark.parametrize(
    ("samples", "sentence"),
    [
        (_steady_beat(), "No beginning and end of cranking can be heard"),
        (np.random.default_rng(1).standard_normal(5 * RATE), "No beginning and end of cranking can be heard"),
        (_one_bang(), "under one second"),
        (_steady_jump(), "no beat of compression strokes"),
        (np.zeros(5 * RATE), "empty or under two seconds"),
        (np.ones(RATE), "empty or under two seconds"),
        (np.array([]), "empty or under two seconds"),
        (np.full(5 * RATE, np.nan), "empty or under two seconds"),
        (np.broadcast_to(1.0, 10**7), "lasts 625 seconds; cut it"),
    ],
)  # fmt: skip
def test_what_is_no_cranking_is_refused(samples: Floats, sentence: str) -> None:
    """A compressor, hiss, a bang, silence and broken samples give one sentence, never a number."""
    with pytest.raises(InputError, match=sentence):
        cranking(samples, RATE, 4)


@pytest.mark.parametrize(("rate", "cylinders", "strokes"), [(0, 4, 4), (RATE, 0, 4), (RATE, 99, 4), (RATE, 4, 3)])
def test_impossible_engines_are_refused(rate: int, cylinders: int, strokes: int) -> None:
    """No rate, no cylinders, a three-stroke: refused before any arithmetic."""
    with pytest.raises((InputError, RangeError)):
        cranking(np.ones(5 * RATE), rate, cylinders, strokes)


def test_a_file_is_read(tmp_path: Path) -> None:
    """The same from a WAV file."""
    samples = cranked(220.0, 4, 4.0)
    path = tmp_path / "cranking.wav"
    write_wave(path, Sound(RATE, array("h", (samples / np.abs(samples).max() * 30000).astype(np.int16).tolist())))

    assert pytest.approx(cranking_in_file(path, 4).rpm, rel=0.02) == 220.0
