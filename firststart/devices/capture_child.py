"""A microphone alone in a process of its own, for a spoken note where there are no ears.

Out: first {"ready": true} or {"error": "..."}, then {"bytes": n} with n bytes of sound, a block at a time. The
arguments are one JSON object: device. It ends when its input ends.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from typing import BinaryIO

from firststart.devices.capture import Microphone
from firststart.devices.child import message

_WAIT = 0.25  # seconds for which a block is waited for


def main(arguments: str) -> None:
    """Serve until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # what a library prints must not reach the parent as an answer
    try:
        microphone = Microphone(json.loads(arguments).get("device"))
    except BaseException as error:  # whatever it is, the parent must hear of it
        out.write(message({"error": str(error).strip()[:300] or type(error).__name__}))
        os._exit(1)
    out.write(message({"ready": True}))
    threading.Thread(target=hand_over, args=(microphone, out), daemon=True).start()
    sys.stdin.buffer.read()
    microphone.close()
    os._exit(0)


def hand_over(microphone: Microphone, out: BinaryIO) -> None:
    """Each block as it comes; without a parent there is nothing left to do."""
    try:
        while microphone.working():
            block = microphone.block(_WAIT)
            if block is not None:
                out.write(message({}, block.astype("<i2").tobytes()))
    except OSError:
        os._exit(1)


if __name__ == "__main__":
    main(sys.argv[1])
