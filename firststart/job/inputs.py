"""What can come in from the bench: one frozen value a kind."""

from __future__ import annotations

from dataclasses import dataclass

from firststart.job.attachment import Attachment
from firststart.units import Measured


@dataclass(frozen=True)
class Input:
    """Base of all inputs."""


@dataclass(frozen=True)
class Open(Input):
    """Open a new job on an engine."""

    job: str
    engine: str
    tool: str
    place: str = ""
    language: str = "en"


@dataclass(frozen=True)
class Begin(Input):
    """Begin a procedure; what is under way waits for it."""

    procedure: str
    why: str = "asked"


@dataclass(frozen=True)
class Say(Input):
    """An answer of the step's closed list."""

    event: str
    said: str = ""
    channel: str = "keys"


@dataclass(frozen=True)
class Give(Input):
    """A reading."""

    value: Measured
    said: str = ""
    channel: str = "keys"


@dataclass(frozen=True)
class Go(Input):
    """The starter begins to turn now."""


@dataclass(frozen=True)
class Release(Input):
    """The starter has stopped; it turned for `seconds`."""

    seconds: float


@dataclass(frozen=True)
class Tick(Input):
    """Time has passed."""


@dataclass(frozen=True)
class Stop(Input):
    """Stop. `seconds` is how long the starter had turned, when the bench knows."""

    channel: str = "keys"
    seconds: float | None = None


@dataclass(frozen=True)
class CarryOn(Input):
    """Go on after a stop."""


@dataclass(frozen=True)
class Leave(Input):
    """Leave this procedure for later."""


@dataclass(frozen=True)
class Fetch(Input):
    """At a shut gate: do the work that meets the first missing hold point."""


@dataclass(frozen=True)
class Back(Input):
    """Back to the question before."""


@dataclass(frozen=True)
class Resume(Input):
    """A bench opened the job again. `steady`: its steady clock has run since the newest fact: no time is in doubt."""

    steady: bool = False


@dataclass(frozen=True)
class NamePlace(Input):
    """The work is done at this place now."""

    place: str


@dataclass(frozen=True)
class Note(Input):
    """A note to keep."""

    text: str


@dataclass(frozen=True)
class Keep(Input):
    """A photo or a sound, kept beside the record already, and what is said of it."""

    attachment: Attachment
    text: str = ""


@dataclass(frozen=True)
class TellCrank(Input):
    """Cranking the bench did not see: `times` of `seconds` each, the last ending `ago_s` before now."""

    times: int
    seconds: float
    ago_s: float = 0


@dataclass(frozen=True)
class HearCrank(Input):
    """How fast the starter turned at the newest crank, by its sound; `said` tells how sure that is. Guards nothing."""

    speed: Measured
    said: str = ""


@dataclass(frozen=True)
class Mend(Input):
    """A suspect was mended."""

    suspect: str
    success: bool = True


@dataclass(frozen=True)
class SetProfile(Input):
    """One field of the profile: a word, a number, or neither for unknown."""

    field: str
    word: str | None = None
    number: Measured | None = None


@dataclass(frozen=True)
class ShiftClock(Input):
    """The clock was put forward by `-shift_s`: so much is not counted until the date is confirmed.

    `shift_s` is never above zero: nobody can make time pass.
    """

    shift_s: float
    note: str = ""


@dataclass(frozen=True)
class ClockJumped(Input):
    """Since the last look the time of day ran `ahead_s` more than the steady clock; less when negative."""

    ahead_s: float


@dataclass(frozen=True)
class ConfirmDate(Input):
    """The answer to the question whether the date is right."""

    right: bool


@dataclass(frozen=True)
class Close(Input):
    """The job is finished."""
