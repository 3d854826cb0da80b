"""Cranking as the microphone heard it: what of it can be told, how it is offered, and what is kept of it.

It is a measurement to lay beside the counted seconds. No permit, no limit and no rest is ever reckoned from it.
"""

from __future__ import annotations

from dataclasses import dataclass

from firststart.bench.desk import Desk
from firststart.job import inputs as i
from firststart.prompt.expect import Expectation, Option
from firststart.units import measured

KEEP = "keep-heard"
OFFER = Option(KEEP, ("keep it",))
_STRAY = 1.5  # seconds that the sound may differ from the count, beyond its own uncertainty; more is another sound


@dataclass(frozen=True)
class Beat:
    """What beats in the sound of a crank: `cylinders` compressions in a cycle of `strokes`, counted for `seconds`."""

    cylinders: int
    strokes: int
    seconds: float = 0.0


@dataclass(frozen=True)
class Overheard:
    """Seconds and revolutions a minute, each with its standard uncertainty, and how even the strokes were."""

    seconds: float
    seconds_u: float
    rpm: float
    rpm_u: float
    evenness: float | None = None

    def sentence(self) -> str:
        """What is said of it."""
        return (
            f"By ear the starter turned {self.seconds:.1f} seconds at {self.rpm:.0f} rpm, give or take "
            f"{max(1.0, 2 * self.rpm_u):.0f}. Say keep it to record the speed."
        )

    def kept(self) -> i.HearCrank:
        """The input that records it."""
        even = "" if self.evenness is None else f", weakest stroke {self.evenness:.2f} of the mean"
        said = (
            f"by ear: {self.rpm:.0f} rpm, standard uncertainty {self.rpm_u:.2g} rpm; {self.seconds:.1f} s, "
            f"standard uncertainty {self.seconds_u:.2g} s{even}"
        )
        return i.HearCrank(measured(round(self.rpm, 1), "rpm", "speed"), said)


def beat_of(desk: Desk) -> Beat | None:
    """What will beat when the starter turns now; None when nothing compresses, or the engine is not known well enough.

    At a compression test all plugs are out, and only the cylinder with the gauge compresses. Turned to spread oil, no
    cylinder does.
    """
    run = desk.situation.run
    state = desk.rules.table(run.procedure, desk.situation).states.get(run.state) if run is not None else None
    step = state.step if state is not None else None
    profile = desk.rules.profile(desk.situation.profile)
    strokes = {"four-stroke": 4, "two-stroke": 2}.get(profile.word("cycle") or "")
    if step is None or step.crank is None or strokes is None:
        return None
    if step.crank.purpose == "compression":
        return Beat(1, strokes)
    if step.crank.purpose != "start" or profile.cylinders is None:
        return None
    return Beat(profile.cylinders, strokes)


def believed(beat: Beat, heard: Overheard) -> bool:
    """Can what was heard be the crank that was counted?"""
    return abs(heard.seconds - beat.seconds) <= _STRAY + 2 * heard.seconds_u


def with_offer(expects: Expectation) -> Expectation:
    """The same answers, and the one that keeps what was heard; never where a crank begins or runs."""
    if expects.kind in ("crank", "turning", "stopped", "over"):
        return expects
    return Expectation(
        expects.kind, (*expects.options, OFFER), expects.quantity, expects.unit, expects.low, expects.high, expects.name
    )
