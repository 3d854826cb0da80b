"""The loudspeaker, on a private virtual sound card; its queue also without one."""

from __future__ import annotations

from array import array
from pathlib import Path

import pytest
from devices_voice_helpers import NO_SOUND_SERVER, WHY_NO_SOUND_SERVER, run_script, sound_server

from firststart.devices.player import Player
from firststart.devices.sound import Sound
from firststart.devices.soundcard import DeviceError, find_device, open_in_time, refuse_null

needs_sound_server = pytest.mark.skipif(NO_SOUND_SERVER, reason=WHY_NO_SOUND_SERVER)

class _Bare(Player):
    """The queue of the player without a device."""

    def __init__(self) -> None:
        import threading
        from collections import deque

        self.rate, self._waiting, self._lock = 22050, deque(), threading.Lock()
        self._last_sound = self._last_call = 0.0
        self._device = object()


def test_the_device_gets_what_waits_and_then_silence() -> None:
    """Sounds go out in order across the device's requests, and the rest of a request is silence."""
    player = _Bare()
    player.play(Sound(22050, array("h", [1, 2, 3])))
    player.play(Sound(22050, array("h", [4])))

    assert array("h", [1, 2]).tobytes() == player._next(2)
    assert array("h", [3, 4, 0, 0]).tobytes() == player._next(4)
    assert bytes(4) == player._next(2)


def test_clearing_drops_the_rest_of_a_sound() -> None:
    """After clear, the next request is silence."""
    player = _Bare()
    player.play(Sound(22050, array("h", [1] * 100)))
    player._next(10)
    player.clear()

    assert bytes(20) == player._next(10)


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
    import threading

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


@needs_sound_server
def test_a_sound_server_that_dies_costs_one_sentence_and_no_hang(tmp_path: Path) -> None:
    """When the loudspeaker goes away in the middle, the mouth says so once, is never busy for ever, and closes."""
    script = """
import os, signal, time
from firststart.devices.mouth import open_mouth
from firststart.devices.synth import VoiceOptions
notices = []
mouth = open_mouth(VoiceOptions(device="spk"), notices.append)
mouth.say("one two three four five six seven eight nine ten")
time.sleep(0.3)
os.kill(int(os.environ["SOUND_SERVER_PID"]), signal.SIGKILL)
assert mouth.wait(10.0)
mouth.say("still there")
end = time.monotonic() + 10
while not notices and time.monotonic() < end:
    time.sleep(0.01)
mouth.close()
print(notices)
"""
    with sound_server(tmp_path) as env:
        printed = run_script(script, env)

    assert printed.strip() == "['The loudspeaker no longer answers; the bench goes on by screen and keys.']"


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
