"""The kinds of engine that conditions can tell apart: one profile for each set of answers they can give together.

Exact and without a limit on the number of profiles: words that every condition treats alike are one word,
and profiles on which every condition gives the same answer are one kind. Fields are taken one after the
other, and kinds that have become alike are merged at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from firststart.engine.profile import KNOWN, UNKNOWN, WORDS, applies
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure, Safety, Step
from firststart.procedure.needs import hazards_of

Conditions = Mapping[str, Sequence[str]]
OTHER = "none-of-these"  # of an open field: a word that no condition names


@dataclass(frozen=True)
class Condition:
    """A condition, and how it takes an unknown field: as fitting (work is not left out), or not (a special path)."""

    words: Conditions
    unknown: bool


@dataclass(frozen=True)
class Kind:
    """A kind of engine: the words of one profile of it, and the answer of each condition."""

    words: dict[str, str]
    answers: tuple[bool, ...]


def kinds(conditions: Sequence[Condition]) -> tuple[Kind, ...]:
    """One profile for every combination of answers that `conditions` can give; unknown fields included."""
    found: dict[tuple[bool, ...], dict[str, str]] = {(True,) * len(conditions): {}}
    for field in sorted({f for c in conditions for f in c.words}):
        marks = _marks(field, conditions)
        merged: dict[tuple[bool, ...], dict[str, str]] = {}
        for answers, words in found.items():
            for mark, word in marks.items():
                both = tuple(a and m for a, m in zip(answers, mark, strict=True))
                merged.setdefault(both, words if word == UNKNOWN else {**words, field: word})
        found = merged
    return tuple(Kind(words, answers) for answers, words in found.items())


def _marks(field: str, conditions: Sequence[Condition]) -> dict[tuple[bool, ...], str]:
    """One word of `field` for each way in which the conditions can take it."""
    named = {w for c in conditions for w in c.words.get(field, ())}
    words = WORDS.get(field, (KNOWN,)) or (*sorted(named - {UNKNOWN}), OTHER)
    marks: dict[tuple[bool, ...], str] = {}
    for word in (UNKNOWN, *words):
        told = {} if word == UNKNOWN else {field: word}
        mark = tuple(applies(_only(field, c.words), told, unknown=c.unknown) for c in conditions)
        marks.setdefault(mark, word)
    return marks


def _only(field: str, conditions: Conditions) -> dict[str, Sequence[str]]:
    return {field: conditions[field]} if field in conditions else {}


def conditions_of(procedure: Procedure, safety: Safety) -> tuple[Condition, ...]:
    """Every condition that can change the machine of `procedure`; its own `applies` first."""
    found = [Condition(procedure.applies, True)]
    holds = set(procedure.prereq)
    for step in procedure.steps.values():
        found.append(Condition(step.applies, True))
        found += [Condition(t.when, False) for targets in step.go.values() for t in targets if t.when]
        found += _passed_over(step)
        holds |= set(safety.demands(hazards_of(step)))
    found += [Condition(safety.hold_points[h].applies, True) for h in sorted(holds & set(safety.hold_points))]
    return _once(found)


def _passed_over(step: Step) -> list[Condition]:
    """What makes a question that is asked only when unknown be passed over: each answer that may be known already."""
    if not step.only_unknown or step.sets is None:
        return []
    known = (KNOWN,) if step.measure is not None else tuple(w for w in step.choices if w != UNKNOWN)
    return [Condition({step.sets: (word,)}, False) for word in known]


def conditions_of_establishers(library: Library, holds: Iterable[str]) -> tuple[Condition, ...]:
    """Every condition that decides which hold points can be met, and by what: of the points and their establishers."""
    wanted = set(holds)
    found = [Condition(library.safety.hold_points[h].applies, True) for h in sorted(wanted)]
    for procedure in library.procedures.values():
        if wanted & _established(procedure):
            found.append(Condition(procedure.applies, True))
            found += [Condition(step.applies, True) for step in procedure.steps.values() if hazards_of(step)]
    return _once(found)


def _established(procedure: Procedure) -> set[str]:
    holds = {h for r in procedure.results.values() for h in r.establishes}
    return holds | {h for s in procedure.steps.values() for hs in s.establishes.values() for h in hs}


def _once(conditions: Sequence[Condition]) -> tuple[Condition, ...]:
    """Each condition once, the first always kept in its place."""
    seen: list[Condition] = []
    for condition in conditions:
        if condition not in seen:
            seen.append(condition)
    return tuple(seen)
