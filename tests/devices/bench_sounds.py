"""Voices and noises for measuring the ears: synthesised speech of every kind that can be had here, and garage noise.

espeak comes with the package; flite and festival are used when they are installed; recordings when a folder of them is
given. All noise is synthesised.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from firststart.devices.sound import read_sound_file, write_wave
from firststart.devices.synth import Synth, VoiceOptions

Floats = npt.NDArray[np.float64]
RATE = 16000
LEAD = 0.7  # seconds of noise before the speech
SPEECH = 0.05  # root mean square of the speech, -26 dB of full scale


@dataclass(frozen=True)
class Voice:
    """A kind of voice and its name."""

    kind: str
    name: str


# -- voices --------------------------------------------------------------------------------------------------


def voices(recordings: Path | None) -> list[Voice]:
    """Every voice that can be had here."""
    found = [Voice("espeak", name) for name in ("en-us", "en-gb", "en-us+f2", "en-gb-scotland+m3")]
    if shutil.which("flite"):
        found += [Voice("flite", name) for name in ("kal16", "rms", "slt", "awb")]
    if shutil.which("text2wave"):
        names = {"voice_kal_diphone", "voice_ked_diphone", "voice_cmu_us_slt_arctic_hts"}
        have = {path.name for path in Path("/usr/share/festival/voices").glob("*/*")}
        found += [Voice("festival", name) for name in sorted(names) if name.removeprefix("voice_") in have]
    if recordings is not None:
        found += [Voice("recorded", path.name) for path in sorted(recordings.iterdir()) if path.is_dir()]
    return found


class Speaker:
    """Says phrases in many voices, and keeps the sounds in a folder."""

    def __init__(self, cache: Path, recordings: Path | None) -> None:
        self._cache, self._recordings = cache, recordings
        self._synths: dict[str, Synth] = {}

    def say(self, voice: Voice, phrase: str) -> Floats | None:
        """The phrase as floats at 16 kHz without silence around it; None when this voice has no recording of it."""
        path = self._path(voice, phrase)
        if voice.kind == "recorded":
            if not path.exists():
                return None
        elif not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            self._make(voice, phrase, path)
        sound = read_sound_file(path)
        wanted = np.arange(int(len(sound.samples) * RATE / sound.rate)) * sound.rate / RATE
        samples = np.interp(wanted, np.arange(len(sound.samples)), np.array(sound.samples, float)) / 32768.0
        loud = np.nonzero(np.abs(samples) > 0.02 * np.abs(samples).max())[0]
        return samples[loud[0]:loud[-1] + 1] if len(loud) else None

    def close(self) -> None:
        for synth in self._synths.values():
            synth.close()

    def _path(self, voice: Voice, phrase: str) -> Path:
        name = "-".join(re.findall(r"[a-z0-9]+", phrase.lower()))
        folder = self._recordings if voice.kind == "recorded" and self._recordings else self._cache / voice.kind
        return folder / voice.name / f"{name}.wav"

    def _make(self, voice: Voice, phrase: str, path: Path) -> None:
        if voice.kind == "espeak":
            if voice.name not in self._synths:
                self._synths[voice.name] = Synth(VoiceOptions(voice=voice.name))
            write_wave(path, self._synths[voice.name].speech(phrase))
        elif voice.kind == "flite":
            subprocess.run(["flite", "-voice", voice.name, "-t", phrase, "-o", str(path)], check=True)
        else:
            subprocess.run(
                ["text2wave", "-eval", f"({voice.name})", "-o", str(path)], input=phrase, text=True, check=True,
                stderr=subprocess.DEVNULL,
            )  # fmt: skip


# -- noise ---------------------------------------------------------------------------------------------------


def _shaped(count: int, rng: np.random.Generator, slope: float) -> Floats:
    """Noise whose power falls with frequency to the power of `slope`."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 20.0)
    return np.fft.irfft(spectrum * hertz ** (-slope / 2), count)


def brown(count: int, rng: np.random.Generator) -> Floats:
    """Rumble."""
    return _shaped(count, rng, 2.0)


def pink(count: int, rng: np.random.Generator) -> Floats:
    """Wind, a fan, a road."""
    return _shaped(count, rng, 1.0)


def engine(count: int, rng: np.random.Generator) -> Floats:
    """A four-cylinder four-stroke engine at a 900 r p m idle: firing pulses with their harmonics, and exhaust noise."""
    t = np.arange(count) / RATE
    firing = 900 / 60 * 2 * (1 + 0.01 * np.sin(2 * np.pi * 0.7 * t))
    phase = 2 * np.pi * np.cumsum(firing) / RATE
    pulses = sum(np.sin(k * phase + rng.uniform(0, 6.28)) / k for k in range(1, 30))
    breath = pink(count, rng)
    return pulses / np.std(pulses) + 0.6 * breath / np.std(breath) * (1 + 0.6 * np.sin(phase))


def compressor(count: int, rng: np.random.Generator) -> Floats:
    """A workshop air compressor: hum of a motor, clatter of valves at 24 a second, hiss."""
    t = np.arange(count) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * t + rng.uniform(0, 6.28)) / k for k in (1, 2, 3, 4, 6, 8))
    hiss = _shaped(count, rng, 0.3)
    clatter = hiss * np.exp(-((t * 24) % 1.0) * 6)
    return hum / np.std(hum) + 1.2 * clatter / np.std(clatter) + 0.4 * hiss / np.std(hiss)


def starter(count: int, rng: np.random.Generator) -> Floats:
    """A starter turning a four-cylinder engine at 250 r p m: gear whine and noise, swelling with each compression."""
    t = np.arange(count) / RATE
    strokes = 250 / 60 * 2
    load = 1 + 0.5 * np.cos(2 * np.pi * strokes * t)
    sway = 1.5 * np.sin(2 * np.pi * strokes * t)
    whine = sum(np.sin(2 * np.pi * f * t + sway) for f in (430.0, 860.0, 1290.0, 2150.0))
    noise = pink(count, rng)
    return load * (whine / np.std(whine) + 0.8 * noise / np.std(noise))


NOISES = {"brown": brown, "pink": pink, "engine": engine, "compressor": compressor, "starter": starter}


def mixed(speech: Floats, noise: str | None, ratio: float, rng: np.random.Generator, room: bool = False) -> Floats:
    """`speech` with silence or noise around and under it, `ratio` dB of full-band power, speech at -26 dBFS."""
    lead, tail = int(LEAD * RATE), int(1.1 * RATE)
    if room:
        speech = _in_a_room(speech, rng)
    active = speech[np.abs(speech) > 0.03 * np.abs(speech).max()]
    speech = speech * (SPEECH / np.sqrt(np.mean(active**2)))
    out = np.concatenate([np.zeros(lead), speech, np.zeros(tail)])
    hiss = rng.standard_normal(len(out)) * 1e-4
    if noise is None:
        return out + hiss
    sound = NOISES[noise](len(out), rng)
    return out + hiss + sound / np.sqrt(np.mean(sound**2)) * SPEECH * 10 ** (-ratio / 20)


def _in_a_room(speech: Floats, rng: np.random.Generator) -> Floats:
    """Half a second of reverberation, as in a bare garage."""
    tail = rng.standard_normal(int(0.5 * RATE)) * np.exp(-np.arange(int(0.5 * RATE)) / RATE * 13.8)
    tail *= 0.25 / np.sqrt(np.sum(tail**2)) * 2
    tail[0] = 1.0
    return np.convolve(speech, tail)


def blocks(samples: Floats) -> Iterator[npt.NDArray[np.int16]]:
    """The sound as a microphone gives it."""
    whole = np.clip(samples * 32767, -32768, 32767).astype(np.int16)
    for at in range(0, len(whole) - 511, 512):
        yield whole[at:at + 512]


@dataclass(frozen=True)
class Crank:
    """The sound of a crank, between which seconds "stop" is said, and in which blocks the tool itself speaks."""

    sound: Floats
    began: float
    ended: float
    own: tuple[bool, ...]


def cranking_with_stop(
    speaker: Speaker, voice: Voice, ratio: float, counting: bool, rng: np.random.Generator, late: float = 0.0
) -> Crank:
    """A starter all through, "stop" after 3 s, perhaps a count, half as loud, which the loudspeaker gives `late`
    seconds later than the tool knows."""
    stop = speaker.say(voice, "stop")
    assert stop is not None
    out, own = np.zeros(6 * RATE), np.zeros(6 * RATE, bool)
    level = 0.05 / np.sqrt(np.mean(stop[np.abs(stop) > 0.03 * np.abs(stop).max()] ** 2))
    begin = int(rng.uniform(3.0, 4.0) * RATE)
    out[begin:begin + len(stop)] += stop * level
    for second, word in enumerate(("one", "two", "three", "four", "five"), 1) if counting else ():
        said = speaker.say(Voice("espeak", "en-us"), word)
        assert said is not None
        at = int((second + late) * RATE)
        out[at:at + len(said)] += (said * 0.05 / np.sqrt(np.mean(said**2)) * 0.5)[: len(out) - at]
        known = second * RATE - 640  # the tool is busy from 40 ms before its sound is in the air
        own[known:known + len(said) + 960] = True
    noise = starter(len(out), rng)
    out += noise / np.sqrt(np.mean(noise**2)) * 0.05 * 10 ** (-ratio / 20)
    spoken = tuple(bool(own[at:at + 512].any()) for at in range(0, len(out) - 511, 512))
    return Crank(out, begin / RATE, (begin + len(stop)) / RATE, spoken)
