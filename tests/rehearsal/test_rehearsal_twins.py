"""Every scenario that ships keeps its promises, and its play is the one that its golden twin holds."""

import difflib

import pytest
from rehearsal_world import NAMES, SCENARIOS, played_once, scenario, twin_of

from firststart.rehearsal.verdict import missed


@pytest.mark.parametrize("name", NAMES)
def test_a_scenario_keeps_its_promises_and_equals_its_twin(name: str) -> None:
    """What `then` says holds at the end; and the play differs in no line from its twin.

    When a play should differ, `python tests/rehearsal/rehearsal_world.py` writes the twins anew.
    """
    expected = (SCENARIOS / f"{name}.out").read_text(encoding="utf-8")
    lines = expected.splitlines(keepends=True), twin_of(name).splitlines(keepends=True)
    difference = "".join(difflib.unified_diff(*lines, f"{name}.out", "this play", n=2))

    assert difference == ""
    assert missed(scenario(name), played_once(name)) == ()


def test_there_are_scenarios_of_every_kind_with_none_one_and_several_faults() -> None:
    """At least thirty scenarios, over all kinds of engine, good engines and several faults at once included."""
    all_of_them = [scenario(name) for name in NAMES]
    kinds = {s.given.profile["kind"] for s in all_of_them}
    faults = {min(len(s.given.hidden), 2) for s in all_of_them}
    people = {s.when.person for s in all_of_them}

    assert len(NAMES) >= 30
    assert {"motorcycle", "car", "tractor", "mower", "generator", "pump", "outboard", "inboard", "snowmobile"} == kinds
    assert {0, 1, 2} == faults
    assert {"patient", "hurried", "mistaken"} == people


def test_every_twin_has_its_scenario() -> None:
    """No golden twin is left behind by a scenario that is gone."""
    twins = {path.stem for path in SCENARIOS.glob("*.out")}

    assert set(NAMES) == twins
