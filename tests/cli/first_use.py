"""A recorded first use: run with `python tests/cli/first_use.py [--write]`. Not collected as a test.

The real bench runs in a pseudo-terminal of 80 columns and 40 lines, in an empty home. A person who has never seen it
reads the welcome, each question and its answers down to the one that fits at 238 words a minute (Brysbaert 2019, silent
reading of English, from memory), thinks for a second and types it. Printed: the seconds since the command was given,
what was typed and what was shown then, up to the first step of work; with `--write` kept beside this file, with
pictures for the README.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pexpect
import pyte
from screen_picture import DARK, LIGHT, picture

COLUMNS, LINES = 80, 40
READ_S, THINK_S = 60 / 238, 1.0
HERE = Path(__file__).resolve().parent
RECORDING = HERE / "first_use.txt"
PICTURES = HERE.parent.parent / ".pictures"
MOST = 60  # answers, after which something has gone wrong
PATIENCE_S = 60.0
ANSWERS = {  # what stands on the screen, and what is typed: a twin of the seventies whose papers are lost
    "Do you hear me": "", "What do you call": "green twin", "What kind of machine": "motorcycle",
    "petrol or diesel": "petrol", "four-stroke or a two-stroke": "four stroke", "How many cylinders": "two",
    "turned to start": "1", "makes the spark": "1", "fuel reach the engine": "1", "What cools it": "1",
    "How many volts": "12", "Which pole": "don't know", "separate oil tank": "1", "a neutral": "yes",
    "how many years": "eight years", "How did it stand": "1", "warm is the air": "12 degC",
    "above the sea": "don't know",
    "size of the whole engine": "360 cc", "figures at hand": "no figures", "Right?": "yes", "Shall we begin": "yes",
}  # fmt: skip
OFFER = "Shall we begin"
DRAWN = "What kind of machine"


@dataclass(frozen=True)
class Moment:
    """One look at the screen, and what was typed there."""

    at: float
    shown: tuple[str, ...]
    typed: str | None


class Terminal:
    """The bench at the other end of a pseudo-terminal, and the screen as an emulator shows it."""

    def __init__(self, home: Path) -> None:
        environment = {**os.environ, "TERM": "xterm-256color"}
        self.began = time.monotonic()
        self.child = pexpect.spawn(
            sys.executable, ["-m", "firststart", "--home", str(home)], env=environment, dimensions=(LINES, COLUMNS),
            encoding="utf-8", timeout=30,
        )  # fmt: skip
        self.screen = pyte.HistoryScreen(COLUMNS, LINES, history=2000)
        self.screen.write_process_input = self.child.send  # a terminal answers where its cursor stands
        self.stream = pyte.Stream(self.screen)
        self.waited = 0.0  # seconds until the bench had drawn what it asks next

    def settle(self, seconds: float = 0.5) -> None:
        """Take in what comes for so long: the screen is drawn anew all the time, so it never falls silent."""
        end = time.monotonic() + seconds
        with contextlib.suppress(pexpect.TIMEOUT, pexpect.EOF):
            while time.monotonic() < end:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=seconds))

    @property
    def lines(self) -> list[str]:
        """All lines from the beginning on, those that have scrolled away first."""
        gone = ["".join(row[x].data for x in range(COLUMNS)) for row in self.screen.history.top]
        return [line.rstrip() for line in (*gone, *self.screen.display)]

    @property
    def at(self) -> float:
        return time.monotonic() - self.began


def use(terminal: Terminal, pictures: dict[str, str]) -> Iterator[Moment]:
    """Answer until the second piece of work stands there, which is the first that is done at the engine."""
    seen, offers = 0, 0
    for _ in range(MOST):
        if offers == 2:
            break
        new, seen = shown(terminal, seen)
        asked = "\n".join(line for line in new if "?" in line) or "\n".join(new)
        at, known = max((asked.rfind(words), answer) for words, answer in ANSWERS.items())
        typed = known if at >= 0 else "don't know"
        time.sleep(len(re.findall(r"[A-Za-z]{2,}", _read(new, typed))) * READ_S + THINK_S)
        offers += OFFER in asked
        if DRAWN in asked:
            pictures["question.svg"] = picture(terminal.screen, "A question at the bench, on a dark screen", DARK)
        moment = Moment(terminal.at, new, typed)
        terminal.child.send(f"{moment.typed}\r")
        yield moment
    new, _ = shown(terminal, seen)
    pictures["step.svg"] = picture(terminal.screen, "The first step of work, on a light screen", LIGHT)
    yield Moment(terminal.at, new, None)


def _read(new: tuple[str, ...], typed: str) -> str:
    """What a person reads: the question, and the answers down to the one that fits; all where none are offered."""
    if not any(line.startswith("[") for line in new):
        return " ".join(new)
    text = " ".join(line for line in new if "?" in line or line.startswith("["))
    found = text.find(f"[{typed}]" if typed.isdecimal() else f"] {typed}")
    return text if found < 0 else text[: text.find("[", found + 1)] if "[" in text[found + 1 :] else text


def shown(terminal: Terminal, seen: int) -> tuple[tuple[str, ...], int]:
    """What is new on the screen after its first `seen` lines once an answer is asked for, and how many there are."""
    began = time.monotonic()
    while time.monotonic() < began + PATIENCE_S:
        terminal.settle()
        lines = [line for line in terminal.lines if not line.startswith("holding: ")]
        while lines and not lines[-1]:
            lines.pop()
        if len(lines) > seen + 1 and lines[-1] == ">":
            terminal.waited += time.monotonic() - began
            return tuple(line for line in lines[seen:-1] if not line.startswith("> ")), len(lines) - 1
    raise SystemExit("The bench asks nothing:\n" + "\n".join(terminal.lines))


def told(moment: Moment) -> str:
    """One look at the screen, and what was typed, as lines of the recording."""
    typed = "the first step of work stands there" if moment.typed is None else f"typed: {moment.typed or '(enter)'}"
    return "\n".join([*(line for line in moment.shown if line), f"{moment.at:6.1f} s  {typed}"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true", help="keep the recording and its pictures")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        terminal = Terminal(Path(folder))
        pictures: dict[str, str] = {}
        lines = []
        for moment in use(terminal, pictures):
            lines.append(told(moment))
            print(lines[-1], flush=True)
        terminal.child.close(force=True)
        answering = terminal.at - terminal.waited
        load = os.getloadavg()[0]
        lines.append(f"{len(lines) - 1} answers: {answering:.1f} s of reading, thinking and typing; "
                     f"{terminal.waited:.1f} s until the bench had drawn the next (load {load:.1f})")  # fmt: skip
        print(lines[-1])
    if arguments.write:
        RECORDING.write_text("\n".join(lines) + "\n", encoding="utf-8")
        PICTURES.mkdir(exist_ok=True)
        for name, drawn in pictures.items():
            (PICTURES / name).write_text(drawn, encoding="utf-8")


if __name__ == "__main__":
    main()
