"""Keeps the sound around a crank: some seconds before it, all of it, and a moment after; nothing of other times.

The seconds before are needed to know how loud the room is without the starter; they are overwritten as time goes on.
"""

from __future__ import annotations

import threading
from collections import deque

import numpy as np

from firststart.devices.endpoint import SECONDS, Block

BEFORE, AFTER = 3.0, 2.0
"""Seconds kept from before the crank began and from after it was said to have ended."""

MOST = 90.0
"""Seconds after which a crank is no longer kept: no starter may turn so long."""


class Overhearing:
    """Fed by one thread, read by another."""

    def __init__(self) -> None:
        self._before: deque[Block] = deque(maxlen=round(BEFORE / SECONDS))
        self._kept: list[Block] = []
        self._left = 0  # blocks still to be kept after the end; 0 while there is no crank
        self._whole: Block | None = None
        self._lock = threading.Lock()

    def feed(self, block: Block, turning: bool) -> None:
        """One block, and whether the starter is counted now."""
        if turning or self._left:
            if not self._kept:
                self._kept = list(self._before)
            self._kept.append(block)
            self._left = round(AFTER / SECONDS) if turning else self._left - 1
            if not self._left or len(self._kept) * SECONDS > MOST:
                with self._lock:
                    self._whole = np.concatenate(self._kept)
                self._kept, self._left = [], 0
                self._before.clear()
        else:
            self._before.append(block)

    def taken(self) -> Block | None:
        """The sound of the newest crank once it is whole; each is given once."""
        with self._lock:
            whole, self._whole = self._whole, None
        return whole
