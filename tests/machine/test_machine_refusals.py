"""Each refusal has its own smallest bad procedure, and says file, line and remedy."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firststart.bench.verify import find_problems
from firststart.errors import DataError, Problem
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.procedure.reader import read
from firststart.procedure.validate import model_of

BAD = Path(__file__).resolve().parent / "bad"
NAMES = sorted(p.stem for p in BAD.glob("*.yaml"))


def problems_of(name: str, library: Library) -> list[Problem]:
    """What `firststart verify` finds in one bad procedure, put beside the shipped ones."""
    try:
        document = read((BAD / f"{name}.yaml").read_text(encoding="utf-8"), f"{name}.yaml")
    except DataError as error:
        return list(error.problems)
    problems: list[Problem] = []
    model = model_of(Procedure, document, (), document.data, problems)
    if model is None:
        return problems
    beside = replace(
        library,
        procedures={**library.procedures, name: model},
        documents={**library.documents, name: document},
    )
    found, _proof = find_problems(beside, (name,))
    problems += found
    return sorted(set(problems))


@pytest.mark.parametrize("name", NAMES)
def test_a_bad_procedure_is_refused_with_place_and_remedy(name: str, library: Library) -> None:
    """The problems of the smallest bad procedure are exactly those written beside it."""
    expected = (BAD / f"{name}.problems").read_text(encoding="utf-8").strip().splitlines()

    assert expected == [str(p) for p in problems_of(name, library)]


def test_there_are_many_of_them() -> None:
    """At least twelve refusals are shown."""
    assert len(NAMES) >= 12
