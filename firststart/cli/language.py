"""The languages there are: catalogues found, checked, written out."""

from __future__ import annotations

import argparse
from pathlib import Path

from firststart.cli.common import own_folders
from firststart.errors import UnknownName
from firststart.procedure.catalogue import data_folder, text_of
from firststart.procedure.library import Library
from firststart.prompt.language import ENGLISH
from firststart.prompt.language_file import COVERS, Catalogue, read_po, write_po
from firststart.prompt.language_gather import (
    SPOKEN,
    Message,
    code_messages,
    common_messages,
    gathered,
    messages_of,
)
from firststart.prompt.language_lint import coverage, lint_language

FOLDER = "languages"
_HEADER = {
    "Project-Id-Version": "firststart",
    "Language": "",
    "MIME-Version": "1.0",
    "Content-Type": "text/plain; charset=UTF-8",
    "Content-Transfer-Encoding": "8bit",
    "Plural-Forms": "nplurals=2; plural=(n != 1);",
    "X-Decimal": ".",
    "X-Never-Say": "",
    COVERS: "place, fire-readiness",
}


def load_catalogue(arguments: argparse.Namespace, code: str) -> Catalogue:
    """The shipped catalogue with the user's own over it. Raises UnknownName, DataError."""
    files = [folder / FOLDER / f"{code}.po" for folder in (data_folder("procedures"), *own_folders(arguments))]
    found = [_read(path) for path in files if path.is_file()]
    if not found:
        known = ", ".join((ENGLISH, *sorted(_names(arguments))))
        raise UnknownName(f"There is no language called {code!r}; there are: {known}.")
    whole = found[0]
    for own in found[1:]:
        whole = whole.with_own(own)
    return whole


def _names(arguments: argparse.Namespace) -> set[str]:
    folders = (data_folder("procedures"), *own_folders(arguments))
    return {path.stem for folder in folders for path in (folder / FOLDER).glob("*.po")}


def _read(path: Path) -> Catalogue:
    shown = f"{FOLDER}/{path.name}"
    return read_po(text_of(path, shown), shown)


def needed(library: Library, catalogue: Catalogue) -> tuple[Message, ...]:
    """What `catalogue` must translate: what every job says, the sentences of the code, and the work that it covers."""
    covers = [name for name in catalogue.field(COVERS) if name in library.procedures]
    root = Path(__file__).resolve().parent.parent
    sources = {file: (root / file).read_text(encoding="utf-8") for file in SPOKEN}
    return (*common_messages(library), *code_messages(sources), *messages_of(library, covers))


def print_language(arguments: argparse.Namespace, library: Library) -> int:
    """The problems of a language, or its catalogue brought up to date; 1 when there is a problem."""
    code = arguments.language
    if arguments.template:
        try:
            old = load_catalogue(arguments, code)
        except UnknownName:
            old = Catalogue({}, {**_HEADER, "Language": code})
        print(write_po(gathered(needed(library, old), old)), end="")
        return 0
    catalogue = load_catalogue(arguments, code)
    messages = needed(library, catalogue)
    problems = lint_language(catalogue, messages, library)
    for problem in problems:
        print(problem)
    told = f"{len(problems)} problem{'s' if len(problems) != 1 else ''}"
    print(f"{told}; {coverage(catalogue, messages, library)}")
    return 1 if problems else 0
