"""Other work than what is offered: the plan page by page, then all that is led only when asked for."""

from __future__ import annotations

import pytest

from firststart.bench.advice import Adviser
from firststart.bench.choosing import MORE, PAGE, Choice, choice_of
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job
from firststart.clock import SimulatedClock
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.expect import Option


def conductor_of(rules: Rules) -> Conductor:
    desk = open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("job", "twin", "test", "shed"))
    for field, word in (("kind", "motorcycle"), ("fuel", "petrol"), ("cycle", "four-stroke"), ("starting", "electric")):
        desk.submit(i.SetProfile(field, word=word))
    return Conductor(desk, Adviser(rules, None))


def choice(rules: Rules) -> Choice:
    desk = conductor_of(rules).desk
    plan = rules.plan(desk.situation, desk.now)
    return choice_of(rules.library, plan, rules.words(desk.situation))


def test_all_work_that_fits_is_there_once_the_plan_first(rules: Rules) -> None:
    """Nothing that could be begun is out of reach, and nothing that does not fit is offered."""
    desk = conductor_of(rules).desk
    names = [option.event for option in choice(rules).work]
    plan = [item.procedure for item in rules.plan(desk.situation, desk.now)]

    assert plan == names[: len(plan)]
    assert len(names) == len(set(names))
    assert {"leak-down", "compression-recheck", "true-top", "timing-light"} <= set(names)
    assert not {"diesel-bleed", "reeds", "make-safe"} & set(names)


def test_pages_hold_nine_answers_and_come_round(rules: Rules) -> None:
    """Each page fits the nine keys; every piece of work stands on one of them."""
    first = here = choice(rules)
    seen: list[str] = []
    while True:
        events = [option.event for option in here.expects.options]
        assert len(events) <= PAGE + 1
        assert MORE == events[-1]
        seen += events[:-1]
        here = here.next_page()
        if here == first:
            break

    assert [option.event for option in first.work] == seen


@pytest.mark.parametrize("text", ["leak-down", " Leak-down ", "true-top", "true top dead centre by a stop"])
def test_work_is_begun_by_its_name(rules: Rules, text: str) -> None:
    """A title or an id that is typed begins that work, on whatever page it stands."""
    conductor = conductor_of(rules)
    conductor.hear("something else")
    conductor.hear("more work")
    conductor.hear(text)
    run = conductor.desk.situation.run
    wanted = "leak-down" if "leak" in text.lower() else "true-top"

    assert run is not None
    assert wanted == run.procedure


@pytest.mark.parametrize("text", ["aircraft", "an aeroplane engine", "It is an airplane.", "ein Flugzeug"])
def test_an_aircraft_engine_is_refused_in_a_sentence(rules: Rules, text: str) -> None:
    """Who names an aircraft is told that this is not the place, and nothing is noted."""
    conductor = conductor_of(rules)
    conductor.hear("yes")
    before = conductor.desk.situation
    reply = conductor.hear(text)

    assert ("Aircraft engines are out of scope: a licensed aircraft mechanic must do this work.",) == reply.say
    assert before == conductor.desk.situation


def test_few_pieces_of_work_need_no_second_page() -> None:
    """Where all fits on one page nothing more is offered."""
    few = Choice(tuple(Option(f"work-{n}", (f"work {n}",)) for n in range(PAGE)))

    assert MORE not in [option.event for option in few.expects.options]
