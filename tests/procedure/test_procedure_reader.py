"""Strict YAML with line numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.errors import DataError
from firststart.procedure.reader import read

REFUSED = [
    ("a: 1\nb: 2\na: 3", 3, "stands twice"),
    ("a: &x 1\nb: *x", 1, "anchors"),
    ("a: [1", 2, "not YAML"),
    ("? [1]\n: 2", 1, "plain word"),
    ("a: !!python/object:os.system x", 1, "tag"),
    ("a: b: c", 1, "not YAML"),
    ("[" * 3000, 1, "nest"),
    ("a: " + "{a: " * 15 + "1" + "}" * 15, 1, "deep"),
]


def test_words_stay_words_and_numbers_are_numbers() -> None:
    """Only true and false are booleans; times, dates and yes stay text, as YAML 1.2's core schema has it."""
    text = "a: yes\nb: 12:30\nc: 2026-01-02\nd: true\ne: 010\nf: 1.5\ng: '12'\nh: off\ni: ~\n"

    assert read(text, "t.yaml").data == {
        "a": "yes", "b": "12:30", "c": "2026-01-02", "d": True, "e": 10, "f": 1.5, "g": "12", "h": "off", "i": None,
    }  # fmt: skip


def test_every_path_knows_its_line() -> None:
    """The place of a key inside lists and mappings is kept."""
    document = read("a:\n  - b: 1\n  - c:\n      d: 2\n", "t.yaml")

    assert document.line(("a", 1, "c", "d")) == 4
    assert document.line(("a", 1, "c", "d", "nothing", "here")) == 4


@pytest.mark.parametrize(("text", "line", "words"), REFUSED)
def test_what_could_mislead_is_refused_with_its_line(text: str, line: int, words: str) -> None:
    """Each refusal names file, line and fault."""
    with pytest.raises(DataError) as caught:
        read(text, "t.yaml")
    problem = caught.value.problems[0]

    assert ("t.yaml", line) == (problem.file, problem.line)
    assert words in problem.message


@given(st.text(max_size=200))
def test_no_text_crashes_the_reader(text: str) -> None:
    """Any text is read or refused with problems."""
    try:
        read(text, "t.yaml")
    except DataError as error:
        assert error.problems
