"""What must hold of a procedure beyond its shape: every name exists, every answer is covered, every word fits.

Each check is a small function in `CHECKS`; each yields problems with the line and the remedy.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from firststart.engine.profile import FIELDS, NUMBERS, UNKNOWN, WORDS
from firststart.errors import Problem, UnitError
from firststart.judge.model import Judge
from firststart.procedure.library import Library, established_by
from firststart.procedure.model import (
    CRANKED,
    DONE,
    EACH,
    ELAPSED,
    LEFT,
    NEXT,
    TAKEN,
    UNREAD,
    Conditions,
    Procedure,
    Step,
)
from firststart.procedure.needs import hazards_of
from firststart.procedure.reader import Document, Path
from firststart.units import KINDS, find_unit

STEP_NAME = re.compile(r"[a-z][a-z0-9-]*")
_RUNS = "running-engine"
_CRANKS = re.compile(
    r"(?:^|[.,;:] |\b(?:and|then|or) )(?:crank|turn the key to (?:the )?start|start the engine|"
    r"kick (?:it|the engine) over|(?:engage|hit|hold|press|run|spin|turn|use|work) the start(?:er|ing motor| button)|"
    r"pull the (?:starter )?cord(?! slowly))\b(?! ?shaft| ?case)",
    re.IGNORECASE,
)
PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class Checked:
    """One procedure under check, with what it may refer to."""

    procedure: Procedure
    document: Document
    library: Library
    judges: Mapping[str, Judge]
    amounts: frozenset[str]

    def problem(self, path: Path, message: str) -> Problem:
        """A problem at a path of the procedure's file."""
        return self.document.problem(path, message)

    def known(self, path: Path, name: str, names: Iterable[str], what: str) -> Iterator[Problem]:
        """A problem when `name` is none of `names`."""
        choices = list(names)
        if name not in choices:
            near = difflib.get_close_matches(name, choices, n=1)
            hint = f"; did you mean {near[0]!r}?" if near else f"; known are {', '.join(choices[:12]) or 'none'}"
            yield self.problem(path, f"there is no {what} called {name!r}{hint}")

    def steps(self) -> Iterator[tuple[Path, str, Step]]:
        """The steps with their paths."""
        for name, step in self.procedure.steps.items():
            yield ("steps", name), name, step


def check_procedures(
    library: Library, judges: Mapping[str, Judge], amounts: frozenset[str], only: Collection[str] | None = None
) -> list[Problem]:
    """Every problem of the procedures (`only` some of them), and of the names and hold points between them."""
    problems: list[Problem] = [] if only is not None else list(_orders(library))
    for name, procedure in library.procedures.items():
        if only is not None and name not in only:
            continue
        checked = Checked(procedure, library.documents[name], library, judges, amounts)
        for check in CHECKS:
            problems += check(checked)
    return sorted(problems)


def _orders(library: Library) -> Iterator[Problem]:
    """Every name in the order of a stage is a procedure of that stage."""
    for stage, model in library.stages.items():
        for name in model.order:
            found = library.procedures.get(name)
            if found is None or found.stage != stage:
                where = "there is no such procedure" if found is None else f"it belongs to the stage {found.stage!r}"
                yield Problem("procedures/stages.yaml", 1, f"the order of {stage!r} names {name!r}, but {where}")


def _stage(c: Checked) -> Iterator[Problem]:
    yield from c.known(("stage",), c.procedure.stage, c.library.stages, "stage")


def _step_names(c: Checked) -> Iterator[Problem]:
    for path, name, _step in c.steps():
        if not STEP_NAME.fullmatch(name):
            yield c.problem(path, f"a step is named with small letters, digits and dashes, not {name!r}")
        if name in (EACH, NEXT, LEFT) or name in c.procedure.results:
            yield c.problem(path, f"the name {name!r} is taken; rename the step")


def _conditions(c: Checked) -> Iterator[Problem]:
    yield from _condition(c, ("applies",), c.procedure.applies)
    for number, supply in enumerate(c.procedure.supplies):
        yield from _condition(c, ("supplies", number, "applies"), supply.applies)
    for path, _name, step in c.steps():
        yield from _condition(c, (*path, "applies"), step.applies)
        for event, targets in step.go.items():
            for number, target in enumerate(targets):
                yield from _condition(c, (*path, "go", event, number, "when"), target.when)


def _condition(c: Checked, path: Path, conditions: Conditions) -> Iterator[Problem]:
    for field, words in conditions.items():
        yield from c.known((*path, field), field, WORDS, "profile field with words")
        for word in words:
            if WORDS.get(field) and word != UNKNOWN:
                yield from c.known((*path, field), word, WORDS[field], f"word of {field}")


def _hold_points(c: Checked) -> Iterator[Problem]:
    points = c.library.safety.hold_points
    for number, hold in enumerate(c.procedure.prereq):
        yield from c.known(("prereq", number), hold, points, "hold point")
    for name, result in c.procedure.results.items():
        for hold in result.establishes:
            yield from c.known(("results", name, "establishes"), hold, points, "hold point")
        if result.establishes and result.outcome != "ok":
            yield c.problem(("results", name, "establishes"), "only an outcome of ok can establish a hold point")
    for path, _name, step in c.steps():
        for event, holds in step.establishes.items():
            yield from c.known((*path, "establishes", event), event, step.choices, "choice of this step")
            for hold in holds:
                yield from c.known((*path, "establishes", event), hold, points, "hold point")


def _hazards(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        for number, hazard in enumerate(step.hazard):
            yield from c.known((*path, "hazard", number), hazard, c.library.safety.hazards, "hazard class")
        known = tuple(h for h in step.hazard if h in c.library.safety.hazards)
        if step.crank is not None and not c.library.safety.needs_permit(known):
            yield c.problem(path, "a step that cranks must name a hazard class with a permit; add hazard: cranking")
        if step.crank is None and _CRANKS.search(step.cmd) and _RUNS not in step.hazard:
            message = "the words tell to turn the starter and nothing counts it; make it a crank step (crank:, hazard:)"
            yield c.problem((*path, "cmd"), message)


def _undoings(c: Checked) -> Iterator[Problem]:
    """A step that undoes what it needs itself could be entered only to be left again."""
    for path, _name, step in c.steps():
        demanded = c.library.safety.demands(hazards_of(step))
        for hold in step.undoes:
            if hold in demanded:
                message = f"the step undoes {hold!r} and needs it itself; undo it in a later step"
                yield c.problem((*path, "undoes"), message)


def _measures(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        measure = step.measure
        if measure is None:
            continue
        here = (*path, "measure")
        yield from c.known((*here, "quantity"), measure.quantity, KINDS, "quantity")
        if measure.quantity in KINDS:
            try:
                find_unit(measure.unit, measure.quantity)
            except UnitError as error:
                yield c.problem((*here, "unit"), str(error))
        low, high = measure.range
        if not low < high:
            yield c.problem((*here, "range"), f"the range {low:g} to {high:g} is empty; put the smaller number first")
        if measure.judge:
            yield from c.known((*here, "judge"), measure.judge, c.judges, "judge")
            judge = c.judges.get(measure.judge)
            if judge is not None and judge.of != measure.quantity:
                meant = f"judges a {judge.of}" if judge.of else "judges the readings so far, in a judge step"
                yield c.problem((*here, "judge"), f"{judge.name} {meant}, not a {measure.quantity}; choose another")


def _judge_steps(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        if step.judge:
            yield from c.known((*path, "judge"), step.judge, c.judges, "judge")
            judge = c.judges.get(step.judge)
            if judge is not None and judge.of:
                yield c.problem((*path, "judge"), f"{judge.name} judges one {judge.of}; name it in a measure instead")


def events(step: Step, judges: Mapping[str, Judge]) -> tuple[str, ...]:
    """The events a step can meet; empty when its judge is unknown."""
    if step.judge or (step.measure and step.measure.judge):
        judge = judges.get(step.judge or (step.measure.judge if step.measure and step.measure.judge else ""))
        words = judge.words if judge else ()
        return (*words, UNREAD) if step.measure else words
    if step.measure:
        return (TAKEN, UNREAD)
    if step.crank:
        return (CRANKED,)
    return (ELAPSED,) if step.wait else tuple(step.choices) or (DONE,)


def _targets(c: Checked) -> Iterator[Problem]:
    for path, name, step in c.steps():
        met = events(step, c.judges)
        for event, targets in step.go.items():
            if event != "*" and met:
                yield from c.known((*path, "go", event), event, met, "event of this step")
            for number, target in enumerate(targets):
                here = (*path, "go", event, number)
                if target.to == EACH and not step.foreach:
                    yield c.problem(here, "'each' means the next cylinder; it needs foreach: cylinder")
                elif target.to not in (EACH, NEXT, LEFT):
                    names = (*c.procedure.steps, *c.procedure.results)
                    yield from c.known(here, target.to, names, "step or result")
            if targets and targets[-1].when:
                yield c.problem(
                    (*path, "go", event), "the last target must stand without 'when', or an engine is left out"
                )
            for number, target in enumerate(targets[:-1]):
                if not target.when:
                    yield c.problem(
                        (*path, "go", event, number), "a target without 'when' hides those after it; move it last"
                    )
        yield from _covered(c, path, name, step, met)


def _covered(c: Checked, path: Path, name: str, step: Step, met: tuple[str, ...]) -> Iterator[Problem]:
    if step.go and "*" not in step.go:
        for event in met:
            if event not in step.go and event != UNREAD:
                yield c.problem((*path, "go"), f"the answer {event!r} leads nowhere; add it, or '*' for all others")
    if step.go and "*" in step.go and len(step.go) == 1 and len(met) > 1 and step.sort == "choice":
        return
    falls = not step.go or any(t.to == NEXT for targets in step.go.values() for t in targets)
    last_of_all = c.procedure.following(name) is None
    if last_of_all and (falls or (step.foreach and any(t.to == EACH for ts in step.go.values() for t in ts))):
        yield c.problem(path, "the last step leads to no result; add go: with the name of a result")
    if not step.go and step.sort in ("choice", "judge") and len(met) > 1 and not step.sets:
        yield c.problem(path, "a question with several answers needs go:; say where each answer leads")


def _sets(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        if step.sets is None:
            continue
        yield from c.known((*path, "sets"), step.sets, FIELDS, "profile field")
        if step.sets in NUMBERS and (step.measure is None or step.measure.quantity != NUMBERS[step.sets][0]):
            yield c.problem((*path, "sets"), f"{step.sets} is a {NUMBERS[step.sets][0]}; ask for it with measure")
        defaults = [kind for kind, d in c.library.engines.items() if step.sets in (*d.words, *d.numbers)]
        if step.only_unknown and defaults:
            message = f"{step.sets} is assumed of the kind {defaults[0]!r}, so it would never be asked"
            yield c.problem((*path, "only-unknown"), message)
        for word in step.choices if WORDS.get(step.sets) else ():
            if word not in (UNKNOWN, "other"):
                yield from c.known((*path, "choices", word), word, WORDS[step.sets], f"word of {step.sets}")
        yield from _vanishing(c, path, step)


def _vanishing(c: Checked, path: Path, step: Step) -> Iterator[Problem]:
    """A step whose own answer can decide that it is not for this engine is gone before it can lead on.

    The kind of an engine brings defaults for other fields with it, the number of cylinders too.
    """
    for field in step.applies:
        if step.sets in (field, "kind"):
            message = f"the step sets {step.sets} and applies by {field}, so its answer can take it away as it stands"
            yield c.problem((*path, "applies"), f"{message}; put the condition on the step that leads here, as 'when'")
    if step.foreach and step.sets in ("cylinders", "kind"):
        message = f"an answer for one cylinder that sets {step.sets} can leave out the cylinder it is for"
        yield c.problem((*path, "foreach"), f"{message}; ask it once, in a step of its own")


def _follow_ups(c: Checked) -> Iterator[Problem]:
    for number, other in enumerate(c.procedure.after):
        yield from c.known(("after", number), other, c.library.procedures, "procedure")
    for name, result in c.procedure.results.items():
        for other in result.postreq:
            yield from c.known(("results", name, "postreq"), other, c.library.procedures, "procedure")
        if result.then is not None:
            yield from c.known(("results", name, "then"), result.then, c.library.procedures, "procedure")


def _placeholders(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        texts = {"cmd": step.cmd, "info": step.info, "why": step.why, "note": " ".join(n.text for n in step.note)}
        for key, text in texts.items():
            for inner in PLACEHOLDER.findall(text):
                yield from _placeholder(c, (*path, key), inner, step)
    for number, supply in enumerate(c.procedure.supplies):
        for inner in PLACEHOLDER.findall(supply.amount):
            yield from _placeholder(c, ("supplies", number, "amount"), inner, None)
    for name, result in c.procedure.results.items():
        for inner in PLACEHOLDER.findall(result.say):
            yield from _placeholder(c, ("results", name, "say"), inner, None)


def _placeholder(c: Checked, path: Path, inner: str, step: Step | None) -> Iterator[Problem]:
    kind, _, name = inner.partition(":")
    if kind == "cylinder" and not name:
        if step is None or not step.foreach:
            yield c.problem(path, "{cylinder} needs foreach: cylinder on this step")
    elif kind == "amount":
        yield from c.known(path, name, c.amounts, "amount")
    elif kind == "profile":
        yield from c.known(path, name, FIELDS, "profile field")
    else:
        yield c.problem(path, f"{{{inner}}} means nothing here; use {{cylinder}}, {{amount:NAME}} or {{profile:FIELD}}")


def _established(c: Checked) -> Iterator[Problem]:
    """Every hold point this procedure can come to need has a procedure that establishes it."""
    wanted: dict[str, Path] = dict.fromkeys(c.procedure.prereq, ("prereq",))
    for path, _name, step in c.steps():
        known = tuple(h for h in step.hazard if h in c.library.safety.hazards)
        for hold in c.library.safety.demands(known):
            wanted.setdefault(hold, (*path, "hazard"))
    for hold, path in wanted.items():
        others = (p for p in c.library.procedures.values() if p.id != c.procedure.id)
        if hold in c.library.safety.hold_points and not any(hold in established_by(p) for p in others):
            yield c.problem(path, f"no other procedure establishes the hold point {hold!r}; add one that does")


def _why(c: Checked) -> Iterator[Problem]:
    for path, _name, step in c.steps():
        if step.cmd and not step.why:
            yield c.problem(path, "a step needs a why: the sentence said when the person asks why")


CHECKS: tuple[Callable[[Checked], Iterator[Problem]], ...] = (
    _stage,
    _step_names,
    _conditions,
    _hold_points,
    _hazards,
    _undoings,
    _measures,
    _judge_steps,
    _targets,
    _sets,
    _follow_ups,
    _placeholders,
    _established,
    _why,
)
