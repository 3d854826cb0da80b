"""Random engines and the study over many of them: repeatable, resumable, with intervals that a library confirms."""

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rehearsal_world import PROCEDURES, SCENARIOS, played_once, scenario, world
from scipy.stats import binomtest

from firststart.bench.shop import book_of
from firststart.job import facts as f
from firststart.rehearsal.belief import network_of
from firststart.rehearsal.draw import chance, draw
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.figures import bootstrap, bootstrap_ratio, quantile, wilson
from firststart.rehearsal.many import Plan, read_rows, study
from firststart.rehearsal.optimum import Cut, cost, cut, optimum, ratios
from firststart.rehearsal.study import Cpu, Row, condemned, make_row, overhead, row_of
from firststart.rehearsal.studyplot import picture
from firststart.rehearsal.studytable import SOUND, compared, figures, reckon, table
from firststart.report.caveats import CONDEMNED_RATE

ROW = Row("firststart", 3, "car", "patient", 2, "goal", True, 2, 0, 0, 0, 30, 200.0, 90.5, 41.0, 55.0, 0.8, 0.1, 0.4)


@pytest.mark.parametrize("faults", [0, 1, 2, 3, 4])
def test_a_seed_draws_the_same_engine_with_the_asked_number_of_faults(faults: int) -> None:
    """The generator depends on the seed and the number of faults alone."""
    conditions = world().kit.conditions
    first = draw(11, conditions, faults)

    assert first == draw(11, conditions, faults)
    assert faults == len(first.given.hidden)
    assert len({h.condition for h in first.given.hidden}) == faults


@settings(max_examples=25)
@given(st.integers(0, 10**6))
def test_an_engine_drawn_with_faults_does_not_start(seed: int) -> None:
    """At least one hidden condition stops it: it starts in at most a few of many tries."""
    kit = world().kit
    what = draw(seed, kit.conditions)
    virtual = VirtualEngine.of(what.truth, what.given.hidden, kit.conditions, kit.repairs, seed + 1, prepared=True)
    starts = sum(virtual.try_to_start()[1].runs for _ in range(10))

    assert starts <= 7


def test_longer_and_damper_standing_makes_rust_likelier() -> None:
    """Years and storage drive the conditions of the draws."""
    stuck = world().kit.conditions["engine-stuck"]

    assert chance(stuck, 2, "dry") < chance(stuck, 20, "dry") < chance(stuck, 20, "outdoors")
    assert pytest.approx(stuck.once) == chance(stuck, 0, "damp")


@given(st.integers(1, 400), st.data())
def test_the_interval_of_a_share_is_wilsons(total: int, data: st.DataObject) -> None:
    """Compared with scipy's interval by the same method."""
    hits = data.draw(st.integers(0, total))
    known = binomtest(hits, total).proportion_ci(method="wilson")

    assert pytest.approx((known.low, known.high), abs=1e-9) == wilson(hits, total)


def test_the_bootstrap_encloses_the_mean_and_repeats() -> None:
    """The interval holds the mean, narrows with more values, and is the same for the same seed."""
    few, many = [1.0, 5.0, 2.0, 8.0, 4.0], [1.0, 5.0, 2.0, 8.0, 4.0] * 20
    narrow, wide = bootstrap(many), bootstrap(few)

    assert wide[0] <= 4.0 <= wide[1]
    assert narrow[1] - narrow[0] < wide[1] - wide[0]
    assert bootstrap(few) == wide


def test_a_row_comes_back_from_its_line() -> None:
    """JSON and back, and a line that is cut off is refused."""
    assert row_of(ROW.line()) == ROW
    with pytest.raises(ValueError, match=r"."):
        row_of(ROW.line()[:-5])


def test_figures_and_comparisons_reckon_what_they_say() -> None:
    """Shares, means, paired differences and ratios on a handful of rows done by hand."""
    rows = [replace(ROW, index=n, overhead=float(10 * n), runs=n != 1) for n in range(4)]
    theirs = [replace(r, policy="file order", overhead=r.overhead + 6, wrong=1) for r in rows]
    found, against = figures(rows), compared(rows, theirs)

    assert (found.jobs, found.started, found.found, found.overhead, found.overhead_95) == (4, 0.75, 1.0, 15.0, 30.0)
    assert against is not None
    assert (against.overhead, against.overhead_between, against.wrong) == (6.0, (6.0, 6.0), 1.0)
    assert against.ratio == pytest.approx(60 / 84)
    assert (against.both, against.both_overhead, against.started) == (3, 6.0, 0.0)
    assert against.ahead
    assert not against.more_wrong
    assert quantile([30.0, 10.0, 20.0], 0.5) == 20.0
    assert compared(rows, []) is None


def test_a_study_that_is_not_ahead_says_so() -> None:
    """More overhead and wrong calls than a list, a crank without permit, and condemned sound engines are told."""
    worse = [replace(ROW, index=n, overhead=50.0 + n, wrong=2, unpermitted=n == 0) for n in range(8)]
    better = [replace(r, policy="printed by bits", overhead=20.0, wrong=0, unpermitted=0) for r in worse]
    guilty = [replace(ROW, policy=SOUND, index=n, faults=0, condemned=1) for n in range(8)]
    result = reckon([*worse, *better, *guilty])
    text = table(result)

    assert "firststart not shown to be ahead" in text
    assert "firststart has more" in text
    assert "Cranks without a permit: 1 in 24 jobs." in text
    assert f"at most {CONDEMNED_RATE:.0%}: not shown to be kept" in text
    assert result.sound is not None
    assert not result.sound.kept


def test_every_policy_is_told_by_kind_and_by_hidden_conditions() -> None:
    """Below the tool's line of each group stand the others on the same engines; what a job took is parted."""
    rows = [replace(ROW, index=n, faults=1 + n % 2, found=1) for n in range(4)]
    result = reckon([*rows, *(replace(r, policy="file order", wrong=1) for r in rows)])
    lines = table(result).splitlines()
    at = lines.index(next(x for x in lines if x.startswith("1 hidden")))

    assert 1.0 == result.others_by_faults["1"]["file order"].wrong == result.others_by_kind["car"]["file order"].wrong
    assert lines[at + 1].startswith("  file order")
    assert "800 ms a job, 1.2 jobs a second and core; of it 300 ms to decide, fold, keep and prompt" in lines[-1]


def test_a_study_is_drawn_with_every_policy_and_interval() -> None:
    """The picture is well-formed SVG that names each policy and kind, a dot and a bar for each."""
    rows = [replace(ROW, index=n, overhead=float(10 * n)) for n in range(4)]
    svg = ElementTree.fromstring(picture(reckon([*rows, *(replace(r, policy="file order") for r in rows)])))
    words = {e.text for e in svg.iter("{http://www.w3.org/2000/svg}text")}
    tips = [e.text for e in svg.iter("{http://www.w3.org/2000/svg}title")][1:]

    assert {"firststart", "file order", "car", "2"} <= words
    assert ["firststart: 15.00 (5.00 to 27.50)", "file order: 15.00 (5.00 to 27.50)"] == tips[:2]
    assert len(tips) == 6


def test_the_optimum_of_a_case_done_by_hand() -> None:
    """Two sets alike in chance: a sure check of 5 minutes beats a blind call of 60; one of 100 minutes does not."""
    cheap = Cut((0.5, 0.5), ((1.0, 0.0),), (5.0,))

    assert optimum(cheap) == 5.0
    assert optimum(replace(cheap, minutes=(100.0,))) == 60.0
    assert cost(cheap, lambda *_: 0.0) == 5.0


def test_no_policy_beats_the_optimum_and_the_tool_comes_near_it() -> None:
    """On small cuts of the book every policy costs at least the optimum, and the tool at most 1.05 of it."""
    here = world()
    book = book_of(here.rules.library)
    assert book is not None  # the library that ships has one
    engines = [draw(n, here.kit.conditions) for n in range(60, 64)]
    cases = [cut(network_of(here.rules, book, e), n, checks=5) for n, e in enumerate(engines)]
    found = {r.policy: r.ratio for r in ratios([c for c in cases if c is not None])}

    assert all(ratio >= 1 - 1e-9 for ratio in found.values())
    assert found["firststart"] <= 1.05


def test_the_ratio_of_means_lies_in_its_interval() -> None:
    """Paired draws: equal rows have exactly the ratio of their scale."""
    low, high = bootstrap_ratio([2.0, 4.0, 6.0], [1.0, 2.0, 3.0])

    assert (low, high) == pytest.approx((2.0, 2.0))


def test_overhead_leaves_out_what_had_to_be_mended_anyway() -> None:
    """The minutes from the first failed try on are more than the overhead by the repair of the true fault."""
    play = played_once("car-neutral-switch")
    row = make_row("firststart", 1, scenario("car-neutral-switch"), play, 0, Cpu(0.5))
    repaired = {x.procedure for x in play.facts if isinstance(x, f.RepairDone)}

    assert 0 < overhead(play) < play.minutes
    assert (row.faults, row.found, row.runs, row.condemned) == (1, 1, True, 0)
    assert condemned(play.facts, ()) != ()
    assert condemned(play.facts, repaired) == ()


def test_a_study_goes_on_where_it_stopped(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A file with one row done and one cut off is completed; run once more, nothing is played again."""
    out = tmp_path_factory.mktemp("study") / "rows.jsonl"
    plan = Plan(count=2, first=3, faults=1)
    told: list[int] = []
    first = study(Plan(count=1, first=3, faults=1), PROCEDURES, SCENARIOS, out)
    with Path(out).open("a", encoding="utf-8") as file:
        file.write(first[0].line()[:40] + "\n")
    rows = study(plan, PROCEDURES, SCENARIOS, out, on_row=lambda done, _all, _row: told.append(done))
    again = study(plan, PROCEDURES, SCENARIOS, out, on_row=lambda *_: told.append(-1))

    assert told == [2]
    assert rows == again
    assert len(read_rows(out)) == 2
    assert first[0] == rows[0]
