"""Which texts there are to translate: those of the procedures, and the sentences in the code. Pure, given text.

A sentence in the code needs no mark: every text of the files in `SPOKEN` that reads like English is gathered, an
f-string as a message with fields that are named after what stands in them.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from firststart.procedure.library import Library
from firststart.procedure.model import SIGNALS, Procedure, Safety
from firststart.prompt.expect import GENERAL
from firststart.prompt.language import ALWAYS, COUNTED, DAYS, MONTHS, UNIT
from firststart.prompt.language_file import Catalogue, Entry
from firststart.units import KINDS

SPOKEN: dict[str, str] = {  # file of the package: "all" texts, "sentences", or "none" but those of BY_HAND
    "prompt/prompt.py": "all", "prompt/echo.py": "all", "prompt/dialogue.py": "all", "prompt/told.py": "sentences",
    "prompt/onekey.py": "all", "prompt/wording.py": "all", "prompt/numbers.py": "sentences",
    "bench/conductor.py": "all", "bench/questions.py": "all",
    "bench/advice.py": "all", "bench/choosing.py": "all", "bench/earlier.py": "all", "prompt/forgive.py": "sentences",
    "cli/bench.py": "all", "cli/noting.py": "all", "cli/opening.py": "all", "devices/layout.py": "all",
    "job/holds.py": "all", "job/plan.py": "all", "job/draft.py": "all", "job/decide.py": "all",
    "job/clock.py": "all", "job/fold.py": "all", "job/rules.py": "sentences", "machine/compile.py": "none",
    "starter/permit.py": "sentences", "units.py": "sentences", "errors.py": "sentences",
    "judge/compression.py": "sentences", "judge/compressionset.py": "sentences", "judge/cylinderoil.py": "sentences",
    "judge/oil.py": "sentences", "judge/ignition.py": "sentences", "judge/expected.py": "none",
    "judge/amounts.py": "all", "judge/amounts_electrical.py": "all",
    "judge/amounts_engine.py": "all", "judge/running.py": "sentences",
}  # fmt: skip
BY_HAND = (
    ("{span}, or: cannot measure", "devices/layout.py"),
    *((f"{signal.capitalize()}. {{text}}", "prompt/prompt.py") for signal in SIGNALS),
    *((word, "prompt/wording.py") for word in ("nothing", "nothing yet", "not known")),
    ("Answers", "devices/layout.py"),
    ("Not yet: this step waits for", "prompt/prompt.py"),
    ("- {say}: {because}", "prompt/prompt.py"),
    ("{n}. {title} ({minutes}): {why}", "prompt/prompt.py"),
    ("{n}. {title}", "bench/conductor.py"),
    ("{say} ({because})", "bench/conductor.py"),
    *((word, "prompt/onekey.py") for word in ("why", "status", "point")),
    *((text, "judge/compression.py") for text in ("the head gasket", "valves and head gasket")),
    *((text, "judge/compressionset.py") for text in ("The reading is low", "Even but low")),
    ("{low} or more", "judge/expected.py"),
    *((text, "machine/compile.py") for text in ("another cylinder", "Is there another cylinder to do?")),
    ("This work is left for later. Nothing is taken as checked.", "machine/compile.py"),
    ("place {n}", "cli/bench.py"),
    ("new", "cli/bench.py"),
    ("[n] new engine", "cli/bench.py"),
)
"""Messages that are put together from pieces, so that no reader of the source can see them whole."""

_ENGLISH = re.compile(r"[A-Za-z']{2,}[ ,.?!]|[a-z]{3,}")
_NOT_ENGLISH = re.compile(r"[\\^$_]|:ansi|\(\?|%[A-Za-z]|\[[a-z]|^[\W\d]*$|^[a-z]+:[a-z]+$")
_ENDS = (".", "?", "!")
_STARTS = re.compile(r"[A-Za-z{(\[-]")
_SHORT = re.compile(r"[A-Z]?[a-z]+|[A-Z][a-z]+[.?]")
_PHRASES = frozenset({"DONE_PHRASES", "CANNOT"})
"""Tuples of answers that have a name of their own."""

_PIECES = frozenset({"to", "and", "or", "about", *COUNTED, *(f"{word}s" for word in COUNTED)})
"""Words of quantities: a text of nothing but these and fields is translated piece by piece."""


@dataclass(frozen=True)
class Message:
    """One text to translate. `kind` says by which rules it is worded: cmd, why, note, say, info, key, answer, code."""

    text: str
    kind: str
    place: str
    context: str = ""
    plural: str = ""


def messages_of(library: Library, names: Iterable[str]) -> Iterator[Message]:
    """Every text of the procedures `names`, in file order."""
    for name in names:
        yield from _of_procedure(library.procedures[name])


def _of_procedure(procedure: Procedure) -> Iterator[Message]:
    file = f"work/{procedure.id}.yaml"
    yield Message(procedure.title, "title", f"{file} title")
    yield Message(procedure.purpose, "info", f"{file} purpose")
    for name, step in procedure.steps.items():
        for kind in ("key", "cmd", "why", "info"):
            if text := getattr(step, kind):
                yield Message(text, kind, f"{file} {name}.{kind}")
        for note in step.note:
            yield Message(note.text, "note", f"{file} {name}.note")
        for event, phrases in step.choices.items():
            yield from (Message(phrase, "answer", f"{file} {name}.{event}") for phrase in phrases)
        if step.wait is not None:
            yield Message(step.wait.reason, "info", f"{file} {name}.wait")
    for name, result in procedure.results.items():
        yield Message(result.say, "say", f"{file} {name}.say")


def common_messages(library: Library) -> Iterator[Message]:
    """What every job says: stages, hold points, hazard classes, general words, signal words, units, spans of time."""
    for name, stage in library.stages.items():
        yield Message(stage.title, "title", f"stages.yaml {name}")
    for name, procedure in library.procedures.items():
        yield Message(procedure.title, "title", f"work/{name}.yaml title")
    yield from _of_safety(library.safety)
    for meaning in (*GENERAL, "yes", "no"):
        yield Message(meaning, "always", "prompt/expect.py", ALWAYS)
    for signal in SIGNALS:
        yield Message(signal, "signal", "procedure/model.py")
    for word in ("to", "and", "or", "about", *DAYS, *MONTHS):
        yield Message(word, "word", "judge/wording.py", "value")
    for word in COUNTED:
        yield Message(f"{{n}} {word}", "word", "prompt/wording.py", plural=f"{{n}} {word}s")
    for name in dict.fromkeys(unit.spoken for kind in KINDS.values() for unit in kind.units if unit.spoken):
        yield Message(name, "word", "units.py", UNIT)


def _of_safety(safety: Safety) -> Iterator[Message]:
    for name, point in safety.hold_points.items():
        yield Message(point.say, "hold", f"hazards.yaml {name}.say")
        if point.why:
            yield Message(point.why, "why", f"hazards.yaml {name}.why")
    for name, hazard in safety.hazards.items():
        for caution in hazard.cautions:
            yield Message(caution.text, "note", f"hazards.yaml {name}.caution")


def messages_in(source: str, file: str, which: str = "all") -> Iterator[Message]:
    """The English texts in a Python source, f-strings as messages with fields."""
    for text in dict.fromkeys(_texts(ast.parse(source))):
        if which == "all" or (which == "sentences" and text.endswith(_ENDS)):
            yield Message(text, "code", file)
    yield from (Message(text, "code", file) for text, where in BY_HAND if where == file)


def _texts(tree: ast.Module) -> Iterator[str]:
    """Every text in the tree that reads like English, docstrings and parts of f-strings left out."""
    joined = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    pieces = {id(part) for node in joined for part in node.values if isinstance(part, ast.Constant)}
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    said = {id(part) for node in ast.walk(tree) for holder in _words_said(node) for part in ast.walk(holder)}
    for node in ast.walk(tree):
        if id(node) in docs | pieces:
            continue
        if isinstance(node, ast.JoinedStr):
            text = template_of(node)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if _reads(text) or (_SHORT.fullmatch(text) and (id(node) in said or text.endswith(_ENDS))):
            yield text.strip()


def _words_said(node: ast.AST) -> Iterator[ast.AST]:
    """Where a single word is something that is said: the phrases of an Option, the large letters of a Prompt."""
    match node:
        case ast.Call(func=ast.Name(id="Option" | "Prompt"), args=[_, said, *_]):
            yield said
        case ast.Assign(targets=[ast.Name(id=name)], value=value) if name in _PHRASES:
            yield value


def _reads(text: str) -> bool:
    bare = re.sub(r"\{[^{}]*\}", "", text)
    if set(re.findall(r"[A-Za-z]+", bare)) <= _PIECES:
        return False
    several = bool(_STARTS.match(text.strip())) and " " in text.strip()
    return several and bool(_ENGLISH.search(bare)) and not _NOT_ENGLISH.search(bare)


def template_of(node: ast.JoinedStr) -> str:
    """The message of an f-string: its text, with fields named after the variable that stands in each."""
    text, names = "", list[str]()
    for part in node.values:
        if isinstance(part, ast.Constant):
            text += str(part.value).replace("{", "").replace("}", "")
        elif isinstance(part, ast.FormattedValue):
            name = _name(part.value)
            same = sum(n == name or n.startswith(f"{name}_") for n in names)
            names.append(f"{name}_{same + 1}" if same else name)
            text += "{" + names[-1] + "}"
    return text


def _name(node: ast.expr) -> str:
    """What an expression is about, in one word."""
    match node:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name.strip("_")
        case ast.Call(args=[first, *_]):
            return _name(first)
        case ast.Call(func=ast.Attribute(value=value)) | ast.Subscript(value=value) | ast.Starred(value=value):
            return _name(value)
        case ast.BoolOp(values=[first, *_]):
            return _name(first)
        case ast.IfExp(body=inner) | ast.BinOp(left=inner) | ast.UnaryOp(operand=inner):
            return _name(inner)
        case ast.GeneratorExp(elt=inner) | ast.ListComp(elt=inner):
            return _name(inner)
        case _:
            return "part"


def gathered(messages: Iterable[Message], old: Catalogue) -> Catalogue:
    """A catalogue of all `messages` with what `old` has translated; each text stands once, with every place it has."""
    entries: dict[tuple[str, str], Entry] = {}
    for message in messages:
        key = (message.context, message.text)
        entry = entries.get(key) or _entry(message, old)
        places = entry.places if message.place in entry.places else (*entry.places, message.place)
        comments = entry.comments if message.kind in entry.comments else (*entry.comments, message.kind)
        entries[key] = replace(entry, places=places, comments=comments)
    return Catalogue(entries, old.header, old.file)


def _entry(message: Message, old: Catalogue) -> Entry:
    known = old.entries.get((message.context, message.text))
    forms = known.forms if known is not None else ("", "") if message.plural else ("",)
    return Entry(message.text, forms, message.context, message.plural, fuzzy=known is not None and known.fuzzy)


def code_messages(sources: Mapping[str, str]) -> Iterator[Message]:
    """The messages of the package's files, given their text by file name."""
    for file, which in SPOKEN.items():
        if file in sources:
            yield from messages_in(sources[file], file, which)
