"""What a report holds, held against the facts it was made from."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest
from report_jobs import START, Bench, rules, suspects, weekend

from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.report.build import build_report
from firststart.report.html import to_html
from firststart.report.jsonform import from_json, to_json
from firststart.report.model import Report
from firststart.report.text import to_text
from firststart.starter.crank import in_order
from firststart.starter.heat import heat_series
from firststart.starter.permit import Crank, permit
from firststart.units import measured


def _report(bench: Bench | None = None, hours: float = 6, **more: object) -> Report:
    bench = bench or weekend()
    return build_report(bench.facts, rules(), bench.clock.now() + timedelta(hours=hours), **more)  # type: ignore[arg-type]


def test_every_reading_is_in_the_report_and_says_whether_it_counts() -> None:
    """No reading is left out; one taken again in its run is corrected, one of an earlier run is earlier."""
    expected = [
        ("battery.rest", None, 12.31, "earlier"),
        ("battery.load", None, 8.9, "earlier"),
        ("battery.rest", None, 12.74, "counts"),
        ("battery.load", None, 10.4, "counts"),
        ("compression.dry", 1, 118.0, "corrected"),
        ("compression.dry", 1, 128.0, "counts"),
        ("compression.dry", 2, 96.0, "counts"),
        ("compression.wet", 2, 124.0, "counts"),
    ]

    assert expected == [(r.name, r.cylinder, r.value.value, r.counts) for r in _report().readings]


def test_a_reading_that_names_the_one_it_corrects_replaces_it() -> None:
    """A correction by number marks the old reading, whatever lies between them."""
    facts = list(weekend().facts)
    old = next(n for n, x in enumerate(facts, 1) if isinstance(x, f.ValueMeasured) and x.value.value == 96.0)
    new = facts[old - 1].model_copy(update={"value": measured(101, "psi", "pressure"), "corrects": old})
    report = build_report([*facts, new], rules(), START + timedelta(days=3))

    assert "corrected" == next(r.counts for r in report.readings if r.number == old)
    assert f"corrected by entry {len(facts) + 1}" == next(r.why for r in report.readings if r.number == old)
    assert (old,) == tuple(r.corrects for r in report.readings if r.corrects)


def test_stale_evidence_makes_its_reading_stale_with_the_reason() -> None:
    """A reading whose evidence was undone says why it counts no longer."""
    undone = f.EvidenceStaled(at=START + timedelta(days=2), observe="battery.load", because="new leads")
    facts = [*weekend().facts, undone]
    report = build_report(facts, rules(), START + timedelta(days=3))

    assert [("battery.load", "new leads")] == [(r.name, r.why) for r in report.readings if r.counts == "stale"]


def test_a_reading_carries_unit_instrument_step_limit_source_and_mark() -> None:
    """What the fact says of a reading is said in the report, the limit in the unit of the reading."""
    reading = next(r for r in _report().readings if r.value.value == 96.0)
    judged = reading.judged

    assert judged is not None
    assert ("compression gauge", "2 psi") == (reading.instrument, str(reading.resolution))
    assert ("low", "120 to 150 psi", "an invented manual, page 12", "read") == (
        judged.word, judged.limit_text, judged.source, judged.mark,
    )  # fmt: skip


def test_holds_say_fresh_stale_and_why() -> None:
    """Six hours later the fire check is too old; the place and the oil still hold; the last crank undid the clear."""
    expected = [
        ("place-ready", True, "done"),
        ("fire-ready", False, "older than 4 hours"),
        ("oil-in", True, "done"),
        ("clear-to-crank", False, "the engine was cranked"),
    ]

    assert expected == [(h.name, h.fresh, h.because) for h in _report().holds]


def test_a_hold_that_was_never_met_is_not_done_yet() -> None:
    """A new job has no fresh hold point and no time beside any."""
    report = _report(Bench())

    assert {("not done yet", None)} == {(h.because, h.met) for h in report.holds}


def test_work_is_sorted_into_checked_wanting_and_not_done() -> None:
    """Each applicable procedure stands exactly once, by its newest outcome."""
    report = _report()

    assert {"First crank"} == {w.title for w in report.of("found wanting")}
    assert {"Fresh oil in"} == {w.title for w in report.of("under way")}
    assert 2 == next(w.times for w in report.work if w.procedure == "battery")
    assert len({w.procedure for w in report.work}) == len(report.work)


def test_work_not_done_is_named_in_what_the_report_does_not_say() -> None:
    """An untouched job's report says of every piece of work that nothing is said."""
    report = _report(Bench())
    named = next(line for line in report.silent if "not done" in line)

    assert all(w.title in named for w in report.of("not done"))
    assert len(report.of("not done")) > 3


def test_no_report_says_that_an_engine_is_safe() -> None:
    """The word appears only where the report says that it does not say so."""
    report = _report(diagnosis=suspects())
    said = [*report.cautions, *report.silent, *(x.text for x in report.timeline), *(x.say for x in report.findings)]

    assert [report.silent[0]] == [line for line in said if "is safe" in line]
    assert report.silent[0].startswith("It does not say that this engine is safe")


def test_cranks_show_seconds_permit_rest_and_over_run() -> None:
    """Eight cranks: one let turn longer than permitted, two told, and the told pair without rest between them."""
    cranks = _report().starter.cranks

    assert [3.4, 3.0, 3.0, 3.2, 5.0, 5.0, 5.0, 8.0] == [c.seconds for c in cranks]
    assert [5] == [n for n, c in enumerate(cranks) if c.over_run]
    assert [1, 2] == [n for n, c in enumerate(cranks) if not c.seen]
    assert [2] == [n for n, c in enumerate(cranks) if c.early]


def test_the_rest_asked_before_a_crank_is_what_the_permit_asks_at_the_end_of_the_one_before() -> None:
    """The same question put to the starter's own rules gives the same seconds."""
    report, duty = _report(), rules().library.duties["motorcycle"]
    situation = fold_all(weekend().facts)
    for n in range(1, len(situation.cranks)):
        before = situation.cranks[:n]
        asked = permit(before, duty, in_order(before, duty)[-1][1], 285.15).wait_s

        assert asked == pytest.approx(report.starter.cranks[n].asked_s, abs=1e-6)


def test_winding_temperatures_are_those_of_the_starters_own_series() -> None:
    """At every instant that both name, the picture's curve and `heat_series` agree to a micro-kelvin."""
    report, duty = _report(), rules().library.duties["motorcycle"]
    situation = fold_all(weekend().facts)
    sitting = report.starter.sittings[-1]
    until = sitting.cranks[-1].start + sitting.cranks[-1].seconds
    series = {round(t, 3): (k, b) for t, k, b in heat_series(situation.cranks, duty, until, 285.15, 3600.0)}
    shared = 0
    for seconds, winding, body in sitting.heat:
        known = series.get(round(sitting.cranks[0].start + seconds, 3))
        if known is not None:
            shared += 1

            assert known == pytest.approx((winding, body), abs=1e-6)
    assert shared >= 2 * len(sitting.cranks) - 1


def test_a_crank_far_from_the_last_opens_another_sitting() -> None:
    """Two days, two sittings."""
    assert [1, 7] == [len(s.cranks) for s in _report().starter.sittings]


def test_cranks_of_other_jobs_on_the_same_starter_count() -> None:
    """A starter hot from another job is hot here too, and the report says whose cranks it counts."""
    bench = Bench()
    now = bench.clock.now()
    cold = build_report(bench.facts, rules(), now)
    hot = build_report(bench.facts, rules(), now, other_cranks=(Crank(now.timestamp() - 12, 10.0),))

    assert (0.0, 1) == (cold.starter.wait_s, hot.starter.elsewhere)
    assert hot.starter.wait_s > 50


def test_a_crank_without_an_end_is_told() -> None:
    """A record that stops while the starter turned says so, and claims no seconds for it."""
    facts = list(weekend().facts)
    cut = next(n for n, x in enumerate(facts) if isinstance(x, f.CrankBegan)) + 1
    report = build_report(facts[:cut], rules(), START + timedelta(hours=1))

    assert "no end" in report.starter.now
    assert "its end is not in the record" in report.timeline[-1].text
    assert () == report.starter.cranks


def test_refusals_name_what_was_missing_in_words_and_leave_routine_questions_out() -> None:
    """A crank without oil waits for it; the quick question before each crank is no refusal."""
    bench = Bench()
    bench.work("place", "open air")
    bench.work("first-crank")
    report = _report(bench)

    assert [("First crank", ("the fire check", "fresh oil at its level", "all clear for cranking"))] == [
        (x.title, x.lacking) for x in report.refusals
    ]
    assert () == _report().refusals


def test_a_rehearsal_says_first_that_it_is_one() -> None:
    """The record of a virtual engine cannot be taken for that of a real one."""
    facts = [weekend().facts[0].model_copy(update={"tool": "rehearsal"}), *weekend().facts[1:]]
    report = build_report(facts, rules(), START + timedelta(days=3))

    assert report.cautions[0].startswith("This is a rehearsal on a virtual engine")
    assert not _report().cautions[0].startswith("This is a rehearsal")


def test_the_timeline_tells_each_piece_of_work_once_with_its_outcome() -> None:
    """Work that ended is told by its end; only work that is still under way is told by its beginning."""
    events = _report().timeline
    began = [e.text for e in events if e.text.endswith(" began")]

    assert ["Fresh oil in began"] == began
    assert ["ok", "ok", "ok", "bad", "ok", "ok", "ok", "ok", "bad", "ok"] == [e.outcome for e in events if e.outcome]


def test_repairs_take_their_names_from_the_diagnosis() -> None:
    """A suspect's name where the diagnosis knows it, its id in words where not."""
    assert ["battery flat"] == [r.name for r in _report().repairs]
    assert ["a flat battery"] == [r.name for r in _report(diagnosis=suspects()).repairs]


def test_profile_fields_are_told_assumed_with_their_source_or_unknown() -> None:
    """What the person said, what the kind's defaults say, and nothing."""
    lines = {p.field: p for p in _report().profile}

    assert ("told", "2") == (lines["cylinders"].known, lines["cylinders"].value)
    assert ("assumed", "most of them burn it") == (lines["fuel"].known, lines["fuel"].source)
    assert ("unknown", "unknown") == (lines["bore"].known, lines["bore"].value)


def test_times_are_shown_in_the_zone_of_the_moment_of_the_report() -> None:
    """A report made two hours east shows the same instants two hours later on the clock."""
    east = build_report(weekend().facts, rules(), datetime(2026, 5, 4, 12, tzinfo=timezone(timedelta(hours=2))))

    assert START == east.opened
    assert 11 == east.opened.hour


def test_a_clock_set_back_is_told_and_never_shortens_a_rest() -> None:
    """After the clock went back a day the hold points' times are shown by today's clock."""
    bench = Bench()
    bench.work("place", "open air")
    bench.clock.set(bench.clock.now() - timedelta(days=1))
    bench.work("fire", "in the green")
    report = build_report(bench.facts, rules(), bench.clock.now())
    place = next(h for h in report.holds if h.name == "fire-ready")

    assert any(e.sort == "clock" for e in report.timeline)
    assert place.expires is not None
    assert abs((place.expires - report.made) - timedelta(hours=4)) < timedelta(minutes=5)


def test_an_edited_procedure_is_marked_in_what_it_found() -> None:
    """A finding of a procedure whose text has changed since says so."""
    facts = list(weekend().facts)
    first = next(n for n, x in enumerate(facts) if isinstance(x, f.RunStarted))
    facts[first] = facts[first].model_copy(update={"digest": "old"})
    report = build_report(facts, rules(), START + timedelta(days=3))

    assert [1] == [x.run for x in report.findings if x.changed]


def test_work_that_the_library_no_longer_holds_is_still_told() -> None:
    """A record made with a procedure that was removed can be reported all the same."""
    at = START + timedelta(days=2)
    facts = [
        *weekend().facts,
        f.RunStarted(at=at, run=90, procedure="gone-away", digest="x", why="asked"),
        f.StepEntered(at=at, run=90, state="some-step"),
        f.AnswerGiven(at=at, run=90, state="some-step", event="fine", observe="old.thing"),
        f.RunEnded(at=at, run=90, procedure="gone-away", result="r", outcome="ok", say="All seen."),
    ]
    report = build_report(facts, rules(), at)

    assert "Gone away" == report.findings[-1].title
    assert ("some-step", "fine") == (report.answers[-1].question, report.answers[-1].answer)


def test_hostile_text_is_bare_of_controls_and_turning_marks() -> None:
    """Names and notes lose control characters and marks that reorder the text around them; letters stay."""
    bench = Bench(place="b\x00arn")
    bench.give(i.Note("one\r\ntwo\x07 \u202dthree Ünïcode"))
    opened = bench.facts[0].model_copy(update={"engine": "gr\x1b[31me\u202een\u2066 twin"})  # as of an older record
    report = build_report([opened, *bench.facts[1:]], rules(), bench.clock.now())

    assert ("gr [31meen twin", "b arn") == (report.engine, report.place)
    assert "one\ntwo  three Ünïcode" == report.notes[0].text


@pytest.mark.parametrize(
    ("facts", "now", "words"),
    [
        ((), START, "from its opening"),
        ((f.PlaceNamed(at=START, place="barn"),), START, "from its opening"),
        (weekend().facts, START.replace(tzinfo=None), "time zone"),
    ],
)
def test_what_is_no_job_is_refused_in_a_sentence(facts: tuple[f.Fact, ...], now: datetime, words: str) -> None:
    """No facts, facts without an opening, or a moment without a zone cannot make a report."""
    with pytest.raises(InputError, match=words):
        build_report(facts, rules(), now)


def test_the_order_of_jobs_left_is_the_plans() -> None:
    """What is left comes from the plan, with its minutes summed."""
    report = _report()

    assert [("fire", "the fire check has gone stale")] == [(t.procedure, t.why) for t in report.left]
    assert 5 == report.minutes_left


def test_a_report_is_a_value_that_depends_on_its_arguments_alone() -> None:
    """The same facts and moment give an equal report; another moment gives another."""
    assert _report() == _report()
    assert _report(hours=7) != _report()
    assert replace(_report(hours=7), made=_report().made).readings == _report().readings


def test_hours_without_an_entry_are_no_work() -> None:
    """Work left half done overnight has two stretches of a few minutes, not one of a night."""
    bench = Bench()
    bench.work("oil")
    bench.home(14)
    bench.say("done", "between the marks")
    span = _report(bench).spans[0]

    assert 2 == len(span.pieces)
    assert span.ended - span.began > timedelta(hours=14)
    assert span.seconds < 300


def test_a_cord_has_no_winding_and_owes_no_rest() -> None:
    """Of an engine without a motor the times it was turned are told, and no rest, no permit and no temperature."""
    last = weekend().facts[-1].at
    facts = (*weekend().facts, f.ProfileNoted(at=last, field="starting", word="recoil"))
    report = build_report(facts, rules(), last + timedelta(hours=1))
    page, text = to_html(report), to_text(report)

    assert {(None, None, None, None)} == {
        (c.limit_s, c.rested_s, c.asked_s, c.winding_k) for c in report.starter.cranks
    }
    assert "Turned by hand" in page
    assert "Winding after" not in page
    assert "TURNED BY HAND" in text
    assert "winding" not in text
    assert facts == from_json(to_json(report, facts), report.made)
