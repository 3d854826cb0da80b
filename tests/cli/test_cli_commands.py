"""The command line: what it prints, and one clear sentence with status 2 for a mistake."""

from __future__ import annotations

import errno
import io
import json
import sys
from pathlib import Path

import pytest

from firststart.cli import _COMMANDS, main

MISTAKES = [
    (["jobs"], "There is no record"),
    (["next", "nothing"], "There is no record"),
    (["reckon", "battry-rest"], "did you mean"),
    (["reckon", "compression"], "needs ratio"),
    (["reckon", "compression", "ratio=9"], "needs stroke"),
    (["reckon", "compression", "ratio"], "is not name=value"),
    (["reckon", "compression", "ratio=9:1", "stroke=80mm", "rod=12,6mm"], "comma"),
    (["reckon", "compression", "ratio=9**9**9**9", "stroke=80mm", "rod=135mm"], "not one plain number"),
    (["reckon", "compression", "ratio=9:1", "stroke=80", "rod=135mm"], "needs a unit"),
    (["reckon", "compression", "ratio=9:1", "stroke=80V", "rod=135mm"], "not a unit of length"),
    (["draw", "nothing-like-it"], "There is no procedure called"),
    (["rehearse", "no-such-scenario"], "There is no scenario called"),
    (["verify", "--procedures", "no-such-folder"], "there is no folder"),
    (["next", "\x1b[31mred"], "There is no record"),
]


@pytest.mark.parametrize(("arguments", "words"), MISTAKES, ids=[" ".join(m[0])[:40] for m in MISTAKES])
def test_a_mistake_is_told_in_one_sentence(
    arguments: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit status 2 and one line on the error stream that says what and what to do; no traceback."""
    status = main([*arguments, "--home", str(tmp_path / "none")])
    told = capsys.readouterr().err

    assert status == 2
    assert words in told
    assert len(told.strip().splitlines()) == 1


def test_reckon_shows_formula_source_and_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """One calculation comes with its formula and where it is from, as text and as JSON."""
    assert main(["reckon", "compression", "ratio=9:1", "stroke=80mm", "rod=135mm"]) == 0
    text = capsys.readouterr().out
    assert main(["reckon", "compression", "ratio=9:1", "stroke=80mm", "rod=135mm", "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)

    assert "formula:" in text
    assert "source:" in text
    assert told["answers"]


def test_reckon_list_gives_every_subject_a_formula_and_a_source(capsys: pytest.CaptureFixture[str]) -> None:
    """The list has as many formulas and sources as subjects."""
    assert main(["reckon", "--list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    subjects = [line for line in lines if line and not line.startswith(" ")]

    assert len(subjects) >= 40
    assert len(subjects) == sum(line.startswith("  formula:") for line in lines)
    assert len(subjects) == sum(line.startswith("  source:") for line in lines)


@pytest.mark.parametrize("command", sorted(_COMMANDS))
def test_every_command_has_help_with_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """--help of each command shows an example and --home."""
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    told = capsys.readouterr().out

    assert left.value.code == 0
    assert "Example: firststart" in told
    assert "--home" in told


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_a_completion_script_names_every_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The script is made from the parser itself; a shell that there is none for is told with those that there are."""
    with pytest.raises(SystemExit) as left:
        main(["--print-completion", shell])
    script = capsys.readouterr().out
    with pytest.raises(SystemExit) as refused:
        main(["--print-completion", "nosuch"])

    assert 0 == left.value.code
    assert [] == [name for name in _COMMANDS if name not in script]
    assert 2 == refused.value.code
    assert "no completion for 'nosuch'; name one of bash" in capsys.readouterr().err


class _Full(io.StringIO):
    """A place to print to whose disk is full."""

    def flush(self) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")


def test_printing_to_a_full_disk_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What was sent to a file on a full disk is told in one sentence; nobody takes the file for whole."""
    monkeypatch.setattr(sys, "stdout", _Full())
    status = main(["reckon", "--list"])

    assert 2 == status
    assert capsys.readouterr().err.startswith("firststart: not all could be printed (No space left on device)")


def test_a_name_that_the_system_does_not_take_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """A folder with a name of three hundred letters is a sentence."""
    status = main(["jobs", "--home", "b" * 300])

    assert 2 == status
    assert "cannot be used (" in capsys.readouterr().err


def test_an_error_shows_nothing_that_a_terminal_would_obey(capsys: pytest.CaptureFixture[str]) -> None:
    """Names from anywhere stand in errors without their control characters."""
    status = main(["draw", "\x1b[31mred"])
    told = capsys.readouterr().err

    assert 2 == status
    assert "\x1b" not in told
