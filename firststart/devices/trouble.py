"""What is wrong with what the microphone gives: nothing, only zeros, too loud, talk without end. Pure.

Each trouble is told once, and again only after it had gone away.
"""

from __future__ import annotations

import numpy as np

from firststart.devices.endpoint import SECONDS, Block

_DEAD = 5.0  # seconds of exact zeros: a real microphone always has some noise
_ENDLESS = 15.0  # seconds of speech without a pause
_CLIPPED = 0.02  # share of samples at full scale in a block
_SHOUTS = 6  # blocks too loud within one utterance


class Trouble:
    """Watches blocks; gives a clause for the person when something is wrong."""

    def __init__(self) -> None:
        self._told: set[str] = set()
        self._zero = self._talk = 0.0
        self._loud = 0

    def lost(self) -> str | None:
        """The microphone gives nothing at all."""
        return self._tell("lost", "The microphone no longer answers")

    def feed(self, block: Block, speaking: bool, deaf: bool = False) -> str | None:
        """One block, whether an utterance is going on, and whether the ears are shut on purpose."""
        self._told.discard("lost")
        self._zero = 0.0 if block.any() else self._zero + SECONDS
        if self._zero >= _DEAD:
            return self._tell("dead", "The microphone gives only silence, so it may be muted")
        if self._zero == 0.0:
            self._told.discard("dead")
        return None if deaf else self._talking(block, speaking)

    def _talking(self, block: Block, speaking: bool) -> str | None:
        if not speaking:
            self._talk, self._loud = 0.0, 0
            self._told -= {"endless", "loud"}
            return None
        self._talk += SECONDS
        if float(np.mean(np.abs(block.astype(np.int32)) >= 32700)) > _CLIPPED:
            self._loud += 1
        if self._loud >= _SHOUTS:
            return self._tell("loud", "The voice is too loud for the microphone, so speak softer or turn it down")
        if self._talk >= _ENDLESS:
            return self._tell("endless", "There is talk or music without a pause, so nothing can be understood")
        return None

    def _tell(self, name: str, sentence: str) -> str | None:
        if name in self._told:
            return None
        self._told.add(name)
        return sentence
