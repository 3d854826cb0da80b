"""What can be wrong with a catalogue: a text left out, a placeholder lost, a sentence too long, answers alike. Pure."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

from firststart.errors import Problem
from firststart.procedure.library import Library
from firststart.procedure.model import Step
from firststart.prompt.dialogue import normal
from firststart.prompt.expect import GENERAL
from firststart.prompt.language import ALWAYS, BETWEEN, FIELD
from firststart.prompt.language_file import COVERS, LEAVES, NEVER, Catalogue, Entry
from firststart.prompt.language_gather import Message
from firststart.prompt.lint import MOST_WORDS, MOST_WORDS_TOLD

_MOST = {"cmd": MOST_WORDS, "note": MOST_WORDS, "why": MOST_WORDS_TOLD, "say": MOST_WORDS_TOLD}
_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_MOST_KEY = 24
_ENDS = ".?!"


def lint_language(catalogue: Catalogue, messages: Iterable[Message], library: Library) -> list[Problem]:
    """Every problem of a catalogue, held against the `messages` that it must have and the answers of the library."""
    needed = {(m.context, m.text): m for m in messages if m.place not in catalogue.field(LEAVES)}
    missing = _missing(catalogue, needed)
    problems = [Problem(catalogue.file, 1, f"not translated ({m.place}): {m.text[:60]!r}") for m in missing]
    for key, entry in catalogue.entries.items():
        if entry.done:
            problems += _entry(catalogue, entry, needed.get(key))
        elif entry.fuzzy:
            problems.append(Problem(catalogue.file, entry.line, f"a guess (fuzzy) to look at: {entry.msgid[:60]!r}"))
    for name in catalogue.field(COVERS):
        if name in library.procedures:
            for step_id, step in library.procedures[name].steps.items():
                problems += _answers(catalogue, step, f"{name}.{step_id}")
        else:
            problems.append(Problem(catalogue.file, 1, f"{COVERS} names {name!r}, but there is no such procedure"))
    return sorted(set(problems))


def _missing(catalogue: Catalogue, needed: dict[tuple[str, str], Message]) -> Iterator[Message]:
    for key, message in needed.items():
        entry = catalogue.entries.get(key)
        if entry is None or not (entry.done or entry.fuzzy):
            yield message


def _entry(catalogue: Catalogue, entry: Entry, message: Message | None) -> Iterator[Problem]:
    """The problems of one translation: its fields, its length, its end, its words."""
    kinds = {*entry.comments, *([message.kind] if message else [])}
    for form in entry.forms:
        for fault in (*_fields(entry, form, kinds), *_wording(catalogue, entry, form, kinds)):
            yield Problem(catalogue.file, entry.line, f"{fault}: {form[:60]!r}")


def _fields(entry: Entry, form: str, kinds: set[str]) -> Iterator[str]:
    """A text of a procedure keeps all its placeholders; a sentence of the code may leave one out, and adds none."""
    here, there = Counter(FIELD.findall(form)), Counter(FIELD.findall(entry.msgid))
    if set(here) - set(there):
        yield f"{{{min(set(here) - set(there))}}} is not in the English text"
    elif "code" not in kinds and here != there:
        yield f"{{{min((there - here) | (here - there))}}} must stand as often as in the English text"


def _wording(catalogue: Catalogue, entry: Entry, form: str, kinds: set[str]) -> Iterator[str]:
    most = min((_MOST[k] for k in kinds if k in _MOST), default=None)
    for sentence in _SENTENCE.findall(FIELD.sub("zwei", form)) if most else ():
        words = len(sentence.split())
        if most is not None and words > most:
            yield f"a sentence of {words} words; at most {most}, so split it"
    if most and (form[-1] in _ENDS) != (entry.msgid[-1] in _ENDS):
        yield "it ends otherwise than the English text"
    if "key" in kinds and max(map(len, form.split(BETWEEN))) > _MOST_KEY + 2:
        yield f"the key is for large letters; at most {_MOST_KEY} characters"
    if "say" in kinds:
        for word in catalogue.field(NEVER):
            if re.search(rf"\b{re.escape(word)}\b", form, re.IGNORECASE):
                yield f"never say {word!r}; say what was checked"


def _answers(catalogue: Catalogue, step: Step, where: str) -> Iterator[Problem]:
    """The answers of one step differ here too, and none of them is a general word."""
    general = {p: meaning for meaning in (*GENERAL, "yes", "no") for p in _phrases(catalogue, ALWAYS, meaning)}
    seen: dict[str, str] = {}
    for event, phrases in step.choices.items():
        for english in phrases:
            for phrase in _phrases(catalogue, "", english):
                line = catalogue.entries["", english].line
                if general.get(phrase, event) not in (event, "yes" if event == "done" else event):
                    yield Problem(catalogue.file, line, f"{phrase!r} always means {general[phrase]} ({where})")
                if seen.get(phrase, event) != event:
                    yield Problem(catalogue.file, line, f"{phrase!r} is also an answer for {seen[phrase]!r} ({where})")
                seen[phrase] = event


def _phrases(catalogue: Catalogue, context: str, english: str) -> tuple[str, ...]:
    entry = catalogue.entries.get((context, english))
    return tuple(normal(p) for p in entry.forms[0].split(BETWEEN)) if entry is not None and entry.done else ()


def coverage(catalogue: Catalogue, messages: Iterable[Message], library: Library) -> str:
    """How far a catalogue goes, in one line."""
    every = {(m.context, m.text) for m in messages}
    done = sum(1 for key in every if key in catalogue.entries and catalogue.entries[key].done)
    covered = [name for name in catalogue.field(COVERS) if name in library.procedures]
    left = len(library.procedures) - len(covered)
    return (
        f"{catalogue.header.get('Language', '?')}: {done:,} of {len(every):,} texts translated; "
        f"{len(covered)} procedures whole, {left} spoken in English."
    )
