"""The compiled machine of one procedure for one engine: immutable states and arrows.

Words are SCXML's: a state, an event, a transition (here: arrow) with an optional condition; an arrow
without an event is taken as soon as its condition holds. Conditions are sets of truths: the hold points
that are fresh now, and `permit` when the starter may turn.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from firststart.procedure.model import Procedure, Result, Step
from firststart.procedure.needs import hazards_of

EVENTLESS = ""
LEAVE = "leave"
PERMIT = "permit"
GATE = "gate"
FINAL = "final"
PREREQ = "prereq.gate"


@dataclass(frozen=True)
class State:
    """One state. `step_id` and `cylinder` say where it came from; `needs` is what it may not be entered without."""

    name: str
    sort: str  # action, choice, measure, crank, wait, judge, gate, final
    step_id: str = ""
    step: Step | None = None
    cylinder: int | None = None
    needs: tuple[str, ...] = ()
    result: Result | None = None
    guards: str = ""  # for a gate: the state behind it

    @property
    def hazardous(self) -> bool:
        """Does its step name a hazard class?"""
        return self.step is not None and bool(hazards_of(self.step))


@dataclass(frozen=True)
class Arrow:
    """A transition. Enabled when all `needs` are true; with `lacking`, when at least one is not."""

    source: str
    event: str
    target: str
    needs: frozenset[str] = frozenset()
    lacking: bool = False

    def enabled(self, truths: Iterable[str]) -> bool:
        """May it be taken with what holds now?"""
        return self.needs.issubset(truths) != self.lacking


@dataclass(frozen=True)
class Table:
    """States by name, and arrows in the order in which they are tried."""

    procedure: Procedure
    initial: str
    states: dict[str, State]
    arrows: tuple[Arrow, ...]
    words: dict[str, str] = field(default_factory=dict)  # the profile words it was compiled for

    @cached_property
    def leaving(self) -> dict[str, tuple[Arrow, ...]]:
        """Arrows by their source."""
        found: dict[str, list[Arrow]] = {name: [] for name in self.states}
        for arrow in self.arrows:
            found[arrow.source].append(arrow)
        return {name: tuple(arrows) for name, arrows in found.items()}

    @cached_property
    def asks_permit(self) -> frozenset[str]:
        """The states from which a step, with all that follows by itself, depends on whether the starter may turn."""
        asking = {a.source for a in self.arrows if PERMIT in a.needs}
        onward = {s: {a.target for a in arrows if a.event == EVENTLESS} for s, arrows in self.leaving.items()}
        grown = True
        while grown:
            more = {s for s, targets in onward.items() if s not in asking and targets & asking}
            asking |= more
            grown = bool(more)
        return frozenset(asking | {a.source for a in self.arrows if a.target in asking})

    @cached_property
    def meeting(self) -> frozenset[tuple[str, str]]:
        """The answers (state, event) that meet a hold point at once, by themselves or by the result they lead to."""
        ends = {n for n, s in self.states.items() if s.result is not None and s.result.establishes}
        by_step = {
            (n, e) for n, s in self.states.items() if s.step is not None for e, h in s.step.establishes.items() if h
        }
        return frozenset(by_step | {(a.source, a.event) for a in self.arrows if a.target in ends})

    def events(self, state: str) -> tuple[str, ...]:
        """The events that `state` answers, in order."""
        return tuple(dict.fromkeys(a.event for a in self.leaving[state] if a.event != EVENTLESS))

    def reachable(self, without: Iterable[str] = ()) -> dict[str, tuple[str, ...]]:
        """Every state reachable from the initial one with a shortest path to it (names of states).

        `without` names states that may not be passed.
        """
        barred = set(without)
        paths: dict[str, tuple[str, ...]] = {}
        if self.initial not in barred:
            paths[self.initial] = (self.initial,)
        queue = deque(paths)
        while queue:
            here = queue.popleft()
            for arrow in self.leaving[here]:
                if arrow.target not in paths and arrow.target not in barred:
                    paths[arrow.target] = (*paths[here], arrow.target)
                    queue.append(arrow.target)
        return paths
