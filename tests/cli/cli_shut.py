"""Every way out of the machine shut, for the program and for every Python that it starts."""

from __future__ import annotations

import os
from pathlib import Path

# Python runs this before anything else: no address can be looked up, no socket made that reaches further than this
# process (its own pairs of unnamed ends are let through). What was tried is written down, should it be swallowed.
_BLOCK = """
import socket, sys
FAR = ("socket.bind", "socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto", "socket.sendmsg")
def watch(event, arguments):
    if event in FAR or (event == "socket.__new__" and arguments[1] != getattr(socket, "AF_UNIX", None)):
        with open(__file__ + ".tried", "a") as file:
            file.write(f"{event} {arguments[1:]!r}\\n")
        raise RuntimeError("no network here")
sys.addaudithook(watch)
"""


def shut(folder: Path) -> dict[str, str]:
    """The environment under which no process reaches the network; what it needs is put into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "sitecustomize.py").write_text(_BLOCK, encoding="utf-8")
    places = os.pathsep.join(filter(None, (str(folder), os.environ.get("PYTHONPATH"))))
    return {"PYTHONPATH": places, "PULSE_SERVER": "unix:/nonexistent"}


def tried(folder: Path) -> list[str]:
    """What was tried all the same, a line each."""
    found = folder / "sitecustomize.py.tried"
    return found.read_text(encoding="utf-8").splitlines() if found.is_file() else []
