"""Pictures: what they draw are the numbers, and their tables say the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree as ET

import pytest
from matplotlib.artist import Artist
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from report_jobs import START, Bench, golden_report, rules, suspects

from firststart.job import inputs as i
from firststart.judge.registry import JUDGES
from firststart.report.build import build_report
from firststart.report.inline import BAND, ONE, PAPER, TIP
from firststart.report.model import Judged, Report
from firststart.report.page import page
from firststart.report.picture import Picture
from firststart.report.pictures.cylinders import cylinder_pictures
from firststart.report.pictures.days import day_pictures
from firststart.report.pictures.series import high_in, low_in
from firststart.report.pictures.starter import starter_pictures
from firststart.report.pictures.suspects import suspect_pictures
from firststart.report.pictures.trend import trend_pictures
from firststart.report.pictures.voltage import voltage_pictures
from firststart.report.plot import FILLS
from firststart.report.verdict import BAD, GOOD, OPEN, stands
from firststart.units import measured

YEAR = timedelta(days=365)


def _tips(artist: Artist) -> str:
    """What a drawn thing shows to a pointer."""
    return (artist.get_gid() or "").removeprefix(TIP)


def _bars(picture: Picture) -> list[Rectangle]:
    """The bars that stand for something, in the order in which they were drawn."""
    return [p for axes in picture.figure.axes for p in axes.patches if _tips(p)]


def _dots(picture: Picture) -> list[Line2D]:
    return [line for axes in picture.figure.axes for line in axes.lines if _tips(line)]


def _lines(picture: Picture, label: str) -> list[Line2D]:
    return [line for axes in picture.figure.axes for line in axes.lines if line.get_label() == label]


def _bands(picture: Picture) -> list[Rectangle]:
    """What is drawn behind the values, as the span that is expected."""
    return [p for axes in picture.figure.axes for p in axes.patches if to_hex(p.get_facecolor()) == BAND]


def _words(picture: Picture) -> list[str]:
    """Every text of the picture as it stands in the page."""
    return [t.text or "" for t in ET.fromstring(picture.svg).iter("text")]


def _wanting(artist: Rectangle) -> bool:
    return artist.get_hatch() == FILLS["out"]["hatch"]


def test_a_bar_is_as_high_as_its_reading() -> None:
    """Bars stand on the line of zero and reach to their readings; the one found wanting is hatched."""
    (picture,) = cylinder_pictures(golden_report())
    bars = _bars(picture)

    assert [(0, 128), (0, 96), (0, 124)] == [(b.get_y(), b.get_height()) for b in bars]
    assert [False, True, False] == [_wanting(b) for b in bars]
    assert ["128", "96", "124"] == [w for w in _words(picture) if w in ("128", "96", "124")]
    assert 0 == picture.figure.axes[0].get_ylim()[0]


def test_the_band_stands_where_its_limits_are() -> None:
    """120 to 150 psi behind each cylinder, beneath its bars; the axis has the unit over it."""
    (picture,) = cylinder_pictures(golden_report())
    bands = _bands(picture)

    assert {(120.0, 30.0)} == {(round(b.get_y(), 6), round(b.get_height(), 6)) for b in bands}
    assert 2 == len(bands)
    assert "psi" in _words(picture)
    assert picture.figure.axes[0].patches.index(bands[-1]) < picture.figure.axes[0].patches.index(_bars(picture)[0])


def test_a_corrected_reading_is_in_no_picture() -> None:
    """118 psi was read again as 128: only the latter is drawn, and only it stands in the table beside it."""
    (picture,) = cylinder_pictures(golden_report())
    texts = [*_words(picture), *map(_tips, _bars(picture)), *(c.text for r in picture.twin.rows for c in r)]

    assert "118" not in " ".join(texts)
    assert "128 psi" in texts


def test_voltages_show_the_newest_over_the_earlier() -> None:
    """Two rows of two dots, each in the place of its value, the newer one filled."""
    (picture,) = voltage_pictures(golden_report())
    dots = _dots(picture)

    assert [(12.31, 0), (12.74, 0), (8.9, 1), (10.4, 1)] == [(d.get_xdata()[0], d.get_ydata()[0]) for d in dots]
    assert [PAPER, ONE, PAPER, ONE] == [d.get_markerfacecolor() for d in dots]
    assert {"V", "12.74 V", "10.4 V", "Battery rest"} <= set(_words(picture))


def test_what_is_found_wanting_has_a_mark_of_its_own() -> None:
    """Not by colour alone: a triangle where the others are round, and a line in the key."""
    pictures = {p.title: p for p in trend_pictures(_year_later(), [golden_report()])}
    picture = pictures["Battery rest from test to test"]

    assert ["^", "o", "o"] == [d.get_marker() for d in _dots(picture)]
    assert ("wanting", "found wanting") in picture.key


def test_no_fill_is_told_from_another_by_its_colour_alone() -> None:
    """Each way to fill a bar has lines of its own, or none, or only an edge."""
    seen = [(f.get("hatch"), f["facecolor"] == PAPER) for f in FILLS.values()]

    assert len(seen) == len(set(seen))


def test_the_winding_curve_has_a_peak_at_the_end_of_each_crank() -> None:
    """Temperatures only rise while the starter turns, and the picture's highest point is its hottest crank."""
    report = golden_report()
    sitting, picture = report.starter.sittings[-1], starter_pictures(report)[-1]
    (winding,) = _lines(picture, "winding")
    hottest = max(sitting.heat, key=lambda row: row[1])
    top = max(zip(*winding.get_data(), strict=True), key=lambda point: point[1])

    assert (hottest[0] / 60, hottest[1] - 273.15) == pytest.approx(top)
    assert [c.seconds for c in sitting.cranks] == [b.get_height() for b in _bars(picture)]
    assert 2 == sum(map(_wanting, _bars(picture)))
    assert {"°C", "s", "limit"} <= set(_words(picture))


def test_suspects_stand_before_and_after_each_check() -> None:
    """A row a suspect, a bar a chance; what a check says nothing of stays as it was."""
    (picture,) = suspect_pictures(golden_report())
    rows = {row[0].text: [c.text for c in row[1:]] for row in picture.twin.rows}

    assert ["38 %", "1 %", "1 %"] == rows["a flat battery"]
    assert ["28 %", "41 %", "46 %"] == rows["dirty contact points"]
    assert 12 == len(_bars(picture))


def test_work_over_midnight_is_drawn_on_both_days() -> None:
    """A piece of work that goes on past midnight has a bar to the end of one day and from the beginning of the next."""
    bench = Bench(start=START + timedelta(hours=14, minutes=50))
    bench.work("oil")
    bench.say("done", "between the marks", every_s=400)
    report = build_report(bench.facts, rules(), bench.clock.now())
    (picture,) = day_pictures(report)
    first, second = _bars(picture)

    assert first.get_y() + 1 == pytest.approx(second.get_y())
    assert (1.0, 0.0) == pytest.approx((first.get_x() + first.get_width(), second.get_x()))


def _year_later() -> Report:
    bench = Bench("green-twin-2", start=START + YEAR)
    bench.give(i.SetProfile("kind", "motorcycle"))
    bench.work("place", "open air")
    bench.work("battery", "12.5 V")
    return build_report(bench.facts, rules(), bench.clock.now())


def test_a_trend_runs_across_jobs() -> None:
    """The battery at rest: two tests in one job, a third a year later, in the order of the jobs."""
    pictures = {p.title: p for p in trend_pictures(_year_later(), [golden_report()])}
    rest = pictures["Battery rest from test to test"]

    assert ["12.31 V", "12.74 V", "12.5 V"] == [row[3].text for row in rest.twin.rows]
    assert "first and newest of 3 tests" in rest.tells
    assert [] == list(trend_pictures(_year_later()))


def test_every_picture_has_a_sentence_a_table_and_a_name_of_its_own() -> None:
    """No picture stands alone: each is told in words, and given as a table with a head for each column."""
    pictures = [p for s in page(golden_report()).sections for p in s.pictures]

    assert len(pictures) == len({p.id for p in pictures}) >= 7
    for picture in pictures:
        assert picture.tells.endswith(".")
        assert picture.twin.rows
        assert {len(picture.twin.head)} == {len(row) for row in picture.twin.rows}


def _eight() -> Report:
    """The weekend's compression on eight cylinders, dry and wet."""
    report = golden_report()
    dry = next(r for r in report.readings if r.name == "compression.dry" and r.counts == "counts")
    more = [
        replace(dry, number=900 + n, name=name, cylinder=n + 1, value=measured(80.0 + 9 * n, "psi", "pressure"))
        for n in range(8) for name in ("compression.dry", "compression.wet")
    ]  # fmt: skip
    return replace(report, readings=tuple(more))


def test_every_value_lies_within_its_axes() -> None:
    """Nothing that stands for a value is beyond the ends of its axes, also with eight cylinders."""
    for picture in (p for r in (golden_report(), _eight()) for s in page(r).sections for p in s.pictures):
        for axes in picture.figure.axes:
            (left, right), (bottom, top) = map(sorted, (axes.get_xlim(), axes.get_ylim()))
            for bar in (p for p in axes.patches if isinstance(p, Rectangle)):
                assert left - 1e-9 <= bar.get_x() + 1e-9, picture.id
                assert bottom - 1e-9 <= bar.get_y() <= bar.get_y() + bar.get_height() <= top + 1e-9, picture.id
            for dot in (line for line in axes.lines if _tips(line)):
                assert left <= dot.get_xdata()[0] <= right, picture.id
                assert bottom <= dot.get_ydata()[0] <= top, picture.id


def test_eight_cylinders_have_their_numbers_under_them() -> None:
    """Where there is no room for words a cylinder has its number, and each bar tells the rest to a pointer."""
    (picture,) = cylinder_pictures(_eight())

    assert {*map(str, range(1, 9)), "cylinder"} <= set(_words(picture))
    assert 16 == len(_bars(picture))
    assert "cylinder 8: 143 psi" in _tips(_bars(picture)[-1])


def test_a_job_without_anything_has_no_pictures() -> None:
    """No empty axes."""
    bench = Bench()
    report = build_report(bench.facts, rules(), bench.clock.now())

    assert [] == [p.id for s in page(report).sections for p in s.pictures]
    assert [] == list(suspect_pictures(replace(report, diagnosis=replace(suspects(), rounds=()))))


@pytest.mark.parametrize(
    ("word", "si", "expected"),
    [
        ("inside", 1.0, "ok"), ("low", 9.0, "bad"), ("rises", 1.0, ""), ("odd", 1.0, "bad"), ("odd", 7.0, ""),
        ("low even", 7.0, "bad"),
    ],
)
def test_a_verdict_stands_by_its_word_and_else_by_its_limits(word: str, si: float, expected: str) -> None:
    """A word that is known decides; one that is not is held against the limits."""
    assert expected == stands(Judged("j", word, "s", low=5.0), si)
    assert stands(None) == ""


def test_every_word_of_every_judge_is_known_to_be_good_bad_or_open() -> None:
    """No verdict is coloured by guess: a new judge's words must be sorted in `report/verdict.py`."""
    known = GOOD | OPEN | BAD
    unknown = {w for judge in JUDGES.values() for w in judge.words if not known & set(w.replace("-", " ").split())}

    assert set() == unknown


def test_drops_along_the_wires_have_a_scale_of_their_own() -> None:
    """A drop of a tenth of a volt is not lost beside a battery of twelve."""
    report = golden_report()
    value = measured(0.1, "V", "voltage")
    drop = replace(
        report.readings[0], number=900, name="drop.earth", label="Drop earth", value=value, counts="counts", judged=None
    )
    pictures = voltage_pictures(replace(report, readings=(*report.readings, drop, replace(drop, number=901, run=99))))

    assert ["voltage", "drops"] == [p.id for p in pictures]
    assert {"Drop earth"} == {row[0].text for row in pictures[1].twin.rows}


def test_limits_of_something_else_are_not_drawn_as_a_band() -> None:
    """A grade of oil judged by the air's temperature has no band of its own; a pressure in another unit has."""
    grade = replace(
        golden_report().readings[0], value=measured(40, "", "count"),
        judged=Judged("oil-grade", "inside", "s", low=263.0, high=300.0, unit="degC"),
    )  # fmt: skip
    pressure = replace(
        grade, value=measured(8, "bar", "pressure"), judged=Judged("p", "inside", "s", low=7e5, unit="psi")
    )

    assert (None, None) == (low_in(grade, ""), high_in(grade, ""))
    assert (7.0, None) == (low_in(pressure, "bar"), high_in(pressure, "bar"))


def test_trends_show_what_is_judged_and_leave_out_what_was_only_told() -> None:
    """The number of cylinders told twice is no trend; a reading with a verdict is, and first the one by cylinder."""
    report = golden_report()
    told = [replace(r, name="cylinders", judged=None, resolution=None, cylinder=None) for r in report.readings[:2]]
    again = replace(report, readings=(*told, *report.readings), job="later", opened=report.opened + timedelta(days=300))
    titles = [p.title for p in trend_pictures(again, [replace(report, readings=(*told, *report.readings))])]

    assert "Compression dry from test to test" == titles[0]
    assert not any("Cylinders" in title for title in titles)
