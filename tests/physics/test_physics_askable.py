"""Every calculation a person can ask for: finite answers over its whole range, or a typed error; nothing clamped."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.errors import InputError, RangeError
from firststart.physics.subject import MARKS, Answer, Given, Subject
from firststart.physics.subjects import SUBJECTS as BY_NAME
from firststart.units import Measured, find_unit, measured

SUBJECTS = tuple(BY_NAME.values())
IDS = [s.name for s in SUBJECTS]


def finite(answer: Answer) -> bool:
    if isinstance(answer.value, Measured):
        return math.isfinite(answer.value.si) and math.isfinite(answer.value.value)
    return bool(answer.value) and not {"nan", "inf"} & set(answer.value.split())


def inside(one: Given) -> st.SearchStrategy[object]:
    """Words of the input, or SI values within its range, the ends often."""
    if one.words:
        return st.sampled_from(one.words)
    if one.whole:
        return st.integers(round(one.low), round(one.high))
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


ENDS = [(s, g) for s in SUBJECTS for g in s.given if not g.words]


def written(value: float, one: Given) -> str:
    """A value as a person would write it: no more than four decimals."""
    return f"{value:.4f}".rstrip("0").rstrip(".") + f" {one.unit}".rstrip()


def good(subject: Subject) -> dict[str, str]:
    """A text for every input, in the middle of its range where it has no default."""
    middle = {g.name: written((g.low + g.high) / 2, g) for g in subject.given if not (g.words or g.whole)}
    middle.update({g.name: written(round((g.low + g.high) / 2), g) for g in subject.given if g.whole})
    return {**{g.name: g.words[0] for g in subject.given if g.words}, **middle}


@pytest.mark.parametrize(("subject", "one"), ENDS, ids=[f"{s.name} {g.name}" for s, g in ENDS])
def test_beyond_its_range_an_input_is_refused_and_not_clamped(subject: Subject, one: Given) -> None:
    """A step under and over the permitted range is an error with the field, the value and the range."""
    step = max(abs(one.high - one.low) * 1e-3, 2e-4)
    for value in (one.low - step, one.high + step):
        with pytest.raises(RangeError) as caught:
            subject.read({**good(subject), one.name: written(value, one)})

        assert one.name == caught.value.field
        assert str(one.name) in str(caught.value)


@pytest.mark.parametrize(("subject", "one"), ENDS, ids=[f"{s.name} {g.name}" for s, g in ENDS])
def test_what_is_no_number_is_no_input(subject: Subject, one: Given) -> None:
    """Not a number, infinity and another dimension are typed errors."""
    for text in ("nan", "inf", f"nan {one.unit}", f"1e999 {one.unit}", "3 fathoms", ""):
        with pytest.raises(InputError):
            subject.read({**good(subject), one.name: text} if text else {one.name: " "})


WHOLE = [(s, g) for s in SUBJECTS for g in s.given if g.whole]


@pytest.mark.parametrize(("subject", "one"), WHOLE, ids=[f"{s.name} {g.name}" for s, g in WHOLE])
def test_half_a_thing_that_is_counted_is_refused(subject: Subject, one: Given) -> None:
    """Two and a half cylinders are not rounded but refused, with the range."""
    with pytest.raises(RangeError, match=f"{one.name} is 2.5.*whole number"):
        subject.read({**good(subject), one.name: "2.5"})


@pytest.mark.parametrize(
    ("name", "texts", "told"),
    [
        ("leak-down", {"reading": "90 psi"}, "is 90 psi, but must be between 0 and 80 psi"),
        ("dwell", {"dwell": "200 deg", "lobes": "4"}, "is 200 deg, but must be between 0 and 90 deg"),
        ("wet-test-oil", {"volume": "50 ml", "ratio": "9", "oil": "15 ml"}, "is 15 ml, but must be between 0 and 6.25"),
        ("compression", {"ratio": "9", "stroke": "80 mm", "rod": "39 mm"}, "is 39 mm, but must be more than 40 mm"),
        (
            "compression", {"ratio": "9", "stroke": "80 mm", "rod": "135 mm", "exponent-low": "1.4"},
            "exponent-high is 1.3, but must be between 1.4 and 1.67",
        ),
        ("copper-heating", {"current": "9 A", "area": "1 mm2", "time": "5 s", "start": "120 degC"}, "is 100 degC, but"),
    ],
)
def test_what_cannot_go_together_is_told_in_the_units_of_the_trade(name: str, texts: dict[str, str], told: str) -> None:
    """Nobody at an engine reads pascals and radians: value and range come in the units in which they are given."""
    subject = BY_NAME[name]
    with pytest.raises(RangeError) as caught:
        subject.run(subject.read(texts))

    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("name", "texts", "told"),
    [
        ("battery-rest", {"voltage": "10 V"}, "under the published table"),
        ("battery-rest", {"voltage": "14 V"}, "over the published table"),
        ("battery-density", {"density": "1.30 SG"}, "over the published table"),
        ("battery-load", {"cca": "400 A", "temperature": "-30 degC"}, "under the published table"),
        ("battery-standing", {"time": "30 d", "temperature": "-20 degC"}, "under the published table"),
        ("battery-standing", {"time": "3000 d"}, "flat before that time was over"),
    ],
)
def test_a_table_that_ends_says_so(name: str, texts: dict[str, str], told: str) -> None:
    """Where the end of a published table stands for what lies beyond it, the answer tells it."""
    subject = BY_NAME[name]
    notes = " ".join(a.note for a in subject.run(subject.read(texts)))

    assert told in notes


def test_a_limit_under_the_start_is_refused() -> None:
    """A winding cannot take time to reach a temperature that it has passed: no silent nought."""
    subject = BY_NAME["copper-heating"]
    texts = {"current": "10 A", "area": "1 mm2", "time": "5 s", "start": "120 degC", "limit": "100 degC"}
    with pytest.raises(RangeError, match="limit"):
        subject.run(subject.read(texts))
