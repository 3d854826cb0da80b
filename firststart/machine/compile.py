"""Procedure and engine in, immutable table out.

The compiler, not the author of a procedure, puts a gate before every step that names a hazard class: the
gate opens only while all hold points of the class are fresh (and, for a step that cranks, while the
starter has a permit). A step whose hold points go stale falls back to its gate.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

from firststart.engine.profile import UNKNOWN, applies
from firststart.errors import UnknownName
from firststart.machine.table import EVENTLESS, FINAL, GATE, LEAVE, PERMIT, PREREQ, Arrow, State, Table
from firststart.procedure.model import (
    CRANKED,
    DONE,
    EACH,
    ELAPSED,
    LEFT,
    NEXT,
    TAKEN,
    UNREAD,
    Procedure,
    Result,
    Safety,
    Step,
    Target,
)
from firststart.procedure.needs import hazards_of

MAX_CYLINDERS = 8
MORE = "more"


@cache
def left_result() -> Result:
    """The result of work that the person leaves."""
    return Result(outcome="left", say="This work is left for later. Nothing is taken as checked.")


@cache
def more_step() -> Step:
    """The question after each cylinder of an engine whose number of cylinders is not known."""
    return Step.model_validate(
        {
            "cmd": "Is there another cylinder to do?",
            "key": "another cylinder",
            "choices": {"yes": ["yes"], "no": ["no"]},
            "go": {"yes": EACH, "no": NEXT},
        }
    )


def compile_table(
    procedure: Procedure,
    safety: Safety,
    judge_words: Mapping[str, tuple[str, ...]],
    profile_words: Mapping[str, str],
    cylinders: int | None = None,
) -> Table:
    """The machine of `procedure` for one engine.

    `judge_words` maps each judge's name to its closed list of verdicts; `profile_words` are the known
    words of the profile; `cylinders` unknown means: ask after each whether there is another.
    Raises UnknownName for a target, judge or hazard class that does not exist: run the checks first.
    """
    return _Compiler(procedure, safety, judge_words, profile_words, cylinders).table()


def events_of(step: Step, judge_words: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The closed list of events a step can meet, in order."""
    if step.judge:
        return judge_words[step.judge]
    if step.measure is not None:
        words = judge_words[step.measure.judge] if step.measure.judge else (TAKEN,)
        return (*words, UNREAD)
    if step.crank is not None:
        return (CRANKED,)
    if step.wait is not None:
        return (ELAPSED,)
    return tuple(step.choices) or (DONE,)


@dataclass
class _Compiler:
    procedure: Procedure
    safety: Safety
    judge_words: Mapping[str, tuple[str, ...]]
    words: Mapping[str, str]
    cylinders: int | None
    states: dict[str, State] = field(default_factory=dict)
    arrows: list[Arrow] = field(default_factory=list)
    passing: list[str] = field(default_factory=list)  # questions passed over one after another, as known

    def table(self) -> Table:
        initial = self._prereq_gate()
        for step_id, step in self.procedure.steps.items():
            if applies(step.applies, self.words, unknown=True):
                for cylinder in self._cylinders(step):
                    self._add_step(step_id, step, cylinder)
        self._add_more_questions()
        for name, result in self.procedure.results.items():
            self.states[name] = State(name, FINAL, result=result)
        self.states.setdefault(LEFT, State(LEFT, FINAL, result=left_result()))
        for name, state in self.states.items():
            if state.sort != FINAL:
                self.arrows.append(Arrow(name, LEAVE, LEFT))
        return Table(self.procedure, initial, dict(self.states), tuple(self.arrows), dict(self.words))

    def _cylinders(self, step: Step) -> tuple[int | None, ...]:
        return tuple(range(1, (self.cylinders or MAX_CYLINDERS) + 1)) if step.foreach else (None,)

    def _prereq_gate(self) -> str:
        needs = tuple(h for h in self.procedure.prereq if self._hold_applies(h))
        first = self._enter(self._skip_to(self.procedure.first, 1))
        if not needs:
            return first
        self.states[PREREQ] = State(PREREQ, GATE, needs=needs, guards=first)
        self.arrows.append(Arrow(PREREQ, EVENTLESS, first, frozenset(needs)))
        return PREREQ

    def _hold_applies(self, hold: str) -> bool:
        if hold not in self.safety.hold_points:
            raise UnknownName(f"{self.procedure.id}: there is no hold point called {hold!r}.")
        return applies(self.safety.hold_points[hold].applies, self.words, unknown=True)

    def _needs(self, step: Step) -> tuple[str, ...]:
        hazards = hazards_of(step)
        for hazard in hazards:
            if hazard not in self.safety.hazards:
                raise UnknownName(f"{self.procedure.id}: there is no hazard class called {hazard!r}.")
            for hold in self.safety.hazards[hazard].holds:
                self._hold_applies(hold)  # a name that does not exist must not make the gate weaker
        holds = tuple(h for h in self.safety.demands(hazards) if self._hold_applies(h))
        return (*holds, PERMIT) if step.crank is not None else holds

    def _add_step(self, step_id: str, step: Step, cylinder: int | None) -> None:
        name = _name(step_id, cylinder)
        needs = self._needs(step)
        self.states[name] = State(name, step.sort, step_id, step, cylinder, needs)
        if hazards_of(step):
            gate = f"{name}.{GATE}"
            self.states[gate] = State(gate, GATE, step_id, None, cylinder, needs, guards=name)
            self.arrows.append(Arrow(gate, EVENTLESS, name, frozenset(needs)))
            holding = frozenset(needs) - {PERMIT}
            if holding:
                self.arrows.append(Arrow(name, EVENTLESS, gate, holding, lacking=True))
        for event in events_of(step, self.judge_words):
            self.arrows.append(Arrow(name, event, self._target(step_id, step, event, cylinder)))

    def _add_more_questions(self) -> None:
        """With the number of cylinders unknown, a question after each pass of a foreach block."""
        if self.cylinders is not None:
            return
        for block in self._blocks():
            for k in range(1, MAX_CYLINDERS):
                name = f"{MORE}-{block[0]}.{k}"
                if not any(a.target == name for a in self.arrows):
                    continue
                self.states[name] = State(name, "choice", f"{MORE}-{block[0]}", more_step(), k)
                again = self._enter(self._skip_to(block[0], k + 1))
                self.arrows += [Arrow(name, "yes", again), Arrow(name, "no", self._after(block))]

    def _blocks(self) -> tuple[tuple[str, ...], ...]:
        """Runs of neighbouring foreach steps."""
        blocks: list[list[str]] = []
        inside = False
        for step_id, step in self.procedure.steps.items():
            if step.foreach and not inside:
                blocks.append([])
            if step.foreach:
                blocks[-1].append(step_id)
            inside = bool(step.foreach)
        return tuple(tuple(b) for b in blocks)

    def _block_of(self, step_id: str) -> tuple[str, ...]:
        return next(b for b in self._blocks() if step_id in b)

    def _target(self, step_id: str, step: Step, event: str, cylinder: int | None) -> str:
        targets = step.go.get(event) or step.go.get("*") or (Target(to=LEFT if event == UNREAD else NEXT),)
        for target in targets:
            if applies(target.when, self.words, unknown=False):
                return self._resolve(step_id, target.to, cylinder)
        raise UnknownName(f"{self.procedure.id}: step {step_id}: no target of {event!r} fits this engine.")

    def _resolve(self, step_id: str, to: str, cylinder: int | None) -> str:
        if to in self.procedure.results or to == LEFT:
            return to
        if to == NEXT:
            return self._next(step_id, cylinder)
        if to == EACH:
            return self._each(step_id, cylinder)
        if to not in self.procedure.steps:
            raise UnknownName(f"{self.procedure.id}: step {step_id} leads to {to!r}, which is no step and no result.")
        same = cylinder is not None and self.procedure.steps[to].foreach and to in self._block_of(step_id)
        return self._enter(self._skip_to(to, cylinder if same and cylinder else 1))

    def _next(self, step_id: str, cylinder: int | None) -> str:
        following = self.procedure.following(step_id)
        if cylinder is not None and (following is None or following not in self._block_of(step_id)):
            return self._each(step_id, cylinder)
        if following is None:
            raise UnknownName(f"{self.procedure.id}: step {step_id} is the last, but leads to no result.")
        return self._enter(self._skip_to(following, cylinder or 1))

    def _each(self, step_id: str, cylinder: int | None) -> str:
        if cylinder is None:
            raise UnknownName(f"{self.procedure.id}: step {step_id} says 'each' but has no foreach.")
        block = self._block_of(step_id)
        if cylinder >= (self.cylinders or MAX_CYLINDERS):
            return self._after(block)
        if self.cylinders is None:
            return f"{MORE}-{block[0]}.{cylinder}"
        return self._enter(self._skip_to(block[0], cylinder + 1))

    def _after(self, block: tuple[str, ...]) -> str:
        following = self.procedure.following(block[-1])
        if following is None:
            raise UnknownName(f"{self.procedure.id}: the last pass of {block[0]} leads to no step and no result.")
        return self._enter(self._skip_to(following, 1))

    def _skip_to(self, step_id: str, cylinder: int) -> str:
        """The state for `step_id`, or for the first one after it that applies to this engine."""
        step = self.procedure.steps[step_id]
        if not applies(step.applies, self.words, unknown=True):
            return _Skipped(self._next(step_id, cylinder if step.foreach else None))
        known = known_answer(step, self.words)
        if known is None:
            return _name(step_id, cylinder if step.foreach else None)
        if step_id in self.passing:
            raise UnknownName(f"{self.procedure.id}: step {step_id}: what is known leads round in a circle.")
        self.passing.append(step_id)
        onward = self._target(step_id, step, known, None)
        self.passing.pop()
        return _Skipped(onward)

    def _enter(self, name: str) -> str:
        """The gate before a hazardous state, else the state itself."""
        if isinstance(name, _Skipped):
            return str(name)
        step_id = name.rsplit(".", 1)[0] if "." in name else name
        step = self.procedure.steps[step_id]
        return f"{name}.{GATE}" if hazards_of(step) else name


class _Skipped(str):
    """A name that has already been resolved past steps that do not apply."""

    __slots__ = ()


def _name(step_id: str, cylinder: int | None) -> str:
    return step_id if cylinder is None else f"{step_id}.{cylinder}"


def known_answer(step: Step, words: Mapping[str, str]) -> str | None:
    """The event that what is known gives to a question asked only when unknown; None when it must be asked."""
    if not step.only_unknown or step.sets is None or words.get(step.sets, UNKNOWN) == UNKNOWN:
        return None
    word = words[step.sets]
    return TAKEN if step.measure is not None else word if word in step.choices else None


def profile_key(
    procedure: Procedure, fields: Iterable[str], words: Mapping[str, str], cylinders: int | None
) -> tuple[object, ...]:
    """What of a profile can change the table of `procedure`: two equal keys give equal tables.

    `fields` are those that `fields_read` finds, in any fixed order.
    """
    each = cylinders if any(s.foreach for s in procedure.steps.values()) else None
    return (procedure.id, each, *((f, words.get(f, UNKNOWN)) for f in fields))


def fields_read(procedure: Procedure, safety: Safety) -> set[str]:
    """The profile fields that conditions inside `procedure` and its hold points look at."""
    fields = set(procedure.applies)
    holds = set(procedure.prereq)
    for step in procedure.steps.values():
        fields |= set(step.applies)
        fields |= {step.sets} if step.only_unknown and step.sets is not None else set()
        fields |= {f for targets in step.go.values() for t in targets for f in t.when}
        holds |= set(safety.demands(hazards_of(step)))
    for hold in holds & set(safety.hold_points):
        fields |= set(safety.hold_points[hold].applies)
    return fields
