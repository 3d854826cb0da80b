"""`firststart next` and `verify --book`: the elimination in words, as a tree, check by check, and its figures."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from bench_record import Record

from firststart.cli import main
from firststart.journal.sqlite import SqliteJournal

STOP = ("stop.circuit", "earthed")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with one job: no start, no spark, the stop circuit earthed, one repair that did not help."""
    record = Record().no_start(("exhaust.smell", "strong-petrol")).mended("flooded", "exhaust.smell")
    record.no_start().work("spark-proof", "x", "bad", ("spark", "none"))
    record.work("stop-controls", "always-stop", "bad", STOP, hold="stop-proven")
    folder = tmp_path_factory.mktemp("home")
    journal = SqliteJournal(folder / "record.db")
    journal.append("job", 0, record.facts)
    journal.close()
    return folder


def told(home: Path, capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["next", *arguments, "--home", str(home)]) == 0
    return capsys.readouterr().out


def told_json(home: Path, capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    return json.loads(told(home, capsys, *arguments, "--format", "json"))


def test_next_says_what_to_do_why_and_what_would_change_it(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence first; then each suspect with its reason and day, what is barred and why, and the ways on."""
    lines = told(home, capsys).splitlines()

    assert lines[0].startswith(("Check ", "Mend "))
    assert "left" in lines
    assert "put right" in lines
    assert "ruled out" in lines
    assert any(line.startswith("  a flooded engine: ") and "put right, 2025-05-03" in line for line in lines)
    assert any(line.startswith("not now: ") and line.endswith("could not be had") for line in lines)
    assert "what would change this" in lines
    assert not any(" 0 %" in line for line in lines)  # a small chance is never called none


def test_next_as_json_has_every_suspect_and_every_reason(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same advice whole: groups, runners-up, what is barred, what would change it."""
    got = told_json(home, capsys)
    groups = [got[name] for name in ("found", "left", "mended", "ruled out")]

    assert got["does not start"] is True
    assert got["next"]["kind"] in ("check", "fix")
    assert sum(len(group) for group in groups) >= 40
    assert {b["why"] for b in got["blocked"] if b["by_job"]} == {"the stop controls proven could not be had"}
    assert got["would change the advice"]


def test_the_tree_begins_with_the_advice_and_leaves_out_what_cannot_be_done(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Paper and bench agree; no line of the paper asks for a check that is barred."""
    advice, tree = told_json(home, capsys), told_json(home, capsys, "--tree", "3")

    def ids(node: dict[str, Any]) -> set[str]:
        return {node["id"]}.union(*(ids(b["node"]) for b in node["branches"]))

    assert tree["tree"]["id"] == advice["next"]["id"]
    assert not ids(tree["tree"]) & {b["id"] for b in advice["blocked"] if b["by_job"]}


def test_the_printed_tree_has_a_head_and_lines_that_fit_paper(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whose engine, which day, how to follow it, what it does not know; no line over a hundred characters."""
    lines = told(home, capsys, "--tree", "4").splitlines()

    assert lines[0].startswith("Why it does not start: mower, ")
    assert any(line.startswith("1. ") for line in lines)
    assert max(len(line) for line in lines) <= 100


def test_each_check_shows_the_suspects_before_and_after(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two bars for each suspect that moved; as JSON the chances themselves."""
    text = told(home, capsys, "--checks")
    got = told_json(home, capsys, "--checks")["checks"]
    circuit = next(c for c in got if c["check"] == "the stop circuit by meter")
    wire = next(s for s in circuit["shifts"] if s["name"] == "a stop wire chafed to earth")

    assert "the stop circuit by meter: earthed, 2025-05-03" in text
    assert text.count(" before\n") == text.count(" after\n") == sum(len(c["shifts"]) for c in got)
    assert wire["after"] > 2 * wire["before"]


@pytest.mark.parametrize("depth", ["0", "9"])
def test_a_tree_of_no_depth_or_too_much_is_refused(home: Path, depth: str, capsys: pytest.CaptureFixture[str]) -> None:
    """From 1 to 8, in one sentence."""
    assert main(["next", "--tree", depth, "--home", str(home)]) == 2
    assert "give a depth from 1 to 8" in capsys.readouterr().err


def test_the_book_is_measured_for_every_sort_of_engine(capsys: pytest.CaptureFixture[str]) -> None:
    """In the terms of IEEE Std 1522: coverage, ambiguity groups, isolation, masked pairs."""
    assert main(["verify", "--book"]) == 0
    lines = capsys.readouterr().out.splitlines()
    coverage = [float(line.split(": ")[1]) for line in lines if line.startswith("  fault detection coverage: ")]
    split = [line.split(": ")[1] for line in lines if line.startswith("  isolation to 1, 2, 3: ")]
    isolation = [float(figures.split(",")[0]) for figures in split]

    assert len(coverage) == len(isolation) >= 15
    assert min(coverage) == 1.0
    assert min(isolation) >= 0.95
    assert any("masked pairs: every check that sees the first sees the second too" in line for line in lines)
