"""What the advice is: frozen values, without numpy, that prompts, reports and JSON are made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Literal

Kind = Literal["check", "fix", "try", "wait", "specialist", "done"]
State = Literal["found", "left", "mended", "ruled out"]


@dataclass(frozen=True)
class Standing:
    """One suspect: its chance now and at the start, the word for it, where it stands and why.

    `reason` names the check that decided (or the repair), `at` when that was; both None when nothing spoke of it.
    """

    suspect: str
    name: str
    zone: str
    zone_name: str
    chance: float
    prior: float
    word: str
    state: State
    reason: str | None = None
    at: datetime | None = None


@dataclass(frozen=True)
class Step:
    """One thing to do. `id` is a check's or a suspect's id; `do` is spoken; `bits` is what it would tell."""

    kind: Kind
    id: str
    name: str
    do: str
    minutes: float
    procedure: str | None = None
    observes: str | None = None
    words: tuple[str, ...] = ()
    hazard: tuple[str, ...] = ()
    bits: float = 0.0
    chance_bad: float | None = None


@dataclass(frozen=True)
class BlockedCheck:
    """A check that may not be done now, and why; `by_job` is True when a safety rule of the job says so."""

    id: str
    name: str
    why: str
    by_job: bool


@dataclass(frozen=True)
class Advice:
    """What is ruled out, left and found, what to do next and why.

    `spoken` is one sentence of at most 20 words, `why_not` another about the obvious alternative (or empty).
    `lines` is the long form for the screen. `outside` is the chance that the cause is not in the book.
    `method` is "exact" or says how many draws the figures are worth. `mind` works out `change_mind`
    when it is asked for.
    """

    next: Step
    spoken: str
    why_not: str
    standing: tuple[Standing, ...]
    runners_up: tuple[Step, ...] = ()
    blocked: tuple[BlockedCheck, ...] = ()
    lines: tuple[str, ...] = ()
    ignored: tuple[str, ...] = ()
    outside: float = 0.0
    method: str = "exact"
    zones: dict[str, float] = field(default_factory=dict)
    mind: Callable[[], tuple[str, ...]] = field(default=tuple, repr=False, compare=False)

    @cached_property
    def change_mind(self) -> tuple[str, ...]:
        """What would change the advice: the outcomes of the next check, and the finding that most rests on."""
        return self.mind()

    def of(self, state: State) -> tuple[Standing, ...]:
        """The suspects in this state, likeliest first."""
        return tuple(s for s in self.standing if s.state == state)

    @property
    def ruled_out(self) -> tuple[Standing, ...]:
        """Suspects cleared by a check, at odds under the book's limit. Greyed, never gone."""
        return self.of("ruled out")

    @property
    def left(self) -> tuple[Standing, ...]:
        """Suspects that are still possible."""
        return self.of("left")

    @property
    def found(self) -> tuple[Standing, ...]:
        """Suspects that are sure enough to mend."""
        return self.of("found")
