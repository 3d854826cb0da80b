"""Languages on the command line: checked, written out, chosen for the bench, and kept with the job."""

from __future__ import annotations

import argparse
import io
from pathlib import Path

import pytest

from firststart.cli import main
from firststart.cli.rehearse import _teller
from firststart.procedure.catalogue import data_folder
from firststart.prompt.language_file import read_po
from firststart.rehearsal.play import Event

OWN = """
msgid ""
msgstr ""
"Language: de\\n"
"Content-Type: text/plain; charset=UTF-8\\n"

msgid "What kind of machine is it?"
msgstr "Wat för een Maschien is dat?"
"""


def bench(home: Path, typed: str, monkeypatch: pytest.MonkeyPatch, *more: str) -> int:
    """The bench with plain lines in and out, without voice and ears."""
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    return main(["--home", str(home), "--no-voice", "--no-ears", "--plain", *more])


def test_the_bench_speaks_german_when_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--language de` leads a new job in German from the welcome on, and answers are given in German."""
    status = bench(tmp_path, "grüner Twin\nja\nein Motorrad\n12,6\n", monkeypatch, "--language", "de")
    told = capsys.readouterr().out

    assert status == 0
    assert "Ich führe dich zum ersten Start eines Motors" in told
    assert "Der Steckbrief des Motors: Verbrennt er Benzin oder Diesel?" in told
    assert "Ich habe '12,6' nicht verstanden. Sag Benzin, Dieselkraftstoff oder weiß nicht." in told
    assert "Antworten: [1] Benzin" in told
    assert "Until next time" not in told


def test_a_job_goes_on_in_its_own_language(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A job that was led in German is taken up in German without being told so again, and in English when asked."""
    bench(tmp_path, "twin\n", monkeypatch, "--language", "de")
    capsys.readouterr()
    bench(tmp_path, "\n", monkeypatch)
    german = capsys.readouterr().out
    bench(tmp_path, "ja\n", monkeypatch, "--language", "en")

    assert "Als Nächstes kommt: Der Steckbrief des Motors" in german
    assert "Next is the engine profile" not in german
    assert "There is no 'ja' here." in capsys.readouterr().out


def test_a_language_that_is_not_there_is_told_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sentence names the languages that there are, and the exit status is 2."""
    assert main(["--home", str(tmp_path), "--language", "xx"]) == 2
    assert capsys.readouterr().err == "firststart: There is no language called 'xx'; there are: en, de.\n"


def test_a_language_is_checked(capsys: pytest.CaptureFixture[str]) -> None:
    """`verify --language de` tells its problems and how far it goes."""
    assert main(["verify", "--language", "de"]) == 0

    assert capsys.readouterr().out.startswith("0 problems; de: ")


def test_a_language_of_ones_own_goes_over_the_shipped_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A catalogue in the user's folder replaces single texts; all others stay."""
    folder = tmp_path / "procedures" / "languages"
    folder.mkdir(parents=True)
    (folder / "de.po").write_text(OWN, encoding="utf-8")
    bench(tmp_path, "twin\nja\n", monkeypatch, "--language", "de")

    assert "Der Steckbrief des Motors: Wat för een Maschien is dat?" in capsys.readouterr().out


def test_a_new_language_begins_with_its_template(capsys: pytest.CaptureFixture[str]) -> None:
    """`verify --language fr --template` prints a catalogue with every text in it and nothing translated."""
    assert main(["verify", "--language", "fr", "--template"]) == 0
    made = read_po(capsys.readouterr().out, "fr.po")

    assert made.header["Language"] == "fr"
    assert ("", "Turn the key off.") not in made.entries  # not in a procedure that it covers yet
    assert ("", "Bring a fire extinguisher that is rated for burning liquids.") in made.entries
    assert not [e for e in made.entries.values() if e.done]


def test_the_template_of_a_shipped_language_is_the_file_itself(capsys: pytest.CaptureFixture[str]) -> None:
    """What is printed for German is the catalogue that ships, byte by byte: it is up to date."""
    assert main(["verify", "--language", "de", "--template"]) == 0
    shipped = (data_folder("procedures") / "languages" / "de.po").read_text(encoding="utf-8")

    assert capsys.readouterr().out == shipped


def test_a_rehearsal_is_shown_in_german(capsys: pytest.CaptureFixture[str]) -> None:
    """What the tool says and what the person answers or types stand in the transcript in German."""
    asked = argparse.Namespace(quiet=False, pace=None, language="de", home=None, procedures=None)
    tell = _teller(asked)
    assert tell is not None
    tell(Event(0.0, "09:00:00", "TOOL", "Turn the key off."))
    for text in ("yes", "[in the green]", "[7 ml]"):
        tell(Event(0.0, "09:00:00", "PERSON", text))

    assert capsys.readouterr().out.splitlines() == [
        "09:00:00  TOOL    Dreh den Schlüssel auf Aus.",
        "09:00:00  PERSON  ja",
        "09:00:00  PERSON  [im Grünen]",
        "09:00:00  PERSON  [7 ml]",
    ]
