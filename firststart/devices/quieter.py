"""Takes steady noise off a sound: what each band held before is taken off it (spectral subtraction). Pure arithmetic.

After S. F. Boll, "Suppression of acoustic noise in speech using spectral subtraction", IEEE Transactions on Acoustics,
Speech and Signal Processing 27, 1979, 113-120. Something of each band is always left, since holes sound like speech.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from firststart.devices.endpoint import BLOCK, SECONDS, Block

Floats = npt.NDArray[np.float32]
_Wide = npt.NDArray[np.float64]

_LEARNS, _KNOWS = 0.08, 0.02  # of the way that the known noise goes with each block, in the first second and later
_MOST = 4.0  # times the known noise: more in a band is not noise, and is not learnt whole
_WATCHED, _KEPT = 0.2, 0.25  # of a band that is always left: for the detector of speech, and for the recogniser
_OVER = 1.5  # times the noise is taken off for the recogniser: of what was tried on 149 answers the best
_FRAME, _STEP = 512, 256  # samples that are looked at together, and from one look to the next
_LEAST_LEAD, _BEGINS = 4, 2  # blocks of noise that must be known, and those in which the speech may have begun


class Quieter:
    """A sound block by block, as it comes; what comes out is one block late."""

    def __init__(self) -> None:
        self._window = _window(2 * BLOCK)
        self._before = np.zeros(BLOCK)
        self._rest = np.zeros(BLOCK)
        self._noise: _Wide | None = None
        self._blocks = 0

    def feed(self, block: Block) -> Block:
        """The next block, quieter by what was steady up to now."""
        now = block.astype(np.float64)
        spectrum = np.fft.rfft(np.concatenate([self._before, now]) * self._window)
        power = np.abs(spectrum) ** 2
        noise = power if self._noise is None else self._noise
        out = np.fft.irfft(spectrum * _left(power, noise, _WATCHED, 5)) * self._window
        self._noise = noise + self._pace() * (np.minimum(power, _MOST * noise) - noise)
        self._before, whole, self._rest = now, self._rest + out[:BLOCK], out[BLOCK:]
        return np.clip(whole, -32768, 32767).astype(np.int16)

    def _pace(self) -> float:
        self._blocks += 1
        return _LEARNS if self._blocks * SECONDS < 1.0 else _KNOWS


def quieter(samples: Floats, lead: int) -> Floats:
    """An utterance without the noise that its first `lead` blocks hold alone; as it is where they are too few."""
    noise_end = (lead - _BEGINS) * BLOCK
    if lead < _LEAST_LEAD or not samples[:noise_end].any():
        return samples
    window = _window(_FRAME)
    starts = range(0, len(samples) - _FRAME + 1, _STEP)
    spectra = np.fft.rfft(np.array([samples[at:at + _FRAME] for at in starts]) * window)
    power = np.abs(spectra) ** 2
    noise = _OVER * np.convolve(power[: (noise_end - _FRAME) // _STEP + 1].mean(axis=0), np.full(5, 0.2), "same")
    out = np.zeros(len(samples))
    for at, spectrum, each in zip(starts, spectra, power, strict=True):
        out[at:at + _FRAME] += np.fft.irfft(spectrum * _left(each, noise, _KEPT, 3)) * window
    return out.astype(np.float32)


def _left(power: _Wide, noise: _Wide, least: float, smooth: int) -> _Wide:
    """The part of each band that is left."""
    part: _Wide = np.maximum(least, 1.0 - noise / np.maximum(power, 1e-12))
    return np.convolve(part, np.full(smooth, 1.0 / smooth), "same")


def _window(count: int) -> _Wide:
    """Half overlapped and applied twice, it adds up to one."""
    window: _Wide = np.sqrt(np.hanning(count + 1)[:-1])
    return window
