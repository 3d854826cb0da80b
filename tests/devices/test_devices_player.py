"""The loudspeaker and its process, on a private virtual sound card and without one."""

from __future__ import annotations

import io
import json
import sys
import threading
import time
from array import array
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from devices_voice_helpers import NO_SOUND_SERVER, WHY_NO_SOUND_SERVER, lines, run_script, sound_server, until

from firststart.devices.child import message
from firststart.devices.loudspeaker import Loudspeaker
from firststart.devices.player import TOLD, Player
from firststart.devices.player_child import report, serve
from firststart.devices.sound import Sound
from firststart.devices.soundcard import DeviceError, find_device, open_in_time, refuse_null

needs_sound_server = pytest.mark.skipif(NO_SOUND_SERVER, reason=WHY_NO_SOUND_SERVER)


class _Bare(Loudspeaker):
    """The queue of the loudspeaker without a device."""

    def __init__(self) -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Loudspeaker, "_open", lambda self: self)
            super().__init__()


def _frames(*samples: int) -> bytes:
    return array("h", samples).tobytes()


def test_the_device_gets_what_waits_and_then_silence() -> None:
    """Sounds go out in order across the device's requests, and the rest of a request is silence."""
    speaker = _Bare()
    speaker.play(1, _frames(1, 2, 3))
    speaker.play(2, _frames(4))

    assert _frames(1, 2) == speaker._next(2)
    assert _frames(3, 4, 0, 0) == speaker._next(4)
    assert bytes(4) == speaker._next(2)


def test_clearing_drops_the_rest_of_a_sound() -> None:
    """After clear, the next request is silence."""
    speaker = _Bare()
    speaker.play(1, _frames(*[1] * 100))
    speaker._next(10)
    speaker.clear()

    assert bytes(20) == speaker._next(10)


def test_a_sound_is_done_when_it_was_heard_to_its_end() -> None:
    """Not while it waits, nor while its last samples are still on their way to the air; at once when it was dropped."""
    speaker = _Bare()
    speaker.play(1, _frames(1))
    speaker.play(2, _frames(2, 2))
    before = speaker.done()
    speaker._next(2)
    first = speaker.done()
    speaker._next(2)

    assert (0, 1) == (before, first)
    assert until(lambda: speaker.done() == 2)
    speaker.play(3, _frames(3, 3, 3))
    speaker.clear()
    assert until(lambda: speaker.done() == 3)


def test_what_the_process_is_told_is_done_and_what_is_done_is_told() -> None:
    """Sounds and falling silent reach the device in order; the end of each sound and signs of life go out."""
    speaker, out = _Bare(), io.BytesIO()
    serve(speaker, io.BytesIO(message({"do": "play", "n": 1}, _frames(7, 8)) + message({"do": "play", "n": 2}, b"ab")))
    assert _frames(7) == speaker._next(1)
    serve(speaker, io.BytesIO(message({"do": "clear"})))
    threading.Thread(target=report, args=(speaker, out), daemon=True).start()

    assert bytes(2) == speaker._next(1)
    assert until(lambda: {"done": 2} in [json.loads(line) for line in out.getvalue().splitlines()])
    assert "beat" in json.loads(out.getvalue().splitlines()[0]) or b'"beat": 0' in out.getvalue()


# -- the process ---------------------------------------------------------------------------------------------

FAKE = """
import json, os, sys, threading, time
folder, on_play, hello = {folder!r}, {on_play!r}, {hello!r}
lock, alive, still = threading.Lock(), threading.Event(), [0.0]
def note(name, text):
    with open(os.path.join(folder, name), "a") as file:
        file.write(text + "\\n")
def tell(told):
    with lock:
        sys.stdout.write(json.dumps(told) + "\\n")
        sys.stdout.flush()
def beat():
    while not alive.wait(0.02):
        tell({{"beat": still[0]}})
def nth():
    return len(open(os.path.join(folder, "starts.txt")).readlines())
note("starts.txt", "one")
exec(hello)
threading.Thread(target=beat, daemon=True).start()
for line in sys.stdin.buffer:
    request = json.loads(line)
    sys.stdin.buffer.read(request.get("bytes", 0))
    note("requests.txt", request["do"] + str(request.get("n", "")))
    if request["do"] == "play":
        exec(on_play)
"""
READY, PLAYS = "tell({'ready': True})", "tell({'done': request['n']})"
ONE = Sound(22050, array("h", [1, 2, 3]))
LONG = Sound(22050, array("h", [1]) * 200_000)  # more than a pipe holds

Make = Callable[..., Player]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Players with a process that does what a test says, closed when the test ends."""
    made: list[Player] = []

    def build(on_play: str = PLAYS, hello: str = READY, **times: float) -> Player:
        program = tmp_path / "child.py"
        program.write_text(FAKE.format(folder=str(tmp_path), on_play=on_play, hello=hello))
        made.append(Player(command=(sys.executable, "-S", "-E", str(program)), **times))
        return made[-1]

    yield build
    for player in made:
        player.close()


def test_a_player_is_busy_until_the_end_of_what_it_plays(make: Make, tmp_path: Path) -> None:
    """Busy from the word to play until the process tells that it was heard, or until silence is wanted."""
    gate = tmp_path / "gate"
    player = make(f"while not os.path.exists({str(gate)!r}): time.sleep(0.002)\n{PLAYS}")
    player.play(ONE)
    before = player.busy()
    gate.touch()

    assert before
    assert until(lambda: not player.busy())
    gate.unlink()
    player.play(ONE)
    player.clear()
    assert not player.busy()
    gate.touch()
    assert until(lambda: ["play1", "play2", "clear"] == lines(tmp_path / "requests.txt"))
    assert player.answers()
    assert player.working()


FAILING = {
    "dies": "os._exit(3)",
    "is killed": "os.kill(os.getpid(), 9)",
    "talks nonsense": "sys.stdout.write('not json\\n'); sys.stdout.flush()",
    "gives no sign of life": "alive.set()",
    "hangs": "alive.set(); time.sleep(60)",
    "reads no more": "alive.set(); os.close(0); time.sleep(60)",
    "has lost its device": "still[0] = 99.0",
}


@pytest.mark.parametrize("how", FAILING)
def test_a_process_that_fails_is_noticed_within_a_second_and_replaced(how: str, make: Make, tmp_path: Path) -> None:
    """The sound at hand is lost and the next one is played by another process; nobody was made to wait."""
    player = make(f"if nth() == 1:\n    {FAILING[how]}\nelse:\n    {PLAYS}", told=0.2, replaced=0.7)
    began = time.monotonic()
    player.play(LONG)
    player.play(LONG)
    player.busy()
    asked = time.monotonic() - began

    assert asked < 0.5
    assert until(lambda: not player.answers())
    assert TOLD < 1.0
    assert until(lambda: not player.busy(), 8.0)
    assert "play2" == lines(tmp_path / "requests.txt")[-1]
    assert 1 == lines(tmp_path / "requests.txt").count("play1")
    assert 2 == len(lines(tmp_path / "starts.txt"))
    assert until(player.answers)
    assert player.working()


def test_a_process_that_fails_while_nothing_plays_costs_nothing(make: Make, tmp_path: Path) -> None:
    """Another one takes its place before the next sound, and there is nothing to tell."""
    player = make(PLAYS, f"{READY}\nif nth() == 1:\n    os._exit(3)")
    told = [player.answers()]
    assert until(lambda: len(lines(tmp_path / "starts.txt")) == 2 and player._life is not None)
    told.append(player.answers())
    player.play(ONE)

    assert until(lambda: not player.busy())
    assert ["play1"] == lines(tmp_path / "requests.txt")
    assert [True, True] == told


def test_a_loudspeaker_that_fails_again_and_again_is_given_up(make: Make, tmp_path: Path) -> None:
    """Three processes lost without a while of life between them: it works no more, and is never busy again."""
    player = make("os._exit(3)")
    for _ in range(3):
        player.play(ONE)

    assert until(lambda: not player.working(), 10.0)
    player.play(ONE)
    assert 3 == len(lines(tmp_path / "starts.txt"))
    assert (False, False) == (player.busy(), player.answers())


def test_a_device_that_does_not_come_back_is_given_up(make: Make) -> None:
    """Where no device can be opened any more the loudspeaker works no more."""
    player = make("os._exit(3)", f"tell({{'error': 'no loudspeaker was found'}}) if nth() > 1 else {READY}")
    player.play(ONE)

    assert until(lambda: not player.working())


@pytest.mark.parametrize(
    ("hello", "reason"),
    [
        ("tell({'error': 'no loudspeaker was found'})", "no loudspeaker was found"),
        ("tell({'oh': 1})", "talks nonsense"),
        ("sys.exit(1)", "did not start: its process ended"),
        ("time.sleep(60)", "did not start: it gave no answer for 0.3 seconds"),
    ],
)
def test_a_process_that_cannot_begin_says_why(hello: str, reason: str, make: Make) -> None:
    """No loudspeaker, nonsense, an end without a word, a start that never ends."""
    with pytest.raises(DeviceError, match=reason):
        make(hello=hello, start=0.3 if "sleep" in hello else 10.0)


def test_a_program_that_is_not_there_says_why() -> None:
    """A missing interpreter is one clear reason."""
    with pytest.raises(DeviceError, match="cannot be started"):
        Player(command=("/nowhere/python",))


def test_closing_ends_also_a_process_that_reads_no_more(make: Make) -> None:
    """Closed twice within its time while a sound is stuck on its way; the process is gone."""
    player = make("time.sleep(60)", replaced=60.0)
    player.play(LONG)
    player.play(LONG)
    life = player._life
    assert life is not None
    began = time.monotonic()
    player.close()
    player.close()

    assert life.child.process.poll() is not None
    assert time.monotonic() - began < 5.0


# -- devices -------------------------------------------------------------------------------------------------


def test_a_device_is_found_by_part_of_its_name() -> None:
    """Any case and any part of the name will do; without a name it is the usual device."""
    devices = [{"name": "Built-in Audio", "id": 1}, {"name": "USB Headset", "id": 2}]

    assert find_device(devices, "headset", "microphone") == 2
    assert find_device(devices, None, "microphone") is None


def test_a_device_that_is_not_there_is_answered_with_those_that_are() -> None:
    """A wrong name lists the right ones."""
    with pytest.raises(DeviceError, match="there is no loudspeaker called 'x', but 'Built-in Audio'"):
        find_device([{"name": "Built-in Audio", "id": 1}], "x", "loudspeaker")


def test_a_device_that_leads_nowhere_is_refused() -> None:
    """The sound library's null device is no loudspeaker."""
    class Null:
        backend = "Null"

    with pytest.raises(DeviceError, match="no loudspeaker was found"):
        refuse_null(Null(), "loudspeaker")


def test_a_device_that_does_not_open_in_time_is_given_up_and_closed_later() -> None:
    """Opening waits its time and no longer; what opens too late is closed."""
    gate, closed = threading.Event(), threading.Event()

    class Slow:
        def close(self) -> None:
            closed.set()

    def opener() -> Slow:
        gate.wait(5)
        return Slow()

    with pytest.raises(DeviceError, match="did not open within"):
        open_in_time(opener, 0.01, "loudspeaker")
    gate.set()

    assert closed.wait(5)


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (ImportError("miniaudio"), "the package miniaudio is not installed"),
        (RuntimeError("failed to init device", -401), "no microphone was found"),
        (DeviceError("as it was"), "as it was"),
    ],
)
def test_a_device_that_fails_to_open_has_a_plain_reason(error: Exception, reason: str) -> None:
    """Whatever the sound library raises becomes one reason."""
    def opener() -> None:
        raise error

    with pytest.raises(DeviceError, match=reason):
        open_in_time(opener, 5.0, "microphone")


@needs_sound_server
def test_speech_reaches_the_loudspeaker_promptly_and_stops_at_once(tmp_path: Path) -> None:
    """On a real sound server a prompt is heard within 200 ms, a barge-in silences within 100 ms, and exit is clean."""
    script = """
import time
from devices_room import Loudness
from firststart.devices.mouth import SpeakingMouth, open_mouth
from firststart.devices.synth import VoiceOptions
notices = []
mouth = open_mouth(VoiceOptions(device="spk"), notices.append)
assert isinstance(mouth, SpeakingMouth), notices
room = Loudness("spk.monitor")
starts, stops = [], []
for turn in range(3):
    asked = time.monotonic()
    mouth.say(f"Crank five strokes when I count you in, {['one', 'two', 'three'][turn]}.")
    starts.append(room.when(lambda level: level > 100, asked) - asked)
    room.when(lambda level: level > 500, asked)
    cut = time.monotonic()
    mouth.silence()
    stops.append(room.quiet_from(cut) - cut)
    assert mouth.wait(1.0)
said = time.monotonic()
mouth.say("yes")
assert mouth.busy() and mouth.wait(5.0)
assert 0.2 < time.monotonic() - said < 4.5
room.close()
print(max(starts), max(stops), notices)   # and leave with the device open, as a careless caller would
"""
    with sound_server(tmp_path) as env:
        starts, stops, notices = run_script(script, env).split(" ", 2)

    assert float(starts) < 3.0  # that it comes and ends at all; how fast is for bench_voice.py, not for a busy machine
    assert float(stops) < 3.0
    assert notices.strip() == "[]"


def test_a_device_that_no_longer_asks_is_told_of_but_for_a_pause_at_the_beginning(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some systems take a second to begin; after that, and once it runs, one that asks for nothing stands still."""
    now = [100.0]
    monkeypatch.setattr("firststart.devices.loudspeaker.time.monotonic", lambda: now[0])
    speaker = _Bare()
    speaker._next(1)
    still = []
    for moment in (101.5, 103.0, 104.0):
        now[0] = moment
        still.append(speaker.still())
    for _ in range(10):
        speaker._next(1)
    still.append(speaker.still())
    other = _Bare()
    for _ in range(10):
        other._next(1)
    now[0] += 0.5

    assert [0.0, 3.0, 4.0, 0.0, 0.5] == [*still, other.still()]


@needs_sound_server
def test_a_player_or_a_sound_server_that_dies_costs_one_sentence_and_no_hang(tmp_path: Path) -> None:
    """A killed player is told once and the next prompt is heard; when the sound server goes away in the middle, the
    mouth is never busy for ever, tells no more, and closes."""
    script = """
import os, signal, time
from devices_room import Loudness
from firststart.devices.mouth import open_mouth
from firststart.devices.synth import VoiceOptions
notices = []
def wait_for(test):
    end = time.monotonic() + 10
    while not test() and time.monotonic() < end:
        time.sleep(0.01)
mouth = open_mouth(VoiceOptions(device="spk"), notices.append)
room = Loudness("spk.monitor")
asked = time.monotonic()
mouth.say("one two three four five six seven eight nine ten")
room.when(lambda level: level > 300, asked)
before = mouth._sink._life
os.kill(before.child.process.pid, signal.SIGKILL)
wait_for(lambda: mouth._sink._life not in (before, None) and notices)
print(len(notices), mouth.wait(10.0))
asked = time.monotonic()
mouth.say("still there")
room.when(lambda level: level > 300, asked)
mouth.silence()
assert mouth.wait(1.0)
mouth.say("one two three four five six seven eight nine ten")
time.sleep(0.3)
os.kill(int(os.environ["SOUND_SERVER_PID"]), signal.SIGKILL)
print(mouth.wait(10.0))
mouth.say("still there")
print(mouth.wait(1.0))
mouth.close()
print(notices)
"""
    with sound_server(tmp_path) as env:
        printed = run_script(script, env).splitlines()

    assert ["1 True", "True", "True"] == printed[:3]
    assert printed[3] == "['The loudspeaker no longer answers; the bench goes on by screen and keys.']"


@needs_sound_server
def test_a_loudspeaker_of_another_name_is_asked_for_in_vain(tmp_path: Path) -> None:
    """A device name that is not there gives the silent twin and the names that are."""
    script = """
from firststart.devices.mouth import open_mouth
from firststart.devices.synth import VoiceOptions
print(type(open_mouth(VoiceOptions(device="kitchen"), print)).__name__)
"""
    with sound_server(tmp_path) as env:
        printed = run_script(script, env).splitlines()

    assert "No voice: there is no loudspeaker called 'kitchen', but 'spk', 'garage'; " in printed[0]
    assert printed[1] == "SilentMouth"
