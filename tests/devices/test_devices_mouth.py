"""The mouth: a real voice made by a child process, every way it can fail, and its silent twin."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from array import array
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from devices_voice_helpers import GOOD_ANSWER, fake_child, lines, until

from firststart.devices import mouth as mouth_module
from firststart.devices.mouth import LATE, FolderSink, Mouth, SilentMouth, SpeakingMouth, open_mouth, say_to
from firststart.devices.sound import Sound, read_sound_file
from firststart.devices.soundcard import DeviceError
from firststart.devices.synth import Synth, VoiceError, VoiceOptions
from firststart.devices.tones import Tone
from firststart.errors import RangeError

MakeSpeaking = Callable[..., tuple[SpeakingMouth, "RecordingSink", list[str]]]


class RecordingSink:
    """A loudspeaker that keeps what it got; it stays busy until told otherwise."""

    keeps_all = False

    def __init__(self) -> None:
        self.played: list[str] = []
        self.playing: list[str] = []
        self.works = self.takes = True
        self.closed = False

    def play(self, sound: Sound, label: str) -> None:
        assert sound.samples
        self.played.append(label)
        self.playing.append(label)

    def clear(self) -> None:
        self.playing.clear()

    def busy(self) -> bool:
        return bool(self.playing)

    def answers(self) -> bool:
        return self.takes or not self.playing

    def working(self) -> bool:
        return self.works

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def make_synth() -> Iterator[Callable[..., Synth]]:
    """Synths that are closed when the test ends."""
    made: list[Synth] = []

    def make(command: list[str] | None = None, **options: float) -> Synth:
        made.append(Synth(VoiceOptions(), command=command, **options))
        return made[-1]

    yield make
    for synth in made:
        synth.close()


# -- the real voice ------------------------------------------------------------------------------------------


def test_the_real_voice_makes_speech(make_synth: Callable[..., Synth]) -> None:
    """The speech library, in its child, makes a sound with the length and the energy of speech, and pauses in it."""
    sound = make_synth().speech("crank five strokes, when I count you in")
    window = sound.rate // 50
    levels = [Sound(sound.rate, sound.samples[i:i + window]).loudness for i in range(0, len(sound.samples), window)]

    assert 1.5 < sound.seconds < 5.0
    assert 0.02 < sound.loudness < 0.5
    assert max(levels) > 0.05
    assert min(levels) < 0.005


def test_different_words_make_different_sounds_and_a_longer_text_a_longer_one(make_synth: Callable[..., Synth]) -> None:
    """The voice says the words it was given: longer text lasts longer, other words differ."""
    synth = make_synth()
    yes, no, long = synth.speech("yes"), synth.speech("no"), synth.speech("yes, and then a good deal more to say")

    assert yes.samples != no.samples
    assert long.seconds > 2 * yes.seconds


def test_options_change_the_voice() -> None:
    """A slower rate lasts longer, a lower volume is softer, and another voice sounds different."""
    def said(**options: object) -> Sound:
        synth = Synth(VoiceOptions(**options))  # type: ignore[arg-type]
        try:
            return synth.speech("read the gauge aloud")
        finally:
            synth.close()

    usual, slow, soft, other = said(), said(rate=100), said(volume=0.25), said(voice="en-us")

    assert slow.seconds > 1.2 * usual.seconds
    assert 0.25 * usual.loudness == pytest.approx(soft.loudness, rel=0.01)
    assert usual.samples != other.samples


def test_an_unknown_voice_is_named_and_the_usual_one_speaks(tmp_path: Path) -> None:
    """A voice that is not here costs one sentence, not the voice."""
    notices: list[str] = []
    mouth = say_to(tmp_path, VoiceOptions(voice="nobody"), notices.append)
    mouth.say("yes")
    mouth.wait(5)
    mouth.close()

    assert notices == ["There is no voice called 'nobody' here; the usual voice speaks."]
    assert read_sound_file(tmp_path / "0001-yes.wav").loudness > 0.02


@pytest.mark.parametrize("options", [{"rate": 10}, {"rate": 2000}, {"volume": -0.1}, {"volume": 1.5}])
def test_impossible_options_are_refused(options: dict[str, float]) -> None:
    """A rate or a volume outside its range is refused with a sentence."""
    with pytest.raises(RangeError, match="must be between"):
        VoiceOptions(**options)  # type: ignore[arg-type]


def test_everything_said_is_written_as_numbered_files(tmp_path: Path) -> None:
    """Prompts and tones become WAV files in order, with a list of the words; a second mouth goes on counting."""
    for _ in range(2):
        mouth = say_to(tmp_path / "said", VoiceOptions(), lambda sentence: None)
        mouth.say("118 psi")
        mouth.sound(Tone.STOP)
        mouth.say("stop", priority=True)
        mouth.silence()
        mouth.close()  # what is not written yet is waited for
    names = [f"{n:04d}-{name}.wav" for n, name in enumerate(["one-hundred-and-eighteen-p-s-i", "stop", "stop"] * 2, 1)]

    assert names == sorted(path.name for path in (tmp_path / "said").glob("*.wav"))
    assert lines(tmp_path / "said" / "said.txt")[0] == "0001 one hundred and eighteen p s i"
    assert all(read_sound_file(path).loudness > 0.01 for path in (tmp_path / "said").glob("*.wav"))


def test_the_child_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After closing, neither the child nor its folder is there."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    synth = Synth(VoiceOptions())
    synth.speech("yes")
    child = synth._child
    synth.close()
    synth.close()

    assert child is not None
    assert child.process.returncode == 0
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="signals of this kind are for POSIX")
def test_a_hung_real_child_is_replaced(make_synth: Callable[..., Synth]) -> None:
    """A speech process that stops answering is ended by the watchdog, and the words are said by a new one."""
    synth = make_synth(watchdog=0.3)
    synth.speech("yes")
    child = synth._child
    assert child is not None
    os.kill(child.process.pid, signal.SIGSTOP)

    assert synth.speech("no").loudness > 0.02
    assert child.process.returncode == -signal.SIGKILL


# -- a voice that fails --------------------------------------------------------------------------------------

DIE = "sys.exit(3)"
HANG = "time.sleep(60)"
NOISE = "sys.stdout.buffer.write(b'not json\\n'); sys.stdout.buffer.flush()"
WRONG_TURN = "tell({'id': -1, 'bytes': 0})"
COMPLAIN = "tell({'id': request['id'], 'error': 'out of breath'})"
BAD_SOUND = "tell({'id': request['id'], 'bytes': 4}, b'abcd')"
HUGE = "tell({'id': request['id'], 'bytes': 1 << 40})"


@pytest.mark.parametrize("failure", [DIE, HANG, NOISE, WRONG_TURN, COMPLAIN, BAD_SOUND, HUGE])
def test_a_child_that_fails_is_replaced_once_and_then_given_up(
    failure: str, tmp_path: Path, make_synth: Callable[..., Synth]
) -> None:
    """Whatever the child does wrong, one new child is tried for the same words, and then VoiceError tells why."""
    synth = make_synth(fake_child(tmp_path, failure), watchdog=0.2)
    with pytest.raises(VoiceError):
        synth.speech("yes")

    assert lines(tmp_path / "requests.txt") == ["yes", "yes"]
    assert len(lines(tmp_path / "starts.txt")) == 2


def test_a_child_that_fails_once_costs_nothing_but_time(tmp_path: Path, make_synth: Callable[..., Synth]) -> None:
    """Words lost with a child are said by the next."""
    once = f"if len(open(os.path.join(folder, 'requests.txt')).readlines()) == 1:\n    sys.exit(3)\n{GOOD_ANSWER}"
    synth = make_synth(fake_child(tmp_path, once))

    assert len(synth.speech("yes").samples) == 2205


@pytest.mark.parametrize(
    ("hello", "reason"),
    [
        ("tell({'error': \"ModuleNotFoundError: No module named 'pyttsx3'\"})", "the package pyttsx3 is not installed"),
        ("tell({'error': 'RuntimeError: you do not have eSpeak'})", "no speech library was found; install"),
        ("sys.exit(1)", "its process ended"),
        ("time.sleep(60)", "it gave no answer for 0.2 seconds"),
    ],
)
def test_a_child_that_cannot_start_says_why(
    hello: str, reason: str, tmp_path: Path, make_synth: Callable[..., Synth]
) -> None:
    """No package, no library, a library that ends the process, one that hangs: each has its reason."""
    synth = make_synth(fake_child(tmp_path, "pass", hello), start=0.2 if "sleep" in hello else 5.0)
    with pytest.raises(VoiceError, match=reason):
        synth.start()


def test_a_command_that_is_not_there_says_why(make_synth: Callable[..., Synth]) -> None:
    """A missing interpreter is a VoiceError, not a traceback."""
    with pytest.raises(VoiceError, match="cannot be started"):
        make_synth(["/nowhere/python"]).start()


def test_words_said_again_are_not_made_again(tmp_path: Path, make_synth: Callable[..., Synth]) -> None:
    """A prompt made once, or prepared, is kept."""
    synth = make_synth(fake_child(tmp_path, GOOD_ANSWER))
    synth.prepare(["one", "two"])
    synth.speech("one")
    synth.speech("two")

    assert lines(tmp_path / "requests.txt") == ["one", "two"]


# -- the speaking mouth --------------------------------------------------------------------------------------


@pytest.fixture
def speaking(tmp_path: Path) -> Iterator[MakeSpeaking]:
    """Speaking mouths with a fake child and a recording loudspeaker, closed when the test ends."""
    made: list[SpeakingMouth] = []

    def make(
        on_request: str = GOOD_ANSWER, watchdog: float = 2.0, late: float = 30.0
    ) -> tuple[SpeakingMouth, RecordingSink, list[str]]:
        sink, notices = RecordingSink(), []
        synth = Synth(VoiceOptions(), command=fake_child(tmp_path, on_request), watchdog=watchdog)
        made.append(SpeakingMouth(synth, sink, notices.append, late=late))
        return made[-1], sink, notices

    yield make
    for mouth in made:
        mouth.close()


def test_prompts_are_said_in_order_as_words(speaking: MakeSpeaking) -> None:
    """Prompts and tones queue up; figures become words on the way; blank text is nothing."""
    mouth, sink, _ = speaking()
    mouth.say("12.6 V")
    mouth.say("  \n\0 ")
    mouth.sound(Tone.GO)
    mouth.say("Next.")

    assert until(lambda: len(sink.played) == 3)
    assert sink.played == ["twelve point six volts", "go", "Next."]
    assert mouth.busy()

    sink.clear()

    assert not mouth.busy()


def test_silence_forgets_what_waits_and_what_is_being_made(
    speaking: MakeSpeaking, tmp_path: Path
) -> None:
    """After silence, nothing said before is heard, not even words whose sound was still being made."""
    gate = tmp_path / "gate"
    mouth, sink, _ = speaking(
        f"while request['text'] == 'first' and not os.path.exists({str(gate)!r}):\n    time.sleep(0.002)\n{GOOD_ANSWER}"
    )
    mouth.say("first")
    mouth.say("second")
    assert until(lambda: lines(tmp_path / "requests.txt") == ["first"])
    mouth.silence()
    mouth.say("third")
    gate.touch()

    assert until(lambda: bool(sink.played))
    assert sink.played == ["third"]


def test_priority_is_said_at_once_and_alone(
    speaking: MakeSpeaking,
) -> None:
    """A prompt with priority cuts off what plays and drops what waits."""
    mouth, sink, _ = speaking()
    mouth.say("a long story")
    assert until(lambda: sink.playing == ["a long story"])
    mouth.sound(Tone.STOP, priority=True)

    assert until(lambda: sink.playing == ["stop"])


def test_three_lost_prompts_silence_the_mouth_with_one_sentence(
    speaking: MakeSpeaking,
) -> None:
    """A voice that keeps failing is given up: one clear sentence, then no waiting for it any more."""
    mouth, sink, notices = speaking(DIE)
    for word in ("one", "two", "three", "four", "five"):
        mouth.say(word)

    assert until(lambda: bool(notices))
    assert notices == ["The voice stopped working (its process ended); the bench goes on by screen and keys."]
    assert mouth.wait(1.0)

    mouth.say("six")

    assert not mouth.busy()
    assert sink.played == []


def test_a_loudspeaker_that_dies_silences_the_mouth_with_one_sentence(
    speaking: MakeSpeaking,
) -> None:
    """A device pulled out costs one sentence."""
    mouth, sink, notices = speaking()
    sink.works = False
    mouth.say("one")

    assert until(lambda: bool(notices))
    assert notices == ["The loudspeaker no longer answers; the bench goes on by screen and keys."]
    assert not mouth.busy()


def test_a_voice_that_hangs_is_told_within_a_second_and_once(speaking: MakeSpeaking) -> None:
    """While the watchdog still waits the person knows; the prompts after it, and the end of the voice, tell no more."""
    mouth, _, notices = speaking(HANG, watchdog=1.2, late=LATE)
    began = time.monotonic()
    mouth.say("one")

    assert until(lambda: bool(notices))
    assert LATE < 1.0
    assert time.monotonic() - began < 5.0, "a busy machine may add to it"
    assert notices == ["The voice does not answer; the bench goes on by screen and keys."]
    mouth.say("two")
    assert not until(lambda: len(notices) > 1, 1.5)


def test_a_loudspeaker_pulled_out_in_the_middle_is_told_at_once(speaking: MakeSpeaking) -> None:
    """What waits is not taken any more: it is told without another prompt, once, also when the device is given up."""
    mouth, sink, notices = speaking()
    mouth.say("a long story")
    assert until(lambda: bool(sink.playing))
    sink.takes = False
    began = time.monotonic()

    assert until(lambda: bool(notices))
    assert time.monotonic() - began < 5.0
    assert notices == ["The loudspeaker no longer answers; the bench goes on by screen and keys."]
    sink.works = False
    assert until(lambda: not mouth.busy())
    assert 1 == len(notices)


def test_waiting_ends_in_time(speaking: MakeSpeaking) -> None:
    """Waiting for the end of speech gives up after its time."""
    mouth, _, _ = speaking()
    mouth.say("something")

    assert not mouth.wait(0.05)


def test_saying_never_waits_for_a_hung_voice(
    speaking: MakeSpeaking,
) -> None:
    """With a child that hangs, say, silence and close all come back at once."""
    mouth, sink, _ = speaking(HANG, watchdog=30.0)
    done = threading.Event()

    def use() -> None:
        mouth.say("one")
        mouth.say("two", priority=True)
        mouth.silence()
        mouth.close()
        done.set()

    threading.Thread(target=use, daemon=True).start()

    assert done.wait(6.0)
    assert sink.closed


def test_a_closed_mouth_says_nothing_and_closes_twice(
    speaking: MakeSpeaking,
) -> None:
    """Closing lets go of the loudspeaker; later prompts are dropped without a sound or an error."""
    mouth, sink, notices = speaking()
    mouth.close()
    mouth.say("hello")
    mouth.close()

    assert sink.closed
    assert (sink.played, notices) == ([], [])


# -- opening -------------------------------------------------------------------------------------------------


def test_no_loudspeaker_gives_the_silent_twin_and_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a loudspeaker the bench gets a mouth that is silent, and a sentence that says why."""
    def no_player(**_: object) -> None:
        raise DeviceError("no loudspeaker was found")

    monkeypatch.setattr(mouth_module, "Player", no_player)
    notices: list[str] = []
    mouth = open_mouth(VoiceOptions(), notices.append)

    assert isinstance(mouth, SilentMouth)
    assert notices == ["No voice: no loudspeaker was found; the bench goes on by screen and keys."]


def test_a_folder_that_cannot_be_made_gives_the_silent_twin(tmp_path: Path) -> None:
    """Saying into a place that is a file costs one sentence."""
    (tmp_path / "file").write_text("")
    notices: list[str] = []
    mouth = say_to(tmp_path / "file", VoiceOptions(), notices.append)

    assert isinstance(mouth, SilentMouth)
    assert len(notices) == 1
    assert notices[0].startswith("No voice: ")


def test_a_folder_that_vanishes_counts_as_lost(tmp_path: Path) -> None:
    """Files that can no longer be written stop the sink from working."""
    sink = FolderSink(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    sink.play(Sound(8000, array("h", [1, 2])), "hello")

    assert not sink.working()


def test_the_silent_twin_keeps_what_it_was_asked_to_say() -> None:
    """The twin records prompts and tones as given, is never busy and never waits."""
    twin = SilentMouth()
    mouth: Mouth = twin
    mouth.say("118 psi")
    mouth.say("stop", priority=True)
    mouth.sound(Tone.GO)
    mouth.prepare(["one"])
    mouth.silence()

    assert twin.said == ["118 psi", "stop"]
    assert twin.tones == [Tone.GO]
    assert mouth.wait(0.0)
    assert not mouth.busy()
