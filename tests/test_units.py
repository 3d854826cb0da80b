"""The strict parser of measured values."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart import units
from firststart.errors import InputError, NumberError, RangeError, UnitError

READ = [
    ("118 psi", "pressure", 118 * 6894.757293168),
    ("8.5 bar", "pressure", 850000.0),
    ("12.6 V", "voltage", 12.6),
    ("-5 degC", "temperature", 268.15),
    ("80 °F", "temperature", 299.8166667),
    ("65 ft lb", "torque", 65 * 1.3558179483),
    ("5 thou", "length", 0.000127),
    ("1500 rpm", "speed", 25.0),
    ("3.5 kohm", "resistance", 3500.0),
    ("470 ml", "volume", 0.00047),
    ("90 Nm", "torque", 90.0),
    ("2 kW", "power", 2000.0),
    ("1.26 SG", "relative density", 1.26),
    ("20 degrees celsius", "temperature", 293.15),
]
REFUSED = [
    ("12,6 V", "voltage", NumberError),
    ("8,5 bar", "pressure", NumberError),
    ("1 200 rpm", "speed", NumberError),
    ("9**9**9**9", "count", NumberError),
    ("1e5 V", "voltage", NumberError),
    ("12.6.6 V", "voltage", NumberError),
    ("nan V", "voltage", NumberError),
    ("inf V", "voltage", NumberError),
    ("", "voltage", NumberError),
    ("٣ V", "voltage", NumberError),
    ("12.6", "voltage", UnitError),
    ("5 amps", "voltage", UnitError),
    ("9 H", "voltage", UnitError),
    ("12 furlongs", "length", UnitError),
    ("1" * 70 + " V", "voltage", NumberError),
]


@pytest.mark.parametrize(("text", "kind", "si"), READ, ids=[r[0] for r in READ])
def test_values_as_people_write_them_are_read(text: str, kind: str, si: float) -> None:
    """A number with one of the trade's units gives its SI value (factors: NIST SP 811, from memory)."""
    assert math.isclose(si, units.parse(text, kind).si, rel_tol=1e-7)


@pytest.mark.parametrize(("text", "kind", "error"), REFUSED, ids=[r[0][:12] for r in REFUSED])
def test_text_that_could_mislead_is_refused(text: str, kind: str, error: type[InputError]) -> None:
    """What a lenient parser would misread is refused in one sentence."""
    with pytest.raises(error) as caught:
        units.parse(text, kind)

    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")


def test_a_default_unit_serves_a_bare_number() -> None:
    """A bare number takes the unit that the question names."""
    assert units.measured(118, "psi", "pressure") == units.parse("118", "pressure", "psi")


@given(st.text(max_size=40))
def test_no_text_crashes_the_parser(text: str) -> None:
    """Any text is either read or refused with an InputError."""
    for kind in ("pressure", "count", "temperature"):
        try:
            value = units.parse(text, kind)
        except InputError:
            continue
        assert math.isfinite(value.si)


@given(
    st.sampled_from([(k, u.symbol) for k, kind in units.KINDS.items() for u in kind.units]),
    st.floats(-1e6, 1e6, allow_nan=False),
)
def test_units_round_trip(which: tuple[str, str], number: float) -> None:
    """A value taken to SI and back is itself."""
    kind, unit = which
    there = units.measured(number, unit, kind)
    back = units.from_si(there.si, unit, kind)

    assert math.isclose(number, back.value, rel_tol=1e-9, abs_tol=1e-6)


def test_a_wrong_dimension_is_named() -> None:
    """A quantity of the wrong kind is refused with the field's name."""
    with pytest.raises(UnitError, match="bore"):
        units.si_value(units.quantity(3, "volt"), "length", "bore")


def test_a_value_out_of_range_carries_its_bounds() -> None:
    """RangeError tells field, value and the permitted range."""
    with pytest.raises(RangeError) as caught:
        units.in_range(0.2, "bore", 0.02, 0.1, "m")

    assert (caught.value.field, caught.value.value, caught.value.low, caught.value.high) == ("bore", 0.2, 0.02, 0.1)


def test_what_is_counted_is_shown_to_its_last_figure() -> None:
    """The firing order of eight cylinders is eight figures long."""
    assert ["18436572", "4", "2.5"] == [str(units.measured(n, "", "count")) for n in (18436572.0, 4.0, 2.5)]


def test_years_and_months_are_told_in_english() -> None:
    """A person reads "5 years", and what is shown can be typed back."""
    told = ((5.0, "year"), (1.0, "year"), (0.5, "year"), (30.0, "month"))
    shown = [str(units.measured(number, unit, "time")) for number, unit in told]

    assert ["5 years", "1 year", "0.5 years", "30 months"] == shown
    assert [5.0, 1.0, 0.5, 30.0] == [units.parse(text, "time").value for text in shown]
