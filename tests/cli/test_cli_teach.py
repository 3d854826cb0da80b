"""`rehearse --teach` at the command line: plain lines, a real pseudo-terminal, kept files, and the class sheet."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from firststart.cli import main
from firststart.cli.lessonfile import lessons_of
from firststart.errors import RecordDamaged

SEED = ("--seed", "5")


def lesson(home: Path, *words: str, pupil: str = "Ada", monkeypatch: pytest.MonkeyPatch) -> None:
    """A lesson by plain lines that ends when the words are used up."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{w}\n" for w in words)))
    assert main(["--home", str(home), "rehearse", "--teach", *SEED, "--pupil", pupil, "--plain"]) == 0


def kept(home: Path) -> list[list[str]]:
    return [path.read_text("utf-8").splitlines() for path in sorted((home / "lessons").glob("*.jsonl"))]


def test_a_lesson_is_kept_apart_and_goes_on_where_it_stood(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Entries are on the disk, the next sitting stands at the same question, and there is no record of jobs."""
    lesson(tmp_path, "yes", "done", monkeypatch=monkeypatch)
    first = capsys.readouterr().out
    lesson(tmp_path, "done", "finish for today", monkeypatch=monkeypatch)
    second = capsys.readouterr().out

    assert "something hidden keeps it from starting" in first
    assert "Carrying on where you were, 2 answers" in second
    assert first.rstrip().splitlines()[-4:-1] == second.splitlines()[1:4]
    assert [json.loads(x)["words"] for x in kept(tmp_path)[0][1:]] == ["yes", "done", "done"]
    assert not (tmp_path / "record.db").exists()
    assert main(["jobs", "--home", str(tmp_path)]) == 2


def test_the_class_sheet_gives_the_answer_and_every_pupil(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The teacher's page names what is hidden, the tool's own path, and how far each pupil is."""
    lesson(tmp_path, "yes", monkeypatch=monkeypatch)
    lesson(tmp_path, "yes", "done", pupil="Ben", monkeypatch=monkeypatch)
    pupils = capsys.readouterr().out
    assert main(["--home", str(tmp_path), "rehearse", "--teach", *SEED, "--sheet"]) == 0
    sheet = capsys.readouterr().out

    assert "Hidden: " in sheet
    assert "Hidden: " not in pupils
    assert "First crank: It runs." in sheet
    assert {"Ada", "Ben"} <= {line.split()[0] for line in sheet.splitlines() if "under way" in line}


def test_a_line_cut_off_by_a_power_cut_is_dropped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Half a last line was never answered; what stands before it is kept."""
    lesson(tmp_path, "yes", monkeypatch=monkeypatch)
    path = next((tmp_path / "lessons").glob("*.jsonl"))
    path.write_text(path.read_text("utf-8") + '{"words": "do', encoding="utf-8")
    lesson(tmp_path, "done", monkeypatch=monkeypatch)

    assert "1 answers into the lesson" in capsys.readouterr().out
    assert [json.loads(x)["words"] for x in kept(tmp_path)[0][1:]] == ["yes", "done"]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda text: "nonsense\n", "is no lesson"),
        (lambda text: text.replace('"procedures": "', '"procedures": "other'), "begun with other procedures"),
    ],
    ids=["nonsense", "other procedures"],
)
def test_a_lesson_that_cannot_be_taken_up_says_why(
    spoil: object, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence and status 2; the file is left as it is."""
    lesson(tmp_path, "yes", monkeypatch=monkeypatch)
    path = next((tmp_path / "lessons").glob("*.jsonl"))
    path.write_text(spoil(path.read_text("utf-8")), encoding="utf-8")  # type: ignore[operator]
    spoilt = path.read_bytes()
    status = main(["--home", str(tmp_path), "rehearse", "--teach", *SEED, "--pupil", "Ada", "--plain"])

    assert status == 2
    assert words in capsys.readouterr().err
    assert spoilt == path.read_bytes()


def test_the_lesson_runs_in_a_terminal(tmp_path: Path) -> None:
    """The same lesson at a pseudo-terminal: large letters, what is found, and stop by Ctrl-C."""
    pexpect = pytest.importorskip("pexpect")
    child = pexpect.spawn(
        sys.executable, ["-m", "firststart", "--home", str(tmp_path), "rehearse", "--teach", *SEED],
        env={"TERM": "xterm-256color", "PROMPT_TOOLKIT_NO_CPR": "1", "PATH": "", "PYTHONPATH": ":".join(sys.path)},
        dimensions=(50, 100), encoding="utf-8", timeout=30,
    )  # fmt: skip
    child.expect("Shall we begin")
    child.send("yes\r")
    child.expect("Turn the key off")
    child.sendcontrol("c")
    child.expect("After a stop|Work is stopped|make safe|fuel off|Turn the key off")
    for _ in range(20):
        child.sendcontrol("d")
        if child.expect([pexpect.EOF, pexpect.TIMEOUT], timeout=1) == 0:
            break
    child.close(force=True)

    assert [json.loads(x)["words"] for x in kept(tmp_path)[0][1:]] == ["yes", "stop now"]


@pytest.mark.parametrize(
    "line",
    [
        '{"words": 5}', '{"words": "yes", "turned": NaN}', '{"words": "yes", "turned": -1}',
        '{"words": "yes", "turned": "x"}', f'{{"words": "yes", "turned": 1{"0" * 400}}}',
        '{"words": "yes", "channel": 1}', "[]",
    ],
)  # fmt: skip
def test_a_lesson_that_a_pupil_changed_is_a_sentence(line: str, tmp_path: Path) -> None:
    """What is no answer in a kept lesson is told with its file; nothing is made of it."""
    folder = tmp_path / "lessons"
    folder.mkdir()
    beginning = {"scenario": "", "seed": 5, "pupil": "Ada", "procedures": "x"}
    (folder / "seed-5-ada.jsonl").write_text(f"{json.dumps(beginning)}\n{line}\n", "utf-8")

    with pytest.raises(RecordDamaged, match="is no lesson, or is damaged"):
        lessons_of(folder, "", 5, "x")
