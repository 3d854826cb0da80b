"""A recorded first use: run with `python tests/cli/first_use.py [--write]`. Not collected as a test.

The real bench runs in a pseudo-terminal of 80 columns and 40 lines, in an empty home. A person who has never seen it
reads what is new on the screen at 238 words a minute (Brysbaert 2019, silent reading of English, from memory),
thinks for a second and types the answer. Printed: the seconds since the command was given, what was typed and what was
shown then, up to the first step of work; with `--write` also kept beside this file.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import pexpect
import pyte

COLUMNS, LINES = 80, 40
READ_S, THINK_S = 60 / 238, 1.0
HERE = Path(__file__).resolve().parent
RECORDING = HERE / "first_use.txt"
MOST = 60  # answers, after which something has gone wrong
PATIENCE_S = 60.0
ANSWERS = {  # what stands on the screen, and what is typed: a twin of the seventies whose papers are lost
    "Do you hear me": "", "What do you call": "green twin", "What kind of machine": "motorcycle",
    "petrol or diesel": "petrol", "four-stroke or a two-stroke": "four stroke", "How many cylinders": "two",
    "turned to start": "1", "makes the spark": "1", "fuel reach the engine": "1", "What cools it": "1",
    "How many volts": "12", "Which pole": "don't know", "separate oil tank": "1", "a neutral": "yes",
    "how many years": "eight years", "How did it stand": "1", "warm is the air": "12 degC",
    "above the sea": "don't know",
    "size of the whole engine": "360 cc", "figures at hand": "no", "Right?": "yes", "Shall we begin": "yes",
}  # fmt: skip
OFFER = "Shall we begin"


@dataclass(frozen=True)
class Moment:
    """One look at the screen, and what was typed there."""

    at: float
    shown: tuple[str, ...]
    typed: str | None


class Terminal:
    """The bench at the other end of a pseudo-terminal, and the screen as an emulator shows it."""

    def __init__(self, home: Path) -> None:
        environment = {**os.environ, "TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1"}
        self.began = time.monotonic()
        self.child = pexpect.spawn(
            sys.executable, ["-m", "firststart", "--home", str(home)], env=environment, dimensions=(LINES, COLUMNS),
            encoding="utf-8", timeout=30,
        )  # fmt: skip
        self.screen = pyte.HistoryScreen(COLUMNS, LINES, history=2000)
        self.stream = pyte.Stream(self.screen)

    def settle(self, quiet: float = 0.3) -> None:
        """Take in what comes until nothing has come for `quiet` seconds."""
        with contextlib.suppress(pexpect.TIMEOUT, pexpect.EOF):
            while True:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=quiet))

    @property
    def lines(self) -> list[str]:
        """All lines from the beginning on, those that have scrolled away first."""
        gone = ["".join(row[x].data for x in range(COLUMNS)) for row in self.screen.history.top]
        return [line.rstrip() for line in (*gone, *self.screen.display)]

    @property
    def at(self) -> float:
        return time.monotonic() - self.began


def use(terminal: Terminal) -> list[Moment]:
    """Answer until the second piece of work stands there, which is the first that is done at the engine."""
    moments: list[Moment] = []
    seen, offers = 0, 0
    while offers < 2 and len(moments) < MOST:
        new, seen = shown(terminal, seen)
        time.sleep(len(re.findall(r"[A-Za-z]{2,}", " ".join(new))) * READ_S + THINK_S)
        asked = "\n".join(new)
        typed = max(((asked.rfind(words), answer) for words, answer in ANSWERS.items()), default=(-1, ""))
        offers += OFFER in asked
        moments.append(Moment(terminal.at, new, typed[1] if typed[0] >= 0 else "don't know"))
        terminal.child.send(f"{moments[-1].typed}\r")
    new, _ = shown(terminal, seen)
    return [*moments, Moment(terminal.at, new, None)]


def shown(terminal: Terminal, seen: int) -> tuple[tuple[str, ...], int]:
    """What is new on the screen after its first `seen` lines once an answer is asked for, and how many there are."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        terminal.settle()
        lines = [line for line in terminal.lines if not line.startswith("holding: ")]
        while lines and not lines[-1]:
            lines.pop()
        if len(lines) > seen + 1 and lines[-1] == ">":
            return tuple(line for line in lines[seen:-1] if not line.startswith("> ")), len(lines) - 1
    raise SystemExit("The bench asks nothing:\n" + "\n".join(terminal.lines))


def told(moments: list[Moment]) -> str:
    """The recording as text."""
    out: list[str] = []
    for moment in moments:
        out += [line for line in moment.shown if line]
        if moment.typed is not None:
            out.append(f"{moment.at:6.1f} s  typed: {moment.typed or '(enter)'}")
    answers = len(moments) - 1
    out.append(f"{moments[-1].at:6.1f} s  the first step of work stands there, after {answers} answers")
    return "\n".join(out) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="keep the recording beside this file")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        terminal = Terminal(Path(folder))
        moments = use(terminal)
        terminal.child.close(force=True)
    print(told(moments), end="")
    if arguments.write:
        RECORDING.write_text(told(moments), encoding="utf-8")


if __name__ == "__main__":
    main()
