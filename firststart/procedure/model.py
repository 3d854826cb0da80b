"""The frozen model of a procedure and of the safety data, as `procedures/*.yaml` write them.

Key names follow OASIS DITA tasks (title, prereq, steps, cmd, info, note, result, postreq) and W3C SCXML
(event, target). There is no expression language: guards are profile conditions, calculators and
hazard classes are names from closed lists.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")  # as ANSI Z535.4 defines them
EACH = "each"
NEXT = "next"
LEFT = "left"
DONE = "done"
CRANKED = "cranked"
ELAPSED = "elapsed"
TAKEN = "taken"
UNREAD = "cannot-measure"


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str | int | float) and not isinstance(value, bool) else value


def _as_words(value: Any) -> Any:
    """A mapping of field -> word or words, every word as text (so that `battery: 12` may be written)."""
    if not isinstance(value, dict):
        return value
    return {k: [str(w) for w in v] if isinstance(v, list) else [str(v)] for k, v in value.items()}


Words = Annotated[tuple[str, ...], BeforeValidator(_as_list)]
Conditions = Annotated[dict[str, tuple[str, ...]], BeforeValidator(_as_words)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9.-]*$", max_length=48)]


class Frozen(BaseModel):
    """Base of all that is read from procedures: frozen, and no unknown key is taken."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid", populate_by_name=True)


class Note(Frozen):
    """A caution, said and shown before the action it belongs to."""

    signal: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    text: str = Field(min_length=3)


class Measure(Frozen):
    """One reading: what, in which unit, within which plausible range, by which instrument, judged by whom."""

    name: Name
    quantity: str
    unit: str = ""
    range: tuple[float, float]
    instrument: str = Field(min_length=2)
    resolution: float | None = None  # in `unit`
    judge: Name | None = None


class Crank(Frozen):
    """The starter turns, or the engine is kicked or pulled. `seconds` is wanted; the permit may give less."""

    purpose: Literal["spin", "compression", "start"]
    seconds: float = Field(gt=0, le=30)


class Wait(Frozen):
    """Let time pass: `minutes`, and what for (a noun phrase for the ear)."""

    minutes: float = Field(gt=0, le=7 * 24 * 60)
    reason: str = Field(min_length=3, alias="for")


class Target(Frozen):
    """Where an event leads, when the profile meets `when` (empty: always)."""

    to: Name
    when: Conditions = {}


def _as_targets(value: Any) -> Any:
    """`go` in its three spellings: one target for all events, a target per event, or guarded targets."""
    if isinstance(value, str):
        return {"*": [{"to": value}]}
    if not isinstance(value, dict):
        return value
    spelt: dict[str, Any] = {}
    for event, target in value.items():
        items = target if isinstance(target, list) else [target]
        spelt[event] = [{"to": t} if isinstance(t, str) else t for t in items]
    return spelt


def _as_choices(value: Any) -> Any:
    if isinstance(value, list):
        return {str(word): [str(word).replace("-", " ")] for word in value}
    if isinstance(value, dict):
        return {
            k: [k.replace("-", " ")] if v is None else [str(p) for p in (v if isinstance(v, list) else [v])]
            for k, v in value.items()
        }
    return value


class Step(Frozen):
    """One state: one action, one question, one measurement, one wait, one crank or one judgement."""

    cmd: str = ""
    key: str = ""  # two or three words for the large letters
    info: str = ""
    why: str = ""
    hazard: Words = ()
    note: tuple[Note, ...] = ()
    choices: Annotated[dict[str, tuple[str, ...]], BeforeValidator(_as_choices)] = {}
    observe: Name | None = None
    measure: Measure | None = None
    crank: Crank | None = None
    wait: Wait | None = None
    judge: Name | None = None
    sets: str | None = None
    only_unknown: bool = Field(default=False, alias="only-unknown")  # not asked when what it `sets` is known
    foreach: Literal["cylinder"] | None = None
    establishes: Annotated[dict[str, tuple[str, ...]], BeforeValidator(_as_words)] = {}
    undoes: Words = ()
    applies: Conditions = {}
    go: Annotated[dict[str, tuple[Target, ...]], BeforeValidator(_as_targets)] = {}

    @model_validator(mode="after")
    def _one_kind(self) -> Step:
        parts = {"choices": self.choices, "measure": self.measure, "crank": self.crank, "wait": self.wait}
        used = [name for name, part in parts.items() if part]
        used += ["judge"] if self.judge else []
        if len(used) > 1:
            raise ValueError(f"a step does one thing, but this one has {' and '.join(used)}; split it")
        if self.judge and self.cmd:
            raise ValueError("a judge step says nothing; move the cmd to a step of its own")
        if not self.judge and not self.cmd:
            raise ValueError("a step needs a cmd: the sentence that is spoken")
        if self.only_unknown and (self.sets is None or self.foreach or (self.measure and self.measure.judge)):
            raise ValueError("only-unknown is for a plain question that sets a profile field; remove it")
        if self.observe and not self.choices:
            raise ValueError("observe names what choices tell; add choices or remove it")
        return self

    @property
    def sort(self) -> str:
        """action, choice, measure, crank, wait or judge."""
        if self.judge:
            return "judge"
        for name in ("measure", "crank", "wait"):
            if getattr(self, name) is not None:
                return name
        return "choice" if self.choices else "action"


class Result(Frozen):
    """A final state: what was found and what follows from it."""

    outcome: Literal["ok", "bad", "undecided", "left"]
    say: str = Field(min_length=3)
    establishes: Words = ()
    undoes: Words = ()
    repairs: Words = ()
    postreq: Words = ()
    then: Name | None = None  # the procedure that follows at once, without a question


class Supply(Frozen):
    """Something to carry to the engine when it `applies`; `each` says that every cylinder takes the amount."""

    item: str = Field(min_length=2)
    group: Literal["tool", "supply", "gear"] = "tool"
    amount: str = ""
    each: Literal["cylinder"] | None = None
    applies: Conditions = {}


def _as_supplies(value: Any) -> Any:
    if isinstance(value, list):
        return [{"item": v} if isinstance(v, str) else v for v in value]
    return value


class Procedure(Frozen):
    """The smallest piece of guided work that stands alone."""

    id: Name
    title: str = Field(min_length=3, max_length=60)
    purpose: str = Field(min_length=10)
    stage: Name
    line: Literal["main", "asked"] = "main"
    minutes: float = Field(gt=0, le=2000)
    applies: Conditions = {}
    prereq: Words = ()
    after: Words = ()  # work that must have ended well before this is offered, once it was tried
    supplies: Annotated[tuple[Supply, ...], BeforeValidator(_as_supplies)] = ()
    steps: dict[Name, Step] = Field(min_length=1)
    results: dict[Name, Result] = Field(min_length=1)

    @property
    def first(self) -> str:
        return next(iter(self.steps))

    def following(self, step: str) -> str | None:
        """The step after `step` in file order, None at the end."""
        names = list(self.steps)
        index = names.index(step) + 1
        return names[index] if index < len(names) else None


class HoldPoint(Frozen):
    """A fact that must hold and still be fresh before hazardous work goes on."""

    say: str = Field(min_length=3)
    lasts_minutes: float | None = Field(default=None, gt=0, alias="lasts-minutes")
    place: bool = False
    undone_by: Words = Field(default=(), alias="undone-by")
    applies: Conditions = {}
    quick: bool = False
    why: str = ""
    mark: str = "common practice, no source"


class HazardClass(Frozen):
    """What a class of hazard demands before a step of it: hold points, a starter permit, cautions, gear."""

    say: str = Field(min_length=3)
    holds: Words = ()
    permit: bool = False
    cautions: tuple[Note, ...] = Field(min_length=1)
    gear: Words = ()


class Safety(Frozen):
    """The whole of `hazards.yaml`."""

    hold_points: dict[Name, HoldPoint] = Field(alias="hold-points")
    hazards: dict[Name, HazardClass]

    def demands(self, hazards: tuple[str, ...]) -> tuple[str, ...]:
        """The hold points that all known `hazards` together demand, in the order of the file."""
        wanted = {h for name in hazards if name in self.hazards for h in self.hazards[name].holds}
        return tuple(h for h in self.hold_points if h in wanted)

    def needs_permit(self, hazards: tuple[str, ...]) -> bool:
        """Does a class of hazard wait for the starter's permit?"""
        return any(self.hazards[name].permit for name in hazards)


class Stage(Frozen):
    """One stage of the whole job, in order. Work left for later is done before what follows a `goal`.

    `order` names the procedures that come first within the stage, in this order; all others follow by name.
    """

    title: str = Field(min_length=3)
    goal: bool = False
    order: Words = ()

    def place_of(self, procedure: str) -> int:
        """Where `procedure` comes within the stage; those that `order` does not name share the last place."""
        return self.order.index(procedure) if procedure in self.order else len(self.order)
