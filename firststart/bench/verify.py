"""Everything that can be wrong with a library, in one list: names, answers, wording, and proofs over the machines."""

from __future__ import annotations

from collections.abc import Collection

from firststart.errors import Problem
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
    faulty = {(p.file, p.line) for p in problems}
    files = {file for file, _ in faulty}
    names = library.procedures if only is None else only
    whole = [n for n in names if library.documents[n].file not in files or library.documents[n].data is None]
    proof = prove(library, JUDGE_WORDS, whole)
    return sorted({*problems, *proof.problems, *lint_wording(library, only)}), proof
