"""The procedures as a mechanic would hold them against the trade: its facts, its kinds of engine, its repairs.

The facts are common practice, no source; they are the ones that the work must agree with.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from firststart.bench.shop import book_of
from firststart.bench.verify import JUDGE_WORDS
from firststart.engine.profile import NUMBERS, WORDS, check_number, check_word
from firststart.machine.compile import compile_table, events_of
from firststart.machine.prove import engines
from firststart.machine.table import FINAL, GATE, Table
from firststart.physics.subject import MARKS
from firststart.procedure.catalogue import data_folder, load_library
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.procedure.reader import read
from firststart.units import parse

MOST_ENGINES = 60  # of those a procedure can tell apart, for the walk along its first answers


@cache
def library() -> Library:
    return load_library(data_folder("procedures"))


def told(procedure: Procedure) -> str:
    """Everything that a procedure says, shows or gives as a reason, in small letters."""
    texts = [procedure.purpose, *(r.say for r in procedure.results.values())]
    for step in procedure.steps.values():
        texts += [step.cmd, step.why, step.info, *(note.text for note in step.note)]
    return " ".join(texts).lower()


FACTS = {
    "petrol in contact with air can spoil in about thirty days and turn to varnish that blocks jets": [
        ("fuel-out", r"contact with air .*thirty days"),
        ("fuel-out", r"varnish that blocks jets"),
        ("jets", r"spoilt petrol turns to varnish"),
    ],
    "metal on the magnet can end the project before it starts, a clean magnet lets it go on": [
        ("old-filter", r"clean magnet lets the project go on"),
        ("old-filter", r"can end the project before it starts"),
    ],
    "an engine needs air, spark and fuel, and each unproven one is a guess later": [
        ("no-fire", r"needs air, spark and fuel\. each one that is unproven is a guess"),
        ("prime", r"needs air, spark and fuel"),
    ],
    "a timing rotor forced on past its locating pin turns free on the shaft however tight its bolt": [
        ("keyed-rotor", r"rotor forced on past its pin turns free on the shaft, however tight its bolt"),
        ("mend-flywheel", r"forced on past its pin"),
    ],
    "a failed tank coating comes off in flakes that block the system": [
        ("drained-tank", r"failed coating comes off in flakes, and the flakes block"),
        ("mend-fuel-lines", r"tank coating that has failed"),
    ],
    "a solvent soak takes days and may suffice for a first run only": [
        ("drained-tank", r"solvent soak takes days, and may be good enough for a first run only"),
        ("jobs-road", r"first run only"),
    ],
    "a caustic bath takes the paint with it": [("drained-tank", r"caustic bath .*paint")],
    "a fuel tap hard with age leaks or sticks and wants its soft parts renewed": [
        ("fuel-tap", r"tap hard with age leaks or sticks\. its soft parts want renewing"),
    ],
    "a clean-looking carburettor that stood off the engine still wants opening and new seals": [
        (
            "carburettor-opened",
            r"clean-looking carburettor that stood off the engine still wants opening and new seals",
        ),
        ("carburettor-off", r"still wants opening, however clean it looks"),
    ],
    "a first start can need long cranking in total, so the seconds are counted and the rests kept": [
        ("no-fire", r"first start can need long cranking in total\. counted seconds and kept rests"),
    ],
}


@pytest.mark.parametrize(
    ("fact", "name", "words"), [(fact, name, words) for fact, places in FACTS.items() for name, words in places]
)
def test_the_work_tells_the_facts_of_the_trade(fact: str, name: str, words: str) -> None:
    """A fact of the trade is told where the work meets it."""
    found = re.search(words, told(library().procedures[name]))

    assert found, f"{name} does not tell that {fact}"


def first_result(table: Table) -> str:
    """The outcome at the end of the first answers; "loops" when they lead round in a circle."""
    at = table.initial
    for _ in range(400):
        state = table.states[at]
        if state.sort == FINAL:
            assert state.result is not None

            return state.result.outcome
        if state.sort == GATE:
            at = state.guards
            continue
        assert state.step is not None

        event = "no" if at.startswith("more-") else events_of(state.step, JUDGE_WORDS)[0]
        at = next(a.target for a in table.leaving[at] if a.event == event)
    return "loops"


@pytest.mark.parametrize("name", sorted(library().procedures))
def test_the_first_answers_lead_to_a_good_end(name: str) -> None:
    """The first answer offered is what a sound engine or a ready person gives, on every engine."""
    procedure = library().procedures[name]
    ends: dict[str, dict[str, str]] = {}
    for number, (words, cylinders) in enumerate(engines(procedure, library())):
        if number == MOST_ENGINES:
            break
        table = compile_table(procedure, library().safety, JUDGE_WORDS, words, cylinders)
        ends.setdefault(first_result(table), words)

    assert {"ok"} == set(ends), ends


def test_every_kind_of_engine_has_its_defaults_file() -> None:
    """Each kind of the profile has a file of defaults, even when it holds none."""
    assert set(WORDS["kind"]) == set(library().engines)


@pytest.mark.parametrize("path", sorted((data_folder("procedures") / "engines").glob("*.yaml")), ids=lambda p: p.stem)
def test_every_default_is_a_word_or_number_of_the_profile_with_source_and_mark(path: Path) -> None:
    """A default is valid for its field, and says where it comes from."""
    for field, entry in read(path.read_text(encoding="utf-8"), path.name).data.items():
        if "word" in entry:
            check_word(field, entry["word"])
        else:
            check_number(field, parse(entry["number"], NUMBERS[field][0], NUMBERS[field][1] or None, field))

        assert len(entry["source"]) > 10

        assert entry["mark"] in MARKS


SEEN_AT_A_GLANCE = ("cylinders", "starting", "battery", "earth", "cycle")


def test_what_a_look_settles_has_no_default() -> None:
    """Cylinders, starter, battery, earth and strokes are asked for, never assumed."""
    assumed = {field for d in library().engines.values() for field in (*d.words, *d.numbers)}

    assert set() == assumed & set(SEEN_AT_A_GLANCE)


def test_every_suspect_of_the_book_can_be_put_right_by_written_work() -> None:
    """Each suspect is the repair of some result of a procedure that a person wrote."""
    book = book_of(library())
    assert book is not None
    repaired = {s for p in library().procedures.values() for r in p.results.values() for s in r.repairs}

    assert set() == set(book.suspects) - repaired


def _after_key_on(procedure: Procedure, words: dict[str, str], cylinders: int | None) -> set[str]:
    """Steps that want the ignition dead although the key was turned on before them in the same work."""
    table = compile_table(procedure, library().safety, JUDGE_WORDS, words, cylinders)
    found: set[str] = set()
    for name, state in table.states.items():
        if state.step is None or "ignition-dead" not in state.step.undoes:
            continue
        seen: set[str] = set()
        ahead = [name]
        while ahead:
            here = ahead.pop()
            onward = [a.target for a in table.leaving.get(here, ()) if a.event != "leave" and not a.lacking]
            ahead += [t for t in onward if t not in seen]
            seen |= set(onward)
        found |= {s for s in seen if table.states[s].step is not None and "ignition-dead" in table.states[s].needs}
    return found


def test_work_that_wants_the_ignition_dead_after_the_key_is_found_out() -> None:
    """The check below is no empty one: a planted step behind a key that was turned on is named."""
    planted = Procedure.model_validate(
        {
            "id": "planted",
            "title": "Planted fault",
            "purpose": "Turn the key on, and open fuel after that.",
            "stage": "no-start",
            "minutes": 1,
            "steps": {
                "key": {"cmd": "Turn the key on.", "hazard": "ignition-voltage", "undoes": ["ignition-dead"]},
                "open": {"cmd": "Open the bowl.", "hazard": "open-fuel", "go": "over"},
            },
            "results": {"over": {"outcome": "ok", "say": "Over."}},
        }
    )

    assert {"open"} == _after_key_on(planted, {"fuel": "petrol"}, None)


@pytest.mark.parametrize("name", sorted(library().procedures))
def test_no_work_wants_the_ignition_dead_again_after_it_turned_the_key_on(name: str) -> None:
    """A person is not sent to pull the plug leads in the middle of a measurement with the key on."""
    procedure = library().procedures[name]
    found: set[str] = set()
    for number, (words, cylinders) in enumerate(engines(procedure, library())):
        if number == MOST_ENGINES:
            break
        found |= _after_key_on(procedure, words, cylinders)

    assert set() == found


UNITS = "%|per cent|volts?|amps?|ohms?|kilohms?|psi|kilopascals|bar|mm|millilitres|rpm"
NUMBER = re.compile(rf"(?<![\w-])\d[\d.,]*(?![\w-]*\d)\s?(?:{UNITS})")
SAID_WHERE = re.compile(
    r"no source|weak source|from memory|secondary copy|computed|read\)|\((?:[A-Z0-9]|about)|manual|CFR|TM "
)


@pytest.mark.parametrize("name", sorted(library().procedures))
def test_a_figure_with_a_unit_on_the_screen_says_where_it_comes_from(name: str) -> None:
    """A number with a unit in the screen text has a source or an honest mark beside it."""
    bare = [
        step_id
        for step_id, step in library().procedures[name].steps.items()
        if NUMBER.search(step.info) and not SAID_WHERE.search(step.info)
    ]

    assert not bare
