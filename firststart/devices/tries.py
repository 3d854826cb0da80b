"""What earlier tries at the same answer tell: what was read back and refused, and what was nearly heard. Pure.

Somebody who is not understood says the same again. What the ears made of the first try is then worth something: a
reading that was refused is unlikely, and one that was near the front twice is likelier than one that was near it once.
All this only reorders what is asked back: what earlier tries put in front is never accepted without a question.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Key = tuple[str, float]
"""What a reading means: `Reading.key`."""

LASTS = 25.0
"""Seconds for which a try is remembered."""

_REFUSED, _SAID_ANEW = 7.0, 2.5  # nats against a reading that was answered with no, or with the answer said again
_NEAR = 3.0  # nats behind the best that is still near the front
_WEIGHT, _FAR = 0.7, 5.0  # how much an earlier try counts, and how many nats behind its best every other reading is


@dataclass(frozen=True)
class Try:
    """One earlier try: when it was (seconds), and how far behind its best each reading lay (nats, 0 or less)."""

    at: float
    behind: Mapping[Key, float]


@dataclass(frozen=True)
class Tries:
    """The tries at the answer that is still awaited."""

    tries: tuple[Try, ...] = ()
    against: Mapping[Key, float] = field(default_factory=dict)
    asked: Key | None = None  # what the last try was read back as
    said_at: float = 0.0

    def bonus(self, key: Key) -> float:
        """Nats for or against a reading."""
        said = sum(_WEIGHT * max(each.behind.get(key, -_FAR), -_FAR) for each in self.tries)
        return said - self.against.get(key, 0.0)

    def near(self, key: Key) -> bool:
        """Whether a reading was near the front at the last try, and not refused."""
        return bool(self.tries) and key not in self.against and self.tries[-1].behind.get(key, -_FAR) >= -_NEAR

    def fresh(self, now: float) -> Tries:
        """What is still worth remembering at `now` seconds."""
        return self if now - self.said_at <= LASTS else Tries()

    def missed(self, this: Try, asked: Key | None) -> Tries:
        """After a try that was rejected, or read back as `asked`."""
        before = self if self.asked is None else self._against(self.asked, _SAID_ANEW)
        return Tries((*before.tries, this)[-2:], before.against, asked, this.at)

    def refused(self, now: float) -> Tries:
        """After a no."""
        return Tries() if self.asked is None else Tries(
            self.tries, self._against(self.asked, _REFUSED).against, None, now
        )  # fmt: skip

    def _against(self, key: Key, nats: float) -> Tries:
        return Tries(self.tries, {**self.against, key: self.against.get(key, 0.0) + nats}, None, self.said_at)
