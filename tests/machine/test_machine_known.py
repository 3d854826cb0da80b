"""Questions that are asked only when what they set is unknown."""

from __future__ import annotations

import pytest

from firststart.bench.verify import JUDGE_WORDS
from firststart.errors import UnknownName
from firststart.machine.compile import compile_table, known_answer
from firststart.machine.table import Table
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure


def table(library: Library, procedure: str | Procedure, words: dict[str, str]) -> Table:
    model = library.procedures[procedure] if isinstance(procedure, str) else procedure
    return compile_table(model, library.safety, JUDGE_WORDS, words, 1)


def onward(found: Table, state: str, event: str) -> str:
    return next(a.target for a in found.leaving[state] if a.event == event)


@pytest.mark.parametrize(
    ("words", "then"),
    [({}, "manual"), ({"manual": "at-hand"}, "story"), ({"manual": "none"}, "story"),
     ({"manual": "unknown"}, "manual")],
)  # fmt: skip
def test_a_question_with_a_known_answer_is_passed_over(library: Library, words: dict[str, str], then: str) -> None:
    """The manual that was spoken of in the profile is not asked for again with the papers."""
    assert then == onward(table(library, "papers", words), "plate", "done")


def test_a_known_number_takes_the_way_of_its_reading(library: Library) -> None:
    """With the cold cranking amps told, the battery goes on to its load; without, its label is read, amp hours last."""
    battery = {"battery": "12"}

    assert "label" == onward(table(library, "battery", battery), "rest", "full")
    assert "load.gate" == onward(table(library, "battery", {**battery, "cca": "known"}), "rest", "full")
    known = table(library, "battery", {**battery, "capacity": "known"})
    assert "load.gate" == onward(known, "label", "cannot-measure")


def test_the_question_stands_all_the_same(library: Library) -> None:
    """One that was just answered can be gone back to and answered again: its state stays in the table."""
    found = table(library, "battery", {"battery": "12", "cca": "known"})

    assert "label" in found.states
    assert "load.gate" == onward(found, "label", "taken")


def test_known_answers_that_lead_in_a_circle_are_refused(library: Library) -> None:
    """Two questions that pass each other on for ever cannot be compiled."""
    body = {"why": "x y z.", "sets": "manual", "only-unknown": True, "choices": {"at-hand": ["here"], "none": ["not"]}}
    planted = Procedure.model_validate(
        {
            "id": "planted", "title": "Planted", "purpose": "Two questions in a circle.", "stage": "survey",
            "minutes": 1,
            "steps": {
                "first": {"cmd": "Is it here?", "go": {"at-hand": "second", "none": "over"}, **body},
                "second": {"cmd": "Is it really here?", "go": {"at-hand": "first", "none": "over"}, **body},
            },
            "results": {"over": {"outcome": "ok", "say": "Over."}},
        }
    )  # fmt: skip

    with pytest.raises(UnknownName, match="round in a circle"):
        table(library, planted, {"manual": "at-hand"})
    assert table(library, planted, {"manual": "none"})


def test_an_answer_that_the_question_does_not_have_is_asked(library: Library) -> None:
    """A word that this question has no answer for does not pass it over."""
    step = library.procedures["papers"].steps["manual"]

    assert known_answer(step, {"manual": "at-hand"}) == "at-hand"
    assert known_answer(step, {"manual": "elsewhere"}) is None
    assert known_answer(step, {}) is None
