"""The stage in a terminal that answers for itself."""

from __future__ import annotations

import time

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from firststart.devices.stage import Event, TerminalStage
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
