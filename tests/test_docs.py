"""The documents agree with the code."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

import firststart
from firststart.cli import _COMMANDS, main
from firststart.procedure.library import Library
from firststart.procedure.model import SIGNALS, Procedure
from firststart.procedure.reader import read
from firststart.prompt.expect import GENERAL

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_readme_is_short_and_opens_with_the_job() -> None:
    """The job in one paragraph comes first, and the whole is under 250 lines."""
    assert README.splitlines()[2].startswith("**The job.**")
    assert 250 > len(README.splitlines())


@pytest.mark.parametrize("command", sorted(_COMMANDS))
def test_every_command_is_documented(command: str) -> None:
    """Each command of the program stands in the README's table."""
    assert f"`firststart {command}" in README


def test_every_general_word_is_documented() -> None:
    """The words that are always understood are named in the README."""
    named = {"listen", "sleep"}  # told by the tool itself when they matter
    missing = [n for n, phrases in GENERAL.items() if n not in named and not any(p in README.lower() for p in phrases)]

    assert [] == missing


def test_the_examples_of_reckon_work(capsys: pytest.CaptureFixture[str]) -> None:
    """Every example line of the README that reckons gives an answer."""
    lines = re.findall(r"^firststart (reckon .*)$", README, re.MULTILINE)

    assert 2 <= len(lines)
    assert [0] * len(lines) == [main(shlex.split(line)) for line in lines]


def test_the_drawing_is_the_one_in_the_code() -> None:
    """DEVELOPERS.md and the package's docstring show the same drawing."""
    drawn = [line.strip() for line in (firststart.__doc__ or "").splitlines() if line.startswith("     ")]
    inside = [line.strip() for line in DEVELOPERS.splitlines()]

    assert [] == [line for line in drawn if line not in inside]


def test_every_room_is_described() -> None:
    """Each package and module of the top level stands in the table of rooms."""
    rooms = [p.name for p in (ROOT / "firststart").iterdir() if (p / "__init__.py").is_file() or p.suffix == ".py"]
    missing = [r for r in rooms if not r.startswith("__") and f"`{r.removesuffix('.py')}" not in DEVELOPERS]

    assert [] == missing


def test_the_example_procedure_is_whole(library: Library) -> None:
    """The smallest procedure of DEVELOPERS.md is a procedure, in a stage that exists."""
    text = re.search(r"```yaml\n(id: .*?)```", DEVELOPERS, re.DOTALL)
    assert text is not None
    procedure = Procedure.model_validate(read(text[1], "example").data)

    assert procedure.stage in library.stages


def test_only_the_signal_words_of_the_standard_appear(library: Library) -> None:
    """Every caution carries one of the four signal words."""
    notes = [n for p in library.procedures.values() for s in p.steps.values() for n in s.note]
    notes += [n for h in library.safety.hazards.values() for n in h.cautions]

    assert {n.signal for n in notes} <= set(SIGNALS)
    assert 20 < len(notes)


def test_the_top_level_is_as_it_should_be() -> None:
    """Nothing but the agreed names is visible at the top level of what git keeps."""
    files = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    agreed = files | {"firststart", "procedures", "tests", "scenarios"}
    built = {"build", "dist"}
    visible = {p.name for p in ROOT.iterdir() if not p.name.startswith(".")}

    assert agreed == visible - built
