"""Where an utterance begins, pauses and ends, from the probability of speech in each block. Pure.

A pause is told early, so that the recogniser can work while the end is still waited for; when the person goes on
speaking, the early result is thrown away.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import Enum

import numpy as np
import numpy.typing as npt

Block = npt.NDArray[np.int16]

RATE = 16000
BLOCK = 512
"""Samples in a block: what the detector of speech takes at a time, 32 ms."""

SECONDS = BLOCK / RATE

ONSET, HOLD = 0.5, 0.35
"""Probability that begins speech, and that still counts as speech."""

_BEFORE = 8  # blocks kept from before the onset, 0.26 s: the soft beginning of a word
_AFTER = 4  # blocks of silence kept at the end, 0.13 s
_LEAST = 2  # blocks of speech; shorter is a click


class Mark(Enum):
    """What happened."""

    PAUSE = "pause"
    END = "end"
    CUT = "cut"


@dataclass(frozen=True)
class Stretch:
    """Sound from a little before an utterance to a little after.

    `silence`: seconds since the speech stopped. `speech`: seconds of speech in it, pauses left out. `lead`: blocks at
    its beginning that came before the speech.
    """

    mark: Mark
    samples: Block
    silence: float
    speech: float
    lead: int = 0


@dataclass(frozen=True)
class Patience:
    """How long an endpointer waits, in seconds: of silence for a `pause` and for the end (`hang`), of speech for a cut
    (`longest`). `overlap`: how much of a cut utterance is heard again as the beginning of the next."""

    pause: float = 0.16
    hang: float = 0.32
    longest: float = 6.0
    overlap: float = 0.0


class Endpointer:
    """Takes blocks in order; gives a stretch at a pause, at the end, and when an utterance is too long."""

    def __init__(self, patience: Patience | None = None) -> None:
        self._recent: deque[Block] = deque(maxlen=_BEFORE)
        self.tune(patience or Patience())
        self.reset()

    def tune(self, patience: Patience) -> None:
        """Wait like this from now on."""
        self._pause = max(1, round(patience.pause / SECONDS))
        self._hang = max(1, round(patience.hang / SECONDS))
        self._longest, self._overlap = int(patience.longest / SECONDS), int(patience.overlap / SECONDS)

    def reset(self) -> None:
        """Forget what is being said."""
        self._said: list[Block] = []
        self._speech = self._silent = self._lead = 0
        self._ignoring = False
        self._recent.clear()

    @property
    def speaking(self) -> bool:
        """Whether an utterance is going on."""
        return bool(self._said)

    def turn_away(self) -> None:
        """What is being said now belongs to what was asked before: the rest of it is not heard, up to its end."""
        if self._said:
            self._said, self._speech, self._lead, self._ignoring = self._said[-1:], 0, 0, True

    def taken(self) -> None:
        """The utterance was understood at a pause: what still belongs to it is not heard again."""
        self._ignoring = bool(self._said)

    def feed(self, block: Block, chance: float) -> Stretch | None:
        """One block and the probability that it is speech."""
        if not self._said:
            if chance <= ONSET:
                self._recent.append(block)
                return None
            self._said, self._lead = list(self._recent), len(self._recent)
            self._recent.clear()
        self._said.append(block)
        if chance > HOLD:
            self._speech, self._silent = self._speech + 1, 0
        else:
            self._silent += 1
        return self._look()

    def _look(self) -> Stretch | None:
        if self._silent >= self._hang:
            return self._close(Mark.END)
        if len(self._said) > self._longest:
            return self._close(Mark.CUT)
        if self._silent == self._pause and self._speech >= _LEAST and not self._ignoring:
            return self._stretch(Mark.PAUSE)
        return None

    def _close(self, mark: Mark) -> Stretch | None:
        wanted = self._speech >= _LEAST and not self._ignoring
        found = self._stretch(mark) if wanted else None
        kept = self._overlap if mark is Mark.CUT else 0
        tail = self._said[-self._silent:] if self._silent else []
        again = self._said[-kept:] if kept else []
        still, last = self._ignoring and mark is Mark.CUT, self._said[-1:]
        self.reset()
        self._recent.extend(tail)
        self._said, self._speech = again, len(again)
        if still:  # talk that is not heard stays so to its end, however long it is
            self._said, self._speech, self._ignoring = last, 0, True
        return found

    def _stretch(self, mark: Mark) -> Stretch:
        spare = max(0, self._silent - _AFTER)
        blocks = self._said[:len(self._said) - spare]
        return Stretch(mark, np.concatenate(blocks), self._silent * SECONDS, self._speech * SECONDS, self._lead)
