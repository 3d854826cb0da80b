"""The book's values after reading: every word a number, every name known to exist. All frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

Applies = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Fix:
    """How a suspect is put right: spoken text, minutes, guided procedure, chance that it works, and its price."""

    do: str
    minutes: float
    procedure: str | None
    works: float
    hazardous: bool
    irreversible: bool
    parts: bool

    @property
    def costly(self) -> bool:
        """True when it must never be done as a trial."""
        return self.hazardous or self.irreversible or self.parts

    @property
    def price(self) -> str:
        """Why it is not a trial, in words; empty when it may be one."""
        reasons = (
            (self.parts, "it costs parts"),
            (self.irreversible, "it cannot be undone"),
            (self.hazardous, "it has hazards"),
        )
        return " and ".join(text for flag, text in reasons if flag)


@dataclass(frozen=True)
class Suspect:
    """A fault. `base` is the chance on the first day, `per_year` the hazard a year, `stops` how surely it alone
    stops the engine starting (all 0 to 1). `eased` maps a profile field and value to a factor on the hazard."""

    id: str
    name: str
    zone: str
    base: float
    per_year: float
    ages: str | None
    eased: Mapping[str, Mapping[str, float]]
    applies: Applies
    stops: float
    fix: Fix
    mark: str
    line: int


@dataclass(frozen=True)
class Row:
    """One yes-or-no row of a check: P(ok | faults) = (1 - leak) x product of (1 - q).

    An engine that `applies` leaves out cannot show this row; it is then always ok.
    """

    id: str
    check: str
    bad_when: tuple[str, ...]
    graded: Mapping[str, float]
    leak: float
    bad_if: Mapping[str, float]
    applies: Applies
    line: int


@dataclass(frozen=True)
class Check:
    """A piece of work with one or more rows, worst first. `words` are all outcomes it accepts, worst first.

    `undoes` are hold points that no longer hold once it was done: a fuel line that was open wants its leak check again.
    `first`: while it is bad, what can make it bad is looked for before anything else (an engine that does not turn
    is made to turn before its spark is doubted).
    """

    id: str
    name: str
    do: str
    minutes: float
    access: tuple[str, ...]
    needs: Mapping[str, tuple[str, ...]]
    applies: Applies
    hazard: tuple[str, ...]
    undoes: tuple[str, ...]
    procedure: str | None
    observes: str
    first: bool
    ok_when: tuple[str, ...]
    rows: tuple[Row, ...]
    mark: str
    line: int

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Every outcome word, worst first, graded words beside their row, good ones last."""
        found: list[str] = []
        for row in self.rows:
            found.extend(w for w in (*row.bad_when, *row.graded) if w not in found)
        return (*found, *(w for w in self.ok_when if w not in found))


@dataclass(frozen=True)
class Zone:
    """A part of the engine, its spoken name, and what a specialist would do next there."""

    id: str
    name: str
    specialist: str


@dataclass(frozen=True)
class Access:
    """Set-up work paid once. `closes`: it is put back before the engine is tried."""

    id: str
    name: str
    minutes: float
    closes: bool


@dataclass(frozen=True)
class Policy:
    """The numbers that turn chances into advice; the file's head explains each."""

    ruled_out: float
    found: float
    trial: float
    costly: float
    close: float
    try_minutes: float
    enough: float


@dataclass(frozen=True)
class Reading:
    """What one word of a check says about one row; `likelihood` as in `Finding`."""

    row: str
    outcome: str
    likelihood: tuple[float, float] | None = None


def applies(rule: Applies, profile: Mapping[str, str]) -> bool:
    """True when every field of `rule` matches `profile`; a field that is missing or unknown matches."""
    return all(profile.get(name, "unknown") in ("unknown", "", *words) for name, words in rule.items())
