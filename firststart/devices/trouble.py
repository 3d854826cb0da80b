"""What is wrong with what the microphone gives: nothing, only zeros, too loud, talk without end. Pure.

Each trouble is told once, and again only after it had gone away.
"""

from __future__ import annotations

import numpy as np

from firststart.devices.endpoint import SECONDS, Block

_DEAD = 5.0  # seconds of exact zeros: a real microphone always has some noise
_ENDLESS = 15.0  # seconds of speech that came to nothing, more than pauses take off again
_PAUSE = 2.0  # seconds of talk that a second of pause takes off
_CLIPPED = 0.02  # share of samples at full scale in a block
_SHOUTS = 6  # blocks too loud within one stretch of talk
_NOISY, _QUIET = -30.0, -34.0  # dB of full scale: at the first nobody is heard over it, below the second it is over
_LASTS = 15.0  # seconds for which the noise must last; no starter turns so long
_SLOW = 0.02  # of the way that the noise level goes with each block


class Trouble:
    """Watches blocks; gives a clause for the person when something is wrong."""

    def __init__(self) -> None:
        self._told: set[str] = set()
        self._zero = self._talk = self._loud_for = 0.0
        self._noise: float | None = None
        self._loud = 0

    def lost(self) -> str | None:
        """The microphone gives nothing at all."""
        return self._tell("lost", "The microphone no longer answers")

    def feed(self, block: Block, speaking: bool, deaf: bool = False, heard: bool = False) -> str | None:
        """One block, whether an utterance is going on, whether the ears are shut on purpose, and whether something
        was understood just now."""
        self._told.discard("lost")
        self._zero = 0.0 if block.any() else self._zero + SECONDS
        if self._zero >= _DEAD:
            return self._tell("dead", "The microphone gives only silence, so it may be muted")
        if self._zero == 0.0:
            self._told.discard("dead")
        if deaf:
            return None
        return self._talking(block, speaking, heard) or self._noisy(block, speaking)

    def _talking(self, block: Block, speaking: bool, heard: bool) -> str | None:
        self._talk = 0.0 if heard else max(0.0, self._talk + (SECONDS if speaking else -_PAUSE * SECONDS))
        if self._talk == 0.0:
            self._loud = 0
            self._told -= {"endless", "loud"}
            return None
        if speaking and float(np.mean(np.abs(block.astype(np.int32)) >= 32700)) > _CLIPPED:
            self._loud += 1
        if self._loud >= _SHOUTS:
            return self._tell("loud", "The voice is too loud for the microphone, so speak softer or turn it down")
        if self._talk >= _ENDLESS:
            return self._tell("endless", "There is talk or music without a pause, so nothing can be understood")
        return None

    def _noisy(self, block: Block, speaking: bool) -> str | None:
        """A room so loud for so long that nobody can be heard in it."""
        if speaking:
            return None
        power = float(np.mean(np.square(block.astype(np.float64)))) / 32768.0**2
        level = 10.0 * float(np.log10(max(power, 1e-10)))
        self._noise = level if self._noise is None else self._noise + _SLOW * (level - self._noise)
        if self._noise < _QUIET:
            self._loud_for = 0.0
            self._told.discard("noisy")
        self._loud_for += SECONDS if self._noise > _NOISY else 0.0
        if self._loud_for < _LASTS:
            return None
        return self._tell("noisy", "It is too loud here to hear you, so use a headset or come nearer")

    def _tell(self, name: str, sentence: str) -> str | None:
        if name in self._told:
            return None
        self._told.add(name)
        return sentence
