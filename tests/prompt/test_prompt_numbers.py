"""Numbers between words and digits."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart import units
from firststart.errors import NumberError
from firststart.prompt.numbers import NUMBER_WORDS, hear_number, say_digits, say_number, say_ordinal

HEARD = [
    ("one one eight p s i", "118 psi"),
    ("one eighteen", "118"),
    ("one hundred and eighteen p s i", "118 psi"),
    ("one hundred eighteen", "118"),
    ("a hundred and five", "105"),
    ("hundred and five", "105"),
    ("one oh five", "105"),
    ("twelve point six volts", "12.6 V"),
    ("Twelve point six volts.", "12.6 V"),
    ("one two point six volts", "12.6 V"),
    ("twelve point sixty five", "12.65"),
    ("twelve point five zero", "12.50"),
    ("point five", "0.5"),
    ("zero point four ohms", "0.4 ohm"),
    ("zero", "0"),
    ("fifteen hundred r p m", "1500 rpm"),
    ("fifteen hundred and fifty", "1550"),
    ("twelve fifty", "1250"),
    ("twenty-five fifty", "2550"),
    ("nineteen eighty seven", "1987"),
    ("twenty oh five", "2005"),
    ("two thousand three hundred", "2300"),
    ("two hundred thousand", "200000"),
    ("a thousand", "1000"),
    ("thousand and five", "1005"),
    ("ten hundred and fifty", "1050"),
    ("one million and five", "1000005"),
    ("minus five degrees celsius", "-5 degC"),
    ("negative one point five", "-1.5"),
    ("plus five", "5"),
    ("two and a half seconds", "2.5 s"),
    ("half", "0.5"),
    ("three quarters", "0.75"),
    ("one and three quarters", "1.75"),
    ("eight point five to one", "8.5:1"),
    ("twenty degrees C", "20 degC"),
    ("ninety per cent", "90 %"),
    ("niner", "9"),
    ("118", "118"),
    ("118 psi", "118 psi"),
    ("118psi", "118 psi"),
    ("12.6v", "12.6 V"),
    ("1 1 8 p s i", "118 psi"), ("1-3-4-2", "1342"), ("1 8 4 3 6 5 7 2", "18436572"),
    ("-5 °C", "-5 degC"),
    ("+5", "5"),
    ("8.5:1", "8.5:1"),
    ("98 %", "98 %"),
]

REFUSED = [
    "1-3", "1-3-4-", "2021-11-25",
    "", " ", ".", "-", "a", "and", "point", "minus", "oh", "yes", "blue", "hundred and", "two point", "a and a half",
    "five bananas", "twelve volts and a bit", "12,6 V", "1,500", "1 200 rpm", "5 10", "12.6.1", "1e3", "0x10",
    "9**9**9**9", "1/2", "3+4", "٣", "²", "one one eighteen", "one hundred one eight", "thirty fifty", "ten five",
    "fifty eighteen", "one twenty five fifty", "twenty ten ten", "hundred hundred", "one thousand one thousand",
    "minus minus five", "plus minus five", "five minus two", "twelve point five point six", "twelve point one eighteen",
    "zero five", "oh five", "05", "007", "0 5", "five no six", "fifty no fifteen", "1" * 10, "nine " * 10, "x" * 200,
    "one two three four five six seven eight nine one", "118 118", "one and quarters", "five and",
]  # fmt: skip


@pytest.mark.parametrize(("words", "number"), HEARD)
def test_words_become_the_number_a_person_means(words: str, number: str) -> None:
    """Numbers said as cardinals, digit by digit, in pairs, with halves or in figures give one text of digits."""

    assert number == hear_number(words)


@pytest.mark.parametrize("words", REFUSED)
def test_what_is_not_one_number_is_refused_in_one_sentence(words: str) -> None:
    """Other words, two numbers, sums, lost zeros and commas raise NumberError with a sentence that helps."""
    with pytest.raises(NumberError) as caught:
        hear_number(words)

    assert str(caught.value).endswith(".")
    assert "say" in str(caught.value) or "write" in str(caught.value)


def test_a_lost_zero_is_explained() -> None:
    """A number that starts with a zero gets its own sentence, since it may have lost its point."""
    with pytest.raises(NumberError, match="starts with a zero; say zero point five, or five alone"):
        hear_number("zero five")


@pytest.mark.parametrize("kind", sorted(units.KINDS))
def test_every_unit_is_heard_by_its_spoken_name(kind: str) -> None:
    """A value said with a unit's spoken name, or written with any of its names, is read back by the unit parser."""
    for unit in units.KINDS[kind].units:
        for name in (unit.spoken, unit.symbol):
            heard = units.parse(hear_number(f"twelve point five {name}"), kind)

            assert (12.5, unit.symbol) == (heard.value, heard.unit)


@given(st.integers(0, 999_999_999))
def test_cardinals_go_round(value: int) -> None:
    """A whole number said and heard again is the same number."""

    assert str(value) == hear_number(say_number(str(value)))


@given(st.decimals(-99_999, 99_999, allow_nan=False, places=3))
def test_decimals_go_round_both_ways(value: object) -> None:
    """A decimal said as a number or digit by digit, and heard again, keeps every digit."""

    assert f"{value}" == hear_number(say_number(f"{value}")) == hear_number(say_digits(f"{value}"))


@given(st.lists(st.sampled_from(sorted(NUMBER_WORDS)), min_size=1, max_size=6))
def test_any_string_of_number_words_gives_plain_digits_or_a_refusal(words: list[str]) -> None:
    """Number words in any order never crash, and what is accepted is a number the unit parser takes."""
    try:
        heard = hear_number(" ".join(words))
    except NumberError:
        return

    assert heard.replace(" ", "").lstrip("-").rstrip("oAa")[0].isdigit()


@given(st.text(max_size=40))
def test_no_text_crashes_the_reader(text: str) -> None:
    """Whatever is typed gives a number or a NumberError, nothing else."""
    try:
        heard = hear_number(text)
    except NumberError:
        return

    assert any(c in "0123456789" for c in heard)


def test_two_words_never_mean_two_numbers() -> None:
    """Every pair and triple of number words that is heard as a number is said back as the same number."""
    words = sorted(NUMBER_WORDS - {"a", "o", "and", "million"})
    for run in itertools.chain(itertools.product(words, repeat=2), itertools.product(words[::3], repeat=3)):
        try:
            heard = hear_number(" ".join(run))
        except NumberError:
            continue

        assert heard == hear_number(say_number(heard))


@pytest.mark.parametrize(
    ("number", "words", "digits"),
    [
        ("118", "one hundred and eighteen", "one one eight"),
        ("12.6", "twelve point six", "one two point six"),
        ("12.60", "twelve point six zero", "one two point six zero"),
        ("-5", "minus five", "minus five"),
        ("0.4", "zero point four", "zero point four"),
        ("2005", "two thousand and five", "two zero zero five"),
        ("1250", "one thousand two hundred and fifty", "one two five zero"),
        ("1000000", "one million", "one zero zero zero zero zero zero"),
        ("99", "ninety-nine", "nine nine"),
    ],
)
def test_numbers_are_said_as_words_and_as_digits(number: str, words: str, digits: str) -> None:
    """A number has a spoken form and a digit-by-digit form."""

    assert (words, digits) == (say_number(number), say_digits(number))


@pytest.mark.parametrize("number", ["", "12,6", "1e3", "twelve", "12.6 V", "1234567890", "--5", ".5"])
def test_only_a_plain_number_can_be_said(number: str) -> None:
    """Saying something that is not a plain number is refused."""
    with pytest.raises(NumberError, match="not a plain number"):
        say_number(number)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (1, "first"), (2, "second"), (3, "third"), (5, "fifth"), (8, "eighth"), (9, "ninth"), (12, "twelfth"),
        (20, "twentieth"), (22, "twenty-second"), (100, "one hundredth"), (112, "one hundred and twelfth"),
        (1000, "one thousandth"), (21000, "twenty-one thousandth"),
    ],
)  # fmt: skip
def test_ordinals(value: int, words: str) -> None:
    """Ordinals take their irregular endings."""

    assert words == say_ordinal(value)
