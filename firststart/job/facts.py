"""Facts: frozen, past tense, one model a kind. A job is the list of its facts and nothing else.

`at` is the time of day the bench read, aware, in UTC. The number of a fact is its place in the job,
given by the journal. A correction is a new fact that names the old one by number.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from firststart.job.attachment import MOST_TEXT, Attachment
from firststart.units import Measured


class Fact(BaseModel):
    """Base of all facts. `version` is the version of the kind's body."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    at: datetime


class JobOpened(Fact):
    """Work on one engine began. `engine` names the engine across jobs; its starter is shared by them."""

    type: Literal["job-opened"] = "job-opened"
    job: str
    engine: str
    tool: str
    language: str = "en"


class PlaceNamed(Fact):
    """The work is done here from now on."""

    type: Literal["place-named"] = "place-named"
    place: str


class ProfileNoted(Fact):
    """The person told one field of the engine profile: a word, a number, or None for unknown."""

    type: Literal["profile-noted"] = "profile-noted"
    field: str
    word: str | None = None
    number: Measured | None = None
    rest_s: float = Field(default=0, ge=0)  # what the starter still owed when this was told: never shortened by it


class RunStarted(Fact):
    """A procedure began. `parent` is the run that waits for it."""

    type: Literal["run-started"] = "run-started"
    run: int
    procedure: str
    digest: str
    why: str
    parent: int | None = None


class StepEntered(Fact):
    """The machine of a run came to rest in a state."""

    type: Literal["step-entered"] = "step-entered"
    run: int
    state: str
    question: bool = True  # a state where a person acts or answers: "go back" may return to it
    hazards: tuple[str, ...] = ()  # the classes whose cautions were due before it


class AnswerGiven(Fact):
    """The person answered. `observe` names what the answer tells of the engine."""

    type: Literal["answer-given"] = "answer-given"
    run: int
    state: str
    event: str
    said: str = ""
    channel: str = "keys"
    observe: str | None = None
    cylinder: int | None = None


class Judgement(BaseModel):
    """How a reading was judged: the verdict's word, the limit and where the limit comes from."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    judge: str
    word: str
    say: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    limit: str = ""
    source: str = ""
    mark: str = ""
    details: tuple[str, ...] = ()


class ValueMeasured(Fact):
    """A reading was taken: number and unit as given, its SI value, the instrument and the judgement."""

    type: Literal["value-measured"] = "value-measured"
    run: int
    state: str
    name: str
    value: Measured
    instrument: str
    resolution: float | None = None  # SI
    cylinder: int | None = None
    judged: Judgement | None = None
    said: str = ""
    channel: str = "keys"
    corrects: int | None = None


class SetJudged(Fact):
    """All readings of a kind were judged together."""

    type: Literal["set-judged"] = "set-judged"
    run: int
    state: str
    judged: Judgement


class CrankBegan(Fact):
    """The starter began to turn. `limit_s` is what the permit allowed."""

    type: Literal["crank-began"] = "crank-began"
    run: int
    state: str
    limit_s: float


class CrankEnded(Fact):
    """The starter stopped. `sure` is False when the seconds are an estimate (a crash, a stop)."""

    type: Literal["crank-ended"] = "crank-ended"
    run: int
    seconds: float = Field(ge=0)
    sure: bool = True


class CrankTold(Fact):
    """Cranking the bench did not see, told afterwards: `seconds` ending `ago_s` before now."""

    type: Literal["crank-told"] = "crank-told"
    seconds: float = Field(gt=0)
    ago_s: float = Field(default=0, ge=0)


class WaitBegan(Fact):
    """A wait began; `seconds` is how long it lasts."""

    type: Literal["wait-began"] = "wait-began"
    run: int
    state: str
    seconds: float


class HoldMet(Fact):
    """A hold point holds from now on."""

    type: Literal["hold-met"] = "hold-met"
    hold: str
    by: str


class HoldUndone(Fact):
    """A hold point holds no longer."""

    type: Literal["hold-undone"] = "hold-undone"
    hold: str
    because: str


class StepRefused(Fact):
    """The gate before a hazardous step stayed shut."""

    type: Literal["step-refused"] = "step-refused"
    run: int
    state: str
    lacking: tuple[str, ...]
    wait_s: float = 0
    reason: str = ""


class RunEnded(Fact):
    """A procedure came to one of its results."""

    type: Literal["run-ended"] = "run-ended"
    run: int
    procedure: str
    result: str
    outcome: str
    say: str


class WentBack(Fact):
    """The person went back one question; what that question had told is to be told again."""

    type: Literal["went-back"] = "went-back"
    run: int
    state: str


class Stopped(Fact):
    """Stop was called."""

    type: Literal["stopped"] = "stopped"
    channel: str = "keys"


class CarriedOn(Fact):
    """Work goes on after a stop."""

    type: Literal["carried-on"] = "carried-on"


class RepairDone(Fact):
    """A suspect was mended (or found sound and cleaned). `success` False: it could not be mended."""

    type: Literal["repair-done"] = "repair-done"
    suspect: str
    success: bool = True
    procedure: str = ""


class EvidenceStaled(Fact):
    """What was observed earlier under this name counts no longer."""

    type: Literal["evidence-staled"] = "evidence-staled"
    observe: str
    because: str


class ClockSet(Fact):
    """The time of day jumped; `shift_s` is added to it from now on so that no rest is shortened.

    `withheld_s` is time that has passed by the clock and is not counted until the person says that the date
    is right: rests do not shorten by it, while hold points age by it. It is given back with the other sign.
    """

    type: Literal["clock-set"] = "clock-set"
    shift_s: float
    note: str = ""
    withheld_s: float = 0


class JobResumed(Fact):
    """A bench took the job up again, `gap_s` after its newest fact: the engine may stand elsewhere now."""

    type: Literal["job-resumed"] = "job-resumed"
    gap_s: float = Field(ge=0)


class NoteAdded(Fact):
    """The person left a note."""

    type: Literal["note-added"] = "note-added"
    text: str = Field(max_length=MOST_TEXT)


class AttachmentKept(Fact):
    """A photo or a sound was kept with the job; `text` is what the person said of it."""

    type: Literal["attachment-kept"] = "attachment-kept"
    attachment: Attachment
    text: str = Field(default="", max_length=MOST_TEXT)


class JobClosed(Fact):
    """Work on the engine was called finished."""

    type: Literal["job-closed"] = "job-closed"


AnyFact = Annotated[
    JobOpened
    | PlaceNamed
    | ProfileNoted
    | RunStarted
    | StepEntered
    | AnswerGiven
    | ValueMeasured
    | SetJudged
    | CrankBegan
    | CrankEnded
    | CrankTold
    | WaitBegan
    | HoldMet
    | HoldUndone
    | StepRefused
    | RunEnded
    | WentBack
    | Stopped
    | CarriedOn
    | RepairDone
    | EvidenceStaled
    | ClockSet
    | JobResumed
    | NoteAdded
    | AttachmentKept
    | JobClosed,
    Field(discriminator="type"),
]

_ADAPTER: TypeAdapter[Any] = TypeAdapter(AnyFact, config=ConfigDict(defer_build=True))
# The newest version of each kind of fact that has left version 1. A kind that came after the first version of the tool
# begins with 2: an older tool says that it is too old for such an entry, and not that the entry is damaged.
_VERSIONS = {"attachment-kept": 2}


def version_of(kind: str) -> int:
    """The version in which a kind of fact is written today."""
    return _VERSIONS.get(kind, 1)


def to_json(fact: Fact) -> str:
    """The fact's body as JSON text."""
    return fact.model_dump_json(exclude_defaults=False)


def from_json(text: str | bytes) -> Fact:
    """A fact from its JSON text. Raises pydantic's ValidationError when it is not one."""
    fact: Fact = _ADAPTER.validate_json(text)
    return fact
