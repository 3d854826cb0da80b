"""The plot library behind its door: our look and nobody else's, and its drawings made parts of the page."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
import pytest
from report_hostile import HOSTILE
from report_jobs import golden_report

from firststart.report.inline import INK, ONE, THEME, inline
from firststart.report.page import page
from firststart.report.picture import Picture
from firststart.report.plot import FILLS, canvas, fit, hours, minutes, round_values, rows, svg_of, tip, write
from firststart.report.wording import one_line


@pytest.fixture(scope="module")
def drawn() -> dict[str, ET.Element]:
    """Every picture of the weekend, as it stands in the page."""
    pictures = [p for s in page(golden_report()).sections for p in s.pictures]
    return {p.id: ET.fromstring(p.svg) for p in pictures}


def _every(drawn: dict[str, ET.Element]) -> Iterator[ET.Element]:
    for root in drawn.values():
        yield from root.iter()


def test_a_drawing_scales_with_its_place_and_is_named_and_told(drawn: dict[str, ET.Element]) -> None:
    """A box to see through, no width of its own, one image to a screen reader."""
    for name, root in drawn.items():
        assert re.fullmatch(r"0 0 460 \d+(\.\d+)?", root.attrib["viewBox"])
        assert "width" not in root.attrib
        assert ("img", f"{name}-title {name}-tells") == (root.attrib["role"], root.attrib["aria-labelledby"])


def test_all_colours_are_the_readers_theme(drawn: dict[str, ET.Element]) -> None:
    """No fixed colour is left, and none that the table of the theme does not know."""
    found = {e.attrib[a] for e in _every(drawn) for a in ("fill", "stroke") if a in e.attrib}
    css = (Path(__file__).parents[2] / "firststart/report/templates/report.css").read_text(encoding="utf-8")

    assert found <= {*THEME.values(), *(f for f in found if f.startswith("url(#"))}
    assert {"var(--ink)", "var(--one)", "var(--bad)", "var(--band)", "none"} <= found
    assert all(3 == css.count(f"{v[4:-1]}:") for v in THEME.values() if v != "none")


def test_text_stays_text_in_the_letters_of_the_page(drawn: dict[str, ET.Element]) -> None:
    """Words are words, not outlines; neither fonts nor styles come along."""
    texts = [e for e in _every(drawn) if e.tag == "text"]

    assert {"Battery rest", "cylinder 1", "psi", "after 2", "3 May 2026"} <= {t.text for t in texts}
    assert not {a for e in _every(drawn) for a in e.attrib} & {"style", "font-family", "font-size", "font"}
    assert not {"style", "metadata", "image", "script"} & {e.tag for e in _every(drawn)}


def test_names_are_the_pictures_own(drawn: dict[str, ET.Element]) -> None:
    """Two pictures share no name, and each reference leads to a name of the same picture."""
    for name, root in drawn.items():
        ids = [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
        wanted = re.findall(r"url\(#([^)]*)\)|href=\"#([^\"]*)\"", ET.tostring(root, encoding="unicode"))

        assert len(ids) == len(set(ids))
        assert {a or b for a, b in wanted} <= set(ids)
        assert all(i.startswith(f"{name}-") for i in ids)


def test_each_bar_tells_itself_to_a_pointer(drawn: dict[str, ET.Element]) -> None:
    """The tip is a title inside the bar's own group."""
    tips = [e.findtext("title") for e in drawn["cylinders-1"].iter("g") if e.find("title") is not None]

    assert "Compression dry, cylinder 1: 128 psi, inside" in tips


def _one(text: str) -> str:
    with canvas(80) as figure:
        axes = figure.subplots()
        rows(axes, [text], 200)
        (bar,) = axes.barh(0, 1, **FILLS["s0"])
        tip(bar, text)
        write(axes, (0, 0), text)
    return inline(svg_of(figure), "one")


ODD = ("$x^2$ and $", "tab\tand\nline", "a\ud800 \ufffe \x0c", "電池 🔋", "--> ]]>")


@pytest.mark.parametrize("text", [*HOSTILE, *ODD])
def test_hostile_text_is_text_in_a_drawing(text: str) -> None:
    """It is neither markup nor mathematics nor a reason to stop, as a label, as a tip and as a written word."""
    root = ET.fromstring(_one(text))
    shown = [t.text for t in root.iter("text")]
    kinds = {(e.tag, a) for e in ET.fromstring(_one("plain")).iter() for a in ("", *e.attrib)}

    assert {(e.tag, a) for e in root.iter() for a in ("", *e.attrib)} <= kinds
    assert one_line(text) in {one_line(t or "") for t in shown}


def test_the_same_figures_give_the_same_drawing() -> None:
    """Neither the moment nor chance gets in."""
    assert _one("the same") == _one("the same")


def test_settings_of_others_count_for_nothing_and_stay_as_they_are() -> None:
    """A user's own look of the library changes no drawing, and no drawing changes the user's."""
    plain = _one("a word")
    with mpl.rc_context({"font.size": 40, "svg.fonttype": "path", "text.color": "red", "axes.facecolor": "pink"}):
        before = dict(mpl.rcParams)
        theirs = _one("a word")

        assert before == dict(mpl.rcParams)
    assert plain == theirs


def test_the_library_is_fetched_for_a_page_only() -> None:
    """A report as text, and the picture's own file, load no plot library; and never does one open a window."""
    code = (
        "import sys; import firststart.report.text, firststart.report.html, firststart.report.page; "
        "assert 'matplotlib' not in sys.modules; from firststart.report.plot import canvas\n"
        "with canvas(50): pass\n"
        "assert 'matplotlib' in sys.modules and 'matplotlib.pyplot' not in sys.modules"
    )

    assert 0 == subprocess.run([sys.executable, "-c", code], check=False).returncode


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 147, (0, 20, 40, 60, 80, 100, 120, 140, 160)), (8.9, 12.74, (8, 9, 10, 11, 12, 13)),
        (-3, 7, (-4, -2, 0, 2, 4, 6, 8)), (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1)),
    ],
)  # fmt: skip
def test_an_axis_of_values_has_round_ones_and_ends_at_them(
    low: float, high: float, expected: tuple[float, ...]
) -> None:
    """Spans as a person would label them."""
    with canvas(100) as figure:
        axes = figure.subplots()
        axes.set_ylim(low, high)
        round_values(axes.yaxis, 8 if high > 100 else 6)

    assert expected == pytest.approx(tuple(axes.get_yticks()))
    assert (expected[0], expected[-1]) == pytest.approx(axes.get_ylim())


@pytest.mark.parametrize(("end", "step"), [(10.4, 2), (31, 5), (115, 15), (9, 2), (200, 30)])
def test_minutes_stand_at_the_steps_of_a_clock_face(end: float, step: float) -> None:
    """Twos for ten minutes, a quarter of an hour for two hours; the axis goes no further than it did."""
    with canvas(100) as figure:
        axes = figure.subplots()
        axes.set_xlim(0, end)
        minutes(axes.xaxis, 8)
        ticks = axes.get_xticks()

    assert {float(step)} == {round(b - a, 9) for a, b in pairwise(ticks)}
    assert (0, end) == axes.get_xlim()


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (410, 545, ["07:00", "07:30", "08:00", "08:30", "09:00"]),
        (0, 1440, ["00:00", "04:00", "08:00", "12:00", "16:00", "20:00", "00:00"]),
        (541, 556, ["09:05", "09:10", "09:15"]),
    ],
)
def test_times_of_the_day_are_round(low: float, high: float, expected: list[str]) -> None:
    """Half hours for an afternoon, and the whole day from midnight to midnight."""
    with canvas(100) as figure:
        axes = figure.subplots()
        axes.set_xlim(low / 1440, high / 1440)
        hours(axes.xaxis, 7)
    svg = ET.fromstring(inline(svg_of(figure), "day"))
    shown = [t.text or "" for t in svg.iter("text") if ":" in (t.text or "")]

    assert all(datetime.strptime(t, "%H:%M").minute % 5 == 0 for t in shown)  # noqa: DTZ007 (a time of day only)
    assert expected == shown


def test_a_colour_that_is_none_of_the_theme_is_the_ink_of_the_place() -> None:
    """A slip in a picture is seen by the tests and still readable in the dark."""
    svg = inline('<svg xmlns="http://www.w3.org/2000/svg"><path d="M 0 0" fill="#123456"/></svg>', "x")

    assert "currentColor" in svg
    assert INK != ONE


def test_a_long_name_is_cut_with_dots() -> None:
    """What is missing is told."""
    assert ("short", "a long na…") == (fit("short", 10), fit("a long name", 10))


def test_a_wide_name_is_cut_by_its_width_and_leaves_room_for_the_plot() -> None:
    """Thirty of the widest letter take half of the picture at most; thirty of the narrowest stay whole."""
    with canvas(100) as figure:
        axes = figure.subplots()
        rows(axes, ["W" * 30, "i" * 30], 32)
        wide, thin = (t.get_text() for t in axes.get_yticklabels())
    inline(svg_of(figure), "names")

    assert re.fullmatch("W{10,20}…", wide)
    assert "i" * 30 == thin
    assert 0.4 < axes.get_position().width


def test_a_picture_is_a_value_beside_its_plot() -> None:
    """Two pictures that tell the same are equal, whichever plot object stands behind them."""
    first, second = (next(p for s in page(golden_report()).sections for p in s.pictures) for _ in range(2))

    assert isinstance(first, Picture)
    assert first == second
