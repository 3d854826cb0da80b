"""Pictures: their shapes say the numbers, their tables say the same, and round values are round."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_jobs import START, Bench, golden_report, rules, suspects

from firststart.job import inputs as i
from firststart.judge.registry import JUDGES
from firststart.report.axis import Scale, around, clock_ticks, number, ticks
from firststart.report.build import build_report
from firststart.report.model import Judged, Report
from firststart.report.page import page
from firststart.report.picture import Box, Dot, Picture, Trace, Word, fit
from firststart.report.pictures.cylinders import cylinder_pictures
from firststart.report.pictures.days import day_pictures
from firststart.report.pictures.series import high_in, low_in
from firststart.report.pictures.starter import starter_pictures
from firststart.report.pictures.suspects import suspect_pictures
from firststart.report.pictures.trend import trend_pictures
from firststart.report.pictures.voltage import voltage_pictures
from firststart.report.verdict import BAD, GOOD, OPEN, stands
from firststart.units import measured

SPAN = st.tuples(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))


@given(SPAN, st.integers(2, 10))
def test_ticks_hold_the_span_in_few_round_steps(span: tuple[float, float], most: int) -> None:
    """Ticks reach over both ends in at most two more steps than asked, each 1, 2 or 5 times a power of ten."""
    low, high = span[0], span[0] + span[1]
    found = ticks(low, high, most)
    step = found[1] - found[0]
    digit = step / 10 ** math.floor(math.log10(step) + 1e-6)

    assert found[0] <= low + 1e-6 * step
    assert found[-1] >= high - 1e-6 * step
    assert len(found) <= most + 3
    assert min(abs(digit - d) for d in (1, 2, 5, 10)) < 1e-3


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 150, (0, 50, 100, 150)),
        (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1.0)),
        (8.9, 12.74, (8, 9, 10, 11, 12, 13)),
        (5, 5, (4.4, 4.6, 4.8, 5.0, 5.2, 5.4, 5.6)),
        (-3, 7, (-4, -2, 0, 2, 4, 6, 8)),
    ],
)
def test_ticks_of_known_spans(low: float, high: float, expected: tuple[float, ...]) -> None:
    """Spans as a person would label them."""
    assert expected == pytest.approx(ticks(low, high))


def test_clock_ticks_stand_at_the_steps_of_a_clock_face() -> None:
    """Half hours for an afternoon, minutes for a short sitting, midnight to midnight in threes."""
    assert (420.0, 450.0, 480.0, 510.0, 540.0) == clock_ticks(410, 545)
    assert (0.0, 2.0, 4.0, 6.0, 8.0, 10.0) == clock_ticks(0, 10.4)
    assert {180.0} == {b - a for a, b in zip(clock_ticks(0, 1440), clock_ticks(0, 1440)[1:], strict=False)}


@given(st.floats(-1e5, 1e5), SPAN)
def test_a_scale_keeps_to_its_ends(value: float, span: tuple[float, float]) -> None:
    """Nothing is drawn outside the picture, and the ends are where they belong."""
    scale = Scale(span[0], span[0] + span[1], 46, 448)

    assert 46 - 1e-6 <= scale(value) <= 448 + 1e-6
    assert (46.0, 448.0) == pytest.approx((scale(scale.low), scale(scale.high)))


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5))
def test_a_span_around_values_is_never_of_no_width(values: list[float]) -> None:
    """One value, or many that are equal, still make an axis."""
    low, high = around(values)

    assert low < min(values)
    assert high > max(values)


def test_labels_of_ticks_are_short() -> None:
    """No trailing zeros, no long tails."""
    assert ["0", "2.5", "1200", "0.3"] == [number(x) for x in (0.0, 2.5, 1200.0, 0.1 + 0.2)]
    assert ("short", "a long na…") == (fit("short", 10), fit("a long name", 10))


def _bars(picture: Picture) -> list[Box]:
    return [s for s in picture.shapes if isinstance(s, Box) and s.tip]


def test_a_bar_is_as_high_as_its_reading() -> None:
    """Bars stand on one line, and their heights are to each other as the readings are."""
    (picture,) = cylinder_pictures(golden_report())
    dry1, dry2, wet2 = _bars(picture)

    assert {190.0} == {b.y + b.h for b in (dry1, dry2, wet2)}
    assert (96 / 128, 124 / 128) == pytest.approx((dry2.h / dry1.h, wet2.h / dry1.h))
    assert "out" in dry2.css
    assert "out" not in dry1.css


def test_the_band_stands_where_its_limits_are() -> None:
    """120 to 150 psi on a scale that a bar of 128 psi fixes."""
    (picture,) = cylinder_pictures(golden_report())
    band = next(s for s in picture.shapes if isinstance(s, Box) and s.css == "band")
    each = _bars(picture)[0].h / 128

    assert (190 - 150 * each, 30 * each) == pytest.approx((band.y, band.h))


def test_a_corrected_reading_is_in_no_picture() -> None:
    """118 psi was read again as 128: only the latter is drawn, and only it stands in the table beside it."""
    (picture,) = cylinder_pictures(golden_report())
    texts = [s.text for s in picture.shapes if isinstance(s, Word)] + [c.text for r in picture.twin.rows for c in r]

    assert "118" not in " ".join(texts)
    assert "128 psi" in texts


def test_voltages_show_the_newest_over_the_earlier() -> None:
    """Two rows of two dots, the newer one filled, each in the place of its value."""
    (picture,) = voltage_pictures(golden_report())
    dots = [s for s in picture.shapes if isinstance(s, Dot)]
    span = (dots[1].x - dots[0].x, dots[3].x - dots[2].x)

    assert ["hollow", "s0", "hollow", "s0"] == [d.css for d in dots]
    assert (12.74 - 12.31) / (10.4 - 8.9) == pytest.approx(span[0] / span[1])


def test_the_winding_curve_has_a_peak_at_the_end_of_each_crank() -> None:
    """Temperatures only rise while the starter turns, and the picture's highest point is its hottest crank."""
    report = golden_report()
    picture = starter_pictures(report)[-1]
    winding = next(s for s in picture.shapes if isinstance(s, Trace) and s.css == "t0")
    hottest = max(report.starter.sittings[-1].heat, key=lambda row: row[1])
    top = min(winding.points, key=lambda p: p[1])

    assert (hottest[0] / 60) / (report.starter.sittings[-1].heat[-1][0] / 60) == pytest.approx((top[0] - 46) / 402)
    assert len(report.starter.sittings[-1].cranks) == len(_bars(picture))
    assert 2 == sum("out" in b.css for b in _bars(picture))


def test_suspects_stand_before_and_after_each_check() -> None:
    """A row a suspect, a bar a chance; what a check says nothing of stays as it was."""
    (picture,) = suspect_pictures(golden_report())
    rows = {row[0].text: [c.text for c in row[1:]] for row in picture.twin.rows}

    assert ["38 %", "1 %", "1 %"] == rows["a flat battery"]
    assert ["28 %", "41 %", "46 %"] == rows["dirty contact points"]
    assert 12 == len(_bars(picture))


def test_work_over_midnight_is_drawn_on_both_days() -> None:
    """A piece of work that goes on past midnight has a bar on each day."""
    bench = Bench(start=START + timedelta(hours=14, minutes=50))
    bench.work("oil")
    bench.say("done", "between the marks", every_s=400)
    report = build_report(bench.facts, rules(), bench.clock.now())
    (picture,) = day_pictures(report)

    assert 2 == len({b.y for b in _bars(picture)})
    assert 2 == len(_bars(picture))


def _year_later() -> Report:
    bench = Bench("green-twin-2", start=START + timedelta(days=365))
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


def test_nothing_is_drawn_outside_its_canvas() -> None:
    """Every shape of every picture keeps to the canvas, also with eight cylinders and many days."""
    bench = Bench()
    bench.give(i.SetProfile("cylinders", None, measured(8, "", "count")))
    reports = [golden_report(), build_report(bench.facts, rules(), bench.clock.now())]
    for picture in (p for r in reports for s in page(r).sections for p in s.pictures):
        for shape in picture.shapes:
            if isinstance(shape, Box):
                assert 0 <= shape.x <= shape.x + shape.w <= picture.width + 1e-6, picture.id
                assert 0 <= shape.y <= shape.y + shape.h <= picture.height + 1e-6, picture.id


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
