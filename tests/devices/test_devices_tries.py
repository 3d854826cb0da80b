"""What earlier tries at an answer tell, and how a phrase that sounds like what was heard is asked back. Pure."""

from __future__ import annotations

import pytest

from firststart.devices.closed_decoder import Reading, Readings, merged
from firststart.devices.ears import NUMBER, Vocabulary, Zone
from firststart.devices.tries import LASTS, Tries, Try
from firststart.devices.zones import decide, weigh

SPARK = Vocabulary({"weak spark": "weak", "no spark": "none"})
READING = Vocabulary({}, numbers=True)


def _number(text: str, score: float, words: str = "one eighteen") -> Reading:
    return Reading(score, NUMBER, text, words)


def _key(text: str) -> tuple[str, float]:
    return (NUMBER, float(text))


def test_a_refused_reading_falls_behind_the_next() -> None:
    """After a no the second best is asked, and only asked, however clear it seems."""
    tries = Tries().missed(Try(0.0, {_key("180"): 0.0, _key("118"): -1.0}), _key("180")).refused(3.0)
    guess = weigh(Readings((_number("180", -1.0), _number("118", -3.0)), "", -1.0), 0.8, READING, tries)

    assert guess is not None
    assert "118" == guess.reading.text
    assert not guess.surely
    assert getattr(decide(guess, READING), "zone", None) is Zone.ASK


def test_a_reading_that_was_refused_by_mistake_can_still_be_given() -> None:
    """Somebody who read the gauge wrongly and reads the same again is heard, when it is clear enough."""
    tries = Tries().missed(Try(0.0, {_key("118"): 0.0}), _key("118")).refused(3.0)
    guess = weigh(Readings((_number("118", -1.0), _number("180", -12.0)), "", -1.0), 0.8, READING, tries)

    assert guess is not None
    assert "118" == guess.reading.text
    assert not guess.surely  # asked back once more


def test_what_was_near_the_front_twice_comes_to_the_front() -> None:
    """Two hearings of the same answer, each in doubt, tell more than one."""
    first = Try(0.0, {_key("118"): -0.5, _key("18"): 0.0})
    again = Readings((_number("110", -1.0), _number("118", -1.5)), "", -1.0)
    alone, together = weigh(again, 0.8, READING), weigh(again, 0.8, READING, Tries().missed(first, None))

    assert ("110", "118") == (alone.reading.text, together.reading.text)  # type: ignore[union-attr]


def test_old_tries_are_forgotten() -> None:
    """After some seconds somebody says something else."""
    tries = Tries().missed(Try(0.0, {_key("118"): 0.0}), _key("118"))

    assert tries == tries.fresh(LASTS)
    assert Tries() == tries.fresh(LASTS + 1)


@pytest.mark.parametrize(
    ("free", "gap", "taken"),
    [("Which part?", 9.0, True), ("Who left the light on?", 9.0, False), ("Which part?", 16.0, False)],
)
def test_a_phrase_that_sounds_like_the_free_reading_is_asked_back(free: str, gap: float, taken: bool) -> None:
    """In noise the free reading is often a near miss of the answer; talk sounds like no answer."""
    found = (Reading(-2.0 - gap, "weak", "weak spark", "weak spark"),)
    heard = decide(weigh(Readings(found, free, -2.0), 0.7, SPARK), SPARK)

    assert taken == (heard is not None)
    assert heard is None or heard.zone is Zone.ASK


def test_noise_that_reads_as_one_word_over_and_over_is_never_taken_at_once() -> None:
    """A free reading that repeats itself and sounds like no answer is noise; one that repeats the answer is not."""
    found = (Reading(-1.0, "weak", "weak spark", "weak spark"),)
    noise = decide(weigh(Readings(found, "just just just just just", -1.0), 0.7, SPARK), SPARK)
    twice = decide(weigh(Readings(found, "Weak spark weak spark weak spark weak", -1.0), 0.7, SPARK), SPARK)

    assert (Zone.ASK, Zone.ACCEPT) == (noise.zone, twice.zone)  # type: ignore[union-attr]


def test_a_yes_beside_a_no_must_be_clearer_than_other_answers() -> None:
    """What takes a read-back for right is not taken from a doubtful sound; it is asked again."""
    both = Vocabulary({"yes": "yes", "no": "no"})
    zones = []
    for behind in (4.0, 7.0):
        found = (Reading(-1.0, "yes", "yes", "yes"), Reading(-1.0 - behind, "no", "no", "no"))
        zones.append(getattr(decide(weigh(Readings(found, "Yes.", -1.0), 0.45, both), both), "zone", None))

    assert [Zone.ASK, Zone.ACCEPT] == zones


def test_two_hearings_are_one_by_their_mean() -> None:
    """What both have is the mean; what one lacks counts there as its least likely reading."""
    one = Readings((_number("118", -2.0), _number("18", -2.5)), "a", -1.0)
    other = Readings((_number("118", -4.0), _number("110", -6.0)), "b", -3.0)

    both = {reading.text: reading.score for reading in merged(one, other).found}

    assert {"118": -3.0, "18": -4.25, "110": -4.25} == both
    assert -2.0 == merged(one, other).free_score
