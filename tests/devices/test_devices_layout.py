"""How prompts look."""

from __future__ import annotations

import pytest

from firststart.devices.layout import answers, block, large, plain_lines, toolbar
from firststart.procedure.model import Note
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt

MANY = Expectation("choice", tuple(Option(str(n), (f"answer number {n}",)) for n in range(9)))
PROMPT = Prompt(
    "Put out every flame near the machine.", "no flames", MANY,
    cautions=(Note(signal="WARNING", text="Petrol vapour explodes."),), info="More of it.", place="The place",
)  # fmt: skip


@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
def test_nothing_is_wider_than_the_terminal(width: int) -> None:
    """From 40 columns to 200 every line fits."""
    text = "".join(part for _, part in block(PROMPT, width, big=True))

    assert [line for line in text.splitlines() if len(line) > width] == []


def test_answers_are_not_broken_inside() -> None:
    """A line ends between answers, never inside one."""
    lines = answers(MANY, 40).splitlines()

    assert sum(line.count("[") for line in lines) == 9
    assert all(line.startswith("[") for line in lines)


def test_the_caution_comes_before_the_action_with_its_word() -> None:
    """The signal word stands as text, so that colour is never the only sign, and before the action."""
    text = "".join(part for _, part in block(PROMPT, 80, big=False))
    lines = plain_lines(PROMPT)

    assert text.index("WARNING") < text.index("Put out")
    assert lines[0] == "WARNING: Petrol vapour explodes."


def test_large_letters_are_five_lines_high() -> None:
    """A short word is drawn in block letters, narrower ones on a narrow screen; one that does not fit is spelt."""
    assert len(large("fuel", 80).splitlines()) == len(large("fuel", 20).splitlines()) == 5
    assert large("fuel", 80) != large("fuel", 20)
    assert large("fuel", 12) == "F U E L"
    assert large("the fuel", 80) == large("fuel", 80)
    assert large("extinguishers everywhere always", 40) == "EXTINGUISHERS EVERYWHERE ALWAYS"


def test_what_is_left_stands_in_large_figures_above_the_status() -> None:
    """A figure is drawn large; the line below stays one line, with what holds counted where it is narrow."""
    status = "9:41\nholding: fire readiness, neutral, no flames | starter rests 10 minutes"
    wide, narrow = toolbar(status, 80), toolbar(status, 44)

    heights = [(style, len(text.strip().splitlines())) for style, text in wide]

    assert [("class:figure", 5), ("class:status", 1)] == heights
    assert narrow[-1] == ("class:status", "holding: 3 | starter rests 10 minutes")
    assert [("class:status", "holding: nothing yet")] == toolbar("holding: nothing yet", 40)
