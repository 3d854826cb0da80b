"""The situation: the fold of a job's facts, and the one place where "now" is computed.

Everything in it is immutable and of bounded size by name, not by the number of facts; the facts
themselves stay in the journal. Times are effective times: the time of day plus the shifts by which
clock changes were caught, so that they never run backwards.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from firststart.engine.profile import EngineProfile
from firststart.job.facts import Judgement
from firststart.starter.permit import Crank
from firststart.units import Measured

Key = tuple[str, int | None]


@dataclass(frozen=True)
class Visit:
    """A question that was put, and the number of the fact that put it."""

    state: str
    number: int


@dataclass(frozen=True)
class Run:
    """A procedure under way. `trail` are the questions put, for "go back"; `met` the hold points it met."""

    run: int
    procedure: str
    digest: str
    why: str
    parent: int | None
    started: datetime
    state: str = ""
    entered: datetime | None = None
    trail: tuple[Visit, ...] = ()
    met: tuple[str, ...] = ()
    wait_until: datetime | None = None
    cautioned: frozenset[str] = frozenset()  # hazard classes met in this run before the present state
    hazards: tuple[str, ...] = ()  # of the present state
    refused: tuple[str, ...] = ()
    wait_s: float = 0
    reason: str = ""


@dataclass(frozen=True)
class Ended:
    """The newest outcome of a procedure."""

    run: int
    procedure: str
    result: str
    outcome: str
    say: str
    at: datetime
    number: int


@dataclass(frozen=True)
class Hold:
    """The newest word on one hold point. `undone` empty: it was met and nothing undid it since."""

    met: datetime
    place: str
    by: str
    number: int
    undone: str = ""
    undone_at: datetime | None = None
    uncounted_s: float = 0.0  # what the situation's was when it was met


@dataclass(frozen=True)
class Read:
    """The newest reading of one name (and cylinder)."""

    value: Measured
    at: datetime
    number: int
    run: int
    instrument: str
    resolution: float | None = None
    judged: Judgement | None = None


@dataclass(frozen=True)
class Observed:
    """One answer that tells something of the engine. `stale` says why it counts no longer."""

    name: str
    cylinder: int | None
    word: str
    at: datetime
    number: int
    run: int
    stale: str = ""
    stale_at: datetime | None = None


@dataclass(frozen=True)
class Repair:
    """One repair."""

    suspect: str
    success: bool
    at: datetime
    number: int


@dataclass(frozen=True)
class OpenCrank:
    """A crank that has begun and not ended. `unseen_s`: taken out of the time since, as a clock may have lied."""

    run: int
    state: str
    began: datetime
    limit_s: float
    unseen_s: float = 0.0


@dataclass(frozen=True)
class Situation:
    """Where a job stands. Made only by `fold`."""

    job: str = ""
    engine: str = ""
    place: str = ""
    language: str = "en"
    opened: datetime | None = None
    now: datetime | None = None
    shift_s: float = 0
    withheld_s: float = 0  # passed by the clock, and not counted until the person says that the date is right
    uncounted_s: float = 0.0  # short spells told by one clock alone: no rest counts them, and checks age by them
    place_doubted: bool = False  # after a long gap, until the place is named again
    rest_until: datetime | None = None  # a rest that a change of the profile may not shorten
    count: int = 0
    profile: EngineProfile = field(default_factory=EngineProfile)
    runs: tuple[Run, ...] = ()
    started_runs: int = 0
    ended: dict[str, Ended] = field(default_factory=dict)
    holds: dict[str, Hold] = field(default_factory=dict)
    cranks: tuple[Crank, ...] = ()
    other_cranks: tuple[Crank, ...] = ()
    open_crank: OpenCrank | None = None
    readings: dict[Key, Read] = field(default_factory=dict)
    earlier: dict[Key, Read] = field(default_factory=dict)
    observed: tuple[Observed, ...] = ()
    repairs: tuple[Repair, ...] = ()
    stopped: bool = False
    closed: bool = False

    @property
    def run(self) -> Run | None:
        """The run on top: the one the person is led through now."""
        return self.runs[-1] if self.runs else None

    def effective(self, wall: datetime) -> datetime:
        """The effective time for a time of day, never before the newest fact."""
        shifted = wall + timedelta(seconds=self.shift_s)
        return max(shifted, self.now) if self.now is not None else shifted

    def latest(self, now: datetime) -> datetime:
        """The latest that it can be at the effective time `now`: what ages by itself ages by this."""
        return now + timedelta(seconds=self.withheld_s)

    def all_cranks(self) -> tuple[Crank, ...]:
        """This job's cranking and that of other jobs on the same starter, in order of time."""
        return tuple(sorted((*self.cranks, *self.other_cranks), key=lambda c: c.start))

    def newest(self, name: str, cylinder: int | None = None) -> Observed | None:
        """The newest answer under `name` (and cylinder) that has not gone stale."""
        for seen in reversed(self.observed):
            if seen.name == name and seen.cylinder == cylinder and not seen.stale:
                return seen
        return None
