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


def inside(one: Given) -> st.SearchStrategy[object]:
    """Words of the input, or SI values within its range, the ends often."""
    if one.words:
        return st.sampled_from(one.words)
    low, high = (measured(end, one.unit, one.kind).si for end in (one.low, one.high))
    return st.sampled_from([low, high]) | st.floats(low, high)


CASES = st.sampled_from(SUBJECTS).flatmap(
    lambda subject: st.tuples(st.just(subject), st.fixed_dictionaries({g.name: inside(g) for g in subject.given}))
)


@settings(deadline=None, max_examples=500)
@given(CASES)
def test_answers_are_finite_over_the_whole_range(case: tuple[Subject, dict[str, object]]) -> None:
    """Anywhere in its permitted ranges, ends too, a calculation answers with finite values or refuses by name."""
    subject, values = case
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
