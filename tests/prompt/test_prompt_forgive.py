"""Words that forgive: more words than were asked for, not knowing, and being offered the keys in the end."""

from __future__ import annotations

import pytest

from firststart.prompt.dialogue import KEYS, PEDAL, VOICE, Dialogue, hear
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.forgive import plainer

SPARK = Expectation(
    "choice",
    (Option("strong", ("strong spark",)), Option("none", ("no spark",)), Option("unknown", ("don't know",))),
)
CANNOT = Option("cannot-measure", ("cannot measure", "don't know"))
VOLTS = Expectation("measure", (CANNOT,), "voltage", "V", 0, 30, "v")
ACTION = Expectation("action", (Option("done", ("done", "next")),))


@pytest.mark.parametrize(
    ("said", "event"),
    [
        ("a strong spark please", "strong"), ("um it's a strong spark", "strong"), ("i think no spark", "none"),
        ("I don't know", "unknown"), ("no idea", "unknown"), ("not sure, sorry", "unknown"), ("dunno", "unknown"),
        ("2", "none"), ("well, no spark I guess", "none"),
    ],
)  # fmt: skip
def test_an_answer_in_more_words_is_understood(said: str, event: str) -> None:
    """Politeness, doubt and articles around an answer change nothing; there are many ways not to know."""
    _, act = hear(Dialogue(), said, SPARK)

    assert ("event", event, said) == (act.kind, act.event, act.said)


@pytest.mark.parametrize(
    ("said", "volts"),
    [
        ("about twelve point six", 12.6), ("it's twelve and a half volts", 12.5), ("twelve volts or so", 12.0),
        ("roughly 12.4 V", 12.4), ("twelve six", None),
    ],
)  # fmt: skip
def test_a_number_in_more_words_is_read_back(said: str, volts: float | None) -> None:
    """A number with words around it is taken as it stands and read back; one that could mean two numbers is not."""
    _, act = hear(Dialogue(), said, VOLTS)

    assert volts == (act.value.value if act.value is not None else None)


@pytest.mark.parametrize("said", ["I don't know", "no idea", "can't tell"])
def test_not_knowing_a_reading_is_an_answer(said: str) -> None:
    """Where a reading is asked, not knowing it is that it cannot be measured."""
    _, act = hear(Dialogue(), said, VOLTS)

    assert ("event", "cannot-measure") == (act.kind, act.event)


def test_not_knowing_where_nothing_offers_it_shows_the_way_on() -> None:
    """A step that has to be done is not done by not knowing; the way past it is told."""
    _, act = hear(Dialogue(), "no idea", ACTION)

    assert ("miss", "When you cannot tell, say leave it. Say done.") == (act.kind, act.say)


@pytest.mark.parametrize(
    ("said", "general"),
    [
        ("say it again please", "repeat"), ("how long is left", "how-long"), ("what's left", "status"),
        ("back", "back"), ("please go back", "back"), ("why", "why"), ("same as before", "same"), ("the same", "same"),
    ],
)  # fmt: skip
def test_the_general_words_have_many_forms(said: str, general: str) -> None:
    """What is always there is understood in the words that come to mind."""
    _, act = hear(Dialogue(), said, SPARK)

    assert ("general", general) == (act.kind, act.event)


@pytest.mark.parametrize(
    ("expects", "keys"),
    [
        (SPARK, "Use the keys: type the number of the answer and press enter."),
        (VOLTS, "Use the keys: type the number and press enter."),
        (ACTION, "Use the keys: press enter."),
    ],
)
def test_what_is_not_understood_gets_shorter_and_ends_at_the_keys(expects: Expectation, keys: str) -> None:
    """First the reason and the answers, then the answers alone, then which key means what; each is one breath."""
    state, said = Dialogue(), []
    for _ in range(3):
        state, act = hear(state, "blub", expects, VOICE)
        said.append(act.say)

    assert said[0].endswith(said[1])
    assert len(said[0]) > len(said[1])
    assert keys == said[2]


NEUTRAL = Expectation(
    "choice",
    (Option("has", ("it has neutral",)), Option("none", ("no gearbox",)), Option("unknown", ("don't know",))),
)
CLEAR = Expectation("choice", (Option("clear", ("all clear",), weighty=True), Option("not-yet", ("not yet",))))


@pytest.mark.parametrize(
    ("words", "expects", "said", "event"),
    [
        ("yes", NEUTRAL, "It has neutral. Right?", "has"), ("no", NEUTRAL, "No gearbox. Right?", "none"),
        ("no", CLEAR, "Not yet. Right?", "not-yet"), ("stro", SPARK, "Strong spark. Right?", "strong"),
        ("don't", NEUTRAL, "Don't know. Right?", "unknown"), ("not", CLEAR, "Not yet. Right?", "not-yet"),
    ],
)  # fmt: skip
def test_a_bare_yes_or_no_and_a_part_of_an_answer_are_read_back_as_what_they_most_likely_mean(
    words: str, expects: Expectation, said: str, event: str
) -> None:
    """Where one of two answers is a no, yes and no are taken for the two; a part of one answer alone for that one."""
    state, act = hear(Dialogue(), words, expects)
    _, taken = hear(state, "yes", expects)

    assert ("ask", said) == (act.kind, act.say)
    assert ("event", event) == (taken.kind, taken.event)


@pytest.mark.parametrize("words", ["yes", "all", "all cl"])
def test_a_bare_yes_or_a_part_of_it_never_meets_a_hold_point(words: str) -> None:
    """What makes hazardous work possible must be said in its own words."""
    _, act = hear(Dialogue(), words, CLEAR)

    assert "miss" == act.kind


def test_no_answer_is_made_of_nothing() -> None:
    """Words that are only put around answers mean nothing by themselves."""
    assert ["maybe", "please"] == [plainer(words) for words in ("well maybe", "please")]


CRIES = (
    "stop stop stop", "stop it", "stop the engine!", "no, stop", "wait stop", "oh god STOP", "Emergency stop",
    "stop right now", "stop there", "Stop!!!", "please stop it", "whoa", "kill it", "turn it off", "shut it down",
    "abort", "halt now",
)  # fmt: skip
NO_CRIES = (
    "the stop wire is off", "stop switch", "stop solenoid is stuck", "it does not stop", "it doesn't stop",
    "why did it stop", "how do i stop", "stopped", "unstoppable", "nonstop", "12", "",
)  # fmt: skip
TURNING = Expectation("turning", (Option("release", ("stop", "released")),), high=5)


@pytest.mark.parametrize("channel", [KEYS, VOICE, PEDAL])
@pytest.mark.parametrize("words", CRIES)
def test_stop_is_obeyed_however_it_is_cried(words: str, channel: str) -> None:
    """In a question, at a reading, at an action, at a read-back; while the starter turns it is released."""
    waiting = hear(Dialogue(), "about twelve volts", VOLTS)[0]
    every = [hear(Dialogue(), words, e, channel)[1] for e in (SPARK, VOLTS, ACTION)]
    every.append(hear(waiting, words, VOLTS, channel)[1])

    assert [("general", "stop")] * 4 == [(act.kind, act.event) for act in every]
    assert "release" == hear(Dialogue(), words, TURNING, channel)[1].event


@pytest.mark.parametrize("words", NO_CRIES)
def test_what_only_speaks_of_a_stop_is_none(words: str) -> None:
    """A part of the engine that is called after stopping, a question, and what does not stop."""
    assert "stop" != hear(Dialogue(), words, SPARK)[1].event


def test_an_answer_that_is_offered_is_no_cry() -> None:
    """Where an answer has the word in it, it is that answer."""
    wire = Expectation("choice", (Option("wire", ("stop wire off",)), Option("runs", ("it will not stop",))))

    assert ["wire", "runs"] == [hear(Dialogue(), w, wire)[1].event for w in ("stop wire off", "it will not stop")]
