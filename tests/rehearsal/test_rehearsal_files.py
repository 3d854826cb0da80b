"""Scenario files and condition files are read strictly: every problem at once, with its line and what to do."""

import pytest
from rehearsal_world import SCENARIOS, world

from firststart.errors import DataError, UnknownName
from firststart.rehearsal.conditions import load_conditions
from firststart.rehearsal.scenario import load_scenario, read_scenario

GOOD = """\
title: A test engine
given:
  engine: test engine
  profile:
    kind: mower
    fuel: petrol
    cylinders: 1
    ignition: magneto
    years: 3 year
  hidden:
    - {condition: plug-fouled, cylinder: 1}
then:
  runs: true
"""
BAD = [
    ("kind: mower", "kind: mowr", 5, "must be one of"),
    ("years: 3 year", "years: 3", 9, ""),
    ("years: 3 year", "years: 3,5 year", 9, "comma"),
    ("years: 3 year", "age: 3 year", 9, "no profile field"),
    ("condition: plug-fouled", "condition: plug-fowled", 11, "did you mean 'plug-fouled'"),
    ("condition: plug-fouled, cylinder: 1", "condition: pickup-dead", 11, "does not apply"),
    ("cylinder: 1}", "cylinder: 2}", 11, "no cylinder 2"),
    ("condition: plug-fouled, cylinder: 1", "condition: flooded, cylinder: 1", 11, "sits in no cylinder"),
    ("  runs: true", "  runs: perhaps", 13, "runs"),
    ("  runs: true", "  found: [flooded]", 13, "not among the hidden"),
    ("then:", "than:", 12, "did you mean 'then'"),
    ("title: A test engine", "title: A\ntitle: B", 2, "stands twice"),
    ("  engine: test engine", "  engine: test engine\n  unknown: [colour]", 4, "no profile field"),
]


@pytest.mark.parametrize(("old", "new", "line", "says"), BAD)
def test_a_mistake_in_a_scenario_is_named_with_its_line(old: str, new: str, line: int, says: str) -> None:
    """The smallest bad scenario for each refusal."""
    text = GOOD.replace(old, new)
    if new == "years: 3":
        read_scenario(text, "test.yaml", world().kit.conditions)  # a bare number takes the field's own unit
        return
    with pytest.raises(DataError) as caught:
        read_scenario(text, "test.yaml", world().kit.conditions)

    assert any(p.line == line and says in p.message for p in caught.value.problems), caught.value.problems


def test_the_good_text_is_good() -> None:
    """The text that the mistakes are planted in is itself accepted."""
    read = read_scenario(GOOD, "test.yaml", world().kit.conditions)

    assert read.given.hidden[0].condition == "plug-fouled"
    assert read.name == "test"


def test_an_aircraft_engine_is_refused() -> None:
    """Aircraft engines are out of scope in scenarios too."""
    with pytest.raises(DataError, match="Aircraft"):
        read_scenario(GOOD.replace("kind: mower", "kind: aircraft"), "test.yaml", world().kit.conditions)


def test_a_scenario_that_is_not_there_is_named() -> None:
    """A name without a file is answered in one sentence."""
    with pytest.raises(UnknownName, match="no scenario 'nobody'"):
        load_scenario(SCENARIOS / "nobody.yaml", world().kit.conditions)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a: {say: broken, sets: {battery.chrage: 0}, wears: rust, once: 0.1}", "did you mean 'battery.charge'"),
        ("a: {say: broken, sets: {flood: 1}, wears: rost, once: 0.1}", "wears"),
        ("a: {say: broken, sets: {flood: 1}, applies: {colour: red}, wears: rust, once: 0.1}", "no profile field"),
        ("a: {say: broken, sets: {}, wears: rust, once: 0.1}", "sets"),
    ],
)
def test_a_mistake_in_a_condition_is_named(tmp_path_factory: pytest.TempPathFactory, text: str, says: str) -> None:
    """Parts, fields and words of conditions come from closed lists."""
    folder = tmp_path_factory.mktemp("conditions")
    (folder / "one.yaml").write_text(text + "\n", encoding="utf-8")
    with pytest.raises(DataError) as caught:
        load_conditions(folder)

    assert says in str(caught.value)
