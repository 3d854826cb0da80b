"""Everything that can be wrong with a library, in one list: names, answers, wording, and proofs over the machines."""

from __future__ import annotations

from collections.abc import Collection

from firststart.errors import DataError, Problem
from firststart.judge.registry import AMOUNTS, JUDGES
from firststart.machine.prove import Proof, prove
from firststart.procedure.checks import check_procedures
from firststart.procedure.library import Library
from firststart.prompt.lint import lint_wording

JUDGE_WORDS = {name: judge.words for name, judge in JUDGES.items()}


def find_problems(library: Library, only: Collection[str] | None = None) -> tuple[list[Problem], Proof]:
    """Every problem of the procedures (`only` some of them), and the proof over those that are whole.

    A procedure with a wrong name or an open answer is not compiled: its first fault would be told over and over.
    """
    problems = check_procedures(library, JUDGES, frozenset(AMOUNTS), only)
    proof = prove(library, JUDGE_WORDS, _whole(library, problems, only))
    return sorted({*problems, *proof.problems, *lint_wording(library, only)}), proof


def refuse_unproved(library: Library) -> None:
    """Raise DataError with all that is wrong with work of a user's own folders, but for its wording.

    Where such a folder adds to the safety data, what ships is looked at too.
    """
    problems = check_procedures(library, JUDGES, frozenset(AMOUNTS), None if library.own_safety else library.own)
    proof = prove(library, JUDGE_WORDS, _whole(library, problems, library.own))
    if problems or proof.problems:
        raise DataError(sorted({*problems, *proof.problems}))


def _whole(library: Library, problems: Collection[Problem], only: Collection[str] | None) -> list[str]:
    """The procedures (of `only` some) in whose files there is no problem."""
    faulty = {(p.file, p.line) for p in problems}
    files = {file for file, _ in faulty}
    names = library.procedures if only is None else only
    return [n for n in names if library.documents[n].file not in files or library.documents[n].data is None]
