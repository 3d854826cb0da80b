"""The picture of a procedure: everything in it, nothing on top of anything, right for light and dark."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from firststart.cli import main
from firststart.job.rules import Rules
from firststart.machine.compile import compile_table
from firststart.machine.layout import GAP_X, Size, _spread, arrange
from firststart.machine.picture import to_svg
from firststart.machine.table import FINAL, GATE, Table

SVG = "{http://www.w3.org/2000/svg}"


def table_of(rules: Rules, name: str, cylinders: int = 2) -> Table:
    return compile_table(rules.library.procedure(name), rules.library.safety, rules.judge_words, {}, cylinders)


@st.composite
def graphs(draw: st.DrawFn) -> tuple[dict[str, Size], list[tuple[str, str]]]:
    """Any graph whose nodes can all be reached from the first, loops included."""
    count = draw(st.integers(1, 14))
    names = [f"n{i}" for i in range(count)]
    tree = [(names[draw(st.integers(0, i - 1))], names[i]) for i in range(1, count)]
    more = draw(st.lists(st.tuples(st.sampled_from(names), st.sampled_from(names)), max_size=12))
    sizes = {n: Size(draw(st.floats(20, 200)), draw(st.floats(20, 90))) for n in names}
    return sizes, list(dict.fromkeys([*tree, *more]))


@given(graphs())
def test_no_nodes_overlap_and_lines_end_at_their_nodes(graph: tuple[dict[str, Size], list[tuple[str, str]]]) -> None:
    """For any graph every card has its own room, and each line runs from its source to its target."""
    sizes, edges = graph
    drawing = arrange(sizes, edges, "n0")
    boxes = {n: (*drawing.centres[n], sizes[n].width / 2, sizes[n].height / 2) for n in sizes}
    for one in sizes:
        for two in sizes:
            (x, y, w, h), (u, v, p, q) = boxes[one], boxes[two]
            assert one == two or abs(x - u) >= w + p - 1e-6 or abs(y - v) >= h + q - 1e-6

    for (source, target), line in zip(edges, drawing.lines, strict=True):
        for name, (px, py) in ((source, line[0]), (target, line[-1])):
            x, y, w, h = boxes[name]
            assert abs(px - x) <= w + 1e-6
            assert abs(py - y) <= h + 1e-6


@given(graphs())
def test_lines_go_down_but_for_those_that_lead_back(graph: tuple[dict[str, Size], list[tuple[str, str]]]) -> None:
    """A line goes down from row to row; one that leads back goes up all the way, and is marked."""
    sizes, edges = graph
    drawing = arrange(sizes, edges, "n0")

    for (source, target), line, up in zip(edges, drawing.lines, drawing.upward, strict=True):
        if source != target:
            falls = {(b[1] > a[1]) for a, b in pairwise(line)}
            assert {not up} == falls


@pytest.mark.external
@given(st.lists(st.floats(-1000, 1000), min_size=1, max_size=12))
def test_places_in_a_row_are_the_nearest_that_keep_the_gaps(wanted: list[float]) -> None:
    """The same optimum as scipy's isotonic regression."""
    widths = [50.0] * len(wanted)
    offsets = np.arange(len(wanted)) * (50.0 + GAP_X)

    expected = isotonic_regression(np.array(wanted) - offsets).x + offsets
    assert expected == pytest.approx(_spread(wanted, widths), abs=1e-6)


def test_every_state_of_every_procedure_is_in_its_picture(rules: Rules) -> None:
    """Each card carries its state's words; the picture is well formed and says what it shows."""
    for name in rules.library.procedures:
        table = table_of(rules, name)
        root = ET.fromstring(to_svg(table))
        words = " ".join("".join(e.itertext()) for e in root.iter(f"{SVG}text"))
        for state in (table.states[n] for n in table.reachable()):
            if state.sort not in (FINAL, GATE) and state.step is not None and state.step.cmd:
                assert state.step.cmd.split()[0] in words
        assert root.find(f"{SVG}title").text == table.procedure.title
        assert "states" in root.find(f"{SVG}desc").text


def test_the_picture_is_for_light_and_for_dark(rules: Rules) -> None:
    """Colours are named once for each scheme, and nothing is drawn in a colour of its own."""
    text = to_svg(table_of(rules, "compression"))
    style = text[text.index("<style>") : text.index("</style>")]

    assert "prefers-color-scheme: dark" in style
    assert set(_names(style.split("@media")[0])) == set(_names(style.split("@media")[1]))
    assert "fill=" not in text
    assert "stroke=" not in text


def _names(style: str) -> list[str]:
    return [part.split(":")[0].strip() for part in style.replace("{", ";").split(";") if part.strip().startswith("--")]


def test_draw_writes_a_picture_or_scxml(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command prints to the screen, or to a file and says which."""
    assert 0 == main(["draw", "place", "--format", "scxml"])
    assert "<scxml" in capsys.readouterr().out
    assert 0 == main(["draw", "place", "-o", str(tmp_path / "place.svg")])
    assert "place.svg" in capsys.readouterr().out
    assert "<svg" in (tmp_path / "place.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["draw", "nothing-like-it"], "There is no procedure called"),
        (["draw", "place", "--cylinders", "99"], "cylinders is 99"),
        (["draw", "place", "-o", "/no/such/folder/x.svg"], "cannot be written"),
    ],
)
def test_a_mistake_in_draw_is_told_in_one_sentence(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2, and what and what to do."""
    assert 2 == main(arguments)
    told = capsys.readouterr().err

    assert words in told
    assert 1 == len(told.strip().splitlines())
