"""What the person's words mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.prompt.dialogue import KEYS, VOICE, Dialogue, hear
from firststart.prompt.expect import GENERAL, Expectation, Option
from firststart.prompt.told import Told

CHOICE = Expectation("choice", (Option("strong", ("strong spark",)), Option("none", ("no spark", "nothing"))))
YESNO = Expectation("choice", (Option("yes", ("yes",)), Option("no", ("no",))))
PRESSURE = Expectation(
    "measure", (Option("cannot-measure", ("cannot measure",)),), "pressure", "psi", 0, 400, "compression.dry"
)
CRANK = Expectation("crank", (Option("go", ("go", "go now")),), high=5)
TURNING = Expectation("turning", (Option("release", ("stop", "released")),), high=5)


def test_a_phrase_its_event_and_its_number_on_the_screen_mean_the_same() -> None:
    """The offered phrase, the event's own word and the number shown beside it are all understood by keys."""
    for text in ("strong spark", "Strong Spark.", "strong", "1"):
        assert "strong" == hear(Dialogue(), text, CHOICE)[1].event


def test_a_number_on_the_screen_is_for_keys_only() -> None:
    """By voice "one" is not an answer: it could belong to other talk."""
    assert "miss" == hear(Dialogue(), "1", CHOICE, VOICE)[1].kind


def test_a_typed_reading_with_its_unit_is_taken() -> None:
    """A reading typed with a unit needs no read-back."""
    act = hear(Dialogue(), "118 psi", PRESSURE)[1]

    assert ("value", 118.0, "psi") == (act.kind, act.value and act.value.value, act.value and act.value.unit)


@pytest.mark.parametrize(("text", "channel"), [("118", KEYS), ("one one eight", VOICE), ("118 psi", VOICE)])
def test_a_reading_without_unit_or_by_voice_is_read_back(text: str, channel: str) -> None:
    """The value is said back with its unit, and only yes takes it."""
    state, act = hear(Dialogue(), text, PRESSURE, channel)

    assert ("ask", "118 psi. Right?") == (act.kind, act.say)
    assert "value" == hear(state, "yes", PRESSURE, channel)[1].kind
    assert "ask" == hear(state, "no", PRESSURE, channel)[1].kind
    assert Dialogue() == hear(state, "no", PRESSURE, channel)[0]


@pytest.mark.parametrize("text", ["one three four two", "1 3 4 2", "1-3-4-2", "1342"])
@pytest.mark.parametrize("channel", [KEYS, VOICE])
def test_a_firing_order_is_read_back_figure_by_figure(text: str, channel: str) -> None:
    """An order is no thousand: it may be written as it is cast, and its figures are said one by one."""
    order = Expectation("measure", (), "count", "", 1, 87654321, "firing-order")
    state, act = hear(Dialogue(), text, order, channel)

    assert "1 3 4 2. Right?" == act.say
    assert 1342 == (hear(state, "yes", order, channel)[1].value or act.value).si


def test_a_new_reading_replaces_the_one_read_back() -> None:
    """Saying another number instead of yes or no corrects the first."""
    state, _ = hear(Dialogue(), "118", PRESSURE, VOICE)
    state, act = hear(state, "one two eight", PRESSURE, VOICE)

    assert "128 psi. Right?" == act.say


@pytest.mark.parametrize(
    ("text", "words"),
    [("12,6 psi", "comma"), ("9**9**9**9", "number"), ("118 volts", "not a unit"), ("4000 psi", "outside")],
)
def test_a_reading_that_misleads_is_refused_in_a_sentence(text: str, words: str) -> None:
    """A comma, an expression, a wrong unit and an impossible value are refused with what to do."""
    act = hear(Dialogue(), text, PRESSURE)[1]

    assert "miss" == act.kind
    assert words in act.say


def test_three_misses_offer_the_keys() -> None:
    """The prompt gets shorter, and the third time the keys are offered."""
    state = Dialogue()
    said = []
    for _ in range(3):
        state, act = hear(state, "sausages", CHOICE, VOICE)
        said.append(act.say)

    assert "did not understand" in said[0]
    assert "did not understand" not in said[1]
    assert "keys" in said[2]


@pytest.mark.parametrize("expects", [CHOICE, YESNO, PRESSURE, CRANK])
@pytest.mark.parametrize("asleep", [True, False])
def test_stop_is_understood_everywhere(expects: Expectation, asleep: bool) -> None:
    """Stop is heard in every state, awake or asleep, and in the middle of a read-back."""
    for phrase in GENERAL["stop"]:
        assert "stop" == hear(Dialogue(asleep=asleep), phrase, expects, VOICE)[1].event
    pending, _ = hear(Dialogue(), "118", PRESSURE, VOICE)
    assert "stop" == hear(pending, "stop", PRESSURE, VOICE)[1].event


def test_stop_while_the_starter_turns_means_that_it_stands() -> None:
    """The word a person says when they release the starter ends the count."""
    assert "release" == hear(Dialogue(), "stop", TURNING, VOICE)[1].event


def test_asleep_nothing_but_stop_and_listen_is_heard() -> None:
    """Garage talk is not an answer while asleep."""
    state, _ = hear(Dialogue(), "sleep", CHOICE, VOICE)

    assert "nothing" == hear(state, "strong spark", CHOICE, VOICE)[1].kind
    assert "listen" == hear(state, "listen", CHOICE, VOICE)[1].event


@pytest.mark.parametrize("text", ["yes", "ok", "1", "next", "ready", ""])
def test_nothing_but_go_begins_a_crank(text: str) -> None:
    """A crank begins on the word go alone (or its number on the screen by keys)."""
    act = hear(Dialogue(), text, CRANK, VOICE)[1]

    assert "go" != act.event


@given(st.text(max_size=60), st.sampled_from([CHOICE, YESNO, PRESSURE, CRANK, TURNING]), st.sampled_from([KEYS, VOICE]))
def test_no_words_crash_the_dialogue(text: str, expects: Expectation, channel: str) -> None:
    """Any text gives an act whose event belongs to the closed list, or a sentence."""
    _, act = hear(Dialogue(), text, expects, channel)
    known = {o.event for o in expects.options}

    assert act.kind in ("event", "value", "general", "ask", "miss", "nothing")
    if act.kind == "event":
        assert act.event in known


def test_a_half_heard_answer_is_read_back() -> None:
    """What the ears only half understood is taken after yes, and dropped after no."""
    state, act = hear(Dialogue(), "no spark", CHOICE, VOICE, sure=False)

    assert ("ask", "No spark. Right?") == (act.kind, act.say)
    assert ("event", "none") == (lambda a: (a.kind, a.event))(hear(state, "yes", CHOICE, VOICE)[1])
    assert "ask" == hear(state, "no", CHOICE, VOICE)[1].kind
    assert "ask" == hear(state, "yes", CHOICE, VOICE, sure=False)[1].kind


def test_what_matters_for_safety_is_read_back_by_voice_and_not_by_keys() -> None:
    """A crank begun by voice needs a yes; by keys it begins at once."""
    weighty = Expectation("crank", (Option("go", ("go", "go now"), weighty=True),), high=5)
    state, act = hear(Dialogue(), "go", weighty, VOICE)

    assert "ask" == act.kind
    assert "go" == hear(state, "yes", weighty, VOICE)[1].event
    assert "event" == hear(Dialogue(), "go", weighty)[1].kind


def test_a_stop_that_is_heard_is_obeyed_at_once_also_asleep_and_at_a_read_back() -> None:
    """Stop needs no yes, and nothing that stands in between holds it up."""
    for state in (Dialogue(), Dialogue(asleep=True), hear(Dialogue(), "118", PRESSURE, VOICE)[0]):
        act = hear(state, "stop", CHOICE, VOICE)[1]

        assert ("general", "stop") == (act.kind, act.event)


@pytest.mark.parametrize("asleep", [False, True])
def test_a_half_heard_stop_is_asked_back_and_heard_again_is_obeyed(asleep: bool) -> None:
    """Half heard twice is heard; where something dangerous goes on the ears never call it half heard."""
    state, act = hear(Dialogue(asleep=asleep), "stop", CHOICE, VOICE, sure=False)

    assert ("ask", "Stop. Right?", asleep) == (act.kind, act.say, state.asleep)
    assert "stop" == hear(state, "stop", CHOICE, VOICE, sure=False)[1].event
    assert "general" == hear(state, "stop", CHOICE, VOICE, sure=False)[1].kind


TOLD = [
    ("I cranked it twice, ten seconds", Told(2, 10)),
    ("cranked it twice ten seconds each", Told(2, 10)),
    ("I have cranked it three times for five seconds, ten minutes ago", Told(3, 5, 600)),
    ("we turned the engine over for 8 s", Told(1, 8)),
    ("I used the starter once or twice for four seconds", Told(2, 4)),
    ("they ran the starter for two minutes", Told(1, 120)),
    ("my son just tried the starter for twenty seconds", Told(1, 20)),
    ("I cranked it twenty five seconds", Told(1, 25)),
]


@pytest.mark.parametrize(("text", "told"), TOLD)
@pytest.mark.parametrize("expects", [CHOICE, PRESSURE, CRANK])
@pytest.mark.parametrize("channel", [KEYS, VOICE])
def test_cranking_told_afterwards_is_read_back(text: str, told: Told, expects: Expectation, channel: str) -> None:
    """At any prompt and by any channel it is said back first; yes keeps it, and no drops it."""
    state, act = hear(Dialogue(), text, expects, channel)
    kept, dropped = (hear(state, word, expects, channel)[1] for word in ("yes", "no"))

    assert ("ask", told) == (act.kind, act.told)
    assert act.say.endswith("Right?")
    assert ("told", told) == (kept.kind, kept.told)
    assert dropped.kind != "told"


@pytest.mark.parametrize("text", ["I cranked it twice", "I cranked it", "tell crank", "cranked the engine"])
def test_what_is_missing_of_told_cranking_is_asked(text: str) -> None:
    """Without the seconds nothing is kept: the general word leads to the questions."""
    act = hear(Dialogue(), text, CHOICE)[1]

    assert ("general", "tell-crank") == (act.kind, act.event)


@pytest.mark.parametrize("text", ["crank it", "it turned normally", "cranked it zero times", "I cranked it 900 times"])
def test_other_words_tell_of_no_cranking(text: str) -> None:
    """Neither an order nor an impossible number is taken for cranking that was done."""
    act = hear(Dialogue(), text, CHOICE)[1]

    assert act.kind == "miss"
    assert act.told is None


def test_while_the_starter_turns_no_cranking_is_told() -> None:
    """Then every word but the release waits."""
    assert "miss" == hear(Dialogue(), "I cranked it twice, ten seconds", TURNING)[1].kind
