"""The bench in a real pseudo-terminal: led through work, killed with SIGKILL, carried on."""

from __future__ import annotations

import os
import re
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from cli_record import facts_of

from firststart.job import facts as f

pexpect = pytest.importorskip("pexpect")
ANSI = re.compile(r"\x1b\[[0-9;?]*[a-zA-Z]|\x1b[()][A-Z0-9]|\x1b[=>]")


class Person:
    """Somebody at the keys of a bench in a pseudo-terminal."""

    def __init__(self, home: Path, *extra: str) -> None:
        environment = {
            **os.environ,
            "TERM": "xterm-256color",
            "COLUMNS": "100",
            "LINES": "50",
            "PROMPT_TOOLKIT_NO_CPR": "1",
        }
        self.child = pexpect.spawn(
            sys.executable, ["-m", "firststart", "--home", str(home), "--no-voice", *extra], env=environment,
            dimensions=(50, 100), encoding="utf-8", timeout=30,
        )  # fmt: skip

    def sees(self, text: str) -> None:
        """Wait until `text` is on the screen (spaces and line breaks may differ)."""
        self.child.expect(r"(?:\s|\x1b\[[0-9;?]*[a-zA-Z])+".join(map(re.escape, text.split())))

    def types(self, text: str) -> None:
        self.child.send(text + "\r")

    def leaves(self) -> None:
        """Ctrl-D until the bench is gone; a key between two prompts is lost, as on any terminal."""
        for _ in range(20):
            self.child.sendcontrol("d")
            if self.child.expect([pexpect.EOF, pexpect.TIMEOUT], timeout=1) == 0:
                return
        raise AssertionError("the bench did not end")

    def kill(self) -> None:
        self.child.kill(signal.SIGKILL)
        self.child.wait()

    def close(self) -> None:
        self.child.close(force=True)


@pytest.fixture
def people(tmp_path: Path) -> Iterator[list[Person]]:
    made: list[Person] = []
    yield made
    for person in made:
        person.close()


def answers_of(home: Path, job: str) -> list[str]:
    return [x.event for x in facts_of(home, job) if isinstance(x, f.AnswerGiven)]


def test_a_job_killed_in_the_middle_is_exactly_where_it_was(tmp_path: Path, people: list[Person]) -> None:
    """After SIGKILL every answer is there, and the bench offers to carry on at the same question."""
    one = Person(tmp_path, "--job", "green twin")
    people.append(one)
    one.sees("Shall we begin?")
    one.types("something else")
    one.sees("Which work?")
    one.types("the place and the people")
    one.sees("Move the machine to the open air")
    one.types("open air")
    one.sees("Put out every flame")
    one.types("done")
    one.sees("level ground")
    one.kill()
    before = answers_of(tmp_path, "green twin")

    assert before == ["open", "done"]
    two = Person(tmp_path)
    people.append(two)
    two.sees("Carry on with green twin?")
    two.types("")
    two.sees("level ground")
    two.types("yes")
    two.sees("Send children")
    two.types("finish for today")
    two.sees("Everything is recorded")
    two.child.expect(pexpect.EOF)
    assert [*before, "yes"] == answers_of(tmp_path, "green twin")


def test_ctrl_c_is_stop_and_is_recorded(tmp_path: Path, people: list[Person]) -> None:
    """Ctrl-C stops the work, leads to making things safe, and does not end the program."""
    person = Person(tmp_path, "--job", "mower")
    people.append(person)
    person.sees("Shall we begin?")
    person.child.sendcontrol("c")
    person.sees("Turn the key off")
    person.leaves()

    assert any(isinstance(x, f.Stopped) for x in facts_of(tmp_path, "mower"))


def test_a_closed_terminal_loses_nothing(tmp_path: Path, people: list[Person]) -> None:
    """When the terminal goes away the answers given are there."""
    person = Person(tmp_path, "--job", "twin")
    people.append(person)
    person.sees("Shall we begin?")
    person.types("yes")
    person.sees("machine")
    person.child.close(force=True)

    assert any(isinstance(x, f.RunStarted) for x in facts_of(tmp_path, "twin"))


def test_without_a_voice_one_line_says_so(tmp_path: Path) -> None:
    """With no loudspeaker the bench says it in one line and goes on; no traceback, no hang."""
    child = pexpect.spawn(
        sys.executable, ["-m", "firststart", "--home", str(tmp_path), "--plain", "--job", "twin"],
        env={**os.environ, "PULSE_SERVER": "unix:/nonexistent", "XDG_RUNTIME_DIR": str(tmp_path)}, encoding="utf-8",
        timeout=30, echo=False,
    )  # fmt: skip
    child.expect("Shall we begin?")
    said = child.before
    child.sendline("finish for today")
    child.expect(pexpect.EOF)
    child.close()

    assert "Traceback" not in said + child.before
    assert child.exitstatus == 0
    if "No voice" in said:
        assert said.count("No voice") == 1


def test_a_pedal_leads_through_work_and_stops_it(tmp_path: Path, people: list[Person]) -> None:
    """One key alone begins work, answers, and held down is stop."""
    person = Person(tmp_path, "--job", "pump", "--pedal", "f9")
    people.append(person)
    f9 = "\x1b[20~"
    person.sees("Shall we begin?")
    person.child.send(f9)
    person.sees("What kind of machine")
    person.child.send(f9)
    person.sees("motorcycle")
    for _ in range(8):
        person.child.send(f9)
    person.sees("Turn the key off")
    person.leaves()
    facts = facts_of(tmp_path, "pump")

    assert ["pedal"] == [x.channel for x in facts if isinstance(x, f.Stopped)]
