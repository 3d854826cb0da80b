"""Export to SCXML: right by the Recommendation, and run by an interpreter from outside to the same states."""

from __future__ import annotations

from random import Random

import pytest
from scxml_checker import faults
from scxml_schema import exports, reasons, schema
from statemachine.io import load

from firststart.job.rules import Rules
from firststart.machine.compile import compile_table
from firststart.machine.prove import engines
from firststart.machine.runtime import Runtime
from firststart.machine.scxml import event_name, to_scxml, truth_event, truths_of
from firststart.machine.table import EVENTLESS, Table
from firststart.procedure.catalogue import data_folder

NAMES = sorted(p.stem for p in (data_folder("procedures") / "work").glob("*.yaml"))
MOVES = 40


def some_table(rules: Rules, name: str, r: Random) -> Table:
    """The machine of a procedure for one of the kinds of engine it can tell apart."""
    procedure = rules.library.procedure(name)
    kinds = [k for k in engines(procedure, rules.library) if k[1] is None or k[1] <= 2]
    words, cylinders = r.choice(kinds)
    return compile_table(procedure, rules.library.safety, rules.judge_words, words, cylinders)


class Visits:
    """Listens to the interpreter: the states of the work that were entered, in order."""

    def __init__(self, table: Table) -> None:
        self.names, self.entered = set(table.states), []

    def on_enter_state(self, state) -> None:
        if state.id in self.names:
            self.entered.append(state.id)


def moves_of(table: Table, r: Random) -> list[tuple[str, str]]:
    """A random story: truths that come and go, answers that fit and some that do not."""
    truths, events = truths_of(table), sorted({a.event for a in table.arrows if a.event != EVENTLESS})
    story = [("holds", t) for t in truths if r.random() < 0.8]
    for _ in range(MOVES):
        if truths and r.random() < 0.25:
            story.append((r.choice(("holds", "holds", "lacks")), r.choice(truths)))
        else:
            story.append(("event", r.choice(events)))
    return story


def run_ours(table: Table, story: list[tuple[str, str]]) -> list[str]:
    """The states entered by the runtime of this project."""
    runtime, truths = Runtime(), set()
    here, entered = table.initial, [table.initial]
    for sort, name in [("holds", ""), *story]:
        if sort == "event":
            move = runtime.advance(table, here, name, truths)
        else:
            (truths.add if sort == "holds" else truths.discard)(name)
            move = runtime.advance(table, here, EVENTLESS, truths)
        entered += move.entered
        here = move.target
    return entered


def run_theirs(table: Table, story: list[tuple[str, str]]) -> list[str]:
    """The states entered by python-statemachine's SCXML interpreter."""
    visits = Visits(table)
    machine = load(to_scxml(table), format="scxml")(listeners=[visits])
    for sort, name in story:
        machine.send(event_name(name) if sort == "event" else truth_event(name, sort == "holds"))
    return visits.entered


@pytest.mark.external
@pytest.mark.parametrize("name", NAMES)
def test_an_interpreter_from_outside_visits_the_same_states(name: str, rules: Rules) -> None:
    """The same random answers, with truths that change, visit the same states in the same order.

    Source: the algorithm of the W3C Recommendation, appendix D, as python-statemachine runs it.
    """
    r = Random(name)
    table = some_table(rules, name, r)
    story = moves_of(table, r)

    assert run_ours(table, story) == run_theirs(table, story)


@pytest.mark.external
def test_an_interpreter_from_outside_agrees_on_work_made_from_the_book(rules: Rules) -> None:
    """The same holds for every check and repair that is made up from the book of suspects."""
    made = [name for name in rules.library.procedures if name not in NAMES]
    differ = []
    for name in made:
        r = Random(name)
        table = some_table(rules, name, r)
        story = moves_of(table, r)[:25]
        if run_ours(table, story) != run_theirs(table, story):
            differ.append(name)

    assert made
    assert [] == differ


@pytest.mark.external
def test_every_export_is_right_by_the_recommendation(rules: Rules) -> None:
    """Elements, attributes, identifiers, references, event descriptors and conditions are those of SCXML 1.0."""
    wrong = {name: faults(text) for name, text in exports(rules, 3)}

    assert {} == {name: found for name, found in wrong.items() if found}


@pytest.mark.external
def test_every_export_is_valid_by_the_schema(rules: Rules) -> None:
    """A general-purpose validator finds each document valid by the schema transcribed from the Recommendation."""
    wrong = {name: reasons(text, schema()) for name, text in exports(rules, 1)}

    assert len(wrong) == len(rules.library.procedures)
    assert {} == {name: found for name, found in wrong.items() if found}


NOT_OF_A_SCHEMA = ('datamodel="ecmascript"', "")
"""What a schema lets pass and the checker does not: another data model, a transition that has nothing to go by."""


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        (' version="1.0" datamodel', ' version="2.0" datamodel'),
        ('datamodel="null"', 'datamodel="ecmascript"'),
        ('id="the_work"', 'id="the work"'),
        ('id="the_work"', 'id="the_machine"'),
        ('target="left"', 'target="nowhere"'),
        ('initial="the_machine"', 'initial="nothing"'),
        ("<final ", "<end "),
        (' target="left"', ' goto="left"'),
        ('event="leave" target="left"', ""),
        ('event="leave"', 'event="leave it!"'),
        ("_lacks')\"", "_lacks') or In('left')\""),
    ],
)
def test_the_checker_refuses_what_is_no_scxml(right: str, wrong: str, rules: Rules) -> None:
    """Each way of spoiling a good document is found: the checker can fail."""
    procedure = rules.library.procedure("compression")
    good = to_scxml(compile_table(procedure, rules.library.safety, rules.judge_words, {}, 1))

    assert right in good
    assert [] == faults(good) == reasons(good, schema())
    bad = good.replace(right, wrong, 1).replace("</final>", "</end>" if "end" in wrong else "</final>")
    assert [] != faults(bad)
    assert (wrong in NOT_OF_A_SCHEMA) == (reasons(bad, schema()) == [])


def test_event_names_are_told_apart() -> None:
    """Dots and spaces part names in SCXML, so they are written otherwise, and no two become one."""
    events = ("a.b", "a_b", "a b", "a-b", "ab", "a_2eb")

    assert len(events) == len({event_name(e) for e in events})
    assert all(set(event_name(e)) <= set("abcdefghijklmnopqrstuvwxyz0123456789_-") for e in events)
