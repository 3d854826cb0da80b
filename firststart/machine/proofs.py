"""What is proved of one compiled table: each proof yields the state, what is wrong, and a path that shows it."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass

from firststart.engine.profile import applies
from firststart.machine.compile import events_of
from firststart.machine.table import EVENTLESS, FINAL, GATE, LEAVE, PERMIT, PREREQ, Table
from firststart.procedure.model import Safety
from firststart.procedure.needs import OF_CRANKS


@dataclass(frozen=True)
class Fault:
    """One fault of a table: the state it belongs to, what is wrong, and the states on a shortest way to it."""

    state: str
    message: str
    path: tuple[str, ...]


Faults = Iterator[Fault]


class Proven:
    """A table under proof: what can be reached, from where first, and what the safety data demand."""

    def __init__(self, table: Table, safety: Safety, judge_words: Mapping[str, tuple[str, ...]]) -> None:
        self.table, self.safety, self.judge_words = table, safety, judge_words
        self.came_from = _search(table, ())

    def path(self, state: str) -> tuple[str, ...]:
        """A shortest way from the start to a state, as names."""
        return _path(self.came_from, state)

    def fault(self, state: str, message: str, path: tuple[str, ...] = ()) -> Fault:
        """A fault at a state."""
        return Fault(state, message, path or self.path(state))


def faults_of(table: Table, safety: Safety, judge_words: Mapping[str, tuple[str, ...]]) -> tuple[Fault, ...]:
    """Every fault of one table."""
    proven = Proven(table, safety, judge_words)
    return tuple(fault for proof in PROOFS for fault in proof(proven))


def gated(p: Proven) -> Faults:
    """No hazardous state is entered but through its gate, which demands all that its classes demand, on every path."""
    for name, state in p.table.states.items():
        if not state.hazardous or state.step is None or name not in p.came_from:
            continue
        gate = f"{name}.{GATE}"
        around = _around(p.table, name, gate)
        if around:
            yield p.fault(name, "the hazardous step can be entered without its gate", around)
        demanded = set(_demanded(p, name))
        for arrow in p.table.leaving.get(gate, ()):
            if arrow.target == name and (not demanded <= arrow.needs or arrow.lacking):
                missing = ", ".join(sorted(demanded - arrow.needs))
                yield p.fault(name, f"the gate does not demand {missing or 'its hold points'}")
        if not demanded <= set(state.needs):
            missing = ", ".join(sorted(demanded - set(state.needs)))
            yield p.fault(name, f"the step does not ask for {missing} again when it begins")
        yield from _kept(p, name, gate, demanded - {PERMIT})


def begun(p: Proven) -> Faults:
    """Nothing is reached before the hold points of `prereq`, as far as they are for this engine."""
    points = p.safety.hold_points
    wanted = {h for h in p.table.procedure.prereq if applies(points[h].applies, p.table.words, unknown=True)}
    if not wanted:
        return
    if p.table.initial != PREREQ:
        yield p.fault(p.table.initial, f"the work begins without {', '.join(sorted(wanted))}")
        return
    for arrow in p.table.leaving[PREREQ]:
        if arrow.event != LEAVE and (arrow.lacking or not wanted <= arrow.needs):
            missing = ", ".join(sorted(wanted - arrow.needs))
            yield p.fault(PREREQ, f"the work begins without {missing or 'its hold points'}")


def _kept(p: Proven, name: str, gate: str, holds: set[str]) -> Faults:
    """The arrow back to the gate comes first, and is taken when any one of the hold points is lacking."""
    first = next(iter(p.table.leaving[name]), None)
    falls = first is not None and first.event == EVENTLESS and first.lacking and first.target == gate
    if holds and not (falls and first is not None and holds <= first.needs):
        yield p.fault(name, "the hazardous step is kept although its hold points have gone stale")


def _demanded(p: Proven, name: str) -> Iterator[str]:
    """What the hazard classes of a state demand on this engine, worked out anew from the safety data."""
    step = p.table.states[name].step
    assert step is not None  # only hazardous states come here
    classes = {*step.hazard, *(OF_CRANKS[step.crank.purpose] if step.crank is not None else ())}
    for hazard in classes:
        for hold in p.safety.hazards[hazard].holds:
            if applies(p.safety.hold_points[hold].applies, p.table.words, unknown=True):
                yield hold
    if step.crank is not None:
        yield PERMIT


def ends(p: Proven) -> Faults:
    """From every state some path leads to an end without passing a hazardous step first, and work can be left."""
    states = p.table.states
    into: dict[str, list[str]] = {name: [] for name in states}
    for arrow in p.table.arrows:
        if not states[arrow.target].hazardous:
            into[arrow.target].append(arrow.source)
    safe = {name for name, state in states.items() if state.sort == FINAL}
    queue = deque(safe)
    while queue:
        for source in into[queue.popleft()]:
            if source not in safe:
                safe.add(source)
                queue.append(source)
    for name in p.came_from:
        if name not in safe:
            yield p.fault(name, "there is no way from here to a safe end")
        elif states[name].sort != FINAL and LEAVE not in p.table.events(name):
            yield p.fault(name, "the work cannot be left here")


def covered(p: Proven) -> Faults:
    """Every event that a state can meet leads somewhere, and to one place only."""
    for name in p.came_from:
        state = p.table.states[name]
        if state.step is None:
            continue
        told = [a.event for a in p.table.leaving[name] if a.event not in (EVENTLESS, LEAVE)]
        for event in events_of(state.step, p.judge_words):
            if told.count(event) != 1:
                what = "leads nowhere" if event not in told else "leads to two places"
                yield p.fault(name, f"the answer {event!r} {what}")


def rests(p: Proven) -> Faults:
    """No loop of states that move without the person: judge steps and open gates."""
    moving = {
        name: [
            a.target
            for a in p.table.leaving[name]
            if not a.lacking and a.event != LEAVE and (a.event == EVENTLESS or p.table.states[name].sort == "judge")
        ]
        for name in p.came_from
    }
    for start, onward in moving.items():
        loop = _loop(moving, start) if onward else ()
        if loop:
            yield p.fault(start, "this moves for ever without the person", (*p.path(start), *loop))


def _loop(moving: Mapping[str, list[str]], start: str) -> tuple[str, ...]:
    """The states of a shortest loop back to `start`; empty when there is none."""
    came: dict[str, str] = {}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        for target in moving.get(here, ()):
            if target == start:
                return (*_path({**came, start: ""}, here)[1:], start)
            if target not in came:
                came[target] = here
                queue.append(target)
    return ()


def _around(table: Table, name: str, gate: str) -> tuple[str, ...]:
    """A shortest path to `name` that does not pass `gate`; empty when every path does."""
    if all(a.target != name or a.source == gate for a in table.arrows) and table.initial != name:
        return ()
    came = _search(table, (gate,))
    return _path(came, name) if name in came else ()


def _search(table: Table, barred: Collection[str]) -> dict[str, str]:
    """Every state that can be reached without passing `barred`, and the state before it on a shortest path."""
    if table.initial in barred:
        return {}
    came = {table.initial: ""}
    queue = deque(came)
    while queue:
        here = queue.popleft()
        for arrow in table.leaving[here]:
            if arrow.target not in came and arrow.target not in barred:
                came[arrow.target] = here
                queue.append(arrow.target)
    return came


def _path(came_from: Mapping[str, str], state: str) -> tuple[str, ...]:
    path: list[str] = []
    here = state
    while here:
        path.append(here)
        here = came_from.get(here, "")
    return tuple(reversed(path))


PROOFS: tuple[Callable[[Proven], Faults], ...] = (begun, gated, ends, covered, rests)
