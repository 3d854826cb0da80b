"""The documents agree with the code."""

from __future__ import annotations

import re
import shlex
from itertools import pairwise
from pathlib import Path

import pytest
from readme_parts import renewed, transcript

import firststart
from firststart.cli import _COMMANDS, main
from firststart.cli.trouble import TROUBLES, table
from firststart.procedure.library import Library
from firststart.procedure.model import SIGNALS, Procedure
from firststart.procedure.reader import read
from firststart.prompt.expect import GENERAL

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
ROFF = {".TH", ".SH", ".SS", ".TP", ".B", ".br", ".PP"}
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


def test_the_made_parts_of_the_readme_are_new() -> None:
    """The transcript is the golden twin's, the table is that of `firststart trouble`; else: tests/readme_parts.py."""
    assert renewed(README) == README
    assert table() in README
    assert 15 < len(transcript().splitlines()) < 30


def test_the_manual_page_tells_every_command_and_option(capsys: pytest.CaptureFixture[str]) -> None:
    """The page has each command with its example, each option of `--help`, and each trouble, in known requests only."""
    with pytest.raises(SystemExit) as left:
        main(["--print-manual"])
    page = capsys.readouterr().out
    plain = page.replace("\\-", "-").replace("\\&", "")

    assert 0 == left.value.code
    assert [] == [c for c in _COMMANDS if f".SS firststart {c}" not in plain]
    assert [] == [example for _, _, example in _COMMANDS.values() if example not in plain]
    assert [] == [o for o in ("--home", "--plain", "--pedal", "--no-ears", "--pace", "--from") if o not in plain]
    assert [] == [t.word for t in TROUBLES if t.do.replace("`", "") not in plain]
    assert [] == [line for line in page.splitlines() if line.startswith(".") and line.split()[0] not in ROFF]


@pytest.mark.parametrize("word", [t.word for t in TROUBLES])
def test_each_trouble_is_found_by_its_word(word: str, capsys: pytest.CaptureFixture[str]) -> None:
    """`firststart trouble WORD` prints the one part that the word names."""
    assert 0 == main(["trouble", word])
    assert capsys.readouterr().out.startswith(f"{word}: ")


def test_the_pictures_of_the_readme_are_there() -> None:
    """Every picture that the README shows is kept, has a title of its own and words for those who cannot see it."""
    shown = re.findall(r"!\[([^]]+)\]\(([^)]+)\)", README)

    assert 2 <= len(shown)
    assert all(name for name, _ in shown)
    assert [] == [path for _, path in shown if "<title>" not in (ROOT / path).read_text(encoding="utf-8")]


def test_the_recorded_first_use_is_quick() -> None:
    """The recording that is kept comes to the first step of work in under two minutes of answers, the voice tried."""
    told = (ROOT / "tests" / "cli" / "first_use.txt").read_text(encoding="utf-8")
    end = re.search(r"the first step of work stands there\n\d+ answers: ([\d.]+) s of reading", told)

    assert end is not None
    assert 120 > float(end[1])
    assert "No voice:" in told or "Do you hear me?" in told


def test_every_arrow_of_the_drawing_is_an_import() -> None:
    """What stands left of an arrow is used by what stands right of it, and never the other way round."""
    line = next(line for line in DEVELOPERS.splitlines() if "procedure/  ->" in line)
    rooms = re.findall(r"(\w+)/", line)
    uses = {room: {m.split(".")[1] for m in _imported(room)} for room in rooms}

    assert ["procedure", "machine", "job", "prompt", "devices", "rehearsal"] == rooms
    assert [] == [(a, b) for a, b in pairwise(rooms[:5]) if a not in uses[b] or b in uses[a]]
    assert {"job", "prompt"} <= uses["rehearsal"]


def _imported(room: str) -> list[str]:
    """The modules of the package that the files of a room import."""
    texts = [p.read_text(encoding="utf-8") for p in (ROOT / "firststart" / room).glob("*.py")]
    return [m for text in texts for m in re.findall(r"^ *from (firststart\.\w+)", text, re.MULTILINE)]


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
