"""The values that judges take and give, and the limits they judge by (data with sources)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, model_validator

from firststart.engine.profile import EngineProfile
from firststart.errors import UnknownName
from firststart.physics.subject import MARKS
from firststart.units import Measured, measured


class Limit(BaseModel):
    """One published (or marked) number, table or rule: `value` is whatever its user expects, in `unit`."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    value: Any = None
    unit: str = ""
    kind: str = ""
    source: str = Field(min_length=4)
    mark: str
    note: str = ""

    @model_validator(mode="after")
    def _marked(self) -> Limit:
        if self.mark not in MARKS:
            raise ValueError(f"mark is {self.mark!r}, but must be one of {', '.join(MARKS)}")
        return self

    def si(self) -> float:
        """The value as one SI float."""
        return measured(float(self.value), self.unit, self.kind).si


class Limits(BaseModel):
    """All limits by dotted name, such as `compression.rule.ratio-75`."""

    model_config = ConfigDict(defer_build=True, frozen=True)

    by_name: dict[str, Limit]

    def __getitem__(self, name: str) -> Limit:
        try:
            return self.by_name[name]
        except KeyError:
            raise UnknownName(f"There is no limit called {name!r} in procedures/limits.") from None

    def under(self, prefix: str) -> dict[str, Limit]:
        """Every limit whose name starts with `prefix.`; keys without the prefix, in file order."""
        return {k[len(prefix) + 1 :]: v for k, v in self.by_name.items() if k.startswith(prefix + ".")}


@dataclass(frozen=True)
class Reading:
    """One measured value under judgement. `resolution` is the instrument's, in SI, None when unknown."""

    name: str
    value: Measured
    cylinder: int | None = None
    resolution: float | None = None


@dataclass(frozen=True)
class Context:
    """What a judge may look at: the profile, the limits and the readings made so far (latest of each).

    `readings` maps (name, cylinder or None) to a measured value: this job's, newest wins.
    `earlier` holds the readings of the previous run of the same procedure, for trends.
    """

    profile: EngineProfile
    limits: Limits
    readings: Mapping[tuple[str, int | None], Measured] = field(default_factory=dict)
    earlier: Mapping[tuple[str, int | None], Measured] = field(default_factory=dict)

    def series(self, name: str) -> dict[int, Measured]:
        """The readings called `name` by cylinder, in order."""
        found = {c: v for (n, c), v in self.readings.items() if n == name and c is not None}
        return dict(sorted(found.items()))


@dataclass(frozen=True)
class Verdict:
    """What a judge says. `word` is one of its closed list; bounds are SI in `kind`, shown in `unit`."""

    word: str
    say: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    kind: str = ""
    limit: str = ""
    source: str = ""
    mark: str = ""
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judge:
    """A named calculator for procedures.

    `of` is the kind of quantity it judges, or "" when it judges the set of readings made so far.
    `words` is the closed list of verdicts; a procedure must answer each of them.
    """

    name: str
    of: str
    words: tuple[str, ...]
    run: Callable[[Reading | None, Context], Verdict]
