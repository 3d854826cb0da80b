"""The wording rules, after ASD-STE100 (secondary copies): short, one instruction, nothing left to guess for the ear."""

from __future__ import annotations

import itertools
import re
from collections.abc import Collection, Iterator, Mapping

from firststart.errors import Problem
from firststart.procedure.library import Library
from firststart.procedure.model import DONE, Procedure, Step
from firststart.procedure.reader import Document, Path
from firststart.prompt.alike import sound_alike
from firststart.prompt.dialogue import normal
from firststart.prompt.expect import GENERAL, NO, YES
from firststart.prompt.spoken import problems as unspeakable
from firststart.prompt.spoken import spoken

MOST_WORDS = 20  # of a procedural sentence, ASD-STE100
MOST_WORDS_TOLD = 25  # of a descriptive sentence
_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_FILL = re.compile(r"\{[^{}]*\}")
_AND_THEN = re.compile(r"\b(and then|then)\b", re.IGNORECASE)
ALWAYS_HEARD = ("stop", "why", "repeat", "status", "listen")
"""The general words of one word that the ears always take."""

_CLASHES = (  # heard for each other in noise, whatever their sounds
    frozenset({"help", "no"}),
    frozenset({"pause", "pass"}),
    frozenset({"blue", "black"}),
    frozenset({"strong", "stop"}),
)


def lint_wording(library: Library, only: Collection[str] | None = None) -> list[Problem]:
    """Every breach of the wording rules in the library (`only` in some procedures)."""
    problems: list[Problem] = []
    for name, procedure in library.procedures.items():
        if only is not None and name not in only:
            continue
        document = library.documents[name]
        problems += _results(procedure, document)
        for step_id, step in procedure.steps.items():
            problems += _step(step, document, ("steps", step_id))
    hazards = library.documents.get("hazards") if only is None else None
    for name, hazard in library.safety.hazards.items():
        for caution in hazard.cautions if hazards is not None else ():
            assert hazards is not None  # the loop is empty without one
            problems += _sentences(hazards, ("hazards", name, "cautions"), caution.text, MOST_WORDS)
    return problems


def _results(procedure: Procedure, document: Document) -> Iterator[Problem]:
    for name, result in procedure.results.items():
        path = ("results", name, "say")
        yield from _sentences(document, path, result.say, MOST_WORDS_TOLD)
        if re.search(r"\bsafe(ly)?\b", result.say, re.IGNORECASE):
            yield document.problem(path, "never say that something is safe; say what was checked")


def _step(step: Step, document: Document, path: Path) -> Iterator[Problem]:
    if step.cmd:
        yield from _sentences(document, (*path, "cmd"), step.cmd, MOST_WORDS)
        if not re.match(r"[A-Z{\"]", step.cmd) or step.cmd[-1] not in ".?":
            yield document.problem(
                (*path, "cmd"), "a cmd begins with a capital and ends with a full stop or a question mark"
            )
        if _AND_THEN.search(step.cmd):
            yield document.problem((*path, "cmd"), "one instruction a step; make two steps of it")
    yield from _sentences(document, (*path, "why"), step.why, MOST_WORDS_TOLD)
    for number, note in enumerate(step.note):
        yield from _sentences(document, (*path, "note", number), note.text, MOST_WORDS)
    if len(step.key) > 24:
        yield document.problem((*path, "key"), "the key is for large letters; at most 24 characters")
    yield from _phrases(step, document, path)


def _sentences(document: Document, path: Path, text: str, most: int) -> Iterator[Problem]:
    plain = _FILL.sub("two", text)
    for sentence in _SENTENCE.findall(plain):
        words = len(sentence.split())
        if words > most:
            yield document.problem(path, f"a sentence of {words} words; at most {most}, so split it")
    for fault in unspeakable(spoken(plain)):
        yield document.problem(path, f"cannot be spoken as it stands: {fault}")


def _phrases(step: Step, document: Document, path: Path) -> Iterator[Problem]:
    """Answers of one step differ for the ear, and none is a general word."""
    general = {phrase: name for name, phrases in GENERAL.items() for phrase in phrases}
    seen: dict[str, str] = {}
    for event, phrases in step.choices.items():
        for phrase in phrases:
            words = normal(phrase)
            if words in general:
                yield document.problem(
                    (*path, "choices", event), f"{phrase!r} always means {general[words]}; choose another phrase"
                )
            if words in seen and seen[words] != event:
                yield document.problem((*path, "choices", event), f"{phrase!r} is also an answer for {seen[words]!r}")
            if (words in YES and event not in ("yes", DONE)) or (words in NO and event != "no"):
                yield document.problem(
                    (*path, "choices", event), f"{phrase!r} belongs to yes and no; choose another phrase"
                )
            seen[words] = event
    yield from _alike(seen, document, path)
    single = {w for w in seen if " " not in w}
    for clash in _CLASHES:
        if clash <= single:
            yield document.problem(
                (*path, "choices"), f"{' and '.join(sorted(clash))} sound alike; use phrases of two words"
            )


def _alike(seen: Mapping[str, str], document: Document, path: Path) -> Iterator[Problem]:
    """Two answers that noise makes one, or an answer and a short general word that can always be said."""
    answers = [*seen.items(), *((word, f"the word {word}") for word in ALWAYS_HEARD)]
    for (one, means), (other, also) in itertools.combinations(answers, 2):
        if means != also and one in seen and one != other and sound_alike(one, other):
            yield document.problem(
                (*path, "choices", means), f"{one!r} and {other!r} sound alike; use phrases of two words"
            )
