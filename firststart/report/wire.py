"""The published form of a job for machines: pydantic models from which `schema.json` is made.

Units are UCUM codes (unitsofmeasure.org), times RFC 3339. `facts` is the record itself, whole and in order;
every other part is computed from it and is there for readers who do not want to fold facts themselves.
"""

from __future__ import annotations

import json
from typing import Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from firststart.job import attachment
from firststart.job.facts import AnyFact

FORMAT: Literal["firststart-job"] = "firststart-job"
VERSION: Literal[2] = 2  # version 2 has photos and sounds; exports of version 1 are read too
SCHEMA_ID = "firststart-job-2.schema.json"


def place_of(kept: attachment.Attachment) -> str:
    """Where a photo or sound lies in an archive."""
    return f"{kept.sort}s/{kept.file}"


class Part(BaseModel):
    """Base of all parts: frozen, no field beyond those named."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Quantity(Part):
    """A measured value. `value` is the number as given in the unit `ucum`; `si` the same in `si_ucum`."""

    value: float
    shown: str = Field(description="number and unit as a person reads them")
    ucum: str = Field(description="UCUM code of the unit of `value`")
    kind: str = Field(description="kind of quantity")
    si: float
    si_ucum: str = Field(description="UCUM code of the unit of `si`")


class ProfileItem(Part):
    """One field of the engine's profile; `word` or `quantity` when it is known."""

    field: str
    known: Literal["told", "assumed", "unknown"]
    word: str | None = None
    quantity: Quantity | None = None
    source: str = ""


class Judgement(Part):
    """The verdict on a reading, and the limits it was judged by."""

    judge: str
    word: str
    say: str
    low: Quantity | None = None
    high: Quantity | None = None
    limit: str = ""
    source: str = ""
    mark: str = ""
    details: tuple[str, ...] = ()


class Measurement(Part):
    """One reading. `number` is its place in `facts`, from 1; `counts` says whether it still does."""

    number: int
    at: AwareDatetime
    run: int
    procedure: str
    name: str
    cylinder: int | None
    quantity: Quantity
    instrument: str
    resolution: Quantity | None
    judgement: Judgement | None
    counts: Literal["counts", "corrected", "earlier", "stale"]
    why: str
    corrects: int | None


class SetVerdict(Part):
    """One verdict on readings taken together."""

    number: int
    at: AwareDatetime
    run: int
    judgement: Judgement
    stale: str


class Work(Part):
    """One procedure that applies to the engine, and where it stands."""

    procedure: str
    title: str
    stage: str
    stand: str
    say: str
    at: AwareDatetime | None
    times: int


class Finding(Part):
    """What one run of a procedure found."""

    number: int
    at: AwareDatetime
    run: int
    procedure: str
    outcome: str
    say: str


class Hold(Part):
    """One hold point at the moment `made`."""

    name: str
    say: str
    fresh: bool
    because: str
    met: AwareDatetime | None
    since: AwareDatetime | None
    expires: AwareDatetime | None
    place: str


class Crank(Part):
    """One stretch of cranking, seconds and kelvins; `winding_k` is computed, at its end; null without a motor."""

    number: int
    began: AwareDatetime
    seconds: float
    sure: bool
    seen: bool
    permitted_s: float | None
    rested_s: float | None
    asked_s: float | None
    winding_k: float | None


class Starter(Part):
    """The starter's duty class and its cranks."""

    duty: str
    rule: str
    source: str
    mark: str
    limit_k: float
    total_s: float
    wait_s: float
    now: str
    cranks: tuple[Crank, ...]


class Repair(Part):
    """One repair."""

    number: int
    at: AwareDatetime
    suspect: str
    name: str
    success: bool


class Refusal(Part):
    """One step that had to wait."""

    number: int
    at: AwareDatetime
    title: str
    lacking: tuple[str, ...]
    reason: str
    wait_s: float


class Attachment(Part):
    """A photo or sound. `file` is its place in an archive of the job; `removed` says what was taken out of it."""

    sort: Literal["photo", "sound"]
    file: str
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    size: int = Field(description="bytes")
    media_type: str
    name: str = Field(description="the file it came from; empty for a recording")
    width: int | None = Field(default=None, description="dots")
    height: int | None = Field(default=None, description="dots")
    seconds: float | None = None
    taken: str = Field(default="", description="the time the camera wrote into it, in the camera's own time")
    removed: tuple[str, ...] = ()


class Note(Part):
    """A note of the person's own: words, or a photo or sound and what was said of it."""

    number: int
    at: AwareDatetime
    text: str
    attachment: Attachment | None = None


class Todo(Part):
    """One piece of work that is left."""

    procedure: str
    title: str
    minutes: float
    why: str


class Suspect(Part):
    """One suspect; `chance` from 0 to 1."""

    id: str
    name: str
    chance: float | None
    word: str
    reason: str


class Diagnosis(Part):
    """What is found, left and ruled out, and the next check."""

    found: tuple[Suspect, ...]
    left: tuple[Suspect, ...]
    ruled_out: tuple[Suspect, ...]
    mended: tuple[Suspect, ...]
    outside: float | None
    next_check: str
    why: str


class Document(Part):
    """One job. Read `facts` to have the job itself; all else is computed from them at the moment `made`."""

    format: Literal["firststart-job"] = FORMAT
    version: Literal[2] = VERSION
    made: AwareDatetime
    tool: str
    job: str
    engine: str
    place: str
    opened: AwareDatetime
    newest: AwareDatetime
    closed: bool
    profile: tuple[ProfileItem, ...]
    work: tuple[Work, ...]
    findings: tuple[Finding, ...]
    holds: tuple[Hold, ...]
    measurements: tuple[Measurement, ...]
    verdicts: tuple[SetVerdict, ...]
    starter: Starter
    repairs: tuple[Repair, ...]
    refusals: tuple[Refusal, ...]
    notes: tuple[Note, ...]
    left: tuple[Todo, ...]
    diagnosis: Diagnosis | None
    cautions: tuple[str, ...]
    does_not_say: tuple[str, ...]
    facts: tuple[AnyFact, ...]


def schema_text() -> str:
    """The JSON Schema (draft 2020-12) of a document, as the file `schema.json` holds it."""
    schema: dict[str, Any] = Document.model_json_schema(mode="serialization")
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID}
    return json.dumps({**head, **schema, "title": "A job of firststart"}, indent=1, ensure_ascii=False) + "\n"
