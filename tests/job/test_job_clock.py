"""Clocks that are set, that sleep and that die: no rest is shortened, and nothing that ages lasts longer."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_desk import HOLDS, clock_of, crank, fresh, meet, new_desk, ready_to_crank, set_clock, wait_of

from firststart.bench.desk import Desk, resume_job
from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.memory import MemoryJournal

HOUR = 3600.0
START = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def closed_for(desk: Desk, rules: Rules, gap: float, set_s: float = 0.0) -> Desk:
    """The bench dies, time passes, the clock is set, and the job is taken up again."""
    clock_of(desk).sleep(gap)
    set_clock(desk, set_s)
    again = resume_job(rules, desk.journal, desk.clock, desk.job)
    again.submit(i.Resume())
    return again


def corrections(desk: Desk) -> list[f.ClockSet]:
    return [x for x in desk.journal.read(desk.job) if isinstance(x, f.ClockSet)]


# while the bench is open -----------------------------------------------------------------------------------


@pytest.mark.parametrize("set_s", [-3 * HOUR, -100 * 24 * HOUR, -30.0])
def test_a_clock_set_back_is_put_right_by_the_steady_clock(spin_rules: Rules, set_s: float) -> None:
    """Time runs on to the second: the rest as it was, and hold points as old as they are."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    clock_of(desk).sleep(20)
    set_clock(desk, set_s)
    desk.submit(i.Note("what time is it"))

    assert wait - 20 == pytest.approx(wait_of(desk), abs=0.01)
    assert -set_s == pytest.approx(corrections(desk)[-1].shift_s)
    assert 0 == desk.situation.withheld_s


@pytest.mark.parametrize("told", [0.0, 3.0])
@pytest.mark.parametrize(("ahead", "least"), [(50.0, 30.0), (70.0, 30.0), (8 * HOUR, 30.0), (20.0, 23.0)])
def test_a_machine_that_slept_while_the_starter_turned_shortens_no_crank(
    spin_rules: Rules, ahead: float, least: float, told: float
) -> None:
    """What is taken out of time, as a clock may have lied, the starter has turned for, half a minute at most."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Go())
    clock_of(desk).sleep(3)
    set_clock(desk, ahead)
    desk.submit(i.Note("back again"))
    desk.submit(i.Release(told))

    assert least <= desk.situation.cranks[-1].seconds <= 33.1
    assert wait_of(desk) >= least


def test_checks_age_by_every_short_sleep_too(spin_rules: Rules) -> None:
    """Twenty naps of fifty seconds end a check of a quarter of an hour, and take nothing from one made after them."""
    desk = ready_to_crank(spin_rules)
    meet(desk, "no-vapour")
    for _ in range(20):
        assert fresh(desk, "no-vapour") == (desk.situation.uncounted_s < 900)
        set_clock(desk, 50.0)
        desk.submit(i.Note("awake again"))

    assert 1000 == pytest.approx(desk.situation.uncounted_s)
    assert not fresh(desk, "no-vapour")
    meet(desk, "no-vapour")
    clock_of(desk).sleep(890)
    assert fresh(desk, "no-vapour")


def test_a_clock_said_to_be_ahead_shortens_no_crank(spin_rules: Rules) -> None:
    """Whoever says while it turns that the clock is wrong, and then that it hardly turned, is not believed."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Go())
    clock_of(desk).sleep(65)
    desk.submit(i.ShiftClock(-9000.0))
    clock_of(desk).sleep(8)
    desk.submit(i.Release(0.0))

    assert desk.situation.cranks[-1].seconds >= 30


def test_time_that_was_withheld_before_it_turned_is_no_cranking(spin_rules: Rules) -> None:
    """The date is confirmed while the starter turns: only the seconds since it began are counted."""
    desk = ready_to_crank(spin_rules)
    set_clock(desk, 120.0)
    desk.submit(i.Note("a jump"))
    assert 120 == pytest.approx(desk.situation.withheld_s)
    desk.submit(i.Go())
    clock_of(desk).sleep(4)
    desk.submit(i.ConfirmDate(True))
    desk.submit(i.Release(4.0))

    assert 4 == pytest.approx(desk.situation.cranks[-1].seconds, abs=0.1)


def test_a_hold_point_does_not_grow_younger_by_a_clock_set_back(spin_rules: Rules) -> None:
    """The bench stood open for three hours, then the clock was set back by three: the fire check is that old."""
    desk = new_desk(spin_rules)
    meet(desk, "fire-ready")
    clock_of(desk).sleep(3 * HOUR)
    set_clock(desk, -3 * HOUR)
    desk.submit(i.Note("the clock was set"))
    clock_of(desk).sleep(1.1 * HOUR)

    assert not fresh(desk, "fire-ready")


@pytest.mark.parametrize("set_s", [90.0, HOUR, 400 * 24 * HOUR])
def test_a_clock_that_jumps_forward_ends_no_rest(spin_rules: Rules, set_s: float) -> None:
    """What the steady clock has not seen is withheld, before the jump is even told."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    set_clock(desk, set_s)

    assert wait == pytest.approx(wait_of(desk), abs=0.01)
    desk.submit(i.Note("it jumped"))
    assert wait == pytest.approx(wait_of(desk), abs=0.01)
    assert set_s == pytest.approx(desk.situation.withheld_s)


def test_what_is_withheld_ages_a_hold_point_all_the_same(spin_rules: Rules) -> None:
    """The laptop may have slept for five hours: the fire check is not taken as fresh meanwhile."""
    desk = new_desk(spin_rules)
    meet(desk, "fire-ready", "pre-lubed")
    set_clock(desk, 5 * HOUR)
    desk.submit(i.Note("awake"))

    assert not fresh(desk, "fire-ready")
    assert fresh(desk, "pre-lubed")


def test_yes_counts_what_was_withheld(spin_rules: Rules) -> None:
    """The date is right: the rest is over, and the question is gone."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    set_clock(desk, HOUR)
    desk.submit(i.Note("awake"))
    desk.submit(i.ConfirmDate(True))

    assert 0 == wait_of(desk)
    assert 0 == desk.situation.withheld_s


def test_no_counts_nothing_and_asks_again_what_lasts_a_day(spin_rules: Rules) -> None:
    """The date is wrong: the rest runs on, and short checks are asked again, since nobody knows their age."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    set_clock(desk, 100.0)
    desk.submit(i.Note("it jumped"))
    desk.submit(i.ConfirmDate(False))

    assert wait == pytest.approx(wait_of(desk), abs=0.01)
    assert not fresh(desk, "place-ready")
    assert fresh(desk, "pre-lubed")
    assert fresh(desk, "turns-by-hand")


def test_a_date_that_is_not_in_question_is_not_confirmed(spin_rules: Rules) -> None:
    """Nobody can make time pass by saying yes to no question."""
    with pytest.raises(InputError, match="not in question"):
        new_desk(spin_rules).submit(i.ConfirmDate(True))


def test_small_steps_forward_are_seen_together(spin_rules: Rules) -> None:
    """A clock pushed on by a second and a half again and again gains no more than two seconds."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    for _ in range(40):
        set_clock(desk, 1.5)
        desk.submit(i.Note("tick"))

    assert wait_of(desk) >= wait - 2.01


@pytest.mark.parametrize("seconds", [0.001, 60.0, 1e12, float("inf"), float("nan")])
def test_nobody_puts_time_forward(spin_rules: Rules, seconds: float) -> None:
    """A shift that would end a rest is refused."""
    with pytest.raises(InputError, match="forward"):
        ready_to_crank(spin_rules).submit(i.ShiftClock(seconds))


@pytest.mark.parametrize("seconds", [-1e12, -HOUR, -1.0])
def test_a_shift_back_stops_no_time(spin_rules: Rules, seconds: float) -> None:
    """However far the person says the clock was ahead, time runs on from here and rests end."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    clock_of(desk).sleep(5)
    desk.submit(i.ShiftClock(seconds, "it was ahead"))
    wait = wait_of(desk)
    clock_of(desk).sleep(wait + 1)

    assert wait > 0
    assert 0 == wait_of(desk)


# from one sitting to the next ------------------------------------------------------------------------------


def test_after_a_long_gap_date_and_place_are_in_question(spin_rules: Rules) -> None:
    """More than an hour: time is withheld, and the place is doubted; what holds for a place does not hold."""
    desk = new_desk(spin_rules)
    meet(desk, "place-ready", "pre-lubed")
    again = closed_for(desk, spin_rules, 2 * HOUR)

    assert 2 * HOUR == pytest.approx(again.situation.withheld_s)
    assert again.situation.place_doubted
    again.submit(i.ConfirmDate(True))
    assert not fresh(again, "place-ready")
    again.submit(i.NamePlace(again.situation.place))
    assert fresh(again, "place-ready")
    assert fresh(again, "pre-lubed")


def test_elsewhere_the_place_is_checked_again(spin_rules: Rules) -> None:
    """The engine was moved meanwhile: what held for the old place is undone for good."""
    desk = new_desk(spin_rules)
    meet(desk, "place-ready")
    again = closed_for(desk, spin_rules, 2 * HOUR)
    again.submit(i.ConfirmDate(True))
    again.submit(i.NamePlace("yard"))
    again.submit(i.NamePlace("shed"))

    assert not fresh(again, "place-ready")


@pytest.mark.parametrize("gap", [10.0, 600.0, 3500.0])
def test_a_short_gap_asks_nothing(spin_rules: Rules, gap: float) -> None:
    """A crash and a quick restart while no rest is owed leave no question."""
    again = closed_for(new_desk(spin_rules), spin_rules, gap)

    assert 0 == again.situation.withheld_s
    assert not again.situation.place_doubted


@pytest.mark.parametrize(("gap", "set_s"), [(5.0, 0.0), (5.0, 50.0), (30.0, 86400.0), (3.0, -500.0), (20.0, -1e7)])
def test_no_restart_shortens_a_rest(spin_rules: Rules, gap: float, set_s: float) -> None:
    """Whatever the clock says after the restart, the rest is at least what it was less the true gap."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    again = closed_for(desk, spin_rules, gap, set_s)

    assert wait_of(again) >= wait - gap - 0.01
    clock_of(again).sleep(wait + 1)
    assert 0 == wait_of(again)


def test_many_quick_restarts_with_a_clock_that_is_pushed_end_no_rest(spin_rules: Rules) -> None:
    """A minute a restart is not gained either."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = wait_of(desk)
    for _ in range(10):
        desk = closed_for(desk, spin_rules, 0.5, 59.0)

    assert wait_of(desk) >= wait - 10 * 0.5 - 0.01


def test_a_clock_that_lost_its_time_makes_short_checks_old(spin_rules: Rules) -> None:
    """A laptop whose clock starts in the past again: nobody knows how long it was off."""
    desk = new_desk(spin_rules)
    meet(desk, *HOLDS)
    again = closed_for(desk, spin_rules, 7 * 24 * HOUR, -40 * 365 * 24 * HOUR)

    assert not fresh(again, "fire-ready")
    assert not fresh(again, "ignition-dead")
    assert fresh(again, "turns-by-hand")
    assert "nobody knows how old" in again.situation.holds["fire-ready"].undone


def test_a_bench_that_stayed_open_asks_for_the_place_alone(spin_rules: Rules) -> None:
    """The steady clock ran all night, so the date is sure; the place is not."""
    desk = new_desk(spin_rules)
    clock_of(desk).sleep(12 * HOUR)
    desk.submit(i.Resume())

    assert 0 == desk.situation.withheld_s
    assert desk.situation.place_doubted


def test_a_question_that_was_not_answered_stands_after_the_next_restart(spin_rules: Rules) -> None:
    """Closing the bench again does not answer it."""
    desk = new_desk(spin_rules)
    again = closed_for(closed_for(desk, spin_rules, 5 * HOUR), spin_rules, 30)

    assert again.situation.withheld_s >= 5 * HOUR
    assert again.situation.place_doubted


@given(st.lists(st.tuples(st.floats(-1e6, 1e6), st.sampled_from((0.0, 0.0, 7200.0, -7200.0))), max_size=20))
def test_effective_time_never_runs_back(steps: list[tuple[float, float]]) -> None:
    """Whatever the clock said at each entry, and however it was corrected, time goes on or stands."""
    situation = fold(Situation(), f.JobOpened(at=START, job="j", engine="e", tool="t"))
    for seconds, shift in steps:
        at = START + timedelta(seconds=seconds)
        fact = f.ClockSet(at=at, shift_s=shift) if shift else f.NoteAdded(at=at, text="x")
        after = fold(situation, fact)
        assert situation.now is not None
        assert after.now is not None
        assert after.now >= situation.now
        assert after.effective(at - timedelta(days=9)) >= after.now
        situation = after


def test_an_older_record_reads_as_before(spin_rules: Rules) -> None:
    """Facts written before time was withheld carry no such field, and mean that nothing was."""
    old = f.from_json('{"type":"clock-set","at":"2026-05-02T09:00:00Z","shift_s":60,"note":"x"}')
    told = f.from_json('{"type":"profile-noted","at":"2026-05-02T09:00:00Z","field":"kind","word":"car","number":null}')

    assert isinstance(old, f.ClockSet)
    assert 0 == old.withheld_s
    assert isinstance(told, f.ProfileNoted)
    assert 0 == told.rest_s


def test_the_journal_in_memory_keeps_what_was_noticed_when_the_input_is_refused(spin_rules: Rules) -> None:
    """A jump is recorded even though the word that came with it was refused."""
    journal = MemoryJournal()
    desk = ready_to_crank(spin_rules, journal)
    crank(desk, 10)
    set_clock(desk, HOUR)
    with pytest.raises(InputError):
        desk.submit(i.Go())

    assert HOUR == pytest.approx(corrections(desk)[-1].withheld_s)
    assert desk.situation.count == len(journal.read("job"))
