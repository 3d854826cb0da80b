"""A microphone of its own for a spoken note, in a process that may fail."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import numpy as np
import pytest
from devices_voice_helpers import until

from firststart.devices.capture_child import hand_over
from firststart.devices.endpoint import BLOCK, Block
from firststart.devices.soundcard import DeviceError
from firststart.devices.tape import ProcessMicrophone, Recorder, Tape

READY = "tell({'ready': True})"
SOUND = "for n in range(3): tell({'bytes': 1024}, bytes([n, 0]) * 512)"


def _microphone(folder: Path, does: str, start: float = 10.0) -> ProcessMicrophone:
    """A microphone whose process does this and then waits for its end."""
    program = folder / "child.py"
    program.write_text(
        "import json, os, sys, time\n"
        "def tell(message, data=b''):\n"
        "    sys.stdout.buffer.write(json.dumps(message).encode() + b'\\n' + data)\n"
        "    sys.stdout.buffer.flush()\n"
        f"{does}\nsys.stdin.read()\n"
    )
    return ProcessMicrophone(command=(sys.executable, "-S", "-E", str(program)), start=start)


def test_blocks_come_over_as_they_were_heard(tmp_path: Path) -> None:
    """In order and byte for byte; then nothing, and its process ends with it."""
    microphone = _microphone(tmp_path, f"{READY}\n{SOUND}")
    blocks = [microphone.block(5.0) for _ in range(3)]
    nothing = microphone.block(0.01)
    microphone.close()
    microphone.close()

    assert [(BLOCK, 0), (BLOCK, 1), (BLOCK, 2)] == [(len(b), int(b[0])) for b in blocks if b is not None]
    assert nothing is None
    assert microphone._child.process.poll() is not None


@pytest.mark.parametrize("fails", ["os._exit(3)", "sys.stdout.write('not json\\n'); sys.stdout.flush()", "pass"])
def test_a_note_ends_by_itself_when_its_microphone_fails(fails: str, tmp_path: Path) -> None:
    """A process that dies, talks nonsense or hears no more leaves silence on the tape, and silence ends it."""
    tape = Tape(first=0.4, silent=0.4)
    recorder = Recorder(tape, _microphone(tmp_path, f"{READY}\n{SOUND}\n{fails}"), lambda: False)

    assert until(lambda: tape.over)
    recorder.close()


@pytest.mark.parametrize(
    ("does", "reason"),
    [
        ("tell({'error': 'no microphone was found'})", "no microphone was found"),
        ("tell({'oh': 1})", "talks nonsense"),
        ("os._exit(1)", "did not start: its process ended"),
        ("time.sleep(60)", "did not start: it gave no answer for 0.2 seconds"),
    ],
)
def test_a_microphone_that_cannot_be_opened_says_why(does: str, reason: str, tmp_path: Path) -> None:
    """None there, nonsense, an end without a word, a start that never ends; and a program that is not there."""
    with pytest.raises(DeviceError, match=reason):
        _microphone(tmp_path, does, 0.2 if "sleep" in does else 10.0)
    with pytest.raises(DeviceError, match="cannot be started"):
        ProcessMicrophone(command=("/nowhere/python",))


class Ending:
    """A microphone that hears two blocks and then works no more."""

    def __init__(self) -> None:
        self.left: list[Block | None] = [np.full(BLOCK, 5, np.int16), None, np.full(BLOCK, 6, np.int16)]

    def working(self) -> bool:
        return bool(self.left)

    def block(self, timeout: float) -> Block | None:
        return self.left.pop(0)


def test_what_the_microphone_hears_is_handed_over() -> None:
    """Each block as a message, until the microphone works no more."""
    out = io.BytesIO()
    hand_over(Ending(), out)  # type: ignore[arg-type]
    first, second = out.getvalue().split(b"\n", 1)[0], out.getvalue()

    assert {"bytes": 2 * BLOCK} == json.loads(first)
    assert 2 == second.count(b'{"bytes": 1024}\n')
