"""`rehearse --many` at the command line, on rows that are there already: table, JSON, picture, and its exit status."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from firststart.cli import main
from firststart.rehearsal.many import POLICIES
from firststart.rehearsal.study import Row
from firststart.rehearsal.studytable import SOUND


def rows(folder: Path, unpermitted: int = 0) -> Path:
    """A study of one engine that is complete: nothing is left to play."""
    path = folder / "rows.jsonl"
    lines = [
        Row(p, 5, "car", "patient", 1, "goal", True, 1, 0, 0, unpermitted, 30, 100.0 + n, 50.0 + n, 20, 40, 0.2, 0.1, 0)
        for n, p in enumerate(POLICIES)
    ]
    sound = Row(SOUND, 5, "car", "patient", 0, "goal", True, 0, 0, 0, 0, 90, 900.0, 0.0, 60.0, 45.0, 0.3, 0.03, 0.1)
    path.write_text("".join(f"{r.line()}\n" for r in [*lines, sound]), encoding="utf-8")
    return path


def study(path: Path, *more: str) -> int:
    return main(["rehearse", "--many", "1", "--seed", "5", "--study", str(path), *more])


def test_a_study_prints_its_table_with_every_list_and_the_optimum(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Policies, kinds, comparisons, sound engines, cranks, the optimum's ratio, and a picture as SVG."""
    picture = tmp_path / "study.svg"
    status = study(rows(tmp_path), "--against", "--plot", str(picture))
    text = capsys.readouterr().out

    assert status == 0
    assert [p for p in POLICIES if p not in text] == []
    assert "Cranks without a permit: 0 in 7 jobs." in text
    assert "Sound engines with something condemned, led by a patient person: 0 of 1" in text
    assert "over the exact optimum" in text
    assert ElementTree.parse(picture).getroot().tag.endswith("svg")


def test_a_study_as_json_holds_figures_and_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same figures as plain values, each row among them."""
    assert study(rows(tmp_path), "--json") == 0
    told = json.loads(capsys.readouterr().out)

    assert told["policies"]["firststart"]["overhead"] == 50.0
    assert told["cranks_unpermitted"] == 0
    assert len(told["rows"]) == 2


def test_a_crank_without_its_permit_fails_the_study(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit status 1, and the count in the table."""
    assert study(rows(tmp_path, unpermitted=2)) == 1
    assert "Cranks without a permit: 2 in 2 jobs." in capsys.readouterr().out
