"""Opening a job at a real terminal, measured: to its first prompt drawn, and the modules that were loaded by then.

Of the libraries a job uses there are two counts, and both are read off, not listed by hand: what is loaded when the
first prompt stands, and what is loaded when some dozens of answers were given (units, letters, the diagnosis come
late). The bare import is that of the very modules, in a fresh process; libraries that happen to lie about and that the
project does not ask for (some libraries look for others) are not among them. Times are the processor's, the least of
several.
"""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

RUNS = 7
_BENCH = """
import json, os, sys, time
base = set(sys.modules)
home, told, limit = sys.argv[1], sys.argv[2], int(sys.argv[3])
sys.argv = ["firststart", "--home", home, "--job", "long", "--no-voice", "--no-ears"]
import firststart.devices.stage as stage
shown = stage.TerminalStage.next_event
def next_event(self, prompt, status, poll, count=[0]):
    offered = prompt.expects.offered() or ("done",)
    if count[0] == limit:
        shown(self, prompt, status, lambda: stage.Event("gone"))
        used = time.process_time()
        names = [n for n, m in list(sys.modules.items()) if n not in base and getattr(m, "__spec__", None)]
        with open(told, "w") as file:
            json.dump([used, [n for n in names if n.split(".")[0] != "firststart"]], file)
        os._exit(0)
    count[0] += 1
    shown(self, prompt, status, lambda: stage.Event("gone"))
    return stage.Event("typed", offered[0])
stage.TerminalStage.next_event = next_event
from firststart.cli import main
main()
"""
_BARE = """
import importlib, json, sys, time
for name in json.load(open(sys.argv[1])):
    try:
        importlib.import_module(name)
    except ImportError:
        pass
print(time.process_time())
"""


def opened(home: Path, answers: int = 0, runs: int = RUNS) -> tuple[float, tuple[str, ...]]:
    """Seconds of the processor until a prompt is drawn, the first or the one after some answers, and the modules."""
    told = home / "told.json"
    found = [_once(home, told, answers) for _ in range(runs)]
    known = sys.stdlib_module_names | _asked_for()
    return min(seconds for seconds, _ in found), tuple(n for n in found[-1][1] if n.split(".")[0] in known)


def _once(home: Path, told: Path, answers: int) -> tuple[float, list[str]]:
    child, screen = pty.fork()
    if child == 0:
        os.environ.update(TERM="xterm-256color", PROMPT_TOOLKIT_NO_CPR="1")
        os.execv(sys.executable, [sys.executable, "-c", _BENCH, str(home), str(told), str(answers)])
    try:
        while os.read(screen, 65536):
            pass
    except OSError:  # the other end is closed
        pass
    os.close(screen)
    os.waitpid(child, 0)
    seconds, names = json.loads(told.read_text(encoding="utf-8"))
    told.unlink()
    return seconds, names


def bare(home: Path, names: tuple[str, ...]) -> float:
    """Seconds of the processor to import these modules and nothing else."""
    listed = home / "names.json"
    listed.write_text(json.dumps(names), encoding="utf-8")
    command = [sys.executable, "-c", _BARE, str(listed)]
    return min(float(subprocess.run(command, check=True, capture_output=True).stdout) for _ in range(RUNS))


def _asked_for() -> set[str]:
    """The modules of the libraries that the project needs to run, and of those that they need."""
    left, found = ["firststart"], set[str]()
    while left:
        name = canonicalize_name(left.pop())
        if name not in found:
            found.add(name)
            needs = (Requirement(text) for text in metadata.requires(name) or ())
            left += [r.name for r in needs if r.marker is None or r.marker.evaluate({"extra": ""})]
    every = metadata.packages_distributions().items()
    return {module for module, owners in every if found & {canonicalize_name(owner) for owner in owners}}


def libraries(names: tuple[str, ...]) -> str:
    """The libraries among modules: third parties', and SQLite."""
    tops = {name.split(".")[0] for name in names}
    return ", ".join(sorted(n for n in tops if n == "sqlite3" or (n not in sys.stdlib_module_names and n[0] != "_")))
