"""The trade as a table: for each stage and each sort of engine, how many procedures there are.

A cell counts the work of the ordinary plan; work that is only done when asked for is told apart with a plus. An empty
cell is either a gap or has its reason, and the tests hold the reasons as data.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from firststart.engine.profile import applies, check_word
from firststart.errors import DataError, InputError
from firststart.procedure.library import Library
from firststart.procedure.reader import Document

NOTHING = "-"


@dataclass(frozen=True)
class Cell:
    """How many procedures of one stage fit one sort of engine: in the plan, and when asked for."""

    main: int
    asked: int

    def __str__(self) -> str:
        return str(self.main) if self.main else f"+{self.asked}" if self.asked else NOTHING


@dataclass(frozen=True)
class Matrix:
    """`cells` by (stage, sort)."""

    stages: tuple[str, ...]
    sorts: tuple[str, ...]
    cells: Mapping[tuple[str, str], Cell]

    def empty(self) -> tuple[tuple[str, str], ...]:
        """The cells in which there is nothing to do."""
        return tuple(at for at, cell in self.cells.items() if not cell.main + cell.asked)


def read_sorts(document: Document) -> dict[str, dict[str, str]]:
    """Profile words by sort of engine. Raises DataError with every word that is none."""
    data = document.data if isinstance(document.data, dict) else {}
    sorts: dict[str, dict[str, str]] = {}
    problems = []
    for name, told in data.items():
        if not isinstance(told, dict):
            problems.append(document.problem((name,), f"{name} needs profile words, as in 'kind: car'"))
            continue
        sorts[name] = {field: str(word) for field, word in told.items()}
        for field, word in sorts[name].items():
            try:
                check_word(field, word)
            except InputError as error:
                problems.append(document.problem((name, field), str(error)))
    if problems:
        raise DataError(problems)
    return sorts


def matrix(library: Library, sorts: Mapping[str, Mapping[str, str]]) -> Matrix:
    """Count the procedures of each stage that apply to each sort of engine."""
    cells = {}
    for stage in library.stages:
        members = [p for p in library.procedures.values() if p.stage == stage]
        for name, words in sorts.items():
            fitting = [p.line for p in members if applies(p.applies, words, unknown=True)]
            cells[stage, name] = Cell(fitting.count("main"), fitting.count("asked"))
    return Matrix(tuple(library.stages), tuple(sorts), cells)


def matrix_lines(library: Library, table: Matrix) -> list[str]:
    """The table for a screen of 100 columns: stages down, sorts across by number, and what the numbers mean."""
    width = max(len(library.stages[s].title) for s in table.stages)
    lines = [" " * width + "".join(f"{n:4}" for n, _ in enumerate(table.sorts, 1))]
    for stage in table.stages:
        row = "".join(f"{table.cells[stage, name]!s:>4}" for name in table.sorts)
        lines.append(f"{library.stages[stage].title:<{width}}{row}")
    lines += ["", *(f"{n:4} {name}" for n, name in enumerate(table.sorts, 1)), ""]
    lines.append(f"A number is work of the plan, +n work done only when asked for, {NOTHING} nothing to do.")
    lines.append(f"{len(table.cells)} cells, {len(table.empty())} of them with nothing to do.")
    return lines
