"""Long runs: `python tests/fuzz/fuzz.py [TARGET...] --minutes 10`. Not collected as a test.

Coverage-guided by atheris (libFuzzer) where it is installed; else random bytes and changes of those that took a new
path by their outcome. Each target runs in a process of its own. Printed: the processor's minutes, inputs tried, the
edges of our code that they reached, the longest in seconds of processor time, the most memory held, and each crash
once with its smallest input found; 1 when there is any, or when more than 400 MB were held.
"""

from __future__ import annotations

import argparse
import contextlib
import inspect
import json
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from random import Random
from typing import Any

MOST = 400  # bytes of an input
MOST_MB = 400  # that a process may hold: its libraries take 90, the rest is what the inputs made it hold
ARRAYS = "firststart.devices.cranking_sound"


class Watch:
    """What one run saw. Crashes are told apart by the last lines of ours they came from."""

    def __init__(self, do: Callable[[bytes], None], end: float, out: Path) -> None:
        self.do, self.end, self.out = do, end, out
        self.tried, self.longest, self.crashes = 0, 0.0, dict[str, tuple[str, bytes]]()

    def one(self, data: bytes) -> str:
        """Run one input; the outcome in a word. Ends the process when the time is up."""
        from fuzz_guard import guarded

        if time.monotonic() > self.end:
            self.close()
        self.tried += 1
        try:
            self.longest = max(self.longest, guarded(self.do, data))
        except KeyboardInterrupt:
            self.close()
        except BaseException as error:
            place = _place(error)
            if place not in self.crashes or len(data) < len(self.crashes[place][1]):
                self.crashes[place] = (f"{type(error).__name__}: {str(error)[:200]}", data)
            return place
        return "fine"

    def close(self) -> None:
        from fuzz_guard import FOLDER

        shutil.rmtree(FOLDER, ignore_errors=True)
        told = {
            "tried": self.tried,
            "minutes": time.process_time() / 60,
            "longest": round(self.longest, 3),
            "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
            "crashes": {place: [said, data.hex()] for place, (said, data) in self.crashes.items()},
        }
        self.out.write_text(json.dumps(told), encoding="utf-8")
        os._exit(0)


def _place(error: BaseException) -> str:
    """Where it happened: the innermost line of the package."""
    frames = [x for x in traceback.extract_tb(error.__traceback__) if "firststart" in x.filename]
    inside = [x for x in frames if "/fuzz/" not in x.filename] or frames
    if not inside:
        return f"{type(error).__name__} outside"
    last = inside[-1]
    return f"{type(error).__name__} {Path(last.filename).parent.name}/{Path(last.filename).name}:{last.lineno}"


def run_guided(name: str, minutes: float, out: Path) -> None:
    """With atheris: it sees which lines of the package an input reaches."""
    import atheris

    with atheris.instrument_imports(include=["firststart"], exclude=[ARRAYS]):
        from fuzz_guard import FOLDER
        from fuzz_targets import TARGETS
    _cover_arrays()
    watch = _watch(TARGETS[name].do, minutes, out)
    corpus = tempfile.mkdtemp(prefix="corpus-", dir=FOLDER)
    r = Random(name)
    for number in range(40):
        (Path(corpus) / str(number)).write_bytes(r.randbytes(r.randrange(2, 200)))
    options = [f"-max_len={MOST}", "-timeout=120", "-rss_limit_mb=2000", "-print_final_stats=0"]
    atheris.Setup([sys.argv[0], *options, corpus], lambda data: watch.one(data) and None)
    atheris.Fuzz()


def _cover_arrays() -> None:
    """Coverage of the code that compares arrays, without its comparisons: atheris 3.0.0 never frees what they give.

    Seen by comparing one array of 8,000 numbers 5,000 times: 8 kB more are held after each, none without atheris.
    """
    from atheris.instrument_bytecode import patch_code

    for function in vars(sys.modules[ARRAYS]).values():
        if inspect.isfunction(function) and function.__module__ == ARRAYS:
            function.__code__ = patch_code(function.__code__, trace_dataflow=False, nested=True)


def run_blind(name: str, minutes: float, out: Path) -> None:
    """Without it: random bytes, and changes of those whose outcome was new."""
    from fuzz_targets import TARGETS

    watch = _watch(TARGETS[name].do, minutes, out)
    r, kept, seen = Random(name), [b""], set[str]()
    while True:
        data = bytearray(r.choice(kept) if r.random() < 0.5 else r.randbytes(r.randrange(MOST)))
        for _ in range(r.randrange(4)):
            data[r.randrange(len(data) + 1) :][:1] = bytes([r.randrange(256)])
        outcome = watch.one(bytes(data))
        if outcome not in seen:
            seen.add(outcome)
            kept.append(bytes(data))


def _watch(do: Callable[[bytes], None], minutes: float, out: Path) -> Watch:
    from fuzz_guard import warm

    warm(do)
    return Watch(do, time.monotonic() + minutes * 60, out)


def run_in_process(name: str, minutes: float, blind: bool) -> dict[str, Any]:
    """One target in a process of its own, and what it told."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "told.json"
        command = [sys.executable, __file__, name, "--minutes", str(minutes), "--into", str(out)]
        done = subprocess.run([*command, *(["--blind"] if blind else [])], capture_output=True, text=True, check=False)
        with contextlib.suppress(OSError, ValueError):
            told: dict[str, Any] = json.loads(out.read_text(encoding="utf-8"))
            edges = re.findall(r"\bcov: (\d+)", done.stderr)  # libFuzzer's lines of progress
            return {**told, "edges": int(edges[-1]) if edges else 0}
        crash = {"the fuzzer itself ended": [done.stderr[-1500:], ""]}
        return {"tried": 0, "minutes": 0.0, "edges": 0, "longest": 0.0, "memory": 0, "crashes": crash}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("target", nargs="*")
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--blind", action="store_true", help="without atheris")
    parser.add_argument("--into", type=Path, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    blind = arguments.blind or find_spec("atheris") is None
    if arguments.into is not None:
        (run_blind if blind else run_guided)(arguments.target[0], arguments.minutes, arguments.into)
    from fuzz_targets import TARGETS

    print(f"{'by outcome' if blind else 'by coverage (atheris)'}, {arguments.minutes:g} minutes each")
    print(f"{'target':<14}{'processor':>10}{'inputs':>11}{'edges':>8}{'longest s':>11}{'memory MB':>11}{'crashes':>9}")
    bad = 0
    for name in arguments.target or TARGETS:
        told = run_in_process(name, arguments.minutes, blind)
        if told["memory"] > MOST_MB:
            told["crashes"]["memory"] = [f"{told['memory']} MB held, and {MOST_MB} are the bound", ""]
        bad += len(told["crashes"])
        print(
            f"{name:<14}{told['minutes']:>6.1f} min{told['tried']:>11,}{told['edges']:>8,}{told['longest']:>11.3f}"
            f"{told['memory']:>11,}{len(told['crashes']):>9}",
            flush=True,
        )
        for place, (said, data) in told["crashes"].items():
            print(f"    {place}: {said}\n      smallest input (hex): {data}", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
