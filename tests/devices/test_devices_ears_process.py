"""Ears in a process of their own: what goes between, and what happens when it hangs, dies or talks nonsense."""

from __future__ import annotations

import io
import json
import sys
import textwrap
import threading
import time
from array import array
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from devices_voice_helpers import lines, until

from firststart.devices.ears import EarOptions, Heard, Levels, ScriptedEars, Vocabulary, Zone
from firststart.devices.ears_child import EarsChild
from firststart.devices.ears_process import TOLD, ProcessEars
from firststart.devices.ears_words import heard_of, json_of, vocabulary_of
from firststart.devices.moonshine import EarsError
from firststart.devices.tape import Tape

ANSWERS = Vocabulary({"done": "done", "go back": "back", "stop": "stop"}, safety=frozenset({"stop"}), about="a step")
FULL = Vocabulary(
    {"two": "two"}, True, frozenset({"stop", "pause"}), ("p s i", "bar"), frozenset({"why"}), True, "pressure", "psi",
    1.0, 300.0, "a reading",
)  # fmt: skip
GONE, SILENT = "The ears stopped working", "The ears do not answer"
GOES_ON = "; the bench goes on by screen and keys."
AGAIN = "The ears hear again."

FAKE = """
import json, os, sys, threading, time
folder, on_listen, hello = {folder!r}, {on_listen!r}, {hello!r}
lock = threading.Lock()
def note(name, text):
    with open(os.path.join(folder, name), "a") as file:
        file.write(text + "\\n")
def tell(message, data=b""):
    with lock:
        sys.stdout.buffer.write(json.dumps(message).encode() + b"\\n" + data)
        sys.stdout.buffer.flush()
alive = threading.Event()
def beat():
    while not alive.wait(0.02):
        tell({{"beat": [-50.0, -20.0]}})
def nth():
    return len(open(os.path.join(folder, "starts.txt")).readlines())
note("starts.txt", "one")
exec(hello)
for line in sys.stdin:
    request = json.loads(line)
    note("requests.txt", request["do"] + " " + str(request.get("is", "")))
    if request["do"] == "start":
        threading.Thread(target=beat, daemon=True).start()
    if request["do"] == "listen":
        exec(on_listen)
"""
READY = "tell({'ready': True})"
HEARS = "tell({'heard': {'text': 'done', 'meaning': 'done', 'zone': 'accept'}, 'turn': request['turn']})"

Make = Callable[..., tuple[ProcessEars, list[str]]]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Ears with a process that does what a test says, closed when the test ends."""
    made: list[ProcessEars] = []

    def build(
        on_listen: str = "pass", hello: str = READY, busy: Callable[[], bool] = lambda: False, **times: float
    ) -> tuple[ProcessEars, list[str]]:
        program = tmp_path / "child.py"
        program.write_text(textwrap.dedent(FAKE).format(folder=str(tmp_path), on_listen=on_listen, hello=hello))
        notices: list[str] = []
        command = (sys.executable, str(program))
        made.append(ProcessEars(EarOptions(), notices.append, busy, command=command, **times))  # type: ignore[arg-type]
        made[-1].start()
        return made[-1], notices

    yield build
    for ears in made:
        ears.close()


def heard_by(ears: ProcessEars) -> Heard | None:
    found: list[Heard] = []
    until(lambda: (heard := ears.heard()) is not None and not found.append(heard), 3.0)
    return found[0] if found else None


@pytest.mark.parametrize("vocabulary", [ANSWERS, FULL, Vocabulary({})])
def test_a_vocabulary_goes_over_as_it_is(vocabulary: Vocabulary) -> None:
    """Through JSON and back nothing of it changes."""
    assert vocabulary == vocabulary_of(json.loads(json.dumps(json_of(vocabulary))))


def test_what_is_heard_comes_over_and_only_for_the_step_that_stands(make: Make) -> None:
    """An answer to the vocabulary before is dropped, one to this one is there at a poll, once."""
    ears, notices = make(f"request['turn'] -= 1\n{HEARS}\nrequest['turn'] += 1\n{HEARS.replace('done', 'back')}")
    ears.listen_for(ANSWERS)

    assert "back" == getattr(heard_by(ears), "meaning", None)
    assert ears.heard() is None
    assert [] == notices


def test_levels_tapes_and_cranks_come_over(make: Make, tmp_path: Path) -> None:
    """The loudness of the room, blocks for a spoken note and the sound around a crank, byte for byte."""
    sound = "array('h', range(512)).tobytes()"
    on_listen = f"from array import array\ntell({{'tape': 0.9, 'bytes': 1024}}, {sound})\n" \
                f"tell({{'cranked': True, 'bytes': 1024}}, {sound})"  # fmt: skip
    ears, _ = make(on_listen)
    tape = Tape()

    assert ears.record(tape)
    ears.listen_for(ANSWERS)
    assert until(lambda: tape.seconds > 0)
    assert array("h", range(512)).tobytes() == tape.samples()
    cranked: list[np.ndarray] = []
    assert until(lambda: (found := ears.cranked()) is not None and not cranked.append(found))
    assert list(range(512)) == cranked[0].tolist()
    assert until(lambda: ears.levels() == Levels(-50.0, -20.0))


def test_the_mouth_shuts_the_ears_over_there(make: Make, tmp_path: Path) -> None:
    """Whether the mouth speaks, and mute, are told as they change."""
    speaking: list[bool] = []
    ears, _ = make(busy=lambda: bool(speaking))
    speaking.append(True)
    assert until(lambda: "busy True" in lines(tmp_path / "requests.txt"))
    speaking.clear()
    ears.mute()

    assert until(lambda: {"busy False", "mute True"} <= set(lines(tmp_path / "requests.txt")))


FAILING = {
    "dies": ("os._exit(3)", GONE),
    "is killed": ("os.kill(os.getpid(), 9)", GONE),
    "talks nonsense": ("sys.stdout.buffer.write(b'not json\\n'); sys.stdout.buffer.flush()", GONE),
    "promises too much": ("tell({'bytes': 1 << 40})", GONE),
    "gives no sign of life": ("alive.set()", SILENT),
    "stops": ("alive.set(); time.sleep(60)", SILENT),
    "reads no more": ("alive.set(); os.close(0); time.sleep(60)", SILENT),
}


@pytest.mark.parametrize("how", FAILING)
def test_a_process_that_fails_is_told_once_within_a_second_and_replaced(how: str, make: Make, tmp_path: Path) -> None:
    """The bench is not kept waiting for a moment; the new process gets what the old one had been told, and hears."""
    fails, sentence = FAILING[how]
    ears, notices = make(f"if nth() == 1:\n    {fails}\nelse:\n    {HEARS}", replaced=1.5)
    ears.mute()
    began = time.monotonic()
    ears.listen_for(ANSWERS)
    for _ in range(300):  # more than a pipe holds
        ears.listen_for(ANSWERS)
    ears.heard()
    asked = time.monotonic() - began

    assert asked < 1.2, "so long the process would have held it up"
    assert until(lambda: bool(notices), 3.0)
    assert TOLD < 1.0
    assert time.monotonic() - began < 5.0, "a busy machine may add to it"
    assert sentence + GOES_ON == notices[0]
    assert until(lambda: len(notices) == 2, 8.0)
    assert AGAIN == notices[1]
    assert "done" == getattr(heard_by(ears), "meaning", None)
    assert until(lambda: lines(tmp_path / "requests.txt").count("mute True") == 2)


def test_ears_that_fail_again_and_again_stay_shut(make: Make, tmp_path: Path) -> None:
    """Three processes lost without a while of life, and the bench is left in peace: told once."""
    ears, notices = make("os._exit(3)")
    ears.listen_for(ANSWERS)

    assert until(lambda: len(lines(tmp_path / "starts.txt")) == 3 and ears._life is None, 30.0)
    assert GONE + GOES_ON == notices[0]
    assert {AGAIN} == set(notices[1:])  # one that dies before its first word never heard again
    assert not ears.record(Tape())
    ears.listen_for(ANSWERS)


def test_ears_closed_while_they_are_begun_anew_stay_closed(make: Make, tmp_path: Path) -> None:
    """The new process is ready only after the ears were closed: it is let go of, and nothing more is told."""
    gate = tmp_path / "gate"
    wait = f"while nth() == 2 and not os.path.exists({str(gate)!r}): time.sleep(0.005)"
    ears, notices = make("os._exit(3)", f"{wait}\n{READY}")
    ears.listen_for(ANSWERS)
    assert until(lambda: len(lines(tmp_path / "starts.txt")) == 2, 10.0)
    closing = threading.Thread(target=ears.close)
    closing.start()
    assert until(ears._closed.is_set)
    gate.touch()
    closing.join(timeout=10.0)

    assert until(lambda: ears._keeper is not None and not ears._keeper.is_alive())
    assert ears._life is None
    assert [GONE + GOES_ON] == notices


@pytest.mark.parametrize(
    ("hello", "reason"),
    [
        ("tell({'error': 'no microphone was found'}); sys.exit(1)", "no microphone was found"),
        ("sys.exit(1)", "did not start: its process ended"),
        ("time.sleep(60)", "did not start: it gave no answer for 0.3 seconds"),
    ],
)
def test_a_process_that_cannot_begin_says_why(hello: str, reason: str, make: Make) -> None:
    """No microphone, an end without a word, a start that never ends."""
    with pytest.raises(EarsError, match=reason):
        make(hello=hello, start=0.3 if "sleep" in hello else 10.0)


def test_an_interpreter_that_is_not_there_says_why() -> None:
    """A missing program is one clear reason."""
    with pytest.raises(EarsError, match="cannot be started"):
        ProcessEars(EarOptions(), print, lambda: False, command=("/nowhere/python",))


def test_closing_ends_the_process(make: Make) -> None:
    """Closed twice, the process is gone and nothing is told."""
    ears, notices = make()
    life = ears._life
    assert life is not None
    ears.close()
    ears.close()

    assert life.child.process.poll() is not None
    assert [] == notices


class Out(io.BytesIO):
    """What the process says, kept."""

    def told(self) -> list[dict[str, object]]:
        file, found = io.BytesIO(self.getvalue()), []
        for line in file:
            found.append(json.loads(line))
            file.read(found[-1].get("bytes", 0))
        return found


class Scripted(ScriptedEars):
    """Ears with a script, in the place of the microphone."""

    rounds = 0


def test_the_process_does_what_it_is_told() -> None:
    """Start, vocabulary, mute and tape reach its ears; what they hear goes out with its turn; a busy mouth is known."""
    out = Out()
    child = EarsChild(out)
    block = np.arange(512, dtype=np.int16)
    child.ears = Scripted([Heard("done", "done", Zone.ASK, words="done")], [(block, 0.5)])
    child.take({"do": "listen", "turn": 7, "vocabulary": json_of(ANSWERS)})
    child.take({"do": "busy", "is": True})
    child.take({"do": "record", "is": True})
    child.take({"do": "start"})

    assert child.busy()
    assert until(lambda: any("heard" in told for told in out.told()))
    told = next(told for told in out.told() if "heard" in told)
    assert 7 == told["turn"]
    assert Heard("done", "done", Zone.ASK, words="done") == heard_of(told["heard"])  # type: ignore[arg-type]
    assert any(told.get("tape") == 0.5 and told["bytes"] == 1024 for told in out.told())
    child.take({"do": "record", "is": False})
    child.take({"do": "mute", "is": True})
    child.ended.set()

    assert child.ears._muted
