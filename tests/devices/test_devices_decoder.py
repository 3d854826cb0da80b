"""The closed list as roads of tokens, the search in it, and how sure is sure enough."""

from __future__ import annotations

import random

import numpy as np
import pytest
from devices_voice_helpers import HandModel, hand_tokenizer, tokenizer_file
from hypothesis import given
from hypothesis import strategies as st

from firststart.devices import number_words
from firststart.devices.closed_decoder import Reading, Readings, decode
from firststart.devices.closed_grammar import SAME_SOUND, WRITTEN, ClosedGrammar
from firststart.devices.ears import NUMBER, Vocabulary, Zone, spoken_units
from firststart.devices.moonshine import Tokenizer
from firststart.devices.zones import Guess, agreed, decide, figures_cost, length_cost, syllables, waits, weigh
from firststart.prompt.numbers import hear_number
from firststart.units import KINDS

SILENCE = np.zeros(16000, np.float32)
TOKENS = hand_tokenizer()
WORDS = Vocabulary({"stop": "stop", "stop listening": "sleep", "go back": "back", "weak spark": "weak", "yes": "yes"})
NUMBERS = Vocabulary({"stop": "stop"}, numbers=True, units=("p s i", "volts"))


def _hear(texts: dict[str, float], vocabulary: Vocabulary) -> Readings:
    return decode(HandModel(TOKENS, texts), TOKENS, ClosedGrammar(vocabulary, TOKENS), SILENCE)


# -- tokens --------------------------------------------------------------------------------------------------


def test_the_lowest_pair_is_joined_first() -> None:
    """Pieces are joined from the lowest token up, so one text has one encoding."""
    tokenizer = Tokenizer(tokenizer_file(["\u2581", "a", "b", "c", "ab", "\u2581a", "bc", "\u2581abc"]))

    assert tokenizer.encode("abc") == (259, 263, 262)
    assert tokenizer.decode([1, *tokenizer.encode("abc"), 2]) == "abc"


def test_long_pieces_have_a_length_of_two_bytes() -> None:
    """A piece of more than 127 bytes is read whole."""
    tokenizer = Tokenizer(tokenizer_file(["x" * 300, "y"]))

    assert tokenizer.decode([259, 260]) == "x" * 300 + "y"


def test_a_character_without_a_token_cannot_be_encoded() -> None:
    """Text the recogniser cannot write is refused, not guessed."""
    with pytest.raises(KeyError):
        TOKENS.encode("é")


# -- the words of numbers ------------------------------------------------------------------------------------


def test_every_road_of_number_words_ends_in_a_number() -> None:
    """Twenty thousand random walks through the number words: each complete one is read as a number."""
    rng = random.Random(1)
    complete = 0
    for _ in range(20_000):
        state, words = number_words.START, []
        while number_words.can_grow(state) and not (number_words.is_whole(state) and rng.random() < 0.3):
            word, state = rng.choice(sorted(number_words.following(state).items()))
            words.append(word)
        if number_words.is_whole(state):
            complete += 1

            assert hear_number(" ".join(words))

    assert complete > 15_000


@pytest.mark.parametrize(
    "words",
    ["one one eight", "a hundred and five", "twelve point six", "one eighteen", "minus five", "two and a half",
     "fifteen hundred", "one oh five", "twenty one", "zero point four", "three thousand two hundred and ten"],
)  # fmt: skip
def test_usual_numbers_have_a_road(words: str) -> None:
    """What people say for a reading can be heard."""
    state = number_words.START
    for word in words.split():
        state = number_words.following(state)[word]

    assert number_words.is_whole(state)


def test_no_number_begins_with_oh() -> None:
    """ "Oh" at the beginning sounds like "no", so it is not offered there."""

    assert "oh" not in number_words.following(number_words.START)


# -- the search ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "text", "meaning"),
    [
        ("Stop.", "stop", "stop"), ("stop", "stop", "stop"), ("Stop, listening!", "stop listening", "sleep"),
        ("Go back.", "go back", "back"), ("Week spark", "weak spark", "weak"), ("Yes?", "yes", "yes"),
    ],
)  # fmt: skip
def test_a_phrase_is_found_however_it_is_written(written: str, text: str, meaning: str) -> None:
    """Capitals, marks and words of the same sound lead to the phrase of the list."""
    best = _hear({written: 0.9}, WORDS).found[0]

    assert (text, meaning) == (best.text, best.meaning)


@pytest.mark.parametrize(
    ("written", "text"),
    [
        ("One one eight psi.", "118 psi"), ("one, one, eight P. S. I.", "118 psi"), ("118 PSI", "118 psi"),
        ("One hundred and eighteen", "118"), ("12.6 volts", "12.6 V"), ("Twelve-point-six volts.", "12.6 V"),
        ("Twenty-five", "25"), ("To point five", "2.5"), ("-5", "-5"), ("Minus five", "-5"), ("0.4", "0.4"),
    ],
)  # fmt: skip
def test_a_number_is_found_however_it_is_written(written: str, text: str) -> None:
    """Words, figures, hyphens and every spelling of a unit give one number in figures."""
    best = _hear({written: 0.9}, NUMBERS).found[0]

    assert (NUMBER, text) == (best.meaning, best.text)


def test_a_point_in_figures_is_never_lost() -> None:
    """ "12.6" is never read as 126: no mark may stand between figures but the point."""
    found = _hear({"12.6": 0.9}, NUMBERS).found

    assert "126" not in {reading.text for reading in found}


def test_numbers_are_heard_only_where_they_are_asked() -> None:
    """Without numbers in the vocabulary, a number has no reading."""

    assert all(reading.meaning != NUMBER for reading in _hear({"118": 0.9}, WORDS).found)


def test_a_number_in_another_unit_than_those_offered_has_no_such_reading() -> None:
    """Units come from the step: "ohms" is not heard where pressure and voltage are offered."""

    assert all("ohm" not in reading.text for reading in _hear({"5 ohms": 0.9}, NUMBERS).found)


def test_the_free_reading_tells_that_something_else_was_said() -> None:
    """Talk that is not on the list is far likelier in the free reading than anything on it."""
    readings = _hear({"the kettle is on": 0.9}, WORDS)

    assert readings.free == "the kettle is on"
    assert not readings.found or readings.free_score - readings.found[0].score > 10


def test_the_next_meaning_is_kept_for_the_margin() -> None:
    """Two likely phrases are both found, in the order of their chances."""
    found = _hear({"yes": 0.6, "stop": 0.4}, WORDS).found

    assert [reading.text for reading in found[:2]] == ["yes", "stop"]


def test_growing_is_known() -> None:
    """ "Stop" may grow into "stop listening"; "yes" is complete."""

    assert _hear({"stop": 0.9}, WORDS).found[0].grows
    assert not _hear({"yes": 0.9}, WORDS).found[0].grows


def test_every_unit_can_be_heard_after_a_number() -> None:
    """For each kind of quantity, five of each of its units is read back by the number reader."""
    for kind in KINDS:
        for unit in spoken_units(kind):
            vocabulary = Vocabulary({}, numbers=True, units=(unit,))
            for written in WRITTEN.get(unit, (unit,)):
                found = _hear({f"five {written}": 0.9}, vocabulary).found

                assert hear_number(f"five {unit}") == found[0].text


def test_no_two_words_of_the_same_sound_stand_for_different_number_words() -> None:
    """An alternative spelling never belongs to two number words."""
    numbers = {word for state in number_words._TABLE.values() for word in state}
    spellings = [other for word, others in SAME_SOUND.items() if word in numbers for other in others]

    assert len(spellings) == len(set(spellings))


# -- zones ---------------------------------------------------------------------------------------------------


def _guess(gap: float, margin: float, meaning: str = "yes", text: str = "yes", grows: bool = False) -> Guess:
    return Guess(Reading(-1.0, meaning, text, text, grows), gap, margin)


@pytest.mark.parametrize(
    ("gap", "margin", "zone"),
    [
        (0.0, 10.0, Zone.ACCEPT), (2.9, 3.6, Zone.ACCEPT), (3.0, 10.0, Zone.ASK), (0.0, 3.5, Zone.ASK),
        (5.9, 0.0, Zone.ASK), (6.0, 10.0, None), (50.0, 99.0, None),
    ],
)  # fmt: skip
def test_zones(gap: float, margin: float, zone: Zone | None) -> None:
    """A small gap and a large margin accept; a middling gap asks; a large gap rejects."""
    heard = decide(_guess(gap, margin), WORDS)

    assert zone is (heard.zone if heard else None)


@pytest.mark.parametrize(("other", "zone"), [("yes", Zone.ACCEPT), ("no", Zone.ASK), (None, Zone.ASK)])
def test_what_a_second_hearing_does_not_confirm_is_asked(other: str | None, zone: Zone) -> None:
    """The same sound heard twice, with its noise and without: sure only when both give the same."""
    second = None if other is None else _guess(0.0, 10.0, other, other)
    heard = decide(agreed(_guess(0.0, 10.0), second), WORDS)

    assert heard is not None
    assert zone is heard.zone


def test_nothing_heard_is_nothing_decided() -> None:
    """No reading at all is a rejection."""

    assert decide(None, WORDS) is None


def test_a_safety_word_acts_in_the_middle_zone_but_not_beyond() -> None:
    """ "Stop" half heard is obeyed; "stop" not heard is not."""
    vocabulary = Vocabulary(WORDS.phrases, safety=frozenset({"stop"}))
    half, none = decide(_guess(5.0, 0.0, "stop"), vocabulary), decide(_guess(6.0, 0.0, "stop"), vocabulary)

    assert half is not None
    assert Zone.ACCEPT is half.zone
    assert none is None


def test_waiting_for_more() -> None:
    """A phrase that may grow and a number without its unit wait; a safety word and a number with its unit do not."""
    vocabulary = Vocabulary(WORDS.phrases, numbers=True, units=("p s i",), safety=frozenset({"stop"}))

    assert waits(_guess(0, 9, "back", "go", grows=True), vocabulary)
    assert not waits(_guess(0, 9, "stop", "stop", grows=True), vocabulary)
    assert waits(_guess(0, 9, NUMBER, "118"), vocabulary)
    assert not waits(_guess(0, 9, NUMBER, "118 psi"), vocabulary)
    assert not waits(_guess(0, 9, "yes", "yes"), vocabulary)


def test_a_long_sentence_is_no_short_word() -> None:
    """One syllable that would have lasted two seconds loses to a longer reading, or is rejected."""
    nine, more = Reading(-3.0, NUMBER, "9", "nine"), Reading(-5.0, NUMBER, "9.6 V", "nine point six volts")
    readings = Readings((nine, more), "", -2.0)
    short, long = weigh(readings, 0.45, NUMBERS), weigh(readings, 1.2, NUMBERS)

    assert (short.reading.text if short else "") == "9"
    assert (long.reading.text if long else "") == "9.6 V"
    assert decide(weigh(Readings((nine,), "", -2.0), 2.0, NUMBERS), NUMBERS) is None


def test_a_rare_meaning_must_be_clearer() -> None:
    """With equal chances, the awaited answer wins over a general word."""
    readings = Readings((Reading(-2.0, "why", "why", "why"), Reading(-2.5, "yes", "yes", "yes")), "", -1.0)
    guess = weigh(readings, 0.4, Vocabulary({"why": "why", "yes": "yes"}, rare=frozenset({"why"})))

    assert guess is not None
    assert guess.reading.text == "yes"


def test_a_number_outside_what_is_plausible_is_no_reading() -> None:
    """At a step of 0 to 700 psi, 11835 is not heard; 8 bar is, since its value in psi fits."""
    step = Vocabulary({}, numbers=True, quantity="pressure", unit="psi", low=0, high=700)
    texts = ("11835", "900 psi", "60 bar", "8 bar")
    found = tuple(Reading(-1.0 - index, NUMBER, text, "x") for index, text in enumerate(texts))
    guess = weigh(Readings(found, "", -1.0), 0.4, step)

    assert guess is not None
    assert guess.reading.text == "8 bar"


@pytest.mark.parametrize(
    ("number", "cost"),
    [("118 psi", 0), ("1500 rpm", 0), ("12.6 V", 0), ("0.4", 0), ("12.64 V", 3), ("8.35 bar", 1), ("1185", 2),
     ("-5", 0), ("8.5:1", 0), ("0.05", 1), ("11835", 4)],
)  # fmt: skip
def test_more_figures_than_people_read_out_cost(number: str, cost: float) -> None:
    """Three figures and one decimal are free."""

    assert cost == figures_cost(number)


def test_numbers_of_the_same_value_are_one_meaning_for_the_margin() -> None:
    """ "118" and "118 psi", "12.6" and "12.60" do not stand in each other's way."""
    readings = Readings((Reading(-1.0, NUMBER, "118 psi", "x"), Reading(-1.1, NUMBER, "118", "x"),
                         Reading(-9.0, NUMBER, "18", "x")), "", -1.0)  # fmt: skip
    guess = weigh(readings, 0.4, NUMBERS)

    assert guess is not None
    assert pytest.approx(guess.margin) == 8.0


@pytest.mark.parametrize(
    ("words", "count"),
    [("stop", 1), ("yes", 1), ("go back", 2), ("one does not", 3), ("twelve point six volts", 4), ("p s i", 3),
     ("seven", 2), ("118", 3), ("", 1), ("people", 2), ("three", 1)],
)  # fmt: skip
def test_syllables(words: str, count: int) -> None:
    """Syllables are counted near enough for the length of speech."""

    assert count == syllables(words)


@given(st.integers(1, 10), st.floats(0.01, 8.0))
def test_length_never_helps_and_usual_lengths_cost_nothing(count: int, seconds: float) -> None:
    """The cost of a length is never negative, and zero at the usual length."""
    words = " ".join(["go"] * count)

    assert length_cost(words, seconds) >= 0.0
    assert length_cost(words, 0.19 + 0.225 * count) == 0.0
