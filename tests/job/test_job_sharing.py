"""Several jobs share one starter: what one job cranks costs the other its rest, whatever the clock said in between."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_desk import clock_of, crank, meet, new_desk, ready_to_crank, set_clock, state, wait_of

from firststart.bench.desk import Desk, open_job, resume_job
from firststart.bench.sharing import Axis
from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold, seconds_of
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.memory import MemoryJournal
from firststart.judge.model import Judge
from firststart.procedure.model import Procedure
from firststart.starter.permit import Crank

HOUR, DAY = 3600.0, 86400.0
START = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def take_up(rules: Rules, desk: Desk) -> Desk:
    again = resume_job(rules, desk.journal, desk.clock, desk.job)
    again.submit(i.Resume())
    return again


@pytest.fixture
def two(spin_rules: Rules) -> tuple[Desk, Desk]:
    """An older job that was left three hours ago, and another one on its engine that has just cranked."""
    journal = MemoryJournal()
    old = ready_to_crank(spin_rules, journal, "old")
    new = ready_to_crank(spin_rules, journal, "new")
    new.clock = old.clock
    clock_of(old).sleep(3 * HOUR)
    new = take_up(spin_rules, new)
    new.submit(i.ConfirmDate(True))
    new.submit(i.TellCrank(1, 12))
    return old, new


def test_a_job_is_taken_up_although_another_cranked_since(spin_rules: Rules, two: tuple[Desk, Desk]) -> None:
    """The other job's crank is later than everything here: the job opens, the gap is asked about, the rest stands."""
    old, _new = two
    again = take_up(spin_rules, old)

    assert 3 * HOUR == pytest.approx(again.situation.withheld_s)
    assert wait_of(again) > 50
    clock_of(again).sleep(wait_of(again) + 1)
    again.share()
    assert 0 == wait_of(again)


@pytest.mark.parametrize("right", [True, False])
def test_the_answer_about_the_date_frees_no_starter_of_another_job(
    spin_rules: Rules, two: tuple[Desk, Desk], right: bool
) -> None:
    """The crank was a moment ago, whether the hours before it count here or not; a restart changes nothing of it."""
    old, new = two
    rest = wait_of(new)
    again = take_up(spin_rules, old)
    again.submit(i.ConfirmDate(right))

    assert wait_of(again) >= rest - 0.01
    assert wait_of(take_up(spin_rules, again)) >= rest - 0.01


@pytest.mark.parametrize("set_s", [3 * DAY, 2 * HOUR, -2 * HOUR, -3 * DAY])
def test_a_clock_that_is_set_after_the_crank_frees_no_other_job(spin_rules: Rules, set_s: float) -> None:
    """In the job that saw the clock set, and in those that did not, new ones included, the rest stands and ends."""
    journal = MemoryJournal()
    new = ready_to_crank(spin_rules, journal, "new")
    clock_of(new).sleep(60)
    crank(new, 10)
    rest = wait_of(new)
    set_clock(new, set_s)
    new.submit(i.Note("the clock was set"))
    fresh = open_job(spin_rules, journal, new.clock, i.Open("fresh", "twin", "test"))
    fresh.submit(i.SetProfile("kind", word="motorcycle"))

    assert wait_of(new) >= rest - 0.01
    assert wait_of(fresh) >= rest - 0.01
    clock_of(fresh).sleep(wait_of(fresh) + 1)
    fresh.share()
    assert 0 == wait_of(fresh)


def test_a_crank_that_lies_ahead_is_waited_for(spin_rules: Rules) -> None:
    """Should a crank end later than now by some clock, the permit says how long that takes, and breaks nothing."""
    desk = new_desk(spin_rules)
    ahead = Crank(desk.now.timestamp() + 100, 10.0)
    given = spin_rules.permit(replace(desk.situation, other_cranks=(ahead,)), desk.now)

    assert not given.allowed
    assert 110 + 60 <= given.wait_s < 110 + 120
    assert "rest" in given.reason


def test_taking_up_is_not_refused_by_what_the_work_says(spin_rules: Rules) -> None:
    """A judge that cannot judge stops the work, but not the bench from noticing how long it was away."""

    def cannot(_reading: object, _context: object) -> object:
        raise InputError("no such reading")

    work = Procedure.model_validate({
        "id": "spin", "title": "Judge it", "purpose": "Judge what was read.", "stage": "spark", "minutes": 1,
        "steps": {"sum": {"judge": "cannot", "hazard": "open-cylinder", "go": "done"}},
        "results": {"done": {"outcome": "ok", "say": "It was judged."}},
    })  # fmt: skip
    library = replace(spin_rules.library, procedures={**spin_rules.library.procedures, "spin": work})
    rules = Rules(library, {**spin_rules.judges, "cannot": Judge("cannot", "", ("well",), cannot)})
    desk = new_desk(rules)
    desk.submit(i.Begin("spin"))
    assert "spin:sum.gate" == state(desk)
    meet(desk, "ignition-dead")
    clock_of(desk).sleep(2 * HOUR)
    again = take_up(rules, desk)

    assert 2 * HOUR == pytest.approx(again.situation.withheld_s)


# the axis --------------------------------------------------------------------------------------------------


STEP = st.tuples(
    st.sampled_from(("work", "set", "yes", "no")), st.floats(1, 5 * DAY), st.floats(-5 * DAY, 5 * DAY), st.floats(0, 1)
)


@given(st.lists(STEP, min_size=1, max_size=12), st.integers(0, 11))
def test_a_crank_elsewhere_is_never_taken_for_older_than_it_is(
    steps: list[tuple[str, float, float, float]], which: int
) -> None:
    """Through clocks that are set and gaps that count or do not: a time of day is mapped to no earlier time.

    `work`: the bench is open and time passes. `set`: the clock is set, and put right by the steady one. `yes` and
    `no`: the bench is closed for a while, and afterwards the gap counts or does not. A crank elsewhere falls
    somewhere into one of these.
    """
    axis, situation = Axis(), Situation()
    wall, count = START.timestamp(), 0
    cranked: tuple[float, float] | None = None  # time of day, and the time it truly was on this job's axis

    def note(fact: f.Fact) -> None:
        nonlocal situation
        situation = fold(situation, fact)
        axis.follow(fact, situation)

    def at() -> datetime:
        return START + timedelta(seconds=wall - START.timestamp())

    note(f.JobOpened(at=at(), job="j", engine="e", tool="t"))
    for sort, seconds, shift, part in steps:
        assert situation.now is not None
        before = seconds_of(situation.now)
        here = count == which % len(steps)
        count += 1
        if sort == "set":
            wall += shift
            note(f.ClockSet(at=at(), shift_s=-shift))
            continue
        if here:
            counted = part * seconds if sort != "no" else 0.0
            cranked = (wall + part * seconds, before + counted)
        wall += seconds
        if sort == "work":
            note(f.NoteAdded(at=at(), text="x"))
        else:
            note(f.ClockSet(at=at(), shift_s=-seconds, withheld_s=seconds))
            note(f.ClockSet(at=at(), shift_s=seconds if sort == "yes" else 0.0, withheld_s=-seconds))
    if cranked is not None:
        assert situation.now is not None
        found = axis.latest(cranked[0], seconds_of(situation.now))
        assert found is None or found >= cranked[1] - 0.01


def test_a_gap_that_counts_is_exact() -> None:
    """The date was right: a crank in the middle of the gap is as old as it is, and not taken for a new one."""
    axis, situation = Axis(), Situation()
    for fact in (
        f.JobOpened(at=START, job="j", engine="e", tool="t"),
        f.ClockSet(at=START + timedelta(hours=10), shift_s=-10 * HOUR, withheld_s=10 * HOUR),
    ):
        situation = fold(situation, fact)
        axis.follow(fact, situation)
    middle = (START + timedelta(hours=4)).timestamp()
    assert START.timestamp() == axis.latest(middle, seconds_of(situation.now or START))
    yes = f.ClockSet(at=START + timedelta(hours=10), shift_s=10 * HOUR, withheld_s=-10 * HOUR)
    situation = fold(situation, yes)
    axis.follow(yes, situation)
    later = f.ClockSet(at=START + timedelta(hours=11), shift_s=-60.0)
    situation = fold(situation, later)
    axis.follow(later, situation)

    assert middle == axis.latest(middle, seconds_of(situation.now or START))
