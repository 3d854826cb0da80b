"""The shape of the book's file: one frozen pydantic model for each part, nothing resolved yet."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


def _one_or_list(value: object) -> object:
    return [value] if isinstance(value, str) else value


def _bare_list(value: object) -> object:
    return {str(v): {} for v in value} if isinstance(value, list) else value


Words = Annotated[tuple[str, ...], BeforeValidator(_one_or_list)]
Level = str | float
"""A chance: a word of the file's own scale, or a number from 0 to 1."""


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, coerce_numbers_to_str=False)


class PolicyPart(_Part):
    """The numbers that turn chances into advice."""

    ruled_out: float = Field(0.02, alias="ruled out below", gt=0, lt=0.5)
    found: float = Field(0.90, alias="found from", gt=0.5, lt=1)
    trial: float = Field(0.50, alias="trial fix from", gt=0, lt=1)
    costly: float = Field(0.95, alias="costly fix from", gt=0.5, lt=1)
    close: float = Field(0.10, alias="close within", ge=0, lt=1)
    try_minutes: float = Field(3.0, alias="try minutes", gt=0)
    enough: float = Field(0.05, alias="least information", gt=0)


class OutsidePart(_Part):
    """What the book does not know."""

    chance: Level
    say: str
    specialist: str


class ZonePart(_Part):
    """A part of the engine that suspects lie in."""

    say: str
    specialist: str


class AccessPart(_Part):
    """Work that several checks share and that is paid once while it stands open."""

    say: str
    minutes: float = Field(gt=0)
    closes: bool = Field(True, alias="closed for a try")


class FixPart(_Part):
    """How a suspect is put right."""

    do: str = ""
    minutes: float | None = Field(None, gt=0)
    procedure: str | None = None
    works: Level = 0.95
    hazardous: bool = False
    irreversible: bool = False
    parts: bool = False


class SuspectPart(_Part):
    """A fault that could explain what was seen."""

    say: str
    zone: str
    base: float = Field(ge=0, lt=1)
    per_year: float = Field(0.0, alias="per year", ge=0, lt=1)
    ages: str | None = None
    eased: dict[str, dict[str, float]] = Field(default_factory=dict)
    applies: dict[str, Words] = Field(default_factory=dict)
    stops: Level
    fix: FixPart | None = None
    mark: str | None = None


class RowPart(_Part):
    """One yes-or-no row: which words are bad, how surely each suspect makes it bad, which engines can show it."""

    applies: dict[str, Words] = Field(default_factory=dict)
    bad_when: Words = Field(alias="bad when")
    graded: dict[str, Level] = Field(default_factory=dict)
    leak: Level | None = Field(None, alias="looks bad anyway")
    bad_if: dict[str, Level] = Field(alias="bad if")


class CheckPart(_Part):
    """A piece of work whose outcome tells suspects apart."""

    say: str
    do: str
    minutes: float | None = Field(None, gt=0)
    access: Words = ()
    needs: dict[str, Words] = Field(default_factory=dict)
    applies: dict[str, Words] = Field(default_factory=dict)
    hazard: Words = ()
    undoes: Words = ()
    procedure: str | None = None
    first: bool = Field(False, alias="comes first")
    observes: str
    ok_when: Words = Field(alias="ok when")
    bad_when: Words = Field((), alias="bad when")
    graded: dict[str, Level] = Field(default_factory=dict)
    leak: Level | None = Field(None, alias="looks bad anyway")
    bad_if: dict[str, Level] = Field(default_factory=dict, alias="bad if")
    rows: dict[str, RowPart] = Field(default_factory=dict)
    mark: str | None = None


class BookPart(_Part):
    """The whole file."""

    title: str
    mark: str
    words: dict[str, float]
    slip: float = Field(gt=0, lt=0.1)
    policy: PolicyPart = Field(default_factory=lambda: PolicyPart.model_validate({}))
    outside: OutsidePart
    fields: dict[str, Words]
    ageing: dict[str, dict[str, float]]
    climate: dict[str, dict[str, float]] = Field(default_factory=dict)
    zones: dict[str, ZonePart]
    access: Annotated[dict[str, AccessPart], BeforeValidator(_bare_list)] = Field(default_factory=dict)
    suspects: dict[str, SuspectPart]
    checks: dict[str, CheckPart]
