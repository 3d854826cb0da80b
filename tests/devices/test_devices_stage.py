"""The stage in a terminal that answers for itself."""

from __future__ import annotations

import io
import time

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from firststart.devices.stage import Event, PlainStage, TerminalStage, open_stage
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt

TURNING = Prompt("It turns.", "crank", Expectation("turning", (Option("release", ("stop",)),), high=5))
CURSOR = "\x1b[5;1R"


@pytest.mark.parametrize(("typed", "event"), [(CURSOR, Event("tick")), (f"{CURSOR} ", Event("typed", "stop"))])
def test_only_a_key_of_the_person_ends_a_crank(typed: str, event: Event) -> None:
    """A terminal that tells where its cursor stands has not let go of the starter; the space bar has."""
    began = time.monotonic()
    with create_pipe_input() as keys, create_app_session(input=keys, output=DummyOutput()):
        keys.send_text(typed)
        late = TerminalStage().next_event(
            TURNING, lambda: "", lambda: Event("tick") if time.monotonic() - began > 0.6 else None
        )

    assert event == late


class Tty(io.StringIO):
    """A file that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_dumb_terminal_gets_plain_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """A serial line that says of itself that it is simple is believed."""
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr("sys.stdin", Tty())
    monkeypatch.setattr("sys.stdout", Tty())

    assert isinstance(open_stage(plain=False, colour=True), PlainStage)


def test_bytes_that_are_no_text_end_no_plain_bench() -> None:
    """A line of rubbish is handed out as such, what comes after it is read, and the end is the end."""
    source = io.TextIOWrapper(io.BytesIO(b"\xff\xfe\nyes\n"), encoding="utf-8", errors="strict")
    stage = PlainStage(source, io.StringIO())
    events = [stage.next_event(TURNING, lambda: "", lambda: None) for _ in range(3)]

    assert [Event("typed", "\ufffd\ufffd"), Event("typed", "yes"), Event("gone")] == events
