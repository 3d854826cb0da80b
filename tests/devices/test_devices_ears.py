"""The ears: vocabularies, twins, opening."""

from __future__ import annotations

import pytest

from firststart.devices.ears import (
    NUMBER,
    OWN,
    DeafEars,
    EarOptions,
    Ears,
    Heard,
    Levels,
    ScriptedEars,
    Vocabulary,
    Zone,
    open_ears,
    spoken_units,
    understand,
)
from firststart.devices.ears_process import ProcessEars
from firststart.devices.hearable import BY_VOICE, by_voice, hearable
from firststart.devices.moonshine import EarsError
from firststart.devices.soundcard import DeviceError
from firststart.prompt.expect import GENERAL, Expectation, Option

ANSWERS = Vocabulary({"done": "done", "go back": "back", "stop": "stop"}, safety=frozenset({"stop"}))
MEASURE = Expectation("measure", (Option("cannot-measure", ("cannot measure",)),), "pressure", "psi", 0, 700)


# -- vocabularies --------------------------------------------------------------------------------------------


def test_a_step_can_be_answered_with_its_phrases_and_the_general_words() -> None:
    """Every phrase of every option, yes and no, and the general words are in the vocabulary of a step."""
    expects = Expectation("choice", (Option("weak", ("weak spark", "faint")), Option("none", ("no spark",))))
    vocabulary = hearable(expects)

    assert tuple(vocabulary.phrases[p] for p in ("weak spark", "faint", "no spark")) == ("weak", "weak", "none")
    assert {"stop", "say again", "go back"} <= set(vocabulary.phrases)
    assert not vocabulary.numbers
    assert frozenset({"stop"}) == vocabulary.safety


def test_a_reading_can_be_given_with_any_unit_of_its_kind() -> None:
    """A measuring step hears numbers and the spoken units of its quantity."""
    vocabulary = hearable(MEASURE)

    assert vocabulary.numbers
    assert {"p s i", "bar", "kilopascals"} <= set(vocabulary.units)
    assert "cannot measure" in vocabulary.phrases
    assert (vocabulary.quantity, vocabulary.unit, vocabulary.low, vocabulary.high) == ("pressure", "psi", 0, 700)


def test_only_what_is_awaited_is_not_rare() -> None:
    """General words are rare; the answers and "stop" are not; after a read-back, yes and no are what is awaited."""

    assert "why" in hearable(MEASURE).rare
    assert {"cannot-measure", "stop"}.isdisjoint(hearable(MEASURE).rare)
    assert {"yes", "no"}.isdisjoint(hearable(MEASURE, confirming=True).rare)
    assert "cannot-measure" in hearable(MEASURE, confirming=True).rare


def test_no_is_heard_only_where_a_question_stands() -> None:
    """At an action "yes" means done and "no" nothing; at a question, and after a read-back, both are heard."""
    action = hearable(Expectation("action", (Option("done", ("done",)),)), confirming=False)
    question = hearable(Expectation("choice", (Option("yes", ("yes",)), Option("no", ("no",)))), confirming=False)

    assert action.phrases["yes"] == "done"
    assert "no" not in action.phrases
    assert (question.phrases["yes"], question.phrases["no"]) == ("yes", "no")
    assert "no" in hearable(MEASURE, confirming=True).phrases
    assert "no" not in hearable(MEASURE, confirming=False).phrases


def test_after_a_read_back_yes_means_yes_also_where_it_is_an_answer_of_the_step() -> None:
    """A step whose answer may be "yes" or "okay" does not take the yes of a read-back for that answer."""
    step = Expectation("action", (Option("done", ("done", "yes")),))

    assert "done" == hearable(step, confirming=False).phrases["yes"]
    assert "yes" == hearable(step, confirming=True).phrases["yes"]


def test_where_it_is_not_known_whether_a_question_stands_yes_and_no_are_heard() -> None:
    """Without a word on the read-back, both are there, and rare."""

    assert {"yes", "no"} <= set(hearable(MEASURE).phrases) & hearable(MEASURE).rare


def test_vocabularies_that_differ_in_anything_have_different_keys() -> None:
    """Other limits, or listening through speech, are another vocabulary, though they may sound the same."""
    other = Expectation("measure", MEASURE.options, "pressure", "psi", 0, 100)

    assert hearable(MEASURE).key != hearable(other).key
    assert hearable(MEASURE).sounds == hearable(other).sounds
    assert hearable(Expectation("turning")).key != hearable(Expectation("idle")).key


def test_asleep_only_stop_and_waking_are_heard() -> None:
    """Asleep, nothing but the stop words and the words that wake; awake, nothing needs waking."""

    assert {"stop", "listen"} == set(hearable(MEASURE, asleep=True).phrases.values())
    assert "listen" not in hearable(MEASURE).phrases.values()


def test_while_the_starter_turns_only_stop_is_heard_and_the_ears_stay_open() -> None:
    """Only the counting of a crank is listened through, and nothing but its answers and "stop" is heard."""
    turning = hearable(Expectation("turning", (Option("release", ("released",)),)))

    assert turning.while_speaking
    assert {"stop", "release", OWN} == set(turning.phrases.values())
    assert "release" not in turning.safety
    assert not hearable(MEASURE).while_speaking


def test_a_read_back_at_a_turning_starter_can_be_answered() -> None:
    """ "It stands. Right?" wants its yes or no; as long as nothing is asked neither is heard."""
    turning = Expectation("turning", (Option("release", ("stop", "it stands")),))

    assert ("yes", "no") == tuple(hearable(turning, confirming=True).phrases[word] for word in ("yes", "no"))
    assert not {"yes", "no"} & set(hearable(turning, confirming=False).phrases)


def test_stop_acts_when_half_heard_whatever_it_means_at_the_step() -> None:
    """While the starter turns, "stop" is the answer that lets go of it; it is as safe there as anywhere."""
    turning = hearable(Expectation("turning", (Option("release", ("stop", "released")),)))

    assert turning.phrases["stop"] == "release"
    assert {"stop", "release"} == turning.safety


def test_every_general_word_can_be_said_and_is_understood_by_the_dialogue() -> None:
    """No general word is left to the keys alone; each phrase is in the dialogue's list; "stop" begins no other word."""
    everything = {phrase: name for name in GENERAL for phrase in by_voice(name)}

    assert set(GENERAL) == set(everything.values())
    assert all(phrase in GENERAL[name] for name, phrases in BY_VOICE.items() for phrase in phrases)
    assert not [p for p, name in everything.items() if p.startswith("stop") and name != "stop"]


def test_spoken_units_of_a_kind() -> None:
    """The spoken names of a kind come from the closed list of units, each once."""

    assert spoken_units("voltage") == ("volts", "millivolts", "kilovolts")


@pytest.mark.parametrize(
    ("words", "text", "meaning"),
    [("done", "done", "done"), ("Go  back", "go back", "back"), ("one one eight p s i", "118 psi", NUMBER)],
)
def test_perfectly_heard_words_are_understood(words: str, text: str, meaning: str) -> None:
    """Phrases in any case, and numbers where numbers are asked."""
    heard = understand(words, Vocabulary(ANSWERS.phrases, numbers=True))

    assert heard is not None
    assert (text, meaning, Zone.ACCEPT) == (heard.text, heard.meaning, heard.zone)


def test_words_outside_the_vocabulary_are_nothing() -> None:
    """What the step does not offer is not understood, nor a number where none is asked."""

    assert understand("kettle", ANSWERS) is None
    assert understand("one one eight", ANSWERS) is None
    assert understand("kettle", Vocabulary({}, numbers=True)) is None


# -- twins ---------------------------------------------------------------------------------------------------


def test_the_deaf_twin_hears_nothing() -> None:
    """It can be used like real ears, and nothing comes."""
    ears: Ears = DeafEars()
    ears.start()
    ears.listen_for(ANSWERS)
    ears.mute()
    ears.unmute()

    assert ears.heard() is None
    assert Levels(None, None) == ears.levels()

    ears.close()


def test_the_scripted_twin_hears_its_script_as_far_as_the_vocabulary_allows() -> None:
    """Words come in order; what the vocabulary does not hold is dropped and kept for the test."""
    twin = ScriptedEars(["done", "kettle", Heard("stop", "stop", Zone.ASK)])
    twin.listen_for(ANSWERS)

    assert twin.heard() is None

    twin.start()

    assert getattr(twin.heard(), "text", None) == "done"
    assert twin.heard() is None
    assert twin.dropped == ["kettle"]
    assert Zone.ASK is getattr(twin.heard(), "zone", None)
    assert twin.heard() is None


def test_the_scripted_twin_is_deaf_while_muted_but_not_while_a_crank_is_counted() -> None:
    """Muted, the script waits; a vocabulary for counting is heard all the same."""
    twin = ScriptedEars(["stop"])
    twin.start()
    twin.listen_for(ANSWERS)
    twin.mute()

    assert twin.heard() is None

    twin.listen_for(Vocabulary(ANSWERS.phrases, while_speaking=True))

    assert twin.heard() is not None


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (EarsError("the package moonshine-voice is not installed"), "the package moonshine-voice is not installed"),
        (DeviceError("no microphone was found"), "no microphone was found"),
        (ImportError("x", name="numpy"), "the package numpy is not installed"),
        (RuntimeError("odd"), "odd"),
    ],
)
def test_ears_that_cannot_open_are_deaf_and_say_why(
    error: Exception, reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is missing, the bench gets the deaf twin and one sentence."""
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(ProcessEars, "_open", fail)
    notices: list[str] = []

    assert isinstance(open_ears(EarOptions(), notices.append, lambda: False), DeafEars)
    assert [f"No ears: {reason}; the bench goes on by screen and keys."] == notices
