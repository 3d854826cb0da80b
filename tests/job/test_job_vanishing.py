"""An answer that decides that its own step is not for this engine: the work goes on all the same."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from job_desk import new_desk, state

from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.procedure.model import Procedure
from firststart.units import measured

WORK: dict[str, Any] = {
    "id": "odd", "title": "Odd work", "purpose": "Ask something once.", "stage": "profile", "line": "asked",
    "minutes": 1,
    "results": {"seen": {"outcome": "ok", "say": "It was asked."}},
}  # fmt: skip
ASKED_ONCE = {
    "first": {
        "cmd": "What cools it?", "applies": {"cooling": ["unknown"]}, "sets": "cooling",
        "choices": {"air": ["air"], "water": ["water"]}, "go": "seen",
    },
    "second": {"cmd": "Write it down.", "go": "seen"},
}  # fmt: skip
EACH_CYLINDER = {
    "first": {
        "cmd": "How many are there?", "foreach": "cylinder", "sets": "cylinders",
        "measure": {
            "name": "cylinders", "quantity": "count", "unit": "", "range": [1, 8], "instrument": "none",
        },
        "go": {"taken": "first", "cannot-measure": "each"},
    },
    "second": {"cmd": "Write it down.", "go": "seen"},
}  # fmt: skip
LEAVES_OUT = {
    "first": {
        "cmd": "What cools it?", "sets": "cooling", "choices": {"air": ["air"], "water": ["water"]}, "go": "second",
    },
    "second": {
        "cmd": "Look at it.", "choices": {"fine": ["fine"]},
        "go": {"fine": [{"when": {"cooling": ["water"]}, "to": "seen"}]},
    },
}  # fmt: skip


def rules_with(library_rules: Rules, steps: dict[str, Any]) -> Rules:
    """The rules with the odd work beside the rest, as a folder that nobody verified would bring it."""
    library = library_rules.library
    odd = Procedure.model_validate({**WORK, "steps": steps})
    return Rules(replace(library, procedures={**library.procedures, "odd": odd}))


def test_a_step_that_asks_only_while_nobody_knows(spin_rules: Rules) -> None:
    """Its answer is kept, its state is gone, and the work stands at its first step that is for this engine."""
    desk = new_desk(rules_with(spin_rules, ASKED_ONCE))
    desk.submit(i.SetProfile("kind", word=None))
    desk.submit(i.Begin("odd"))

    assert "odd:first" == state(desk)
    desk.submit(i.Say("water"))
    assert "water" == desk.situation.profile.word("cooling")
    assert "odd:second" == state(desk)


def test_a_cylinder_that_is_no_more(spin_rules: Rules) -> None:
    """At the third cylinder it turns out that there are two: the work begins again, and nothing breaks."""
    desk = new_desk(rules_with(spin_rules, EACH_CYLINDER))
    desk.submit(i.SetProfile("cylinders", number=measured(4, "", "count")))
    desk.submit(i.Begin("odd"))
    for _ in range(2):
        desk.submit(i.Say("cannot-measure"))

    assert "odd:first.3" == state(desk)
    desk.submit(i.Give(measured(2, "", "count")))
    assert 2 == desk.situation.profile.cylinders
    assert "odd:first.1" == state(desk)


@pytest.mark.parametrize("answer", ["air", "water"])
def test_work_that_no_longer_fits_is_left(spin_rules: Rules, answer: str) -> None:
    """An answer that leaves this engine out of all that follows ends the work; the other one leads on."""
    desk = new_desk(rules_with(spin_rules, LEAVES_OUT))
    desk.submit(i.SetProfile("cooling", word="water"))
    desk.submit(i.Begin("odd"))
    desk.submit(i.Say(answer))

    assert answer == desk.situation.profile.word("cooling")
    assert (desk.situation.run is None) == (answer == "air")
    assert answer == "water" or "left" == desk.situation.ended["odd"].outcome
