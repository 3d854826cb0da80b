"""A whole interactive job through a real pseudo-terminal, from a new engine to its first crank and its record."""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from pathlib import Path

import pytest
from cli_record import facts_of
from cli_shut import shut, tried

from firststart.cli import main
from firststart.job import facts as f

pexpect = pytest.importorskip("pexpect")
BENCH = Path(__file__).resolve().parent / "fast_bench.py"
ANSI = re.compile(r"\x1b\[[0-9;?]*[a-zA-Z]|\x1b[()][A-Z0-9]|\x1b[=>]")
NEEDED = (
    "engine profile", "place", "fire", "ignition made dead", "turning over", "oil", "compression", "stop", "spark",
    "leak", "clear", "smell", "first", "runaway", "shut-down", "make",
)  # fmt: skip
ANSWERS = {  # an engine with little to it, so that the job is short
    "What kind of machine": "lawn mower",
    "petrol or diesel": "petrol",
    "four-stroke or a two-stroke": "two stroke",
    "How many cylinders": "1",
    "How is it started": "recoil",
}
MOST = 700


class Walker:
    """Somebody who gives the first answer offered, and leaves out what is not needed for the first crank."""

    def __init__(self, home: Path, *extra: str) -> None:
        environment = {
            **os.environ, **shut(home / "shut"), "TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1",
        }  # fmt: skip
        arguments = [str(BENCH), "--home", str(home), "--no-voice", "--no-ears", *extra]
        self.child = pexpect.spawn(
            sys.executable, arguments, env=environment, dimensions=(60, 120), encoding="utf-8", timeout=20
        )
        self.seen = ""

    def screen(self) -> str:
        """All that was shown since the last answer, once the screen has come to rest."""
        text, quiet = "", 0
        end = time.monotonic() + 15
        while time.monotonic() < end:
            try:
                text += self.child.read_nonblocking(20000, timeout=0.02)
                quiet = 0
            except pexpect.TIMEOUT:
                quiet += 1
            except pexpect.EOF:
                break
            if quiet and _answer_line(ANSI.sub("", text)):
                break
        self.seen = ANSI.sub("", text).replace("\r", "")
        return self.seen

    def answer(self) -> None:
        """The answer of the moment."""
        screen = self.screen()
        line = _answer_line(screen)
        words = next((said for question, said in ANSWERS.items() if question in screen), "")
        if "any key the moment" in line:
            words = ""
        elif "(at most" in line:
            words = "go"
        elif words:
            pass
        elif "cannot measure" in line:
            words = "cannot measure"
        elif "Next is" not in screen and _not_needed(screen):
            words = "leave it"
        elif "starter must rest" in screen:
            words = "wait"
        else:
            words = "1"
        self.child.send(f"{words}\r")


def _answer_line(screen: str) -> str:
    """The newest line that says what may be answered; what was typed and stands there again is none."""
    screen = re.sub(r"(?m)^>.*$", "", screen)
    lines = re.findall(r"(\[1\] .*|.*cannot measure|go  \(at most.*|any key the moment.*)", screen)
    return lines[-1] if lines else ""


def _not_needed(screen: str) -> bool:
    """Is this work one that the first crank can do without?"""
    place = re.findall(r"^([A-Z][^\n.?!:\[]{3,60})$", screen, re.MULTILINE)
    titles = [p for p in place if not p.isupper()]
    return bool(titles) and not any(word in titles[-1].lower() for word in NEEDED)


def test_a_whole_job_survives_a_kill_and_comes_to_its_first_crank(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """A new engine, killed with SIGKILL in the middle, carried on to a crank for starting and a report of it.

    All the while every way out of the machine is shut: the whole job tries none.
    """
    one = Walker(tmp_path, "--job", "green mower")
    for _ in range(60):
        one.answer()
    one.screen()
    one.child.kill(signal.SIGKILL)
    one.child.wait()
    one.child.close()
    before = facts_of(tmp_path, "green mower")
    two = Walker(tmp_path, "--job", "green mower")
    try:
        for _ in range(MOST):
            two.answer()
            facts = facts_of(tmp_path, "green mower")
            if any(isinstance(x, f.CrankEnded) and started(facts, x.run) for x in facts):
                break
    finally:
        two.child.close(force=True)
    after = facts_of(tmp_path, "green mower")

    assert [] == tried(tmp_path / "shut")
    assert before == after[: len(before)]
    assert any(isinstance(x, f.CrankEnded) and started(after, x.run) for x in after), two.seen[-1500:]
    assert 0 == main(["report", "--home", str(tmp_path), "--format", "text"])
    assert "First crank" in capfd.readouterr().out


def started(facts: tuple[f.Fact, ...], run: int) -> bool:
    """Is `run` the procedure of the first crank?"""
    return any(isinstance(x, f.RunStarted) and (x.run, x.procedure) == (run, "first-crank") for x in facts)
