"""Two tests or two jobs: what changed, beyond the instruments' steps or not."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_jobs import START, Bench, golden_report, rules

from firststart.errors import InputError
from firststart.job import inputs as i
from firststart.report.build import build_report
from firststart.report.compare import (
    HIGHER,
    LOWER,
    UNKNOWN,
    WITHIN,
    change,
    compare_jobs,
    compare_runs,
    newest_changes,
)
from firststart.report.comparetext import comparison_text
from firststart.report.model import Reading, Report
from firststart.report.readings import difference
from firststart.units import from_si, measured


def _reading(
    number: float, unit: str = "psi", step: float | None = 2, kind: str = "pressure", tool: str = "gauge"
) -> Reading:
    value = measured(number, unit, kind)
    zero = measured(0, unit, kind).si
    size = None if step is None else difference(measured(step, unit, kind).si - zero, value)
    return Reading(1, START, 1, "p", "P", "compression.dry", "Compression dry", 1, value, tool, size, None)


@pytest.mark.parametrize(
    ("before", "after", "word"),
    [
        (_reading(120), _reading(118), WITHIN),  # one step of 2: 119 may have been read as either
        (_reading(120), _reading(116), LOWER),
        (_reading(120), _reading(119), WITHIN),
        (_reading(120), _reading(120), WITHIN),
        (_reading(120), _reading(130), HIGHER),
        (_reading(120, step=10), _reading(124, step=2), WITHIN),  # 5 + 1 = 6 psi of doubt
        (_reading(120, step=10), _reading(127, step=2), HIGHER),
        (_reading(8.2, "bar", 0.1), _reading(118, "psi", 1), WITHIN),  # 8.2 bar is 118.9 psi; 0.73 + 0.5 psi of doubt
        (_reading(8.2, "bar", 0.1), _reading(115, "psi", 1), LOWER),
        (_reading(120, step=None), _reading(20), UNKNOWN),
        (_reading(20, "degC", 1, "temperature"), _reading(21, "degC", 1, "temperature"), WITHIN),
        (_reading(20, "degC", 1, "temperature"), _reading(22, "degC", 1, "temperature"), HIGHER),
        (_reading(20, "degC", 1, "temperature"), _reading(69, "degF", 1, "temperature"), WITHIN),  # 20.6 degC
    ],
)
def test_a_difference_is_a_change_only_beyond_half_of_each_step(before: Reading, after: Reading, word: str) -> None:
    """The guard band is half a step of each instrument (JCGM 100:2008, 4.3.7, from memory)."""
    assert word == change(before, after).word


def test_the_standard_uncertainty_is_that_of_two_rectangles() -> None:
    """Steps of 2 and 4: sqrt(2^2/12 + 4^2/12) = 1.29 (JCGM 100:2008, 4.3.7 and 5.1.2, from memory)."""
    found = change(_reading(100, step=2), _reading(120, step=4))

    assert found.standard is not None
    assert found.standard.value == pytest.approx(1.2909944, rel=1e-6)
    assert (3.0, "psi") == (found.doubt.value if found.doubt else None, found.by.unit)


@given(
    a=st.integers(0, 300), b=st.integers(0, 300), step=st.sampled_from([1, 2, 5]),
    other=st.sampled_from(["bar", "kPa", "kg/cm2"]),
)
def test_the_verdict_does_not_depend_on_the_unit_or_the_order(a: int, b: int, step: int, other: str) -> None:
    """The same readings told in another unit, or the other way round, are judged alike."""
    first, second = _reading(a, step=step), _reading(b, step=step)
    told = replace(first, value=from_si(first.value.si, other, "pressure"))
    opposite = {HIGHER: LOWER, LOWER: HIGHER}

    assert change(first, second).word == change(told, second).word
    assert opposite.get(change(first, second).word, WITHIN) == change(second, first).word


def test_another_instrument_is_noted_and_another_kind_is_refused() -> None:
    """Two gauges may differ by more than their steps; a voltage is no pressure."""
    noted = change(_reading(120, tool="old gauge"), _reading(130))

    assert "another instrument (old gauge before)" in noted.notes[0]
    with pytest.raises(InputError, match="two kinds cannot be compared"):
        change(_reading(12, "V", 0.1, "voltage"), _reading(120))


def test_the_newest_test_is_held_against_the_one_before_and_never_against_a_correction() -> None:
    """Battery readings have two runs; the compression has one, with a correction in it, and no change to tell."""
    found = newest_changes(golden_report())

    assert [("battery.rest", HIGHER), ("battery.load", HIGHER)] == [(c.name, c.word) for c in found]
    assert 0.43 == pytest.approx(found[0].by.value)


def test_two_runs_tell_readings_verdicts_and_answers() -> None:
    """The battery before and after: both readings up, both verdicts changed."""
    found = compare_runs(golden_report(), 4, 8)
    text = comparison_text(found)

    assert ["poor", "poor"] == [t.before for t in found.told if t.sort == "verdict"]
    assert "higher, by +1.5 V, beyond the 0.01 V of both steps" in " ".join(text.split())
    assert 80 >= max(len(line) for line in text.splitlines())


def test_a_run_that_is_not_there_is_refused() -> None:
    """The sentence names the job and how many runs it has."""
    with pytest.raises(InputError, match="has no run 99"):
        compare_runs(golden_report(), 4, 99)


def _later(engine: str = "green twin", *words: str) -> Report:
    bench = Bench("green-twin-2", engine, "garden", START + timedelta(days=300))
    bench.give(i.SetProfile("kind", "motorcycle"), i.SetProfile("altitude", None, measured(900, "m", "length")))
    bench.work("place", "open air")
    bench.work("fire", "too low")
    bench.work("battery", "12.74 V", *words)
    return build_report(bench.facts, rules(), bench.clock.now())


def test_two_jobs_on_one_engine_are_compared_by_their_newest() -> None:
    """A year on: the battery is the same, the fire check fails, the height is another; what has no pair is listed."""
    found = compare_jobs(golden_report(), _later())
    told = {(t.sort, t.what): (t.before, t.after) for t in found.told}

    assert [("battery.rest", WITHIN)] == [(c.name, c.word) for c in found.changes]
    assert ("checked", "found wanting") == told[("outcome", "Fire readiness")]
    assert ("in the green", "too low") == told[("answer", "Fire gauge")]
    assert ("unknown", "900 m") == told[("engine", "Altitude")]
    assert "Compression dry, cylinder 2: 96 psi" in found.only_before
    assert () == found.only_after


def test_jobs_on_two_engines_are_not_compared() -> None:
    """The sentence names both."""
    with pytest.raises(InputError, match="green twin and job green-twin-2 on red single"):
        compare_jobs(golden_report(), _later("red single"))


def test_the_text_names_both_jobs_and_what_has_no_pair() -> None:
    """Both jobs at the head, then readings, words, and what was read on one side only."""
    text = comparison_text(compare_jobs(golden_report(), _later()))

    assert text.startswith("Comparison on green twin\nBefore: job green-twin-1, 2 May 2026\nAfter: job green-twin-2")
    assert "READ BEFORE ONLY" in text
    assert "READ AFTER ONLY" not in text
