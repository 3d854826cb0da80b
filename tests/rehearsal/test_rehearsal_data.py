"""The rehearsal's own tables fit the procedures, the conditions and the book that ship."""

import pytest
from rehearsal_engines import engine
from rehearsal_world import world

from firststart.bench.shop import book_of
from firststart.diagnosis.workings import procedure_for_fix
from firststart.job.situation import Situation
from firststart.procedure.model import Step
from firststart.prompt.expect import Option
from firststart.rehearsal.answers import ANSWERS
from firststart.rehearsal.doing import DOINGS
from firststart.rehearsal.draw import SORTS
from firststart.rehearsal.engine import LOOKS
from firststart.rehearsal.parts import EACH_CYLINDER, PARTS
from firststart.rehearsal.person import SHELF
from firststart.rehearsal.readings import READINGS
from firststart.rehearsal.scenario import profile_of
from firststart.rehearsal.which import branches, by_words, fitting


def steps() -> list[tuple[str, str, Step]]:
    """Every step of every procedure, those made from the book included."""
    library = world().rules.library
    return [(p.id, name, step) for p in library.procedures.values() for name, step in p.steps.items()]


@pytest.mark.parametrize(("procedure", "step"), sorted(ANSWERS))
def test_an_answer_about_ones_own_doing_has_its_question(procedure: str, step: str) -> None:
    """Each line of the table names a step that asks a question."""
    found = world().rules.library.procedures[procedure].steps[step]

    assert found.choices
    assert found.observe is None


def test_every_doing_answers_to_an_instruction() -> None:
    """Each pattern occurs in what some procedure says, so that none of them speaks to nobody."""
    texts = [s.cmd for _, _, s in steps()]
    texts += [r.say for p in world().rules.library.procedures.values() for r in p.results.values()]
    silent = [d.words.pattern for d in DOINGS if not any(d.words.search(t) for t in texts)]

    assert silent == []


def test_every_doing_names_conditions_that_exist() -> None:
    """What doing as told takes away is a hidden condition."""
    known = set(world().kit.conditions.by_name)

    assert set() == {name for d in DOINGS for name in d.takes} - known


def test_every_reading_that_is_asked_for_can_be_answered() -> None:
    """No gauge, meter or rule that a procedure asks for is unknown to the virtual engine."""
    asked = {s.measure.name for _, _, s in steps() if s.measure is not None and not s.sets}

    assert set() == asked - set(READINGS) - set(SHELF) - {"oil-poured"}


def test_what_the_book_observes_is_seen_or_read() -> None:
    """The diagnosis asks nothing that the virtual engine shows alike whatever is wrong with it."""
    book = world().rules.library.book
    assert book is not None
    observed = {check["observes"] for check in book.data["checks"].values()}

    assert set() == observed - set(LOOKS) - set(READINGS)


def test_every_condition_can_be_put_right_by_a_repair_of_the_book() -> None:
    """Scoring is possible for each hidden condition, and only with repairs that the book knows."""
    book = world().rules.library.book
    assert book is not None
    repairs = world().kit.repairs
    mended = {name for names in repairs.values() for name in names}

    assert set(repairs) == set(book.data["suspects"])
    assert set(world().kit.conditions.by_name) == mended


def test_every_part_is_changed_by_a_condition_or_by_wear() -> None:
    """No part of the virtual engine stands there for nothing."""
    from firststart.rehearsal.wear import worn_parts

    virtual = engine()
    changed = {part for c in world().kit.conditions.by_name.values() for part in c.sets}
    changed |= set(worn_parts(virtual.body, virtual.rng))

    assert set() == set(PARTS) - changed
    assert set(PARTS) >= EACH_CYLINDER


def test_a_sound_engine_gives_the_first_choice_of_every_question() -> None:
    """The rule of the procedures: what is listed first is what a sound engine shows, so its path leads to the end."""
    wrong = []
    for procedure, name, step in steps():
        if step.observe not in LOOKS or (procedure, name) in EXCEPTIONS or procedure.startswith(("check-", "mend-")):
            continue
        virtual = engine()
        virtual.parts.worn.clear()
        virtual.try_to_start()
        options = tuple(Option(e, p) for e, p in step.choices.items())
        seen = virtual.look(step.observe, 1 if step.foreach else None)
        fits = options[0] if seen is None else fitting(seen, options)
        if fits is not options[0]:
            wrong.append((procedure, name, step.observe, seen, list(step.choices)))

    assert wrong == []


EXCEPTIONS = {
    ("first-crank", "answered"),  # asked only when it does not run
    ("first-crank", "turned-else"),  # asked only when it did something else
    ("stuck-engine", "once-more"),  # asked only of a stuck engine
    ("leak-down", "where-failed"),  # asked only of a cylinder that failed
    ("crankcase-leak", "falls-seal"),  # asked only of a crankcase whose pressure fell
    ("crankcase-leak", "falls-joint"),
    ("starter-check", "motor-tells"),  # asked only of a motor that stands still
}


def test_the_words_of_an_advice_lead_to_no_other_repair() -> None:
    """Where work asks what is to be put right, the suspect's own name never fits another answer better."""
    rules = world().rules
    book = book_of(rules.library)
    assert book is not None  # the library that ships has one
    astray = set()
    for sort in SORTS:
        situation = Situation(profile=profile_of({**sort, "cylinders": "2"}))
        fitting_work = {p.id: p for p in rules.library.applicable(rules.words(situation))}
        for suspect in book.suspects.values():
            work = procedure_for_fix(book, suspect.id, fitting_work)
            table = rules.table(work, situation) if work in fitting_work else None
            for state in table.states.values() if table else ():
                if state.step is None or not state.step.choices or state.step.observe:
                    continue
                found = branches(table, state.name)
                right = {event for event, repairs in found.items() if suspect.id in repairs}
                options = (Option(e, p) for e, p in state.step.choices.items() if found.get(e))
                taken = by_words(f"Mend {suspect.name}", options)
                if right and taken is not None and taken.event not in right:
                    astray.add((suspect.id, work, taken.event))

    assert astray == set()
