"""`firststart reckon SUBJECT name=value...`: one calculation with its formula, source and answer."""

from __future__ import annotations

import argparse
import difflib
import json
from dataclasses import asdict
from pathlib import Path

from firststart.cli import judged
from firststart.cli.common import load_rules
from firststart.cli.cranking import CRANKING, cranking_subject
from firststart.errors import InputError, UnknownName
from firststart.physics.subject import Answer, Subject
from firststart.physics.subjects import SUBJECTS


def run_reckon(arguments: argparse.Namespace) -> int:
    """Print one answer, or with --list every subject."""
    if arguments.list or arguments.subject is None:
        return _list(arguments)
    name = str(arguments.subject)
    if judged.wanted(name) and name != judged.PERMIT:
        return _judge(name, arguments)
    subject = _permit(arguments) if name == judged.PERMIT else _subject(name, arguments.sound)
    answers = subject.run(subject.read(_texts(arguments.values)))
    if arguments.format == "json":
        told = {"subject": subject.name, "formula": subject.formula, "source": subject.source, "mark": subject.mark}
        print(json.dumps({**told, "answers": [asdict(a) for a in answers]}, indent=2))
        return 0
    print(subject.title)
    print(f"  formula: {subject.formula}")
    print(f"  source:  {subject.source} ({subject.mark})")
    for answer in answers:
        _print_answer(answer)
    return 0


def _list(arguments: argparse.Namespace) -> int:
    for subject in (*SUBJECTS.values(), cranking_subject(None), _permit(arguments)):
        _print_subject(subject)
    for line in judged.lines():
        print(line)
    return 0


def _permit(arguments: argparse.Namespace) -> Subject:
    return judged.permit_subject(load_rules(arguments).library.duties)


def _judge(name: str, arguments: argparse.Namespace) -> int:
    """A verdict or an amount as the guided work gives it."""
    title, source, answers = judged.asked(name, _texts(arguments.values), load_rules(arguments).library)
    if arguments.format == "json":
        print(json.dumps({"subject": name, "source": source, "answers": [asdict(a) for a in answers]}, indent=2))
        return 0
    print(title)
    print(f"  source:  {source}")
    for answer in answers:
        _print_answer(answer)
    return 0


def _subject(name: str, sound: Path | None) -> Subject:
    if name == CRANKING:
        return cranking_subject(sound)
    if name in SUBJECTS:
        if sound is not None:
            raise InputError(f"{name} takes no sound; --sound goes with {CRANKING}.")
        return SUBJECTS[name]
    near = difflib.get_close_matches(name, (*SUBJECTS, CRANKING, *judged.names()), n=1)
    hint = f"did you mean {near[0]!r}?" if near else "firststart reckon --list shows all."
    raise UnknownName(f"There is no subject called {name!r}; {hint}")


def _texts(pairs: list[str]) -> dict[str, str]:
    texts: dict[str, str] = {}
    for pair in pairs:
        name, mark, value = pair.partition("=")
        if not mark or not name or not value:
            raise InputError(f"{pair!r} is not name=value; write it as in ratio=9:1.")
        texts[name] = value
    return texts


def _print_subject(subject: Subject) -> None:
    print(f"{subject.name}: {subject.title}")
    print(f"  formula: {subject.formula}")
    print(f"  source:  {subject.source} ({subject.mark})")
    for given in subject.given:
        kind = "one of " + ", ".join(given.words) if given.words else f"{given.kind} in {given.unit or 'no unit'}"
        default = f", {given.default} when not given" if given.default else ""
        meaning = f": {given.meaning}" if given.meaning else ""
        print(f"    {given.name} ({kind}{default}){meaning}")


def _print_answer(answer: Answer) -> None:
    value = answer.value if isinstance(answer.value, str) else f"{answer.value.value:.4g} {answer.value.unit}".rstrip()
    print(f"  {answer.name}: {value}{f'  ({answer.note})' if answer.note else ''}")
