"""A loud voice while the starter turns, whatever it says: heard sooner and in more noise than a word. Pure arithmetic.

Going on costs more than stopping for nothing, so while a crank is counted any voice but the tool's own means stop. The
starter's own sound is steady beside a voice, so it is taken off (`quieter`) before the detector of speech looks. While
the tool counts aloud into its own ears, a voice shows by being louder than the count alone was before.

The limits were set on synthesised voices in synthesised starter noise: read them as a start.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from firststart.devices.endpoint import SECONDS, Block
from firststart.devices.quieter import Quieter

VOICED = 0.5
"""Probability of speech in a block that counts as voice."""

LASTS = 5
"""Blocks of voice, nearly in a row, that are a shout: 0.16 s."""

_ARMED = 0.5  # seconds of a crank before which its own sound is not known well enough
_ECHO = 3  # blocks after the tool's own words in which their echo may still be heard
_ONSET = 2  # blocks from the beginning of a word until the detector is sure of it
_LATEST = 10  # blocks, 0.3 s: how late a loudspeaker without a wire may be
_UNHEARD = 20  # blocks after which a word that is not heard will not be heard
_LOUDER = 3.0  # decibels above the count alone: somebody shouts through it
_GAP = 2  # blocks without voice that end a row


class Shout:
    """Watches one crank after another. `detector`: the probability that a block is speech; `reset` forgets.

    Some loudspeakers are late. How late is learnt from the tool's own words, which are heard that long after it knows
    that it speaks; until one was heard, or passed without being heard at all, the latest that is usual is taken.
    """

    def __init__(self, detector: Callable[[Block], float], reset: Callable[[], None]) -> None:
        self._detector, self._reset = detector, reset
        self._lags: list[int] = []  # blocks from the beginning of the newest own words to their being heard
        self.begin()

    def begin(self) -> None:
        """The starter begins to turn."""
        self._quieter = Quieter()
        self._reset()
        self._blocks, self._voiced, self._gap, self._echo = 0, 0, 0, 0
        self._levels: list[float] = []
        self._own: list[float] = []
        self._count: float | None = None  # loudness of the tool's own count, decibels
        self._word: int | None = None  # blocks since the tool began its newest word; None when that was heard

    def feed(self, block: Block, own: bool) -> bool:
        """One block, and whether the tool speaks now: is this a shout?"""
        self._blocks += 1
        voiced = self._detector(self._quieter.feed(block)) > VOICED
        self._levels = [*self._levels[-2:], float(np.mean(np.square(block.astype(np.float64)))) + 1.0]
        self._learn(own, voiced)
        self._echo = _ECHO + self._late() + 1 if own else max(0, self._echo - 1)
        if self._blocks * SECONDS < _ARMED:
            return False
        return self._over_the_count(voiced) if self._echo else self._alone(voiced)

    def _late(self) -> int:
        return max(self._lags, default=_LATEST)

    def _learn(self, own: bool, voiced: bool) -> None:
        """How long after its beginning a word of the tool's is heard; one that is not heard at all is not late. The
        tone for go, at the beginning, is no word."""
        if own and not self._echo and self._blocks * SECONDS >= _ARMED:
            self._word = 0
        elif self._word is not None:
            self._word += 1
        if self._word is not None and (voiced or self._word >= _UNHEARD):
            lag = max(0, self._word - _ONSET) if voiced else 0
            self._lags, self._word = [*self._lags[-2:], min(lag, _LATEST)], None

    def _alone(self, voiced: bool) -> bool:
        """Outside the tool's own words: is there a voice for long enough?"""
        if self._own:
            loudest, self._own = max(self._own), []
            self._count = loudest if self._count is None else max(loudest, self._count)
        self._gap = 0 if voiced else self._gap + 1
        self._voiced = 0 if self._gap >= _GAP else self._voiced + voiced
        return self._found(self._voiced >= LASTS)

    def _over_the_count(self, voiced: bool) -> bool:
        """Within the tool's own words: is it louder than they were alone?"""
        self._voiced = 0
        if not voiced:
            return False
        level = 10.0 * float(np.log10(np.mean(self._levels)))
        self._own.append(level)
        return self._found(self._count is not None and level > self._count + _LOUDER)

    def _found(self, found: bool) -> bool:
        if found:
            self._voiced, self._own = 0, []
        return found
