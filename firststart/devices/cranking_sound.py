"""Cranking heard: how long the starter turned and how fast, from the sound of the compression strokes. Pure arithmetic.

Every compression stroke slows the starter and swells its noise, so the loudness beats with them: on a four-stroke
engine cylinders / 2 times in a revolution, on a two-stroke engine once for each cylinder. The beat is found by
autocorrelation of the loudness; the beginning and the end by the jump in level.

A steady noise can beat as well (a compressor does), so nothing is reported without the jump. The method was tried on
synthesised cranking only. It is a measurement to look at beside the counted seconds, never a guard.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from firststart.devices.sound import read_sound_file
from firststart.errors import InputError
from firststart.units import in_range

Floats = npt.NDArray[np.float64]

_STEP = 0.005  # seconds between values of the loudness
_BAND = (200.0, 4000.0)  # hertz; below it rooms and hands, above it hiss
_SMOOTH = 30.0  # hertz; faster changes of loudness are the tone itself
_EDGE = 0.2  # seconds over which level is averaged to find beginning and end
_LEAST_CONTRAST = 6.5  # decibels between cranking and the rest
_LEAST_SECONDS = 1.0
_MOST_SAMPLES = 180 * 48_000  # of a recording: all of it is held several times over while it is worked on
_SLOWEST, _FASTEST = 50.0, 600.0  # rpm that a starter, a cord or a hand can reach
_WINDOW = 1.5  # seconds, at least
_SHORTEST_PEAK = 0.85  # of the best peak; a lower one is a part of the beat
_LEAST_BEAT = 0.25  # height of the beat in the autocorrelation
_EVEN_LEAST = 0.02  # standard uncertainty of the evenness at best: the swing of a stroke is read in steps of 5 ms
_STEADY = 0.15  # how far a window's beat may lie from the usual one; more than half of all windows must agree


@dataclass(frozen=True)
class CrankingSound:
    """What was heard. Each `..._u` is a standard uncertainty (JCGM 100), estimated from the scatter of the windows.

    `began`: seconds from the beginning of the recording. `evenness`: weakest compression stroke over the mean of all,
    1 when all are alike; None for one cylinder or when too little was heard. It says nothing of which cylinder.
    `contrast`: decibels between cranking and the rest.
    """

    seconds: float
    seconds_u: float
    rpm: float
    rpm_u: float
    began: float
    evenness: float | None
    evenness_u: float | None
    contrast: float


def cranking(samples: Floats, rate: int, cylinders: int, strokes: int = 4) -> CrankingSound:
    """Cranking in a recording: `samples` of any scale at `rate` hertz.

    Raises RangeError for impossible arguments, InputError when no cranking can be made out, with what to do.
    """
    in_range(rate, "sample rate", 4000, 400_000, "Hz")
    in_range(cylinders, "cylinders", 1, 24)
    if strokes not in (2, 4):
        raise InputError(f"{strokes} strokes: an engine has 2 or 4.")
    if len(samples) < 2 * rate or not np.isfinite(samples).all() or not samples.any():
        raise InputError("The recording is empty or under two seconds; record from before the crank until after it.")
    if len(samples) > _MOST_SAMPLES:
        raise InputError(f"The recording lasts {len(samples) / rate:.0f} seconds; cut it to one crank and its edges.")
    loudness = _loudness(samples, rate)
    first, last, contrast = _turning(loudness)
    part = loudness[first:last]
    beats = _beats(part, cylinders, strokes)
    per_rev = cylinders / 2 if strokes == 4 else float(cylinders)
    rpm, seconds = 60.0 * float(np.median(beats)) / per_rev, (last - first) * _STEP
    few = 0.25 / (seconds * float(np.median(beats)))  # from a handful of strokes the beat is known badly
    return CrankingSound(
        seconds, _edge_uncertainty(contrast, float(np.median(beats))), rpm,
        float(np.hypot(60.0 * _scatter(beats) / per_rev, few * rpm)), first * _STEP,
        *_evenness(part, float(np.median(beats)), cylinders), contrast,
    )  # fmt: skip


def cranking_in_file(path: Path, cylinders: int, strokes: int = 4) -> CrankingSound:
    """Cranking in a sound file. Raises as `cranking` does, and InputError when the file cannot be read."""
    sound = read_sound_file(path)
    return cranking(np.array(sound.samples, np.float64), sound.rate, cylinders, strokes)


def _loudness(samples: Floats, rate: int) -> Floats:
    """The loudness every 5 ms: band-passed, rectified, smoothed."""
    spectrum = np.fft.rfft(samples)
    low, high = (edge * len(samples) / rate for edge in _BAND)
    spectrum[:math.ceil(low)] = 0.0
    spectrum[math.floor(high) + 1:] = 0.0
    rectified = np.fft.irfft(spectrum, len(samples))
    np.abs(rectified, out=rectified)
    step = int(rate * _STEP)
    count = len(rectified) // step
    coarse = rectified[:count * step].reshape(count, step).mean(axis=1)
    slow = np.fft.rfft(coarse)
    slow[np.fft.rfftfreq(count, _STEP) > _SMOOTH] = 0.0
    return np.fft.irfft(slow, count)


def _turning(loudness: Floats) -> tuple[int, int, float]:
    """(first, last) index of the cranking, and its contrast in decibels. Raises InputError."""
    width = int(_EDGE / _STEP)
    power = np.convolve(np.maximum(loudness, 0.0) ** 2, np.ones(width) / width, mode="same")
    low, high = np.percentile(power[width:-width], [5, 95])
    contrast = 10.0 * float(np.log10(max(high, 1e-30) / max(low, 1e-30)))
    if contrast < _LEAST_CONTRAST:
        raise InputError(
            "No beginning and end of cranking can be heard; record some seconds before and after, nearer the starter."
        )
    runs = _runs(power > low + (high - low) * 0.35, gap=int(0.4 / _STEP))
    first, last = max(runs, key=lambda run: float(power[run[0]:run[1]].sum()))
    level = float(np.median(power[first:last]))
    first, last = _edges(power, first, last, (level + low) / 2)
    if (last - first) * _STEP < _LEAST_SECONDS:
        raise InputError("The cranking heard is under one second, too short to tell its speed; crank a little longer.")
    return first, last, min(contrast, 99.0)


def _runs(loud: npt.NDArray[np.bool_], gap: int) -> list[tuple[int, int]]:
    """Stretches that are loud, joined over gaps shorter than `gap`."""
    runs: list[tuple[int, int]] = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], loud, [False]]).astype(np.int8)))
    for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if runs and begin - runs[-1][1] < gap:
            runs[-1] = (runs[-1][0], end)
        else:
            runs.append((begin, end))
    return runs


def _edges(power: Floats, first: int, last: int, half: float) -> tuple[int, int]:
    """Where the averaged power crosses half its level: for a jump that is the moment of the jump itself."""
    inside = np.flatnonzero(power[first:last] > half)
    return (first + int(inside[0]), first + int(inside[-1]) + 1) if len(inside) else (first, last)


def _edge_uncertainty(contrast: float, beat: float) -> float:
    """Two edges: each is known to a part of the averaging time, of a stroke, and worse when the jump is small."""
    return float(np.sqrt(0.08**2 + (_EDGE / max(contrast, 1.0)) ** 2 + (0.3 / beat) ** 2))


def _beats(loudness: Floats, cylinders: int, strokes: int) -> Floats:
    """The beat in hertz, one for each window that has one. Raises InputError when none has."""
    per_rev = cylinders / 2 if strokes == 4 else float(cylinders)
    slow, fast = _SLOWEST / 60 * per_rev, _FASTEST / 60 * per_rev
    width = min(len(loudness), int(max(_WINDOW, 5.0 / (3 * slow)) / _STEP))
    starts = range(0, max(1, len(loudness) - width + 1), max(1, width // 4))
    found = np.array([beat for at in starts if (beat := _beat(loudness[at:at + width], slow, fast)) is not None])
    close = found[np.abs(found / np.median(found) - 1.0) < _STEADY] if len(found) else found
    if 2 * len(close) <= len(starts):
        raise InputError("Sound is heard, but no beat of compression strokes in it; put the microphone nearer.")
    return close


def _beat(window: Floats, slow: float, fast: float) -> float | None:
    """The rate at which one window repeats itself, between `slow` and `fast` hertz; None when it does not."""
    same = _autocorrelation(window)
    low = max(2, int(1.0 / fast / _STEP))
    high = min(len(same) - 2, int(1.0 / slow / _STEP) + 1)
    peaks = [lag for lag in range(low, high) if same[lag - 1] < same[lag] >= same[lag + 1]]
    best = max((float(same[lag]) for lag in peaks), default=0.0)
    if best < _LEAST_BEAT:
        return None
    lag = next(lag for lag in peaks if same[lag] >= _SHORTEST_PEAK * best)
    return 1.0 / (_refined(same, lag) * _STEP)


def _autocorrelation(window: Floats) -> Floats:
    """Correlation of a window with itself shifted, 1 at no shift, each shift by what it overlaps."""
    count = len(window)
    trend = np.polyval(np.polyfit(np.arange(count), window, 2), np.arange(count))
    spectrum = np.fft.rfft(window - trend, 2 * count)
    raw = np.fft.irfft(np.abs(spectrum) ** 2)[:int(0.75 * count)]
    unbiased: Floats = raw / np.arange(count, count - len(raw), -1)
    return unbiased / max(float(unbiased[0]), 1e-30)


def _refined(same: Floats, lag: int) -> float:
    """The period in steps, from the furthest multiple that still has a clear peak."""
    period = _top(same, lag)
    for many in range(2, 9):
        near = round(many * period)
        reach = max(1, round(0.2 * period))
        if near + reach + 1 >= len(same):
            break
        at = near - reach + int(np.argmax(same[near - reach:near + reach + 1]))
        if same[at] < 0.5 * same[lag] or not same[at - 1] <= same[at] >= same[at + 1]:
            break
        period = _top(same, at) / many
    return period


def _top(same: Floats, lag: int) -> float:
    """The top of a peak between its samples, by a parabola."""
    left, mid, right = (float(same[lag + d]) for d in (-1, 0, 1))
    bend = left - 2 * mid + right
    return lag + (0.5 * (left - right) / bend if bend < 0 else 0.0)


def _scatter(values: Floats) -> float:
    """Standard uncertainty of a median, from the median deviation; windows overlap four times."""
    deviation = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    return 1.25 * deviation / float(max(1.0, np.sqrt(len(values) / 4)))


def _evenness(loudness: Floats, beat: float, cylinders: int) -> tuple[float | None, float | None]:
    """Weakest stroke over the mean, each stroke's swing averaged over two cycles, and its standard uncertainty.

    None and None when it cannot be told.
    """
    if cylinders == 1:
        return None, None
    period = 1.0 / beat / _STEP
    cycle = cylinders * period
    found = []
    for at in np.arange(0.0, len(loudness) - 2 * cycle, cycle):
        swings = np.zeros(cylinders)
        for turn in range(2):
            for stroke in range(cylinders):
                begin = int(at + turn * cycle + stroke * period)
                piece = loudness[begin:begin + int(period)]
                swings[stroke] += float(piece.max() - piece.min())
        found.append(float(swings.min() / swings.mean()))
    if len(found) < 3:
        return None, None
    middle = float(np.median(found))
    scatter = 1.4826 * float(np.median(np.abs(np.array(found) - middle)))
    return middle, max(1.25 * scatter / float(np.sqrt(len(found) / 2)), _EVEN_LEAST)  # cycles overlap by half
