"""The microphone and the recogniser in a process of their own, which may hang or die without harm to the bench.

Why a process: sound libraries and the arithmetic of the recogniser are foreign code. A fault in it ends its process
whatever Python does, and a call into it that does not return cannot be broken off.

In, one JSON object a line: {"do": "start"}, {"do": "listen", "turn": n, "vocabulary": {...}}, {"do": "busy", "is":
true}, {"do": "mute", "is": true}, {"do": "record", "is": true}. Out: first {"ready": true} or {"error": "..."}; then
{"heard": {...}, "turn": n}, {"notice": "..."}, {"tape": chance, "bytes": n} and {"cranked": true, "bytes": n} with n
bytes of sound; and {"beat": [noise, speech]} several times a second, as long as sound is taken and understood.
The arguments are one JSON object: device. It ends when its input ends.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from dataclasses import asdict
from typing import Any, BinaryIO

from firststart.devices.ears import EarOptions, Vocabulary
from firststart.devices.ears_words import vocabulary_of
from firststart.devices.endpoint import Block
from firststart.devices.tape import Tape

_LOOK = 0.01  # seconds between looks for something heard
_BEAT = 0.2  # seconds between signs of life


def main(arguments: str) -> None:
    """Serve until the input ends, then leave without running any clean-up of the libraries."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # what a library prints must not reach the parent as an answer
    child = EarsChild(out)
    try:
        child.open(json.loads(arguments).get("device"))
    except ImportError as error:
        child.tell({"error": f"the package {error.name or 'numpy'} is not installed"})
        os._exit(1)
    except BaseException as error:  # whatever it is, the parent must hear of it
        child.tell({"error": str(error).strip()[:300] or type(error).__name__})
        os._exit(1)
    child.tell({"ready": True})
    for line in sys.stdin.buffer:
        child.take(json.loads(line))
    os._exit(0)


class EarsChild:
    """The ears of this process, and what goes between them and the parent."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._sending, self._turning = threading.Lock(), threading.Lock()
        self._turn, self._busy = 0, False
        self.ended = threading.Event()
        self.ears: Any = None

    def open(self, device: str | None) -> None:
        """Load the recogniser and open the microphone. Raises EarsError, DeviceError, ImportError."""
        from firststart.devices.listener import MicrophoneEars

        self.ears = MicrophoneEars.open(EarOptions(device), lambda text: self.tell({"notice": text}), self.busy)

    def busy(self) -> bool:
        """Does the parent's mouth speak?"""
        return self._busy

    def take(self, request: dict[str, Any]) -> None:
        """One request of the parent's."""
        match request["do"]:
            case "start":
                self.ears.start()
                threading.Thread(target=self._look, daemon=True).start()
            case "listen":
                self._listen(vocabulary_of(request["vocabulary"]), int(request["turn"]))
            case "busy":
                self._busy = bool(request["is"])
            case "mute":
                (self.ears.mute if request["is"] else self.ears.unmute)()
            case "record":
                self.ears.record(_Wire(self) if request["is"] else None)

    def tell(self, message: dict[str, Any], data: bytes = b"") -> None:
        """One message to the parent; without a parent there is nothing left to do."""
        sized = {**message, "bytes": len(data)} if data else message
        try:
            with self._sending:
                self._out.write(json.dumps(sized).encode() + b"\n" + data)
        except OSError:
            os._exit(1)

    def _listen(self, vocabulary: Vocabulary, turn: int) -> None:
        with self._turning:
            self.ears.listen_for(vocabulary)
            self._turn = turn

    def _look(self) -> None:
        """What was heard goes out with the turn it belongs to, and a sign of life while the ears do their work."""
        rounds, beaten = -1, 0.0
        while not self.ended.wait(_LOOK):
            with self._turning:
                heard, turn = self.ears.heard(), self._turn
            if heard is not None:
                self.tell({"heard": {**asdict(heard), "zone": heard.zone.value}, "turn": turn})
            sound = self.ears.cranked()
            if sound is not None:
                self.tell({"cranked": True}, sound.astype("<i2").tobytes())
            now = time.monotonic()
            if self.ears.rounds != rounds and now - beaten >= _BEAT:
                rounds, beaten = self.ears.rounds, now
                levels = self.ears.levels()
                self.tell({"beat": [levels.noise, levels.speech]})


class _Wire(Tape):
    """A tape whose other end is in the parent."""

    def __init__(self, child: EarsChild) -> None:
        super().__init__()
        self._child = child

    def add(self, block: Block, chance: float | None) -> None:
        self._child.tell({"tape": chance}, block.astype("<i2").tobytes())


if __name__ == "__main__":
    main(sys.argv[1])
