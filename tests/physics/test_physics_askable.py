"""Every electrical and fuel calculation a person can ask for: finite answers over its whole range, or a typed error."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.errors import InputError
from firststart.physics import battery, carbonmonoxide, coil, fuel, fuelflow, ignition, windingheat, wiring
from firststart.physics.subject import MARKS, Answer, Given, Subject
from firststart.units import Measured, find_unit, measured

PARTS = (battery, carbonmonoxide, coil, fuel, fuelflow, ignition, windingheat, wiring)
SUBJECTS = tuple(s for part in PARTS for s in part.SUBJECTS)
IDS = [s.name for s in SUBJECTS]


def finite(answer: Answer) -> bool:
    if isinstance(answer.value, Measured):
        return math.isfinite(answer.value.si) and math.isfinite(answer.value.value)
    return bool(answer.value) and not {"nan", "inf"} & set(answer.value.split())


def value_of(draw: st.DrawFn, given_one: Given) -> object:
    if given_one.words:
        return draw(st.sampled_from(given_one.words))
    ends = st.sampled_from([given_one.low, given_one.high])
    return measured(draw(ends | st.floats(given_one.low, given_one.high)), given_one.unit, given_one.kind).si


@pytest.mark.parametrize("subject", SUBJECTS, ids=IDS)
@settings(deadline=None, max_examples=60)
@given(st.data())
def test_answers_are_finite_over_the_whole_range(subject: Subject, data: st.DataObject) -> None:
    """Anywhere in its permitted ranges, ends too, a calculation answers with finite values or refuses by name."""
    values = {g.name: data.draw(st.composite(value_of)(g), g.name) for g in subject.given}
    try:
        answers = subject.run(values)
    except InputError:
        return

    assert answers
    assert all(finite(a) for a in answers), answers
    assert len({a.name for a in answers}) == len(answers)


@pytest.mark.parametrize("subject", SUBJECTS, ids=IDS)
def test_subjects_name_formula_source_mark_and_real_units(subject: Subject) -> None:
    """Each shows its formula, a source, a mark of the closed list, and inputs in units the tool knows."""
    assert subject.formula
    assert len(subject.source) > 8
    assert subject.mark in MARKS
    assert all(g.words or find_unit(g.unit, g.kind).symbol == g.unit for g in subject.given)


@pytest.mark.parametrize("subject", SUBJECTS, ids=IDS)
def test_defaults_are_within_their_range(subject: Subject) -> None:
    """A default is a value the calculation accepts."""
    given_all = {g.name: g.default for g in subject.given if g.default}
    needed = {g.name: g.words[0] if g.words else f"{g.high:f}"[:14].rstrip(".") + f" {g.unit}"
              for g in subject.given if not g.default}  # fmt: skip

    assert set(subject.read({**given_all, **needed})) == {g.name for g in subject.given}
