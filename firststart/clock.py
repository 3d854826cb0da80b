"""Time as an argument: the `Clock` protocol and a clock that only moves when told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """What the bench needs of time. The wall clock lives in `devices/`."""

    def now(self) -> datetime:
        """The time of day, aware, in UTC."""
        ...

    def monotonic(self) -> float:
        """Seconds that never run backwards."""
        ...

    def sleep(self, seconds: float) -> None:
        """Let that many seconds pass."""
        ...


class SimulatedClock:
    """A clock for tests and rehearsals. It reads nothing; it moves only by `sleep` and `set`."""

    def __init__(self, start: datetime | None = None) -> None:
        self._now = start or datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
        self._monotonic = 0.0

    def now(self) -> datetime:
        return self._now

    def monotonic(self) -> float:
        return self._monotonic

    def sleep(self, seconds: float) -> None:
        if seconds < 0:
            raise ValueError(f"cannot sleep {seconds} s: time does not run backwards here")
        self._now += timedelta(seconds=seconds)
        self._monotonic += seconds

    def set(self, moment: datetime) -> None:
        """Set the time of day as a person would set a wall clock; `monotonic` is untouched."""
        self._now = moment
