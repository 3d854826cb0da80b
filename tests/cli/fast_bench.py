"""The real bench in a process of its own, on a clock that runs faster: a wait of ten minutes is over in a second.

Run by `test_cli_whole_job.py` as the program at the other end of a pseudo-terminal.
"""

from __future__ import annotations

import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from firststart.cli import bench, main
from firststart.journal.sqlite import SqliteJournal

FACTOR = 400.0


class FastClock:
    """A wall clock that runs `FACTOR` times as fast, from the newest entry of the record on."""

    def __init__(self, start: datetime) -> None:
        self._start, self._began = start, time.monotonic()

    def now(self) -> datetime:
        return self._start + timedelta(seconds=self.monotonic())

    def monotonic(self) -> float:
        return (time.monotonic() - self._began) * FACTOR

    def sleep(self, seconds: float) -> None:
        time.sleep(seconds / FACTOR)


def newest(home: Path) -> datetime:
    """The time of the newest entry, or now when there is none."""
    path = home / "record.db"
    if not path.is_file():
        return datetime.now(UTC)
    journal = SqliteJournal(path, write=False)
    times = [line.newest for line in journal.jobs()]
    journal.close()
    return max(times, default=datetime.now(UTC))


if __name__ == "__main__":
    clock = FastClock(newest(Path(sys.argv[sys.argv.index("--home") + 1])))
    bench.wall_clock = lambda: clock  # type: ignore[assignment]
    sys.exit(main(sys.argv[1:]))
