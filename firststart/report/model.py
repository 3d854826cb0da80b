"""The values a report is made of: frozen, in words a person reads, with the numbers kept beside them.

Times are aware and in the zone of the moment the report was made; they are what the bench's clock said.
Seconds, temperatures and limits of judgements are SI floats; a `Measured` keeps number and unit as given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from firststart.job.attachment import Attachment
from firststart.report.wording import attachment_text
from firststart.units import Measured

Known = Literal["told", "assumed", "unknown"]
Counts = Literal["counts", "corrected", "earlier", "stale"]
Stand = Literal["checked", "found wanting", "undecided", "left for later", "under way", "not done"]


@dataclass(frozen=True)
class ProfileLine:
    """One field of the engine profile. `source` says where an assumed value comes from."""

    field: str
    label: str
    value: str
    known: Known
    source: str = ""
    number: Measured | None = None


@dataclass(frozen=True)
class WorkLine:
    """One procedure of the plan that applies to this engine, and where it stands."""

    procedure: str
    title: str
    stage: str
    stand: Stand
    say: str = ""
    at: datetime | None = None
    times: int = 0


@dataclass(frozen=True)
class Finding:
    """One run of a procedure that came to a result. `changed`: the procedure was edited since."""

    number: int
    run: int
    at: datetime
    procedure: str
    title: str
    outcome: str
    say: str
    changed: bool = False


@dataclass(frozen=True)
class HoldLine:
    """One hold point: fresh or not, why not, when it was met, by which work and where.

    `quick`: one question, asked again before each step that needs it.
    """

    name: str
    say: str
    fresh: bool
    because: str
    met: datetime | None = None
    since: datetime | None = None
    expires: datetime | None = None
    place: str = ""
    by: str = ""
    quick: bool = False


@dataclass(frozen=True)
class Judged:
    """A verdict. `low` and `high` are SI in the kind of the reading; `limit_text` shows them in `unit`."""

    judge: str
    word: str
    say: str
    limit_text: str = ""
    limit: str = ""
    source: str = ""
    mark: str = ""
    details: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    unit: str = ""


@dataclass(frozen=True)
class Reading:
    """One measured value as recorded. `counts` says whether it still does; `why` says why not."""

    number: int
    at: datetime
    run: int
    procedure: str
    title: str
    name: str
    label: str
    cylinder: int | None
    value: Measured
    instrument: str
    resolution: Measured | None
    judged: Judged | None
    counts: Counts = "counts"
    why: str = ""
    corrects: int | None = None
    said: str = ""
    channel: str = ""


@dataclass(frozen=True)
class SetVerdict:
    """A verdict on all readings of a kind together. `stale` says why it counts no longer."""

    number: int
    at: datetime
    run: int
    title: str
    judged: Judged
    stale: str = ""


@dataclass(frozen=True)
class Answer:
    """One answer to a question. `observe` names what it tells of the engine; `stale` why it counts no longer."""

    number: int
    at: datetime
    run: int
    title: str
    question: str
    answer: str
    observe: str = ""
    cylinder: int | None = None
    stale: str = ""


@dataclass(frozen=True)
class CrankLine:
    """One stretch of cranking. `sure` False: the seconds are an estimate; `seen` False: told afterwards.

    `rested_s` is the rest before it, `asked_s` the rest the starter's class asked for before it; both None
    before the first. `winding_k` is the computed winding temperature at its end. `limit_s` is what was permitted. All
    of them are None where no motor turns the engine: a cord has no winding.
    """

    number: int
    began: datetime
    start: float
    seconds: float
    sure: bool
    seen: bool
    title: str
    limit_s: float | None
    rested_s: float | None
    asked_s: float | None
    winding_k: float | None

    @property
    def over_run(self) -> bool:
        """Was the starter turned longer than was permitted?"""
        return self.limit_s is not None and self.seconds > self.limit_s + 0.5

    @property
    def early(self) -> bool:
        """Was it turned before the asked rest was over?"""
        return self.rested_s is not None and self.asked_s is not None and self.rested_s < self.asked_s - 0.5


@dataclass(frozen=True)
class Sitting:
    """Cranks close together, and the computed temperatures through them: (seconds from the start, K, K)."""

    began: datetime
    cranks: tuple[CrankLine, ...]
    heat: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class StarterPart:
    """The starter's duty class, every crank, and what it may do at the moment of the report."""

    electric: bool
    duty: str
    rule: str
    source: str
    mark: str
    air: str
    limit_k: float
    total_s: float
    cranks: tuple[CrankLine, ...]
    sittings: tuple[Sitting, ...]
    now: str
    wait_s: float
    elsewhere: int = 0  # cranks of other jobs on the same starter, counted in rests and temperatures


@dataclass(frozen=True)
class RepairLine:
    """One repair. `title` is the procedure it was done by, empty when it was told."""

    number: int
    at: datetime
    suspect: str
    name: str
    success: bool
    title: str = ""


@dataclass(frozen=True)
class Refusal:
    """One step that was refused, with what it lacked in words."""

    number: int
    at: datetime
    title: str
    lacking: tuple[str, ...]
    reason: str
    wait_s: float


@dataclass(frozen=True)
class NoteLine:
    """A note of the person's own: words, or a photo or sound (`attachment`) and what was said of it."""

    number: int
    at: datetime
    text: str
    attachment: Attachment | None = None

    @property
    def what(self) -> str:
        """ "Photo plug.jpg, 1600 by 1200 dots, taken 2 May 2026 11:00 by its camera", "Sound of 7 s"; "" for words."""
        return "" if self.attachment is None else attachment_text(self.attachment)


@dataclass(frozen=True)
class Event:
    """One line of the timeline. `sort` is a word of `timeline.SORTS`; `outcome` that of the work it ended."""

    number: int
    at: datetime
    sort: str
    text: str
    outcome: str = ""


@dataclass(frozen=True)
class Span:
    """One run of a procedure in time. `outcome` is empty while it is under way; `depth` counts runs it interrupts.

    `pieces` are the stretches of time in which somebody was at it; hours without an entry lie between them.
    """

    run: int
    title: str
    began: datetime
    ended: datetime
    outcome: str
    depth: int = 0
    pieces: tuple[tuple[datetime, datetime], ...] = ()

    @property
    def seconds(self) -> float:
        """How long somebody was at it, in seconds."""
        return sum((end - start).total_seconds() for start, end in self.pieces)


@dataclass(frozen=True)
class Todo:
    """One piece of work that is left, and why."""

    procedure: str
    title: str
    stage: str
    minutes: float
    why: str


@dataclass(frozen=True)
class Suspect:
    """One suspect of the diagnosis: its chance (0 to 1), the word for it, and what decided."""

    id: str
    name: str
    chance: float | None = None
    word: str = ""
    reason: str = ""
    at: datetime | None = None


@dataclass(frozen=True)
class NextCheck:
    """What to do next, how, why, how long it takes, and why not the obvious alternative. `title` heads it."""

    name: str
    do: str
    why: str
    minutes: float = 0
    why_not: str = ""
    title: str = "Next check"


@dataclass(frozen=True)
class Shift:
    """One suspect's chance before and after a check."""

    name: str
    before: float
    after: float


@dataclass(frozen=True)
class Round:
    """One check, its outcome in words, and what it did to the suspects."""

    check: str
    outcome: str
    at: datetime | None
    shifts: tuple[Shift, ...]


@dataclass(frozen=True)
class DiagnosisPart:
    """What the diagnosis says, handed in by the caller.

    `names` gives suspects their names in words; `runs` says that the newest try started the engine.
    """

    ruled_out: tuple[Suspect, ...] = ()
    left: tuple[Suspect, ...] = ()
    found: tuple[Suspect, ...] = ()
    mended: tuple[Suspect, ...] = ()
    next_check: NextCheck | None = None
    reason: str = ""
    outside: float | None = None
    rounds: tuple[Round, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
    runs: bool = False

    @property
    def title(self) -> str:
        """What a part of the report about it is called."""
        return "What kept it from starting" if self.runs else "Why it does not start"


@dataclass(frozen=True)
class Report:
    """Everything one job can say at the moment `made`. `facts` counts its facts; `closed`: called finished."""

    job: str
    engine: str
    tool: str
    place: str
    places: tuple[str, ...]
    opened: datetime
    newest: datetime
    made: datetime
    facts: int
    closed: bool
    stopped: bool
    doubts: tuple[str, ...]  # what must be confirmed before anything else: the date, the place
    under_way: tuple[str, ...]
    profile: tuple[ProfileLine, ...]
    work: tuple[WorkLine, ...]
    findings: tuple[Finding, ...]
    holds: tuple[HoldLine, ...]
    readings: tuple[Reading, ...]
    verdicts: tuple[SetVerdict, ...]
    answers: tuple[Answer, ...]
    starter: StarterPart
    repairs: tuple[RepairLine, ...]
    refusals: tuple[Refusal, ...]
    notes: tuple[NoteLine, ...]
    timeline: tuple[Event, ...]
    spans: tuple[Span, ...]
    left: tuple[Todo, ...]
    minutes_left: float
    diagnosis: DiagnosisPart | None
    cautions: tuple[str, ...]
    silent: tuple[str, ...]  # what this report does not say

    def of(self, stand: Stand) -> tuple[WorkLine, ...]:
        """The work that stands so, in the order of the plan."""
        return tuple(w for w in self.work if w.stand == stand)

    def corrections(self) -> tuple[Reading, ...]:
        """The readings that were taken again in their stead, in order."""
        return tuple(r for r in self.readings if r.counts == "corrected")
