"""A pedal or clicker: a key whose presses are told apart by time. Pure, but for nothing: times are handed in."""

from __future__ import annotations

from firststart.prompt.onekey import DOUBLE, HELD, SHORT

QUIET_S = 0.55  # after this long without a press it is clear what was meant; longer than most keyboards' repeat delay
REPEAT_S = 0.12  # a key held down repeats faster than a foot can
HELD_PRESSES = 5


class Pedal:
    """Collects presses until it is clear what they mean."""

    def __init__(self) -> None:
        self._times: list[float] = []

    def pressed(self, now: float) -> str | None:
        """One press at `now` seconds; "held" as soon as that is sure."""
        self._times.append(now)
        gaps = [b - a for a, b in zip(self._times, self._times[1:], strict=False)][-HELD_PRESSES + 1 :]
        if len(gaps) == HELD_PRESSES - 1 and max(gaps) <= REPEAT_S:
            self._times = []
            return HELD
        return None

    def meant(self, now: float) -> str | None:
        """What the presses meant, once the pedal has been still; None while that is open."""
        if not self._times or now - self._times[-1] < QUIET_S:
            return None
        presses, self._times = len(self._times), []
        return SHORT if presses == 1 else DOUBLE
