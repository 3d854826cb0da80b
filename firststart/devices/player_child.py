"""The loudspeaker in a process of its own, which may hang or die without harm to the bench.

In, one JSON object a line: {"do": "play", "n": 1, "bytes": n} followed by n bytes of samples, and {"do": "clear"}.
Out: first {"ready": true} or {"error": "..."}; then {"done": n} when sound n and all before it were heard or dropped,
and {"beat": seconds} several times a second: for how long the device has not asked for samples.
The arguments are one JSON object: device, rate. It ends when its input ends.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from typing import Any, BinaryIO

from firststart.devices.child import message
from firststart.devices.loudspeaker import Loudspeaker

LOOK = 0.01
"""Seconds between looks at what was heard to its end."""

BEAT = 0.2
"""Seconds between signs of life."""


def main(arguments: str) -> None:
    """Serve until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # what a library prints must not reach the parent as an answer
    given = json.loads(arguments)
    try:
        speaker = Loudspeaker(int(given["rate"]), given.get("device"))
    except BaseException as error:  # whatever it is, the parent must hear of it
        out.write(message({"error": str(error).strip()[:300] or type(error).__name__}))
        os._exit(1)
    out.write(message({"ready": True}))
    threading.Thread(target=report, args=(speaker, out), daemon=True).start()
    serve(speaker, sys.stdin.buffer)
    speaker.close()
    os._exit(0)


def serve(speaker: Loudspeaker, source: BinaryIO) -> None:
    """Take requests until the input ends."""
    for line in source:
        request: dict[str, Any] = json.loads(line)
        if request["do"] == "clear":
            speaker.clear()
        else:
            speaker.play(int(request["n"]), source.read(int(request.get("bytes", 0))))


def report(speaker: Loudspeaker, out: BinaryIO) -> None:
    """Tell what is done, and that this process lives; without a parent there is nothing left to do."""
    done, beaten = 0, 0.0
    try:
        while True:
            now, new = time.monotonic(), speaker.done()
            if new > done:
                done = new
                out.write(message({"done": done}))
            if now - beaten >= BEAT:
                beaten = now
                out.write(message({"beat": round(speaker.still(), 2)}))
            time.sleep(LOOK)
    except OSError:
        os._exit(1)


if __name__ == "__main__":
    main(sys.argv[1])
