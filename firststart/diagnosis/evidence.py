"""Evidence the job hands over, and the rules that decide which of it counts.

Rules, in words:

* A repeat with nothing changed is not new evidence: the first reading counts once. When the repeat says the
  opposite, the later reading takes the place of the earlier one and is marked as changed.
* A repair is a new state of its suspect. Findings before it still speak of what was there before it; findings
  after it speak of what is there now. Nothing is deleted.
* After a repair only the rows that were bad and had that suspect among their causes are opened again.
  What was good stays good.
* What made a row bad, be it a fault or a false alarm, makes it bad again until it is put right. So a row that is
  still bad after a repair says all that it said before, and was not bad because of what was put right; a row that
  turned good after a repair was bad because of what was put right in between.
* Tries are such a row too: what stops the engine goes on stopping it, and ten tries say no more than one.
* A finding that something made stale is kept and dated, and does not count.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from firststart.errors import InputError

Outcome = Literal["bad", "ok"]
TRY = "try to start"
"""What a try is called where evidence is listed."""


@dataclass(frozen=True)
class Finding:
    """What a row of a check said.

    `check` is the row's id, as `Book.read` gives it. `likelihood` is None for a plain finding, or the pair
    (chance of this reading when the row is ok, chance when it is bad) for a graded one. `seq` is the number of
    the fact in the job; it orders all evidence. `stale_because` says what undid it, else None. `word` is the outcome
    as it was told, for the reasons that are shown.
    """

    check: str
    outcome: Outcome
    at: datetime
    seq: int
    likelihood: tuple[float, float] | None = None
    stale_because: str | None = None
    word: str = ""

    def __post_init__(self) -> None:
        if self.outcome not in ("bad", "ok"):
            raise InputError(f"The outcome of {self.check} is {self.outcome!r}; it must be 'bad' or 'ok'.")
        if self.likelihood is not None:
            _check_pair(self.check, self.likelihood)


@dataclass(frozen=True)
class Repair:
    """A suspect was put right. `success` is the chance that the repair worked; None takes the book's."""

    suspect: str
    at: datetime
    seq: int
    success: float | None = None

    def __post_init__(self) -> None:
        if self.success is not None and not 0.0 <= self.success <= 1.0:
            raise InputError(f"The success of repairing {self.suspect} is {self.success}; it must be from 0 to 1.")


@dataclass(frozen=True)
class NoStart:
    """It was tried properly and did not start."""

    seq: int
    at: datetime


@dataclass(frozen=True)
class Ran:
    """It was tried and it started."""

    seq: int
    at: datetime


Evidence = Finding | Repair | NoStart | Ran


@dataclass(frozen=True)
class Counted:
    """A finding that counts. `epoch` is how many repairs came before it; `row` None means the try to start.

    `until` is the epoch in which the same row was good again, None while it was not.
    """

    row: str | None
    outcome: Outcome
    epoch: int
    at: datetime
    seq: int
    likelihood: tuple[float, float] | None = None
    word: str = ""
    until: int | None = None


@dataclass(frozen=True)
class Ignored:
    """Evidence that is kept but does not count, and why."""

    what: str
    at: datetime
    seq: int
    why: str


@dataclass(frozen=True)
class Settled:
    """The evidence in order, ready for inference.

    `repairs` are the repairs in order (their place is the epoch they close); `current` maps a row to its last
    counted finding unless a repair has opened it again; `reopened` names those rows.
    """

    findings: tuple[Counted, ...]
    repairs: tuple[Repair, ...]
    ignored: tuple[Ignored, ...]
    current: Mapping[str, Counted]
    reopened: frozenset[str]
    last_try: int
    tried_since_repair: bool

    @property
    def running(self) -> bool:
        """True when the last try started it."""
        tries = [f for f in self.findings if f.row is None]
        return bool(tries) and tries[-1].outcome == "ok"


class _Settler:
    """Walks the evidence once, in order; `settle` is its only user."""

    def __init__(self, causes: Mapping[str, Iterable[str]], suspects: Iterable[str]) -> None:
        self.causes = {row: frozenset(names) for row, names in causes.items()}
        self.suspects = frozenset(suspects)
        self.findings: list[Counted] = []
        self.repairs: list[Repair] = []
        self.ignored: list[Ignored] = []
        self.current: dict[str, Counted] = {}
        self.reopened: set[str] = set()
        self.last_try = -1
        self.tried_epoch = -1

    def ignore(self, what: str, item: Evidence, why: str) -> None:
        self.ignored.append(Ignored(what, item.at, item.seq, why))

    def take(self, item: Evidence) -> None:
        if isinstance(item, Repair):
            self.take_repair(item)
        elif isinstance(item, Finding):
            self.take_finding(item)
        else:
            self.take_try(item)

    def take_repair(self, item: Repair) -> None:
        if item.suspect not in self.suspects:
            self.ignore(item.suspect, item, "this suspect is not in the book for this engine")
            return
        if item.success == 0.0:
            self.ignore(item.suspect, item, "it was not put right")
            return
        self.repairs.append(item)
        for row, found in list(self.current.items()):
            if found.outcome == "bad" and item.suspect in self.causes[row]:
                del self.current[row]
                self.reopened.add(row)

    def take_finding(self, item: Finding) -> None:
        if item.check not in self.causes:
            self.ignore(item.check, item, "this check is not in the book")
            return
        if item.stale_because is not None:
            self.ignore(item.check, item, f"stale: {item.stale_because}")
            return
        counted = Counted(item.check, item.outcome, len(self.repairs), item.at, item.seq, item.likelihood, item.word)
        before = self.current.get(item.check)
        if before is not None and (before.outcome, before.likelihood) == (counted.outcome, counted.likelihood):
            self.ignore(item.check, item, "a repeat with nothing changed is not new evidence")
            return
        self.follow(counted, "a later reading took its place")
        self.current[item.check] = counted
        self.reopened.discard(item.check)

    def follow(self, now: Counted, why: str) -> None:
        """Add a finding; earlier ones of its row give way, or end where it turned good after a repair."""
        for before in [f for f in self.findings if f.row == now.row]:
            self.findings.remove(before)
            turned_good = before.outcome == "bad" and now.outcome == "ok" and now.likelihood is None
            if turned_good and before.epoch < now.epoch and before.until is None:
                self.findings.append(replace(before, until=now.epoch))
            else:
                self.ignored.append(Ignored(now.row or TRY, before.at, before.seq, why))
        self.findings.append(now)

    def take_try(self, item: NoStart | Ran) -> None:
        self.last_try = item.seq
        self.tried_epoch = len(self.repairs)
        outcome: Outcome = "ok" if isinstance(item, Ran) else "bad"
        counted = Counted(None, outcome, len(self.repairs), item.at, item.seq)
        before = next((f for f in reversed(self.findings) if f.row is None), None)
        if before is not None and (before.outcome, before.epoch) == (counted.outcome, counted.epoch):
            self.ignore(TRY, item, "nothing was put right since the last try")
            return
        self.follow(counted, "the later try says more")


def settle(
    evidence: Iterable[Evidence], causes: Mapping[str, Iterable[str]], suspects: Iterable[str],
) -> Settled:
    """Order `evidence` by its number and apply the rules at the head of this file.

    `causes` maps every row of the book to the ids of its causes; `suspects` are the ids that apply.
    """
    walk = _Settler(causes, suspects)
    for item in sorted(evidence, key=lambda e: e.seq):
        walk.take(item)
    tried = not walk.repairs or len(walk.repairs) == walk.tried_epoch
    return Settled(
        tuple(walk.findings), tuple(walk.repairs), tuple(walk.ignored), dict(walk.current),
        frozenset(walk.reopened), walk.last_try, tried,
    )


def _check_pair(check: str, pair: tuple[float, float]) -> None:
    usable = len(pair) == 2 and all(math.isfinite(v) and v >= 0.0 for v in pair) and max(pair) > 0.0
    if not usable:
        raise InputError(f"The graded reading of {check} is {pair!r}; give two chances from 0 to 1, not both 0.")
