"""The report as text: stable, 80 columns, nothing left out."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from report_jobs import Bench, golden_report, rules

from firststart.job import inputs as i
from firststart.report.build import build_report
from firststart.report.text import to_text
from firststart.report.wording import reading_text

GOLDEN = Path(__file__).parent / "report_golden"


def test_the_text_of_the_weekend_is_the_one_kept() -> None:
    """The whole report of an invented job, word for word; `python report_jobs.py` prints it anew."""
    assert (GOLDEN / "weekend.txt").read_text(encoding="utf-8").splitlines() == to_text(golden_report()).splitlines()


def test_no_line_is_wider_than_80_columns() -> None:
    """Whatever is in it, the text fits a terminal and a sheet of paper."""
    bench = Bench(engine="a very long name of an engine that goes on " * 2)
    bench.give(i.Note("word " * 400))
    text = to_text(build_report(bench.facts, rules(), bench.clock.now() + timedelta(days=40)))

    assert 80 >= max(len(line) for line in text.splitlines())
    assert 80 >= max(len(line) for line in to_text(golden_report()).splitlines())


def test_every_reading_its_instrument_and_its_source_stand_in_the_text() -> None:
    """Each reading of the record can be found by its number."""
    report = golden_report()
    text = to_text(report)
    for reading in report.readings:
        line = next(x for x in text.splitlines() if x.startswith(f"#{reading.number} "))

        assert reading_text(reading.value) in line


@pytest.mark.parametrize("name", ["CHECKED", "HOLD POINTS", "MEASUREMENTS", "STARTER", "DOES NOT SAY", "TIMELINE"])
def test_the_parts_stand_under_their_heads(name: str) -> None:
    """Each part of the report can be found by its head."""
    assert any(name in line for line in to_text(golden_report()).splitlines())


def test_a_new_job_has_a_text_too() -> None:
    """Nothing measured, nothing cranked, nothing found: the parts that would be empty are left out."""
    bench = Bench()
    text = to_text(build_report(bench.facts, rules(), bench.clock.now()))

    assert "MEASUREMENTS" not in text
    assert "not done yet" in text
