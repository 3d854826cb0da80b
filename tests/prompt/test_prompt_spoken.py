"""Text turned into words for the ear."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart import units
from firststart.prompt.saying import one_of, unit_table
from firststart.prompt.spoken import problems, spoken, word_count

SAID = [
    ("118 psi", "one hundred and eighteen p s i"),
    ("12.6 V", "twelve point six volts"),
    ("12.6V", "twelve point six volts"),
    ("Charge to 12.6 V at 20 °C, then torque to 25 Nm (18 lbf ft).",
     "Charge to twelve point six volts at twenty degrees celsius, then torque to twenty-five newton metres, "
     "eighteen foot pounds."),
    ("Set 2° BTDC.", "Set two degrees before top dead centre."),
    ("Watch the rpm.", "Watch the r p m."),
    ("a 12 V battery", "a twelve volt battery"),
    ("the 12-volt battery", "the twelve volt battery"),
    ("a 20 A fuse", "a twenty amp fuse"),
    ("1 s", "one second"),
    ("1 ft", "one foot"),
    ("0.025 in", "zero point zero two five inches"),
    ("cylinder 2 in turn", "cylinder two in turn"),
    ("2 x 10 s", "two times ten seconds"),
    ("2 × 10 s", "two times ten seconds"),
    ("Use 10W-30.", "Use ten w thirty."),
    ("E10", "e ten"),
    ("BPR6ES", "b p r six e s"),
    ("AR4100", "a r four one zero zero"),
    ("CO2", "carbon dioxide"),
    ("Check the CDI.", "Check the c d i."),
    ("12 V DC", "twelve volts d c"),
    ("built in 1987, runs at 1987 rpm", "built in nineteen eighty-seven, runs at one thousand nine hundred and "
     "eighty-seven r p m"),
    ("since 1905", "since nineteen oh five"),
    ("since 2000", "since two thousand"),
    ("since 1900", "since nineteen hundred"),
    ("stood since 2014", "stood since twenty fourteen"),
    ("2026-05-02", "second of May twenty twenty-six"),
    ("2026-13-02", "2026-13-02"),
    ("at 14:30", "at fourteen thirty"),
    ("at 9:05", "at nine oh five"),
    ("at 14:00", "at fourteen hundred hours"),
    ("110–130 psi", "one hundred and ten to one hundred and thirty p s i"),
    ("110-130 psi", "one hundred and ten to one hundred and thirty p s i"),
    ("3-5 strokes", "three to five strokes"),
    ("-5 °C", "minus five degrees celsius"),
    ("±5 %", "plus or minus five per cent"),
    ("8.5:1", "eight point five to one"),
    ("a 50:1 mix", "a fifty to one mix"),
    ("1/2 in gap", "one half inch gap"),
    ("3/8 in", "three eighths inch"),
    ("1 1/2 qt", "one and a half quarts"),
    ("½ turn", "one half turn"),
    ("2½ turns", "two and a half turns"),
    ("No. 2 plug", "number two plug"),
    ("there is no. Really", "there is no. Really"),
    ("#3", "number three"),
    ("2nd gear", "second gear"),
    ("max. 5 min.", "maximum five minutes."),
    ("e.g. oil", "for example oil"),
    ("yes/no", "yes or no"),
    ("and/or", "or"),
    ("w/o load", "without load"),
    ("oil & fuel", "oil and fuel"),
    ("WARNING: Fuel vapour. STOP!", "warning: Fuel vapour. stop!"),
    ("1,500 rpm", "one thousand five hundred r p m"),
    ("1 h 30 min", "one hour thirty minutes"),
    ("30 ml/min", "thirty millilitres per minute"),
    ("in ml/min", "in millilitres per minute"),
    ("47 µF", "forty-seven microfarads"),
    ("3 kΩ", "three kilohms"),
    ("007", "zero zero seven"),
    (".5 V", "zero point five volts"),
    ("Say \"weak\".", "Say weak."),
    ("Oil (clean) out", "Oil, clean, out"),
    ("  Two   spaces ", "Two spaces"),
    ("Pull the plug.", "Pull the plug."),
    ("", ""),
]  # fmt: skip

LEFT = [
    ("12,6 V", "'12,6' has figures that can be read in more than one way"),
    ("1.2.3", "'1.2.3' has figures that can be read in more than one way"),
    ("from 130-110 psi", "'130-110' has figures that can be read in more than one way"),
    ("Clause § five", "'§' has §, which has no sure spoken form"),
    ("See the mfr spec", "'mfr' looks like an abbreviation; write it out"),
    ("2026-13-02", "'2026-13-02' has figures that can be read in more than one way"),
]


@pytest.mark.parametrize(("text", "words"), SAID)
def test_text_is_said_as_the_trade_says_it(text: str, words: str) -> None:
    """Figures, units, symbols and abbreviations become words."""

    assert words == spoken(text)


@pytest.mark.parametrize(("text", "problem"), LEFT)
def test_what_cannot_be_said_for_certain_is_named(text: str, problem: str) -> None:
    """What is ambiguous or unknown stays in the text, and the lint names it to the author."""

    assert [problem] == problems(spoken(text))


@pytest.mark.parametrize("text", ["118 psi", "20°", "5 %", "oil & fuel", "BTDC", "yes/no"])
def test_raw_text_has_problems_and_its_spoken_form_has_none(text: str) -> None:
    """The lint can fail: it finds something in each of these texts until they are turned into words."""

    assert problems(text)
    assert not problems(spoken(text))


@given(st.text(max_size=40))
def test_speaking_twice_changes_nothing(text: str) -> None:
    """Any text whatever is a fixpoint after one speaking."""

    assert spoken(text) == spoken(spoken(text))


@given(st.text(alphabet="0123456789.,:;/-–()°%&VArpmsinCWxX½µΩ'\" #KNo+<>=", max_size=30))
def test_speaking_twice_changes_nothing_in_dense_notation(text: str) -> None:
    """Texts made of figures, units and signs only are a fixpoint too."""

    assert spoken(text) == spoken(spoken(text))


_VALUE = st.one_of(
    st.integers(-9999, 999_999).map(str),
    st.decimals(0, 9999, places=2, allow_nan=False).map(str),
)
_UNIT = st.sampled_from([unit.symbol for kind in units.KINDS.values() for unit in kind.units if unit.symbol])


@given(_VALUE, _UNIT, st.sampled_from(["", " ", "-"]), st.sampled_from(["", ".", ", then stop", " or more", ")"]))
def test_every_quantity_is_said_without_a_rest(value: str, unit: str, gap: str, after: str) -> None:
    """Any value with any unit of the closed list leaves nothing for a synthesiser to guess."""
    said = spoken(f"Set ({value}{gap}{unit}{after}")

    assert not problems(said)


@pytest.mark.parametrize("kind", sorted(units.KINDS))
def test_every_unit_has_a_singular_that_is_one_word_form_of_its_plural(kind: str) -> None:
    """One of a unit is said in the singular: the plural without its last s, or an irregular form."""
    for unit in units.KINDS[kind].units:
        single = one_of(unit.spoken)

        assert len(single) <= len(unit.spoken)
        assert single[:1] == unit.spoken[:1]
        assert len(single.split()) == len(unit.spoken.split())


@pytest.mark.parametrize(
    ("plural", "single"),
    [
        ("volts", "volt"), ("inches", "inch"), ("feet", "foot"), ("millihenries", "millihenry"),
        ("degrees celsius", "degree celsius"), ("millilitres per minute", "millilitre per minute"),
        ("square millimetres per second", "square millimetre per second"), ("inches of mercury", "inch of mercury"),
        ("kilograms per square centimetre", "kilogram per square centimetre"), ("p s i", "p s i"),
        ("amp hours", "amp hour"), ("per cent", "per cent"), ("thou", "thou"), ("cubic inches", "cubic inch"),
    ],
)  # fmt: skip
def test_singulars(plural: str, single: str) -> None:
    """The head noun loses its plural, and nothing else changes."""

    assert single == one_of(plural)


def test_every_spoken_unit_is_itself_speakable() -> None:
    """No spoken name of a unit needs speaking again."""
    for said in unit_table().values():
        assert said == spoken(said)
        assert not problems(said)


@pytest.mark.parametrize(
    ("text", "count"),
    [("Read the gauge.", 3), ("118 psi", 5), ("", 0), ("Set 12.6 V, then stop.", 7), ("the c d i box", 3)],
)
def test_words_are_counted_as_spoken(text: str, count: int) -> None:
    """The count for the length rule takes the spoken words; letters said one by one are one word."""

    assert count == word_count(text)
