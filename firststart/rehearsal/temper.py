"""Tempers of virtual people, as data: pace, how long they crank, how they misread, what they ask.

Invented; relative merit only.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Temper:
    """How one person works. Chances are per prompt unless told."""

    pace: float  # times the minutes that a procedure states
    over_run: tuple[float, float]  # seconds cranked past the count
    long_crank: float  # chance that a crank is over-run at all
    misread: float  # a reading is misread by a digit
    catches: float  # a misread number is noticed at the read-back
    slip: float  # a look is judged as its neighbour
    mumbles: float  # something that is no answer is said first
    asks: float  # why, say again, how long, status
    goes_back: float
    jumps: float  # goes on as if a refused step were allowed
    fills_rests: float  # does other work while the starter rests
    types: float  # uses the keys for an answer, not the voice
    day: float = 7.0  # hours at the engine before it is enough for the day


TEMPERS: dict[str, Temper] = {
    "patient": Temper(1.0, (0.0, 0.4), 0.2, 0.005, 0.95, 0.005, 0.01, 0.03, 0.01, 0.0, 0.7, 0.3),
    "hurried": Temper(0.75, (1.0, 6.0), 0.6, 0.015, 0.7, 0.02, 0.03, 0.005, 0.01, 0.5, 0.3, 0.5),
    "mistaken": Temper(1.2, (0.0, 2.0), 0.3, 0.06, 0.6, 0.04, 0.05, 0.03, 0.04, 0.1, 0.5, 0.4),
}
