"""Virtual people speak as people do, and what they say is understood as it was meant."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.prompt.expect import Expectation, Option
from firststart.prompt.numbers import hear_number
from firststart.rehearsal.speaking import misread, spoken, tidy
from firststart.rehearsal.which import by_fault, by_words
from firststart.units import measured, parse

KINDS = [("pressure", "psi"), ("voltage", "V"), ("length", "mm"), ("resistance", "kohm"), ("volume", "ml")]


@given(st.sampled_from(KINDS), st.floats(0, 9999, allow_nan=False))
def test_a_spoken_reading_is_heard_as_the_same_reading(kind: tuple[str, str], number: float) -> None:
    """Digits said one by one, with the unit's spoken name, come back as the number and the unit."""
    value = tidy(measured(number, kind[1], kind[0]), 0.01)
    expects = Expectation("measure", (), kind[0], kind[1], 0, 1e6)
    heard = parse(hear_number(spoken(value, expects)), kind[0], kind[1])

    assert pytest.approx(value.value) == heard.value
    assert value.unit == heard.unit


@given(st.floats(0.01, 9999, allow_nan=False), st.integers(0, 10**6))
def test_a_misread_number_differs_in_exactly_one_digit(number: float, seed: int) -> None:
    """A misreading keeps the number's length and point, and changes one digit."""
    value = tidy(measured(number, "psi", "pressure"), 0.01)
    wrong = misread(value, random.Random(seed))
    shown, said = f"{value.value:.6f}", f"{wrong.value:.6f}"

    assert len(shown) >= len(said)
    assert sum(a != b for a, b in zip(shown, said.rjust(len(shown), "0"), strict=True)) == 1


@pytest.mark.parametrize(
    ("advice", "wanted"),
    [
        ("Mend a bad engine earth: it is probable. Shall we?", "earth"),
        ("Mend a blocked tank vent: it is certain. Shall we?", "vent"),
        ("Mend an empty tank: it is found. Shall we?", "tank"),
        ("Mend a tired starter motor. Shall we?", None),
    ],
)
def test_the_advised_work_is_found_by_its_words(advice: str, wanted: str | None) -> None:
    """Of several answers the one whose words lie most within the advice is taken; without any, none is."""
    options = (
        Option("posts", ("the battery posts",)), Option("earth", ("the engine earth",)),
        Option("vent", ("the tank vent",)), Option("tank", ("an empty tank",)),
    )  # fmt: skip
    found = by_words(advice, options)

    assert wanted == (found.event if found else None)


def test_without_advice_what_is_broken_is_mended() -> None:
    """Where no words help, the branch whose repair is needed is taken; a repair of all branches tells nothing."""
    options = (Option("low", ("low tension",)), Option("high", ("high tension",)))
    found = {"low": frozenset({"coil_primary", "wire"}), "high": frozenset({"coil_secondary", "wire"})}

    assert getattr(by_fault(found, frozenset({"coil_secondary", "wire"}), options), "event", None) == "high"
    assert by_fault(found, frozenset({"wire"}), options) is None
