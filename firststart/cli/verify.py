"""`firststart verify`: every problem of procedures and fault data, with file and line."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from firststart.bench.shop import book_of, with_workings
from firststart.bench.verify import JUDGE_WORDS, find_problems
from firststart.cli.bookfigures import book_problems, print_figures
from firststart.cli.common import own_folders
from firststart.cli.language import print_language
from firststart.diagnosis.agree import disagreements
from firststart.diagnosis.book import Book
from firststart.errors import DataError, Problem
from firststart.procedure.catalogue import data_folder, load_library, load_sorts, load_with_problems
from firststart.procedure.library import Library
from firststart.procedure.matrix import matrix, matrix_lines
from firststart.prompt.reading import wording_lines


def run_verify(arguments: argparse.Namespace) -> int:
    """Print every problem; 1 when there is any. With an option for it, print a table of the procedures instead."""
    if arguments.language is not None:
        return print_language(arguments, load_library(data_folder("procedures"), own_folders(arguments)))
    if arguments.matrix or arguments.wording or arguments.book:
        return _tables(arguments)
    problems, figures = verify(data_folder("procedures"), own_folders(arguments), tuple(arguments.file))
    if arguments.format == "json":
        print(json.dumps({"problems": [vars(p) for p in problems], "figures": figures}, indent=2))
    else:
        for problem in problems:
            print(problem)
        told = f"{len(problems)} problem{'s' if len(problems) != 1 else ''}"
        shown = ", ".join(f"{value:,} {name}" for name, value in figures.items())
        print(f"{told}; checked {shown}.")
    return 1 if problems else 0


def _tables(arguments: argparse.Namespace) -> int:
    """The tables asked for, of the shipped procedures with the user's own. Raises DataError."""
    folder = data_folder("procedures")
    library = load_library(folder, own_folders(arguments))
    if arguments.matrix:
        print("\n".join(matrix_lines(library, matrix(library, load_sorts(folder)))))
    if arguments.wording:
        print("\n".join(wording_lines(library)))
    book = book_of(library) if arguments.book else None
    if book is not None:
        print_figures(book, folder, arguments.format)
    return 0


def verify(
    folder: Path, own: tuple[Path, ...] = (), files: tuple[Path, ...] = ()
) -> tuple[list[Problem], dict[str, int]]:
    """All problems of a folder of procedures with a user's own folders and single files, and what was looked at."""
    library, problems = load_with_problems(folder, own, files)
    figures: dict[str, int] = {}
    if library is not None:
        library, book, more = _with_book(library, folder)
        found, proof = find_problems(library)
        problems += [*more, *found]
        figures = {
            "procedures": len(library.procedures),
            "steps": sum(len(p.steps) for p in library.procedures.values()),
            "machines": proof.tables,
            "states": proof.states,
            "transitions": proof.arrows,
            "limits": len(library.limits.by_name),
        }
        if book is not None:
            figures |= {"suspects": len(book.suspects), "checks": len(book.checks)}
    return sorted(set(problems)), figures


def _with_book(library: Library, folder: Path) -> tuple[Library, Book | None, list[Problem]]:
    """The library with the work its book brings; the book's own problems, and where it and the procedures differ."""
    try:
        book = book_of(library)
        if book is None:
            return library, None, []
        found = [*book_problems(book, folder), *disagreements(book, library, JUDGE_WORDS)]
    except DataError as error:
        return library, None, list(error.problems)
    return with_workings(library, book), book, found
