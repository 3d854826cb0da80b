"""What a procedure needs before it can be done whole, and whether it can be had at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from firststart.engine.profile import applies
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure, Step

OF_CRANKS = {
    "spin": ("cranking",), "compression": ("cranking", "open-cylinder"), "start": ("cranking", "running-engine"),
}  # fmt: skip
"""The hazard classes of a crank by what it is for: whoever tries to start must be ready for an engine that runs."""
_Conditions = Mapping[str, Sequence[str]]


def hazards_of(step: Step) -> tuple[str, ...]:
    """The hazard classes of a step. One that cranks is of the classes of its crank, whatever its author wrote."""
    by_itself = OF_CRANKS[step.crank.purpose] if step.crank is not None else ()
    return (*step.hazard, *(name for name in by_itself if name not in step.hazard))


def needs_of(procedure: Procedure, library: Library, words: Mapping[str, str]) -> tuple[str, ...]:
    """The hold points that `procedure` can come to need on an engine of these words, in file order."""
    key = ("needs", procedure.id, frozenset(words.items()))
    return library.remembered(key, lambda: _needs_of(procedure, library, words))


def _needs_of(procedure: Procedure, library: Library, words: Mapping[str, str]) -> tuple[str, ...]:
    wanted = set(procedure.prereq)
    demanding = library.remembered(("demanding", procedure.id), lambda: _demanding(procedure, library))
    for condition, holds in demanding:
        if not holds <= wanted and applies(condition, words, unknown=True):
            wanted |= holds
    points = library.safety.hold_points
    return tuple(h for h in points if h in wanted and applies(points[h].applies, words, unknown=True))


def _demanding(procedure: Procedure, library: Library) -> tuple[tuple[_Conditions, frozenset[str]], ...]:
    """The conditions of the steps that demand hold points, each with the hold points."""
    steps = [(s.applies, frozenset(library.safety.demands(hazards_of(s)))) for s in procedure.steps.values()]
    return tuple((condition, holds) for condition, holds in steps if holds)


def attainable(library: Library, words: Mapping[str, str]) -> tuple[set[str], dict[str, tuple[str, ...]]]:
    """The procedures that can be done whole on this engine, and for each other one the hold points in its way.

    A hold point can be met when some procedure that can be done establishes it: a least fixed point.
    """
    open_ones = {p.id: p for p in library.applicable(words)}
    needs = {name: needs_of(p, library, words) for name, p in open_ones.items()}
    done: set[str] = set()
    met: set[str] = set()
    grown = True
    while grown:
        ready = [name for name in open_ones if name not in done and set(needs[name]) <= met]
        for name in ready:
            done.add(name)
            met |= library.established(open_ones[name])
        grown = bool(ready)
    stuck = {n: tuple(h for h in needs[n] if h not in met) for n in open_ones if n not in done}
    return done, stuck
