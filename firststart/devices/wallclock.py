"""The wall clock: the only reader of the real time."""

from __future__ import annotations

import time
from datetime import UTC, datetime


class WallClock:
    """Time of day in UTC, steady seconds, and real sleep."""

    def now(self) -> datetime:
        return datetime.now(UTC)

    def monotonic(self) -> float:
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        time.sleep(seconds)
