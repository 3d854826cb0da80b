"""Proofs over compiled tables, for every kind of engine that a procedure's conditions can tell apart.

Proved of each table: every state is reached by some engine, every state has a way to a safe end, every
hazardous state is entered only through its gate, the gate demands all that the hazard classes demand,
and nothing moves for ever without the person. Each problem names the shortest path that shows it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from firststart.engine.profile import UNKNOWN, WORDS, applies
from firststart.errors import Problem, UnknownName
from firststart.machine.compile import compile_table, fields_read
from firststart.machine.table import EVENTLESS, FINAL, GATE, LEAVE, PERMIT, Table
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.procedure.needs import attainable

MAX_ENGINES = 4000


@dataclass(frozen=True)
class Proof:
    """What was proved: tables compiled, states and arrows seen, and every problem."""

    tables: int
    states: int
    arrows: int
    problems: tuple[Problem, ...]


def prove(
    library: Library, judge_words: Mapping[str, tuple[str, ...]], only: Collection[str] | None = None
) -> Proof:
    """Prove the procedures (`only` some of them) for every engine their conditions can tell apart."""
    problems: list[Problem] = []
    tables = states = arrows = 0
    for procedure in library.procedures.values():
        if only is not None and procedure.id not in only:
            continue
        found = set[str]()
        for words, cylinders in engines(procedure, library):
            try:
                table = compile_table(procedure, library.safety, judge_words, words, cylinders)
            except UnknownName as error:
                problems.append(_at(library, procedure, (), f"cannot be compiled: {error}"))
                break
            tables, states, arrows = tables + 1, states + len(table.states), arrows + len(table.arrows)
            found |= {table.states[name].step_id or name for name in table.reachable()}
            problems += prove_table(table, library)
        problems += _never_reached(procedure, library, found)
    problems += _waiting(library, only)
    return Proof(tables, states, arrows, tuple(sorted(set(problems))))


def engines(procedure: Procedure, library: Library) -> Iterator[tuple[dict[str, str], int | None]]:
    """Profiles that the procedure can tell apart: words (unknown included) with a number of cylinders."""
    fields = sorted(fields_read(procedure, library.safety))
    choices = [_classes(procedure, library, field) for field in fields]
    each = (None, 1, 2, 8) if any(s.foreach for s in procedure.steps.values()) else (None,)
    count = 0
    for combination in product(*choices):
        words = {f: w for f, w in zip(fields, combination, strict=True) if w != UNKNOWN}
        if not applies(procedure.applies, words, unknown=True):
            continue
        for cylinders in each:
            count += 1
            if count > MAX_ENGINES:
                return
            yield words, cylinders


def _classes(procedure: Procedure, library: Library, field: str) -> list[str]:
    """One word for each set of words of `field` that all conditions treat alike."""
    conditions = [c[field] for c in _conditions(procedure, library) if field in c]
    alike: dict[tuple[bool, ...], str] = {}
    for word in (*WORDS[field], UNKNOWN):
        mark = (*(word in accepted for accepted in conditions), word == UNKNOWN)
        alike.setdefault(mark, word)
    return list(alike.values())


def _conditions(procedure: Procedure, library: Library) -> list[Mapping[str, tuple[str, ...]]]:
    found: list[Mapping[str, tuple[str, ...]]] = [procedure.applies]
    found += [point.applies for point in library.safety.hold_points.values()]
    for step in procedure.steps.values():
        found.append(step.applies)
        found += [t.when for targets in step.go.values() for t in targets]
    return found


def prove_table(table: Table, library: Library) -> list[Problem]:
    """Every problem of one compiled table."""
    paths = table.reachable()
    problems: list[Problem] = []
    for check in (_gated, _ends, _rests):
        for state, message in check(table, library, paths):
            step = table.states[state].step_id
            place = ("steps", step) if step in table.procedure.steps else ()
            shown = " > ".join(paths.get(state, (state,)))
            problems.append(_at(library, table.procedure, place, f"{message} (path: {shown})"))
    return problems


Found = Iterator[tuple[str, str]]
Paths = Mapping[str, tuple[str, ...]]


def _gated(table: Table, library: Library, paths: Paths) -> Found:
    """No hazardous state without its own gate on every path, and the gate demands all hold points."""
    for name, state in table.states.items():
        if not state.hazardous or state.step is None or name not in paths:
            continue
        gate = f"{name}.{GATE}"
        if name in table.reachable(without=(gate,)):
            yield name, "the hazardous step can be entered without its gate"
        demanded = set(_demanded(table, library, name))
        for arrow in table.leaving.get(gate, ()):
            if arrow.target == name and (not demanded <= arrow.needs or arrow.lacking):
                missing = ", ".join(sorted(demanded - arrow.needs))
                yield name, f"the gate does not demand {missing or 'its hold points'}"
        back = {a.target for a in table.leaving[name] if a.event == EVENTLESS and a.lacking}
        if demanded - {PERMIT} and gate not in back:
            yield name, "the hazardous step is kept although its hold points have gone stale"


def _demanded(table: Table, library: Library, name: str) -> Iterator[str]:
    """What the hazard classes of a state demand on this engine, worked out anew from the safety data."""
    step = table.states[name].step
    assert step is not None  # only hazardous states come here
    for hold in library.safety.demands(step.hazard):
        if applies(library.safety.hold_points[hold].applies, table.words, unknown=True):
            yield hold
    if step.crank is not None and library.safety.needs_permit(step.hazard):
        yield PERMIT


def _ends(table: Table, _library: Library, paths: Paths) -> Found:
    """From every state some path leads to an end without passing a hazardous step first."""
    safe = {name for name, state in table.states.items() if state.sort == FINAL}
    arrows = [a for a in table.arrows if not table.states[a.target].hazardous]
    grown = True
    while grown:
        more = {a.source for a in arrows if a.target in safe} - safe
        safe |= more
        grown = bool(more)
    for name in paths:
        if name not in safe:
            yield name, "there is no way from here to a safe end"
        elif table.states[name].sort != FINAL and LEAVE not in table.events(name):
            yield name, "the work cannot be left here"


def _rests(table: Table, _library: Library, paths: Paths) -> Found:
    """No loop of states that move without the person: judge steps and open gates."""
    moving = {
        name: [
            a.target
            for a in table.leaving[name]
            if not a.lacking and a.event != LEAVE and (a.event == EVENTLESS or table.states[name].sort == "judge")
        ]
        for name in paths
    }
    for start in paths:
        seen: set[str] = set()
        stack = list(moving[start])
        while stack:
            here = stack.pop()
            if here == start:
                yield start, "this moves for ever without the person"
                break
            if here not in seen:
                seen.add(here)
                stack += moving.get(here, [])


def _never_reached(procedure: Procedure, library: Library, found: set[str]) -> Iterator[Problem]:
    for name in procedure.steps:
        if name not in found:
            yield _at(
                library,
                procedure,
                ("steps", name),
                f"no engine ever reaches the step {name!r}; lead to it or remove it",
            )
    for name in procedure.results:
        if name not in found:
            yield _at(
                library,
                procedure,
                ("results", name),
                f"no engine ever reaches the result {name!r}; lead to it or remove it",
            )


def _waiting(library: Library, only: Collection[str] | None) -> Iterator[Problem]:
    """A procedure that can never be done: hold points that wait for each other, on some kind of engine."""
    told = set[str]()
    for kind in (*WORDS["kind"], UNKNOWN):
        for fuel in WORDS["fuel"]:
            words = {"fuel": fuel} if kind == UNKNOWN else {"kind": kind, "fuel": fuel}
            _done, stuck = attainable(library, words)
            for name, holds in stuck.items():
                if name not in told and (only is None or name in only):
                    told.add(name)
                    shown = ", ".join(holds) or "each other"
                    yield _at(
                        library,
                        library.procedures[name],
                        ("prereq",),
                        f"can never be done on a {kind} with {fuel}: nothing that can be done before it meets {shown}",
                    )


def _at(library: Library, procedure: Procedure, path: tuple[str | int, ...], message: str) -> Problem:
    return library.documents[procedure.id].problem(path, message)
