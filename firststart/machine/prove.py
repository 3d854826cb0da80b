"""Proofs over compiled tables, for every kind of engine that a procedure's conditions can tell apart.

Proved of each table: every state is reached by some engine, every state has a way to a safe end, every
hazardous state is entered only through its gate, the gate demands all that the hazard classes demand,
every answer leads to one place, and nothing moves for ever without the person. Proved of the library:
stop leads to work that nothing can hold up, and no work waits for itself on any kind of engine. Each
problem names the shortest path that shows it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from firststart.errors import Problem, UnknownName
from firststart.machine.compile import MAX_CYLINDERS, compile_table
from firststart.machine.kinds import Kind, conditions_of, conditions_of_establishers, kinds
from firststart.machine.proofs import faults_of
from firststart.machine.table import Table
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.procedure.needs import attainable, hazards_of

MAKE_SAFE = "make-safe"
MOST_KINDS = 20_000  # of one procedure: more is told as a problem, never left out in silence


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
        for kind, table in _tables(procedure, library, judge_words, problems):
            tables, states, arrows = tables + 1, states + len(table.states), arrows + len(table.arrows)
            problems += prove_table(table, library, judge_words)
            if kind.answers[0]:
                found |= {table.states[name].step_id or name for name in table.reachable()}
        problems += _never_reached(procedure, library, found)
    problems += _stop_work(library, only)
    problems += _waiting(library, only)
    return Proof(tables, states, arrows, tuple(sorted(set(problems))))


def _tables(
    procedure: Procedure, library: Library, judge_words: Mapping[str, tuple[str, ...]], problems: list[Problem]
) -> Iterator[tuple[Kind, Table]]:
    """Each kind of engine with its table. One that `applies` leaves out is proved too, if it can be compiled at all."""
    every = kinds(conditions_of(procedure, library.safety))
    if len(every) > MOST_KINDS:
        problems.append(_at(library, procedure, (), f"tells {len(every)} kinds of engine apart; use fewer conditions"))
        return
    for kind in every:
        for cylinders in _cylinders(procedure):
            try:
                yield kind, compile_table(procedure, library.safety, judge_words, kind.words, cylinders)
            except UnknownName as error:
                if kind.answers[0]:
                    problems.append(_at(library, procedure, (), f"cannot be compiled: {error}"))
                    return


def engines(procedure: Procedure, library: Library) -> Iterator[tuple[dict[str, str], int | None]]:
    """Profiles that the procedure applies to and can tell apart: words, and the number of cylinders."""
    for kind in kinds(conditions_of(procedure, library.safety)):
        if kind.answers[0]:
            yield from ((kind.words, cylinders) for cylinders in _cylinders(procedure))


def _cylinders(procedure: Procedure) -> tuple[int | None, ...]:
    """The numbers of cylinders that make a difference to it: unknown, and each one there can be."""
    each = any(step.foreach for step in procedure.steps.values())
    return (None, *range(1, MAX_CYLINDERS + 1)) if each else (None,)


def prove_table(table: Table, library: Library, judge_words: Mapping[str, tuple[str, ...]]) -> list[Problem]:
    """Every problem of one compiled table."""
    problems: list[Problem] = []
    for fault in faults_of(table, library.safety, judge_words):
        step = table.states[fault.state].step_id
        place = ("steps", step) if step in table.procedure.steps else ()
        shown = " > ".join(fault.path)
        problems.append(_at(library, table.procedure, place, f"{fault.message} (path: {shown})"))
    return problems


def _never_reached(procedure: Procedure, library: Library, found: set[str]) -> Iterator[Problem]:
    for sort, names in (("step", procedure.steps), ("result", procedure.results)):
        for name in names:
            if name not in found:
                message = f"no engine ever reaches the {sort} {name!r}; lead to it or remove it"
                yield _at(library, procedure, (f"{sort}s", name), message)


def _stop_work(library: Library, only: Collection[str] | None) -> Iterator[Problem]:
    """What a stop leads to must be there for every engine, and nothing may hold it up."""
    work = library.procedures.get(MAKE_SAFE)
    if work is None or (only is not None and MAKE_SAFE not in only):
        return
    if work.applies or work.prereq:
        place = ("applies" if work.applies else "prereq",)
        yield _at(library, work, place, "a stop leads here on every engine and at once; remove this")
    for name, step in work.steps.items():
        if hazards_of(step) or step.wait is not None or step.foreach:
            yield _at(library, work, ("steps", name), "after a stop nothing may wait: no hazard, wait or foreach here")


def _waiting(library: Library, only: Collection[str] | None) -> Iterator[Problem]:
    """A procedure that can never be done: hold points that wait for each other, on some kind of engine.

    Fields that no establisher looks at stay unknown: the most work then applies, and the most is demanded.
    """
    told = set[str]()
    for kind in kinds(conditions_of_establishers(library, library.safety.hold_points)):
        _done, stuck = attainable(library, kind.words)
        for name, holds in stuck.items():
            if name not in told and (only is None or name in only):
                told.add(name)
                shown = ", ".join(holds) or "each other"
                engine = ", ".join(f"{f} {w}" for f, w in kind.words.items()) or "an engine of which nothing is known"
                path = " > ".join(_circle(name, stuck, library, kind.words))
                message = (
                    f"can never be done ({engine}): nothing that can be done before it meets {shown} "
                    f"(path: {path}); let it be met without this work"
                )
                yield _at(library, library.procedures[name], ("prereq",), message)


def _circle(
    name: str, stuck: Mapping[str, tuple[str, ...]], library: Library, words: Mapping[str, str]
) -> tuple[str, ...]:
    """Work that waits for work: from `name` to where it waits for itself, or for nothing that there is."""
    path = [name]
    while path.count(path[-1]) == 1:
        makers = [m for hold in stuck[path[-1]] for m in library.establishers(hold, words) if m in stuck]
        if not makers:
            break
        path.append(next((m for m in makers if m in path), makers[0]))
    return tuple(path)


def _at(library: Library, procedure: Procedure, path: tuple[str | int, ...], message: str) -> Problem:
    return library.documents[procedure.id].problem(path, message)
