"""The edge of each mechanical calculation: what a person may give, and what comes back."""

from __future__ import annotations

import math

import pytest

from firststart.errors import InputError, NumberError, RangeError, UnitError, UnknownName
from firststart.physics import atmosphere, compression, crankgeometry, leakdown, oil, timingmark, uncertainty
from firststart.physics.subject import MARKS, Subject
from firststart.units import Measured, quantity

ALL: dict[str, Subject] = {
    s.name: s
    for module in (atmosphere, compression, crankgeometry, leakdown, oil, timingmark, uncertainty)
    for s in module.SUBJECTS
}
GOOD: dict[str, dict[str, str]] = {
    "atmosphere": {"altitude": "1500 m"},
    "compression": {"ratio": "9:1", "stroke": "80 mm", "rod": "135 mm"},
    "compression-altitude": {"reading": "150 psi", "altitude": "5000 ft"},
    "wet-test-oil": {"volume": "125 ml", "ratio": "9", "oil": "2 ml"},
    "cranking-time": {"speed": "200 rpm"},
    "compression-torque": {"ratio": "9", "bore": "85 mm", "stroke": "80 mm", "rod": "135 mm"},
    "piston-position": {"angle": "10 deg", "stroke": "80 mm", "rod": "135 mm"},
    "crank-angle": {"piston": "2 mm", "stroke": "80 mm", "rod": "135 mm"},
    "crank-torque": {"angle": "5 deg", "bore": "85 mm", "stroke": "80 mm", "rod": "135 mm"},
    "leak-down": {"reading": "60 psi"},
    "oil-viscosity": {"at-40": "100 mm2/s", "at-100": "11.2 mm2/s", "temperature": "0 degC"},
    "oil-viscosity-index": {"at-100": "10.9 mm2/s", "temperature": "5 degC"},
    "timing-mark": {"angle": "10 deg", "flywheel": "200 mm"},
    "top-dead-centre": {"first": "30 deg", "second": "330 deg"},
    "firing-interval": {"cylinders": "4"},
    "near-limit": {"value": "118", "limit": "115", "resolution": "5"},
}


def answers(name: str, **changed: str) -> dict[str, Measured | str]:
    """The answers of one calculation by name, for the good texts with some changed."""
    subject = ALL[name]
    return {a.name: a.value for a in subject.run(subject.read({**GOOD[name], **changed}))}


def test_every_calculation_is_tried_here() -> None:
    """A new calculation without a worked line in this file fails."""
    assert sorted(GOOD) == sorted(ALL)


@pytest.mark.parametrize("name", GOOD)
def test_every_calculation_answers_finite_values_and_tells_its_source(name: str) -> None:
    """No NaN, no infinity, a formula, a source and a mark of the closed list."""
    found = answers(name)

    assert found
    assert all(math.isfinite(v.si) for v in found.values() if isinstance(v, Measured))
    assert ALL[name].mark in MARKS
    assert min(len(ALL[name].formula), len(ALL[name].source), len(ALL[name].title)) > 8


@pytest.mark.parametrize(
    ("name", "answer", "text"),
    [
        ("compression", "effective-ratio", "7.92"),
        ("compression-altitude", "here", "124.8"),
        ("wet-test-oil", "clearance", "15.6"),
        ("cranking-time", "time", "3.0"),
        ("crank-angle", "angle", "16.0"),
        ("piston-position", "piston", "0.786"),
        ("leak-down", "loss", "25.0"),
        ("timing-mark", "arc", "17.45"),
        ("firing-interval", "interval", "180"),
        ("crank-torque", "torque", "14.1"),
    ],
)
def test_answers_come_in_the_units_of_the_trade(name: str, answer: str, text: str) -> None:
    """The number a person reads, to the digits given."""
    value = answers(name)[answer]

    assert isinstance(value, Measured)
    assert pytest.approx(float(text), abs=0.6 * 10 ** -len(text.partition(".")[2])) == value.value


@pytest.mark.parametrize("name", GOOD)
def test_a_missing_input_is_named_with_an_example(name: str) -> None:
    """Leaving out a needed input is an error that shows how to give it."""
    subject = ALL[name]
    needed = next(g.name for g in subject.given if g.needed)
    rest = {k: v for k, v in GOOD[name].items() if k != needed}

    with pytest.raises(InputError, match=rf"needs {needed} .*{needed}="):
        subject.read(rest)


@pytest.mark.parametrize(
    ("name", "field", "text", "error"),
    [
        ("compression", "stroke", "80 V", UnitError),
        ("compression", "stroke", "80", UnitError),
        ("compression", "ratio", "0.5", RangeError),
        ("compression", "ratio", "nine", NumberError),
        ("compression", "rod", "-135 mm", RangeError),
        ("compression", "altitude", "90 kPa", UnitError),
        ("compression-altitude", "reading", "-5 psi", RangeError),
        ("leak-down", "reading", "12,6 psi", NumberError),
        ("wet-test-oil", "oil", "-1 ml", RangeError),
        ("timing-mark", "angle", "10 mm", UnitError),
        ("cranking-time", "cycle", "four", InputError),
        ("oil-viscosity", "temperature", "400 degC", RangeError),
    ],
)
def test_wrong_dimension_sign_and_wording_are_typed_errors(
    name: str, field: str, text: str, error: type[InputError]
) -> None:
    """Each names its field, or, for a unit of another sort, the kind of quantity that the field is."""
    kind = next(g.kind for g in ALL[name].given if g.name == field)
    with pytest.raises(error, match=f"{field}|{kind}"):
        answers(name, **{field: text})


@pytest.mark.parametrize(
    ("name", "changed", "field"),
    [
        ("compression", {"rod": "30 mm"}, "rod"),
        ("piston-position", {"rod": "39 mm"}, "rod"),
        ("crank-angle", {"piston": "90 mm"}, "piston"),
        ("leak-down", {"reading": "90 psi"}, "cylinder pressure"),
        ("wet-test-oil", {"oil": "16 ml"}, "oil"),
        ("top-dead-centre", {"second": "30 deg"}, "gap between the marks"),
        ("oil-viscosity", {"at-40": "10 mm2/s"}, "viscosity at 40 degC"),
    ],
)
def test_inputs_that_cannot_go_together_are_refused(name: str, changed: dict[str, str], field: str) -> None:
    """Each input is in its range, but not beside the others."""
    with pytest.raises(RangeError) as caught:
        answers(name, **changed)

    assert field == caught.value.field


def test_an_input_of_another_calculation_is_refused() -> None:
    """A name it does not take is an error that lists those it takes."""
    with pytest.raises(UnknownName, match="altitude"):
        ALL["atmosphere"].read({"height": "5 m"})


def test_quantities_go_in_at_the_library_s_edge() -> None:
    """The same calculation takes quantities with any unit of the right dimension."""
    (found, *_) = ALL["atmosphere"].of(altitude=quantity(5000, "foot"))

    assert isinstance(found.value, Measured)
    assert pytest.approx(84.31, abs=0.02) == found.value.value


def test_a_quantity_of_the_wrong_dimension_is_refused() -> None:
    """A length given in seconds is a unit error with the field's name."""
    with pytest.raises(UnitError, match="altitude"):
        ALL["atmosphere"].of(altitude=quantity(5, "second"))


def test_a_loss_of_everything_has_no_leak_size() -> None:
    """A gauge at nothing gives a loss and no invented hole."""
    assert list(answers("leak-down", reading="0 psi")) == ["loss"]
